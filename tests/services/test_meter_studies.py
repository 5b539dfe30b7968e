"""A study is kept with its readings and says what the maths says; bad input gets no number."""

from __future__ import annotations

import math

import pytest

from framekeeper.domain.errors import FramekeeperError, NotEnoughData, NotFound, NotValid
from framekeeper.services import history, meters
from framekeeper.services.desk import Desk
from framekeeper.services.meter_studies import (
    GaugeRow,
    save_comparison,
    save_gauge_study,
    studies,
    take_over_repeatability,
)
from framekeeper.services.meters import MeterFacts, add_meter
from tests.domain.published import agrees, columns, numbers

SHIFT = 20.0  # the study's parts lie around 0; as tensions they lie around this, spread unchanged


@pytest.fixture
def two(desk: Desk) -> Desk:
    add_meter(desk, MeterFacts("first"))
    add_meter(desk, MeterFacts("second"))
    return desk


def ten_parts() -> list[GaugeRow]:
    file = "gauge_10x3x3.csv"
    read = columns(file)
    values = [v + SHIFT for v in numbers(file, "value")]
    return list(zip(read["part"], read["operator"], values, strict=True))


def few(*, noise: float = 0.2) -> list[GaugeRow]:
    """Two parts, two people, twice."""
    return [
        (part, person, base + lean + noise * turn)
        for part, base in (("1", 20.0), ("2", 25.0))
        for person, lean in (("Ana", 0.0), ("Bo", 0.3))
        for turn in (0, 1)
    ]


def test_the_published_gauge_study_is_kept_and_worked_out(two: Desk) -> None:
    """Moving all parts by the same amount leaves every deviation as it is."""
    done = save_gauge_study(two, "first", ten_parts())
    (kept,) = studies(two)
    assert done.study == kept
    gauge = kept.gauge
    assert gauge is not None
    assert (gauge.parts, gauge.operators, gauge.repeats) == (10, 3, 3)
    for quantity, got in (
        ("ANOVA EV sigma", gauge.repeatability_sd),
        ("ANOVA AV sigma", gauge.reproducibility_sd),
        ("ANOVA PV sigma", gauge.part_sd),
        ("% study variation GRR", gauge.percent_of_variation),
    ):
        agrees("A5-O1", quantity, got)


def test_the_published_comparison_is_kept_and_worked_out(two: Desk) -> None:
    """Flows of 178 to 656 l/min become 8.9 to 32.8 N/cm by a twentieth, and the answer back."""
    file = "pefr_two_meters.csv"
    pairs = [
        (a / 20, b / 20)
        for a, b in zip(numbers(file, "large_1"), numbers(file, "mini_1"), strict=True)
    ]
    save_comparison(two, "first", "second", pairs)
    (kept,) = studies(two)
    assert kept.other is not None
    assert (kept.meter.name, kept.other.name) == ("first", "second")
    assert kept.agreement is not None
    agrees("A5-O2", "bias", 20 * kept.agreement.bias)
    agrees("A5-O2", "sd of differences", 20 * kept.agreement.sd)


def test_undo_hides_a_study_and_redo_shows_it(two: Desk) -> None:
    save_gauge_study(two, "first", few())
    save_comparison(two, "first", "second", [(20, 20.5), (21, 21.2), (25, 25.9)])
    history.undo(two)
    assert [s.record.kind for s in studies(two)] == ["gauge"]
    history.undo(two)
    assert studies(two) == []
    history.redo(two)
    assert [s.record.kind for s in studies(two)] == ["gauge"]


def test_the_scatter_that_was_found_becomes_the_meters(two: Desk) -> None:
    """Meter and people together; one undo brings the old value back."""
    done = save_gauge_study(two, "first", few())
    assert done.study is not None
    assert done.study.gauge is not None
    take_over_repeatability(two, done.study)
    assert meters.meters(two)[0].repeatability == pytest.approx(done.study.gauge.gauge_sd, abs=5e-4)
    history.undo(two)
    assert meters.meters(two)[0].repeatability == 0.3


def test_a_comparison_gives_no_scatter_to_take_over(two: Desk) -> None:
    done = save_comparison(two, "first", "second", [(20, 20.5), (21, 21.2), (25, 25.9)])
    assert done.study is not None
    with pytest.raises(FramekeeperError, match="one reading again"):
        take_over_repeatability(two, done.study)


def with_one(value: float) -> list[GaugeRow]:
    return [*few()[:-1], ("2", "Bo", value)]


@pytest.mark.parametrize(
    ("rows", "error"),
    [
        ([], NotEnoughData),
        (few()[:1], NotEnoughData),
        (few(noise=0.0), NotEnoughData),
        ([(p, who, 20.0) for p, who, _ in few()], NotEnoughData),
        (few()[:-1], NotValid),
        ([r for r in few() if r[1] == "Ana"], NotEnoughData),
        ([r for r in few() if r[0] == "1"], NotEnoughData),
        (with_one(math.nan), NotValid),
        (with_one(math.inf), NotValid),
        (with_one(0.0), NotValid),
        (with_one(250.0), NotValid),
    ],
)
def test_a_gauge_study_that_says_nothing_is_refused(
    two: Desk, rows: list[GaugeRow], error: type[FramekeeperError]
) -> None:
    """Nothing is stored."""
    with pytest.raises(error):
        save_gauge_study(two, "first", rows)
    assert studies(two) == []


@pytest.mark.parametrize(
    ("pairs", "error"),
    [
        ([], NotEnoughData),
        ([(20.0, 20.5)], NotEnoughData),
        ([(20.0, 20.5), (22.0, 22.5), (25.0, 25.5)], NotEnoughData),
        ([(20.0, 20.0)] * 5, NotEnoughData),
        ([(20.0, 20.5), (22.0, math.nan), (25.0, 25.1)], NotValid),
        ([(20.0, 20.5), (22.0, 22.1), (250.0, 25.1)], NotValid),
    ],
)
def test_a_comparison_that_says_nothing_is_refused(
    two: Desk, pairs: list[tuple[float, float]], error: type[FramekeeperError]
) -> None:
    with pytest.raises(error):
        save_comparison(two, "first", "second", pairs)
    assert studies(two) == []


def test_meters_that_are_unknown_or_the_same_are_refused(two: Desk) -> None:
    pairs = [(20.0, 20.5), (22.0, 22.1), (25.0, 25.1)]
    with pytest.raises(NotFound):
        save_gauge_study(two, "third", few())
    with pytest.raises(NotFound):
        save_comparison(two, "first", "third", pairs)
    with pytest.raises(NotValid) as refused:
        save_comparison(two, "first", "FIRST", pairs)
    assert refused.value.argument == "other"
    assert studies(two) == []
