"""The forms of the mesh shelf: a roll arrives, is counted, or loses a piece to scrap."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QComboBox, QLineEdit

from framekeeper.domain.records import RollRecord
from framekeeper.services import stock
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import (
    length_unit_word,
    read_length_mm,
    read_roll_mm,
    roll_length,
    roll_unit_word,
)
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.short_form import ShortForm, choice

Order = Callable[[Desk], Done]


class ShelfForm(ShortForm):
    """A form that becomes one change of the stock; made anew each time, so its units are right."""

    def __init__(self, bench: Bench, title: str, confirm: str) -> None:
        super().__init__(bench.theme, title, confirm)
        self.bench = bench

    def order(self) -> Order:
        """Return the change that was asked for.

        Raises
        ------
        NotValid
            For a field that cannot be read.
        """
        raise NotImplementedError


class ReceiveForm(ShelfForm):
    """A roll that arrived."""

    def __init__(self, bench: Bench, meshes: Sequence[str], chosen: str) -> None:
        super().__init__(bench, tr("A roll arrived"), tr("Put on the shelf"))
        formatter = bench.formatter
        self._mesh: QComboBox = self.add_field(
            "mesh", tr("&Mesh"), choice({name: name for name in meshes})
        )
        self._mesh.setCurrentIndex(max(self._mesh.findData(chosen), 0))
        self._width = self.add_field(
            "width_mm", tr("&Width"), QLineEdit(), unit=length_unit_word(formatter)
        )
        self._length = self.add_field(
            "length_mm", tr("&Length"), QLineEdit(), unit=roll_unit_word(formatter)
        )
        self._lot = self.add_field("lot", tr("L&ot"), QLineEdit())
        self._supplier = self.add_field("supplier", tr("&Supplier"), QLineEdit())
        self._code = self.add_field("code", tr("Co&de"), QLineEdit())
        self._code.setPlaceholderText(tr("empty: the next free one"))

    def order(self) -> Order:
        formatter = self.bench.formatter
        roll = stock.NewRoll(
            mesh=self._mesh.currentData(),
            width_mm=read_length_mm(formatter, self._width.text(), argument="width_mm"),
            length_mm=read_roll_mm(formatter, self._length.text(), argument="length_mm"),
            code=self._code.text(),
            lot=self._lot.text(),
            supplier=self._supplier.text(),
        )
        return lambda desk: stock.receive_roll(desk, roll)


class CountForm(ShelfForm):
    """What is really left on a roll."""

    def __init__(self, bench: Bench, roll: RollRecord) -> None:
        title = tr(
            "Count roll {code}; the shelf says {left}",
            code=roll.code,
            left=roll_length(bench.formatter, roll.on_hand_mm),
        )
        super().__init__(bench, title, tr("Record the count"))
        self._roll = roll.code
        self._left = self.add_field(
            "length_mm", tr("&Left on it"), QLineEdit(), unit=roll_unit_word(bench.formatter)
        )
        self._reason = self.add_field("reason", tr("&Why it differs"), QLineEdit())

    def order(self) -> Order:
        code, reason = self._roll, self._reason.text()
        left = read_roll_mm(self.bench.formatter, self._left.text(), argument="length_mm")
        return lambda desk: stock.count_roll(desk, code, length_mm=left, reason=reason)


class ScrapForm(ShelfForm):
    """A piece of a roll that serves no frame."""

    def __init__(self, bench: Bench, roll: RollRecord) -> None:
        title = tr(
            "Scrap from roll {code}; {left} left",
            code=roll.code,
            left=roll_length(bench.formatter, roll.on_hand_mm),
        )
        super().__init__(bench, title, tr("Record the scrap"))
        self._roll = roll.code
        self._length = self.add_field(
            "length_mm", tr("&Length"), QLineEdit(), unit=roll_unit_word(bench.formatter)
        )
        self._reason: QComboBox = self.add_field(
            "reason",
            tr("&Why"),
            choice(
                {word: word for word in (tr("flaw in the weave"), tr("offcut"), tr("creased"))},
                may_type=True,
            ),
        )

    def order(self) -> Order:
        code, reason = self._roll, self._reason.currentText()
        length = read_roll_mm(self.bench.formatter, self._length.text(), argument="length_mm")
        return lambda desk: stock.scrap(desk, code, length_mm=length, reason=reason)
