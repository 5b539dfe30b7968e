"""Puts a batch of adhesive or activator on the shelf, or changes what is known of one."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.records import SupplyRecord
from framekeeper.services import supplies
from framekeeper.services.desk import Desk, Done
from framekeeper.services.supplies import SupplyFacts
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import OptionalDate, choices, today_here
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr


class SupplyForm(FormDialog):
    """What stands on the tin."""

    def __init__(
        self, bench: Bench, supply: SupplyRecord | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            bench,
            tr("Change a batch") if supply else tr("A batch arrived"),
            tr("Save") if supply else tr("Put on the shelf"),
            parent=parent,
        )
        self._supply = supply
        self.batch = QLineEdit(supply.batch if supply else "")
        self.kind = choices(
            {"adhesive": tr("adhesive"), "activator": tr("activator or hardener")},
            supply.kind if supply else "adhesive",
        )
        self.name = QLineEdit(supply.name if supply else "")
        self.best_before = OptionalDate(tr("&known"), today_here())
        self.best_before.show_day(supply.best_before if supply else None)
        self.opened_on = OptionalDate(tr("it &is open"), today_here())
        self.opened_on.show_day(supply.opened_on if supply else None)
        self.remark = QLineEdit(supply.note if supply else "")
        for argument, label, field in (
            ("batch", tr("&Batch on the tin"), self.batch),
            ("kind", tr("&What it is"), self.kind),
            ("name", tr("&Your name for it"), self.name),
            ("best_before", tr("Best befo&re"), self.best_before),
            ("opened_on", tr("&Opened on"), self.opened_on),
            ("note", tr("&Note"), self.remark),
        ):
            self.add_field(argument, label, field)
        self.form.addRow(
            "",
            self.note(
                tr(
                    "The maker’s label and the safety data sheet decide how long a batch may be "
                    "used, and how an open one is kept."
                )
            ),
        )

    def order(self) -> Callable[[Desk], Done]:
        facts = SupplyFacts(
            kind=self.kind.currentData(),
            batch=self.batch.text(),
            name=self.name.text(),
            best_before=self.best_before.day(),
            opened_on=self.opened_on.day(),
            note=self.remark.text(),
        )
        supply = self._supply
        if supply is None:
            return lambda desk: supplies.add_supply(desk, facts)
        return lambda desk: supplies.edit_supply(desk, supply.id, facts, version=supply.version)
