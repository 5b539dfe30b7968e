"""Changes what a frame is: its label, size, kind, profile and slot; its history stays."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.records import FrameRecord
from framekeeper.domain.trade_words import FRAME_KIND_WORDS
from framekeeper.services import register
from framekeeper.services.desk import Desk, Done
from framekeeper.services.register import FrameEdit
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import choices
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.size_field import SizeField
from framekeeper.ui.text import tr

T = TypeVar("T")


class EditFrameForm(FormDialog):
    """The facts of one frame; only what was changed is written."""

    def __init__(self, bench: Bench, frame: FrameRecord, parent: QWidget | None = None) -> None:
        super().__init__(bench, tr("Change a frame"), tr("Save"), purpose=frame.name, parent=parent)
        self._frame = frame
        words = {key: bench.formatter.sentence(said) for key, said in FRAME_KIND_WORDS.items()}
        self.own_label = QLineEdit(frame.own_label)
        self.outer_size = SizeField(bench.formatter, (frame.width_mm, frame.height_mm))
        self.kind = choices(words, frame.kind)
        self.profile = QLineEdit(frame.profile)
        self.slot = QLineEdit(frame.slot)
        self.add_field("own_label", tr("Own &label"), self.own_label)
        self.add_field("size", self.outer_size.label(), self.outer_size)
        self.add_field("kind", tr("&Kind"), self.kind)
        self.add_field("profile", tr("&Profile of the bars"), self.profile)
        self.add_field("slot", tr("&Slot on the rack"), self.slot)
        self.own_label.setFocus()

    def order(self) -> Callable[[Desk], Done]:
        frame = self._frame
        width, height = self.outer_size.size_mm()
        edit = FrameEdit(
            own_label=_changed(self.own_label.text().strip(), frame.own_label),
            width_mm=_changed(width, frame.width_mm),
            height_mm=_changed(height, frame.height_mm),
            kind=_changed(self.kind.currentData(), frame.kind),
            profile=_changed(self.profile.text().strip(), frame.profile),
            slot=_changed(self.slot.text().strip(), frame.slot),
        )
        return lambda desk: register.edit_frame(desk, frame.code, edit, version=frame.version)


def _changed(new: T, old: T) -> T | None:
    return new if new != old else None
