"""What the shop's own journal says of its costs, each number with the events behind it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal

from framekeeper.domain.cost_choice import DAYS_PER_MONTH
from framekeeper.domain.events import Event, Received, SentOut
from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import EVENT_WORDS
from framekeeper.services.cost_ledger import mesh_price, mesh_used, mesh_waste
from framekeeper.services.cost_seen import Seen, Told, Trace, rounded

MONTH_DAYS = float(DAYS_PER_MONTH)
FEW_ENDS = 5  # fewer ends of lives tell no mean; as where lives are told
_DAY = dt.timedelta(days=1)


def told_by_journal(seen: Seen) -> dict[str, Told]:
    """Tell each number that journal and ledger know of: inputs by their name, and "screens"."""
    return {name: tell(seen) for name, tell in _TELL.items()}


# stretches


def _begun(life: LivedMesh) -> dt.datetime:
    return life.events[0].at


def _of_the_year(seen: Seen, methods: Iterable[str]) -> list[LivedMesh]:
    wanted = frozenset(methods)
    return [x for x in seen.lives if x.method in wanted and _begun(x) >= seen.since]


def _broke(life: LivedMesh) -> bool:
    return life.cause is not None and life.cause.before_release


def _screens(seen: Seen) -> Told:
    """Good stretches a month, here and outside; a younger shop is asked for the time it has."""
    good = [x for x in _of_the_year(seen, ("glued", "rollers", "outside")) if not _broke(x)]
    if not good:
        return Told(None, say("No stretch was recorded in the last year."))
    days = max((seen.now - min(map(_begun, good))) / _DAY, MONTH_DAYS)
    each_month = Decimal(len(good)) / (Decimal(str(round(days, 3))) / DAYS_PER_MONTH)
    words = say("{n} good stretches in the last {days:.0f} days", n=len(good), days=days)
    return Told(rounded(each_month, 1), words, tuple(_stretch(seen, x) for x in good))


def _stretch(seen: Seen, life: LivedMesh) -> Trace:
    first = life.events[0]
    what = EVENT_WORDS[first.kind]
    if _broke(life):
        what = say("stretched, and the mesh was lost before the release")
    return seen.trace(life.frame_id, life.key, first.at, what)


def _bursts(seen: Seen) -> Told:
    pulls = [
        x for x in _of_the_year(seen, ("glued", "rollers")) if _broke(x) or x.seen_from is not None
    ]
    if not pulls:
        return Told(None, say("No pull was recorded in the last year."))
    lost = [x for x in pulls if _broke(x)]
    words = say("{lost} of {n} pulls were lost before the release", lost=len(lost), n=len(pulls))
    shown = [*lost, *(x for x in pulls if not _broke(x))]
    share = rounded(Decimal(len(lost)) / len(pulls), 4)
    if share >= 1:
        return Told(None, words, tuple(_stretch(seen, x) for x in shown))
    return Told(share, words, tuple(_stretch(seen, x) for x in shown))


def _activator(seen: Seen) -> Told:
    glued = [x for x in _of_the_year(seen, ("glued",)) if x.seen_from is not None]
    with_it = [x for x in glued if x.activator_lot]
    if not glued or with_it:
        return Told(
            None,
            say("{n} stretches name an activator", n=len(with_it)),
            tuple(_stretch(seen, x) for x in with_it),
        )
    traces = tuple(_stretch(seen, x) for x in glued)
    return Told(Decimal(0), say("none of {n} stretches names an activator", n=len(glued)), traces)


# lives


def _reclaims(seen: Seen) -> Told:
    spans = [(x, x.span("reclaims")) for x in seen.lives]
    counted = [(x, s) for x, s in spans if s is not None]
    return _mean_life(
        seen,
        [x for x, _ in counted],
        [s.age for _, s in counted],
        [s.entry for _, s in counted],
        1,
        lambda life, age: say("{n:.0f} reclaims", n=age),
    )


def _prints(seen: Seen) -> Told:
    """Of mesh that was found on a frame nobody knows the prints before."""
    lives = [x for x in seen.lives if x.seen_from is not None and x.method != "not_told"]
    if not any(x.impressions for x in lives):
        return Told(None, say("no prints are recorded"))
    ages = [float(x.impressions) for x in lives]
    return _mean_life(
        seen, lives, ages, [0.0] * len(lives), 0, lambda life, age: say("{n:.0f} prints", n=age)
    )


def _mean_life(
    seen: Seen,
    lives: Sequence[LivedMesh],
    ages: Sequence[float],
    entries: Sequence[float],
    decimals: int,
    say_age: Callable[[LivedMesh, float], Sentence],
) -> Told:
    """The mean over lives of which some go on, by the area under their curve."""
    ended = [x.fate == "ended" for x in lives]
    traces = tuple(
        _life(seen, x, say_age(x, age))
        for x, age in sorted(
            zip(lives, ages, strict=True), key=lambda p: (p[0].fate != "ended", p[0].last_at)
        )
    )
    if sum(ended) < FEW_ENDS:
        words = say("only {n} lives have ended; a mean takes {least}", n=sum(ended), least=FEW_ENDS)
        return Told(None, words, traces)
    from framekeeper.domain.life import expected_lives_left, kaplan_meier

    left = expected_lives_left(kaplan_meier(ages, ended, entry=entries), [0])
    mean = rounded(Decimal(str(round(float(left.expected[0]), 6))), decimals)
    values = {"ended": sum(ended), "n": len(lives)}
    if bool(left.at_least[0]):
        words = Sentence("at least, from {n} lives, of which {ended} have ended", values)
    else:
        words = Sentence("from {n} lives, of which {ended} have ended", values)
    return Told(mean if mean > 0 else None, words, traces)


def _life(seen: Seen, life: LivedMesh, age: Sentence) -> Trace:
    known = {
        "ended": say("{age}, ended", age=age),
        "on": say("{age}, goes on", age=age),
        "out_of_sight": say("{age}, out of sight", age=age),
    }
    at = _begun(life) if life.fate == "on" else life.last_at
    return seen.trace(life.frame_id, life.closed_by or life.key, at, known[life.fate])


# trips to a stretcher


def _sent(seen: Seen) -> list[tuple[Event, Event | None]]:
    """Each frame that was sent out in the last year, and its return with new mesh."""
    found: list[tuple[Event, Event | None]] = []
    for journal in seen.journals.values():
        out: Event | None = None
        for event in journal:
            if isinstance(event.payload, SentOut):
                out = event
            elif isinstance(event.payload, Received) and out is not None:
                is_new = event.payload.mesh_type_id is not None
                found.append((out, event if is_new else None))
                out = None
        if out is not None:
            found.append((out, None))
    return [pair for pair in found if pair[0].happened_at >= seen.since]


def _on_trip(seen: Seen) -> Told:
    trips: dict[tuple[str, dt.date], list[Event]] = defaultdict(list)
    for out, _ in _sent(seen):
        if isinstance(out.payload, SentOut):
            day = out.happened_at.astimezone(seen.zone).date()
            trips[(out.payload.to, day)].append(out)
    if not trips:
        return Told(None, say("Nothing was sent out in the last year."))
    frames = [out for trip in trips.values() for out in trip]
    traces = tuple(
        seen.trace(e.frame_id, e.event_id, e.happened_at, EVENT_WORDS[e.kind]) for e in frames
    )
    words = say("{n} frames on {trips} trips", n=len(frames), trips=len(trips))
    return Told(rounded(Decimal(len(frames)) / len(trips), 1), words, traces)


def _away(seen: Seen) -> Told:
    back = [(out, home) for out, home in _sent(seen) if home is not None]
    if not back:
        return Told(None, say("Nothing came back with new mesh in the last year."))
    days = [(home.happened_at - out.happened_at) / _DAY for out, home in back]
    traces = tuple(
        seen.trace(
            home.frame_id,
            home.event_id,
            home.happened_at,
            say("back after {days:.1f} days", days=d),
        )
        for (_, home), d in zip(back, days, strict=True)
    )
    mean = Decimal(str(round(sum(days) / len(days), 1)))
    return Told(mean, say("{n} frames came back with new mesh", n=len(back)), traces)


_TELL: Mapping[str, Callable[[Seen], Told]] = {
    "screens": _screens,
    "mesh_m": mesh_used,
    "price_per_m": mesh_price,
    "waste_share": mesh_waste,
    "activator": _activator,
    "burst_share": _bursts,
    "prints_per_life": _prints,
    "reclaims_per_life": _reclaims,
    "screens_per_trip": _on_trip,
    "days_away": _away,
}
