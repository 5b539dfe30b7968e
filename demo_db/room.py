"""The screen room while its history is being made: screens, shelf, and one running clock."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from framekeeper.domain.due import FrameRules, MeshRules, Task, due_tasks
from framekeeper.domain.events import Moment, Payload, Surveyed
from framekeeper.domain.frame_state import FrameState, State
from framekeeper.domain.records import FrameRecord
from framekeeper.services.find import subject_of
from framekeeper.storage.chronicle import Chronicle

from .cloth import Cloth, read
from .scenario import LARGE, METERS, MM_PER_INCH, MeshPlan, MeterPlan

MINUTE = dt.timedelta(minutes=1)
FRESH_DAYS = 10
LONGEST_PAUSE = dt.timedelta(minutes=30)  # more would mean that two benches overlap by mistake


@dataclass
class ShelfRoll:
    """A roll with what is left on it."""

    roll_id: int
    left_mm: int


@dataclass
class MeshInShop:
    """A cloth with its place in the register and on the shelf."""

    plan: MeshPlan
    mesh_type_id: int
    rules: MeshRules
    rolls: list[ShelfRoll] = field(default_factory=list)

    @property
    def target(self) -> float:
        """What this shop stretches it to."""
        assert self.rules.target is not None
        return self.rules.target


@dataclass
class Screen:
    """A frame with the cloth that truly is on it."""

    frame: FrameRecord
    mesh: MeshInShop
    cloth: Cloth | None = None
    has_bad_luck: bool = False  # its mesh never lasts, so it will want a regrind

    @property
    def pattern(self) -> str:
        """The points at which this shop reads it: six on the large frames."""
        return "6" if round(self.frame.height_mm / MM_PER_INCH) == LARGE[1] else "5"


class Room:
    """Everything that the benches share while the history is made."""

    def __init__(self, work: Chronicle, rng: np.random.Generator, now: dt.datetime) -> None:
        self.work = work
        self.rng = rng
        self.now = now.astimezone(dt.UTC)  # the moment that the demo calls now
        self.zone: dt.tzinfo = now.tzinfo or dt.UTC
        self.clock = self.now  # the moment that is being made
        self.screens: list[Screen] = []
        self.meshes: list[MeshInShop] = []
        self.meter_ids: dict[str, int] = {}
        self.frame_rules = FrameRules()
        self.late: list[tuple[Screen, dt.datetime, Surveyed]] = []  # read, not entered yet
        self.kept_outside: list[Screen] = []  # still out, or late, when the demo opens
        self.overlooked: set[int] = set()  # frames that the last rounds walked past

    # time and entries

    @property
    def today(self) -> dt.date:
        """The date of now, in the zone in which the demo opens."""
        return self.now.astimezone(self.zone).date()

    def time(self, day: dt.date, hour: int, minute: int = 0) -> dt.datetime:
        """Return a moment of a day by the clock on the shop's wall."""
        return dt.datetime.combine(day, dt.time(hour, minute), self.zone).astimezone(dt.UTC)

    def enter(
        self,
        action: str,
        by: str,
        at: dt.datetime,
        *,
        subject: str = "",
        entered_at: dt.datetime | None = None,
    ) -> None:
        """Begin an operation that happens at `at` and is entered within a minute, or later."""
        pause = dt.timedelta(seconds=int(self.rng.integers(8, 50)))
        soonest = self.clock + pause / 8
        recorded_at = max(entered_at or at + pause, soonest)
        if recorded_at - (entered_at or at) > LONGEST_PAUSE:
            raise AssertionError(f"{action} at {at} would not be entered before {recorded_at}")
        self.clock = recorded_at
        self.work.begin(action, by=by, now=recorded_at, subject=subject)

    def record(
        self,
        action: str,
        by: str,
        at: dt.datetime,
        screens: Sequence[Screen],
        *payloads: Payload,
        note: str = "",
    ) -> None:
        """Enter the same events for some screens as one operation."""
        if not screens:
            return
        self.enter(action, by, at, subject=subject_of(s.frame for s in screens))
        for screen in screens:
            for payload in payloads:
                self.work.record(screen.frame.id, payload, happened_at=at, note=note)

    def state(self, screen: Screen, at: dt.datetime | None = None) -> FrameState:
        """Return what the journal says of a screen so far."""
        return self.work.state(screen.frame.id).at(at or self.clock)

    def in_state(self, *states: State) -> list[Screen]:
        """List the screens in some states, by their number."""
        return [s for s in self.screens if self.state(s).state in states]

    def free_to_use(self) -> list[Screen]:
        """List the screens that are ready, not on hold and not set aside."""
        found = []
        for screen in self.in_state("ready"):
            state = self.state(screen)
            if state.hold_reason is None and state.reserved_job is None:
                found.append(screen)
        return found

    def due(self, screen: Screen) -> tuple[Task, ...]:
        """List what will be due for a screen at the moment that the demo calls now."""
        state = self.work.state(screen.frame.id)
        rules = screen.mesh.rules
        if state.life is not None:
            rules = next(m.rules for m in self.meshes if m.mesh_type_id == state.life.mesh_type_id)
        return due_tasks(state, rules, self.frame_rules, now=self.now, zone=self.zone)

    # chance

    def chance(self, share: float) -> bool:
        """Say yes in this share of all cases."""
        return float(self.rng.random()) < share

    def some(self, screens: Iterable[Screen], most: int) -> list[Screen]:
        """Pick some screens at random, in the order of their numbers."""
        listed = list(screens)
        if len(listed) <= most:
            return listed
        picked = self.rng.choice(len(listed), size=most, replace=False)
        return [listed[i] for i in sorted(int(p) for p in picked)]

    def one_of(self, texts: Sequence[str]) -> str:
        """Pick one text."""
        return texts[int(self.rng.integers(len(texts)))]

    # readings

    def meter(self, at: dt.datetime) -> MeterPlan:
        """Pick up a meter; the one whose certificate ran out is left in its case afterwards."""
        valid = [m for m in METERS if self.now + dt.timedelta(days=m.certificate_in_days) > at]
        shares = np.array([m.share for m in valid])
        return valid[int(self.rng.choice(len(valid), p=shares / shares.sum()))]

    def measure(
        self,
        screen: Screen,
        at: dt.datetime,
        moment: Moment,
        *,
        pattern: str = "",
        meter: MeterPlan | None = None,
    ) -> Surveyed:
        """Read a screen with the meter at hand."""
        if screen.cloth is None:
            raise AssertionError(f"{screen.frame.name} has no mesh to read")
        used = meter or self.meter(at)
        readings = read(
            screen.cloth,
            used,
            self.rng,
            at,
            pattern=pattern or screen.pattern,
            in_clamps=moment == "in_clamps",
        )
        return Surveyed(moment, readings, self.meter_ids[used.name], used.correction)

    def survey(
        self, screen: Screen, by: str, at: dt.datetime, *, pattern: str = "", note: str = ""
    ) -> None:
        """Read a screen that was released and enter the readings."""
        life = self.state(screen, at).life
        is_fresh = (
            life is not None
            and life.survey is None
            and life.day0_at is not None
            and (at - life.day0_at).days < FRESH_DAYS  # mesh that was found is not fresh
        )
        moment: Moment = "after_release" if is_fresh else "in_service"
        survey = self.measure(screen, at, moment, pattern=pattern)
        self.record("survey", by, at, [screen], survey, note=note)
