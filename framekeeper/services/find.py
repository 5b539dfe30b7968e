"""Finds the frame or the roll that a person or a scanner means."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from framekeeper.domain import codes
from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.records import FrameRecord, RollRecord
from framekeeper.domain.roll_marks import looks_like_roll_mark, read_roll_mark
from framekeeper.domain.sentence import say

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

LONGEST_LABEL = 200


def find_frame(reader: Reader, text: str) -> FrameRecord:
    """Find one frame by its code or by the shop's own label.

    Raises
    ------
    NotValid
        If the text is empty, its check character is wrong, or several frames carry the label.
    NotFound
        If no frame answers to it.
    """
    wanted = valid_text(text.strip(), argument="code", most=LONGEST_LABEL)
    if not wanted:
        raise NotValid(say("No frame was named."), hint=say("Scan or type its code."))
    wrong_code: NotValid | None = None
    if codes.looks_like_code(wanted):
        try:
            frame = reader.frame_by_code(codes.read_code(wanted))
        except NotValid as wrong:
            wrong_code = wrong  # unless it is a label of the shop's own
        else:
            if frame is not None and frame.state.state != "void":
                return frame
    labelled = reader.frames_by_own_label(wanted)
    if len(labelled) > 1:
        raise NotValid(
            say("{count} frames carry the label {label}.", count=len(labelled), label=wanted),
            hint=say("Use the code: {codes}.", codes=", ".join(f.code for f in labelled[:6])),
        )
    if labelled:
        return labelled[0]
    if wrong_code is not None:
        raise wrong_code
    raise NotFound(
        say("No frame in this shop answers to {label}.", label=wanted),
        hint=say("Check the code on its bar, or register it."),
    )


def find_frames(reader: Reader, texts: Iterable[str]) -> list[FrameRecord]:
    """Find several frames; one that is named twice counts once."""
    found: dict[int, FrameRecord] = {}
    for text in texts:
        frame = find_frame(reader, text)
        found.setdefault(frame.id, frame)
    if not found:
        raise NotValid(say("No frame was named."), hint=say("Scan or type its code."))
    return list(found.values())


def subject_of(frames: Iterable[FrameRecord]) -> str:
    """Name the frames of an operation briefly: one by its code, several by their number."""
    listed = list(frames)
    if len(listed) == 1:
        return listed[0].name
    return f"{len(listed)} frames"


def find_roll(reader: Reader, code: str) -> RollRecord:
    """Find a roll by its code, or by the mark on its label.

    Raises
    ------
    NotFound
        If no roll on the shelf answers to it.
    """
    wanted = code.strip()
    if looks_like_roll_mark(wanted):
        roll = reader.roll(read_roll_mark(wanted))
    else:
        roll = reader.roll_by_code(wanted.upper())
    if roll is None or roll.is_hidden:
        raise NotFound(
            say("There is no roll {code} on the shelf.", code=wanted[:40] or "—"),
            hint=say("Look at the roll's label."),
        )
    return roll
