"""What can be recorded on a frame's page: each action with its key, its fields and its service.

Whether an action is possible now is not written here: each carries a probe, an event as it would
be recorded, and the rules of the journal say whether they would take it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from framekeeper.domain.events import (
    Damaged,
    Found,
    Freed,
    Glued,
    Held,
    HoldEnded,
    Imaged,
    Inspected,
    Missing,
    Payload,
    Prepped,
    Printed,
    Pulled,
    Received,
    Reclaimed,
    Released,
    Reserved,
    Retensioned,
    Retired,
    SentOut,
    Stretched,
    Stripped,
    Surveyed,
    ToReclaim,
)
from framekeeper.services import marks, prep, stretch, washout
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import FramePage
from framekeeper.ui.places.frame_form import FormField
from framekeeper.ui.text import tr

Record = Callable[[Desk, str, dict[str, Any]], Done]
_ANY = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Action:
    """One thing that can be done to a frame.

    `place` names where it is done instead of here; without `record` the page has a form of its own
    for it (a survey, damage). `asks` are the fields of its form; without any it is done at once.
    """

    kind: str
    title: str
    key: str
    probe: Payload
    record: Record | None = None
    asks: tuple[FormField, ...] = ()
    place: str = ""

    def is_possible(self, page: FramePage) -> bool:
        """Whether the journal would take it now."""
        if self.kind == "surveyed":
            return _can_be_surveyed(page)
        return page.allows(self.probe)


def _can_be_surveyed(page: FramePage) -> bool:
    """A survey finds a missing screen again, and it fits whatever moment the state suggests."""
    if page.settled.state == "missing":
        return page.settled.life is not None
    moments = ("in_clamps", "after_release", "in_service")
    return any(page.allows(Surveyed(moment, ())) for moment in moments)  # type: ignore[arg-type]


def actions(page: FramePage) -> tuple[Action, ...]:
    """List what can be recorded for this frame now, in the order of its way through the shop."""
    return tuple(a for a in _all(page) if a.is_possible(page))


def next_action(page: FramePage) -> Action | None:
    """The action that brings this frame on."""
    wanted = page.next_step
    found = next((a for a in (*_all(page), *_elsewhere()) if a.kind == wanted), None)
    return found if found is not None and found.is_possible(page) else None


def _all(page: FramePage) -> tuple[Action, ...]:
    return (*_service(page), *_washing(), *_marks(), *_leaving(page))


def _elsewhere() -> tuple[Action, ...]:
    return (
        Action(
            "prepped", tr("Go to the Prep bench"), "", Prepped("inspect", "skipped", "–"),
            place="prep",
        ),
        Action(
            "stretched", tr("Go to the Stretching table"), "", Stretched(0, 25.0),
            place="stretching",
        ),
        Action("glued", tr("Go to the Stretching table"), "", Glued(_ANY), place="stretching"),
        Action("released", tr("Go to the Stretching table"), "", Released(), place="stretching"),
    )  # fmt: skip


def _service(page: FramePage) -> tuple[Action, ...]:
    job = FormField("job", tr("&Job"))
    target = FormField("target", tr("&Target, N/cm"), "number", page.target)
    return (
        Action("surveyed", tr("Survey"), "S", Surveyed("in_service", ())),
        Action(
            "imaged", tr("Image"), "I", Imaged(),
            lambda desk, code, v: washout.image(desk, [code], job=v["job"]), (job,),
        ),
        Action(
            "printed", tr("Printed"), "N", Printed(0),
            lambda desk, code, v: washout.printed(
                desk, [code], impressions=v["impressions"] or 0, job=v["job"]
            ),
            (FormField("impressions", tr("&Impressions"), "count"), job),
        ),
        Action(
            "retensioned", tr("Tighten"), "Y", Retensioned(25.0),
            lambda desk, code, v: stretch.retension(
                desk, [code], target_n_per_cm=v["target"] or 0.0
            ),
            (target,),
        ),
    )  # fmt: skip


def _washing() -> tuple[Action, ...]:
    findings = FormField("findings", tr("&Findings"))
    haze = FormField("haze", tr("&Haze remover"), "yes_no")
    return (
        Action(
            "to_reclaim", tr("To washout"), "Q", ToReclaim(),
            lambda desk, code, v: washout.queue(desk, [code]),
        ),
        Action(
            "reclaimed", tr("Reclaimed"), "R", Reclaimed(),
            lambda desk, code, v: washout.reclaim(
                desk, [code], haze_remover=v["haze"], findings=v["findings"]
            ),
            (haze, findings),
        ),
        Action(
            "inspected", tr("Inspected"), "L", Inspected(),
            lambda desk, code, v: washout.inspect(desk, [code], findings=v["findings"]),
            (findings,),
        ),
    )  # fmt: skip


def _marks() -> tuple[Action, ...]:
    reason = FormField("reason", tr("&Reason"))
    return (
        Action("damaged", tr("Damage"), "D", Damaged("other", False)),
        Action(
            "pulled", tr("Pull"), "P", Pulled("–"),
            lambda desk, code, v: marks.pull(desk, [code], v["reason"]), (reason,),
        ),
        Action(
            "stripped", tr("Strip"), "T", Stripped(),
            lambda desk, code, v: prep.strip(desk, [code]),
        ),
        Action(
            "held", tr("Hold"), "H", Held("–"),
            lambda desk, code, v: marks.hold(desk, [code], v["reason"]), (reason,),
        ),
        Action(
            "hold_ended", tr("End hold"), "H", HoldEnded(),
            lambda desk, code, v: marks.end_hold(desk, [code]),
        ),
        Action(
            "reserved", tr("Reserve"), "V", Reserved("–"),
            lambda desk, code, v: marks.reserve(desk, [code], v["job"], needed_on=v["needed_on"]),
            (FormField("job", tr("&Job")), FormField("needed_on", tr("&Needed on"), "date")),
        ),
        Action(
            "freed", tr("Free"), "V", Freed(),
            lambda desk, code, v: marks.free(desk, [code]),
        ),
    )  # fmt: skip


def _leaving(page: FramePage) -> tuple[Action, ...]:
    names = ("", *(m.name for m in page.mesh_types if not m.is_hidden))
    return (
        Action(
            "sent_out", tr("Send out"), "O", SentOut("–"),
            lambda desk, code, v: marks.send_out(desk, [code], v["to"], due_back_on=v["back"]),
            (FormField("to", tr("&To whom")), FormField("back", tr("&Due back on"), "date")),
        ),
        Action(
            "received", tr("Receive"), "O", Received(),
            lambda desk, code, v: marks.receive(
                desk, [code], mesh=v["mesh"], target_n_per_cm=v["target"]
            ),
            (
                FormField("mesh", tr("New &mesh"), "choice", choices=names),
                FormField("target", tr("&Target, N/cm"), "number"),
            ),
        ),
        Action(
            "missing", tr("Missing"), "M", Missing(),
            lambda desk, code, v: marks.missing(desk, [code]),
        ),
        Action(
            "found", tr("Found"), "M", Found(),
            lambda desk, code, v: marks.found(desk, [code]),
        ),
        Action(
            "retired", tr("Retire"), "X", Retired("–"),
            lambda desk, code, v: marks.retire(desk, [code], v["reason"]),
            (FormField("reason", tr("&Reason")),),
        ),
    )  # fmt: skip


# correcting what is in the journal

_DETAILS: dict[str, tuple[str, str]] = {
    "reason": ("&Reason", "text"),
    "job": ("&Job", "text"),
    "where": ("&Where", "text"),
    "findings": ("&Findings", "text"),
    "to": ("&To whom", "text"),
    "adhesive_lot": ("&Adhesive lot", "text"),
    "activator_lot": ("A&ctivator lot", "text"),
    "impressions": ("&Impressions", "count"),
    "rest_minutes": ("&Rest, minutes", "count"),
    "target_n_per_cm": ("&Target, N/cm", "number"),
    "tension_n_per_cm": ("&Tension, N/cm", "number"),
    "due_back_on": ("&Due back on", "date"),
    "needed_on": ("&Needed on", "date"),
    "haze_remover": ("&Haze remover", "yes_no"),
}


def detail_fields(payload: Payload) -> tuple[FormField, ...]:
    """The fields of an entry of the journal that a correction may change."""
    return tuple(
        FormField(name, tr(label), kind, getattr(payload, name))  # type: ignore[arg-type]
        for name, (label, kind) in _DETAILS.items()
        if hasattr(payload, name)
    )


def with_details(payload: Payload, values: dict[str, Any]) -> Payload:
    """The entry as it should have been; an emptied number keeps what it was."""
    changed = {
        name: value
        for name, value in values.items()
        if name in _DETAILS and hasattr(payload, name)
        and (value is not None or _DETAILS[name][1] == "date")
    }  # fmt: skip
    return replace(payload, **changed)
