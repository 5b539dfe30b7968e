"""Judges surveys by the shop's rules and what is known of the meter; the same on screen and paper.

Where a survey cannot be judged there is no verdict and a sentence why, never a number. The due
list keeps its plain thresholds: it says what to look at, a verdict says what a reading proves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain import lifecycle
from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.events import (
    Direction,
    Event,
    FoundWithMesh,
    Moment,
    Reading,
    Received,
    Retensioned,
    Stretched,
    Surveyed,
)
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, MeterRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.survey import SurveyResult, evaluate, valid_tension
from framekeeper.domain.verdict import Verdict
from framekeeper.services.settings import ShopSettings, shop_settings

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

Place = tuple[float, float]  # mm from the outer top left corner of the frame

# Of a meter that nobody named.
UNTOLD_U_N_PER_CM = 0.5  # analogue meters are good to about +-1 N/cm, as two sd: from memory
UNTOLD_REPEATABILITY_N_PER_CM = 0.3  # common practice, no source
UNTOLD_RESOLUTION_N_PER_CM = 0.5  # half a division: from memory

VERDICT_WORDS: dict[Verdict, Sentence] = {
    "inside": say("inside"),
    "outside": say("outside"),
    "too close to call": say("too close to call"),
}
NO_VERDICT = say("no verdict")


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a survey means; either a result, or why there is none."""

    result: SurveyResult | None
    why_not: Sentence | None = None
    assumed: Sentence | None = None  # what was taken for granted of a meter that was not told

    @property
    def verdict(self) -> Verdict | None:
        """One of the three verdicts."""
        return None if self.result is None else self.result.verdict

    @property
    def word(self) -> Sentence:
        """The verdict in words."""
        return NO_VERDICT if self.result is None else VERDICT_WORDS[self.result.verdict]

    @property
    def found(self) -> tuple[Sentence, ...]:
        """Where the screen is low or uneven, each with its likely cause."""
        findings = () if self.result is None else self.result.findings
        return tuple(s for f in findings for s in (f.said, f.likely_cause) if s is not None)

    @property
    def reasons(self) -> tuple[Sentence, ...]:
        """Why: the rules that decided, or why nothing can be decided."""
        if self.result is None:
            return () if self.why_not is None else (self.why_not,)
        return self.result.reasons


def judge(
    readings: Sequence[Reading],
    *,
    correction_n_per_cm: float,
    moment: Moment,
    rules: MeshRules,
    target: float | None,
    meter: MeterRecord | None = None,
    places: Sequence[Place] | None = None,
) -> Judgement:
    """Judge one survey.

    Parameters
    ----------
    readings
        Raw values in N/cm. Points where warp or weft is missing leave the survey unjudged.
    correction_n_per_cm
        Added to every raw value.
    moment
        In service the limit counts; before that the target with its tolerance, and evenness. In the
        clamps, between the stages of a pull, nothing does.
    rules, target
        The shop's thresholds for the mesh, and the target of this stretch.
    meter
        Its uncertainty, repeatability and resolution; None where it was not told.
    places
        Where each point of the pattern lies; None where nobody knows.

    Raises
    ------
    NotValid
        For a raw value that no meter can show.
    """
    values: dict[tuple[int, str], float] = {
        (r.point, r.direction): valid_tension(r.raw_n_per_cm) + correction_n_per_cm
        for r in readings
    }
    why_not = _unjudged(values, moment, rules, target)
    if why_not is not None:
        return Judgement(None, why_not)
    points = sorted({point for point, _ in values})
    told = places is not None and points[-1] <= len(places)
    try:
        result = evaluate(
            [values[point, "warp"] for point in points],
            [values[point, "weft"] for point in points],
            target=target,
            tolerance=rules.tolerance,
            limit=rules.limit if moment == "in_service" else None,
            points=[places[point - 1] for point in points] if told and places else None,
            spread_limit=rules.spread_limit,
            balance_limit=rules.balance_limit,
            u_meter=meter.u_n_per_cm if meter else UNTOLD_U_N_PER_CM,
            repeatability=meter.repeatability if meter else UNTOLD_REPEATABILITY_N_PER_CM,
            resolution=meter.resolution if meter else UNTOLD_RESOLUTION_N_PER_CM,
        )
    except (NotEnoughData, NotValid) as refused:
        return Judgement(None, _plain(refused.said))
    return Judgement(result, assumed=None if meter else _assumed())


