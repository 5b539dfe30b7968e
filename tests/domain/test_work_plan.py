"""The plan of the week: nothing lost, no bench over its minutes, in time where that is possible."""

from __future__ import annotations

import datetime as dt
import itertools
from collections import Counter

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.work_calendar import WorkCalendar
from framekeeper.domain.work_plan import BenchMinutes, Job, WorkPlan, least_minutes, plan_work

D = dt.date
ONE = dt.timedelta(days=1)
MONDAY = D(2025, 3, 3)
WEEK = WorkCalendar()
BENCHES = ("prep", "stretching", "round", "washout", "rack")


def job(name: str, due_on: D, minutes: float = 10, **more: object) -> Job:
    return Job((name,), "reading_due", more.pop("bench", "round"), due_on, minutes, **more)


def plan(
    *jobs: Job,
    minutes: float = 60,
    set_up: float = 0,
    calendar: WorkCalendar = WEEK,
    start: D = MONDAY,
    days: int = 14,
) -> WorkPlan:
    there = BenchMinutes({"round": minutes, "stretching": minutes}, set_up)
    return plan_work(jobs, calendar=calendar, minutes=there, start=start, days=days)


def days_of(made: WorkPlan) -> dict[str, tuple[D, int]]:
    return {p.job.key[0]: (p.day, p.days_late) for p in made.jobs}


# what happens to one job


def test_a_job_waits_for_its_day() -> None:
    assert days_of(plan(job("a", MONDAY + 2 * ONE))) == {"a": (MONDAY + 2 * ONE, 0)}


@pytest.mark.parametrize(
    ("due_on", "day", "late"),
    [
        (D(2025, 3, 8), D(2025, 3, 7), 0),  # a Saturday: the Friday before is still ahead
        (D(2025, 3, 2), MONDAY, 0),  # the Sunday before the start: its Friday is behind
        (D(2025, 2, 28), MONDAY, 1),  # that Friday itself
        (D(2025, 2, 26), MONDAY, 3),
        (D(2025, 3, 16), D(2025, 3, 14), 0),  # the end of the horizon
    ],
)
def test_closed_days_and_what_is_overdue(due_on: D, day: D, late: int) -> None:
    assert days_of(plan(job("a", due_on))) == {"a": (day, late)}


def test_what_does_not_fit_on_its_day_goes_before_it_and_only_then_after_it() -> None:
    tuesday = MONDAY + ONE
    made = plan(*(job(name, tuesday, 40) for name in "abc"))
    assert days_of(made) == {
        "a": (tuesday, 0),
        "b": (MONDAY, 0),
        "c": (tuesday + ONE, 1),
    }


def test_the_earlier_due_date_has_the_room() -> None:
    late, soon = job("late", MONDAY - 3 * ONE, 40), job("soon", MONDAY, 40)
    assert days_of(plan(soon, late)) == {"late": (MONDAY, 1), "soon": (MONDAY + ONE, 1)}


def test_on_the_last_open_day_a_weekend_is_due_that_day_but_after_what_was_due_then() -> None:
    friday, saturday, monday = D(2025, 3, 7), D(2025, 3, 8), D(2025, 3, 10)
    assert days_of(plan(job("a", saturday), start=friday)) == {"a": (friday, 0)}
    both = job("a", saturday, 40, set_up="a"), job("b", friday, 40, set_up="b")
    assert days_of(plan(*both, start=friday)) == {"a": (monday, 1), "b": (friday, 0)}


def test_a_job_that_makes_no_sense_sooner_is_not_done_sooner() -> None:
    tuesday = MONDAY + ONE
    kept = [job(n, tuesday, 40, not_before=tuesday) for n in "ab"]
    assert days_of(plan(*kept)) == {"a": (tuesday, 0), "b": (tuesday + ONE, 1)}


