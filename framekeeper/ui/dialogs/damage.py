"""Records damage: what kind, where, and whether the mesh is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QCheckBox, QLineEdit, QWidget

from framekeeper.domain.events import DAMAGE_KINDS, DamageKind
from framekeeper.domain.trade_words import DAMAGE_WORDS
from framekeeper.services import marks
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import choices
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr

_MESH_IS_USUALLY_DONE = frozenset({"corner_tear", "hole", "burst", "glue_lift"})


class DamageForm(FormDialog):
    """Damage to one frame or to several at once."""

    def __init__(
        self,
        bench: Bench,
        codes: Sequence[str],
        subject: str,
        *,
        has_mesh: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(
            bench, tr("Record damage"), tr("Record"), purpose=subject, parent=parent, wide=34
        )
        self._codes = tuple(codes)
        self._has_mesh = has_mesh
        words = {kind: bench.formatter.sentence(DAMAGE_WORDS[kind]) for kind in DAMAGE_KINDS}
        self.kind = choices(words, "corner_tear" if has_mesh else "bent_bar")
        self.kind.currentIndexChanged.connect(self._propose)
        self.where = QLineEdit()
        self.where.setPlaceholderText(tr("such as: lower left corner"))
        self.mesh_is_done = QCheckBox(tr("The &mesh is done: pull the screen"))
        self.add_field("damage", tr("&Damage"), self.kind)
        self.add_field("where", tr("&Where"), self.where)
        self.form.addRow("", self.mesh_is_done)
        self._propose()

    def _propose(self) -> None:
        self.mesh_is_done.setEnabled(self._has_mesh)
        self.mesh_is_done.setChecked(
            self._has_mesh and self.kind.currentData() in _MESH_IS_USUALLY_DONE
        )

    def order(self) -> Callable[[Desk], Done]:
        kind: DamageKind = self.kind.currentData()
        done, where = self.mesh_is_done.isChecked(), self.where.text()
        return lambda desk: marks.damage(desk, self._codes, kind, mesh_is_done=done, where=where)
