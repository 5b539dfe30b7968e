"""Lives of mesh: as folding journals step by step tells them; no number without its lives."""

from __future__ import annotations

import datetime as dt
import math
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import (
    Damaged,
    Event,
    FoundWithMesh,
    FrameKind,
    Glued,
    Printed,
    Pulled,
    Stretched,
)
from framekeeper.domain.frame_state import FrameState
from framekeeper.domain.life import kaplan_meier, log_rank, weibull_fit
from framekeeper.domain.lived_mesh import FirstNight, LifeUnit, LivedMesh
from framekeeper.domain.mesh_lives import cause_of
from framekeeper.domain.records import FrameFilter
from framekeeper.services import check, history, lives, marks, prep, register, stretch, washout
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.first_night import first_nights
from framekeeper.services.life_splits import BYS
from framekeeper.services.lives import KnownLives, LifeGroup, LivesFound
from framekeeper.services.lives_behind import (
    Number,
    behind_cause,
    behind_comparison,
    behind_group,
    behind_night,
    behind_unreleased,
)
from framekeeper.services.lives_telling import (
    comparison_words,
    group_lines,
    middle_words,
    night_lines,
    row_words,
    use_words,
)
from framekeeper.storage.shop import Shop
from tests.demo_fixtures import DEMO_NOW
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, ROLL

NUMBERS: tuple[Number, ...] = (
    "lives", "ended", "on", "out_of_sight", "left_out", "middle", "law", "left",
)  # fmt: skip


FATES: tuple[Number, ...] = ("ended", "on", "out_of_sight")


# the naive twin: fold the whole journal one event at a time, and watch the states


def folded_lives(kind: FrameKind, journal: list[Event], now: dt.datetime) -> list[Twin]:
    """What the states say of each mesh: no rule of `domain.mesh_lives` is used but a reason's."""
    state, told = FrameState(kind=kind), dict[int, Twin]()
    for event in lifecycle.concluded(journal):
        before, state = state, lifecycle.apply(state, event)
        old, new = before.life, state.life
        if old is not None and (new is None or new.start_event_id != old.start_event_id):
            mine = told[old.start_event_id]
            if mine.end is None:  # stripped, or replaced outside
                mine.end, mine.cause = mine.away or event.happened_at, old.open_damage or event.kind
        if new is None:
            continue
        mine = told.setdefault(new.start_event_id, Twin(new.start_event_id, new.mesh_type_id))
        mine.reclaims, mine.impressions = new.reclaims, new.impressions
        if new.released_at is not None or state.state != "in_clamps":
            mine.start = new.released_at or new.started_at
            mine.is_screen = mine.is_screen or new.released_at is not None or new.glued_at is None
        if state.state == "pulled" and mine.end is None:
            mine.end, mine.cause = event.happened_at, _why(event)
        elif before.state == "pulled" and event.kind == "retensioned":
            mine.end = mine.cause = None
        is_away = state.state in ("missing", "out", "retired")
        mine.away = (mine.away or event.happened_at) if is_away else None
    for mine in told.values():
        mine.last = mine.end or mine.away or now
    return list(told.values())


@dataclass
class Twin:
    key: int
    mesh: int
    start: dt.datetime | None = None
    is_screen: bool = False
    reclaims: int = 0
    impressions: int = 0
    end: dt.datetime | None = None
    cause: str | None = None
    away: dt.datetime | None = None
    last: dt.datetime | None = None


def _why(event: Event) -> str:
    if isinstance(event.payload, Damaged):
        return event.payload.damage
    assert isinstance(event.payload, Pulled)
    cause = cause_of(event.payload)
    return cause.words or cause.kind


def _cause(life: LivedMesh) -> str | None:
    if life.cause is None:
        return None
    return {"sent_out": "received"}.get(life.cause.kind, life.cause.words or life.cause.kind)


@dataclass(frozen=True)
class Demo:
    known: KnownLives
    journals: dict[int, list[Event]]


