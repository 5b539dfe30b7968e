"""How long mesh lasts in this shop: lives by group, what ends them, and whether groups differ.

Nothing is estimated from fewer than five ends. Each number keeps the lives that it rests on, and
each life its events, so that every number can be opened down to the journal.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, get_args

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.lived_mesh import Cause, LifeUnit, LivedMesh, Span
from framekeeper.domain.mesh_lives import KINDS, mesh_lives
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk
from framekeeper.services.first_night import Night, first_nights
from framekeeper.services.life_splits import BYS, By, Label, Shelf, label_of

if TYPE_CHECKING:
    from framekeeper.domain.life import LifeCurve, WeibullFit
    from framekeeper.domain.life_sample import Estimate

UNITS: tuple[LifeUnit, ...] = get_args(LifeUnit)
FEW_ENDS = 5  # as in `domain.life_sample`, which is not imported before something is estimated


class CurveStep(NamedTuple):
    """The share of lives that outlast an age, its 95 % limits, and who was there."""

    age: float
    share: float
    low: float
    high: float
    watched: int
    ended: int


class Left(NamedTuple):
    """What is expected to be left of a life; only a lower limit where the longest go on."""

    expected: float
    at_least: bool


@dataclass(frozen=True, slots=True)
class LifeRow:
    """A life with the names of what it is about; `left` is told of one that goes on."""

    life: LivedMesh
    frame: FrameRecord
    mesh_name: str
    label: Label
    span: Span | None
    left: Left | None = None


@dataclass(frozen=True, slots=True)
class Law:
    """A Weibull law in the unit that was asked for: its shape, with a 95 % interval."""

    shape: float
    low: float
    high: float
    scale: float

    @property
    def habit(self) -> str:
        """What the interval allows to say: "wears out", "fails young", or neither."""
        if self.low > 1:
            return "wears_out"
        return "fails_young" if self.high < 1 else "by_accident"


class Middle(NamedTuple):
    """The age that half of the lives outlast, with its 95 % limits; infinite where not reached."""

    age: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LifeGroup:
    """The lives of one group, and what they tell. Without five ends there is no curve."""

    label: Label
    rows: tuple[LifeRow, ...]  # those that count
    left_out: tuple[LifeRow, ...]
    curve: tuple[CurveStep, ...] = ()
    middle: Middle | None = None
    law: Law | None = None
    no_law: Sentence | None = None  # why there is none, although enough have ended
    notes: tuple[Sentence, ...] = ()

    @property
    def ended(self) -> tuple[LifeRow, ...]:
        """The lives that are over."""
        return tuple(r for r in self.rows if r.life.fate == "ended")

    @property
    def running(self) -> tuple[LifeRow, ...]:
        """The lives that go on."""
        return tuple(r for r in self.rows if r.life.fate == "on")

    @property
    def out_of_sight(self) -> tuple[LifeRow, ...]:
        """The lives of which nobody knows how they went on."""
        return tuple(r for r in self.rows if r.life.fate == "out_of_sight")

    @property
    def mean_left(self) -> Left | None:
        """What is left on average for a life that goes on."""
        left = [r.left for r in self.running if r.left is not None]
        if not left:
            return None
        mean = sum(part.expected for part in left) / len(left)
        return Left(mean, any(part.at_least for part in left))


@dataclass(frozen=True, slots=True)
class Comparison:
    """Whether the groups differ by more than chance; `why_not` where that cannot be asked."""

    rows: tuple[LifeRow, ...]
    groups: int = 0
    ends: int = 0
    chi2: float = 0.0
    freedom: int = 0
    p: float = 1.0
    why_not: Sentence | None = None
    meshes_mixed: bool = False  # groups of several meshes may differ by their mesh alone


@dataclass(frozen=True, slots=True)
class CauseFound:
    """How many lives ended of one cause, the most frequent first."""

    cause: Cause
    rows: tuple[LifeRow, ...]
    share: float
    cumulative: float


@dataclass(frozen=True, slots=True)
class LivesFound:
    """All that the page of lives shows."""

    by: By
    unit: LifeUnit
    mesh: str  # empty for all
    meshes: tuple[str, ...]  # those that lives are known of
    groups: tuple[LifeGroup, ...]
    comparison: Comparison
    causes: tuple[CauseFound, ...]
    night: Night
    unreleased: tuple[LifeRow, ...]  # in the clamps, or broken there

    @property
    def is_empty(self) -> bool:
        """Whether no life is known at all."""
        return not self.groups and not self.causes


@dataclass(frozen=True, slots=True)
class KnownLives:
    """The lives of a shop as they were read, before any question is asked."""

    lives: tuple[LivedMesh, ...]
    frames: Mapping[int, FrameRecord]
    shelf: Shelf
    now: dt.datetime


def lives(
    desk: Desk, *, by: By = "mesh", unit: LifeUnit = "days", mesh: str | None = None
) -> LivesFound:
    """Find out how long mesh lasts here.

    Parameters
    ----------
    desk
        The shop.
    by
        What the groups are: one of `BYS`.
    unit
        Days, or print and reclaim cycles.
    mesh
        The name of one mesh, to compare like with like; else all.

    Raises
    ------
    NotValid
        For another way to split, another unit, or a mesh of which no life is known.
    """
    return work_out(gather(desk), by=by, unit=unit, mesh=mesh)


def gather(desk: Desk) -> KnownLives:
    """Read the lives of all frames, those that left service too."""
    now = desk.clock.now()
    with desk.read() as reader:
        frames = {f.id: f for f in reader.frames(FrameFilter(with_retired=True))}
        journals = reader.journals(list(frames), KINDS)
        shelf = Shelf(
            {m.id: m for m in reader.mesh_types(with_hidden=True)},
            {r.id: r for r in reader.rolls(with_hidden=True)},
        )
    told = [
        life
        for frame_id, frame in frames.items()
        for life in mesh_lives(frame.kind, journals[frame_id], now=now)
    ]
    return KnownLives(tuple(told), frames, shelf, now)


def work_out(
    known: KnownLives, *, by: By = "mesh", unit: LifeUnit = "days", mesh: str | None = None
) -> LivesFound:
    """Answer one question: pure maths, away from the database's thread."""
    meshes = {known.shelf.mesh_name(life) for life in known.lives}
    _check(by, unit, mesh, meshes)
    rows = [
        _row(known, life, by, unit)
        for life in known.lives
        if mesh is None or known.shelf.mesh_name(life) == mesh
    ]
    released = [r for r in rows if r.life.seen_from is not None]
    groups = tuple(_groups(released))
    return LivesFound(
        by,
        unit,
        mesh or "",
        tuple(sorted(meshes, key=str.casefold)),
        groups,
        _comparison(groups, by),
        _causes(rows),
        first_nights((r.mesh_name, r.life) for r in released),
        tuple(r for r in rows if r.life.seen_from is None),
    )


