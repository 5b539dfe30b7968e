"""The second page of the findings: how long mesh lasts, what ends it, and whether rest pays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.lived_mesh import LifeUnit
from framekeeper.services import lives
from framekeeper.services.behind import Behind
from framekeeper.services.life_splits import BYS, By
from framekeeper.services.lives import CauseFound, KnownLives, LifeGroup, LivesFound
from framekeeper.services.lives_behind import (
    Number,
    behind_cause,
    behind_comparison,
    behind_group,
    behind_night,
    behind_unreleased,
)
from framekeeper.services.lives_telling import (
    BY_WORDS,
    UNIT_WORDS,
    WHAT_COUNTS,
    comparison_words,
    found_line,
    night_lines,
)
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.behind_page import BehindPage
from framekeeper.ui.places.findings_page import FindingsPage
from framekeeper.ui.places.lives_chart import LivesChart
from framekeeper.ui.places.lives_tables import cause_columns, cause_id, group_columns, group_id
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton
from framekeeper.ui.widgets.number_table import NumberTable, OpenLine, ShareBar


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of the lives."""

    by: By = "mesh"
    unit: LifeUnit = "days"
    mesh: str | None = None


class LivesPage(FindingsPage):
    """Asks by three choosers; every number that it shows opens on Enter."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._known: KnownLives | None = None
        self._asked = Question()
        self._opened_from: QWidget | None = None
        self._opened: Callable[[LivesFound], Behind | None] | None = None
        self.found: LivesFound | None = None
        theme = bench.theme
        groups: RowsModel[LifeGroup] = RowsModel(group_columns(bench), group_id, self)
        causes: RowsModel[CauseFound] = RowsModel(cause_columns(bench), cause_id, self)
        self.split, self.unit, self.mesh = QComboBox(), QComboBox(), QComboBox()
        self.chart = LivesChart(theme, bench.formatter)
        self.groups = NumberTable(theme, groups, tr("Lives by group"), first_number=1)
        self.causes = NumberTable(theme, causes, tr("What ends them"), first_number=1)
        self.causes.setItemDelegateForColumn(2, ShareBar(theme, self.causes))
        self.comparison, self.night, self.unreleased = (OpenLine(theme) for _ in range(3))
        self.behind = BehindPage(bench)
        self._pages = QStackedWidget()
        self._lay_out()
        self._connect()

    def _connect(self) -> None:
        for box in (self.split, self.unit, self.mesh):
            box.currentIndexChanged.connect(self._ask)
        self.groups.selectionModel().currentChanged.connect(self._show_chosen)
        self.groups.number_wanted.connect(self._open_group)
        self.causes.number_wanted.connect(self._open_cause)
        self.chart.asked.connect(self._open_curve)
        self.comparison.asked.connect(self._open_comparison)
        self.night.asked.connect(self._open_night)
        self.unreleased.asked.connect(self._open_unreleased)
        self.behind.left.connect(self._close_behind)

    # layout

    def _lay_out(self) -> None:
        theme = self._bench.theme
        causes_title, counts = QLabel(tr("What ends them")), QLabel()
        causes_title.setFont(theme.font("body", bold=True))
        counts.setText(self._bench.formatter.sentence(WHAT_COUNTS))
        counts.setFont(theme.font("small"))
        counts.setProperty("quiet", True)
        counts.setWordWrap(True)
        right, top = QVBoxLayout(), QHBoxLayout()
        right.setSpacing(STEP)
        right.addWidget(causes_title)
        right.addWidget(self.causes, 1)
        top.setSpacing(5 * STEP)
        top.addWidget(self.chart, 5)
        top.addLayout(right, 4)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(self._choosers())
        column.addLayout(top, 5)
        column.addWidget(self.groups, 5)
        said = QVBoxLayout()
        said.setSpacing(0)
        for line in (self.comparison, self.night, self.unreleased):
            line.setFont(theme.font("small"))
            said.addWidget(line)
        column.addLayout(said)
        column.addWidget(counts)
        for page in (body, self._empty(), self.behind):
            self._pages.addWidget(page)
        order: tuple[QWidget, ...] = (
            self.split, self.unit, self.mesh, self.groups, self.chart, self.causes,
            self.comparison, self.night, self.unreleased,
        )  # fmt: skip
        for before, after in pairwise(order):
            QWidget.setTabOrder(before, after)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._pages)

    def _choosers(self) -> QHBoxLayout:
        sentence = self._bench.formatter.sentence
        for by in BYS:
            self.split.addItem(sentence(BY_WORDS[by]), by)
        for unit in lives.UNITS:
            self.unit.addItem(sentence(UNIT_WORDS[unit]), unit)
        self.split.setCurrentIndex(BYS.index("mesh"))
        self.mesh.addItem(tr("every mesh"), None)
        row = QHBoxLayout()
        row.setSpacing(2 * STEP)
        for words, box in (
            (tr("&Split by"), self.split),
            (tr("Co&unted in"), self.unit),
            (tr("&Mesh"), self.mesh),
        ):
            label = QLabel(words)
            label.setBuddy(box)
            box.setAccessibleName(words.replace("&", ""))
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            row.addWidget(label)
            row.addWidget(box)
            row.addSpacing(3 * STEP)
        row.addStretch(1)
        return row

    def _empty(self) -> QWidget:
        bench = self._bench
        self._go = KeyHintButton(bench.theme, tr("Go to the Stretching table"), "F2", is_main=True)
        self._go.clicked.connect(self._go_stretching)
        return EmptyState(
            bench.theme,
            bench.icons,
            "findings",
            tr("No mesh has lived here yet"),
            tr(
                "A life begins when a stretch is released, or with mesh that is found on a frame. "
                "From five ends on this page says how long mesh lasts here, and of what it ends."
            ),
            self._go,
        )

    # asking

    def refresh(self) -> None:
        """Read all lives again, and ask the same question."""
        self._bench.read(lives.gather, self._gathered, owner=self)

    def take_focus(self) -> None:
        """Begin at the numbers; or go on where they were opened."""
        page = self._pages.currentWidget()
        if page is self.behind:
            self.behind.take_focus()
        elif self.found is not None and self.found.is_empty:
            self._go.setFocus()
        else:
            self.groups.setFocus()

    @property
    def can_print(self) -> bool:
        """Whether there is anything to print."""
        return self.found is not None and not self.found.is_empty

    def print_shown(self) -> None:
        """Save what is shown as a PDF, with the curve of the chosen group."""
        from framekeeper.ui.printing import save_lives_report

        if self.found is not None:
            save_lives_report(self._bench, self, self.found, self.groups.current_row)

    @property
    def question(self) -> Question:
        """What the choosers ask."""
        return Question(
            cast("By", self.split.currentData()),
            cast("LifeUnit", self.unit.currentData()),
            self.mesh.currentData(),
        )

    def _gathered(self, known: KnownLives) -> None:
        self._known = known
        self._offer_meshes(known)
        self._ask()

    def _offer_meshes(self, known: KnownLives) -> None:
        """Offer the meshes that have lived; what is chosen stays chosen while it is there."""
        names = sorted({known.shelf.mesh_name(life) for life in known.lives}, key=str.casefold)
        chosen = self.mesh.currentData()
        with QSignalBlocker(self.mesh):
            self.mesh.clear()
            self.mesh.addItem(tr("every mesh"), None)
            for name in names:
                self.mesh.addItem(name, name)
            self.mesh.setCurrentIndex(max(self.mesh.findData(chosen), 0) if chosen else 0)

    def _ask(self) -> None:
        known, asked = self._known, self.question
        if known is None:
            return
        self._asked = asked

        def answer() -> LivesFound:
            return lives.work_out(known, by=asked.by, unit=asked.unit, mesh=asked.mesh)

        self._bench.tasks.compute(answer, self._show, owner=self)

    def _show(self, found: LivesFound) -> None:
        if Question(found.by, found.unit, found.mesh or None) != self._asked:
            return  # something else was asked meanwhile, and its answer is on the way
        self.found = found
        was_shown = self._pages.currentWidget()
        sentence = self._bench.formatter.sentence
        self.groups.show_rows(found.groups)
        self.groups.take_only_rows()
        self.causes.show_rows(found.causes)
        self.comparison.say(
            sentence(comparison_words(found.comparison)), can_open=bool(found.comparison.rows)
        )
        self.night.say(
            " ".join(map(sentence, night_lines(found.night))), can_open=bool(found.night.points)
        )
        self._say_unreleased(found)
        if self._pages.currentWidget() is not self.behind or not self._show_behind():
            self._pages.setCurrentIndex(1 if found.is_empty else 0)
        self._show_chosen()
        self.summed_up.emit(
            tr("How long mesh lasts here, and what ends it.")
            if found.is_empty
            else sentence(found_line(found))
        )
        if self.isVisible() and self._pages.currentWidget() is not was_shown:
            self.take_focus()

    def _say_unreleased(self, found: LivesFound) -> None:
        self.unreleased.setVisible(bool(found.unreleased))
        self.unreleased.say(
            tr(
                "In the clamps, or ended there before the release: {n}. They have no age.",
                n=len(found.unreleased),
            ),
            can_open=True,
        )

    def _show_chosen(self) -> None:
        group = self.groups.current_row
        if self.found is not None:
            others = [g for g in self.found.groups if g is not group]
            self.chart.show_groups(group, others, self.found.unit)

    # opening numbers

    def _open_group(self, group: LifeGroup, key: str) -> None:
        number, name = cast("Number", "lives" if key == "name" else key), group.label.key

        def behind(found: LivesFound) -> Behind | None:
            same = next((g for g in found.groups if g.label.key == name), None)
            return behind_group(found, same, number) if same else None

        self._open(behind, self.groups)

    def _open_curve(self) -> None:
        if self.groups.current_row is not None:
            self._open_group(self.groups.current_row, "lives")
            self._opened_from = self.chart

    def _open_cause(self, cause: CauseFound, _key: str) -> None:
        def behind(found: LivesFound) -> Behind | None:
            same = next((c for c in found.causes if c.cause == cause.cause), None)
            return behind_cause(found, same) if same else None

        self._open(behind, self.causes)

    def _open_comparison(self) -> None:
        self._open(behind_comparison, self.comparison)

    def _open_night(self) -> None:
        self._open(behind_night, self.night)

    def _open_unreleased(self) -> None:
        self._open(behind_unreleased, self.unreleased)

    def _open(self, behind: Callable[[LivesFound], Behind | None], opened_from: QWidget) -> None:
        self._opened, self._opened_from = behind, opened_from
        if self._show_behind():
            self._pages.setCurrentWidget(self.behind)
            self.behind.take_focus()

    def _show_behind(self) -> bool:
        """Show what is behind the number that was opened; False where it is there no more."""
        behind = self._opened(self.found) if self._opened and self.found is not None else None
        if behind is None:
            return False
        self.behind.show_behind(behind)
        return True

    def _close_behind(self) -> None:
        self._opened = None
        self._pages.setCurrentIndex(0)
        (self._opened_from or self.groups).setFocus()

    def _go_stretching(self) -> None:
        self._bench.place_wanted.emit("stretching")
