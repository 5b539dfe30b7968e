"""Today: what is due, where, and why in one line; and what the coming days hold."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QStackedWidget, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.places.place import Place
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader

if TYPE_CHECKING:
    from framekeeper.domain.changes import Changes
    from framekeeper.services.desk import Desk
    from framekeeper.services.order import OrderFacts, OrderList
    from framekeeper.services.plan import DueItem
    from framekeeper.services.settings import ShopSettings
    from framekeeper.ui.places.week_page import WeekPage
    from framekeeper.ui.widgets.due_list import DueLine, DueList


class Today(Place):
    """The due list, and the week as its second view.

    Enter opens the frame; "Go there" leads to the place of the work.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._places: dict[tuple[str, str], str] = {}
        self._go = KeyHintButton(bench.theme, tr("Go there"), "Ctrl+G", is_main=True)
        self._go.clicked.connect(self._go_there)
        self._print = KeyHintButton(bench.theme, tr("Print the list"), "Ctrl+P")
        self._print.clicked.connect(self._print_list)
        self._switch = KeyHintButton(bench.theme, tr("The week"), "Ctrl+T")
        self._switch.clicked.connect(self._switch_view)
        self._calendar = KeyHintButton(bench.theme, tr("Save calendar"), "Ctrl+S")
        self._calendar.clicked.connect(self._save_calendar)
        self._days = KeyHintButton(bench.theme, tr("Days and minutes"), "Ctrl+D")
        self._days.clicked.connect(self._change_days)
        self._header = PlaceHeader(
            bench.theme,
            tr("Today"),
            tr("Looking at the shop …"),
            (self._days, self._calendar, self._print, self._switch, self._go),
        )
        self._week: WeekPage | None = None
        self._shows_week = False
        self._summed_up = ""
        self._to_order: int | None = None  # None: not asked since the shelf changed
        self._list: DueList | None = None
        self._nothing: EmptyState | None = None
        self._pages = QStackedWidget()  # filled when the answer is here, after the first paint
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)
        self._set_enabled(False)
        self._dress_header()

    def follows(self, changes: Changes) -> bool:
        if changes.kinds & {"rolls", "mesh_types", "settings", "forecast"}:
            self._to_order = None
        return super().follows(changes) or "rolls" in changes.kinds

    def take_focus(self) -> None:
        page = self._pages.currentWidget()
        (page or self).setFocus()

    def refresh(self) -> None:
        if self._shows_week:
            self._week_page().refresh()
            return
        from framekeeper.services.plan import due  # after the first paint

        self.bench.read(due, self._show, owner=self)

    # the two views

    @property
    def week(self) -> WeekPage | None:
        """The week, where somebody looked at it."""
        return self._week

    def show_week(self) -> None:
        """Show what the coming days hold."""
        if not self._shows_week:
            self._switch_view()

    def _switch_view(self) -> None:
        self._shows_week = not self._shows_week
        self._dress_header()
        if self._shows_week:
            self._pages.setCurrentWidget(self._week_page())
            self._set_enabled(True)
            self.take_focus()
        self.refresh()

    def _dress_header(self) -> None:
        is_week = self._shows_week
        self._switch.setText(tr("What is due") if is_week else tr("The week"))
        for button in (self._calendar, self._days):
            button.setVisible(is_week)
        self._print.setVisible(not is_week)

    def _week_page(self) -> WeekPage:
        if self._week is None:
            from framekeeper.ui.places.week_page import WeekPage

            self._week = WeekPage(self.bench)
            self._week.summed_up.connect(self._header.set_purpose)
            self._week.frame_wanted.connect(self.bench.frame_wanted)
            self._pages.addWidget(self._week)
        return self._week

    def _save_calendar(self) -> None:
        from framekeeper.ui.printing import save_calendar

        save_calendar(self.bench, self)

    def _change_days(self) -> None:
        from framekeeper.services.settings import read_settings

        self.bench.read(read_settings, self._open_days, owner=self)

    def _open_days(self, current: ShopSettings) -> None:
        from framekeeper.ui.dialogs.working_days import WorkingDaysForm

        WorkingDaysForm(self.bench, current, self).open()

    # what is due

    def _show(self, items: list[DueItem]) -> None:
        if self._shows_week:
            return  # the person went on while this was read
        from framekeeper.domain.trade_words import PLACE_WORDS

        order = tuple(PLACE_WORDS)
        ordered = sorted(items, key=lambda i: order.index(i.task.place))
        self._places = {_row_id(i): i.task.place for i in ordered}
        had_focus = self.hasFocus() or self._pages.isAncestorOf(self.focusWidget() or self)
        self._summed_up = self._summary(items)
        self._tell_purpose()
        if items:
            self._due_list().show_lines([self._line(item) for item in ordered])
            self._pages.setCurrentWidget(self._due_list())
        else:
            self._pages.setCurrentWidget(self._empty_state())
        if had_focus:
            self.take_focus()
        self._set_enabled(bool(items))
        if self._to_order is None:
            self._to_order = 0
            self.bench.read(_order_facts, self._work_out_orders, owner=self)

    def _work_out_orders(self, facts: OrderFacts) -> None:
        self.bench.tasks.compute(lambda: _orders(facts), self._count_orders, owner=self)

    def _count_orders(self, orders: OrderList) -> None:
        self._to_order = len(orders.to_order)
        if not self._shows_week:
            self._tell_purpose()

    def _tell_purpose(self) -> None:
        told = self._summed_up
        if self._to_order:
            told = tr(
                "{summary} {more}",
                summary=told,
                more=tr_count(
                    "{n} mesh to order.",
                    "{n} meshes to order.",
                    self._to_order,
                ),
            )
        self._header.set_purpose(told)

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
        if self._shows_week:
            place = self._week_page().current_place
            if place is not None:
                self.bench.place_wanted.emit(place)
            return
        line = self._list.current_line if self._list else None
        if line is not None:
            self.bench.place_wanted.emit(self._places[line.row_id])

    def _print_list(self) -> None:
        from framekeeper.ui.printing import save_due_sheet

        save_due_sheet(self.bench, self)


def _row_id(item: DueItem) -> tuple[str, str]:
    return item.frame.code, item.task.rule


def _order_facts(desk: Desk) -> OrderFacts:
    from framekeeper.services import order  # its maths is loaded away from the window's thread

    return order.gather(desk)


def _orders(facts: OrderFacts) -> OrderList:
    from framekeeper.services import order

    return order.work_out(facts)
