"""The due list as a person reads it from two steps away: by place, what to do, and why below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import Mark, mark_word, paint_mark

Index = QModelIndex | QPersistentModelIndex
LineRole = Qt.ItemDataRole.UserRole
_NARROW = 200 * STEP  # a list beside something else gives its room to the reason


@dataclass(frozen=True, slots=True)
class DueLine:
    """One task, in words. `row_id` names it for good."""

    row_id: tuple[str, str]
    place: str  # the name of the place where it is done
    mark: Mark
    name: str  # the frame
    where: str  # own label and slot
    task: str
    reason: str
    mesh: str
    since: str


@dataclass(frozen=True, slots=True)
class _Section:
    place: str
    count: int


class _DueModel(QAbstractListModel):
    """Sections and their tasks, one after the other; sections cannot be chosen."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.rows: list[_Section | DueLine] = []

    def show_lines(self, lines: Sequence[DueLine]) -> None:
        self.beginResetModel()
        self.rows = []
        for place in dict.fromkeys(line.place for line in lines):
            own = [line for line in lines if line.place == place]
            self.rows += [_Section(place, len(own)), *own]
        self.endResetModel()

    def row_of(self, row_id: tuple[str, str] | None) -> int | None:
        for place, row in enumerate(self.rows):
            if isinstance(row, DueLine) and row.row_id == row_id:
                return place
        return None

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.rows)

    def flags(self, index: Index) -> Qt.ItemFlag:
        if index.isValid() and isinstance(self.rows[index.row()], _Section):
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        row = self.rows[index.row()]
        if role == LineRole:
            return row
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            if isinstance(row, _Section):
                return row.place
            return tr(
                "{frame}: {task}, {mark}; {reason}",
                frame=row.name,
                task=row.task,
                mark=mark_word(row.mark),
                reason=row.reason,
            )
        if role == Qt.ItemDataRole.ToolTipRole and isinstance(row, DueLine):
            return row.reason
        return None


class _DueDelegate(QStyledItemDelegate):
    """Paints a task on two lines, and the name of a place above its tasks."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        line = self._theme.px("body") + self._theme.px("small") + 5 * STEP
        if isinstance(index.data(LineRole), _Section):
            line = self._theme.px("large") + 6 * STEP
        return QSize(200, line)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(LineRole)
        painter.save()
        rect: QRect = option.rect
        if isinstance(row, _Section):
            self._paint_section(painter, rect, row)
        else:
            state: QStyle.StateFlag = option.state
            self._paint_line(painter, rect, row, state)
        painter.restore()

    def _paint_section(self, painter: QPainter, rect: QRect, section: _Section) -> None:
        colours = self._theme.palette
        painter.setFont(self._theme.font("large"))
        painter.setPen(colours.colour("ink"))
        base = rect.adjusted(2 * STEP, 3 * STEP, -2 * STEP, -STEP)
        painter.drawText(base, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
                         section.place)  # fmt: skip
        wide = QFontMetrics(self._theme.font("large")).horizontalAdvance(section.place)
        painter.setFont(self._theme.font("body"))
        painter.setPen(colours.colour("quiet"))
        painter.drawText(
            base.adjusted(wide + 2 * STEP, 0, 0, 0),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            tr_count("{n} task", "{n} tasks", section.count),
        )

    def _paint_line(
        self, painter: QPainter, rect: QRect, line: DueLine, state: QStyle.StateFlag
    ) -> None:
        colours = self._theme.palette
        card = rect.adjusted(0, 1, 0, -1)
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        painter.fillRect(card, colours.colour("place_tint" if is_chosen else "surface"))
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(colours.colour("press"))
            painter.drawRect(card.adjusted(0, 0, -1, -1))
        size = self._theme.px("large")
        mark = QRectF(card.left() + 4 * STEP, card.center().y() - size / 2, size, size)
        paint_mark(painter, line.mark, mark, colours)
        left = card.left() + 14 * STEP
        is_narrow = card.width() < _NARROW
        code_wide, side_wide = (27 * STEP, 36 * STEP) if is_narrow else (44 * STEP, 40 * STEP)
        self._two_lines(painter, QRect(left, card.top(), code_wide, card.height()),
                        line.name, line.where)  # fmt: skip
        middle = left + code_wide + 3 * STEP
        right = card.right() - side_wide - 4 * STEP
        self._two_lines(painter, QRect(middle, card.top(), right - middle, card.height()),
                        line.task, line.reason)  # fmt: skip
        self._two_lines(painter, QRect(right + 2 * STEP, card.top(), side_wide, card.height()),
                        line.mesh, line.since, is_right=True)  # fmt: skip

    def _two_lines(
        self, painter: QPainter, room: QRect, first: str, second: str, *, is_right: bool = False
    ) -> None:
        side = Qt.AlignmentFlag.AlignRight if is_right else Qt.AlignmentFlag.AlignLeft
        middle = room.center().y()
        for text, size, colour, top, bottom in (
            (first, "body", "ink", room.top() + STEP, middle + STEP // 2),
            (second, "small", "quiet", middle + STEP // 2, room.bottom() - STEP),
        ):
            font = self._theme.font(size, bold=size == "body" and not is_right)
            painter.setFont(font)
            painter.setPen(self._theme.palette.colour(colour))
            shown = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
            painter.drawText(
                QRect(room.left(), top, room.width(), bottom - top),
                side | Qt.AlignmentFlag.AlignVCenter,
                shown,
            )


class DueList(QListView):
    """Tasks grouped by place.

    Signals
    -------
    line_wanted(row_id)
        Enter or a double click on a task.
    """

    line_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = _DueModel(self)
        self.setModel(self._model)
        self.setItemDelegate(_DueDelegate(theme, self))
        self.setAccessibleName(tr("What is due"))
        self.setUniformItemSizes(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setStyleSheet("QListView { background: transparent; }")
        self.doubleClicked.connect(self._wanted)
        theme.changed.connect(self.viewport().update)

    def show_lines(self, lines: Sequence[DueLine]) -> None:
        """Show these tasks; the chosen one stays chosen, and so does the scroll."""
        chosen = self.current_line
        scrolled = self.verticalScrollBar().value()
        self._model.show_lines(lines)
        place = self._model.row_of(chosen.row_id if chosen else None)
        if place is None:
            place = 1 if lines else None
        if place is not None:
            self.setCurrentIndex(self._model.index(place, 0))
            self.verticalScrollBar().setValue(scrolled)
        if place == 1:
            self.scrollToTop()  # the name of the first place, too

    @property
    def current_line(self) -> DueLine | None:
        """The task that is chosen."""
        row = self.currentIndex().data(LineRole)
        return row if isinstance(row, DueLine) else None

    @property
    def lines(self) -> list[DueLine]:
        """The tasks as shown."""
        return [row for row in self._model.rows if isinstance(row, DueLine)]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current_line:
            self._wanted(self.currentIndex())
            return
        super().keyPressEvent(event)

    def _wanted(self, index: QModelIndex) -> None:
        row = index.data(LineRole)
        if isinstance(row, DueLine):
            self.line_wanted.emit(row.row_id)
