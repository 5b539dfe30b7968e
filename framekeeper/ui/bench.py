"""What every place of the window shares: the open shop, the look, the words, and the way to work.

Places ask the bench to read or to change; the bench runs it on the database thread and tells every
view what changed. The shop is opened by the first piece of work on that thread, after the window
has been painted.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication

from framekeeper.ui.icons import IconSet
from framekeeper.ui.tasks import Job, Tasks
from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import Theme

if TYPE_CHECKING:
    from framekeeper.domain.changes import Changes
    from framekeeper.domain.errors import FramekeeperError
    from framekeeper.services.desk import Desk

T = TypeVar("T")
LOOK_EVERY_MS = 700  # the command line beside an open window is noticed within a second
EVERYTHING = frozenset({"frames", "mesh_types", "rolls", "meters", "settings"})


class Bench(QObject):
    """The shop as the window sees it.

    Signals
    -------
    opened()
        The shop is open and its settings are in force.
    told(text)
        Something was done; the text is a whole sentence for the message line.
    refused(text)
        Something could not be done: what happened, what was kept, what to do.
    frame_wanted(code)
        Somebody wants to see this frame's page.
    event_wanted(code, event_id)
        Somebody wants to see this frame's page at one line of its journal.
    place_wanted(key)
        Somebody wants to go to this place.
    closing()
        Nothing new may begin.
    """

    opened = Signal()
    told = Signal(str)
    refused = Signal(str)
    frame_wanted = Signal(str)
    event_wanted = Signal(str, int)
    place_wanted = Signal(str)
    closing = Signal()

    def __init__(self, app: QApplication, open_desk: Callable[[], Desk]) -> None:
        super().__init__()
        self.theme = Theme(app)
        self.icons = IconSet(self.theme)
        self.formatter = Formatter()
        self.tasks = Tasks(self)
        self.tasks.trouble.connect(self.show_trouble)
        self.tasks.changes_happened.connect(self._changed)
        self._open_desk = open_desk
        self._desk: Desk | None = None
        self._seen = 0
        self.is_open = False
        self._is_looking = False
        self._look = QTimer(self)
        self._look.setInterval(LOOK_EVERY_MS)
        self._look.timeout.connect(self._look_for_others)

    # the shop

    def open(self) -> None:
        """Open the shop on the database thread and take over its settings."""
        self.tasks.read(self._first_look, self._is_open, owner=self)

    def close(self) -> None:
        """Finish what was asked for and close the shop."""
        self._look.stop()
        self.closing.emit()
        desk = self._desk
        self.tasks.shutdown()
        if desk is not None:
            desk.shop.close()

    def desk(self) -> Desk:
        """Return the open desk; only the database thread may call this."""
        if self._desk is None:
            self._desk = self._open_desk()
        return self._desk

    def _first_look(self) -> tuple[object, int]:
        from framekeeper.services.settings import read_settings

        desk = self.desk()
        with desk.read() as reader:
            newest = reader.last_operation_id()
        return read_settings(desk), newest

    def _is_open(self, looked: tuple[object, int]) -> None:
        settings, self._seen = looked
        self._take_over(settings)
        self._look.start()
        self.is_open = True
        self.opened.emit()

    def _take_over(self, settings: object) -> None:
        self.formatter.length_unit = getattr(settings, "length_unit", "mm")
        self.formatter.count_unit = getattr(settings, "count_unit", "inch")
        self.formatter.currency = getattr(settings, "currency", "")

    # reading and changing

    def read(
        self,
        work: Callable[[Desk], T],
        then: Callable[[T], None],
        *,
        owner: QObject | None = None,
        fail: Callable[[FramekeeperError], None] | None = None,
        job: Job | None = None,
    ) -> Job:
        """Read on the database thread; the answer comes home on the window's."""
        return self.tasks.read(lambda: work(self.desk()), then, fail, owner=owner, job=job)

    def change(
        self,
        work: Callable[[Desk], T],
        then: Callable[[T], None] | None = None,
        *,
        owner: QObject | None = None,
        fail: Callable[[FramekeeperError], None] | None = None,
        job: Job | None = None,
    ) -> Job:
        """Change on the database thread, tell what was done, and refresh every view."""

        def finish(result: T) -> None:
            said = getattr(result, "said", None)
            if said is not None:
                self.told.emit(self.formatter.sentence(said))
            if then is not None:
                then(result)

        return self.tasks.change(
            lambda: work(self.desk()), finish, fail, owner=owner or self, job=job
        )

    def show_trouble(self, error: FramekeeperError) -> None:
        """Say what happened, what was kept and what to do."""
        self.refused.emit(self.formatter.error(error))

    # what changed

    def _changed(self, changes: Changes, _initiator: object) -> None:
        self._seen = max(self._seen, changes.operation_id)
        if "settings" in changes.kinds:
            from framekeeper.services.settings import read_settings

            self.read(read_settings, self._take_over, owner=self)

    def _look_for_others(self) -> None:
        if self._is_looking or self.tasks.waiting:
            return
        self._is_looking = True

        def newest(desk: Desk) -> int:
            with desk.read() as reader:
                return reader.last_operation_id()

        self.read(newest, self._others_seen, owner=self, fail=self._look_failed)

    def _others_seen(self, newest: int) -> None:
        self._is_looking = False
        if newest > self._seen:
            from framekeeper.domain.changes import Changes

            self._seen = newest
            self.tasks.changes_happened.emit(Changes(kinds=EVERYTHING, operation_id=newest), None)

    def _look_failed(self, error: FramekeeperError) -> None:
        self._is_looking = False
        self.show_trouble(error)