def judge_so_far(
    numbers: Sequence[float | None],
    *,
    correction_n_per_cm: float,
    moment: Moment,
    rules: MeshRules,
    target: float | None,
    meter: MeterRecord | None = None,
    places: Sequence[Place] | None = None,
) -> Judgement:
    """Judge a survey while it is typed: the points of which both numbers are there.

    `numbers` are warp and weft of each point in turn, as the meter shows them; the rest as `judge`.
    """
    whole = [
        (index // 2 + 1, warp, weft)
        for index in range(0, len(numbers) - 1, 2)
        if (warp := numbers[index]) is not None and (weft := numbers[index + 1]) is not None
    ]
    readings = [
        Reading(point, direction, value)
        for point, warp, weft in whole
        for direction, value in _both(warp, weft)
    ]
    if not readings:
        return Judgement(None, say("The verdict needs warp and weft at two points at least."))
    return judge(
        readings,
        correction_n_per_cm=correction_n_per_cm,
        moment=moment,
        rules=rules,
        target=target,
        meter=meter,
        places=places,
    )


def _both(warp: float, weft: float) -> tuple[tuple[Direction, float], tuple[Direction, float]]:
    return ("warp", warp), ("weft", weft)


def _unjudged(
    values: Mapping[tuple[int, str], float],
    moment: Moment,
    rules: MeshRules,
    target: float | None,
) -> Sentence | None:
    """Say why a survey cannot be judged, where that is plain before any maths."""
    directions = {direction for _, direction in values}
    if not values:
        return say("There is no reading to judge.")
    if len(values) == 1:
        return say("One number alone cannot show whether a screen is even.")
    if "not_told" in directions:
        return say("Without the direction of the readings, warp and weft cannot be judged.")
    if any((point, other) not in values for point, _ in values for other in ("warp", "weft")):
        return say("Warp and weft were not both read at every point.")
    if moment == "in_clamps":
        return say("A survey between the stages of a pull is not judged, the one before glue is.")
    if moment == "in_service" and rules.limit is None:
        return say("This mesh has no limit to judge a screen in service by.")
    if moment != "in_service" and target is None:
        return say("This mesh has no target to judge a fresh stretch by.")
    return None


def _plain(said: Sentence | str) -> Sentence:
    return said if isinstance(said, Sentence) else say("{said}", said=said)


def _assumed() -> Sentence:
    return say(
        "The meter was not told; taken for one that is sure to {u:.1f} N/cm (from memory) and "
        "repeats to {repeatability:.1f} (common practice, no source).",
        u=UNTOLD_U_N_PER_CM,
        repeatability=UNTOLD_REPEATABILITY_N_PER_CM,
    )


@dataclass(frozen=True, slots=True)
class Rulebook:
    """What every judgement of a shop needs beside the survey: its meshes, meters and points."""

    mesh_types: Sequence[MeshTypeRecord]
    meters: Sequence[MeterRecord]
    settings: ShopSettings

    def rules(self, mesh_type_id: int | None) -> MeshRules:
        """Return the thresholds of a mesh type."""
        found = (m.rules for m in self.mesh_types if m.id == mesh_type_id)
        return next(found, MeshRules())

    def meter(self, meter_id: int | None) -> MeterRecord | None:
        """Return a meter; None where none was told."""
        return next((m for m in self.meters if m.id == meter_id), None)

    def places(self, frame: FrameRecord, count: int) -> tuple[Place, ...] | None:
        """Say where so many points lie on a frame; None where nobody knows."""
        pattern = self.settings.pattern_with(count)
        if pattern is None:
            return None
        try:
            return self.settings.places(pattern, frame.width_mm, frame.height_mm)
        except NotValid:  # a frame without an inside
            return None


def judge_frame(
    frame: FrameRecord, standing: Iterable[Event], book: Rulebook
) -> dict[int, Judgement]:
    """Judge every survey of a frame by the mesh and the target that it was made on.

    Parameters
    ----------
    frame
        The frame.
    standing
        What counts in its journal, with what findings about meters added; oldest first.
    book
        The shop's meshes, meters and settings.

    Returns
    -------
    dict
        A judgement for the id of each survey.
    """
    judged = {}
    for event, survey, rules, target in _with_mesh(standing, book):
        judged[event.event_id] = judge(
            survey.readings,
            correction_n_per_cm=survey.correction_n_per_cm,
            moment=survey.moment,
            rules=rules,
            target=target,
            meter=book.meter(survey.meter_id),
            places=book.places(frame, max((r.point for r in survey.readings), default=0)),
        )
    return judged


def verdict_changed(frame: FrameRecord, events: Sequence[Event], book: Rulebook) -> bool:
    """Say whether findings about its meter have changed the verdict on the newest survey."""
    life = frame.state.life
    if life is None or life.survey is None or not life.survey.shift:
        return False
    newest = life.survey.event_id
    then = judge_frame(frame, lifecycle.standing(events), book)[newest]
    now = judge_frame(frame, lifecycle.concluded(events), book)[newest]
    return then.verdict != now.verdict


def rulebook(reader: Reader) -> Rulebook:
    """Read what every judgement of a shop needs."""
    return Rulebook(
        reader.mesh_types(with_hidden=True),
        reader.meters(with_hidden=True),
        shop_settings(reader),
    )


def _with_mesh(
    standing: Iterable[Event], book: Rulebook
) -> Iterator[tuple[Event, Surveyed, MeshRules, float | None]]:
    """Give each survey with the thresholds of the mesh it was made on and its target."""
    mesh_id: int | None = None
    target: float | None = None
    for event in standing:
        payload = event.payload
        if isinstance(payload, Stretched | FoundWithMesh | Received) and payload.mesh_type_id:
            mesh_id, target = payload.mesh_type_id, payload.target_n_per_cm
        elif isinstance(payload, Retensioned):
            target = payload.target_n_per_cm
        elif isinstance(payload, Surveyed):
            rules = book.rules(mesh_id)
            yield event, payload, rules, target or rules.target
