"""Says how a mesh is bought: where, how long it takes, which roll, at what list price."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.records import Buying, MeshTypeRecord
from framekeeper.services import meshes
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_field, optional_number_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.lengths import (
    bare_length,
    bare_running,
    length_unit_word,
    read_length_mm,
    read_roll_mm,
    roll_unit_word,
)
from framekeeper.ui.prices import bare_price, price_unit_word, read_price_per_m
from framekeeper.ui.text import tr


class BuyingForm(FormDialog):
    """Everything may stay empty; what is told here goes into what to order and when."""

    def __init__(self, bench: Bench, mesh: MeshTypeRecord, parent: QWidget | None = None) -> None:
        super().__init__(
            bench, tr("How {mesh} is bought", mesh=mesh.name), tr("Save"), parent=parent
        )
        self._mesh = mesh
        known, formatter = mesh.buying, bench.formatter
        self.buy_from = QLineEdit(known.buy_from)
        self.lead = number_field(known.lead_time_days, formatter)
        self.spread = number_field(known.lead_time_sd_days, formatter)
        width, length = known.buy_width_mm, known.buy_length_mm
        self.roll_width = QLineEdit("" if width is None else bare_length(formatter, width))
        self.roll_length = QLineEdit("" if length is None else bare_running(formatter, length))
        self.price = QLineEdit(bare_price(formatter, known.price_per_m))
        self.add_field("buy_from", tr("&Supplier"), self.buy_from)
        self.add_field(
            "lead_time_days", tr("&Days from order to shelf"), self.lead,
            tr("As it usually goes."),
        )  # fmt: skip
        self.add_field(
            "lead_time_sd_days", tr("&Give or take, days"), self.spread,
            tr("The standard deviation: two of three orders come within it."),
        )  # fmt: skip
        self.add_field(
            "buy_width_mm",
            tr("Roll &width, {unit}", unit=length_unit_word(formatter)),
            self.roll_width,
        )
        self.add_field(
            "buy_length_mm",
            tr("Roll &length, {unit}", unit=roll_unit_word(formatter)),
            self.roll_length,
        )
        self.add_field(
            "price_per_m", tr("List &price, {unit}", unit=price_unit_word(formatter)), self.price
        )

    def order(self) -> Callable[[Desk], Done]:
        formatter, mesh = self.bench.formatter, self._mesh
        known = mesh.buying
        width, length, price = known.buy_width_mm, known.buy_length_mm, known.price_per_m
        # What was not touched stays exact: a field shows less than what is stored.
        if self.roll_width.isModified():
            width = self._read(self.roll_width, "buy_width_mm", read_length_mm)
        if self.roll_length.isModified():
            length = self._read(self.roll_length, "buy_length_mm", read_roll_mm)
        if self.price.isModified():
            price = read_price_per_m(formatter, self.price.text(), argument="price_per_m")
        buying = Buying(
            self.buy_from.text(),
            optional_number_in(self.lead, "lead_time_days", formatter),
            optional_number_in(self.spread, "lead_time_sd_days", formatter),
            width,
            length,
            price,
        )
        return lambda desk: meshes.set_buying(desk, mesh.name, buying, version=mesh.version)

    def _read(self, field: QLineEdit, argument: str, read: Callable[..., int]) -> int | None:
        if not field.text().strip():
            return None
        return read(self.bench.formatter, field.text(), argument=argument)
