"""The findings: how each mesh loses tension here, who stands out, and how long mesh lasts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.services import findings, forecasts
from framekeeper.services.findings import Findings as Found
from framekeeper.services.findings import Known, MeshFinding, OddScreen
from framekeeper.services.findings_behind import behind_mesh, reading_of
from framekeeper.services.findings_telling import (
    fitted_words,
    loss_words,
    odd_line,
    rests_on_words,
    spread_words,
    trade_words,
)
from framekeeper.services.forecast_words import PARTLY
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.findings_chart import DecayChart
from framekeeper.ui.places.findings_page import FURTHER_PAGES, FindingsPage
from framekeeper.ui.places.findings_tables import (
    mesh_columns,
    mesh_row_id,
    odd_columns,
    odd_row_id,
)
from framekeeper.ui.places.findings_trade import TradeFigures
from framekeeper.ui.places.place import Place
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.work_table import WorkTable

if TYPE_CHECKING:
    from framekeeper.domain.errors import FramekeeperError
    from framekeeper.services.forecasts import Gathered, Kept, Worked
    from framekeeper.ui.places.behind_page import BehindPage

FIRST_PAGE, FIRST_TITLE = "tension", "Loss of tension"


class Findings(Place):
    """Pages that are turned by a key.

    The first shows meshes above; below, the chart of the chosen one and the screens that stand out.
    The further ones are built when somebody first turns to them.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        theme = bench.theme
        self._found: Found | None = None
        self._anew = KeyHintButton(theme, tr("Fit anew"), "F5")
        self._edit = KeyHintButton(theme, tr("Edit the mesh …"), "Ctrl+E")
        self._anew.clicked.connect(self._fit_anew)
        self._edit.clicked.connect(self._edit_mesh)
        self._rests = KeyHintButton(theme, tr("What it rests on"), "Ctrl+B")
        self._rests.clicked.connect(self._open_readings)
        self._print = KeyHintButton(theme, tr("Print"), "Ctrl+P")
        self._turn = KeyHintButton(theme, tr(FURTHER_PAGES[0].title), "Ctrl+T")
        self._print.clicked.connect(self._print_page)
        self._turn.clicked.connect(self.turn)
        self._header = PlaceHeader(
            theme,
            tr("Findings"),
            tr("Looking at what was found …"),
            (self._rests, self._edit, self._anew, self._print, self._turn),
        )
        self._print.setVisible(False)
        self._further: dict[str, FindingsPage] = {}
        self._shown_key = FIRST_PAGE
        self._behind: BehindPage | None = None
        self._known: Known | None = None
        meshes: RowsModel[MeshFinding] = RowsModel(mesh_columns(bench), mesh_row_id, self)
        odd: RowsModel[OddScreen] = RowsModel(odd_columns(bench), odd_row_id, self)
        self.meshes = WorkTable(theme, meshes, tr("How each mesh loses tension"))
        self.odd = WorkTable(theme, odd, tr("Screens that stand out"))
        self.trade = TradeFigures(bench)
        self.chart = DecayChart(theme, bench.formatter)
        self.words, self._odd_title, self._odd_words = QLabel(), QLabel(), QLabel()
        self._unread = QLabel()
        self._pages = QStackedWidget()
        self._lay_out()
        self.meshes.chosen_changed.connect(self._show_chosen)
        self.meshes.asked.connect(self._edit_mesh)
        self.odd.asked.connect(self._open_frame)
        self.odd.chosen_changed.connect(self._tell_odd)

    def _lay_out(self) -> None:
        for label in (self.words, self._odd_words, self._unread):
            label.setWordWrap(True)
        for label in (self._odd_words, self._unread):
            label.setProperty("quiet", True)
        self._odd_words.setMinimumHeight(4 * self.bench.theme.px("body"))
        self._odd_words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._odd_title.setFont(self.bench.theme.font("body", bold=True))
        right, foot = QVBoxLayout(), QHBoxLayout()
        right.setSpacing(STEP)
        right.addWidget(self._odd_title)
        right.addWidget(self.odd, 1)
        right.addWidget(self._odd_words)
        foot.setSpacing(5 * STEP)
        foot.addWidget(self.chart, 3)
        foot.addLayout(right, 5)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self.meshes, 4)
        column.addWidget(self.words)
        column.addWidget(self._unread)
        column.addLayout(foot, 3)
        self._pages.addWidget(body)
        self._pages.addWidget(self._empty_page())
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)

    def _empty_page(self) -> QWidget:
        """What is believed until the shop has read screens of its own."""
        theme = self.bench.theme
        self._read = KeyHintButton(theme, tr("Go to the Tension round"), "F2", is_main=True)
        self._read.clicked.connect(self._go_reading)
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(
            EmptyState(
                theme,
                self.bench.icons,
                "findings",
                tr("Nothing has been learnt here yet"),
                tr(
                    "Read the tension of screens; from the first readings on this place shows how "
                    "each mesh loses tension in this shop. Until then the forecast believes the "
                    "trade’s figures below."
                ),
                self._read,
            ),
            1,
        )
        column.addWidget(self.trade)
        return page

    # what is shown

    def take_focus(self) -> None:
        page = self._pages.currentWidget()
        if isinstance(page, FindingsPage):
            page.take_focus()
            return
        if page is self._behind:
            self.behind.take_focus()
            return
        is_empty = self._found is not None and not self._found.meshes
        (self._read if is_empty else self.meshes).setFocus()

    def refresh(self) -> None:
        if self._shown_key == FIRST_PAGE:
            self.bench.read(findings.gather, self._gathered, owner=self)
        else:
            self.page(self._shown_key).refresh()

    def page(self, key: str) -> FindingsPage:
        """Return a further page, built if nobody turned to it before."""
        if key not in self._further:
            entry = next(e for e in FURTHER_PAGES if e.key == key)
            page = entry.build(self.bench)
            page.summed_up.connect(self._summed_up)
            self._further[key] = page
            self._pages.addWidget(page)
        return self._further[key]

    def turn(self) -> None:
        """Turn to the next page, after the last to the first; it reads what happened meanwhile."""
        keys = [FIRST_PAGE, *(entry.key for entry in FURTHER_PAGES)]
        titles = [FIRST_TITLE, *(entry.title for entry in FURTHER_PAGES)]
        place = (keys.index(self._shown_key) + 1) % len(keys)
        self._shown_key = keys[place]
        self._turn.setText(tr(titles[(place + 1) % len(keys)]))
        is_first = self._shown_key == FIRST_PAGE
        for button in (self._anew, self._edit, self._rests):
            button.setVisible(is_first)
        self._print.setVisible(not is_first)
        if is_first:
            self._pages.setCurrentIndex(0)
            self._show_page()
        else:
            page = self.page(self._shown_key)
            self._print.setEnabled(page.can_print)
            self._pages.setCurrentWidget(page)
        self.refresh()
        self.take_focus()

    def _summed_up(self, text: str) -> None:
        page = self._pages.currentWidget()
        if page is self.sender() and isinstance(page, FindingsPage):
            self._print.setEnabled(page.can_print)
            self._header.set_purpose(text)

    def _gathered(self, known: Known) -> None:
        self._known = known
        self.bench.tasks.compute(lambda: findings.work_out(known), self._show, owner=self)

    def _show(self, found: Found) -> None:
        self._found = found
        self._anew.setEnabled(True)
        has_meshes = bool(found.meshes)
        if self._shown_key == FIRST_PAGE:
            self._show_page()
        self.trade.show_figures(found)
        self.meshes.show_rows(found.meshes)
        self.meshes.take_only_rows()
        self.meshes.choose_first()
        self.odd.show_rows(found.odd)
        self._unread.setVisible(has_meshes and bool(found.unread))
        self._unread.setText(
            tr(
                "No reading yet of {names}: until then each is taken to lose tension as the whole "
                "shop does.",
                names=", ".join(found.unread),
            )
        )
        self._odd_title.setText(
            tr_count("{n} stretch stands out", "{n} stretches stand out", len(found.odd))
        )
        self._tell_odd()
        self._show_chosen()

    def _show_page(self) -> None:
        """Show the first page, or what stands there until something was found."""
        if self._found is None:
            self._pages.setCurrentIndex(0)
            return
        has_meshes = bool(self._found.meshes)
        words = self.bench.formatter.sentence(fitted_words(self._found.fitted))
        self._header.set_purpose(words)
        if self._behind is None or self._pages.currentWidget() is not self._behind:
            self._pages.setCurrentIndex(0 if has_meshes else 1)
        for button in (self._edit, self._rests):
            button.setVisible(has_meshes)

    def _chosen(self) -> MeshFinding | None:
        chosen = self.meshes.chosen()
        return chosen[0] if chosen else None

    def _show_chosen(self) -> None:
        found = self._chosen()
        self._edit.setEnabled(found is not None)
        self.chart.show_finding(found)
        if found is None or self._found is None:
            self.words.clear()
            return
        said = [rests_on_words(found), spread_words(found), *loss_words(found)]
        if found.own_share < PARTLY:
            said.append(trade_words(self._found))
        self.words.setText(" ".join(map(self.bench.formatter.sentence, said)))

    def _tell_odd(self) -> None:
        """Say the chosen one in a whole sentence; else why these stand out."""
        chosen = self.odd.chosen()
        if chosen:
            self._odd_words.setText(self.bench.formatter.sentence(odd_line(chosen[0])))
        elif self._found is not None:
            self._odd_words.setText(_why_odd(self._found))

    # what numbers rest on

    @property
    def behind(self) -> BehindPage:
        """The readings that the chosen mesh's numbers rest on."""
        if self._behind is None:
            from framekeeper.ui.places.behind_page import BehindPage

            self._behind = BehindPage(self.bench)
            self._behind.left.connect(self._close_readings)
            self._pages.addWidget(self._behind)
        return self._behind

    def _open_readings(self) -> None:
        found = self._chosen()
        if found is not None and self._known is not None:
            self.behind.show_behind(behind_mesh(self._known, found))
            self._pages.setCurrentWidget(self.behind)
            self.behind.take_focus()

    def _close_readings(self) -> None:
        self._pages.setCurrentIndex(0)
        self.meshes.setFocus()

    # the work

    def _open_frame(self) -> None:
        chosen = self.odd.chosen()
        if chosen and self._known is not None:
            self.bench.event_wanted.emit(chosen[0].frame.code, reading_of(self._known, chosen[0]))

    def _print_page(self) -> None:
        page = self._pages.currentWidget()
        if isinstance(page, FindingsPage):
            page.print_shown()

    def _go_reading(self) -> None:
        self.bench.place_wanted.emit("round")

    def _edit_mesh(self) -> None:
        found = self._chosen()
        if found is not None:
            from framekeeper.ui.dialogs.mesh_type import MeshTypeForm

            MeshTypeForm(self.bench, found.mesh, self).open()

    def _fit_anew(self) -> None:
        """Three steps, each on its thread: read, fit, keep."""
        self._anew.setEnabled(False)
        self.bench.read(
            lambda desk: forecasts.gather(desk, anyway=True),
            self._to_be_fitted,
            owner=self,
            fail=self._could_not,
        )

    def _to_be_fitted(self, gathered: Gathered) -> None:
        self.bench.tasks.compute(
            lambda: forecasts.fit(gathered), self._fitted, self._could_not, owner=self
        )

    def _fitted(self, worked: Worked) -> None:
        if worked.fit is None:
            self._anew.setEnabled(True)
            self.bench.told.emit(tr("There is no reading yet that could be fitted."))
            return
        self.bench.change(
            lambda desk: forecasts.keep(desk, worked), self._kept, owner=self, fail=self._could_not
        )

    def _kept(self, kept: Kept) -> None:
        self._anew.setEnabled(True)
        self.bench.told.emit(
            tr("The forecast was fitted anew.")
            if kept.refitted
            else tr("Another bench has fitted it meanwhile.")
        )

    def _could_not(self, error: FramekeeperError) -> None:
        self._anew.setEnabled(True)
        self.bench.show_trouble(error)

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds & {"frames", "mesh_types", "rolls", "settings", "forecast"})


def _why_odd(found: Found) -> str:
    if not found.odd:
        return tr("Every stretch lost about what its mesh usually loses.")
    return tr(
        "Three standard deviations from what its mesh usually loses, or a fall of 5 % at once; "
        "chance alone puts one stretch in 370 there. Enter opens the frame."
    )
