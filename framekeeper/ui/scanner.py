"""Tells a scanner from a person by the rhythm of the keys, so that a scan works anywhere.

A scanner that types is the fastest hand in the shop: a whole code and a closing key within
milliseconds. Its keys arrive like any others, so the first ones land wherever the focus is; once
the burst turns out to be a code, the closing key is swallowed and that place is put back as it
was. Only the widget with the focus is watched, not the whole application: a filter in Python on
every event of every widget would cost more than it finds.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import shiboken6
from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QWidget

from framekeeper.domain.codes import looks_like_code, read_code
from framekeeper.domain.errors import NotValid
from framekeeper.domain.roll_marks import looks_like_roll_mark, read_roll_mark
from framekeeper.ui.scan_restore import remember

MAX_GAP_MS = 35  # common practice, no source: scanners that type send a key every 1 to 20 ms
MIN_LENGTH = 6

_ENTER = frozenset({Qt.Key.Key_Return, Qt.Key.Key_Enter})
_MODIFIERS = frozenset({Qt.Key.Key_Shift, Qt.Key.Key_CapsLock, Qt.Key.Key_AltGr})
_COMMAND = (
    Qt.KeyboardModifier.ControlModifier
    | Qt.KeyboardModifier.AltModifier
    | Qt.KeyboardModifier.MetaModifier
)


@dataclass
class _Burst:
    """Keys that came too fast for a hand, and how to put back the place where they landed."""

    put_back: Callable[[], None]
    last_ms: int
    text: str = field(default="")


class Scanner(QObject):
    """Watches the keyboard for scans.

    Parameters
    ----------
    app
        The application whose focus is followed.
    max_gap_ms
        The longest pause between two keys of a scanner.
    suffix_keys
        The keys that may close a scan.

    Signals
    -------
    scanned(code)
        The whole code of a frame was read.
    roll_scanned(roll_id)
        The label of a roll was read.
    misread(text)
        A burst looked like a code, but its check character is wrong.
    """

    scanned = Signal(str)
    roll_scanned = Signal(object)  # ids outgrow the 32 bits of Signal(int)
    misread = Signal(str)

    def __init__(
        self,
        app: QApplication,
        *,
        max_gap_ms: int = MAX_GAP_MS,
        suffix_keys: frozenset[Qt.Key] = _ENTER | {Qt.Key.Key_Tab},
    ) -> None:
        super().__init__(app)
        self.max_gap_ms = max_gap_ms
        self._suffix_keys = suffix_keys
        self._burst: _Burst | None = None
        self._watched: QObject | None = None
        app.focusChanged.connect(self._follow)
        self._follow(None, app.focusWidget())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look at the keys that reach the focused widget; True swallows one."""
        kind = event.type()
        if kind == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            return self._override(event)
        if kind == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return isinstance(watched, QWidget) and self._pressed(watched, event)
        return False

    def _follow(self, _old: QWidget | None, new: QWidget | None) -> None:
        # Without a focused widget, Qt sends the keys to the window itself.
        target = new or QApplication.activeWindow()
        if target is self._watched:
            return
        if self._watched is not None and shiboken6.isValid(self._watched):
            self._watched.removeEventFilter(self)
        self._watched = target
        if target is not None:
            target.installEventFilter(self)

    def _override(self, event: QKeyEvent) -> bool:
        """Keep letters and the closing key of a running burst from firing shortcuts."""
        if self._goes_on(_clock_ms(event)) and not event.modifiers() & _COMMAND:
            event.accept()
            return True
        return False

    def _pressed(self, widget: QWidget, event: QKeyEvent) -> bool:
        key, text, now = Qt.Key(event.key()), event.text(), _clock_ms(event)
        if key in _MODIFIERS:
            return False
        if key in self._suffix_keys and self._goes_on(now):
            return self._close()
        if event.isAutoRepeat() or event.modifiers() & _COMMAND or not text.isprintable():
            self._burst = None
            return False
        if not text:
            self._burst = None
            return False
        if not self._goes_on(now):
            self._burst = _Burst(put_back=remember(widget), last_ms=now)
        if self._burst is not None:
            self._burst.text += text
            self._burst.last_ms = now
        return False

    def _goes_on(self, now_ms: int) -> bool:
        return self._burst is not None and 0 <= now_ms - self._burst.last_ms <= self.max_gap_ms

    def _close(self) -> bool:
        burst, self._burst = self._burst, None
        if burst is None:
            return False
        if len(burst.text) < MIN_LENGTH:
            return False
        if looks_like_roll_mark(burst.text):
            burst.put_back()
            self._give_roll(burst.text)
            return True
        try:
            code = read_code(burst.text)
        except NotValid:
            if not looks_like_code(burst.text):
                return False
            burst.put_back()
            self.misread.emit(burst.text)
            return True
        burst.put_back()
        self.scanned.emit(code)
        return True

    def _give_roll(self, text: str) -> None:
        try:
            roll_id = read_roll_mark(text)
        except NotValid:
            self.misread.emit(text)
        else:
            self.roll_scanned.emit(roll_id)


def _clock_ms(event: QKeyEvent) -> int:
    """Time of a key; events without one (made by a program) are timed as they arrive."""
    return event.timestamp() or time.monotonic_ns() // 1_000_000
