"""The result of a study in words, with its table or its plot."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.services.meter_studies import MeterStudy, take_over_repeatability
from framekeeper.services.study_telling import ShareOfVariation, shares, study_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.meter_step import MeterStep
from framekeeper.ui.places.meter_tables import share_columns, share_id, study_name
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.agreement_chart import AgreementChart
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.work_table import WorkTable

_TABLE_WIDTH = 160 * STEP


class StudyResult(MeterStep):
    """What a study found."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self.study: MeterStudy | None = None
        theme = bench.theme
        self._title, self._when, self._conclusion, self._more = (QLabel() for _ in range(4))
        self._title.setFont(theme.font("large"))
        self._when.setProperty("quiet", True)
        self._conclusion.setFont(theme.font("large", bold=True))
        for label in (self._conclusion, self._more):
            label.setWordWrap(True)
        rows: RowsModel[ShareOfVariation] = RowsModel(share_columns(bench), share_id, self)
        self.shares = WorkTable(theme, rows, tr("What the readings vary by"))
        self.shares.setMaximumWidth(_TABLE_WIDTH)
        self.chart = AgreementChart(theme, bench.formatter)
        self._pages = QStackedWidget()
        for page in (self.shares, self.chart):
            self._pages.addWidget(page)
        self.take_over = KeyHintButton(theme, tr("Take the scatter over to the meter"), "F2")
        self.take_over.clicked.connect(self._take_over)
        self.leave = LocalKeyButton(theme, tr("Back to the meters"), "Esc", is_main=True)
        self.leave.clicked.connect(self.left)
        for button in (self.leave, self.take_over):
            button.setAutoDefault(True)  # else Enter does nothing outside a dialog
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self.leave)
        keys.addWidget(self.take_over)
        keys.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        for widget in (self._title, self._when, self._conclusion, self._more):
            column.addWidget(widget)
        column.addWidget(self._pages, 1)
        column.addLayout(keys)

    @property
    def words(self) -> str:
        """All that is said."""
        return f"{self._conclusion.text()} {self._more.text()}"

    def show_study(self, study: MeterStudy) -> None:
        """Show what a study found."""
        self.study = study
        f = self.bench.formatter
        first, *rest = (f.sentence(said) for said in study_words(study))
        self._title.setText(study_name(study))
        self._when.setText(f.moment(study.record.happened_at))
        self._conclusion.setText(first)
        self._more.setText(" ".join(rest))
        self.setAccessibleName(study_name(study))
        self.setAccessibleDescription(self.words)
        self.take_over.setVisible(study.gauge is not None)
        if study.gauge is not None:
            self.shares.show_rows(shares(study.gauge))
            self.shares.take_only_rows()
            self._pages.setCurrentWidget(self.shares)
        else:
            self.chart.show_study(study)
            self._pages.setCurrentWidget(self.chart)

    def focus_work(self) -> None:
        self.leave.setFocus()

    def _take_over(self) -> None:
        study = self.study
        if study is not None and study.gauge is not None:
            self.bench.change(lambda desk: take_over_repeatability(desk, study), owner=self)
