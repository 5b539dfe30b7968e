"""The order in which the readings of a study are taken; a plan knows its next question."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.services import meter_studies
from framekeeper.services.desk import Desk
from framekeeper.services.meter_studies import StudyDone
from framekeeper.ui.text import tr, tr_count

Order = Callable[[Desk], StudyDone]
MOST_READINGS = 500
LEAST_PAIRS = 3


@dataclass(frozen=True, slots=True)
class GaugePlan:
    """Each person reads all screens once, then all again, so that nobody remembers a number."""

    meter: str
    parts: int
    people: tuple[str, ...]
    repeats: int

    kind = "gauge"

    def __post_init__(self) -> None:
        for name, count in (("parts", self.parts), ("repeats", self.repeats)):
            if count < 2:
                raise NotValid(say("A gauge study takes two at least."), argument=name)
        if len(self.people) < 2 or len(set(self.people)) < len(self.people):
            raise NotValid(
                say("A gauge study takes two people at least, each with a name of their own."),
                hint=say("Write the names with commas between, such as Ana, Bo, Cy."),
                argument="people",
            )
        if self.total > MOST_READINGS:
            raise NotValid(
                say("{total} readings are more than anybody types.", total=self.total),
                hint=say("Take fewer screens; 10 screens, 3 people and 3 times are usual."),
                argument="parts",
            )

    @property
    def total(self) -> int:
        """How many readings there will be."""
        return self.parts * len(self.people) * self.repeats

    def title(self) -> str:
        """Name the study."""
        return tr("Gauge study of {meter}", meter=self.meter)

    def where(self, number: int) -> tuple[int, str, int]:
        """Return screen, person and turn of a reading; screens and turns count from 1."""
        rest, part = divmod(number, self.parts)
        person, turn = divmod(rest, self.repeats)
        return part + 1, self.people[person], turn + 1

    def question(self, number: int) -> str:
        """Ask for a reading."""
        part, person, turn = self.where(number)
        return tr(
            "{person}, turn {turn} of {turns}: screen {part}",
            person=person,
            turn=turn,
            turns=self.repeats,
            part=part,
        )

    def progress(self, taken: int) -> str:
        """Say how far the study is."""
        return tr("{taken} of {total} numbers", taken=taken, total=self.total)

    def is_complete(self, taken: int) -> bool:
        """Whether the study can be worked out."""
        return taken == self.total

    def takes_more(self, taken: int) -> bool:
        """Whether there is a next question."""
        return taken < self.total

    def order(self, values: Sequence[float]) -> Order:
        """Save the study."""
        rows = []
        for number, value in enumerate(values):
            part, person, _ = self.where(number)
            rows.append((str(part), person, value))
        return lambda desk: meter_studies.save_gauge_study(desk, self.meter, rows)


@dataclass(frozen=True, slots=True)
class ComparisonPlan:
    """The same place read with the one meter, then with the other, as often as one likes."""

    meter: str
    other: str

    kind = "comparison"

    def title(self) -> str:
        """Name the study."""
        return tr("{meter} beside {other}", meter=self.meter, other=self.other)

    def question(self, number: int) -> str:
        """Ask for a reading."""
        meter = self.other if number % 2 else self.meter
        return tr("Place {place}: {meter}", place=number // 2 + 1, meter=meter)

    def progress(self, taken: int) -> str:
        """Say how far the study is."""
        pairs = taken // 2
        if pairs < LEAST_PAIRS:
            return tr_count(
                "{n} pair; three are the least, twenty tell more",
                "{n} pairs; three are the least, twenty tell more",
                pairs,
            )
        return tr_count("{n} pair", "{n} pairs", pairs)

    def is_complete(self, taken: int) -> bool:
        """Whether the study can be worked out."""
        return taken % 2 == 0 and taken // 2 >= LEAST_PAIRS

    def takes_more(self, taken: int) -> bool:
        """Whether there is a next question."""
        return taken < MOST_READINGS

    def order(self, values: Sequence[float]) -> Order:
        """Save the study."""
        pairs = list(zip(values[::2], values[1::2], strict=True))
        return lambda desk: meter_studies.save_comparison(desk, self.meter, self.other, pairs)


Plan = GaugePlan | ComparisonPlan


def kept_plan(plan: Plan) -> dict[str, Any]:
    """Turn a plan into what a file can keep."""
    if isinstance(plan, ComparisonPlan):
        return {"kind": plan.kind, "meter": plan.meter, "other": plan.other}
    return {
        "kind": plan.kind,
        "meter": plan.meter,
        "parts": plan.parts,
        "people": list(plan.people),
        "repeats": plan.repeats,
    }


def plan_from(kept: dict[str, Any]) -> Plan | None:
    """Turn back what a file has kept; None where it cannot be read."""
    try:
        if kept["kind"] == ComparisonPlan.kind:
            return ComparisonPlan(str(kept["meter"]), str(kept["other"]))
        people = tuple(str(name) for name in kept["people"])
        return GaugePlan(str(kept["meter"]), int(kept["parts"]), people, int(kept["repeats"]))
    except (KeyError, TypeError, ValueError):
        return None
