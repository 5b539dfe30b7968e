"""The forms for frames with mesh on them: a stage, glue, a retension, a burst."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TypeVar

from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit

from framekeeper.domain.errors import NotValid
from framekeeper.services import marks, stretch
from framekeeper.services.bench_queues import TableNow
from framekeeper.services.desk import Desk, Done
from framekeeper.services.supplies import SupplyNow, offered, past_batches
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.shelf_words import batch_words
from framekeeper.ui.places.stretching_lists import Chosen
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.short_form import ShortForm, choice

Number = TypeVar("Number", int, float)
Order = Callable[[Desk], Done]


class WorkForm(ShortForm):
    """A form that becomes one change for the chosen frames."""

    step = ""  # whose caution is shown

    def __init__(self, bench: Bench, title: str, confirm: str) -> None:
        super().__init__(bench.theme, title, confirm)
        self.bench = bench

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        """Propose values for these frames, and take the focus."""
        self.begin()

    def order(self, codes: list[str]) -> Order:
        """Return the change that was asked for.

        Raises
        ------
        NotValid
            For a field that cannot be read.
        """
        raise NotImplementedError

    def number(self, field: QLineEdit, argument: str) -> float:
        """Read a number, and blame its field if it is none."""
        try:
            return self.bench.formatter.parse_number(field.text())
        except NotValid as error:
            raise NotValid(error.said, hint=error.hint, argument=argument) from error


class StageForm(WorkForm):
    """What the meter reached, and how long the cloth rests."""

    step = "pull"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench, tr("A stage of the pull"), tr("Record the stage"))
        self._tension = self.add_field("tension", tr("&Tension"), QLineEdit(), unit=tr("N/cm"))
        self._rest = self.add_field("rest_minutes", tr("&Rest"), QLineEdit(), unit=tr("minutes"))

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        self._tension.clear()
        self._rest.setText(str(table.settings.rest_minutes))
        self.begin()

    def order(self, codes: list[str]) -> Order:
        tension = self.number(self._tension, "tension")
        rest = round(self.number(self._rest, "rest_minutes"))
        return lambda desk: stretch.stage(desk, codes, tension_n_per_cm=tension, rest_minutes=rest)


class GlueForm(WorkForm):
    """Which batches were used, and how long they cure; those of the last frame are proposed.

    The batches on the shelf are offered, the open ones first; any other text may be typed.
    """

    step = "glue"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench, tr("Glue"), tr("Record the glue"))
        self._supplies: tuple[SupplyNow, ...] = ()
        self._dates = QLabel()
        self._adhesive = self._lot_field("adhesive_lot", tr("&Adhesive lot"))
        self._activator = self._lot_field("activator_lot", tr("Acti&vator lot"))
        self._cure = self.add_field("cure", tr("&Cure"), QLineEdit(), unit=tr("minutes"))
        line = self._activator.lineEdit()
        assert line is not None
        line.setPlaceholderText(tr("or hardener; empty if there is none"))
        self.add_note(self._dates)

    def _lot_field(self, argument: str, label: str) -> QComboBox:
        box: QComboBox = self.add_field(argument, label, choice({}, may_type=True))
        box.activated.connect(self._take_batch)
        box.editTextChanged.connect(self._tell_dates)
        return box

    def _take_batch(self) -> None:
        """Keep the batch alone in the field; the list says more of it."""
        for box in (self._adhesive, self._activator):
            if box.currentText() == box.itemText(box.currentIndex()) and box.currentData():
                box.setEditText(box.currentData())

    def _tell_dates(self) -> None:
        """Warn of a batch that is past its best-before day."""
        past = past_batches(
            self._supplies,
            adhesive=self._adhesive.currentText(),
            activator=self._activator.currentText(),
        )
        said = [self.bench.formatter.sentence(told) for told in past]
        self._dates.setText(" ".join(said))

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        if not self._cure.text():
            self._cure.setText(str(table.settings.cure_minutes))
        self._supplies = table.supplies
        self._offer(self._adhesive, offered(table.supplies, "adhesive"))
        self._offer(self._activator, offered(table.supplies, "activator"))
        self._tell_dates()
        self.begin()
        line = self._adhesive.lineEdit()
        assert line is not None
        line.selectAll()

    def _offer(self, box: QComboBox, batches: list[SupplyNow]) -> None:
        typed = box.currentText()
        box.clear()
        for now in batches:
            box.addItem(batch_words(self.bench.formatter, now), now.supply.batch)
        usable = (n.supply.batch for n in batches if n.supply.opened_on and not n.is_past)
        box.setCurrentIndex(-1)
        box.setEditText(typed or next(usable, ""))

    def order(self, codes: list[str]) -> Order:
        cure = dt.timedelta(minutes=self.number(self._cure, "cure"))
        adhesive, activator = self._adhesive.currentText(), self._activator.currentText()
        return lambda desk: stretch.glue(
            desk, codes, cure=cure, adhesive_lot=adhesive, activator_lot=activator
        )


class RetensionForm(WorkForm):
    """The tension to which roller frames are tightened."""

    step = "retension"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench, tr("Tighten the rollers"), tr("Record the retension"))
        self._target = self.add_field("target", tr("&Target"), QLineEdit(), unit=tr("N/cm"))

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        targets = {
            row.frame.state.life.target_n_per_cm or (row.mesh.rules.target if row.mesh else None)
            for row in chosen.rows
            if row.frame.state.life
        }
        one = next(iter(targets)) if len(targets) == 1 else None
        self._target.setText("" if one is None else self.bench.formatter.number(one))
        self.begin()
        self._target.selectAll()

    def order(self, codes: list[str]) -> Order:
        target = self.number(self._target, "target")
        return lambda desk: stretch.retension(desk, codes, target_n_per_cm=target)


class BurstForm(WorkForm):
    """Where the cloth burst; its life ends, and the frame goes to the prep bench."""

    step = "strip"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench, tr("The mesh burst"), tr("Record the burst"))
        self._where: QComboBox = self.add_field(
            "where",
            tr("&Where"),
            choice(
                {
                    word: word
                    for word in ("", tr("at a corner"), tr("along a clamp"), tr("in the middle"))
                },
                may_type=True,
            ),
        )

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        self._where.setCurrentIndex(0)
        self.begin()

    def order(self, codes: list[str]) -> Order:
        where = self._where.currentText()
        return lambda desk: marks.damage(desk, codes, "burst", mesh_is_done=True, where=where)
