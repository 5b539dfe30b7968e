"""The form for damage with one key for each kind, as wet hands want it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from framekeeper.domain.events import DAMAGE_KINDS, DamageKind
from framekeeper.domain.trade_words import DAMAGE_WORDS
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.damage import DamageForm
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton

_COLUMNS = 2


class OneKeyDamageForm(DamageForm):
    """Damage of one frame.

    The field for the place has the focus; while it is empty, a digit chooses the kind and 0 turns
    "the mesh is done" over, so that a word and Enter are enough for the most usual damage.
    """

    def __init__(
        self, bench: Bench, code: str, name: str, parent: QWidget, *, has_mesh: bool = True
    ) -> None:
        super().__init__(bench, (code,), name, has_mesh=has_mesh, parent=parent)
        self.add_aside(self._keys())
        self.mesh_is_done.setToolTip(tr("{key} turns this over while “Where” is empty.", key="0"))
        self.where.installEventFilter(self)
        self.where.setFocus()

    def choose(self, kind: DamageKind) -> None:
        """Take a kind of damage and go on to where it is."""
        self.kind.setCurrentIndex(self.kind.findData(kind))
        self.where.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Digits in the empty field choose; anything else is a word."""
        if (
            watched is self.where
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and not self.where.text()
            and event.text().isdecimal()
        ):
            number = int(event.text())
            if number == 0:
                self.mesh_is_done.click()
            elif number <= len(DAMAGE_KINDS):
                self.choose(DAMAGE_KINDS[number - 1])
            return True
        return super().eventFilter(watched, event)

    def _keys(self) -> QWidget:
        box = QWidget()
        grid = QGridLayout(box)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(STEP)
        for place, kind in enumerate(DAMAGE_KINDS):
            words = self.bench.formatter.sentence(DAMAGE_WORDS[kind])
            button = KeyHintButton(self.bench.theme, words, str(place + 1))
            button.setAutoDefault(False)
            button.clicked.connect(_Choose(self, kind))
            grid.addWidget(button, place // _COLUMNS, place % _COLUMNS)
        return box


class _Choose:
    """Chooses one kind; a plain callable, because a lambda in a loop would remember the last."""

    def __init__(self, form: OneKeyDamageForm, kind: DamageKind) -> None:
        self._form, self._kind = form, kind

    def __call__(self) -> None:
        self._form.choose(self._kind)