def _check(by: str, unit: str, mesh: str | None, meshes: Iterable[str]) -> None:
    for name, value, allowed in (("by", by, BYS), ("unit", unit, UNITS)):
        if value not in allowed:
            raise NotValid(
                say("“{value}” is none of: {words}.", value=value, words=", ".join(allowed)),
                argument=name,
            )
    if mesh is not None and mesh not in meshes:
        raise NotValid(
            say("No life of a mesh called {name} is known.", name=mesh),
            hint=say("Look at the Mesh shelf for its name; its lives begin with a stretch."),
            argument="mesh",
        )


def _row(known: KnownLives, life: LivedMesh, by: By, unit: LifeUnit) -> LifeRow:
    return LifeRow(
        life,
        known.frames[life.frame_id],
        known.shelf.mesh_name(life),
        label_of(by, life, known.shelf),
        life.span(unit),
    )


# groups


def _groups(rows: Iterable[LifeRow]) -> list[LifeGroup]:
    """One group for each label, those that nobody told last."""
    found: dict[str, list[LifeRow]] = defaultdict(list)
    for row in rows:
        found[row.label.key].append(row)
    groups = [_group(own) for own in found.values()]
    return sorted(groups, key=lambda g: (not g.label.is_told, g.label.order))


def _group(rows: Sequence[LifeRow]) -> LifeGroup:
    counted = tuple(r for r in rows if r.span is not None)
    left_out = tuple(r for r in rows if r.span is None)
    group = LifeGroup(rows[0].label, counted, left_out)
    return group if len(group.ended) < FEW_ENDS else _estimated(group)


