"""What matters most, as bars around what is: each input lowered and raised, the widest first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from framekeeper.ui.theme import STEP, TARGET, Theme
from framekeeper.ui.widgets.plot_kit import pen

_FOCUS = 2  # of a border around what has the focus, px
_NAMES = 0.34  # of the width
_OPEN_KEYS = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter})


@dataclass(frozen=True, slots=True)
class TornadoBar:
    """One input: its name, both values in words, the result at both, and a whole sentence."""

    key: str
    name: str
    low_text: str
    high_text: str
    at_low: float
    at_high: float
    words: str


class TornadoChart(QWidget):
    """Up and Down walk over the bars, Enter asks what the input of the chosen one rests on.

    Signals
    -------
    chosen_changed(words)
        Another bar is chosen; the sentence says all of it.
    asked(key)
        Somebody wants to see what is behind an input.
    """

    chosen_changed = Signal(str)
    asked = Signal(str)

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._bars: tuple[TornadoBar, ...] = ()
        self._middle = 0.0
        self._chosen = 0
        self._first = 0  # that is visible
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        theme.changed.connect(self.update)

    # what is shown

    @property
    def bars(self) -> tuple[TornadoBar, ...]:
        """The bars, the widest first."""
        return self._bars

    @property
    def chosen(self) -> TornadoBar | None:
        """The bar that is told."""
        return self._bars[self._chosen] if self._bars else None

    def show_bars(self, bars: Sequence[TornadoBar], middle: float) -> None:
        """Show these bars around `middle`; the chosen input stays chosen."""
        held = self.chosen
        self._bars, self._middle = tuple(bars), middle
        places = [i for i, bar in enumerate(self._bars) if held and bar.key == held.key]
        self._choose(places[0] if places else 0)

    def _choose(self, place: int) -> None:
        self._chosen = max(0, min(place, len(self._bars) - 1))
        fits = max(1, self.height() // self._row_px)
        self._first = max(min(self._first, self._chosen), self._chosen - fits + 1, 0)
        words = self._bars[self._chosen].words if self._bars else ""
        self.setAccessibleDescription(words)
        self.chosen_changed.emit(words)
        self.update()

    # keys and mouse

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        ends = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: len(self._bars) - 1}
        if key in steps:
            self._choose(self._chosen + steps[key])
        elif key in ends:
            self._choose(ends[key])
        elif key in _OPEN_KEYS and self.chosen is not None and not event.isAutoRepeat():
            self.asked.emit(self.chosen.key)
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus()
        place = self._first + int(event.position().y()) // self._row_px
        if place < len(self._bars):
            self._choose(place)

    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:
        if self.chosen is not None:
            self.asked.emit(self.chosen.key)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    # painting

    @property
    def _row_px(self) -> int:
        return max(TARGET, round(1.7 * self._theme.px("body")))

    def sizeHint(self) -> QSize:
        return QSize(60 * STEP, max(3, len(self._bars)) * self._row_px)

    def minimumSizeHint(self) -> QSize:
        return QSize(60 * STEP, 5 * self._row_px)

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._theme.palette.colour("surface"))
        painter.setFont(self._theme.font("small"))
        fits = max(1, self.height() // self._row_px)
        for row, bar in enumerate(self._bars[self._first : self._first + fits]):
            self._paint_bar(painter, row, bar)
        if self._bars:
            x = self._x(self._middle)
            painter.setPen(pen(self._theme, "ink", 1.5))
            high = min(fits, len(self._bars) - self._first) * self._row_px
            painter.drawLine(round(x), 0, round(x), high)
        if self.hasFocus():
            painter.setPen(pen(self._theme, "press", _FOCUS))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_bar(self, painter: QPainter, row: int, bar: TornadoBar) -> None:
        colours, high = self._theme.palette, self._row_px
        whole = QRectF(0, row * high, self.width(), high)
        if self._first + row == self._chosen:
            painter.fillRect(whole, colours.colour("place_tint"))
        names = QRectF(2 * STEP, whole.top(), _NAMES * self.width() - 2 * STEP, high)
        metrics = QFontMetrics(painter.font())
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.setPen(colours.colour("ink"))
        name = metrics.elidedText(bar.name, Qt.TextElideMode.ElideRight, round(names.width()))
        painter.drawText(names, middle | Qt.AlignmentFlag.AlignLeft, name)
        ends = sorted(((self._x(bar.at_low), bar.low_text), (self._x(bar.at_high), bar.high_text)))
        (left, left_text), (right, right_text) = ends
        block = QRectF(left, whole.top() + STEP, max(right - left, 1), high - 2 * STEP)
        painter.fillRect(block, colours.colour("place"))
        painter.setPen(pen(self._theme, "edge", 1))
        painter.drawRect(block)
        painter.setPen(colours.colour("quiet"))
        room = self._ends_px
        before = QRectF(left - room - STEP, whole.top(), room, high)
        after = QRectF(right + STEP, whole.top(), room, high)
        painter.drawText(before, middle | Qt.AlignmentFlag.AlignRight, left_text)
        painter.drawText(after, middle | Qt.AlignmentFlag.AlignLeft, right_text)

    @property
    def _ends_px(self) -> int:
        """Room for the values at the ends of the widest text."""
        metrics = QFontMetrics(self._theme.font("small"))
        texts = [text for bar in self._bars for text in (bar.low_text, bar.high_text)]
        return max((metrics.horizontalAdvance(text) for text in texts), default=0) + STEP

    def _x(self, value: float) -> float:
        values = [v for bar in self._bars for v in (bar.at_low, bar.at_high)] + [self._middle]
        low, high = min(values), max(values)
        left = _NAMES * self.width() + self._ends_px + 2 * STEP
        right = max(self.width() - self._ends_px - 2 * STEP, left + STEP)
        return left + (right - left) * (value - low) / ((high - low) or 1.0)
