"""One field for the outside of a frame: two numbers with a cross, in the shop's unit."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QComboBox, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sizes import read_size
from framekeeper.ui.text import Formatter, tr


class SizeField(QComboBox):
    """An editable list that offers the sizes which the shop has already."""

    def __init__(
        self,
        formatter: Formatter,
        size_mm: tuple[float, float] | None = None,
        known_mm: Sequence[tuple[float, float]] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._formatter = formatter
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setCompleter(None)  # type: ignore[arg-type]
        for width, height in known_mm:
            self.addItem(formatter.size(width, height))
        self._shown = formatter.size(*size_mm) if size_mm else ""
        self._shown_mm = size_mm
        self.setEditText(self._shown or self.itemText(0))
        line = self.lineEdit()
        assert line is not None
        line.setMaxLength(80)
        line.setPlaceholderText(
            tr("such as 23 × 31") if formatter.length_unit == "inch" else tr("such as 584 × 787")
        )
        line.setAccessibleName(tr("Outer size"))

    def label(self) -> str:
        """Name the field with its unit."""
        if self._formatter.length_unit == "inch":
            return tr("&Outer size, in")
        return tr("&Outer size, mm")

    def size_mm(self) -> tuple[float, float]:
        """Read width and height.

        Raises
        ------
        NotValid
            For text that is no size, or a side that no frame has.
        """
        text = self.currentText().strip()
        if self._shown_mm is not None and text == self._shown:
            return self._shown_mm  # what is shown is rounded; untouched means unchanged
        try:
            size = read_size(text, unit=self._formatter.length_unit)
        except NotValid as refused:
            raise NotValid(refused.said, hint=refused.hint, argument="size") from refused
        return size.width_mm, size.height_mm
