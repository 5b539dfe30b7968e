"""What the shop has learnt about its mesh, on the command line."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services import findings as service
from framekeeper.services import forecasts
from framekeeper.services.findings import Findings, MeshFinding, OddScreen
from framekeeper.services.findings_telling import (
    fitted_words,
    loss_words,
    odd_line,
    rests_on_words,
    spread_words,
    trade_words,
)

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the command for the findings."""
    parser = command(
        commands, "findings", _findings,
        "tell how each mesh loses tension here, what that rests on, and which screens stand out",
    )  # fmt: skip
    parser.add_argument("--anew", action="store_true", help="fit all readings anew first")


def _findings(call: Call) -> None:
    if call.words.anew:
        forecasts.keep(call.desk, forecasts.fit(forecasts.gather(call.desk, anyway=True)))
    else:
        forecasts.refresh_if_possible(call.desk)
    found = service.findings(call.desk)
    if call.as_json:
        call.give(_plain(found))
        return
    for line in _lines(found):
        call.tell(line)


def _lines(found: Findings) -> Iterator[Sentence]:
    yield fitted_words(found.fitted)
    if not found.meshes:
        yield trade_words(found)
        for figure in found.trade:
            yield say(
                "  {percent:.2f} % (give or take {doubt:.2f}) {what}: {source}",
                percent=figure.percent,
                doubt=figure.doubt,
                what=figure.what,
                source=figure.source,
            )
        return
    for mesh in found.meshes:
        yield rests_on_words(mesh)
        yield Sentence(
            "  usually {day0:.1f} N/cm on day 0, {day1:.1f} on day 1, {day7:.1f} on day 7, "
            "{day30:.1f} on day 30, {day90:.1f} on day 90, {day180:.1f} on day 180",
            {f"day{p.day:.0f}": p.tension for p in mesh.days},
        )
        for line in (spread_words(mesh), *loss_words(mesh)):
            yield say("  {line}", line=line)
    if found.unread:
        yield say("No reading yet of: {names}.", names=", ".join(found.unread))
    yield say("Standing out: {n}.", n=len(found.odd))
    for odd in found.odd:
        yield say("  {line}", line=odd_line(odd))


def _plain(found: Findings) -> dict[str, object]:
    return {
        "fitted": found.fitted and {
            "at": found.fitted.fitted_at,
            "stretches": found.fitted.stretches,
            "readings": found.fitted.readings,
            "newer_surveys": found.fitted.new_surveys,
        },
        "cycles_per_day": found.cycles_per_day,
        "meshes": [_mesh(mesh) for mesh in found.meshes],
        "unread": list(found.unread),
        "odd": [_odd(odd) for odd in found.odd],
        "trade": [
            {"what": t.what, "percent": t.percent, "doubt": t.doubt, "source": t.source}
            for t in found.trade
        ],
        "trade_left_percent": dict(
            zip(map(str, service.DAYS), found.trade_left, strict=True)
        ),
    }  # fmt: skip


def _mesh(found: MeshFinding) -> dict[str, object]:
    return {
        "mesh": found.mesh.name,
        "stretches": found.stretches,
        "readings": found.readings,
        "own_share": found.own_share,
        "days": [
            {"day": round(p.day), "tension": p.tension, "low": p.low, "high": p.high}
            for p in found.days
        ],
        "first_night": found.first_night,
        "first_cycle": found.first_cycle,
        "later_cycle": found.later_cycle,
    }


def _odd(odd: OddScreen) -> dict[str, object]:
    return {
        "code": odd.frame.code,
        "own_label": odd.frame.own_label,
        "mesh": odd.mesh_name,
        "kind": odd.kind,
        "at": odd.at,
        "lost": odd.lost,
        "usual": odd.usual,
        "deviations": odd.deviations,
        "still_on": odd.is_on,
    }
