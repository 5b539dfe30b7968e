"""What to order: a page of the Mesh shelf, with the reasons and a chart of the chosen mesh."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.money import price_text
from framekeeper.services import on_order, order
from framekeeper.services.mesh_use import Used
from framekeeper.services.order import MeshOrder, OrderFacts, OrderList
from framekeeper.services.order_words import reasons, unknown_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.order_chart import OrderChart
from framekeeper.ui.places.order_table import order_columns, order_id, used_columns, used_id
from framekeeper.ui.places.shelf_page import ShelfPage
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton
from framekeeper.ui.widgets.work_table import WorkTable

if TYPE_CHECKING:
    from framekeeper.services.desk import Desk, Done
    from framekeeper.services.settings import ShopSettings


class OrderPage(ShelfPage):
    """Meshes above, those to be ordered first; below, why, and stock against need."""

    def __init__(self, bench: Bench) -> None:
        theme = bench.theme
        self._print = KeyHintButton(theme, tr("Print the order"), "Ctrl+P")
        self._save = KeyHintButton(theme, tr("Save as workbook"), "Ctrl+S")
        self._habits = KeyHintButton(theme, tr("How you order …"), "Ctrl+D")
        super().__init__(bench, tr("What to order"), (self._save, self._print))
        self._orders: OrderList | None = None
        model: RowsModel[MeshOrder] = RowsModel(order_columns(bench), order_id, self)
        self.meshes = WorkTable(theme, model, tr("What to order"))
        self.meshes.chosen_changed.connect(self._show_chosen)
        self.chart = OrderChart(theme, bench.formatter)
        used: RowsModel[Used] = RowsModel(used_columns(bench), used_id, self)
        self.used = WorkTable(theme, used, tr("What it was used for"))
        self._beside = QStackedWidget()
        self._switch = KeyHintButton(theme, tr("What it was used for"), "F8")
        self.reasons = QLabel()
        self.reasons.setWordWrap(True)
        self.reasons.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByKeyboard)
        self.reasons.setAccessibleName(tr("Why"))
        self._ordered = KeyHintButton(theme, tr("It is ordered"), "F6", is_main=True)
        self._cancelled = KeyHintButton(theme, tr("It will not come"), "F7")
        for button, slot in (
            (self._ordered, self._mark_ordered),
            (self._cancelled, self._forget_order),
            (self._print, self._print_order),
            (self._save, self._save_workbook),
            (self._habits, self._change_habits),
            (self._switch, self._switch_beside),
        ):
            button.clicked.connect(slot)
            button.setEnabled(False)
        self._pages = QStackedWidget()
        self._lay_out()
        self.header.set_purpose(tr("Reckoning what is needed …"))

    def _lay_out(self) -> None:
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self._habits)
        keys.addStretch(1)
        keys.addWidget(self._switch)
        keys.addWidget(self._cancelled)
        keys.addWidget(self._ordered)
        words = QScrollArea()
        words.setWidgetResizable(True)
        words.setFrameShape(QScrollArea.Shape.NoFrame)
        words.setAccessibleName(tr("Why"))
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 2 * STEP, 0)
        column.addWidget(self.reasons)
        column.addStretch(1)
        words.setWidget(inside)
        foot = QHBoxLayout()
        foot.setSpacing(6 * STEP)
        foot.addWidget(words, 1)
        foot.addWidget(self._beside, 1)
        self._beside.addWidget(self.chart)
        self._beside.addWidget(self.used)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3 * STEP)
        column.addWidget(self.meshes, 5)
        column.addLayout(keys)
        column.addLayout(foot, 5)
        self._pages.addWidget(body)
        self._pages.addWidget(
            EmptyState(
                self.bench.theme, self.bench.icons, "shelf", tr("No mesh to order yet"),
                tr("Add the first mesh on the shelf; then its need and its stock stand here."),
            )
        )  # fmt: skip
        self.column.addWidget(self._pages, 1)

    # what is shown

    @property
    def orders(self) -> OrderList | None:
        """What is shown, once it was read."""
        return self._orders

    def take_focus(self) -> None:
        self.meshes.setFocus()

    def refresh(self) -> None:
        """Read the shop on the database thread, and reckon beside it."""
        self.bench.read(order.gather, self._gathered, owner=self)

    def _gathered(self, facts: OrderFacts) -> None:
        self.bench.tasks.compute(lambda: order.work_out(facts), self._show, owner=self)

    def _show(self, orders: OrderList) -> None:
        self._orders = orders
        self._pages.setCurrentIndex(0 if orders.meshes else 1)
        self.meshes.show_rows(orders.meshes)
        self.meshes.take_only_rows()
        self.meshes.choose_first()
        for button in (self._print, self._save):
            button.setEnabled(bool(orders.to_order))
        self._habits.setEnabled(True)
        self._show_chosen()
        self.header.set_purpose(self.summary(orders))

    def summary(self, orders: OrderList) -> str:
        """Say in one line what is to be ordered."""
        if not orders.meshes:
            return ""
        count = len(orders.to_order)
        if not count:
            told = tr("Every mesh lasts until the delivery after the next look.")
        else:
            told = tr_count("{n} mesh to order.", "{n} meshes to order.", count)
        if count and orders.total is not None:
            told = tr(
                "{summary} {total} in all.", summary=told,
                total=self._money(price_text(orders.total), orders.settings.currency),
            )  # fmt: skip
        if orders.unknown_waiting:
            unknown = self.bench.formatter.sentence(unknown_words(orders.unknown_waiting))
            told = tr("{summary} {more}", summary=told, more=unknown)
        return told

    def _money(self, text: str, currency: str) -> str:
        sign = self.bench.formatter.number(0.5)[1]
        return f"{text.replace('.', sign)} {currency}".strip()

    def chosen(self) -> MeshOrder | None:
        """Return the chosen mesh, if it is one."""
        chosen = self.meshes.chosen()
        return chosen[0] if len(chosen) == 1 else None

    def _show_chosen(self) -> None:
        chosen = self.chosen()
        formatter = self.bench.formatter
        told = [] if chosen is None else [formatter.sentence(said) for said in reasons(chosen)]
        self.reasons.setText(_paragraphs(told))
        self.chart.show_order(chosen)
        used = self._orders.used if self._orders is not None and chosen is not None else ()
        self.used.show_rows([u for u in used if chosen and u.mesh.id == chosen.mesh.id])
        self._switch.setEnabled(chosen is not None)
        self._ordered.setEnabled(chosen is not None and chosen.purchase is not None)
        self._cancelled.setEnabled(chosen is not None and chosen.coming is not None)

    def _switch_beside(self) -> None:
        """Put what the mesh was used for in the place of its chart, or the chart back."""
        shows_chart = self._beside.currentWidget() is self.chart
        self._beside.setCurrentWidget(self.used if shows_chart else self.chart)
        self._switch.setText(tr("Stock and need") if shows_chart else tr("What it was used for"))

    # the work

    def _mark_ordered(self) -> None:
        chosen = self.chosen()
        if chosen is None or chosen.purchase is None:
            return
        bought = {chosen.mesh.name: chosen.purchase.length_mm}

        def mark(desk: Desk) -> Done:
            return on_order.mark_ordered(desk, bought)

        self.bench.change(mark, owner=self)

    def _forget_order(self) -> None:
        chosen = self.chosen()
        if chosen is None or chosen.coming is None:
            return
        name = chosen.mesh.name

        def forget(desk: Desk) -> Done:
            return on_order.forget_order(desk, name)

        self.bench.change(forget, owner=self)

    def _print_order(self) -> None:
        if self._orders is not None:
            from framekeeper.ui.printing import save_order_sheet

            save_order_sheet(self.bench, self, self._orders)

    def _save_workbook(self) -> None:
        if self._orders is not None:
            from framekeeper.ui.printing import save_order_workbook

            save_order_workbook(self.bench, self, self._orders)

    def _change_habits(self) -> None:
        from framekeeper.services.settings import read_settings

        self.bench.read(read_settings, self._open_habits, owner=self)

    def _open_habits(self, current: ShopSettings) -> None:
        from framekeeper.ui.dialogs.order_habits import OrderHabitsForm

        OrderHabitsForm(self.bench, current, self).open()


def _paragraphs(told: list[str]) -> str:
    """One sentence below the other, with air between them, and what to do in bold."""
    lines = [f"<b>{escape(text)}</b>" if not n else escape(text) for n, text in enumerate(told)]
    return "".join(f'<p style="margin: 0 0 {STEP}px 0">{line}</p>' for line in lines)
