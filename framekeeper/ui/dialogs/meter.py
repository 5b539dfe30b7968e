"""Adds a tension meter to the shop, or changes what is known of one."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.records import MeterRecord
from framekeeper.services import meters
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meters import MeterFacts
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import OptionalDate, number_field, number_in, today_here
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr

_RESOLUTION = 0.5  # of a meter that nobody said more about, N/cm


class MeterForm(FormDialog):
    """Name, serial number, resolution, correction and certificate."""

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
        formatter = bench.formatter
        self.name = QLineEdit(meter.name if meter else "")
        self.serial = QLineEdit(meter.serial if meter else "")
        self.resolution = number_field(meter.resolution if meter else _RESOLUTION, formatter, 2)
        self.correction = number_field(meter.correction if meter else 0.0, formatter, 2)
        self.certificate = OptionalDate(tr("&known"), today_here())
        if meter is not None:
            self.certificate.show_day(meter.certificate_until)
        self.add_field("name", tr("&Name"), self.name)
        self.add_field("serial", tr("&Serial number"), self.serial)
        self.add_field("resolution", tr("&Resolution, N/cm"), self.resolution)
        self.add_field(
            "correction",
            tr("&Correction, N/cm"),
            self.correction,
            tr("It is added to what the meter shows; earlier readings keep theirs."),
        )
        self.add_field("certificate_until", tr("Certificate &until"), self.certificate)

    def order(self) -> Callable[[Desk], Done]:
        formatter = self.bench.formatter
        facts = MeterFacts(
            name=self.name.text(),
            serial=self.serial.text(),
            resolution=number_in(self.resolution, "resolution", formatter),
            correction=number_in(self.correction, "correction", formatter),
            certificate_until=self.certificate.day(),
        )
        meter = self._meter
        if meter is None:
            return lambda desk: meters.add_meter(desk, facts)
        return lambda desk: meters.edit_meter(desk, meter.name, facts, version=meter.version)
