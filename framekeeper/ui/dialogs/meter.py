"""Adds a tension meter to the shop, or changes what is known of one."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.records import MeterRecord
from framekeeper.services import meters
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meters import MeterFacts, facts_of
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import (
    OptionalDate,
    choices,
    number_field,
    number_in,
    today_here,
    whole_in,
)
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr


class MeterForm(FormDialog):
    """Name, serial number, scale, resolution, correction, what it scatters, and certificate."""

    def __init__(
        self, bench: Bench, meter: MeterRecord | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            bench,
            tr("Change a meter") if meter else tr("Add a meter"),
            tr("Save") if meter else tr("Add"),
            parent=parent,
        )
        self._meter = meter
        known = facts_of(meter) if meter else MeterFacts("")
        formatter = bench.formatter
        self.name = QLineEdit(known.name)
        self.serial = QLineEdit(known.serial)
        self.scale = choices(
            {"n_per_cm": tr("N/cm"), "mm_of_sag": tr("mm of sag, lower is tighter")}, "n_per_cm"
        )
        self.resolution = number_field(known.resolution, formatter, 2)
        self.correction = number_field(known.correction, formatter, 2)
        self.uncertainty = number_field(known.u_n_per_cm, formatter, 3)
        self.repeatability = number_field(known.repeatability, formatter, 3)
        self.certificate = OptionalDate(tr("&known"), today_here())
        self.certificate.show_day(known.certificate_until)
        self.months = QLineEdit(str(known.certificate_months))
        self._add_fields()

    def _add_fields(self) -> None:
        self.add_field("name", tr("&Name"), self.name)
        self.add_field("serial", tr("&Serial number"), self.serial)
        self.add_field("scale", tr("It sho&ws"), self.scale)
        self.add_field("resolution", tr("&Resolution, N/cm"), self.resolution)
        self.add_field(
            "correction",
            tr("&Correction, N/cm"),
            self.correction,
            tr("It is added to what the meter shows; earlier readings keep theirs."),
        )
        self.add_field("u_n_per_cm", tr("Uncer&tainty, N/cm"), self.uncertainty)
        self.add_field(
            "repeatability",
            tr("Re&peatability, N/cm"),
            self.repeatability,
            tr("Standard deviations: of its bias, and of one reading taken again."),
        )
        self.add_field("certificate_until", tr("Certificate &until"), self.certificate)
        self.add_field("certificate_months", tr("A certificate holds, &months"), self.months)

    def order(self) -> Callable[[Desk], Done]:
        formatter = self.bench.formatter
        facts = MeterFacts(
            name=self.name.text(),
            serial=self.serial.text(),
            resolution=number_in(self.resolution, "resolution", formatter),
            correction=number_in(self.correction, "correction", formatter),
            certificate_until=self.certificate.day(),
            u_n_per_cm=number_in(self.uncertainty, "u_n_per_cm", formatter),
            repeatability=number_in(self.repeatability, "repeatability", formatter),
            certificate_months=whole_in(self.months, "certificate_months", formatter),
            scale=self.scale.currentData(),
        )
        meter = self._meter
        if meter is None:
            return lambda desk: meters.add_meter(desk, facts)
        return lambda desk: meters.edit_meter(desk, meter.name, facts, version=meter.version)
