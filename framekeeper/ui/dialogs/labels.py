"""Prints labels: which frames, on which sheet, from which free cell, in one go or again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import (
    QButtonGroup,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.records import FrameRecord
from framekeeper.services.desk import Desk
from framekeeper.services.papers import LabelSetup, usual_label_format
from framekeeper.services.settings import read_settings
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.asking import Prompter
from framekeeper.ui.dialogs.fields import choices, number_field, number_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.label_memory import LabelHabits, LabelMemory
from framekeeper.ui.dialogs.sheet_picture import SheetPicture
from framekeeper.ui.printing import Shower, save_labels
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP


@dataclass(frozen=True, slots=True)
class LabelShop:
    """What the form needs of the shop; the address tells whose habits apply."""

    address: str
    usual_format: str
    frames: tuple[FrameRecord, ...]


def read_label_shop(desk: Desk) -> LabelShop:
    """Read the frames and the paper; runs on the database thread."""
    from framekeeper.formats.label_formats import label_formats

    label_formats()  # read from disk here, not on the window's thread
    with desk.read() as reader:
        frames = tuple(reader.frames())
    return LabelShop(
        desk.shop.url.render_as_string(hide_password=True),
        usual_label_format(read_settings(desk)),
        frames,
    )


class LabelsDialog(FormDialog):
    """Labels for the chosen frames, for those newly stretched, or for all."""

    def __init__(
        self,
        bench: Bench,
        shop: LabelShop,
        codes: Sequence[str] = (),
        parent: QWidget | None = None,
        *,
        memory: LabelMemory | None = None,
        prompter: Prompter | None = None,
        show_file: Shower | None = None,
    ) -> None:
        super().__init__(
            bench, tr("Print labels"), tr("Save and open the PDF"), parent=parent, wide=62
        )
        from framekeeper.formats.label_formats import label_formats

        self._shop, self._memory = shop, memory or LabelMemory()
        self._prompter, self._show_file = prompter, show_file
        self._habits: LabelHabits = self._memory.recall(shop.address)
        wanted = set(codes)
        self._sets = {
            "chosen": tuple(f for f in shop.frames if f.code in wanted),
            "new": tuple(f for f in shop.frames if self._habits.is_new(f)),
            "all": shop.frames,
        }
        self._formats = {f.key: f for f in label_formats()}
        self.format = choices(
            {f.key: tr(f.name) for f in self._formats.values()},
            self._habits.format_key or shop.usual_format,
        )
        self.right = number_field(self._habits.right_mm, bench.formatter)
        self.down = number_field(self._habits.down_mm, bench.formatter)
        self.sheet = SheetPicture(bench.theme)
        self.bar_note = self.note("")
        self.pages = QLabel()
        self.which = QButtonGroup(self)
        self._lay_out()
        self.format.currentIndexChanged.connect(self._show_format)
        self.which.idToggled.connect(self._show_frames)
        self.sheet.start_changed.connect(self._show_frames)
        self._show_format()
        self.sheet.show_sheet(self._formats[self.format.currentData()], self._habits.next_cell)
        self.sheet.setFocus()

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(3 * STEP)
        left.addWidget(self._frames_box())
        fields = QFormLayout()
        fields.setHorizontalSpacing(4 * STEP)
        fields.setVerticalSpacing(2 * STEP)
        self.add_field("format", tr("&Sheet or roll"), self.format, form=fields)
        self.add_field("offset_mm", tr("Shift to the &right, mm"), self.right, form=fields)
        self.add_field("offset_down", tr("Shift do&wn, mm"), self.down, form=fields)
        left.addLayout(fields)
        left.addWidget(self.bar_note)
        left.addWidget(
            self.note(
                tr(
                    "A washout eats paper: use water- and solvent-proof stock. A label goes on the "
                    "outside face of the bar, never on the glue face."
                )
            )
        )
        left.addStretch(1)
        left.addWidget(self.pages)
        right = QVBoxLayout()
        label = QLabel(tr("&First free label: click it, or use the arrow keys"))
        label.setBuddy(self.sheet)
        right.addWidget(label)
        right.addWidget(self.sheet, 1)
        both = QHBoxLayout()
        both.setSpacing(6 * STEP)
        both.addLayout(left, 3)
        both.addLayout(right, 2)
        body = QWidget()
        body.setLayout(both)
        both.setContentsMargins(0, 0, 0, 0)
        self.add_aside(body, 1)

    def _frames_box(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        words = (
            tr_count("&Chosen: {n} frame", "&Chosen: {n} frames", len(self._sets["chosen"])),
            tr_count(
                "&Newly stretched, not printed yet: {n} frame",
                "&Newly stretched, not printed yet: {n} frames",
                len(self._sets["new"]),
            ),
            tr_count("&Every frame: {n}", "&Every frame: {n}", len(self._sets["all"])),
        )
        for number, (key, text) in enumerate(zip(self._sets, words, strict=True)):
            button = QRadioButton(text)
            button.setEnabled(bool(self._sets[key]))
            self.which.addButton(button, number)
            column.addWidget(button)
        first = next((n for n, found in enumerate(self._sets.values()) if found), 0)
        self.which.button(first).setChecked(True)
        return box

    def frames(self) -> tuple[FrameRecord, ...]:
        """The frames whose labels are wanted."""
        return list(self._sets.values())[max(self.which.checkedId(), 0)]

    def _show_format(self) -> None:
        chosen = self._formats[self.format.currentData()]
        self.sheet.show_sheet(chosen, 1)
        self.bar_note.setText(
            tr("{height} mm high: it fits the outside face of a bar.",
               height=self.bench.formatter.number(chosen.label_height_mm, 0))
            if chosen.fits_the_bar
            else tr(
                "{height} mm high: too high for the outside face of most bars, where 25 mm fit.",
                height=self.bench.formatter.number(chosen.label_height_mm, 0),
            )
        )  # fmt: skip
        self._show_frames()

    def _show_frames(self) -> None:
        frames, cells = self.frames(), self._formats[self.format.currentData()].cells
        self.sheet.show_names([f.own_label or f.code for f in frames])
        pages = -(-(self.sheet.start - 1 + len(frames)) // cells)
        self.pages.setText(
            tr(
                "{labels} on {pages}, from label {cell}",
                labels=tr_count("{n} label", "{n} labels", len(frames)),
                pages=tr_count("{n} page", "{n} pages", pages),
                cell=self.sheet.start,
            )
        )

    def confirm(self) -> None:
        """Make the PDF, ask where it shall go, and open it."""
        self.trouble.say("")
        formatter = self.bench.formatter
        try:
            setup = LabelSetup(
                self.format.currentData(),
                self.sheet.start,
                (
                    number_in(self.right, "offset_mm", formatter),
                    number_in(self.down, "offset_down", formatter),
                ),
            )
        except FramekeeperError as refused:
            self.show_trouble(refused)
            return
        save_labels(
            self.bench,
            self,
            [f.code for f in self.frames()],
            setup=setup,
            memory=self._memory,
            prompter=self._prompter,
            show_file=self._show_file,
            then=self.accept,
            fail=self.show_trouble,
        )

    def _contents(self) -> list[object]:
        return []  # nothing here is lost by leaving


def open_labels(bench: Bench, parent: QWidget, codes: Sequence[str] = ()) -> None:
    """Read what the form needs, then open it."""

    def show(shop: LabelShop) -> None:
        LabelsDialog(bench, shop, codes, parent).open()

    bench.read(read_label_shop, show, owner=parent)
