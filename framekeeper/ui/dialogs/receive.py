"""Takes frames back from an outside stretcher, with the mesh that they came back with."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QWidget

from framekeeper.services import marks
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import choices, number_field, optional_number_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr


class ReceiveForm(FormDialog):
    """The mesh they carry now, and the tension that was ordered."""

    def __init__(
        self,
        bench: Bench,
        codes: Sequence[str],
        subject: str,
        mesh_names: Sequence[str],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(
            bench, tr("Take back from outside"), tr("Take back"), purpose=subject, parent=parent
        )
        self._codes = tuple(codes)
        self.mesh = choices({"": tr("no new mesh"), **{name: name for name in mesh_names}}, "")
        self.target = number_field(None, bench.formatter)
        self.target.setPlaceholderText(tr("as the mesh type says"))
        self.add_field("mesh", tr("&New mesh on it"), self.mesh)
        self.add_field("target", tr("&Target, N/cm"), self.target)
        self.mesh.currentIndexChanged.connect(self._follow_mesh)
        self._follow_mesh()

    def _follow_mesh(self) -> None:
        self.target.setEnabled(bool(self.mesh.currentData()))

    def order(self) -> Callable[[Desk], Done]:
        mesh = self.mesh.currentData()
        target = optional_number_in(self.target, "target", self.bench.formatter)
        return lambda desk: marks.receive(
            desk, self._codes, mesh=mesh, target_n_per_cm=target if mesh else None
        )
