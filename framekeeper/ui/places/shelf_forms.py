"""The forms of the mesh shelf: a roll arrives, is counted, loses scrap, gives an offcut back."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QStackedWidget, QWidget

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.records import RollRecord
from framekeeper.services import stock
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import (
    bare_length,
    bare_running,
    length_unit_word,
    read_length_mm,
    read_roll_mm,
    roll_length,
    roll_unit_word,
)
from framekeeper.ui.prices import bare_price, price_unit_word, read_price_per_m
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
        self._price = self.add_field(
            "price_per_m", tr("&Price"), QLineEdit(), unit=price_unit_word(formatter)
        )
        self._price.setPlaceholderText(tr("empty: not known yet"))
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
            price_per_m=read_price_per_m(formatter, self._price.text(), argument="price_per_m"),
        )
        return lambda desk: stock.receive_roll(desk, roll)


class EditRollForm(ShelfForm):
    """What was said of a roll: a wrong width, a price that came with the invoice."""

    def __init__(self, bench: Bench, roll: RollRecord) -> None:
        super().__init__(bench, tr("Change roll {code}", code=roll.code), tr("Save the roll"))
        formatter = bench.formatter
        self._roll = roll
        self._width = self.add_field(
            "width_mm",
            tr("&Width"),
            QLineEdit(bare_length(formatter, roll.width_mm)),
            unit=length_unit_word(formatter),
        )
        self._lot = self.add_field("lot", tr("L&ot"), QLineEdit(roll.lot))
        self._supplier = self.add_field("supplier", tr("&Supplier"), QLineEdit(roll.supplier))
        self._price = self.add_field(
            "price_per_m",
            tr("&Price"),
            QLineEdit(bare_price(formatter, roll.price_per_m)),
            unit=price_unit_word(formatter),
        )
        self._price.setPlaceholderText(tr("empty: not known yet"))

    def order(self) -> Order:
        roll, formatter = self._roll, self.bench.formatter
        width, price = roll.width_mm, roll.price_per_m
        if self._width.text() != bare_length(formatter, width):  # a rounded inch is no change
            width = read_length_mm(formatter, self._width.text(), argument="width_mm")
        if self._price.text() != bare_price(formatter, price):
            price = read_price_per_m(formatter, self._price.text(), argument="price_per_m")
        facts = stock.RollFacts(width, self._lot.text(), self._supplier.text(), price)
        return lambda desk: stock.edit_roll(desk, roll.code, facts, version=roll.version)


class OffcutForm(ShelfForm):
    """What was left of a cut and can still serve a smaller frame."""

    def __init__(self, bench: Bench, roll: RollRecord) -> None:
        super().__init__(
            bench, tr("Keep an offcut of roll {code}", code=roll.code), tr("Keep the offcut")
        )
        formatter = bench.formatter
        self._roll = roll.code
        self._length = self.add_field(
            "length_mm", tr("&Along the roll"), QLineEdit(), unit=length_unit_word(formatter)
        )
        self._width = self.add_field(
            "width_mm", tr("A&cross the roll"), QLineEdit(), unit=length_unit_word(formatter)
        )
        self._code = self.add_field("code", tr("Co&de"), QLineEdit())
        self._code.setPlaceholderText(tr("empty: the next free one"))
        words = QLabel(
            tr(
                "The cut took its whole length off the roll already, so nothing is taken off "
                "again; what comes back counts as not used."
            )
        )
        words.setProperty("quiet", True)
        self.add_note(words)

    def order(self) -> Order:
        code, own, formatter = self._roll, self._code.text(), self.bench.formatter
        length = read_length_mm(formatter, self._length.text(), argument="length_mm")
        width = read_length_mm(formatter, self._width.text(), argument="width_mm")
        return lambda desk: stock.keep_offcut(
            desk, code, width_mm=width, length_mm=length, offcut_code=own
        )


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

    def __init__(self, bench: Bench, roll: RollRecord, *, is_for_scrap: bool = False) -> None:
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
        if is_for_scrap:  # all of it, and the reason is known
            self._length.setText(bare_running(bench.formatter, roll.on_hand_mm))
            self._reason.setEditText(tr("serves no frame"))

    def order(self) -> Order:
        code, reason = self._roll, self._reason.currentText()
        length = read_roll_mm(self.bench.formatter, self._length.text(), argument="length_mm")
        return lambda desk: stock.scrap(desk, code, length_mm=length, reason=reason)


class FormHost(QStackedWidget):
    """Shows a form in the place of what rests there, and does what the form asks for.

    Signals
    -------
    closed()
        The form was confirmed or left.
    """

    closed = Signal()

    def __init__(self, bench: Bench, resting: QWidget) -> None:
        super().__init__()
        self._bench = bench
        self.form: ShelfForm | None = None
        self.addWidget(resting)

    def open(self, form: ShelfForm) -> None:
        """Show a form; one that is open is left."""
        self._close()
        self.form = form
        form.confirmed.connect(self._confirm)
        form.left.connect(self._leave)
        self.addWidget(form)
        self.setCurrentWidget(form)
        form.begin()

    def _confirm(self) -> None:
        if self.form is None:
            return
        try:
            order = self.form.order()
        except NotValid as error:
            self._refused(error)
            return
        self.form.wait()
        self._bench.change(order, self._recorded, owner=self, fail=self._refused)

    def _refused(self, error: FramekeeperError) -> None:
        if self.form is not None:
            self.form.refuse(error, self._bench.formatter)
        else:
            self._bench.show_trouble(error)

    def _recorded(self, _done: Done) -> None:
        self._leave()

    def _leave(self) -> None:
        self._close()
        self.closed.emit()

    def _close(self) -> None:
        if self.form is not None:
            self.removeWidget(self.form)
            self.form.deleteLater()
            self.form = None
