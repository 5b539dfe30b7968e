"""The days on which the shop works, what a day holds at each bench, and how long tasks take."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLineEdit, QWidget

from framekeeper.domain.trade_words import PLACE_WORDS
from framekeeper.services import settings
from framekeeper.services.desk import Desk, Done
from framekeeper.services.settings import BENCHES, ShopSettings
from framekeeper.services.work_times import holidays_in, holidays_text
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_field, whole_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP

_LONGEST_TEXT = 2000


class WeekdayBoxes(QWidget):
    """Seven boxes to tick, Monday first."""

    def __init__(self, weekdays: tuple[int, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(3 * STEP)
        self._boxes: list[QCheckBox] = []
        for day in range(7):
            box = QCheckBox(QLocale().dayName(day + 1, QLocale.FormatType.ShortFormat))
            box.setAccessibleName(QLocale().dayName(day + 1))
            box.setChecked(day in weekdays)
            self._boxes.append(box)
            row.addWidget(box)
        row.addStretch(1)
        self.setFocusProxy(self._boxes[0])

    def weekdays(self) -> tuple[int, ...]:
        """The days that are ticked; 0 is Monday."""
        return tuple(day for day, box in enumerate(self._boxes) if box.isChecked())


class WorkingDaysForm(FormDialog):
    """What the plan of the week reckons with."""

    def __init__(self, bench: Bench, current: ShopSettings, parent: QWidget | None = None) -> None:
        super().__init__(
            bench,
            tr("Days and minutes"),
            tr("Save"),
            purpose=tr(
                "The plan of the week reckons with these. The minutes are a proposal until you "
                "put in what your own benches take; 0 is a bench where nobody works."
            ),
            parent=parent,
            wide=56,
        )
        self._minutes: dict[str, QLineEdit] = {}
        self.weekdays = WeekdayBoxes(current.working_weekdays)
        self.holidays = QLineEdit(holidays_text(current.holidays))
        self.holidays.setMaxLength(_LONGEST_TEXT)
        self.holidays.setPlaceholderText(tr("such as 2026-05-01, 2026-08-03..2026-08-14"))
        self.add_field("working_weekdays", tr("&Working days"), self.weekdays)
        self.add_field(
            "holidays", tr("&Closed on"), self.holidays,
            tr("Dates as year-month-day; a whole closure with two dots between."),
        )  # fmt: skip
        self._add_minutes(current)

    def _add_minutes(self, current: ShopSettings) -> None:
        left, right = self.two_columns()
        left.addRow(self.note(tr("Minutes a day at each bench")))
        right.addRow(self.note(tr("Minutes for one frame")))
        formatter = self.bench.formatter
        benches = {f"{b}_minutes_a_day": formatter.sentence(PLACE_WORDS[b]) for b in BENCHES}
        tasks = {
            "read_minutes": tr("Read its tension"),
            "look_minutes": tr("Look at it, or ask for it"),
            "inspect_minutes": tr("Inspect its mesh"),
            "strip_minutes": tr("Strip and prep it"),
            "regrind_minutes": tr("Regrind its face"),
            "release_minutes": tr("Release it"),
            "restretch_minutes": tr("Stretch it anew"),
            "set_up_minutes": tr("Another set-up at a bench"),
        }
        for names, column in ((benches, left), (tasks, right)):
            for name, label in names.items():
                field = number_field(getattr(current, name), formatter, 0)
                self._minutes[name] = field
                self.add_field(name, label, field, form=column)

    def order(self) -> Callable[[Desk], Done]:
        values: dict[str, object] = {
            name: whole_in(field, name, self.bench.formatter)
            for name, field in self._minutes.items()
        }
        values["working_weekdays"] = self.weekdays.weekdays()
        values["holidays"] = holidays_in(self.holidays.text())
        return lambda desk: settings.change_settings(desk, **values)
