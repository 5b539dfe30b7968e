"""Opens the numbers of a mesh's usual way down to the stretches and surveys that they rest on."""

from __future__ import annotations

from framekeeper.domain.sentence import say
from framekeeper.domain.stretch_history import StretchHistory
from framekeeper.services.behind import Behind, BehindEvent, BehindRow
from framekeeper.services.findings import Known, MeshFinding, OddScreen


def behind_mesh(known: Known, found: MeshFinding) -> Behind:
    """List the stretches of one mesh that are in the fit, each with its readings.

    Where a number is partly the trade's figure, the list says so: those have no event.
    """
    last = 0 if known.fit is None else known.fit.last_event_id
    rows = tuple(
        _row(known, found, history, last)
        for history in known.histories
        if history.mesh_type_id == found.mesh.id
        and any(reading.event_id <= last for reading in history.readings)
    )
    said = say(
        "{mesh}: its readings, {share:.0f} % of what is known; the rest is the trade’s",
        mesh=found.mesh.name,
        share=100 * found.own_share,
    )
    return Behind(said, rows)


def reading_of(known: Known, odd: OddScreen) -> int:
    """Return the event of the reading that shows how a stretch stands out."""
    history = next(h for h in known.histories if h.key == odd.key)
    return min(history.readings, key=lambda r: abs(r.at - odd.at)).event_id


def _row(known: Known, found: MeshFinding, history: StretchHistory, last: int) -> BehindRow:
    readings = [r for r in history.readings if r.event_id <= last]
    first, newest = readings[0], readings[-1]
    frame = known.frames[history.frame_id]
    said = (
        say("read once: {first:.1f} N/cm", first=first.tension)
        if len(readings) == 1
        else say(
            "{n} readings in {days:.0f} days: {first:.1f} to {newest:.1f} N/cm",
            n=len(readings),
            days=newest.day,
            first=first.tension,
            newest=newest.tension,
        )
    )
    events = tuple(
        BehindEvent(r.event_id, r.at, say("read: {tension:.1f} N/cm", tension=r.tension))
        for r in readings
    )
    return BehindRow(
        history.key,
        frame.code,
        frame.name,
        found.mesh.name,
        history.day0_at,
        newest.at,
        said,
        newest.event_id,
        events,
        first.tension - newest.tension,
    )
