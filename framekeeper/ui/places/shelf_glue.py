"""Adhesive and activator on the shelf: which batch is open, and which runs out of date."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QStackedWidget

from framekeeper.services import supplies
from framekeeper.services.desk import Desk, Done
from framekeeper.services.supplies import SupplyNow
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.models.table import Column, RowsModel
from framekeeper.ui.places.shelf_page import ShelfPage
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.widgets.marks import mark_pixmap
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState, KeyHintButton
from framekeeper.ui.widgets.work_table import WorkTable


class GluePanel(ShelfPage):
    """The batches; Enter changes the chosen one."""

    def __init__(self, bench: Bench) -> None:
        theme = bench.theme
        self._add = KeyHintButton(theme, tr("A batch arrived …"), "F2", is_main=True)
        self._open = KeyHintButton(theme, tr("Opened today"), "F3")
        self._finish = KeyHintButton(theme, tr("Used up"), "F4")
        super().__init__(bench, tr("Glue on the shelf"), (self._finish, self._open, self._add))
        model: RowsModel[SupplyNow] = RowsModel(_columns(bench), _supply_id, self)
        self.batches = WorkTable(theme, model, tr("Batches of adhesive and activator"))
        self.batches.asked.connect(self._edit)
        self.batches.chosen_changed.connect(self._enable)
        self._add.clicked.connect(self._open_form)
        self._open.clicked.connect(self._open_batch)
        self._finish.clicked.connect(self._finish_batch)
        self._pages = QStackedWidget()
        self._pages.addWidget(self.batches)
        self._empty = EmptyState(
            theme,
            bench.icons,
            "shelf",
            tr("No batch is on the shelf yet"),
            tr(
                "Press F2 and enter the batch and the best-before day that stand on the tin; the "
                "Stretching table then offers it for each stretch."
            ),
        )
        self._pages.addWidget(self._empty)
        self.column.addWidget(self._pages, 1)
        self.column.addWidget(CautionStrip(theme, caution("glue")))

    # what is shown

    def refresh(self) -> None:
        self.bench.read(supplies.supplies, self.show_supplies, owner=self)

    def show_supplies(self, listed: tuple[SupplyNow, ...]) -> None:
        """Show the batches as of today."""
        self._pages.setCurrentIndex(0 if listed else 1)
        self.batches.show_rows(listed)
        self.batches.choose_first()
        near = sum(now.is_running_out for now in listed)
        count = tr_count("{n} batch", "{n} batches", len(listed))
        soon = tr_count(
            "{n} past its best-before day or within 14 days of it",
            "{n} past their best-before day or within 14 days of it",
            near,
        )
        self.header.set_purpose(tr("{count}, {soon}", count=count, soon=soon) if near else count)
        self._enable()

    def take_focus(self) -> None:
        self.batches.setFocus()

    def _chosen(self) -> SupplyNow | None:
        chosen = self.batches.chosen()
        return chosen[0] if len(chosen) == 1 else None

    def _enable(self) -> None:
        chosen = self._chosen()
        self._finish.setEnabled(chosen is not None)
        self._open.setEnabled(chosen is not None and chosen.supply.opened_on is None)

    # the work

    def _open_form(self) -> None:
        from framekeeper.ui.dialogs.supply import SupplyForm

        SupplyForm(self.bench, None, self).open()

    def _edit(self) -> None:
        from framekeeper.ui.dialogs.supply import SupplyForm

        if (chosen := self._chosen()) is not None:
            SupplyForm(self.bench, chosen.supply, self).open()

    def _open_batch(self) -> None:
        self._change(supplies.open_supply)

    def _finish_batch(self) -> None:
        self._change(supplies.finish_supply)

    def _change(self, what: Callable[[Desk, int], Done]) -> None:
        if (chosen := self._chosen()) is not None:
            supply_id = chosen.supply.id
            self.bench.change(lambda desk: what(desk, supply_id), owner=self)


def _columns(bench: Bench) -> tuple[Column[SupplyNow], ...]:
    formatter = bench.formatter

    def day(shown: object) -> str:
        return "" if shown is None else formatter.date(shown)  # type: ignore[arg-type]

    def icon(row: SupplyNow) -> QIcon | None:
        if not row.is_running_out:
            return None
        size = bench.theme.px("body")
        return QIcon(mark_pixmap("below" if row.is_past else "soon", size, bench.theme.palette))

    return (
        Column(
            "batch", tr("Batch"), lambda r: r.supply.batch, lambda r: r.supply.batch, 130, icon=icon
        ),
        Column("kind", tr("Kind"), _kind_words, _kind_words, 176),
        Column("name", tr("Name"), lambda r: r.supply.name, lambda r: r.supply.name, 170),
        Column(
            "best_before",
            tr("Best before"),
            lambda r: day(r.supply.best_before),
            lambda r: r.supply.best_before,
            width=122,
        ),
        Column(
            "opened",
            tr("Opened"),
            lambda r: day(r.supply.opened_on) or tr("not yet"),
            lambda r: r.supply.opened_on,
            width=122,
        ),
        Column(
            "left",
            tr("Left of its time"),
            _time_words,
            lambda r: r.days_left,
            width=140,
        ),
        Column("note", tr("Note"), lambda r: r.supply.note, lambda r: r.supply.note, 150),
    )


def _kind_words(row: SupplyNow) -> str:
    is_adhesive = row.supply.kind == "adhesive"
    return tr("adhesive") if is_adhesive else tr("activator or hardener")


def _time_words(row: SupplyNow) -> str:
    if row.days_left is None:
        return ""
    if row.is_past:
        return tr_count("{n} day past", "{n} days past", -row.days_left)
    return tr_count("{n} day", "{n} days", row.days_left)


def _supply_id(row: SupplyNow) -> int:
    return row.supply.id
