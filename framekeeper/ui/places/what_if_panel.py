"""Turns the knobs of "what if" and shows what the coming days then ask for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.due import Place
from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.trade_words import PLACE_WORDS
from framekeeper.services.settings import BENCHES
from framekeeper.services.what_if import BenchLoad, MeshNeed, Outcome, Wanted
from framekeeper.services.work_times import holidays_in
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import optional_number_in, optional_whole_in
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.lengths import bare_roll_length, roll_unit_word
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.marks import MARKS, Mark, mark_pixmap


@dataclass(frozen=True, slots=True)
class Knobs:
    """What the person turned."""

    minutes: dict[Place, float] = field(default_factory=dict)
    closed: tuple[dt.date, ...] = ()
    also: tuple[Wanted, ...] = ()


class WhatIfPanel(QScrollArea):
    """Three knobs and their outcome; where the room is short it scrolls.

    Signals
    -------
    turned()
        A knob says something else; the outcome is to be reckoned again.
    """

    turned = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._outcome: Outcome | None = None
        self.more = self._field(tr("More screens"), tr("none"))
        self.mesh = self._choice(tr("Mesh of the new screens"))
        self.where = self._choice(tr("Bench with other minutes"))
        for place in BENCHES:
            self.where.addItem(bench.formatter.sentence(PLACE_WORDS[place]), place)
        self.minutes = self._field(tr("Minutes a day at that bench"), tr("as set"))
        self.closed = self._field(tr("Closed too on"), tr("such as 2026-05-01..2026-05-04"))
        self.trouble = Trouble(bench.theme)
        self._told = QLabel()
        self._told.setWordWrap(True)
        self._told.setAccessibleName(tr("What is expected"))
        self._results = QWidget()
        self._column = QVBoxLayout()
        self.setWidgetResizable(True)
        self.setAccessibleName(tr("What if"))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._lay_out()
        bench.theme.changed.connect(self._show_results)

    # the knobs

    def _field(self, name: str, hint: str) -> QLineEdit:
        made = QLineEdit()
        made.setAccessibleName(name)
        made.setPlaceholderText(hint)
        made.setMaxLength(200)
        made.editingFinished.connect(self._on_turned)
        return made

    def _choice(self, name: str) -> QComboBox:
        made = QComboBox()
        made.setAccessibleName(name)
        made.activated.connect(self._on_turned)
        return made

    def _lay_out(self) -> None:
        heading = QLabel(tr("What if"))
        heading.setFont(self._bench.theme.font("large"))
        knobs = QGridLayout()
        knobs.setHorizontalSpacing(2 * STEP)
        knobs.setVerticalSpacing(STEP)
        knobs.setColumnStretch(1, 1)
        knobs.setColumnStretch(2, 2)
        for row, (text, first, second) in enumerate(
            (
                (tr("&More screens"), self.more, self.mesh),
                (tr("M&inutes a day"), self.minutes, self.where),
                (tr("&Closed too"), self.closed, None),
            )
        ):
            label = QLabel(text)
            label.setBuddy(first)
            knobs.addWidget(label, row, 0)
            knobs.addWidget(first, row, 1, 1, 1 if second else 2)
            if second is not None:
                knobs.addWidget(second, row, 2)
        self._column.setContentsMargins(0, 0, 2 * STEP, 0)
        self._column.setSpacing(2 * STEP)
        self._column.addWidget(heading)
        self._column.addLayout(knobs)
        for part in (self.trouble, self._told, self._results):
            self._column.addWidget(part)
        self._column.addStretch(1)
        inside = QWidget()
        inside.setLayout(self._column)
        self.setWidget(inside)

    def set_meshes(self, names: Sequence[str]) -> None:
        """Offer the shop's mesh types; the chosen one stays chosen."""
        if names == [self.mesh.itemText(n) for n in range(self.mesh.count())]:
            return
        chosen = self.mesh.currentText()
        self.mesh.clear()
        self.mesh.addItems(list(names))
        self.mesh.setCurrentIndex(max(0, self.mesh.findText(chosen)))

    def knobs(self) -> Knobs:
        """Read the knobs.

        Raises
        ------
        NotValid
            If a knob holds what it cannot mean.
        """
        formatter = self._bench.formatter
        count = optional_whole_in(self.more, "also", formatter)
        minutes = optional_number_in(self.minutes, "minutes", formatter)
        mesh = self.mesh.currentText()
        return Knobs(
            {} if minutes is None else {self.where.currentData(): minutes},
            holidays_in(self.closed.text()),
            (Wanted(mesh, count),) if count and mesh else (),
        )

    def _on_turned(self) -> None:
        self.turned.emit()

    # the outcome

    def show_trouble(self, error: FramekeeperError) -> None:
        """Say at the knobs why they were refused."""
        formatter = self._bench.formatter
        parts = [formatter.sentence(part) for part in (error.said, error.hint) if str(part)]
        self.trouble.say(" ".join(parts))

    def show_outcome(self, outcome: Outcome) -> None:
        """Show what the coming days ask for."""
        self.trouble.say("")
        self._outcome = outcome
        self._told.setText(self._expected(outcome))
        self._show_results()

    @property
    def told(self) -> str:
        """What is said of the restretches."""
        return self._told.text()

    def result_lines(self) -> list[str]:
        """What is said of mesh and benches, line by line."""
        return [label.text() for label in self._results.findChildren(QLabel) if label.text()]

    def _expected(self, outcome: Outcome) -> str:
        formatter = self._bench.formatter
        day = formatter.date(outcome.until)
        told = tr("No restretch is expected until {day}.", day=day)
        if outcome.restretches:
            told = tr(
                "Restretches until {day}: {mean} expected, give or take {sd}.",
                day=day,
                mean=formatter.number(outcome.restretches, 1),
                sd=formatter.number(outcome.restretches_sd, 1),
            )
        if outcome.waiting:
            waiting = tr_count("{n} frame waits for mesh.", "{n} frames wait for mesh.",
                               outcome.waiting)  # fmt: skip
            told = tr("{expected} {waiting}", expected=told, waiting=waiting)
        return told

    def _show_results(self) -> None:
        if self._outcome is None:
            return
        old, self._results = self._results, QWidget()
        grid = QGridLayout(self._results)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(2 * STEP)
        grid.setVerticalSpacing(STEP)
        grid.setColumnStretch(1, 1)
        lines = [self._bench_line(load) for load in self._outcome.benches]
        lines += [self._mesh_line(need) for need in self._outcome.meshes]
        lines.sort(key=lambda line: -MARKS.index(line[0]))  # what needs a hand comes first
        for row, (mark, name, numbers, words) in enumerate(lines):
            grid.addWidget(self._mark(mark), row, 0)
            for column, text in enumerate((name, numbers, words), start=1):
                label = QLabel(text)
                label.setProperty("quiet", column == 2)
                grid.addWidget(label, row, column)
        self._column.replaceWidget(old, self._results)
        old.deleteLater()
        bar = self.verticalScrollBar().sizeHint().width()
        self.setMinimumWidth(self._column.minimumSize().width() + bar)

    def _bench_line(self, load: BenchLoad) -> tuple[Mark, str, str, str]:
        formatter = self._bench.formatter
        name = formatter.sentence(PLACE_WORDS[load.bench])
        if load.share is None:
            mark: Mark = "below" if load.unplaced else "holds"
            return mark, name, tr("no minutes"), tr_count(
                "{n} job stays", "{n} jobs stay", load.unplaced
            ) if load.unplaced else ""  # fmt: skip
        share = tr("{share} % used", share=formatter.number(100 * load.share, 0))
        if load.unplaced:
            return "below", name, share, tr_count(
                "{n} job fits on no day", "{n} jobs fit on no day", load.unplaced
            )  # fmt: skip
        if load.full_on is None:
            return "holds", name, share, tr("has room")
        return "soon", name, share, tr("full {day}", day=formatter.short_day(load.full_on))

    def _mesh_line(self, need: MeshNeed) -> tuple[Mark, str, str, str]:
        formatter = self._bench.formatter
        numbers = tr(
            "{needed} of {on_hand} {unit}",
            needed=bare_roll_length(formatter, need.needed_mm),
            on_hand=bare_roll_length(formatter, need.on_hand_mm),
            unit=roll_unit_word(formatter),
        )
        if need.short_mm > 0:
            length = bare_roll_length(formatter, need.short_mm)
            short = tr("{length} {unit} short", length=length, unit=roll_unit_word(formatter))
            return "below", need.mesh_name, numbers, short
        if need.needed_mm + 2 * need.expected_sd_mm > need.on_hand_mm:
            return "soon", need.mesh_name, numbers, tr("just enough")
        return "holds", need.mesh_name, numbers, tr("enough")

    def _mark(self, mark: Mark) -> QLabel:
        label = QLabel()
        size = self._bench.theme.px("small")
        label.setPixmap(mark_pixmap(mark, size, self._bench.theme.palette))
        return label
