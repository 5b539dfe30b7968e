"""What the shop says of its costs: prices, wages, and what it knows better than its journal."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from PySide6.QtWidgets import QFormLayout, QLineEdit, QWidget

from framekeeper.domain.costs import InputName
from framekeeper.domain.money import METRES_PER_YARD
from framekeeper.services.cost_inputs import amount_text, keep_inputs, read_amount
from framekeeper.services.costs import Costs, Number
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr

_LONGEST = 20
_HINTED = 4  # digits after the point of what is only hinted at
_FINEST = Decimal("0.000001")


class CostNumbersForm(FormDialog):
    """One field for each number; an empty one is left to the journal, or is not known."""

    def __init__(self, bench: Bench, found: Costs, parent: QWidget | None = None) -> None:
        super().__init__(
            bench,
            tr("What the shop knows of its costs"),
            tr("Save"),
            purpose=tr(
                "Only what you enter stands; an empty field is left to the journal, whose number "
                "is shown in quiet ink, or stays unknown. Prices without the currency."
            ),
            parent=parent,
            wide=66,
        )
        self._found = found
        self._fields_of: dict[InputName, QLineEdit] = {}
        left, right = self.two_columns()
        unit = tr("yd") if found.known.in_yards else tr("m")
        left.addRow(self.note(tr("A stretch")))
        self._add(left, {
            "mesh_m": tr("&Mesh for a stretch, {unit}", unit=unit),
            "price_per_m": tr("&Price of mesh, per {unit}", unit=unit),
            "waste_share": tr("&Waste of mesh, %"),
            "adhesive": tr("&Adhesive for a stretch"),
            "activator": tr("Acti&vator for a stretch"),
            "stretch_minutes": tr("M&inutes for a stretch"),
            "labour_per_hour": tr("An &hour of labour"),
            "burst_share": tr("&Bursts in the clamps, %"),
        })  # fmt: skip
        left.addRow(self.note(tr("A mesh life")))
        self._add(left, {"prints_per_life": tr("P&rints"), "reclaims_per_life": tr("Rec&laims")})
        right.addRow(self.note(tr("A reclaim")))
        self._add(right, {
            "chemistry": tr("&Chemistry for a reclaim"),
            "water": tr("Wa&ter for a reclaim"),
            "reclaim_minutes": tr("Minutes for a r&eclaim"),
        })  # fmt: skip
        right.addRow(self.note(tr("In house or sent out, a month")))
        self._add(right, {
            "equipment_per_month": tr("Stretcher and t&ools"),
            "stretcher_price": tr("&Stretcher’s price for a screen"),
            "freight": tr("&Freight of a trip"),
            "screens_per_trip": tr("Scree&ns on a trip"),
            "days_away": tr("&Days away"),
            "spare_frame_per_month": tr("Each f&urther frame"),
        })  # fmt: skip

    def _add(self, column: QFormLayout, labels: dict[InputName, str]) -> None:
        sign = self.bench.formatter.decimal_sign
        for name, label in labels.items():
            number = self._found.numbers[name]
            said = number.value if number.origin == "shop" else None
            field = QLineEdit("" if said is None else sign(self._shown(name, said)))
            field.setMaxLength(_LONGEST)
            otherwise = _otherwise(number)
            if otherwise is not None:
                field.setPlaceholderText(sign(self._shown(name, round(otherwise, _HINTED))))
            field.setToolTip(self.bench.formatter.sentence(number.words))
            self._fields_of[name] = field
            self.add_field(name, label, field, form=column)

    def _shown(self, name: InputName, value: Decimal) -> str:
        """As it is typed: mesh and its price by the yard where the shop measures in inches."""
        if self._found.known.in_yards:
            if name == "mesh_m":
                value = (value / METRES_PER_YARD).quantize(_FINEST)
            elif name == "price_per_m":
                value = (value * METRES_PER_YARD).quantize(_FINEST)
        return amount_text(name, value)

    def _typed(self, name: InputName) -> Decimal | None:
        text = self._fields_of[name].text()
        number = self._found.numbers[name]
        value = read_amount(name, text)
        if value is None or not self._found.known.in_yards:
            return value
        if number.origin == "shop" and number.value is not None:
            before = read_amount(name, self._shown(name, number.value))
            if before == value:  # what was not touched keeps its last digit
                return number.value
        if name == "mesh_m":
            return (value * METRES_PER_YARD).quantize(_FINEST)
        return (value / METRES_PER_YARD).quantize(_FINEST) if name == "price_per_m" else value

    def order(self) -> Callable[[Desk], Done]:
        values = {name: self._typed(name) for name in self._fields_of}
        return lambda desk: keep_inputs(desk, values)


def _otherwise(number: Number) -> Decimal | None:
    """What stands where the field is left empty."""
    if number.origin != "shop":
        return number.value
    return number.told.value if number.told is not None else None
