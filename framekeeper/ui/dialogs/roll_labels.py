"""Prints the labels of rolls, on the same sheets and from the same free cell as those of frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.desk import Desk
from framekeeper.services.papers import LabelSetup, usual_label_format
from framekeeper.services.settings import read_settings
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.asking import (
    Prompter,
    SavePrompter,
    documents,
    open_file,
    write_file,
)
from framekeeper.ui.dialogs.fields import choices, number_field, number_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.label_memory import LabelMemory
from framekeeper.ui.dialogs.sheet_picture import SheetPicture
from framekeeper.ui.printing import Shower
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP


@dataclass(frozen=True, slots=True)
class RollLabelShop:
    """What the form needs of the shop; the address tells whose habits apply."""

    address: str
    usual_format: str
    codes: tuple[str, ...]


def read_roll_label_shop(desk: Desk, codes: Sequence[str] | None) -> RollLabelShop:
    """Read the rolls and the paper; runs on the database thread."""
    from framekeeper.formats.label_formats import label_formats

    label_formats()  # read from disk here, not on the window's thread
    with desk.read() as reader:
        every = tuple(r.code for r in reader.rolls() if r.on_hand_mm > 0)
    return RollLabelShop(
        desk.shop.url.render_as_string(hide_password=True),
        usual_label_format(read_settings(desk)),
        every if codes is None else tuple(codes),
    )


class RollLabelsForm(FormDialog):
    """Which sheet, and from which free label."""

    def __init__(
        self,
        bench: Bench,
        shop: RollLabelShop,
        parent: QWidget | None = None,
        *,
        memory: LabelMemory | None = None,
        prompter: Prompter | None = None,
        show_file: Shower | None = None,
    ) -> None:
        super().__init__(
            bench,
            tr_count("The label of {n} roll", "The labels of {n} rolls", len(shop.codes)),
            tr("Save and open the PDF"),
            parent=parent,
            wide=52,
        )
        from framekeeper.formats.label_formats import label_formats

        self._shop, self._memory = shop, memory or LabelMemory()
        self._prompter, self._show_file = prompter, show_file
        habits = self._memory.recall(shop.address)
        self._folder = habits.folder
        self._formats = {f.key: f for f in label_formats()}
        self.format = choices(
            {f.key: tr(f.name) for f in self._formats.values()},
            habits.format_key or shop.usual_format,
        )
        self.right = number_field(habits.right_mm, bench.formatter)
        self.down = number_field(habits.down_mm, bench.formatter)
        self.sheet = SheetPicture(bench.theme)
        self.add_field("format", tr("&Sheet or roll of labels"), self.format)
        self.add_field("offset_mm", tr("Shift to the &right, mm"), self.right)
        self.add_field("offset_down", tr("Shift do&wn, mm"), self.down)
        body, column = QWidget(), QVBoxLayout()
        label = QLabel(tr("&First free label: click it, or use the arrow keys"))
        label.setBuddy(self.sheet)
        column.addWidget(label)
        column.addWidget(self.sheet, 1)
        row = QHBoxLayout(body)
        row.setContentsMargins(0, STEP, 0, 0)
        row.addLayout(column)
        self.add_aside(body, 1)
        self.format.currentIndexChanged.connect(self._show_format)
        self.sheet.show_sheet(self._formats[self.format.currentData()], habits.next_cell)
        self.sheet.show_names(list(shop.codes))
        self.sheet.setFocus()

    def _show_format(self) -> None:
        self.sheet.show_sheet(self._formats[self.format.currentData()], 1)
        self.sheet.show_names(list(self._shop.codes))

    def confirm(self) -> None:
        """Make the PDF, ask where it shall go, and open it."""
        self.trouble.say("")
        formatter = self.bench.formatter
        try:
            offset = (
                number_in(self.right, "offset_mm", formatter),
                number_in(self.down, "offset_down", formatter),
            )
        except FramekeeperError as refused:
            self.show_trouble(refused)
            return
        setup = LabelSetup(self.format.currentData(), self.sheet.start, offset)
        codes = list(self._shop.codes)

        def build(desk: Desk) -> bytes:
            from framekeeper.services.papers import roll_labels_pdf

            return roll_labels_pdf(desk, formatter, codes, setup)

        def ask(pdf: bytes) -> None:
            name = f"label {codes[0]}.pdf" if len(codes) == 1 else "roll labels.pdf"
            asks = self._prompter or SavePrompter(self, Path(self._folder or documents()) / name)
            asks.ask(
                tr("Save the labels"), lambda answer: self._write(pdf, Path(str(answer)), setup)
            )

        self.bench.read(build, ask, owner=self, fail=self.show_trouble)

    def _write(self, pdf: bytes, path: Path, setup: LabelSetup) -> None:
        count, cells = len(self._shop.codes), self._formats[setup.format_key].cells
        try:
            write_file(path, pdf)
            habits = self._memory.recall(self._shop.address)
            self._memory.keep(
                self._shop.address,
                replace(
                    habits,
                    format_key=setup.format_key,
                    next_cell=(setup.start_cell - 1 + count) % cells + 1,
                    right_mm=setup.offset_mm[0],
                    down_mm=setup.offset_mm[1],
                    folder=str(path.parent),
                ),
            )
        except FramekeeperError as refused:
            self.show_trouble(refused)
            return
        words = tr_count("{n} label", "{n} labels", count)
        self.bench.told.emit(
            tr("{count} saved as {path} and opened.", count=words, path=str(path))
            if (self._show_file or open_file)(path)
            else tr(
                "{count} saved as {path}. This computer has no program that opens a PDF.",
                count=words,
                path=str(path),
            )
        )
        self.accept()

    def _contents(self) -> list[object]:
        return []  # nothing here is lost by leaving


def open_roll_labels(bench: Bench, parent: QWidget, codes: Sequence[str] | None = None) -> None:
    """Read what the form needs, then open it; without codes, for every roll with mesh on it."""

    def show(shop: RollLabelShop) -> None:
        RollLabelsForm(bench, shop, parent).open()

    bench.read(lambda desk: read_roll_label_shop(desk, codes), show, owner=parent)
