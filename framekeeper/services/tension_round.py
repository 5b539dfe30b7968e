"""The tension round: which screens to walk to, in which order, and what a reading means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Literal

from framekeeper.domain import lifecycle
from framekeeper.domain.due import MeshRules, Task
from framekeeper.domain.errors import NotFound
from framekeeper.domain.events import Surveyed
from framekeeper.domain.frame_state import LastSurvey
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.survey import summarise
from framekeeper.services.check import SurveyDone, SurveyRequest, find_meter, survey
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.services.frame_page import READING_RULES, FramePage, frame_page
from framekeeper.services.history import correct
from framekeeper.services.plan import Listed, list_frames
from framekeeper.services.record import NOW, When
from framekeeper.services.verdicts import Judgement, judge_frame, rulebook

Answer = Literal["holds", "soon", "below"]

TENSION_RULES = frozenset({"below_limit", "below_target", "uneven", "unbalanced", "read_again"})


@dataclass(frozen=True, slots=True)
class Stop:
    """One screen of a round: still to be read, or read today with its verdict.

    The answer is what the plain thresholds of the due list say.
    """

    frame: FrameRecord
    mesh_name: str
    survey: LastSurvey | None  # today's, None while the screen is still to be read
    answer: Answer | None
    judgement: Judgement | None = None

    @property
    def is_read(self) -> bool:
        """Whether the screen was read today."""
        return self.survey is not None

    @property
    def is_pulled(self) -> bool:
        """Whether the screen was taken out of service."""
        return self.frame.state.state == "pulled"


@dataclass(frozen=True)
class Judged(SurveyDone):
    """A survey that was recorded, with what it means for the screen."""

    page: FramePage | None = None

    @property
    def tasks(self) -> tuple[Task, ...]:
        """What its tension says about the screen; other tasks are not the round's."""
        found = () if self.page is None else self.page.tasks
        return tuple(task for task in found if task.rule in TENSION_RULES)

    @property
    def judgement(self) -> Judgement | None:
        """What this survey means, its error considered; another one may be newer by its date."""
        if self.page is None or not self.page.judged:
            return None
        return self.page.judged[max(self.page.judged)]

    @property
    def answer(self) -> Answer:
        """One of the three answers, by the plain thresholds of the due list."""
        return answer_of(self.tasks)


def answer_of(tasks: Sequence[Task]) -> Answer:
    """Fold tasks into one answer."""
    if any(task.urgency == "below" for task in tasks):
        return "below"
    return "soon" if tasks else "holds"


def round_queue(desk: Desk) -> list[Stop]:
    """List the screens whose reading is due and those that were read today, in walking order."""
    today, zone = desk.today(), desk.clock.zone()
    stops = []
    for listed in list_frames(desk):
        life = listed.frame.state.life
        last = None if life is None else life.survey
        if last is not None and last.at.astimezone(zone).date() == today:
            stops.append(Stop(listed.frame, listed.mesh_name, last, _answer_today(listed)))
        elif _is_due(listed):
            stops.append(Stop(listed.frame, listed.mesh_name, None, None))
    return sorted(_with_verdicts(desk, stops), key=lambda stop: stop.frame.walking_order)


def _with_verdicts(desk: Desk, stops: Sequence[Stop]) -> list[Stop]:
    """Judge the screens that were read today."""
    read = [stop.frame.id for stop in stops if stop.is_read]
    with desk.read() as reader:
        journals = reader.journals(read)
        book = rulebook(reader)
    judged = []
    for stop in stops:
        if stop.survey is not None:
            verdicts = judge_frame(stop.frame, lifecycle.concluded(journals[stop.frame.id]), book)
            stop = replace(stop, judgement=verdicts.get(stop.survey.event_id))
        judged.append(stop)
    return judged


def _answer_today(listed: Listed) -> Answer | None:
    """A pulled screen raises no task any more and does not hold for that; others have no answer."""
    state = listed.frame.state.state
    if state == "pulled":
        return "below"
    if state in ("ready", "in_use", "to_reclaim", "curing"):
        return answer_of([t for t in listed.tasks if t.rule in TENSION_RULES])
    return None


