"""The label sheets and rolls that ship with the program, by their dimensions."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import Literal

from framekeeper.domain.errors import NotFound
from framekeeper.domain.sentence import say
from framekeeper.shipped import find

BAR_HEIGHT_MM = 25.0  # what fits on the outside face of a bar, away from the glue face


@dataclass(frozen=True, slots=True)
class LabelFormat:
    """A sheet of labels, or a roll whose page is one label; all lengths in mm."""

    key: str  # for settings and the command line
    name: str
    kind: Literal["sheet", "roll"]
    design: Literal["block", "bar"]
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_margin_mm: float
    top_margin_mm: float
    pitch_x_mm: float
    pitch_y_mm: float
    padding_mm: float  # kept free inside each label: printers drift, some cannot reach the edge

    @property
    def cells(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    @property
    def fits_the_bar(self) -> bool:
        """Whether the label is low enough for the outside face of a bar."""
        return self.label_height_mm <= BAR_HEIGHT_MM

    def corner_mm(self, cell: int) -> tuple[float, float]:
        """Upper left corner of a cell (from 0, along the rows), from the upper left of the page."""
        row, column = divmod(cell, self.columns)
        return (
            self.left_margin_mm + column * self.pitch_x_mm,
            self.top_margin_mm + row * self.pitch_y_mm,
        )


@cache
def label_formats() -> tuple[LabelFormat, ...]:
    """Read the shipped formats, sheets first."""
    formats = []
    for path in sorted(find("resources/labels").glob("*.json")):
        record = json.loads(path.read_text(encoding="utf-8"))
        del record["source"]
        formats.append(LabelFormat(key=path.stem, **record))
    return tuple(sorted(formats, key=lambda f: (f.kind != "sheet", f.key)))


def label_format(key: str) -> LabelFormat:
    """Return one format by its key."""
    for found in label_formats():
        if found.key == key:
            return found
    raise NotFound(
        say("There is no label format “{key}”.", key=key),
        hint=say(
            "Choose one of: {keys}.",
            keys=", ".join(found.key for found in label_formats()),
        ),
        argument="format",
    )