@pytest.fixture(scope="session")
def demo(demo_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The lives of the demo shop and its whole journals."""
    place = tmp_path_factory.mktemp("lives") / "demo.db"
    shutil.copy(demo_template, place)
    clock = FakeClock()
    clock.go_on(seconds=(DEMO_NOW - clock.now()).total_seconds())
    shop = Shop.open(place)
    try:
        known = lives.gather(Desk(shop, clock))
        with shop.read() as reader:
            frames = reader.frames(FrameFilter(with_retired=True))
            return Demo(known, reader.journals([f.id for f in frames]))
    finally:
        shop.close()


def test_lives_are_what_folding_step_by_step_tells(demo: Demo) -> None:
    """Each of the demo's some hundred lives: its mesh, age, use, end and cause."""
    known, journals = demo.known, demo.journals
    mine = {life.key: life for life in known.lives}
    told = [
        twin
        for frame_id, journal in journals.items()
        for twin in folded_lives(known.frames[frame_id].kind, journal, known.now)
    ]
    assert len(told) == len(mine) > 500
    for twin in told:
        life = mine[twin.key]
        use = ((life.reclaims_before or 0) + life.reclaims, life.impressions)
        assert (life.mesh_type_id, life.last_at, _cause(life)) == (twin.mesh, twin.last, twin.cause)
        assert use == (twin.reclaims, twin.impressions)
        if life.seen_from is not None:
            assert life.started_at == twin.start
        else:
            assert not twin.is_screen or twin.cause is not None


def test_details_of_the_stretch_are_those_of_its_events(demo: Demo) -> None:
    """Counted by going through the events of each life again, one by one."""
    known, journals = demo.known, demo.journals
    for life in known.lives:
        events = {e.event_id: e for e in journals[life.frame_id]}
        own = [events[e.event_id] for e in life.events]
        begun = own[0]
        assert begun.event_id == life.key
        assert life.reclaims == sum(e.kind == "reclaimed" for e in own)
        assert life.impressions == sum(
            e.payload.impressions for e in own if isinstance(e.payload, Printed)
        )
        glued = next((e.payload for e in own if isinstance(e.payload, Glued)), None)
        assert life.adhesive_lot == (glued.adhesive_lot if glued else "")
        if isinstance(begun.payload, Stretched):
            assert life.roll_id == begun.payload.roll_id
            assert life.frames_in_pull == begun.payload.frames_in_pull
            assert life.by == begun.by
        if isinstance(begun.payload, FoundWithMesh):
            assert life.reclaims_before == begun.payload.reclaims_so_far


# every number is what its list says


def every_question(known: KnownLives) -> Iterator[LivesFound]:
    for unit in lives.UNITS:
        for by in BYS:
            yield lives.work_out(known, by=by, unit=unit)
        yield lives.work_out(known, by="rest", unit=unit, mesh="230 yellow")


def test_every_number_is_recomputed_from_the_lives_behind_it(demo: Demo) -> None:
    """Counts by counting, estimates by estimating anew from the ages in the list alone."""
    known_life = {life.key: life for life in demo.known.lives}
    curves = 0
    for found in every_question(demo.known):
        for group in found.groups:
            opened = {n: behind_group(found, group, n).rows for n in NUMBERS}
            fates = [r.key for n in FATES for r in opened[n]]
            assert sorted(fates) == sorted(r.key for r in opened["lives"])
            assert behind_group(found, group, "law").rows == opened["lives"]
            if len(opened["ended"]) < lives.FEW_ENDS:
                assert (group.curve, group.middle, group.law) == ((), None, None)
                continue
            curves += 1
            assert_estimated_from(group, [known_life[r.key] for r in opened["middle"]], found.unit)
            left = [r.sort for r in opened["left"]]
            assert (group.mean_left is None) == (not left)
            if group.mean_left is not None:
                assert group.mean_left.expected == pytest.approx(np.mean(left))
    assert curves > 50


def assert_estimated_from(group: LifeGroup, told: list[LivedMesh], unit: LifeUnit) -> None:
    """Estimate anew from these lives alone."""
    spans = [s for s in (life.span(unit) for life in told) if s is not None]
    ages, ended, entry = [s.age for s in spans], [s.ended for s in spans], [s.entry for s in spans]
    curve = kaplan_meier(ages, ended, entry=entry)
    assert [(s.age, s.share, s.watched, s.ended) for s in group.curve] == list(
        zip(curve.time, curve.survival, curve.at_risk, curve.ended, strict=True)
    )
    assert group.middle == tuple(curve.quantile(0.5))
    if group.law is None:
        assert unit == "reclaims"
        assert 0 in ages
    else:
        law = weibull_fit(ages, ended, entry=entry)
        assert (group.law.shape, group.law.scale) == pytest.approx((law.shape, law.scale))
        assert (group.law.low, group.law.high) == pytest.approx(tuple(law.shape_interval())[1:])


def test_the_comparison_is_recomputed_from_the_lives_behind_it(demo: Demo) -> None:
    asked = 0
    for found in every_question(demo.known):
        compared = found.comparison
        rows = behind_comparison(found).rows
        assert [r.key for r in rows] == [r.life.key for r in compared.rows]
        if compared.why_not is not None:
            continue
        asked += 1
        assert compared.meshes_mixed == (found.by != "mesh" and not found.mesh)
        spans = [r.span for r in compared.rows if r.span is not None]
        test = log_rank(
            [s.age for s in spans],
            [s.ended for s in spans],
            [r.label.key for r in compared.rows],
            entry=[s.entry for s in spans],
        )
        assert (compared.chi2, compared.p) == pytest.approx((test.chi2, test.p))
        assert f"ends: {sum(s.ended for s in spans)} (log-rank {test.chi2:.1f}" in str(
            comparison_words(compared)
        )
    assert asked >= 10


def test_causes_are_counted_from_the_ends_behind_them(demo: Demo) -> None:
    """Most frequent first; every end counts once, also of mesh whose age nobody knows."""
    found = lives.work_out(demo.known)
    counted = Counter(life.cause for life in demo.known.lives if life.cause is not None)
    assert {c.cause: len(behind_cause(found, c).rows) for c in found.causes} == counted
    sizes = [len(c.rows) for c in found.causes]
    assert sizes == sorted(sizes, reverse=True)
    assert [c.share for c in found.causes] == pytest.approx([n / sum(sizes) for n in sizes])
    assert found.causes[-1].cumulative == pytest.approx(1)


def test_each_row_opens_at_an_event_of_its_own(demo: Demo) -> None:
    """An ended life at its end; every event in the list is in the journal and counts there."""
    found = lives.work_out(demo.known, by="all")
    standing = {
        e.event_id: e for journal in demo.journals.values() for e in lifecycle.standing(journal)
    }
    (group,) = found.groups
    for number in NUMBERS:
        for row in behind_group(found, group, number).rows:
            assert row.event_id in {e.event_id for e in row.events}
            for event in row.events:
                stored = standing[event.event_id]
                assert demo.known.frames[stored.frame_id].code == row.code
                assert stored.happened_at == event.at
    for row in behind_group(found, group, "ended").rows:
        assert standing[row.event_id].kind in ("pulled", "damaged", "stripped", "sent_out")
        assert standing[row.event_id].happened_at == row.until


def test_first_nights_open_to_their_two_surveys(demo: Demo) -> None:
    found = lives.work_out(demo.known)
    rows = behind_night(found).rows
    assert len(rows) == len(found.night.points) > 100
    losses = []
    for row in rows:
        assert [str(e.said) for e in row.events] == ["surveyed", "surveyed"]
        assert row.events[0].at < row.events[1].at
        losses.append(row.sort)
    assert found.night.mean == pytest.approx(np.mean(losses))
    assert "all of them rested alike" in " ".join(map(str, night_lines(found.night)))


# a shop made by hand


def screens(desk: Desk, count: int, *, rest: int | None = None, lot: str = "G-1") -> list[str]:
    """Prep, stretch, glue and release frames today."""
    codes = list(register.register(desk, [register.NewFrame(584, 787)] * count).codes)
    prep.prep_all(desk, codes, skipped={"old_glue": "new frame"})
    stretch.stretch(desk, codes, stretch.StretchRequest(MESH, roll=ROLL))
    if rest is not None:
        stretch.stage(desk, codes, tension_n_per_cm=25, rest_minutes=rest)
    stretch.glue(desk, codes, cure=dt.timedelta(0), adhesive_lot=lot)
    stretch.release(desk, codes)
    return codes


def ended_after(desk: Desk, clock: FakeClock, codes: list[str], days: list[int]) -> None:
    """Pull screens so many days from now, in this order."""
    at = 0
    for code, day in zip(codes, days, strict=True):
        clock.go_on(days=day - at)
        at = day
        marks.pull(desk, [code], "below the limit")


def only(groups: tuple[LifeGroup, ...], name: str) -> LifeGroup:
    return next(g for g in groups if str(g.label.name) == name)


def test_an_empty_shop_has_no_lives(stocked: Desk) -> None:
    found = lives.lives(stocked)
    assert found.is_empty
    assert str(found.comparison.why_not) == "There is only one group here: nothing to compare."
    assert found.night.mean is None


def test_four_ends_are_dots_and_five_a_curve(stocked: Desk, clock: FakeClock) -> None:
    codes = screens(stocked, 6)
    ended_after(stocked, clock, codes[:4], [10, 20, 30, 40])
    (group,) = lives.lives(stocked).groups
    assert (len(group.ended), group.curve, group.middle, group.law) == (4, (), None, None)
    assert "Fewer than 5 ends are dots" in " ".join(map(str, group_lines(group, "days")))
    assert {r.left for r in group.rows} == {None}
    ended_after(stocked, clock, codes[4:5], [10])
    (group,) = lives.lives(stocked).groups
    assert [(s.age, s.watched, s.ended) for s in group.curve] == [
        (10, 6, 1), (20, 5, 1), (30, 4, 1), (40, 3, 1), (50, 2, 1),
    ]  # fmt: skip
    assert [s.share for s in group.curve] == pytest.approx([5 / 6, 4 / 6, 3 / 6, 2 / 6, 1 / 6])
    assert str(middle_words(group.middle)).startswith("30 (10")
    assert group.law is not None
    assert [r.frame.code for r in group.running] == codes[5:]
    assert group.mean_left is not None
    assert group.mean_left.expected > 0


def test_groups_that_differ_are_told_with_their_numbers(stocked: Desk, clock: FakeClock) -> None:
    short, long = screens(stocked, 5, lot="G-1"), screens(stocked, 5, lot="G-2")
    ended_after(stocked, clock, short + long, [1, 2, 3, 4, 5, 60, 61, 62, 63, 64])
    found = lives.lives(stocked, by="adhesive")
    assert [str(g.label.name) for g in found.groups] == ["G-1", "G-2"]
    said = str(comparison_words(found.comparison))
    assert "2 groups compared over lives: 10, ends: 10 (log-rank" in said
    assert "1 degrees of freedom" in said
    assert "1000 such comparisons (p" in said
    assert "significant" not in said
    assert "Several meshes are mixed" not in said


def test_each_split_names_what_nobody_told(stocked: Desk, clock: FakeClock) -> None:
    """Groups that are not told stand last and take no part in the comparison."""
    screens(stocked, 2, rest=10)
    screens(stocked, 1)
    found_mesh = register.FoundMesh(MESH, mesh_since=clock.now() - dt.timedelta(days=9))
    register.register(stocked, [register.NewFrame(584, 787)], found=found_mesh)
    names = {by: [str(g.label.name) for g in lives.lives(stocked, by=by).groups] for by in BYS}
    assert names == {
        "all": ["all mesh"],
        "mesh": [MESH],
        "lot": [f"{MESH}, lot A7", "not told"],
        "adhesive": ["G-1", "not told"],
        "activator": ["not told"],
        "who": ["Maren", "not told"],
        "method": ["glued here", "not told"],
        "rest": ["10 to 14 min", "not told"],
        "pull": ["1 frame", "not told"],
    }
    rest = lives.lives(stocked, by="rest")
    assert len(rest.comparison.rows) == 2


def test_an_unknown_start_is_left_out_and_counted(stocked: Desk, clock: FakeClock) -> None:
    unknown = register.FoundMesh(MESH)
    (code,) = register.register(stocked, [register.NewFrame(584, 787)], found=unknown).codes
    (group,) = lives.lives(stocked).groups
    assert (group.rows, len(group.left_out)) == ((), 1)
    marks.pull(stocked, [code], "uneven")
    found = lives.lives(stocked)
    (row,) = behind_group(found, found.groups[0], "left_out").rows
    assert str(row.said) == "left out: nobody knows when it began; pulled: uneven"
    assert [len(c.rows) for c in found.causes] == [1]


def test_use_is_told_with_what_nobody_knows(stocked: Desk, clock: FakeClock) -> None:
    (code,) = screens(stocked, 1)
    found_mesh = [register.FoundMesh(MESH, 4, clock.now()), register.FoundMesh(MESH)]
    others = [
        register.register(stocked, [register.NewFrame(584, 787)], found=found).codes[0]
        for found in found_mesh
    ]
    for each in (code, *others):
        washout.printed(stocked, [each], impressions=250)
        washout.reclaim(stocked, [each])
    said = {r.frame.code: str(use_words(r.life)) for g in lives.lives(stocked, by="all").groups
            for r in (*g.rows, *g.left_out)}  # fmt: skip
    assert said == {
        code: "Reclaims: 1, impressions here: 250.",
        others[0]: "Reclaims: 5, impressions here: 250.",
        others[1]: "Reclaims here: 1, before that not known; impressions: 250.",
    }


def test_undo_brings_a_life_back(stocked: Desk, clock: FakeClock) -> None:
    (code,) = screens(stocked, 1)
    clock.go_on(days=3)
    marks.pull(stocked, [code], "uneven")
    assert len(lives.lives(stocked).groups[0].ended) == 1
    history.undo(stocked)
    (group,) = lives.lives(stocked).groups
    assert (len(group.ended), len(group.running)) == (0, 1)
    assert str(row_words(group.rows[0], "days")) == "in service at 3 days"


def test_reclaims_count_as_a_unit_and_an_end_at_none_forbids_a_law(
    stocked: Desk, clock: FakeClock
) -> None:
    codes = screens(stocked, 6)
    for turn in range(5):
        clock.go_on(days=1)
        marks.pull(stocked, codes[turn : turn + 1], "print faults")
        washout.reclaim(stocked, codes[turn + 1 :])
    (group,) = lives.lives(stocked, unit="reclaims").groups
    assert [(s.age, s.watched) for s in group.curve] == [
        (0, 6),
        (1, 5),
        (2, 4),
        (3, 3),
        (4, 2),
        (5, 1),
    ]
    assert group.law is None
    assert str(group.no_law) == "Ended before the first reclaim: 1; no law is fitted."
    assert group.mean_left is not None
    assert group.mean_left.at_least


def test_mesh_that_breaks_in_the_clamps_is_a_cause_but_no_life(stocked: Desk) -> None:
    (code,) = register.register(stocked, [register.NewFrame(584, 787)]).codes
    prep.prep_all(stocked, [code], skipped={"old_glue": "new frame"})
    stretch.stretch(stocked, [code], stretch.StretchRequest(MESH))
    marks.damage(stocked, [code], "burst", mesh_is_done=True)
    found = lives.lives(stocked)
    assert found.groups == ()
    assert not found.is_empty
    assert [str(r.said) for r in behind_unreleased(found).rows] == [
        "never released; burst, before the release"
    ]
    assert len(found.causes) == 1


def test_one_mesh_alone_compares_like_with_like(stocked: Desk, clock: FakeClock) -> None:
    screens(stocked, 2)
    other = register.FoundMesh("77-55", mesh_since=clock.now())
    register.register(stocked, [register.NewFrame(584, 787)] * 3, found=other)
    found = lives.lives(stocked, mesh="77-55", by="method")
    assert [len(g.rows) for g in found.groups] == [3]
    assert found.meshes == (MESH, "77-55")
    with pytest.raises(NotValid, match="No life of a mesh called 9"):
        lives.lives(stocked, mesh="9")
    for wrong in ({"by": "colour"}, {"unit": "weeks"}):
        with pytest.raises(NotValid, match="is none of"):
            lives.lives(stocked, **wrong)  # type: ignore[arg-type]


# does resting longer pay?


def nights(desk: Desk, clock: FakeClock, told: list[tuple[int, float]]) -> None:
    """Read screens right after the release at 25 N/cm, and in the morning with so much less."""
    codes = [screens(desk, 1, rest=rest)[0] for rest, _ in told]
    for code in codes:
        check.survey(desk, code, SurveyRequest((25.0,), (25.0,)))
    clock.go_on(hours=14)
    for code, (_, loss) in zip(codes, told, strict=True):
        after = round(25.0 * (1 - loss / 100), 3)
        check.survey(desk, code, SurveyRequest((after,), (after,)))


def test_a_longer_rest_that_pays_is_told_with_its_interval(stocked: Desk, clock: FakeClock) -> None:
    """Ordinary least squares of six nights, worked out by numpy beside it."""
    told = [(5, 8.1), (5, 7.9), (15, 6.2), (15, 5.8), (25, 4.1), (25, 3.9)]
    nights(stocked, clock, told)
    night = lives.lives(stocked).night
    (slope, _), ((var, _), _) = np.polyfit(*np.array(told).T, 1, cov=True)
    assert night.slope is not None
    assert night.slope.per_ten_minutes == pytest.approx(10 * slope, rel=1e-3)
    # 2.776 is the 97.5 % point of Student's t with 4 degrees of freedom, from any table
    assert night.slope.high == pytest.approx(10 * (slope + 2.776 * math.sqrt(var)), rel=1e-3)
    said = " ".join(map(str, night_lines(night)))
    assert "In the first night mesh loses 6.0 % on average (nights: 6)." in said
    assert "lost 2.00 percentage points less" in said
    assert said.endswith("Resting longer pays here.")


def test_noise_is_told_as_what_may_be_chance(stocked: Desk, clock: FakeClock) -> None:
    nights(stocked, clock, [(5, 8.0), (5, 4.0), (15, 4.2), (15, 8.3), (25, 8.1), (25, 4.0)])
    said = " ".join(map(str, night_lines(lives.lives(stocked).night)))
    assert said.endswith("That may be chance: it tells neither for nor against.")


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ([(5, 8.0), (15, 6.0), (25, 4.0)], "Only 3 first nights"),
        ([(10, 8.0)] * 6, "all of them rested alike (first nights: 6)"),
    ],
)
def test_too_little_to_tell_is_told_as_that(
    stocked: Desk, clock: FakeClock, told: list[tuple[int, float]], why: str
) -> None:
    nights(stocked, clock, told)
    night = lives.lives(stocked).night
    assert night.slope is None
    assert why in str(night.why_not)