def _is_due(listed: Listed) -> bool:
    return any(task.rule in READING_RULES for task in listed.tasks)


def survey_and_judge(desk: Desk, code: str, request: SurveyRequest, *, when: When = NOW) -> Judged:
    """Record a survey and say what it means.

    Raises
    ------
    NotPossible, NotValid, NotFound
        As `framekeeper.services.check.survey` does.
    """
    done = survey(desk, code, request, when=when)
    judged = Judged(done.said, done.changes, done.codes, done.figures, frame_page(desk, code))
    return replace(judged, said=_said(judged))


def _said(judged: Judged) -> Sentence:
    """Say the figures and the verdict."""
    figures, meaning, page = judged.figures, judged.judgement, judged.page
    if figures is None or meaning is None or page is None:
        return judged.said
    return say(
        "{frame}: {mean:.1f} N/cm, lowest {lowest:.1f}, spread {spread:.1f}: {verdict}.",
        frame=page.frame.name,
        mean=figures.mean,
        lowest=figures.lowest,
        spread=figures.spread,
        verdict=meaning.word,
    )


def judge_points(
    readings: Sequence[float | None], rules: MeshRules, *, centre: int | None
) -> list[tuple[Answer | None, float | None]]:
    """Judge each point of a survey that may be half done.

    Parameters
    ----------
    readings
        Warp and weft of each point in turn, N/cm; None where nothing was read yet.
    rules
        The lowest number of a point is held against the limit, its distance from what it is
        compared with against half the spread limit.
    centre
        Which point is the centre that the others are compared with; None: they are compared with
        their median.

    Returns
    -------
    list of (answer, lean)
        For each point; the lean is its mean less that of the centre or the median, in N/cm.
    """
    pairs = [[v for v in readings[i : i + 2] if v is not None] for i in range(0, len(readings), 2)]
    means = [sum(pair) / len(pair) if pair else None for pair in pairs]
    known = [m for m in means if m is not None]
    base = median(known) if known else None
    if centre is not None:
        base = means[centre] if centre < len(means) else None
    judged: list[tuple[Answer | None, float | None]] = []
    for pair, mean in zip(pairs, means, strict=True):
        lean = None if mean is None or base is None else mean - base
        judged.append((_answer(pair, lean, rules), lean))
    return judged


def _answer(pair: Sequence[float], lean: float | None, rules: MeshRules) -> Answer | None:
    if not pair:
        return None
    if rules.limit is not None and min(pair) < rules.limit:
        return "below"
    allowed = rules.spread_limit
    if allowed is not None and lean is not None and abs(lean) > allowed / 2:
        return "soon"
    return "holds"


def correct_survey(desk: Desk, code: str, event_id: int, request: SurveyRequest) -> Judged:
    """Take a survey back and record other numbers at its time.

    Without a meter, or with the same one, it keeps the correction that was in force then.

    Raises
    ------
    NotPossible, NotFound, NotValid
        As `framekeeper.services.history.correct` does.
    """
    with desk.read() as reader:
        frame = find_frame(reader, code)
        meter = find_meter(reader, request.meter) if request.meter else None
        journal = reader.journal(frame.id)
    wrong = next((e for e in journal if e.event_id == event_id), None)
    if wrong is None or not isinstance(wrong.payload, Surveyed):
        raise NotFound(say("{frame} has no such survey.", frame=frame.name))
    right = replace(
        wrong.payload, moment=request.moment or wrong.payload.moment, readings=request.readings()
    )
    known = right.correction_n_per_cm + lifecycle.shift_of(journal, event_id)
    if meter is not None and meter.id != right.meter_id:
        right = replace(right, meter_id=meter.id, correction_n_per_cm=meter.correction)
        known = meter.correction
    done = correct(desk, code, event_id, right)
    figures = summarise(right.readings, correction_n_per_cm=known)
    return Judged(done.said, done.changes, done.codes, figures, frame_page(desk, code))
