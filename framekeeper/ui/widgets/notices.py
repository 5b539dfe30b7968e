"""What a place says about itself: its name, what to do first when it is empty, and its cautions."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QShortcutEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from framekeeper.ui.icons import IconSet
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, Theme


class PlaceHeader(QWidget):
    """The name of a place, one line on what it is for, and its actions at the right."""

    def __init__(
        self,
        theme: Theme,
        title: str,
        purpose: str,
        actions: Sequence[QPushButton] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._title = QLabel(title)
        self._title.setFont(theme.font("title"))
        self._purpose = QLabel(purpose)
        self._purpose.setWordWrap(True)
        self._purpose.setFont(theme.font("body"))
        self._purpose.setProperty("quiet", True)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self._title)
        words.addWidget(self._purpose)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 2 * STEP)
        layout.setSpacing(2 * STEP)
        layout.addLayout(words, 1)
        for action in actions:
            layout.addWidget(action, 0, Qt.AlignmentFlag.AlignBottom)
        self.setAccessibleName(title)

    def set_title(self, title: str) -> None:
        """Name something else at the head of the place."""
        self._title.setText(title)
        self.setAccessibleName(title)

    def set_purpose(self, purpose: str) -> None:
        """Say something else below the name."""
        self._purpose.setText(purpose)


class EmptyState(QWidget):
    """An empty place says what to do first, and offers it."""

    def __init__(
        self,
        theme: Theme,
        icons: IconSet,
        icon: str,
        what: str,
        first_step: str,
        action: QPushButton | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._icons, self._icon = icons, icon
        self._picture = QLabel()
        heading = QLabel(what)
        heading.setFont(theme.font("large"))
        step = QLabel(first_step)
        step.setWordWrap(True)
        step.setMaximumWidth(30 * theme.px("body"))
        step.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        layout = QVBoxLayout(self)
        layout.setSpacing(2 * STEP)
        layout.addStretch(1)
        for label in (self._picture, heading, step):
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        layout.addWidget(self._picture)
        layout.addWidget(heading)
        middle = QHBoxLayout()
        middle.addStretch(1)
        middle.addWidget(step, 4)
        middle.addStretch(1)
        layout.addLayout(middle)
        if action is not None:
            layout.addSpacing(2 * STEP)
            layout.addWidget(action, 0, Qt.AlignmentFlag.AlignHCenter)
        layout.addStretch(2)
        self.setAccessibleName(what)
        self.setAccessibleDescription(first_step)
        theme.changed.connect(self._dress)
        self._dress()

    def _dress(self) -> None:
        self._picture.setPixmap(self._icons.pixmap(self._icon, 48, "quiet"))


class CautionStrip(QFrame):
    """A short caution at the step that can hurt; it always names who knows better."""

    def __init__(self, theme: Theme, caution: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._caution = QLabel(caution)
        self._caution.setWordWrap(True)
        self._defers = QLabel(
            tr(
                "A usual caution, not an instruction. The safety data sheet, the machine’s manual "
                "and local codes decide. If unsure, stop and ask a trained person."
            )
        )
        self._defers.setWordWrap(True)
        self._defers.setFont(theme.font("small"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(11 * STEP, 2 * STEP, 3 * STEP, 2 * STEP)
        layout.setSpacing(STEP)
        layout.addWidget(self._caution)
        layout.addWidget(self._defers)
        self.setAccessibleName(tr("Caution"))
        self.setAccessibleDescription(caution)
        theme.changed.connect(self.update)

    def show_caution(self, caution: str) -> None:
        """Say another caution."""
        self._caution.setText(caution)
        self.setAccessibleDescription(caution)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """The tone of what asks for care, and a sign that does not need it."""
        colours = self._theme.palette
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.colour("place_tint"))
        painter.drawRoundedRect(QRectF(self.rect()), STEP, STEP)
        sign = QRectF(3 * STEP, 2 * STEP, 5 * STEP, 5 * STEP)
        painter.setBrush(colours.colour("ink"))
        painter.drawRoundedRect(sign, STEP, STEP)
        painter.setPen(colours.colour("place_tint"))
        painter.setFont(self._theme.font("body", bold=True))
        painter.drawText(sign, Qt.AlignmentFlag.AlignCenter, "!")
        painter.end()


class KeyHintButton(QPushButton):
    """A button that shows its key: the text at the left, the key at the right, in quiet ink."""

    def __init__(
        self,
        theme: Theme,
        text: str,
        key: str,
        *,
        is_main: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._key = key
        self.setProperty("main", is_main)
        self._is_main = is_main
        self.setText(text)
        self.setAccessibleDescription(self.key_text)
        room = self._key_width() + 4 * STEP
        self.setStyleSheet(f"text-align: left; padding-right: {room}px;")
        theme.changed.connect(self.update)

    def setText(self, text: str) -> None:
        """Take other words; Qt would take the key away with the old ones."""
        super().setText(text)
        self._hear_key()
        plain = text.replace("&", "")
        self.setToolTip(tr("{action} ({key})", action=plain, key=self.key_text))
        self.setAccessibleName(plain)

    def _hear_key(self) -> None:
        self.setShortcut(self._key)

    def event(self, event: QEvent) -> bool:
        """Answer the key at once: Qt would hold the button down for 100 ms before it clicks.

        What is typed in that time would go where the focus was before.
        """
        if isinstance(event, QShortcutEvent) and not event.isAmbiguous():
            self.click()
            return True
        return super().event(event)

    @property
    def key_text(self) -> str:
        """The key as this system writes it."""
        return self.shortcut().toString(self.shortcut().SequenceFormat.NativeText)

    def sizeHint(self) -> QSize:
        hint = super().sizeHint()
        return QSize(hint.width(), max(hint.height(), 24))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        colours = self._theme.palette
        painter = QPainter(self)
        painter.setFont(self._theme.font("small"))
        painter.setPen(colours.colour("on_press" if self._is_main else "quiet"))
        if not self.isEnabled():
            painter.setPen(colours.colour("quiet"))
        room = QRectF(self.rect()).adjusted(0, 0, -3 * STEP, 0)
        painter.drawText(
            room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self.key_text
        )
        painter.end()

    def _key_width(self) -> int:
        return QFontMetrics(self._theme.font("small")).horizontalAdvance(self.key_text)