def rested(life: LivedMesh, rest: int, loss: float, *, from_clamps: bool = False) -> LivedMesh:
    """A life with such a rest and first night."""
    night = FirstNight(100, 100 - loss, 1, 2, from_clamps)
    return replace(life, rest_minutes=rest, first_night=night)


def test_meshes_that_each_rested_alike_tell_nothing(demo: Demo) -> None:
    """Though the rests of the two differ, and so do their losses."""
    pattern = demo.known.lives[0]
    told = [("thick", rested(pattern, 30, 9.0 + n)) for n in range(4)]
    told += [("thin", rested(pattern, 5, 3.0 + n)) for n in range(4)]
    night = first_nights(told)
    assert night.slope is None
    assert "all of them rested alike (first nights: 8)" in str(night.why_not)


def test_nights_that_begin_in_the_clamps_stay_apart(demo: Demo) -> None:
    """The release is in their loss; as many of each are told by those without it."""
    pattern = demo.known.lives[0]
    after = [("m", rested(pattern, 10, 4.0)) for _ in range(3)]
    clamps = [("m", rested(pattern, 10, 9.0, from_clamps=True)) for _ in range(4)]
    few = first_nights([*after, *clamps])
    assert (few.from_clamps, few.mean, len(few.others)) == (True, pytest.approx(9.0), 3)
    even = first_nights([*after, *clamps[:3]])
    assert (even.from_clamps, even.mean, len(even.others)) == (False, pytest.approx(4.0), 3)
    assert "stay apart: 3." in " ".join(map(str, night_lines(even)))


