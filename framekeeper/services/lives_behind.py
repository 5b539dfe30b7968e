"""Opens each number about lives down to the lives and events that it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import EVENT_WORDS
from framekeeper.services.behind import Behind, BehindEvent, BehindRow
from framekeeper.services.lives import CauseFound, LifeGroup, LifeRow, LivesFound
from framekeeper.services.lives_telling import cause_words, night_words, row_words, use_words

Number = Literal["lives", "ended", "on", "out_of_sight", "left_out", "middle", "law", "left"]


def behind_group(found: LivesFound, group: LifeGroup, number: Number) -> Behind:
    """Open one number of a group: a count to its lives, an estimate to all that it was made of."""
    rows = {
        "ended": group.ended,
        "on": group.running,
        "out_of_sight": group.out_of_sight,
        "left_out": group.left_out,
        "left": group.running,
    }.get(number, group.rows)
    said = {
        "lives": say("{name}: the lives that count"),
        "ended": say("{name}: the lives that ended"),
        "on": say("{name}: the screens in service"),
        "out_of_sight": say("{name}: the lives that went out of sight"),
        "left_out": say("{name}: the lives that were left out"),
        "middle": say("{name}: what the half-way age rests on"),
        "law": say("{name}: what the way of failing rests on"),
        "left": say("{name}: what is left for the screens in service"),
    }[number]
    title = Sentence(said.template, {"name": group.label.name})
    return Behind(title, _rows(found, rows, by_left=number == "left"))


def behind_cause(found: LivesFound, cause: CauseFound) -> Behind:
    """Open the count of one cause to its ends."""
    said = say("Ended of: {cause}", cause=cause_words(cause.cause))
    return Behind(said, _rows(found, cause.rows))


def behind_comparison(found: LivesFound) -> Behind:
    """Open the comparison to the lives of all groups that take part."""
    return Behind(say("The lives that were compared"), _rows(found, found.comparison.rows))


def behind_night(found: LivesFound) -> Behind:
    """Open what is said about first nights to the two surveys of each."""
    rows = {r.life.key: r for g in found.groups for r in (*g.rows, *g.left_out)}
    told = []
    for point in found.night.points:
        night = point.life.first_night
        if night is None:
            continue
        surveys = {night.before_id, night.after_id}
        events = tuple(e for e in _events(point.life) if e.event_id in surveys)
        row = rows[point.life.key]
        told.append(
            BehindRow(
                point.life.key,
                row.frame.code,
                row.frame.name,
                row.mesh_name,
                events[0].at,
                events[-1].at,
                night_words(point),
                night.after_id,
                events,
                point.loss,
            )
        )
    return Behind(say("First nights, evening and morning"), tuple(told))


def behind_unreleased(found: LivesFound) -> Behind:
    """Open the count of what never became a screen."""
    return Behind(say("In the clamps, or ended there"), _rows(found, found.unreleased))


def _rows(
    found: LivesFound, rows: Iterable[LifeRow], *, by_left: bool = False
) -> tuple[BehindRow, ...]:
    return tuple(_row(found, row, by_left=by_left) for row in rows)


def _row(found: LivesFound, row: LifeRow, *, by_left: bool) -> BehindRow:
    life = row.life
    sort = row.span.age if row.span else None
    if by_left:
        sort = row.left.expected if row.left else None
    return BehindRow(
        life.key,
        row.frame.code,
        row.frame.name,
        row.mesh_name,
        life.started_at,
        life.last_at,
        row_words(row, found.unit),
        life.closed_by or life.events[-1].event_id,
        _events(life),
        sort,
        use_words(life),
    )


def _events(life: LivedMesh) -> tuple[BehindEvent, ...]:
    return tuple(BehindEvent(e.event_id, e.at, EVENT_WORDS[e.kind]) for e in life.events)
