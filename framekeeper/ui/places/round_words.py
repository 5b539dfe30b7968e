"""What a round says in words: how far it is, which screen is next, whose numbers are typed."""

from __future__ import annotations

from collections.abc import Sequence

from framekeeper.services.frame_page import FramePage
from framekeeper.services.tension_round import Stop
from framekeeper.ui.text import tr


def counts(stops: Sequence[Stop], missing: int) -> str:
    """How far the round is and what it has found so far."""
    if not stops and not missing:
        return tr("No reading is due.")
    read = [stop for stop in stops if stop.is_read]
    standing = [stop for stop in read if not stop.is_pulled]
    verdicts = [stop.judgement.verdict if stop.judgement else None for stop in standing]
    return tr(
        "{read} of {all} read.   Outside: {outside}   Too close to call: {close}   "
        "Pulled: {pulled}   Missing: {missing}",
        read=len(read),
        all=len(stops),
        outside=verdicts.count("outside"),
        close=verdicts.count("too close to call"),
        pulled=len(read) - len(standing),
        missing=missing,
    )


def what_to_do(page: FramePage | None, expected: Stop | None, stops: Sequence[Stop]) -> str:
    """Whose numbers are typed, or which screen is next."""
    if page is not None:
        return _typing(page)
    if expected is not None:
        return tr("Scan a screen. Next: {frame}", frame=long_name(expected))
    if stops:
        return tr("The round is done. Any other screen can still be read: scan it.")
    return tr("Scan any screen to read it.")


def _typing(page: FramePage) -> str:
    name, slot = page.frame.name, page.frame.slot
    mesh = page.mesh.name if page.mesh else ""
    if slot:
        return tr("{slot}   {frame}   {mesh}", slot=slot, frame=name, mesh=mesh)
    return tr("{frame}   {mesh}", frame=name, mesh=mesh)


def short_name(stop: Stop) -> str:
    """What fits on a button: the slot, else the label, else the code."""
    return stop.frame.slot or stop.frame.own_label or stop.frame.code


def long_name(stop: Stop) -> str:
    """The frame with its slot."""
    frame = stop.frame
    return tr("{slot}, {frame}", slot=frame.slot, frame=frame.name) if frame.slot else frame.name
