"""Puts a cut plan into words and numbers to draw: one view for the window and for the paper."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from framekeeper.domain.cut_drawing import (
    DrawnPiece,
    DrawnPlan,
    DrawnRest,
    DrawnRoll,
    DrawnRow,
)
from framekeeper.domain.cutting import CutPlan, PlacedPiece, RollPlan, Row
from framekeeper.domain.sentence import Millimetres, say
from framekeeper.services.cut_plan import CutRequest, Offcut, free_width_mm, used_width_mm
from framekeeper.services.cut_words import (
    bound_words,
    compared_by_words,
    gap_words,
    roll_words,
    row_words,
    unplaced_words,
    used_words,
)
from framekeeper.services.desk import Desk
from framekeeper.services.papers import paper_size
from framekeeper.services.settings import read_settings
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.cut_sheet import CutSheet

Kept = Collection[tuple[str, int]]  # roll and number of row


def drawn(
    request: CutRequest, plan: CutPlan, wording: Wording, *, kept: Kept = (), currency: str = ""
) -> DrawnPlan:
    """Draw a plan; `kept` names the strips that go back to the shelf."""
    speak = wording.sentence
    rows = _Rows(request, wording, kept)
    return DrawnPlan(
        summary=(
            speak(used_words(plan, request, currency)),
            speak(say("{gap}. {bound}", gap=_capital(speak(gap_words(plan))),
                      bound=bound_words(plan, request, currency))),
            speak(compared_by_words(request)),
        ),
        rolls=tuple(
            DrawnRoll(
                title=speak(roll_words(cut, request)),
                width_mm=cut.roll.width_mm,
                used_mm=cut.used_mm,
                rows=tuple(rows.row(cut, number, row) for number, row in enumerate(cut.rows)),
            )
            for cut in plan.rolls
        ),
        unplaced=tuple(
            speak(unplaced_words(out, request.job_of(out.piece.key))) for out in plan.unplaced
        ),
    )  # fmt: skip


def kept_rows(offcuts: Collection[Offcut]) -> Kept:
    """Name the rows of offcuts that are kept."""
    return frozenset((offcut.roll, offcut.row) for offcut in offcuts)


class _Rows:
    """Puts rows into words."""

    def __init__(self, request: CutRequest, wording: Wording, kept: Kept) -> None:
        self._request, self._wording, self._kept = request, wording, kept

    def row(self, cut: RollPlan, number: int, row: Row) -> DrawnRow:
        speak = self._wording.sentence
        return DrawnRow(
            number=str(number + 1),
            y_mm=row.y_mm,
            length_mm=row.length_mm,
            length=speak(say("{length}", length=Millimetres(row.length_mm))),
            pieces=tuple(map(self._piece, row.pieces)),
            rest=self._rest(cut, number, row),
            words=speak(row_words(number + 1, row, self._request)),
        )

    def _piece(self, placed: PlacedPiece) -> DrawnPiece:
        frame = self._request.job_of(placed.piece.key).frame
        return DrawnPiece(
            x_mm=placed.x_mm,
            width_mm=placed.width_mm,
            length_mm=placed.length_mm,
            code=frame.code,
            name=frame.name,
            size=self._wording.size(placed.width_mm, placed.length_mm),
            turned=self._wording.sentence(say("turned")) if placed.is_turned else "",
        )

    def _rest(self, cut: RollPlan, number: int, row: Row) -> DrawnRest | None:
        width = free_width_mm(cut, row)
        if width < 1:
            return None
        is_kept = (str(cut.roll.key), number) in self._kept
        return DrawnRest(
            x_mm=used_width_mm(row.pieces),
            width_mm=width,
            size=self._wording.size(width, row.length_mm),
            kept=self._wording.sentence(say("keep")) if is_kept else "",
        )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def cut_sheet_pdf(desk: Desk, view: DrawnPlan, wording: Wording) -> bytes:
    """Print a plan as it is shown."""
    from framekeeper.formats import cut_sheet as paper

    return paper.cut_sheet_pdf(_sheet(desk, view, wording), speak=wording.sentence)


def _sheet(desk: Desk, view: DrawnPlan, wording: Wording) -> CutSheet:
    from framekeeper.formats.cut_sheet import CutSheet

    settings = read_settings(desk)
    return CutSheet(
        shop=settings.shop_name,
        printed_on=wording.moment(desk.clock.now()),
        plan=view,
        paper=paper_size(settings),
    )
