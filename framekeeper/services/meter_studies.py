"""Gauge studies and comparisons: what the shop finds out about its meters and its people."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.records import MeterRecord, StudyRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.tension import valid_tension
from framekeeper.services.check import find_meter
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meters import edit_meter, facts_of
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.domain.gauge import GaugeStudy
    from framekeeper.domain.meters import Agreement
    from framekeeper.storage.unit_of_work import Work

GaugeRow = tuple[str, str, float]  # part, person, reading in N/cm
Pair = tuple[float, float]  # the same place read with the first and with the second meter, N/cm


@dataclass(frozen=True, slots=True)
class MeterStudy:
    """A study with what it says; `gauge` for one meter, `agreement` for two."""

    record: StudyRecord
    meter: MeterRecord
    other: MeterRecord | None = None
    gauge: GaugeStudy | None = None
    agreement: Agreement | None = None


@dataclass(frozen=True)
class StudyDone(Done):
    """A study that was saved, with what it says."""

    study: MeterStudy | None = field(default=None)


def save_gauge_study(
    desk: Desk, meter_name: str, rows: Sequence[GaugeRow], *, when: When = NOW
) -> StudyDone:
    """Record a gauge study: each person read each part equally often.

    Raises
    ------
    NotValid
        For a number that no meter can show, or a study that is not balanced.
    NotEnoughData
        For one part, person or repeat, and where repeats never differ.
    NotFound
        If the meter is not known.
    """
    for number, (_, _, reading) in enumerate(rows, start=1):
        valid_tension(reading, argument=f"reading {number}")
    _gauge(rows)
    with desk.work("gauge study") as work:
        meter = find_meter(work, meter_name)
        work.name_subject(meter.name)
        study_id = _add(work, "gauge", meter, None, rows, by=desk.by, when=when)
        changes = work.commit()
    return StudyDone(
        say("{meter}: gauge study saved.", meter=meter.name), changes, study=_one(desk, study_id)
    )


def save_comparison(
    desk: Desk, meter_name: str, other_name: str, pairs: Sequence[Pair], *, when: When = NOW
) -> StudyDone:
    """Record a comparison of two meters that read the same places, pair by pair.

    Raises
    ------
    NotValid
        For a number that no meter can show, or a meter that is compared with itself.
    NotEnoughData
        For fewer than three pairs, and where all differences are equal.
    NotFound
        If a meter is not known.
    """
    for number, (first, second) in enumerate(pairs, start=1):
        valid_tension(first, argument=f"first {number}")
        valid_tension(second, argument=f"second {number}")
    _agreement(pairs)
    with desk.work("compare meters") as work:
        meter, other = find_meter(work, meter_name), find_meter(work, other_name)
        if meter.id == other.id:
            raise NotValid(
                say("{meter} cannot be compared with itself.", meter=meter.name),
                hint=say("Choose another meter, or do a gauge study."),
                argument="other",
            )
        work.name_subject(meter.name)
        study_id = _add(work, "comparison", meter, other, pairs, by=desk.by, when=when)
        changes = work.commit()
    told = say("{meter} and {other}: comparison saved.", meter=meter.name, other=other.name)
    return StudyDone(told, changes, study=_one(desk, study_id))


def studies(desk: Desk) -> list[MeterStudy]:
    """List the studies with what they say, newest first."""
    with desk.read() as reader:
        records = reader.studies()
        meters = {m.id: m for m in reader.meters(with_hidden=True)}
    return [_computed(record, meters) for record in records]


def take_over_repeatability(desk: Desk, study: MeterStudy) -> Done:
    """Let the surveys of this meter be judged with the scatter that its gauge study found.

    What the people add is part of a reading in the shop, so it is the scatter of both.

    Raises
    ------
    NotPossible
        If the study compared two meters.
    """
    if study.gauge is None:
        raise NotPossible(say("A comparison of two meters says nothing about one reading again."))
    facts = replace(facts_of(study.meter), repeatability=round(study.gauge.gauge_sd, 3))
    return edit_meter(desk, study.meter.name, facts, version=study.meter.version)


def _add(
    work: Work,
    kind: str,
    meter: MeterRecord,
    other: MeterRecord | None,
    rows: Sequence[GaugeRow] | Sequence[Pair],
    *,
    by: str,
    when: When,
) -> int:
    from framekeeper.domain import lifecycle

    happened_at = when.happened_at or work.now
    lifecycle.check_time(happened_at, work.now)
    return work.add_row(
        "study",
        {
            "kind": kind,
            "meter_id": meter.id,
            "other_meter_id": None if other is None else other.id,
            "happened_at": happened_at,
            "readings": json.dumps([list(row) for row in rows], ensure_ascii=False),
            "by": by,
            "note": when.note.strip(),
        },
    )


def _one(desk: Desk, study_id: int) -> MeterStudy:
    return next(s for s in studies(desk) if s.record.id == study_id)


def _computed(record: StudyRecord, meters: dict[int, MeterRecord]) -> MeterStudy:
    meter = meters[record.meter_id]
    if record.other_meter_id is None:
        return MeterStudy(record, meter, gauge=_gauge(record.rows))
    other = meters[record.other_meter_id]
    return MeterStudy(record, meter, other, agreement=_agreement(record.rows))


def _gauge(rows: Sequence[Sequence[object]]) -> GaugeStudy:
    from framekeeper.domain.meters import gauge_study

    return gauge_study(
        [str(row[0]) for row in rows],
        [str(row[1]) for row in rows],
        [row[2] for row in rows],  # type: ignore[arg-type]
    )


def _agreement(pairs: Sequence[Sequence[object]]) -> Agreement:
    from framekeeper.domain.meters import agreement

    return agreement([p[0] for p in pairs], [p[1] for p in pairs])  # type: ignore[arg-type]
