"""How long mesh lasts in this shop, on the command line."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services import lives as service
from framekeeper.services.life_splits import BYS
from framekeeper.services.lives import LifeGroup, LifeRow, LivesFound
from framekeeper.services.lives_telling import (
    WHAT_COUNTS,
    cause_words,
    comparison_words,
    found_line,
    group_lines,
    night_lines,
    share_words,
)

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the command for the lives of mesh."""
    parser = command(
        commands, "lives", _lives,
        "tell how long mesh lasts here, what ends it, and whether resting longer pays",
    )  # fmt: skip
    parser.add_argument("--split", choices=BYS, default="mesh", help="what to compare lives by")
    parser.add_argument("--unit", choices=service.UNITS, default="days", help="how to count a life")
    parser.add_argument("--mesh", default=None, help="one mesh alone, to compare like with like")


def _lives(call: Call) -> None:
    words = call.words
    found = service.lives(call.desk, by=words.split, unit=words.unit, mesh=words.mesh)
    if call.as_json:
        call.give(_plain(found))
        return
    for line in _lines(found):
        call.tell(line)


def _lines(found: LivesFound) -> Iterator[Sentence]:
    if found.is_empty:
        yield say("No life of a mesh is known yet: it begins with a stretch that is released.")
        return
    yield found_line(found)
    yield WHAT_COUNTS
    for group in found.groups:
        first, *rest = group_lines(group, found.unit)
        yield first
        for line in rest:
            yield say("  {line}", line=line)
    yield comparison_words(found.comparison)
    yield say("What ends them:")
    for cause in found.causes:
        yield say(
            "  {n} ({share}) {cause}",
            n=len(cause.rows),
            share=share_words(cause.share),
            cause=cause_words(cause.cause),
        )
    yield from night_lines(found.night)


def _plain(found: LivesFound) -> dict[str, object]:
    """Give every number with the keys of the lives that it rests on."""
    compared, night = found.comparison, found.night
    known = {r.life.key: r for g in found.groups for r in (*g.rows, *g.left_out)}
    known |= {r.life.key: r for r in found.unreleased}
    return {
        "by": found.by,
        "unit": found.unit,
        "mesh": found.mesh or None,
        "groups": [_group(group) for group in found.groups],
        "comparison": {
            "lives": _keys(compared.rows),
            "chi2": compared.chi2 if compared.why_not is None else None,
            "freedom": compared.freedom if compared.why_not is None else None,
            "p": compared.p if compared.why_not is None else None,
            "said": comparison_words(compared),
        },
        "causes": [
            {
                "cause": cause_words(cause.cause),
                "share": cause.share,
                "cumulative_share": cause.cumulative,
                "lives": _keys(cause.rows),
            }
            for cause in found.causes
        ],
        "first_night": {
            "mean_loss_percent": night.mean,
            "from_clamps": night.from_clamps,
            "percent_per_ten_minutes": night.slope and list(night.slope),
            "lives": [point.life.key for point in night.points],
            "said": list(night_lines(night)),
        },
        "not_released": _keys(found.unreleased),
        "lives": [_life(row) for row in known.values()],
    }


def _group(group: LifeGroup) -> dict[str, object]:
    law, middle = group.law, group.middle
    return {
        "name": group.label.name,
        "lives": _keys(group.rows),
        "ended": _keys(group.ended),
        "in_service": _keys(group.running),
        "out_of_sight": _keys(group.out_of_sight),
        "left_out": _keys(group.left_out),
        "curve": [step._asdict() for step in group.curve],
        "half_outlast": middle and {n: _reached(v) for n, v in middle._asdict().items()},
        "weibull": law and {
            "shape": law.shape, "low": law.low, "high": law.high, "scale": law.scale,
        },
        "mean_left": group.mean_left and group.mean_left._asdict(),
    }  # fmt: skip


def _reached(age: float) -> float | None:
    """JSON knows no age that is never reached."""
    return age if math.isfinite(age) else None


def _life(row: LifeRow) -> dict[str, object]:
    life, span = row.life, row.span
    return {
        "key": life.key,
        "code": row.frame.code,
        "mesh": row.mesh_name,
        "entry": span and span.entry,
        "age": span and span.age,
        "fate": life.fate,
        "cause": life.cause and cause_words(life.cause),
        "left": row.left and row.left.expected,
        "reclaims": life.reclaims,
        "impressions": life.impressions,
        "events": [event.event_id for event in life.events],
    }


def _keys(rows: tuple[LifeRow, ...]) -> list[int]:
    return [row.life.key for row in rows]
