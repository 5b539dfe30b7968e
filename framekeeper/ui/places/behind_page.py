"""What a number rests on: its frames, the events of the chosen one, and the way to their page."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.services.behind import Behind, BehindEvent, BehindRow
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.lives_tables import behind_columns, behind_id, event_columns, event_id
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.esc_page import EscPage
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.work_table import WorkTable

_MESH_COLUMN = 1


class BehindPage(EscPage):
    """Rows to the left, the events of the chosen row to the right; Enter opens the frame there."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._title, self._count, self._chosen_words = QLabel(), QLabel(), QLabel()
        self._title.setFont(bench.theme.font("large"))
        self._count.setProperty("quiet", True)
        self._chosen_words.setWordWrap(True)
        self._chosen_words.setMinimumHeight(round(1.4 * bench.theme.px("body")))
        rows: RowsModel[BehindRow] = RowsModel(behind_columns(bench), behind_id, self)
        events: RowsModel[BehindEvent] = RowsModel(event_columns(bench), event_id, self)
        self.rows = WorkTable(bench.theme, rows, tr("What this number rests on"))
        self.events = WorkTable(bench.theme, events, tr("Events of the chosen row"))
        self._back = LocalKeyButton(bench.theme, tr("Back to the number"), "Esc")
        self._back.clicked.connect(self.left)
        self.rows.chosen_changed.connect(self._show_events)
        self.rows.asked.connect(self._open_row)
        self.events.asked.connect(self._open_event)
        self._lay_out()

    def _lay_out(self) -> None:
        head, tables = QHBoxLayout(), QHBoxLayout()
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self._title)
        words.addWidget(self._count)
        head.addLayout(words, 1)
        head.addWidget(self._back, 0, Qt.AlignmentFlag.AlignBottom)
        tables.setSpacing(4 * STEP)
        tables.addWidget(self.rows, 2)
        tables.addWidget(self.events, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(head)
        column.addLayout(tables, 1)
        column.addWidget(self._chosen_words)
        QWidget.setTabOrder(self.rows, self.events)
        QWidget.setTabOrder(self.events, self._back)

    @property
    def words(self) -> str:
        """The heading, which says which number this is, and the chosen row in full."""
        return " ".join((self._title.text(), self._chosen_words.text())).strip()

    def show_behind(self, behind: Behind) -> None:
        """Show what a number rests on."""
        self._title.setText(self._bench.formatter.sentence(behind.said))
        self._count.setText(
            tr_count(
                "{n} piece of mesh. Enter opens its frame; Tab goes to the events.",
                "{n} pieces of mesh. Enter opens the frame of the chosen one; Tab goes to its "
                "events.",
                len(behind.rows),
            )
        )
        self.setAccessibleName(self._title.text())
        self.rows.show_rows(behind.rows)
        self.rows.choose_first()
        meshes = {row.mesh_name for row in behind.rows}
        self.rows.setColumnHidden(_MESH_COLUMN, len(meshes) == 1)
        self._show_events()

    def take_focus(self) -> None:
        """Begin at the rows."""
        (self.rows if self.rows.rows else self._back).setFocus()

    def _show_events(self) -> None:
        chosen = self.rows.chosen()
        row = chosen[0] if len(chosen) == 1 else None
        self.events.clearSelection()
        self.events.show_rows(row.events if row else ())
        self._chosen_words.setText(self._describe(row) if row else "")

    def _describe(self, row: BehindRow) -> str:
        sentence = self._bench.formatter.sentence
        words = tr(
            "{frame}, {mesh}: {said}.",
            frame=row.frame_name,
            mesh=row.mesh_name,
            said=sentence(row.said),
        )
        if row.more is None:
            return words
        return tr("{words} {more}", words=words, more=sentence(row.more))

    def _open_row(self) -> None:
        chosen = self.rows.chosen()
        if chosen:
            self._bench.event_wanted.emit(chosen[0].code, chosen[0].event_id)

    def _open_event(self) -> None:
        rows, events = self.rows.chosen(), self.events.chosen()
        if rows and events:
            self._bench.event_wanted.emit(rows[0].code, events[0].event_id)
