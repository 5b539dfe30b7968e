"""Pieces of mesh that were cut ahead: which frame has one, what uses it, and what gives it back.

The ledger has such a piece since it was cut. So the stretch that uses it writes no second cut; it
only marks the piece, and a correction of that stretch that needs other mesh lets it wait again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from framekeeper.domain.errors import NotFound
from framekeeper.domain.events import Event, Payload, Stretched
from framekeeper.domain.records import CutPieceRecord, MoveRecord
from framekeeper.domain.sentence import Millimetres, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frame

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work


def pieces_waiting(reader: Reader, mesh_type_id: int) -> dict[int, CutPieceRecord]:
    """Return the oldest waiting piece of this mesh for each frame, by the frame's id."""
    found: dict[int, CutPieceRecord] = {}
    for piece in reader.cut_pieces():
        if piece.mesh_type_id == mesh_type_id:
            found.setdefault(piece.frame_id, piece)
    return found


def serves(piece: CutPieceRecord, length_mm: int | None, width_mm: int | None) -> bool:
    """Whether a piece is what a stretch asks for: nothing said, or just this size."""
    if length_mm is None:
        return True
    asked = (length_mm, piece.width_mm if width_mm is None else width_mm)
    return asked == (piece.length_mm, piece.width_mm)


def use_piece(work: Work, piece: CutPieceRecord) -> None:
    """Mark a piece as stretched."""
    work.edit_row("cut_piece", piece.id, {"is_used": True})


def keeps_its_piece(work: Work, wrong: Event, payload: Payload | None) -> bool:
    """Whether a corrected stretch still wears the piece that was cut ahead for it.

    If not, that piece waits again; what the right stretch takes is then a cut of its own.
    """
    piece = _piece_of(work, wrong)
    if piece is None:
        return False
    if isinstance(payload, Stretched) and _fits(piece, payload):
        return True
    work.edit_row("cut_piece", piece.id, {"is_used": False})
    return False


def _piece_of(reader: Reader, event: Event) -> CutPieceRecord | None:
    """Find the piece that a stretch used; one that took mesh off the shelf itself used none."""
    stretched = event.payload
    if not isinstance(stretched, Stretched) or not stretched.cut_length_mm:
        return None
    if any(move.event_id == event.event_id for move in reader.moves()):
        return None
    used = [
        piece
        for piece in reader.cut_pieces(used=True)
        if piece.frame_id == event.frame_id and _fits(piece, stretched)
    ]
    return used[-1] if used else None


def _fits(piece: CutPieceRecord, stretched: Stretched) -> bool:
    return (piece.mesh_type_id, piece.roll_id, piece.length_mm, piece.width_mm) == (
        stretched.mesh_type_id,
        stretched.roll_id,
        stretched.cut_length_mm,
        stretched.cut_width_mm,
    )


def code_of_cut(move: MoveRecord) -> str:
    """Return the code of the frame that a piece was cut ahead for; empty for any other movement.

    A booking gives the frame's name as the reason; its code stands first there, and stays when
    the shop's own label changes.
    """
    if move.kind != "cut" or move.event_id is not None:
        return ""
    return move.reason.partition(" ")[0]


def throw_away(desk: Desk, code: str) -> Done:
    """Record that the pieces that wait for a frame are gone: lost, soiled or torn.

    The ledger stays as it is, because the mesh is off the roll.

    Raises
    ------
    NotFound
        If no piece waits for this frame.
    """
    with desk.work("throw piece away") as work:
        frame = find_frame(work, code)
        work.name_subject(frame.name)
        work.known(frame.id)
        pieces = [p for p in work.cut_pieces() if p.frame_id == frame.id]
        if not pieces:
            raise NotFound(
                say("No piece of mesh waits for {frame}.", frame=frame.name),
                hint=say("Nothing has to be recorded."),
            )
        for piece in pieces:
            work.edit_row("cut_piece", piece.id, {"is_hidden": True})
        changes = work.commit()
    last = pieces[-1]
    told = say(
        "The piece of {length} x {width} for {frame} is gone.",
        length=Millimetres(last.length_mm),
        width=Millimetres(last.width_mm),
        frame=frame.name,
    )
    return Done(told, changes, (frame.code,))