def test_a_job_longer_than_a_day_is_alone_and_told() -> None:
    made = plan(job("small", MONDAY), job("whole day", MONDAY, 90), job("next", MONDAY + ONE))
    assert days_of(made)["whole day"] == (MONDAY + ONE, 1)
    assert days_of(made)["next"] == (MONDAY, 0)
    assert [p.job.key[0] for p in made.jobs if p.is_too_long] == ["whole day"]
    over = next(there for there in made.bench_days if there.minutes_used > there.minutes_there)
    assert (len(over.jobs), over.minutes_free) == (1, 0)


def test_what_no_day_has_room_for_is_kept_apart() -> None:
    made = plan(*(job(name, MONDAY, 60) for name in "abc"), days=2)
    assert [j.key for j in made.unplaced] == [("c",)]
    assert [j.key for j in plan(job("a", MONDAY), minutes=0).unplaced] == [("a",)]
    assert [j.key for j in plan(job("a", MONDAY, bench="washout")).unplaced] == [("a",)]
    assert [j.key for j in plan(job("a", MONDAY), days=1, start=D(2025, 3, 8)).unplaced] == [("a",)]


# set-ups


def test_a_job_joins_its_set_up_on_an_earlier_day_where_that_is_in_time() -> None:
    wednesday, friday = MONDAY + 2 * ONE, MONDAY + 4 * ONE
    made = plan(
        job("a", wednesday, 10, set_up="120"),
        job("b", friday, 5, set_up="77"),
        job("c", friday, 10, set_up="120"),
        job("d", friday, 35, set_up="120"),
        set_up=10,
    )
    assert days_of(made) == {
        "a": (wednesday, 0),
        "b": (friday, 0),
        "c": (wednesday, 0),
        "d": (friday, 0),  # 10 + 10 + 10 + 35 would be more than the 60 minutes of Wednesday
    }


def test_one_set_up_is_paid_once_a_day_and_its_jobs_stay_together() -> None:
    jobs = [job(f"{n}", MONDAY, 5, set_up="ab"[n % 2]) for n in range(6)]
    (monday,) = (there for there in plan(*jobs, set_up=10).bench_days if there.jobs)
    assert [(b.set_up, len(b.jobs), b.minutes) for b in monday.batches] == [
        ("a", 3, 25),
        ("b", 3, 25),
    ]
    assert (monday.minutes_used, monday.minutes_free) == (50, 10)


def test_what_may_not_come_takes_its_share_of_the_minutes() -> None:
    """Two screens that fall with a chance of a half need the table with a chance of 3/4."""
    jobs = [job(name, MONDAY, 20, set_up="120", chance=0.5) for name in "ab"]
    (monday,) = (there for there in plan(*jobs, set_up=12).bench_days if there.jobs)
    assert monday.minutes_used == pytest.approx(10 + 10 + 9)


@given(st.lists(st.tuples(st.integers(0, 30), st.sampled_from(["", "a", "b"])), max_size=8))
def test_least_minutes_are_what_one_long_day_takes(told: list[tuple[int, str]]) -> None:
    jobs = [job(f"{n}", MONDAY, m, set_up=words) for n, (m, words) in enumerate(told)]
    long = plan(*jobs, minutes=1000, set_up=7, days=1)
    used = sum(there.minutes_used for there in long.bench_days)
    assert least_minutes(jobs, 7) == pytest.approx(used)
    distinct = {words for _, words in told} - {""}
    assert used == pytest.approx(sum(m for m, _ in told) + 7 * len(distinct))


# refusals


@pytest.mark.parametrize(
    ("jobs", "more", "argument"),
    [
        ([job("a", MONDAY), job("a", MONDAY + ONE)], {}, "jobs"),
        ([job("a", MONDAY, -1)], {}, "minutes"),
        ([job("a", MONDAY, float("nan"))], {}, "minutes"),
        ([job("a", MONDAY, chance=0)], {}, "chance"),
        ([job("a", MONDAY, chance=1.1)], {}, "chance"),
        ([], {"days": 0}, "days"),
        ([], {"minutes": -1}, "minutes"),
        ([], {"set_up": float("inf")}, "minutes"),
    ],
)
def test_what_cannot_be_is_refused(jobs: list[Job], more: dict, argument: str) -> None:
    with pytest.raises(NotValid) as refused:
        plan(*jobs, **more)
    assert refused.value.argument == argument