def test_a_mesh_keeps_its_own_level(demo: Demo) -> None:
    """One mesh rests long and loses much, the other short and little: no rest did that.

    Within each, ten minutes more cost one percentage point less; numpy fits a level for each.
    """
    pattern = demo.known.lives[0]
    told = [
        ("thick", rest, 12 - 0.1 * rest + off) for rest, off in ((30, 0.1), (40, -0.2), (50, 0.1))
    ]
    told += [
        ("thin", rest, 4 - 0.1 * rest + off) for rest, off in ((5, -0.1), (15, 0.2), (25, -0.1))
    ]
    night = first_nights((mesh, rested(pattern, rest, loss)) for mesh, rest, loss in told)
    columns = np.array([(mesh == "thick", mesh == "thin", rest) for mesh, rest, _ in told], float)
    found, (off,), *_ = np.linalg.lstsq(columns, np.array([loss for *_, loss in told]))
    assert night.slope is not None
    assert night.slope.per_ten_minutes == pytest.approx(10 * found[2])
    assert night.slope.per_ten_minutes == pytest.approx(-1.0, abs=0.2)
    error = math.sqrt(off / 3 * np.linalg.inv(columns.T @ columns)[2, 2])
    # 3.182 is the 97.5 % point of Student's t with 3 degrees of freedom, from any table
    assert night.slope.high == pytest.approx(10 * (found[2] + 3.182 * error), rel=1e-3)
