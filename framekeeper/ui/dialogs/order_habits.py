"""How a shop orders mesh: how sure it wants to be, how often it looks, and what an order costs."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.services import settings
from framekeeper.services.desk import Desk, Done
from framekeeper.services.settings import ShopSettings
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_field, whole_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr


class OrderHabitsForm(FormDialog):
    """What the orders of mesh reckon with."""

    def __init__(self, bench: Bench, current: ShopSettings, parent: QWidget | None = None) -> None:
        super().__init__(
            bench,
            tr("How you order"),
            tr("Save"),
            purpose=tr(
                "What to order reckons with these; they are a proposal until you choose your own. "
                "The supplier, its time and its prices stand with each mesh."
            ),
            parent=parent,
        )
        self._numbers: dict[str, QLineEdit] = {}
        fields = {
            "service_level": (
                tr("It lasts in so many of &100 cases"),
                tr("50 to 99: the surer, the more mesh lies on the shelf."),
            ),
            "review_days": (tr("&Days between two looks"), ""),
            "lead_time_days": (
                tr("Days a de&livery takes"),
                tr("Where the mesh does not say it."),
            ),
            "order_cost": (
                tr("An order &costs"),
                tr("Freight and time, whatever its size; 0 where it is not known."),
            ),
            "holding_percent": (
                tr("A year on the shelf costs, % of the &price"),
                tr("Money that is tied up, and room."),
            ),
        }
        for name, (label, hint) in fields.items():
            field = number_field(getattr(current, name), bench.formatter, 0)
            self._numbers[name] = field
            self.add_field(name, label, field, hint)

    def order(self) -> Callable[[Desk], Done]:
        values = {
            name: whole_in(field, name, self.bench.formatter)
            for name, field in self._numbers.items()
        }
        return lambda desk: settings.change_settings(desk, **values)
