"""Today: what is due, where, and why in one line."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QStackedWidget, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.places.place import Place
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader

if TYPE_CHECKING:
    from framekeeper.services.plan import DueItem
    from framekeeper.ui.widgets.due_list import DueLine, DueList


class Today(Place):
    """The due list. Enter opens the frame; "Go there" leads to the place of the work."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._places: dict[tuple[str, str], str] = {}
        self._go = KeyHintButton(bench.theme, tr("Go there"), "Ctrl+G", is_main=True)
        self._go.clicked.connect(self._go_there)
        self._print = KeyHintButton(bench.theme, tr("Print the list"), "Ctrl+P")
        self._print.clicked.connect(self._print_list)
        self._header = PlaceHeader(
            bench.theme, tr("Today"), tr("Looking at the shop …"), (self._print, self._go)
        )
        self._list: DueList | None = None
        self._nothing: EmptyState | None = None
        self._pages = QStackedWidget()  # filled when the answer is here, after the first paint
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)
        self._set_enabled(False)

    def take_focus(self) -> None:
        page = self._pages.currentWidget()
        (page or self).setFocus()

    def refresh(self) -> None:
        from framekeeper.services.plan import due  # after the first paint

        self.bench.read(due, self._show, owner=self)

    def _show(self, items: list[DueItem]) -> None:
        from framekeeper.domain.trade_words import PLACE_WORDS

        order = tuple(PLACE_WORDS)
        ordered = sorted(items, key=lambda i: order.index(i.task.place))
        self._places = {_row_id(i): i.task.place for i in ordered}
        had_focus = self.hasFocus() or self._pages.isAncestorOf(self.focusWidget() or self)
        self._header.set_purpose(self._summary(items))
        if items:
            self._due_list().show_lines([self._line(item) for item in ordered])
            self._pages.setCurrentWidget(self._due_list())
        else:
            self._pages.setCurrentWidget(self._empty_state())
        if had_focus:
            self.take_focus()
        self._set_enabled(bool(items))

    def _due_list(self) -> DueList:
        if self._list is None:
            from framekeeper.ui.widgets.due_list import DueList

            self._list = DueList(self.bench.theme)
            self._list.line_wanted.connect(self._open)
            self._pages.addWidget(self._list)
        return self._list

    def _empty_state(self) -> EmptyState:
        if self._nothing is None:
            self._nothing = EmptyState(
                self.bench.theme,
                self.bench.icons,
                "today",
                tr("Nothing is due"),
                tr(
                    "Register frames on the Rack, or import the shop's list; then this page says "
                    "what needs work and why."
                ),
            )
            self._pages.addWidget(self._nothing)
        return self._nothing

    def _summary(self, items: list[DueItem]) -> str:
        if not items:
            return tr("Every frame holds.")
        below = len({i.frame.id for i in items if i.task.urgency == "below"})
        summary = tr(
            "{tasks} on {frames}.",
            tasks=tr_count("{n} task", "{n} tasks", len(items)),
            frames=tr_count("{n} frame", "{n} frames", len({i.frame.id for i in items})),
        )
        if not below:
            return summary
        return tr(
            "{summary} {below}",
            summary=summary,
            below=tr_count("{n} is below its limit.", "{n} are below their limit.", below),
        )

    def _line(self, item: DueItem) -> DueLine:
        from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
        from framekeeper.ui.widgets.due_list import DueLine

        formatter = self.bench.formatter
        today = formatter.day_of(dt.datetime.now(dt.UTC))
        days = (today - formatter.day_of(item.task.due_at)).days
        frame = item.frame
        return DueLine(
            row_id=_row_id(item),
            place=formatter.sentence(PLACE_WORDS[item.task.place]),
            mark=item.task.urgency,
            name=frame.code,
            where="  ·  ".join(part for part in (frame.own_label, frame.slot) if part),
            task=formatter.sentence(TASK_WORDS[item.task.rule]).capitalize(),
            reason=formatter.sentence(item.task.reason),
            mesh=item.mesh_name,
            since=tr_count("due for {n} day", "due for {n} days", days)
            if days
            else tr("due today"),
        )

    def _set_enabled(self, is_enabled: bool) -> None:
        for button in (self._go, self._print):
            button.setEnabled(is_enabled)

    def _open(self, row_id: tuple[str, str]) -> None:
        self.bench.frame_wanted.emit(row_id[0])

    def _go_there(self) -> None:
        line = self._list.current_line if self._list else None
        if line is not None:
            self.bench.place_wanted.emit(self._places[line.row_id])

    def _print_list(self) -> None:
        from framekeeper.ui.printing import save_due_sheet

        save_due_sheet(self.bench, self)


def _row_id(item: DueItem) -> tuple[str, str]:
    return item.frame.code, item.task.rule
