"""The stretching table: mesh into the clamps, stages, glue, release; rollers are retensioned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import Glued, Released, Retensioned, Staged, Stretched
from framekeeper.domain.lifecycle import check_time
from framekeeper.domain.offcuts import piece_mm
from framekeeper.domain.records import CutPieceRecord, FrameRecord, MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import Running, Sentence, say
from framekeeper.domain.survey import valid_tension
from framekeeper.services.cut_pieces import pieces_waiting, serves, use_piece
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frames, subject_of
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.record import NOW, When, record
from framekeeper.services.settings import cut_allowance_mm

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

LONGEST_REST_MINUTES = 24 * 60
LONGEST_CURE = dt.timedelta(days=7)


@dataclass(frozen=True, slots=True)
class StretchRequest:
    """Mesh for one frame or for several frames in one pull.

    Without `target_n_per_cm` the mesh type's target is taken. Without a cut size the frame's outer
    size and the shop's allowance for the clamps give it, the long side along the roll. A piece of
    this mesh that was cut ahead for the frame is used, unless another cut size is given; then the
    roll that it came from counts, and nothing more is taken off the shelf.
    """

    mesh: str
    target_n_per_cm: float | None = None
    roll: str = ""  # the code of the roll, where the shop keeps rolls
    cut_length_mm: int | None = None
    cut_width_mm: int | None = None
    warp_along: Literal["long", "short"] | None = None
    one_pull: bool = False  # all the frames share one piece in the clamps


def stretch(desk: Desk, codes: Sequence[str], request: StretchRequest, *, when: When = NOW) -> Done:
    """Put mesh into the clamps with each frame, and take it off the shelf.

    Raises
    ------
    NotPossible
        If a frame is not prepped, is on hold, or has mesh on it.
    NotValid
        If no target is known, or the roll does not hold enough.
    """
    with desk.work("stretch") as work:
        frames = find_frames(work, codes)
        work.name_subject(subject_of(frames))
        mesh = find_mesh_type(work, request.mesh)
        target = _target(mesh, request.target_n_per_cm)
        roll = _roll(work, request.roll, mesh)
        cuts = _cuts(work, frames, request, mesh)
        _enough(roll, sum(cut.length_mm for cut in cuts if cut.ahead is None))
        for frame, cut in zip(frames, cuts, strict=True):
            event = Stretched(
                mesh_type_id=mesh.id,
                target_n_per_cm=target,
                roll_id=cut.ahead.roll_id if cut.ahead else roll.id if roll else None,
                frames_in_pull=len(frames) if request.one_pull else 1,
                cut_length_mm=cut.length_mm or None,
                cut_width_mm=cut.width_mm or None,
                warp_along=request.warp_along or cut.warp_along,
            )
            work.record(frame.id, event, happened_at=when.happened_at, note=when.note)
            if cut.ahead is not None:
                use_piece(work, cut.ahead)
            elif cut.length_mm:
                _take_off(work, frame, mesh, roll, cut, when)
        changes = work.commit()
    return Done(_told(frames, cuts, target), changes, tuple(f.code for f in frames))


def _told(frames: Sequence[FrameRecord], cuts: Sequence[_Cut], target: float) -> Sentence:
    words = {"subject": subject_of(frames), "target": target}
    ahead = sum(cut.ahead is not None for cut in cuts)
    if not ahead:
        return say("{subject}: in the clamps, target {target:.1f} N/cm.", **words)
    return say(
        "{subject}: in the clamps, target {target:.1f} N/cm. Pieces that were cut already: "
        "{ahead}.",
        ahead=ahead,
        **words,
    )


@dataclass(frozen=True, slots=True)
class _Cut:
    """The mesh for one frame: cut now, cut ahead, or nothing where another frame carries it."""

    length_mm: int
    width_mm: int
    ahead: CutPieceRecord | None = None
    warp_along: Literal["long", "short"] | None = None


def _take_off(
    work: Work,
    frame: FrameRecord,
    mesh: MeshTypeRecord,
    roll: RollRecord | None,
    cut: _Cut,
    when: When,
) -> None:
    work.move(
        mesh_type_id=mesh.id,
        kind="cut",
        length_mm=-cut.length_mm,
        width_mm=cut.width_mm,
        roll_id=roll.id if roll else None,
        happened_at=when.happened_at,
        tied_to=work.newest(frame.id),
    )


def _target(mesh: MeshTypeRecord, asked: float | None) -> float:
    target = mesh.rules.target if asked is None else asked
    if target is None:
        raise NotValid(
            say("Mesh {name} has no target tension yet.", name=mesh.name),
            hint=say("Give a target for this stretch, or complete the mesh on the Mesh shelf."),
            argument="target",
        )
    return valid_tension(target, argument="target")


def _roll(reader: Reader, code: str, mesh: MeshTypeRecord) -> RollRecord | None:
    if not code.strip():
        return None
    roll = reader.roll_by_code(code.strip().upper())
    if roll is None or roll.is_hidden:
        raise NotValid(
            say("There is no roll {code} on the shelf.", code=code.strip()),
            hint=say("Look at the roll's label, or receive the roll first."),
            argument="roll",
        )
    if roll.mesh_type_id != mesh.id:
        raise NotValid(
            say("Roll {code} is another mesh than {name}.", code=roll.code, name=mesh.name),
            argument="roll",
        )
    return roll


def cut_size_mm(frame: FrameRecord, allowance_mm: int) -> tuple[int, int]:
    """Return the piece for one frame: (length along the roll, width across it), in mm.

    The long side runs along the roll, and the allowance is added once to each side: it is what
    the clamps of both ends need together.
    """
    return piece_mm(frame.width_mm, frame.height_mm, allowance_mm)


def _cuts(
    reader: Reader, frames: Sequence[FrameRecord], request: StretchRequest, mesh: MeshTypeRecord
) -> list[_Cut]:
    """Give each frame its piece; in one pull the first frame carries the whole cut."""
    allowance = cut_allowance_mm(reader)
    cuts = [_Cut(*cut_size_mm(frame, allowance)) for frame in frames]
    if request.cut_length_mm is not None:
        length, width = request.cut_length_mm, request.cut_width_mm or cuts[0].width_mm
        if not 0 < length <= 100_000 or not 0 < width <= 10_000:
            raise NotValid(say("This cut is no piece of mesh."), argument="cut_length_mm")
        cuts = [_Cut(length, width)] * len(frames)
        if request.one_pull:
            return [cuts[0], *[_Cut(0, 0)] * (len(frames) - 1)]
    ahead = pieces_waiting(reader, mesh.id)
    return [
        _cut_ahead(frame, ahead[frame.id])
        if frame.id in ahead
        and serves(ahead[frame.id], request.cut_length_mm, request.cut_width_mm)
        else cut
        for frame, cut in zip(frames, cuts, strict=True)
    ]


def _cut_ahead(frame: FrameRecord, piece: CutPieceRecord) -> _Cut:
    """Use a piece that lies ready; its warp is known, because the warp runs along the roll."""
    warp: Literal["long", "short"] | None = None
    if piece.length_mm != piece.width_mm and frame.width_mm != frame.height_mm:
        warp = "long" if piece.length_mm > piece.width_mm else "short"
    return _Cut(piece.length_mm, piece.width_mm, piece, warp)


def _enough(roll: RollRecord | None, length_mm: int) -> None:
    if roll is not None and roll.on_hand_mm < length_mm:
        raise NotValid(
            say(
                "Roll {code} holds {left}, and {wanted} are needed.",
                code=roll.code,
                left=Running(roll.on_hand_mm),
                wanted=Running(length_mm),
            ),
            hint=say("Take another roll, or count this one if the shelf says otherwise."),
            argument="roll",
        )


def stage(
    desk: Desk,
    codes: Sequence[str],
    *,
    tension_n_per_cm: float,
    rest_minutes: int = 0,
    when: When = NOW,
) -> Done:
    """Record one stage of the pull and the rest after it."""
    if not 0 <= rest_minutes <= LONGEST_REST_MINUTES:
        raise NotValid(
            say("A rest of {minutes} minutes cannot be.", minutes=rest_minutes),
            argument="rest_minutes",
        )
    event = Staged(valid_tension(tension_n_per_cm), rest_minutes)
    return record(desk, "stage", codes, lambda frame: (event,), when=when)


def glue(
    desk: Desk,
    codes: Sequence[str],
    *,
    cure: dt.timedelta,
    adhesive_lot: str = "",
    activator_lot: str = "",
    when: When = NOW,
) -> Done:
    """Record the glue; the cure ends `cure` later."""
    if not dt.timedelta() <= cure <= LONGEST_CURE:
        raise NotValid(say("A cure lasts from nothing to a week."), argument="cure")
    glued_at = when.happened_at or desk.clock.now()
    check_time(glued_at, desk.clock.now())
    event = Glued(glued_at + cure, adhesive_lot.strip(), activator_lot.strip())
    return record(desk, "glue", codes, lambda frame: (event,), when=When(glued_at, when.note))


def release(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Record that the clamps were opened: day 0 of the tension history."""
    done = record(desk, "release", codes, lambda frame: (Released(),), when=when)
    with desk.read() as reader:
        lives = [f.state.life for f in find_frames(reader, done.codes)]
    ends = [life.cure_ends_at for life in lives if life and life.cure_ends_at]
    if not ends or max(ends) <= (when.happened_at or desk.clock.now()):
        return done
    told = say(
        "{subject}: released, but the cure ends {at}; watch the mesh until then.",
        subject=done.said.values["subject"],
        at=max(ends),
    )
    return Done(told, done.changes, done.codes)


def retension(
    desk: Desk, codes: Sequence[str], *, target_n_per_cm: float, when: When = NOW
) -> Done:
    """Record that roller frames were tightened again: the mesh stays, the decay starts anew."""
    event = Retensioned(valid_tension(target_n_per_cm, argument="target"))
    return record(desk, "retension", codes, lambda frame: (event,), when=when)
