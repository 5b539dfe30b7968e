"""The due sheet: what is due, place by place, with its reason and a box to tick by hand."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    BELOW,
    INK,
    QUIET,
    SMALL,
    TEXT,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
)

_BOX_MM = 4.5
_ROW_MM = 10.5
_CODE_MM, _TASK_MM, _DUE_MM = 9.0, 44.0, 30.0  # where columns begin; the last from the right


@dataclass(frozen=True, slots=True)
class DueTask:
    """One task, ready to print; `slot` tells where the frame stands."""

    code: str
    own_label: str
    task: str
    reason: str
    due: str
    slot: str = ""
    is_late: bool = False


@dataclass(frozen=True, slots=True)
class DuePlace:
    """The tasks of one place in the shop, in working order."""

    place: str
    tasks: tuple[DueTask, ...]


@dataclass(frozen=True, slots=True)
class DueSheet:
    """Everything that stands on the sheet."""

    shop: str
    printed_on: str
    places: tuple[DuePlace, ...]
    paper: Paper = "A4"


def due_sheet_pdf(sheet: DueSheet, *, speak: Speak = str) -> bytes:
    """Print what is due; a place without tasks is left out."""
    places = [place for place in sheet.places if place.tasks]
    count = sum(len(place.tasks) for place in places)
    late = sum(task.is_late for place in places for task in place.tasks)
    subtitle = speak(
        say(
            "Printed {date}. Tasks: {count}, of these late: {late}.",
            date=sheet.printed_on,
            count=count,
            late=late,
        )
    )

    def draw(pages: Sheet) -> None:
        for place in places:
            _draw_place(pages, place, speak)
        if not places:
            pages.text(pages.left, pages.y + 4, speak(say("Nothing is due.")))

    furniture = Furniture(speak(say("What is due")), subtitle, sheet.shop, sheet.paper)
    return paper_pdf(furniture, draw, speak)


def _draw_place(pages: Sheet, place: DuePlace, speak: Speak) -> None:
    pages.heading(place.place)
    for task in place.tasks:
        if pages.need(_ROW_MM):
            again = speak(say("{place}, continued", place=place.place))
            pages.text(pages.left, pages.y, again, bold=True, room=pages.right - pages.left)
            pages.y += 4
        _draw_task(pages, task, speak)


def _draw_task(pages: Sheet, task: DueTask, speak: Speak) -> None:
    """The task on the first line, where and why on the second."""
    first, second = pages.y + 3.4, pages.y + 7.6
    pages.box(pages.left, pages.y + 0.4, _BOX_MM, _BOX_MM)
    code_x, task_x = pages.left + _CODE_MM, pages.left + _TASK_MM
    pages.text(code_x, first, task.code, bold=True, room=_TASK_MM - _CODE_MM - 3)
    under = "  ".join(part for part in (task.slot, task.own_label) if part)
    pages.text(code_x, second, under, size=SMALL, colour=QUIET, room=_TASK_MM - _CODE_MM - 3)
    room = pages.right - task_x
    pages.text(task_x, first, task.task, size=TEXT, room=room - _DUE_MM - 3)
    pages.text(task_x, second, task.reason, size=SMALL, colour=QUIET, room=room)
    due = speak(say("late: {due}", due=task.due)) if task.is_late else task.due
    pages.text(
        pages.right,
        first,
        due,
        size=SMALL,
        bold=task.is_late,
        colour=BELOW if task.is_late else INK,
        align="right",
        room=_DUE_MM,
    )
    pages.y += _ROW_MM
    pages.line(pages.left, pages.y - 1.2, pages.right, pages.y - 1.2)
