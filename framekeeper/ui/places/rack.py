"""The Rack: every frame as a wall or a table, found by a word, acted on by key."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QItemSelection, QModelIndex, QPoint, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QStackedWidget,
    QTableView,
    QWidget,
)

from framekeeper.domain.changes import Changes
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowIdRole, RowsModel, dress_table
from framekeeper.ui.models.table import refresh as refresh_table
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.rack_actions import RackAction, rack_actions
from framekeeper.ui.places.rack_columns import rack_columns
from framekeeper.ui.places.rack_filters import RackFilters
from framekeeper.ui.places.rack_forms import RackForms
from framekeeper.ui.places.rack_list import (
    SORTS,
    RackNow,
    RackRow,
    arrange,
    read_rack,
    tile_of,
)
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.rack_wall import RackWall

AT_HAND = 5  # actions with a button of their own


class Rack(Place):
    """Every frame of the shop. Enter opens one; the keys below act on all that are chosen."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._now: RackNow | None = None
        self._rows: dict[int, RackRow] = {}
        self._chosen: frozenset[int] = frozenset()
        self._sorted_by = SORTS[0]
        self._forms = RackForms(bench, self)
        self._add_header()
        self._add_filters()
        self._add_views()
        self._add_actions()
        self._show_chosen()

    # building

    def _add_header(self) -> None:
        theme = self.bench.theme
        self._toggle = KeyHintButton(theme, tr("As a table"), "Ctrl+T")
        self._toggle.clicked.connect(self.toggle_view)
        self._set_up = KeyHintButton(theme, tr("The shop"), "Ctrl+J")
        self._set_up.clicked.connect(self._open_set_up)
        self._import = KeyHintButton(theme, tr("Import"), "Ctrl+I")
        self._import.clicked.connect(self._forms.import_file)
        self._register = KeyHintButton(theme, tr("Register"), "Ctrl+N", is_main=True)
        self._register.clicked.connect(self._open_register)
        self._header = PlaceHeader(
            theme,
            tr("Rack"),
            tr("Looking at the rack …"),
            (self._toggle, self._set_up, self._import, self._register),
        )
        self.column.addWidget(self._header)

    def _add_filters(self) -> None:
        self.filters = RackFilters(self.take_focus)
        self.filters.changed.connect(self._filter)
        self.column.addWidget(self.filters)

    def _add_views(self) -> None:
        theme, icons = self.bench.theme, self.bench.icons
        self.wall = RackWall(theme, self.bench.formatter)
        self.wall.activated.connect(self._open_id)
        self.wall.selection_changed.connect(self._take_chosen)
        self.model: RowsModel[RackRow] = RowsModel(
            rack_columns(self.bench), lambda r: r.frame.id, self
        )
        self.table = QTableView()
        self.table.setModel(self.model)
        self.table.setAccessibleName(tr("Rack table"))
        dress_table(self.table, theme)
        self.table.activated.connect(self._open_index)
        self.table.selectionModel().selectionChanged.connect(self._take_table_choice)
        first = QPushButton(tr("Register frames"))
        first.clicked.connect(self._open_register)
        self._empty = EmptyState(
            theme, icons, "rack", tr("No frame is registered yet"),
            tr("Register the frames one by one or a whole row at once (Ctrl+N), or import the "
               "list that the shop keeps already (Ctrl+I)."),
            first,
        )  # fmt: skip
        clear = QPushButton(tr("Show every frame"))
        clear.clicked.connect(self.clear_filters)
        self._no_match = EmptyState(
            theme, icons, "search", tr("No frame matches"),
            tr("Take a filter away, or type fewer words."), clear,
        )  # fmt: skip
        self._pages = QStackedWidget()
        for page in (self.wall, self.table, self._empty, self._no_match):
            self._pages.addWidget(page)
        self._view: RackWall | QTableView = self.wall
        self.column.addWidget(self._pages, 1)

    def _add_actions(self) -> None:
        self._actions: dict[str, QAction] = {}
        self._buttons: dict[str, KeyHintButton] = {}
        self._by_key = {action.key: action for action in rack_actions()}
        self._count = QLabel()
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self._count, 1)
        self._menu = QMenu(self)
        self._menu.setAccessibleName(tr("More for the chosen frames"))
        for number, action in enumerate(self._by_key.values()):
            if number < AT_HAND:
                button = KeyHintButton(self.bench.theme, action.text, action.shortcut)
                button.clicked.connect(partial(self.act, action.key))
                self._buttons[action.key] = button
                row.addWidget(button)
            else:
                self._actions[action.key] = self._menu_action(action)
        self._more = KeyHintButton(self.bench.theme, tr("More"), "Ctrl+E")
        self._more.clicked.connect(self._open_menu)
        row.addWidget(self._more)
        self._bar = QWidget()
        self._bar.setLayout(row)
        self.column.addWidget(self._bar)
        find = QAction(tr("Filter the rack"), self)
        find.setShortcut(QKeySequence("F3"))
        find.triggered.connect(self.filters.begin)
        self.addAction(find)
        for view in (self.wall, self.table):
            view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
            view.customContextMenuRequested.connect(self._open_menu_at)

    def _menu_action(self, action: RackAction) -> QAction:
        made = self._menu.addAction(action.text)
        made.setShortcut(QKeySequence(action.shortcut))
        made.setStatusTip(action.text)
        made.triggered.connect(partial(self.act, action.key))
        self.addAction(made)
        return made

    # what is shown

    def take_focus(self) -> None:
        page = self._pages.currentWidget()
        if page is self._view:
            self._view.setFocus()
        else:
            self._register.setFocus()

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds & {"frames", "mesh_types", "meters", "settings", "forecast"})

    def refresh(self) -> None:
        formatter = self.bench.formatter
        self.bench.read(lambda desk: read_rack(desk, formatter), self._show, owner=self)

    def _show(self, now: RackNow) -> None:
        was_empty = self._pages.currentWidget() not in (self.wall, self.table)
        had_focus = self.isAncestorOf(self.focusWidget()) if self.focusWidget() else True
        self._now = now
        self._rows = {row.frame.id: row for row in now.rows}
        self.filters.offer(now.rows, self.bench.formatter)
        self._filter()
        if was_empty and had_focus and self.isVisible():
            self.take_focus()

    def _filter(self) -> None:
        if self._now is None:
            return
        query = self.filters.query
        if query.sort != self._sorted_by:
            self._sorted_by = query.sort
            self.table.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        rows = arrange(self._now.rows, query, self.bench.formatter)
        keep = self._chosen
        self.wall.show_tiles(
            (tile_of(row, self.bench.formatter) for row in rows), by_days=query.is_by_days
        )
        refresh_table(self.table, self.model, rows)
        self._chosen = keep & {row.frame.id for row in rows}
        self._show_page(rows)
        self._show_chosen()

    def _show_page(self, rows: Sequence[RackRow]) -> None:
        assert self._now is not None
        alive = [r for r in self._now.rows if r.state.state != "retired"]
        has_frames = bool(self._now.rows)
        if not has_frames:
            self._pages.setCurrentWidget(self._empty)
        else:
            self._pages.setCurrentWidget(self._view if rows else self._no_match)
        for widget in (self.filters, self._bar, self._toggle):
            widget.setVisible(has_frames)
        frames = tr_count("{n} frame", "{n} frames", len(alive))
        if self.filters.query.is_narrow:
            self._header.set_purpose(tr("{n} of {frames} shown", n=len(rows), frames=frames))
        elif not has_frames:
            self._header.set_purpose(tr("The rack is empty."))
        else:
            need = _need(alive, by_days=self.filters.query.is_by_days)
            self._header.set_purpose(tr("{frames}, {need}", frames=frames, need=need))

    def clear_filters(self) -> None:
        """Show every frame again."""
        self.filters.clear()
        self.take_focus()

    def toggle_view(self) -> None:
        """Change between wall and table; the choice stays."""
        chosen = self._chosen
        to_table = self._view is self.wall
        current = self.wall.current_id() if to_table else self.table.currentIndex().data(RowIdRole)
        self._view = self.table if to_table else self.wall
        self._toggle.setText(tr("As a wall") if to_table else tr("As a table"))
        if to_table:
            self._choose_in_table(chosen, current)
        else:
            if current is not None:
                self.wall.go_to(current)
            self.wall.select(chosen)
        self._filter()
        self.take_focus()

    def _choose_in_table(self, ids: frozenset[int], current: int | None) -> None:
        selection = self.table.selectionModel()
        flags = selection.SelectionFlag
        if current is not None and (place := self.model.row_of(current)) is not None:
            selection.setCurrentIndex(self.model.index(place, 0), flags.NoUpdate)
            self.table.scrollTo(self.model.index(place, 0))
        chosen = QItemSelection()
        last = len(self.model.columns) - 1
        for row_id in ids:
            if (place := self.model.row_of(row_id)) is not None:
                chosen.select(self.model.index(place, 0), self.model.index(place, last))
        selection.select(chosen, flags.ClearAndSelect)

    # the choice

    def _take_chosen(self, ids: frozenset[int]) -> None:
        if self._view is self.wall:
            self._chosen = ids
            self._show_chosen()

    def _take_table_choice(self) -> None:
        if self._view is self.table:
            rows = self.table.selectionModel().selectedRows()
            self._chosen = frozenset(index.data(RowIdRole) for index in rows)
            self._show_chosen()

    def chosen(self) -> list[RackRow]:
        """The chosen frames, in the order that is shown."""
        return [row for row in self.model.rows if row.frame.id in self._chosen]

    def _show_chosen(self) -> None:
        rows = self.chosen()
        self._count.setText(
            tr_count("{n} frame chosen", "{n} frames chosen", len(rows))
            if rows
            else tr("No frame is chosen")
        )
        for key, action in self._by_key.items():
            fits = any(action.fits(row.state) for row in rows)
            fits = fits and (key != "edit" or len(rows) == 1)
            target = self._buttons.get(key) or self._actions[key]
            target.setEnabled(fits)
        self._more.setEnabled(bool(rows))

    # doing

    def act(self, key: str, *_checked: object) -> None:
        """Do something with the chosen frames, or ask first what it needs."""
        rows, action = self.chosen(), self._by_key[key]
        if not rows or self._now is None:
            return
        codes = [row.frame.code for row in rows]
        if (done := action.done) is not None:

            def work(desk: Desk) -> Done:
                return done(desk, codes)

            self.bench.change(work, owner=self)
        else:
            self._forms.ask(action, rows, self._now)

    def _open_register(self) -> None:
        if self._now is not None:
            self._forms.register(self._now)

    def _open_set_up(self) -> None:
        if self._now is not None:
            corner = self._set_up.mapToGlobal(QPoint(0, self._set_up.height()))
            self._forms.set_up_menu(self._now).popup(corner)

    def _open_menu(self) -> None:
        size = self._menu.sizeHint()
        corner = QPoint(self._more.width() - size.width(), -size.height())
        self._menu.popup(self._more.mapToGlobal(corner))

    def _open_menu_at(self, place: QPoint) -> None:
        if self._chosen:
            self._menu.popup(self._view.mapToGlobal(place))

    def _open_id(self, frame_id: int) -> None:
        self.bench.frame_wanted.emit(self._rows[frame_id].frame.code)

    def _open_index(self, index: QModelIndex) -> None:
        frame_id = index.data(RowIdRole)
        if frame_id is not None:
            self._open_id(frame_id)


def _need(rows: Sequence[RackRow], *, by_days: bool) -> str:
    """Count what the marks that are shown ask for."""
    if by_days:
        soon = sum(r.left is not None and r.left.answer != "holds" for r in rows)
        return tr_count("{n} below or soon below", "{n} below or soon below", soon)
    waiting = sum(r.mark in ("soon", "below") for r in rows)
    return tr_count("{n} needs work", "{n} need work", waiting)
