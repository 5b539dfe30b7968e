"""The third page of the findings: what a screen costs, and whether stretching in house pays."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSlider,
    QSpinBox,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.services import costs
from framekeeper.services.costs import Costs, KnownCosts
from framekeeper.services.costs_telling import (
    CostLine,
    amount_words,
    assumed_words,
    away_words,
    bars_words,
    break_even_words,
    choice_words,
    cost_lines,
    input_words,
    missing_names,
    swing_words,
    told_swings,
    value_words,
)
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.costs_behind import CostsBehind
from framekeeper.ui.places.costs_lines import CostLines
from framekeeper.ui.places.costs_tables import (
    KnownNumber,
    PricedLine,
    cost_columns,
    line_id,
    number_columns,
    number_id,
)
from framekeeper.ui.places.findings_page import FindingsPage
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP, TARGET
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton
from framekeeper.ui.widgets.tall_column import TallColumn
from framekeeper.ui.widgets.tornado_chart import TornadoBar, TornadoChart
from framekeeper.ui.widgets.work_table import WorkTable

MOST_SCREENS = 100_000
_SLIDER_AT_LEAST = 100


class CostsPage(FindingsPage):
    """Costs and their numbers to the left; both ways of stretching, and what matters, beside."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._known: KnownCosts | None = None
        self._screens: Decimal | None = None  # None: as many as the journal counts
        self._opened_from: QWidget | None = None
        self.found: Costs | None = None
        theme = bench.theme
        lines: RowsModel[PricedLine] = RowsModel(cost_columns(bench), line_id, self)
        numbers: RowsModel[KnownNumber] = RowsModel(number_columns(bench), number_id, self)
        self.costs = WorkTable(theme, lines, tr("What it costs"))
        self.numbers = WorkTable(theme, numbers, tr("What it is reckoned from"))
        self.mesh, self.slider, self.screens = QComboBox(), QSlider(), QSpinBox()
        self.lines = CostLines(theme, bench.formatter)
        self.tornado = TornadoChart(theme, tr("What matters most"))
        self.choice, self.tip, self._assumed, self._swing = (QLabel() for _ in range(4))
        self.behind = CostsBehind(bench)
        self._enter = KeyHintButton(theme, tr("Enter numbers …"), "Ctrl+E")
        self._pages = QStackedWidget()
        self._dress()
        self._lay_out()
        self._connect()

    def _dress(self) -> None:
        self.costs.setSortingEnabled(False)  # its order is the sum
        self.numbers.setSortingEnabled(False)
        self.slider.setOrientation(Qt.Orientation.Horizontal)
        self.slider.setMinimumHeight(TARGET)
        self.slider.setPageStep(10)
        self.slider.setAccessibleName(tr("Screens a month"))
        self.slider.setToolTip(tr("Arrows: one screen; Page up and down: ten"))
        self.screens.setRange(0, MOST_SCREENS)
        self.screens.setKeyboardTracking(False)
        for part in (self.screens, self.screens.lineEdit()):
            part.setAccessibleName(tr("Screens a month, as a number"))
        self.mesh.setAccessibleName(tr("Mesh"))
        self.mesh.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.mesh.addItem(tr("every mesh"), None)
        small = self._bench.theme.font("small")
        for label in (self._assumed, self._swing, self.tip):
            label.setProperty("quiet", True)
            label.setFont(small)
        for label in (self.choice, self.tip, self._assumed, self._swing):
            label.setWordWrap(True)
        self._swing.setMinimumHeight(round(2.6 * self._bench.theme.px("small")))
        for label in (self._swing, self.choice):
            label.setAlignment(Qt.AlignmentFlag.AlignTop)

    def _connect(self) -> None:
        self.costs.asked.connect(self._open_cost)
        self.numbers.asked.connect(self._open_number)
        self.tornado.asked.connect(self._open_input)
        self.tornado.chosen_changed.connect(self._swing.setText)
        self.slider.valueChanged.connect(self._ask)
        self.screens.valueChanged.connect(self._ask)
        self.mesh.currentIndexChanged.connect(self.refresh)
        self.behind.left.connect(self._close_behind)
        self._enter.clicked.connect(self.edit_numbers)

    # layout

    def _lay_out(self) -> None:
        left, right, body = QVBoxLayout(), QVBoxLayout(), QWidget()
        for column in (left, right):
            column.setSpacing(2 * STEP)
        left.addLayout(self._chooser())
        left.addWidget(self.costs, 5)
        left.addWidget(self.numbers, 3)
        right.addLayout(self._asking())
        right.addWidget(self._compared(), 1)
        row = QHBoxLayout(body)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(5 * STEP)
        row.addLayout(left, 4)
        row.addLayout(right, 5)
        for page in (body, self._empty(), self.behind):
            self._pages.addWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._pages)

    def _compared(self) -> QScrollArea:
        """What both ways cost; in a small window or with large type it scrolls."""
        inner, area = TallColumn(), QScrollArea()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self.choice)
        column.addWidget(self.lines, 6)
        column.addWidget(self._assumed)
        column.addWidget(self.tip)
        column.addWidget(self.tornado, 5)
        column.addWidget(self._swing)
        area.setWidget(inner)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        return area

    def _chooser(self) -> QHBoxLayout:
        row = _labelled(tr("&Mesh"), self.mesh)
        row.addStretch(1)
        row.addWidget(self._enter)
        return row

    def _asking(self) -> QHBoxLayout:
        row = _labelled(tr("&Screens a month"), self.screens)
        row.insertWidget(1, self.slider, 1)
        return row

    def _empty(self) -> QWidget:
        bench = self._bench
        self._begin = KeyHintButton(bench.theme, tr("Enter what is known …"), "F2", is_main=True)
        self._begin.clicked.connect(self.edit_numbers)
        return EmptyState(
            bench.theme,
            bench.icons,
            "findings",
            tr("Nothing is known of costs yet"),
            tr(
                "Enter wages, prices and freight as you know them; stretches, bursts, lives and "
                "the use of mesh are counted in the journal. No price is ever guessed."
            ),
            self._begin,
        )

    # what is shown

    def refresh(self) -> None:
        """Read again what the shop knows."""
        mesh: str | None = self.mesh.currentData()
        self._bench.read(lambda desk: costs.gather(desk, mesh=mesh), self._gathered, owner=self)

    def take_focus(self) -> None:
        """Begin at the costs; or go on where they were opened."""
        if self._pages.currentWidget() is self.behind:
            self.behind.take_focus()
        elif self.found is not None and self.found.is_empty:
            self._begin.setFocus()
        else:
            self.costs.setFocus()

    @property
    def can_print(self) -> bool:
        """Whether there is anything to print."""
        return self.found is not None and not self.found.is_empty

    def print_shown(self) -> None:
        """Save what is shown as a PDF, with the screens a month that are asked for."""
        from framekeeper.ui.printing import save_costs_sheet

        if self.found is not None:
            save_costs_sheet(self._bench, self, self.found)

    def _gathered(self, known: KnownCosts) -> None:
        self._known = known
        self._offer_meshes(known)
        self._reckon()

    def _offer_meshes(self, known: KnownCosts) -> None:
        with QSignalBlocker(self.mesh):
            self.mesh.clear()
            self.mesh.addItem(tr("every mesh"), None)
            for name in known.meshes:
                self.mesh.addItem(name, name)
            self.mesh.setCurrentIndex(max(0, self.mesh.findData(known.mesh)))

    def _ask(self, screens: int) -> None:
        """The slider and the number say the same; a larger number makes the slider longer."""
        self._screens = Decimal(screens)
        self._reckon()

    def _reckon(self) -> None:
        if self._known is None:
            return
        found = costs.work_out(self._known, screens=self._screens)
        was_empty = self.found is None or self.found.is_empty
        self.found = found
        self._show_screens(round(found.screens))
        known = found.known
        self.costs.show_rows([PricedLine(line, known) for line in cost_lines(found)])
        missing = missing_names(found)
        listed = sorted(found.numbers.values(), key=lambda n: n.name not in missing)
        self.numbers.show_rows([KnownNumber(number, known) for number in listed])
        self.costs.choose_first()
        self._show_choice(found)
        self._show_page(found)
        if self.isVisible() and was_empty != found.is_empty:
            self.take_focus()

    def _show_screens(self, screens: int) -> None:
        with QSignalBlocker(self.slider), QSignalBlocker(self.screens):
            if screens > self.slider.maximum() or self.slider.maximum() < _SLIDER_AT_LEAST:
                self.slider.setMaximum(max(2 * screens, _SLIDER_AT_LEAST))
            self.slider.setValue(screens)
            self.screens.setValue(screens)

    def _show_choice(self, found: Costs) -> None:
        say, known = self._bench.formatter.sentence, found.known
        told = (choice_words(found), break_even_words(found), away_words(found))
        words = " ".join(say(words) for words in told if words is not None)
        self.choice.setText(words)
        self._assumed.setText(say(assumed_words()))
        self.lines.show_costs(found, words)
        bars = [
            TornadoBar(
                swing.name,
                say(input_words(swing.name)),
                say(value_words(swing.name, swing.low, known)),
                say(value_words(swing.name, swing.high, known)),
                float(swing.at_low),
                float(swing.at_high),
                say(swing_words(swing, known)),
            )
            for swing in told_swings(found)
        ]
        self.tornado.show_bars(bars, float(found.difference or 0))
        self.tip.setText(say(bars_words()) if bars else "")
        for widget in (self.lines, self.tornado, self._swing, self.tip, self._assumed):
            widget.setVisible(bool(bars))

    def _show_page(self, found: Costs) -> None:
        if self._pages.currentWidget() is not self.behind or found.is_empty:
            self._pages.setCurrentIndex(1 if found.is_empty else 0)
        missing = missing_names(found)
        if missing:
            words = tr_count(
                "{n} number is not known yet: it stands first below. Enter numbers adds it.",
                "{n} numbers are not known yet: they stand first below. Enter numbers adds them.",
                len(missing),
            )
        else:
            words = tr("Every number is known. Enter opens what a cost rests on.")
        self.summed_up.emit(words)

    # the work

    def edit_numbers(self) -> None:
        """Ask for what the shop knows."""
        if self.found is not None:
            from framekeeper.ui.dialogs.cost_numbers import CostNumbersForm

            CostNumbersForm(self._bench, self.found, self).open()

    def _open_cost(self) -> None:
        chosen = self.costs.chosen()
        if chosen and self.found is not None:
            self._open(self._title(chosen[0].line), chosen[0].line.rests_on, self.costs)

    def _title(self, line: CostLine) -> str:
        say = self._bench.formatter.sentence
        currency = self.found.known.currency if self.found is not None else ""
        amount = say(amount_words(line, currency))
        return tr("{what}: {amount}", what=say(line.words), amount=amount)

    def _open_number(self) -> None:
        chosen = self.numbers.chosen()
        if chosen:
            self._open_one(chosen[0].number.name, self.numbers)

    def _open_input(self, name: str) -> None:
        self._open_one(name, self.tornado)

    def _open_one(self, name: str, opened_from: QWidget) -> None:
        self._open(self._bench.formatter.sentence(input_words(name)), (name,), opened_from)

    def _open(self, title: str, names: Iterable[str], opened_from: QWidget) -> None:
        if self.found is None:
            return
        self._opened_from = opened_from
        numbers = [self.found.numbers[name] for name in names]
        self.behind.show_numbers(title, numbers, self.found.known)
        self._pages.setCurrentWidget(self.behind)
        self.behind.take_focus()

    def _close_behind(self) -> None:
        self._pages.setCurrentIndex(0)
        (self._opened_from or self.costs).setFocus()


def _labelled(words: str, field: QWidget) -> QHBoxLayout:
    label = QLabel(words)
    label.setBuddy(field)
    row = QHBoxLayout()
    row.setSpacing(2 * STEP)
    row.addWidget(label)
    row.addWidget(field)
    return row
