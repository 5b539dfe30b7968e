"""The list of meters with its keys at the side; below it drift, what was learnt, and studies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.records import MeterCheckRecord
from framekeeper.services.meter_checks import MeterPage
from framekeeper.services.meter_drift import Drift
from framekeeper.services.meter_studies import MeterStudy
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.meter_tables import (
    check_columns,
    check_id,
    meter_columns,
    meter_id,
    reasons,
    study_columns,
    study_id,
)
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.drift_chart import DriftChart
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.short_form import ShortForm
from framekeeper.ui.widgets.work_table import WorkTable

_SIDE = 72 * STEP


class MeterOverview(QWidget):
    """Shows; the place decides what a key does.

    Signals
    -------
    confirmed()
        The form at the side is filled.
    """

    confirmed = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        theme = bench.theme
        self.form: ShortForm | None = None
        meters: RowsModel[MeterPage] = RowsModel(meter_columns(bench), meter_id, self)
        checks: RowsModel[MeterCheckRecord] = RowsModel(check_columns(bench), check_id, self)
        found: RowsModel[MeterStudy] = RowsModel(study_columns(bench), study_id, self)
        self.meters = WorkTable(theme, meters, tr("Meters"))
        self.checks = WorkTable(theme, checks, tr("What was learnt about the meter"))
        self.studies = WorkTable(theme, found, tr("Studies"))
        self.zero_drift = DriftChart(theme, bench.formatter, tr("Zero on glass"))
        self.reference_drift = DriftChart(theme, bench.formatter, tr("Reference screen"))
        self._key_words = {
            "zero": tr("Zero on glass …"),
            "reference": tr("Reference screen …"),
            "certificate": tr("Certificate …"),
            "drop": tr("Dropped …"),
            "repair": tr("Repaired …"),
            "found_out": tr("Found out …"),
            "comparison": tr("Beside another meter …"),
            "gauge": tr("Gauge study …"),
        }
        keys = ("F2", "F3", "F4", "F6", "F7", "F8", "Ctrl+K", "Ctrl+G")
        self.keys = {
            name: KeyHintButton(theme, words, key, is_main=name == "zero")
            for (name, words), key in zip(self._key_words.items(), keys, strict=True)
        }
        self._why, self._studies_title = QLabel(), QLabel()
        self._why.setWordWrap(True)
        self._half_typed = QLabel()
        self._half_typed.setProperty("quiet", True)
        self._half_typed.setWordWrap(True)
        self._side = QStackedWidget()
        self._side.setFixedWidth(_SIDE)
        self._lay_out()

    def _lay_out(self) -> None:
        actions = QWidget()
        column = QVBoxLayout(actions)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        for name, button in self.keys.items():
            if name in ("drop", "found_out", "comparison"):
                column.addSpacing(2 * STEP)
            column.addWidget(button)
        column.addWidget(self._half_typed)
        column.addStretch(1)
        self._side.addWidget(actions)
        charts = QHBoxLayout()
        charts.setSpacing(6 * STEP)
        charts.addWidget(self.zero_drift, 1)
        charts.addWidget(self.reference_drift, 1)
        lists = QHBoxLayout()
        lists.setSpacing(6 * STEP)
        learnt = QLabel(tr("What was learnt"))
        for heading, table in ((learnt, self.checks), (self._studies_title, self.studies)):
            box = QVBoxLayout()
            box.setSpacing(STEP)
            heading.setFont(self.bench.theme.font("body", bold=True))
            box.addWidget(heading)
            box.addWidget(table, 1)
            lists.addLayout(box, 1)
        left = QVBoxLayout()
        left.setSpacing(3 * STEP)
        left.addLayout(charts, 3)
        left.addLayout(lists, 2)
        foot = QHBoxLayout()
        foot.setSpacing(6 * STEP)
        foot.addLayout(left, 1)
        foot.addWidget(self._side)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(3 * STEP)
        whole.addWidget(self.meters)
        whole.addWidget(self._why)
        whole.addLayout(foot, 1)

    # what is shown

    def take_focus(self) -> None:
        """Put the focus where the work goes on."""
        if self.form is None:
            self.meters.setFocus()
        else:
            self.form.begin()

    def chosen(self) -> MeterPage | None:
        """Return the chosen meter, if it is one."""
        chosen = self.meters.chosen()
        return chosen[0] if len(chosen) == 1 else None

    def show_meters(self, pages: Sequence[MeterPage]) -> None:
        """Show the meters; one is always chosen."""
        self.meters.show_rows(pages)
        self.meters.choose_first()
        self.meters.take_only_rows()

    def show_studies(self, found: Sequence[MeterStudy]) -> None:
        """Show the studies."""
        self._studies_title.setText(
            tr("Studies, Enter opens one") if found else tr("Studies: none yet")
        )
        self.studies.show_rows(found)

    def show_page(self, page: MeterPage | None, drifts: tuple[Drift, Drift] | None) -> None:
        """Show what is known of the chosen meter."""
        self.checks.show_rows(page.checks[::-1] if page else ())
        why = reasons(self.bench, page) if page else ""
        self._why.setText(
            tr("{meter}: {why}.", meter=page.trust.meter.name, why=why) if page and why else ""
        )
        zero, reference = drifts or (None, None)
        self.zero_drift.show_drift(zero)
        self.reference_drift.show_drift(reference)

    def enable(self, has_meter: bool, *, can_compare: bool) -> None:
        """Offer what can be done."""
        for name, button in self.keys.items():
            button.setEnabled(has_meter and (can_compare or name != "comparison"))

    def name_half_typed(self, taken: Mapping[str, int]) -> None:
        """Say which studies wait half typed."""
        said = []
        if "gauge" in taken:
            said.append(tr("A gauge study waits with {n} numbers: Ctrl+G.", n=taken["gauge"]))
        if "comparison" in taken:
            said.append(tr("A comparison waits with {n} numbers: Ctrl+K.", n=taken["comparison"]))
        self._half_typed.setText("\n".join(said))

    # the form at the side

    def open_form(self, form: ShortForm) -> None:
        """Ask for something beside the list."""
        self._drop_form()
        self.form = form
        form.confirmed.connect(self.confirmed)
        form.left.connect(self.close_form)
        self._side.addWidget(form)
        self._side.setCurrentWidget(form)
        form.begin()

    def close_form(self) -> None:
        """Show the keys again."""
        self._drop_form()
        self.meters.setFocus()

    def _drop_form(self) -> None:
        if self.form is not None:
            self._side.removeWidget(self.form)
            self.form.deleteLater()
            self.form = None
