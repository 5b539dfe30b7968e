"""The right side of the cut plan: how good it is, its picture, what is kept, print and book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.cut_drawing import DrawnPlan
from framekeeper.services import cut_view, cut_words
from framekeeper.services.cut_plan import CutRequest, Offcut, WidthAdvice, offcuts
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, TARGET
from framekeeper.ui.widgets.cut_picture import CutPicture
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.tall_column import TallColumn

if TYPE_CHECKING:
    from framekeeper.domain.cutting import CutPlan

_OFFCUT_ROWS = 3
_CHECKED = Qt.CheckState.Checked


class CutResult(QWidget):
    """A plan, first rough, then better; it can be stopped at any time.

    Signals
    -------
    cancel_wanted()
        Stop looking; the best plan so far stays.
    print_wanted()
        Print what is shown.
    book_wanted()
        It is cut.
    """

    cancel_wanted = Signal()
    print_wanted = Signal()
    book_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._request: CutRequest | None = None
        self._offcuts: tuple[Offcut, ...] = ()
        self._advice: tuple[WidthAdvice, ...] = ()
        self._is_stale = False
        self.plan: CutPlan | None = None
        self.view: DrawnPlan | None = None
        self.is_booked = False
        theme = bench.theme
        self._state, self._figures, self._more = QLabel(), QLabel(), QLabel()
        self._state.setFont(theme.font("large"))
        self._more.setProperty("quiet", True)
        for label in (self._state, self._figures, self._more):
            label.setWordWrap(True)
        self._cancel = LocalKeyButton(theme, tr("Stop looking"), "Esc")
        self._print = KeyHintButton(theme, tr("Print the cut sheet"), "Ctrl+P")
        self._book = KeyHintButton(theme, tr("Cut: book it"), "F6", is_main=True)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self.picture = CutPicture(theme, self._scroll.viewport())
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setAccessibleName(tr("Picture of the cut plan"))
        self._keep_title = QLabel(tr("Offcuts: tick what goes back to the shelf"))
        self.keep = QListWidget()
        self.keep.setAccessibleName(self._keep_title.text())
        self._lay_out()
        self._cancel.clicked.connect(self.cancel_wanted)
        self._print.clicked.connect(self.print_wanted)
        self._book.clicked.connect(self.book_wanted)
        self.keep.itemChanged.connect(self._draw)

    def _lay_out(self) -> None:
        inside = TallColumn()
        seen = QVBoxLayout(inside)
        seen.setContentsMargins(0, 0, 0, 0)
        seen.setSpacing(2 * STEP)
        seen.addWidget(self._more)
        seen.addWidget(self.picture, 1)
        self._scroll.setWidget(inside)
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self._cancel)
        keys.addStretch(1)
        keys.addWidget(self._print)
        keys.addWidget(self._book)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        column.addWidget(self._state)
        column.addWidget(self._figures)
        column.addSpacing(STEP)
        column.addWidget(self._scroll, 1)
        column.addWidget(self._keep_title)
        column.addWidget(self.keep)
        column.addSpacing(STEP)
        column.addLayout(keys)

    # the plan

    def begin(self, request: CutRequest) -> None:
        """Forget the last plan: another one is looked for."""
        self._request = request
        self.plan, self.view, self.is_booked = None, None, False
        self._advice, self._is_stale = (), False
        self._scroll.verticalScrollBar().setValue(0)

    def show_plan(self, plan: CutPlan, *, is_searching: bool) -> None:
        """Show a plan that is better than the one before."""
        assert self._request is not None
        self.plan = plan
        self._offcuts = offcuts(self._request, plan)
        self._list_offcuts()
        self._draw()
        self._tell(is_searching=is_searching)

    def show_advice(self, advice: tuple[WidthAdvice, ...]) -> None:
        """Say which width to buy next."""
        self._advice = advice
        self._tell_more()

    def end(self, *, is_whole: bool) -> None:
        """Nobody looks for a better plan any more."""
        self._tell(is_searching=False, is_whole=is_whole)

    def set_stale(self, is_stale: bool) -> None:
        """Say that the shelf or the list is not as it was when the plan was made."""
        if is_stale != self._is_stale:
            self._is_stale = is_stale
            self._tell_more()

    def wait(self) -> None:
        """Take no second key until the answer is here."""
        self._book.setEnabled(False)

    def refused(self) -> None:
        """It was not booked."""
        self._book.setEnabled(True)

    def set_booked(self) -> None:
        """The ledger has it; the picture stays, to be cut by."""
        self.is_booked = True
        self.keep.setEnabled(False)
        self._state.setText(tr("Booked. The pieces wait for their stretch."))

    def set_unbooked(self) -> None:
        """The booking was taken back."""
        self.is_booked = False
        self.keep.setEnabled(bool(self._offcuts))
        self._tell(is_searching=False)

    @property
    def state_text(self) -> str:
        """What is said of how good the plan is."""
        return self._state.text()

    @property
    def more_text(self) -> str:
        """What is said beside the figures."""
        return self._more.text()

    @property
    def kept(self) -> tuple[Offcut, ...]:
        """The offcuts that are ticked."""
        ticks = [self.keep.item(n).checkState() == _CHECKED for n in range(self.keep.count())]
        return tuple(o for o, is_kept in zip(self._offcuts, ticks, strict=True) if is_kept)

    def _list_offcuts(self) -> None:
        formatter = self._bench.formatter
        self.keep.blockSignals(True)
        self.keep.clear()
        for offcut in self._offcuts:
            item = QListWidgetItem(formatter.sentence(cut_words.offcut_words(offcut)))
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setSizeHint(QSize(0, TARGET))
            item.setCheckState(_CHECKED if offcut.serves else Qt.CheckState.Unchecked)
            self.keep.addItem(item)
        self.keep.blockSignals(False)
        has_some = bool(self._offcuts)
        self.keep.setEnabled(has_some)
        self.keep.setVisible(has_some)
        self._keep_title.setVisible(has_some)
        if has_some:
            shown = min(_OFFCUT_ROWS, len(self._offcuts))
            self.keep.setFixedHeight(shown * TARGET + 2 * self.keep.frameWidth() + STEP)

    def _draw(self) -> None:
        if self.plan is None or self._request is None:
            return
        formatter = self._bench.formatter
        self.view = cut_view.drawn(
            self._request,
            self.plan,
            formatter,
            kept=cut_view.kept_rows(self.kept),
            currency=formatter.currency,
        )
        self.picture.show_plan(self.view)
        self._tell_more()

    def _tell(self, *, is_searching: bool, is_whole: bool = True) -> None:
        if self.plan is None:
            return
        gap = self._bench.formatter.sentence(cut_words.gap_words(self.plan))
        if is_searching and not self.plan.is_proven:
            said = tr("Looking … {gap}", gap=gap)
        elif is_whole or self.plan.is_proven:
            said = gap[:1].upper() + gap[1:]
        else:
            said = tr("Stopped; the best plan so far: {gap}", gap=gap)
        self._state.setText(said)
        self._cancel.setEnabled(is_searching)
        has_cuts = bool(self.plan.rolls)
        self._print.setEnabled(has_cuts)
        self._book.setEnabled(has_cuts)

    def _tell_more(self) -> None:
        if self.view is None:
            return
        speak = self._bench.formatter.sentence
        assert self.plan is not None
        assert self._request is not None
        currency = self._bench.formatter.currency
        figures, _, compared_by = self.view.summary
        bound = speak(cut_words.bound_words(self.plan, self._request, currency))
        self._figures.setText(f"{figures} {bound}")
        more = [*self.view.unplaced]
        if self._is_stale:
            more.insert(0, tr("The shelf changed since this plan was made. Plan again."))
        more.append(compared_by)
        more += [
            speak(cut_words.advice_words(advice, currency))
            for advice in self._advice
            if len(advice.widths) != 1  # one width alone is no choice
        ]
        self._more.setText("\n".join(more))
