"""What one pull takes, before mesh is cut: target and why, pieces, and the load on the bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framekeeper.domain.mesh import side_load_n, suggest_target, target_warning
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.meshes import cloth_of
from framekeeper.services.stretch import cut_size_mm

NEWTON_PER_KGF = 9.80665  # exact: standard gravity


@dataclass(frozen=True, slots=True)
class Piece:
    """The mesh for one frame, and what it loads the bars with at the target."""

    frame: FrameRecord
    length_mm: int  # along the roll
    width_mm: int  # across it
    long_bar_n: float | None
    short_bar_n: float | None


@dataclass(frozen=True, slots=True)
class PullPlan:
    """A pull of one mesh over some frames. Without a target there is no load to tell."""

    target_n_per_cm: float | None
    reason: Sentence
    warning: Sentence | None
    pieces: tuple[Piece, ...]

    @property
    def length_mm(self) -> int:
        """What the pieces take off the roll."""
        return sum(piece.length_mm for piece in self.pieces)

    @property
    def heaviest_bar_n(self) -> float | None:
        """The largest load on any bar."""
        loads = [p.long_bar_n for p in self.pieces if p.long_bar_n is not None]
        return max(loads, default=None)


def plan_pull(
    frames: Sequence[FrameRecord],
    mesh: MeshTypeRecord,
    *,
    allowance_mm: int,
    asked_n_per_cm: float | None = None,
) -> PullPlan:
    """Plan a pull: the target asked for, else the mesh's own, else one from its thread."""
    target, reason, warning = _target(mesh, asked_n_per_cm)
    if target is not None and (cloth := cloth_of(mesh)) is not None:
        warning = target_warning(cloth, target) or warning
    return PullPlan(target, reason, warning, tuple(_piece(f, allowance_mm, target) for f in frames))


def _target(
    mesh: MeshTypeRecord, asked: float | None
) -> tuple[float | None, Sentence, Sentence | None]:
    own = mesh.rules.target
    if asked is not None and asked != own:
        return asked, say("as you chose for this pull"), None
    if own is not None:
        return own, say("the shop’s target for {mesh}", mesh=mesh.name), None
    cloth = cloth_of(mesh)
    if cloth is None:
        return (
            None,
            say("Mesh {mesh} has no target and no thread to suggest one from.", mesh=mesh.name),
            None,
        )
    suggested = suggest_target(cloth)
    tension = None if suggested.tension is None else round(suggested.tension, 1)
    return tension, suggested.reason, suggested.warning


def _piece(frame: FrameRecord, allowance_mm: int, target: float | None) -> Piece:
    length, width = cut_size_mm(frame, allowance_mm)
    if target is None:
        return Piece(frame, length, width, None, None)
    long, short = max(frame.width_mm, frame.height_mm), min(frame.width_mm, frame.height_mm)
    return Piece(frame, length, width, side_load_n(target, long), side_load_n(target, short))


def fitting_roll(rolls: Sequence[RollRecord], plan: PullPlan) -> RollRecord | None:
    """Choose the roll of this mesh that is wide and long enough and wastes the least.

    An offcut that fits goes first, the smallest of them, because it serves fewer frames than a
    roll does; of rolls the narrowest.
    """
    widest = max((piece.width_mm for piece in plan.pieces), default=0)
    fitting = [r for r in rolls if r.width_mm >= widest and r.on_hand_mm >= plan.length_mm > 0]
    return min(fitting, key=_waste, default=None)


def _waste(roll: RollRecord) -> tuple[object, ...]:
    if roll.is_offcut:
        return 0, roll.width_mm * roll.on_hand_mm, 0, roll.code
    return 1, roll.width_mm, roll.on_hand_mm, roll.code


def kilograms(newton: float) -> float:
    """Give the mass whose weight this force is, for people who think in kilograms."""
    return newton / NEWTON_PER_KGF
