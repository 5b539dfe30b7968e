"""What can be done with the chosen frames of the Rack: names, keys, and what each asks for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from framekeeper.domain.admission import ALLOWED
from framekeeper.domain.frame_state import FrameState
from framekeeper.services import marks, washout
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.dialogs.reason import Question
from framekeeper.ui.text import tr

At = Callable[[Desk, Sequence[str]], Done]
Asked = Callable[[Desk, Sequence[str], str, dt.date | None], Done]


@dataclass(frozen=True, slots=True)
class RackAction:
    """One action: `event` is the kind of event that it appends, where it appends one.

    Without a question it is done at once; undo takes it back.
    """

    key: str
    text: str
    shortcut: str
    event: str = ""
    done: At | None = None
    question: Question | None = None
    asked: Asked | None = None

    def fits(self, state: FrameState) -> bool:
        """Whether a frame in this state can take it; the shop decides again when it is done."""
        if self.event and state.state not in ALLOWED[self.event]:
            return False
        if self.key == "end_hold":
            return state.hold_reason is not None
        if self.key == "free":
            return state.reserved_job is not None
        if self.key in ("hold", "reserve"):
            return state.hold_reason is None and (self.key == "hold" or not state.reserved_job)
        return True


def rack_actions() -> tuple[RackAction, ...]:
    """List the actions, the most frequent first."""
    return (*_at_hand(), *_rarer())


def _at_hand() -> tuple[RackAction, ...]:
    return (
        RackAction("labels", tr("Print labels"), "Ctrl+L"),
        RackAction(
            "hold", tr("Hold"), "Ctrl+H", "held",
            question=Question(
                tr("Put on hold"), tr("Hold"), tr("&Why"), "reason",
                (tr("rocks on the glass"), tr("waits for a look"), tr("uneven tension"),
                 tr("sharp edge or burr")),
            ),
            asked=lambda desk, codes, text, _day: marks.hold(desk, codes, text),
        ),
        RackAction(
            "reserve", tr("Reserve"), "Ctrl+R", "reserved",
            question=Question(
                tr("Reserve for a job"), tr("Reserve"), tr("&Job"), "job",
                date_label=tr("needed o&n"),
            ),
            asked=lambda desk, codes, text, day: marks.reserve(desk, codes, text, needed_on=day),
        ),
        RackAction(
            "queue", tr("To the washout"), "Ctrl+W", "to_reclaim",
            done=lambda desk, codes: washout.queue(desk, codes),
        ),
        RackAction(
            "pull", tr("Pull"), "Ctrl+U", "pulled",
            question=Question(
                tr("Pull from service"), tr("Pull"), tr("&Why"), "reason",
                (tr("below its limit"), tr("uneven tension"), tr("print faults"),
                 tr("ghost image")),
            ),
            asked=lambda desk, codes, text, _day: marks.pull(desk, codes, text),
        ),
    )  # fmt: skip


def _rarer() -> tuple[RackAction, ...]:
    return (
        RackAction("again", tr("Print labels again, as last time"), "Ctrl+Shift+L"),
        RackAction(
            "end_hold", tr("End hold"), "Ctrl+Shift+H", "hold_ended",
            done=lambda desk, codes: marks.end_hold(desk, codes),
        ),
        RackAction(
            "free", tr("Free from its job"), "Ctrl+Shift+R", "freed",
            done=lambda desk, codes: marks.free(desk, codes),
        ),
        RackAction("damage", tr("Record damage …"), "Ctrl+D", "damaged"),
        RackAction(
            "send_out", tr("Send out …"), "Ctrl+O", "sent_out",
            question=Question(
                tr("Send to an outside stretcher"), tr("Send out"), tr("&To whom"), "to",
                date_label=tr("due back o&n"), days_ahead=14,
            ),
            asked=lambda desk, codes, text, day: marks.send_out(
                desk, codes, text, due_back_on=day
            ),
        ),
        RackAction("receive", tr("Take back from outside …"), "Ctrl+Shift+O", "received"),
        RackAction(
            "missing", tr("Missing"), "Ctrl+M", "missing",
            done=lambda desk, codes: marks.missing(desk, codes),
        ),
        RackAction(
            "found", tr("Found again"), "Ctrl+Shift+M", "found",
            done=lambda desk, codes: marks.found(desk, codes),
        ),
        RackAction("edit", tr("Change what it is …"), "F2"),
        RackAction(
            "retire", tr("Retire …"), "Ctrl+Del", "retired",
            question=Question(
                tr("Retire for good"), tr("Retire"), tr("&Why"), "reason",
                (tr("bent bar"), tr("cracked weld"), tr("worn face"), tr("sold")),
            ),
            asked=lambda desk, codes, text, _day: marks.retire(desk, codes, text),
        ),
    )  # fmt: skip
