"""The forms for frames with mesh on them: a stage, glue, a retension, a burst."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TypeVar

from PySide6.QtWidgets import QComboBox, QLineEdit

from framekeeper.domain.errors import NotValid
from framekeeper.services import marks, stretch
from framekeeper.services.bench_queues import TableNow
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
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
    """Which lots were used, and how long they cure; the lots of the last frame are proposed."""

    step = "glue"

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench, tr("Glue"), tr("Record the glue"))
        self._adhesive = self.add_field("adhesive_lot", tr("&Adhesive lot"), QLineEdit())
        self._activator = self.add_field("activator_lot", tr("Acti&vator lot"), QLineEdit())
        self._cure = self.add_field("cure", tr("&Cure"), QLineEdit(), unit=tr("minutes"))
        self._activator.setPlaceholderText(tr("or hardener; empty if there is none"))

    def open_for(self, table: TableNow, chosen: Chosen) -> None:
        if not self._cure.text():
            self._cure.setText(str(table.settings.cure_minutes))
        self.begin()
        self._adhesive.selectAll()

    def order(self, codes: list[str]) -> Order:
        cure = dt.timedelta(minutes=self.number(self._cure, "cure"))
        adhesive, activator = self._adhesive.text(), self._activator.text()
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
