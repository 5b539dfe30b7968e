"""The forms beside the meters: each becomes one entry about a meter, or begins a study."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

from PySide6.QtCore import QDate
from PySide6.QtWidgets import QComboBox, QDateEdit, QLabel, QLineEdit

from framekeeper.domain.records import MeterCheckKind
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meter_checks import CheckRequest, MeterPage, add_check
from framekeeper.services.meter_telling import certificate_end
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_in, whole_in
from framekeeper.ui.places.meter_plans import ComparisonPlan, GaugePlan
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.short_form import ShortForm, choice

Order = Callable[[Desk], Done]


class CheckForm(ShortForm):
    """A form that becomes one entry about a meter."""

    kind: MeterCheckKind = "zero"

    def __init__(self, bench: Bench, page: MeterPage, title: str) -> None:
        super().__init__(bench.theme, title, tr("Record it"))
        self.bench = bench
        self._meter = page.trust.meter.name

    def add_number(self, argument: str, label: str) -> QLineEdit:
        """Add a field for a tension."""
        return self.add_field(argument, label, QLineEdit(), unit=tr("N/cm"))

    def add_note_field(self) -> QLineEdit:
        """Add the field that every entry may have."""
        return self.add_field("note", tr("No&te"), QLineEdit())

    def add_hint(self, text: str) -> None:
        """Add quiet words about the step."""
        label = QLabel(text)
        label.setProperty("quiet", True)
        self.add_note(label)

    def request(self) -> CheckRequest:
        """Return what was typed.

        Raises
        ------
        NotValid
            For a field that cannot be read.
        """
        raise NotImplementedError

    def order(self) -> Order:
        """Return the change that was asked for."""
        meter, request = self._meter, self.request()
        return lambda desk: add_check(desk, meter, request)


class ZeroForm(CheckForm):
    """What the meter shows on the glass, before it is adjusted."""

    def __init__(self, bench: Bench, page: MeterPage) -> None:
        title = tr("{meter} on glass", meter=page.trust.meter.name)
        super().__init__(bench, page, title)
        self._shown = self.add_number("shown", tr("It &shows"))
        self.add_hint(
            tr(
                "Clean its feet and plunger, lay it on the glass, and read it before you adjust "
                "it. A zero alone vouches for no reading."
            )
        )

    def request(self) -> CheckRequest:
        return CheckRequest("zero", number_in(self._shown, "shown", self.bench.formatter))


class ReferenceForm(CheckForm):
    """What the meter shows on the screen that never changes."""

    def __init__(self, bench: Bench, page: MeterPage) -> None:
        title = tr("{meter} on the reference screen", meter=page.trust.meter.name)
        super().__init__(bench, page, title)
        self._shown = self.add_number("shown", tr("It &shows"))
        self._expected = self.add_number("expected", tr("It s&hould show"))
        self._note = self.add_note_field()
        known = [c.expected for c in page.checks if c.kind == "reference" and c.expected]
        if known:
            self._expected.setText(bench.formatter.number(known[-1], 2).rstrip("0").rstrip(".,"))
        self.add_hint(
            tr(
                "An old screen that no longer relaxes, read at its marked spots. Where it moves "
                "and the glass is right, suspect the meter."
            )
        )

    def request(self) -> CheckRequest:
        formatter = self.bench.formatter
        return CheckRequest(
            "reference",
            number_in(self._shown, "shown", formatter),
            number_in(self._expected, "expected", formatter),
            note=self._note.text(),
        )


class CertificateForm(CheckForm):
    """Until when the meter is certified."""

    def __init__(self, bench: Bench, page: MeterPage, today: dt.date) -> None:
        title = tr("Certificate of {meter}", meter=page.trust.meter.name)
        super().__init__(bench, page, title)
        end = certificate_end(page.trust.meter, today)
        self._until = QDateEdit(QDate(end.year, end.month, end.day))
        self._until.setDisplayFormat("yyyy-MM-dd")
        self.add_field("valid_until", tr("It holds &until"), self._until)
        inner = self._until.findChild(QLineEdit)
        assert inner is not None
        inner.setAccessibleName(self._until.accessibleName())
        self._note = self.add_note_field()
        self.add_hint(
            tr(
                "Proposed: {months} months from today, as this meter’s facts say.",
                months=page.trust.meter.certificate_months,
            )
        )

    def request(self) -> CheckRequest:
        shown = self._until.date()
        until = dt.date(shown.year(), shown.month(), shown.day())
        return CheckRequest("certificate", valid_until=until, note=self._note.text())


class MishapForm(CheckForm):
    """The meter was dropped, or it was repaired."""

    def __init__(self, bench: Bench, page: MeterPage, kind: MeterCheckKind) -> None:
        name = page.trust.meter.name
        is_drop = kind == "drop"
        title = tr("{meter} was dropped", meter=name) if is_drop else tr("{meter} is repaired",
                                                                         meter=name)  # fmt: skip
        super().__init__(bench, page, title)
        self._kind = kind
        self._note = self.add_note_field()
        self.add_hint(
            tr("Do not measure with it until a reference screen or a certificate vouches for it.")
            if is_drop
            else tr("Repaired or adjusted by somebody who vouches for it; its drift begins anew.")
        )

    def request(self) -> CheckRequest:
        return CheckRequest(self._kind, note=self._note.text())


class PlanForm(ShortForm):
    """A form that begins a study."""

    def __init__(self, bench: Bench, title: str) -> None:
        super().__init__(bench.theme, title, tr("Begin"))
        self.bench = bench

    def plan(self) -> GaugePlan | ComparisonPlan:
        """Return the study that was asked for.

        Raises
        ------
        NotValid
            For a field that cannot be read, or a study that would say nothing.
        """
        raise NotImplementedError


class GaugeForm(PlanForm):
    """How many screens, who reads them, and how often."""

    def __init__(self, bench: Bench, meter: str) -> None:
        super().__init__(bench, tr("Gauge study of {meter}", meter=meter))
        self._meter = meter
        self._parts = self.add_field("parts", tr("&Screens"), QLineEdit("10"))
        self._people = self.add_field("people", tr("&People"), QLineEdit())
        self._people.setPlaceholderText(tr("Ana, Bo, Cy"))
        self._repeats = self.add_field("repeats", tr("Ti&mes each"), QLineEdit("3"))
        words = QLabel(
            tr(
                "Number the screens, mark one spot on each, and take screens as different as "
                "those of the shop. Each person reads all of them once, then all again."
            )
        )
        words.setProperty("quiet", True)
        self.add_note(words)

    def plan(self) -> GaugePlan:
        formatter = self.bench.formatter
        people = tuple(name.strip() for name in self._people.text().split(",") if name.strip())
        return GaugePlan(
            self._meter,
            whole_in(self._parts, "parts", formatter),
            people,
            whole_in(self._repeats, "repeats", formatter),
        )


class ComparisonForm(PlanForm):
    """Which other meter reads the same places."""

    def __init__(self, bench: Bench, meter: str, others: Sequence[str]) -> None:
        super().__init__(bench, tr("{meter} beside another meter", meter=meter))
        self._meter = meter
        self._other: QComboBox = self.add_field(
            "other", tr("The &other meter"), choice({name: name for name in others})
        )
        words = QLabel(
            tr(
                "Read each place with both, one right after the other, over the whole range of "
                "the shop. Twenty places tell more than ten."
            )
        )
        words.setProperty("quiet", True)
        self.add_note(words)

    def plan(self) -> ComparisonPlan:
        return ComparisonPlan(self._meter, self._other.currentData())