# for any jobs

calendars = st.builds(
    WorkCalendar,
    st.frozensets(st.integers(0, 6), min_size=1),
    st.frozensets(st.dates(MONDAY, MONDAY + 20 * ONE), max_size=8),
)
due_dates = st.dates(MONDAY - 7 * ONE, MONDAY + 20 * ONE)
loose_jobs = st.builds(
    Job,
    st.just(("?",)),
    st.just("any"),
    st.sampled_from(BENCHES),
    due_dates,
    st.integers(0, 70),
    st.sampled_from(["", "a", "b"]),
    st.sampled_from([1.0, 1.0, 0.5, 0.1]),
    st.none() | due_dates,
)


def named(jobs: list[Job]) -> list[Job]:
    return [Job((str(n),), *(getattr(j, f) for f in Job.__slots__[1:])) for n, j in enumerate(jobs)]


job_lists = st.lists(loose_jobs, max_size=25).map(named)
bench_minutes = st.builds(
    BenchMinutes,
    st.dictionaries(st.sampled_from(BENCHES), st.integers(0, 60), min_size=1),
    st.integers(0, 15),
)
horizons = st.integers(1, 14)


@given(job_lists, calendars, bench_minutes, horizons)
def test_no_job_is_lost_or_doubled_and_none_is_on_a_closed_day(
    jobs: list[Job], calendar: WorkCalendar, minutes: BenchMinutes, days: int
) -> None:
    made = plan_work(jobs, calendar=calendar, minutes=minutes, start=MONDAY, days=days)
    told = [p.job for p in made.jobs] + list(made.unplaced)
    assert Counter(j.key for j in told) == Counter(j.key for j in jobs)
    for there in made.bench_days:
        assert calendar.is_open(there.day)
        assert MONDAY <= there.day < MONDAY + days * ONE
        for planned in there.jobs:
            assert (planned.job.bench, planned.day) == (there.bench, there.day)
            first = planned.job.not_before
            assert first is None or there.day >= first


@given(job_lists, calendars, bench_minutes, horizons)
def test_no_bench_is_over_its_minutes_but_for_one_job_alone(
    jobs: list[Job], calendar: WorkCalendar, minutes: BenchMinutes, days: int
) -> None:
    made = plan_work(jobs, calendar=calendar, minutes=minutes, start=MONDAY, days=days)
    for there in made.bench_days:
        is_over = there.minutes_used > there.minutes_there + 1e-6
        assert all(p.is_too_long == is_over for p in there.jobs)
        if is_over:
            assert len(there.jobs) == 1


@given(job_lists, calendars, bench_minutes, horizons, st.randoms())
def test_the_order_of_the_jobs_does_not_matter(
    jobs: list[Job], calendar: WorkCalendar, minutes: BenchMinutes, days: int, random: object
) -> None:
    shuffled = list(jobs)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    first, second = (
        plan_work(some, calendar=calendar, minutes=minutes, start=MONDAY, days=days)
        for some in (jobs, shuffled)
    )
    assert first == second


@given(job_lists, calendars, bench_minutes, horizons)
def test_a_slow_twin_that_weighs_every_day_anew_makes_the_same_plan(
    jobs: list[Job], calendar: WorkCalendar, minutes: BenchMinutes, days: int
) -> None:
    made = plan_work(jobs, calendar=calendar, minutes=minutes, start=MONDAY, days=days)
    placed, left = twin(jobs, calendar, minutes, days)
    assert {p.job.key: (p.day, p.days_late) for p in made.jobs} == placed
    assert {j.key for j in made.unplaced} == left


