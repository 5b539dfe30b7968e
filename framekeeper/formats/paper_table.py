"""Tables on paper: columns by share of the width, wrapped texts, heads on each new page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framekeeper.formats.paper_kit import QUIET, SMALL, Align, Sheet, wrap

LINE_MM = 3.7
_PAD_MM = 1.5
_GAP_MM = 3.5
_BASELINE_MM = 2.9


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, its share of the width, and where its texts stand."""

    head: str
    share: float
    align: Align = "left"
    bold: bool = False


def draw_table(
    sheet: Sheet, columns: Sequence[Column], rows: Sequence[Sequence[str]], *, most_lines: int = 3
) -> None:
    """Draw rows under a head; a cell has at most `most_lines` lines, a row is never cut in two."""
    whole = sum(column.share for column in columns)
    wide = [column.share / whole * (sheet.right - sheet.left) for column in columns]
    sheet.need(LINE_MM * 4)
    _draw_head(sheet, columns, wide)
    for row in rows:
        cells = [
            wrap(text, room - _GAP_MM, SMALL, bold=column.bold, most=most_lines)
            for text, room, column in zip(row, wide, columns, strict=True)
        ]
        high = max(len(lines) for lines in cells) * LINE_MM + _PAD_MM
        if sheet.need(high):
            _draw_head(sheet, columns, wide)
        for down in range(max(len(lines) for lines in cells)):
            texts = [lines[down] if down < len(lines) else "" for lines in cells]
            _draw_line(sheet, columns, wide, texts, sheet.y + _BASELINE_MM + down * LINE_MM)
        sheet.y += high
        sheet.line(sheet.left, sheet.y - 0.4, sheet.right, sheet.y - 0.4)
        sheet.y += 0.6


def _draw_head(sheet: Sheet, columns: Sequence[Column], wide: Sequence[float]) -> None:
    x = sheet.left
    for column, room in zip(columns, wide, strict=True):
        at = x if column.align == "left" else x + room - _GAP_MM
        sheet.text(
            at,
            sheet.y + _BASELINE_MM,
            column.head,
            size=SMALL,
            colour=QUIET,
            align=column.align,
            room=room - _GAP_MM,
        )
        x += room
    sheet.y += LINE_MM + 1.0
    sheet.line(sheet.left, sheet.y, sheet.right, sheet.y, colour=QUIET)
    sheet.y += 0.8


def _draw_line(
    sheet: Sheet,
    columns: Sequence[Column],
    wide: Sequence[float],
    texts: Sequence[str],
    baseline: float,
) -> None:
    x = sheet.left
    for column, room, text in zip(columns, wide, texts, strict=True):
        at = x if column.align == "left" else x + room - _GAP_MM
        sheet.text(at, baseline, text, size=SMALL, bold=column.bold, align=column.align)
        x += room