def _columns(rows: Iterable[LifeRow]) -> tuple[list[float], list[bool], list[float]]:
    """Durations, whether they ended, and late entries, as the maths takes them."""
    spans = [r.span for r in rows if r.span is not None]
    return [s.age for s in spans], [s.ended for s in spans], [s.entry for s in spans]


def _estimated(group: LifeGroup) -> LifeGroup:
    from framekeeper.domain.life import kaplan_meier

    ages, ended, entries = _columns(group.rows)
    curve = kaplan_meier(ages, ended, entry=entries)
    steps = zip(
        curve.time.tolist(),
        curve.survival.tolist(),
        curve.lower.tolist(),
        curve.upper.tolist(),
        curve.at_risk.tolist(),
        curve.ended.tolist(),
        strict=True,
    )
    fit, no_law = _fit(ages, ended, entries)
    return replace(
        group,
        rows=_with_what_is_left(group.rows, fit or curve),
        curve=tuple(CurveStep(*step) for step in steps),
        middle=Middle(*curve.quantile(0.5)),
        law=None if fit is None else Law(*_shape(fit.shape_interval()), fit.scale),
        no_law=no_law,
        notes=curve.warnings,
    )


def _shape(shape: Estimate) -> tuple[float, float, float]:
    return shape.estimate, shape.lower, shape.upper


def _fit(
    ages: Sequence[float], ended: Sequence[bool], entries: Sequence[float]
) -> tuple[WeibullFit | None, Sentence | None]:
    from framekeeper.domain.life import weibull_fit

    at_once = sum(over and age == 0 for age, over in zip(ages, ended, strict=True))
    if at_once:
        return None, say("Ended before the first reclaim: {n}; no law is fitted.", n=at_once)
    try:
        return weibull_fit(ages, ended, entry=entries), None
    except NotEnoughData as refused:
        return None, _sentence(refused.said)


def _with_what_is_left(rows: Sequence[LifeRow], law: WeibullFit | LifeCurve) -> tuple[LifeRow, ...]:
    """A Weibull law speaks of all ages; where there is none, the curve as far as it reaches."""
    going = [r.span.age for r in rows if r.span is not None and r.life.fate == "on"]
    expected, at_least = law.lives_left(going)
    left = map(Left, expected.tolist(), at_least.tolist())
    return tuple(replace(r, left=next(left)) if r.life.fate == "on" else r for r in rows)


# what groups say together


def _comparison(groups: Sequence[LifeGroup], by: By) -> Comparison:
    from framekeeper.domain.life import log_rank

    told = [g for g in groups if g.label.is_told and g.rows]
    rows = tuple(r for g in told for r in g.rows)
    ends = sum(len(g.ended) for g in told)
    mixed = by != "mesh" and len({r.life.mesh_type_id for r in rows}) > 1
    if len(told) < 2:
        why_not = say("There is only one group here: nothing to compare.")
    elif ends < FEW_ENDS:
        why_not = say("Only {n} of these lives have ended: too few to compare groups.", n=ends)
    else:
        ages, ended, entries = _columns(rows)
        try:
            test = log_rank(ages, ended, [r.label.key for r in rows], entry=entries)
        except NotEnoughData as refused:
            return Comparison(rows, len(told), ends, why_not=_sentence(refused.said))
        return Comparison(
            rows, len(told), ends, test.chi2, test.freedom, test.p, meshes_mixed=mixed
        )
    return Comparison(rows, len(told), ends, why_not=why_not)


def _sentence(said: Sentence | str) -> Sentence:
    return said if isinstance(said, Sentence) else say("{said}", said=said)


def _causes(rows: Iterable[LifeRow]) -> tuple[CauseFound, ...]:
    """Every end counts here, also of mesh whose age nobody knows."""
    from framekeeper.domain.life import pareto

    by_cause: dict[Cause, list[LifeRow]] = defaultdict(list)
    for row in rows:
        if row.life.cause is not None:
            by_cause[row.life.cause].append(row)
    counted = pareto(cause for cause, own in by_cause.items() for _ in own)
    return tuple(
        CauseFound(cause, tuple(by_cause[cause]), part.share, part.cumulative_share)
        for part in counted
        if isinstance(cause := part.cause, Cause)
    )