def twin(jobs: list[Job], calendar: WorkCalendar, minutes: BenchMinutes, days: int) -> tuple:
    """Walk day by day, and enumerate which uncertain jobs come to weigh the set-ups."""
    horizon = [MONDAY + n * ONE for n in range(days) if calendar.is_open(MONDAY + n * ONE)]
    due = {j.key: walked_due_day(j.due_on, calendar) for j in jobs}
    where: dict[tuple, D] = {}
    left: set[tuple] = set()
    for j in sorted(jobs, key=lambda j: (due[j.key], j.due_on, j.set_up, j.key)):
        best = None
        for day in horizon:
            others = [o for o in jobs if o.bench == j.bench and where.get(o.key) == day]
            room = minutes.per_day.get(j.bench, 0)
            is_alone = room > 0 and not others
            if j.bench not in minutes.per_day or (j.not_before and day < j.not_before):
                continue
            if not is_alone and weight([*others, j], minutes.per_set_up) > room + 1e-7:
                continue
            in_time = day <= due[j.key]
            shares = bool(j.set_up) and any(o.set_up == j.set_up for o in others)
            rank = (1, shares, day.toordinal()) if in_time else (0, False, -day.toordinal())
            if best is None or rank > best[0]:
                best = (rank, day)
        if best is None:
            left.add(j.key)
        else:
            where[j.key] = best[1]
    late = {k: sum(calendar.is_open(due[k] + n * ONE) for n in range(1, (d - due[k]).days + 1))
            for k, d in where.items()}  # fmt: skip
    return {k: (d, late[k]) for k, d in where.items()}, left


def walked_due_day(day: D, calendar: WorkCalendar) -> D:
    back = day
    while not calendar.is_open(back):
        back -= ONE
    if back >= MONDAY:
        return back
    while not calendar.is_open(day):
        day += ONE
    return day


def weight(jobs: list[Job], per_set_up: float) -> float:
    """The expected minutes; the chance that a set-up is needed from one minus that it is not."""
    total = sum(j.minutes * j.chance for j in jobs)
    for words in {j.set_up for j in jobs} - {""}:
        idle = 1.0
        for j in jobs:
            idle *= (1 - j.chance) if j.set_up == words else 1.0
        total += per_set_up * (1 - idle)
    return total


equal_jobs = st.lists(st.dates(MONDAY, MONDAY + 13 * ONE), max_size=30)


@given(equal_jobs, calendars, st.integers(0, 6), st.integers(1, 14))
def test_jobs_of_one_length_are_all_in_time_wherever_that_is_possible(
    dues: list[D], calendar: WorkCalendar, per_day: int, days: int
) -> None:
    """Hall's condition: up to each day, no more are due than the open days hold."""
    jobs = [job(f"{n:02}", due, 10) for n, due in enumerate(dues)]
    made = plan(*jobs, minutes=10 * per_day, calendar=calendar, days=days)
    due_days = [walked_due_day(due, calendar) for due in dues]
    is_possible = all(
        sum(due <= day for due in due_days) <= per_day * sum(d <= day for d in made.days)
        for day in itertools.chain(due_days)
    )
    is_in_time = not made.unplaced and not any(p.is_late for p in made.jobs)
    assert is_in_time == is_possible


@given(equal_jobs, calendars, st.integers(1, 6), st.integers(1, 14))
def test_more_minutes_make_nothing_late_where_nothing_was(
    dues: list[D], calendar: WorkCalendar, per_day: int, days: int
) -> None:
    """For jobs of one length; with unequal ones no quick plan can promise it."""
    jobs = [job(f"{n:02}", due, 10) for n, due in enumerate(dues)]
    tight = plan(*jobs, minutes=10 * per_day, calendar=calendar, days=days)
    assume(not tight.unplaced and not any(p.is_late for p in tight.jobs))
    roomy = plan(*jobs, minutes=10 * per_day + 10, calendar=calendar, days=days)
    assert not roomy.unplaced
    assert not any(p.is_late for p in roomy.jobs)
