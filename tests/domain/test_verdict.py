"""The verdict on a survey: three answers, reasons, and what likely went wrong."""

from __future__ import annotations

import doctest
import math
import subprocess
import sys
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framekeeper.domain import verdict as verdict_module
from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.points import point_pattern
from framekeeper.domain.survey import SurveyResult, evaluate
from framekeeper.domain.survey_rules import BALANCED_WITHIN_N_PER_CM, EVEN_WITHIN_N_PER_CM

Z = NormalDist().inv_cdf(0.95)
FRESH = {
    "target": 22.0,
    "tolerance": 2.0,
    "spread_limit": 2.0,
    "balance_limit": 2.0,
    "u_meter": 0.3,
    "repeatability": 0.2,
}
IN_SERVICE = {**FRESH, "limit": 18.0}
FIVE = point_pattern("5", 584.2, 787.4)  # 23 x 31 in
SIX = point_pattern("6", 584.2, 787.4)
NINE = point_pattern("9", 584.2, 787.4)


def even(level: float, n: int = 5) -> tuple[list[float], list[float]]:
    """Readings that scatter by 0.2 about a level, warp and weft."""
    lean = [0.2 * ((i % 3) - 1) for i in range(n)]
    return [level + d for d in lean], [level - d for d in lean]


def kinds(result: SurveyResult) -> list[tuple[str, str]]:
    return [(f.kind, f.place) for f in result.findings]


# --- the figures --------------------------------------------------------------------------------


def test_the_figures_by_hand() -> None:
    result = evaluate([24, 22, 23], [21, 19, 22], **FRESH)
    assert result.mean == pytest.approx(131 / 6)
    assert (result.mean_warp, result.mean_weft) == pytest.approx((23, 62 / 3))
    assert result.spread == 5
    assert result.imbalance == pytest.approx(23 - 62 / 3)
    assert (result.lowest, result.highest, result.n) == (19, 24, 6)
    assert result.deviations == pytest.approx((0.0, -2.0, 0.0))
    assert result.compared_with == "median"


def test_the_uncertainty_of_the_mean_by_hand() -> None:
    """Averaging ten readings shrinks repeatability, not the meter's bias nor its step."""
    rules = {**FRESH, "u_meter": 0.4, "repeatability": 0.5}
    result = evaluate(*even(22), **rules, resolution=0.5)
    assert result.u_mean**2 == pytest.approx(0.16 + 0.25 / 10 + 0.25 / 12)
    assert evaluate(*even(22), **rules).u_mean ** 2 == pytest.approx(0.16 + 0.25 / 10)


def test_deviations_are_from_the_centre_where_a_point_is_there() -> None:
    warp, weft = [22, 23, 21, 24, 20], [22, 23, 21, 24, 20]
    result = evaluate(warp, weft, points=FIVE, **FRESH)
    assert result.compared_with == "centre"
    assert result.deviations == (0, 1, -1, 2, -2)
    result = evaluate([*warp, 22], [*weft, 22], points=SIX, **FRESH)
    assert result.compared_with == "median"


readings = st.lists(st.tuples(st.floats(5, 45), st.floats(5, 45)), min_size=2, max_size=12)


@given(pairs=readings)
def test_the_figures_equal_those_of_a_second_way(pairs: list[tuple[float, float]]) -> None:
    table = np.array(pairs)
    result = evaluate(table[:, 0], table[:, 1], **IN_SERVICE)
    assert result.mean == pytest.approx(table.mean())
    assert result.spread == pytest.approx(np.ptp(table))
    assert result.imbalance == pytest.approx(abs(float(np.diff(table.mean(axis=0))[0])))
    means = table.mean(axis=1)
    assert result.deviations == pytest.approx(means - np.median(means))


# --- three answers ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("level", "expected"),
    [(22.0, "inside"), (23.4, "inside"), (24.0, "too close to call"), (24.6, "outside"),
     (20.6, "inside"), (20.1, "too close to call"), (19.4, "outside")],
)  # fmt: skip
def test_a_fresh_stretch_against_its_target(level: float, expected: str) -> None:
    """22 -/+ 2 with an uncertainty of 0.31: the guard band is 0.5 to each side of 20 and 24."""
    result = evaluate(*even(level), **FRESH)
    assert result.verdict == expected
    assert result.reasons


def guard() -> float:
    return Z * math.sqrt(0.3**2 + 0.2**2 / 10)


@pytest.mark.parametrize(("beyond", "expected"), [(0.01, "inside"), (-0.01, "too close to call")])
def test_the_guard_band_ends_where_the_norm_says(beyond: float, expected: str) -> None:
    level = 20 + guard() + beyond
    assert evaluate([level] * 5, [level] * 5, **FRESH).verdict == expected
    level = 20 - guard() - beyond
    expected = "outside" if beyond > 0 else expected
    assert evaluate([level] * 5, [level] * 5, **FRESH).verdict == expected


def test_a_screen_in_service_is_not_judged_by_target_or_evenness() -> None:
    result = evaluate([30, 26, 25, 21, 24], [30, 26, 25, 21, 24], **IN_SERVICE)
    assert result.verdict == "inside"
    without = {**IN_SERVICE, "target": None, "tolerance": None}
    assert evaluate([30, 26, 25, 21, 24], [30, 26, 25, 21, 24], **without).verdict == "inside"


def test_one_low_point_pulls_a_screen_whose_mean_is_fine() -> None:
    warp, weft = [24, 24, 24, 24, 17], [24, 24, 24, 24, 17]
    result = evaluate(warp, weft, points=FIVE, **IN_SERVICE)
    assert result.verdict == "outside"
    assert [str(r) for r in result.reasons] == [
        "The lowest reading of 17.0 N/cm is below the limit of 18.0 by more than its error of up "
        "to 0.6."
    ]


@pytest.mark.parametrize(
    ("level", "expected"), [(19, "inside"), (18.2, "too close to call"), (17.0, "outside")]
)
def test_a_screen_in_service_against_its_limit(level: float, expected: str) -> None:
    assert evaluate([level] * 5, [level] * 5, **IN_SERVICE).verdict == expected


@pytest.mark.parametrize(
    ("spread", "expected"), [(1.4, "inside"), (2.0, "too close to call"), (2.6, "outside")]
)
def test_evenness_of_a_fresh_stretch(spread: float, expected: str) -> None:
    """Even within 2 N/cm is a good stretch (common practice, no source); u is 0.28, guard 0.47."""
    half = spread / 2
    warp, weft = [22 + half, 22, 22 - half], [22 + half, 22, 22 - half]
    result = evaluate(warp, weft, **FRESH)
    assert result.verdict == expected
    assert evaluate(warp, weft, **{**FRESH, "spread_limit": None}).verdict == "inside"


@pytest.mark.parametrize(
    ("gap", "expected"), [(1.7, "inside"), (2.0, "too close to call"), (2.4, "outside")]
)
def test_balance_of_warp_and_weft(gap: float, expected: str) -> None:
    rules = {**FRESH, "spread_limit": None}
    warp, weft = [22 + gap / 2] * 5, [22 - gap / 2] * 5
    assert evaluate(warp, weft, **rules).verdict == expected
    assert evaluate(warp, weft, **{**rules, "balance_limit": None}).verdict == "inside"


def test_the_error_of_a_difference_is_that_of_both_its_ends() -> None:
    """Two readings of 0.2 and half a step of 0.5: sqrt(2) hypot(0.2, 0.144) = 0.35, guard 0.57.

    JCGM 100:2008, clause 5.1.2: the variances of the two ends add up.
    """
    rules = {**FRESH, "resolution": 0.5, "balance_limit": None}
    for spread, expected in ((1.40, "inside"), (1.46, "too close to call")):
        ends = [22 + spread / 2, 22, 22 - spread / 2]
        assert evaluate(ends, ends, **rules).verdict == expected


def test_a_screen_that_may_be_low_but_reads_above_its_limit_is_not_called_low() -> None:
    result = evaluate([18.2] * 5, [18.2] * 5, points=FIVE, **IN_SERVICE)
    assert result.verdict == "too close to call"
    assert result.findings == ()


def test_a_meter_of_unknown_bias_blurs_the_mean_but_no_difference() -> None:
    blurred = {**FRESH, "u_meter": 3.0}
    result = evaluate(*even(22), **blurred)
    assert result.verdict == "too close to call"
    assert len(result.reasons) == 1, "only the mean is undecided"


def test_more_points_help_only_against_scatter() -> None:
    noisy = {**FRESH, "u_meter": 0.1, "repeatability": 1.0, "spread_limit": None}
    assert evaluate([20.6] * 2, [20.6] * 2, **noisy).verdict == "too close to call"
    assert evaluate([20.6] * 9, [20.6] * 9, **noisy).verdict == "inside"
    biased = {**noisy, "u_meter": 1.0, "repeatability": 0.1}
    assert evaluate([20.6] * 9, [20.6] * 9, **biased).verdict == "too close to call"


def test_what_is_certain_outweighs_what_is_close_and_both_are_told() -> None:
    warp, weft = [19.5, 19.5, 19.5, 19.5, 23.0], [19.5, 19.5, 19.5, 19.5, 23.0]
    result = evaluate(warp, weft, **FRESH)
    assert result.verdict == "outside"
    said = [str(r) for r in result.reasons]
    assert len(said) == 2
    assert said[0].startswith("The mean of 20.2 N/cm may lie on either side")
    assert said[1].startswith("Highest and lowest reading are 3.5 N/cm apart, more than 2.0")


def test_an_accepted_stretch_says_why() -> None:
    said = [str(r) for r in evaluate(*even(22), **FRESH).reasons]
    assert said == [
        "The mean of 22.0 N/cm keeps 20.0 to 24.0, its error of up to 0.5 included.",
        "Highest and lowest reading are 0.4 N/cm apart, within 2.0.",
        "Warp and weft differ by 0.1 N/cm, within 2.0.",
    ]


# --- what likely went wrong ---------------------------------------------------------------------


def dented(points, low: set[int], by: float, level: float = 22.0) -> SurveyResult:
    """A screen with some points lower by `by`, readings scattered by 0.1."""
    warp = [level - (by if i in low else 0) + 0.1 * (-1) ** i for i in range(len(points))]
    weft = [level - (by if i in low else 0) - 0.1 * (-1) ** i for i in range(len(points))]
    return evaluate(warp, weft, points=points, **FRESH)


def on(points, test) -> set[int]:
    return {i for i, (x, y) in enumerate(points) if test(x, y)}


SIDES = {
    "left": lambda x, y: x < 200,
    "right": lambda x, y: x > 400,
    "top": lambda x, y: y < 200,
    "bottom": lambda x, y: y > 600,
}


@pytest.mark.parametrize("points", [FIVE, SIX, NINE], ids=["5", "6", "9"])
@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("by", [1.5, 4.0])
def test_a_low_side_is_named_with_its_likely_cause(points, side: str, by: float) -> None:
    result = dented(points, on(points, SIDES[side]), by)
    assert kinds(result) == [("low side", side)]
    finding = result.findings[0]
    assert finding.by_n_per_cm == pytest.approx(by, abs=0.1)
    assert (
        str(finding.said)
        == f"The {side} side is {finding.by_n_per_cm:.1f} N/cm lower than the rest."
    )
    assert str(result.causes[0]) == (
        "Likely cause: a bent bar, or adhesive that slipped along this side."
    )


def test_a_point_a_third_in_does_not_belong_to_the_side() -> None:
    """Own points may lie anywhere; only those at the edge tell how low a side is."""
    points = [(x, y) for y in (100, 700) for x in (100, 310, 490, 700)]
    result = dented(points, on(points, lambda x, y: x == 100), 4.0)
    assert kinds(result) == [("low side", "left")]
    assert result.findings[0].by_n_per_cm == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("points", [FIVE, SIX, NINE], ids=["5", "6", "9"])
@pytest.mark.parametrize("down", ["top", "bottom"])
@pytest.mark.parametrize("across", ["left", "right"])
@pytest.mark.parametrize("by", [1.5, 4.0])
def test_a_low_corner_is_told_from_a_low_side(points, down: str, across: str, by: float) -> None:
    corner = on(points, SIDES[down]) & on(points, SIDES[across])
    assert len(corner) == 1
    result = dented(points, corner, by)
    assert kinds(result) == [("low corner", f"{down} {across}")]
    assert "pulled away at this corner" in str(result.causes[0])
    assert str(result.causes[0]).startswith("Likely cause:")


@pytest.mark.parametrize("points", [FIVE, SIX, NINE], ids=["5", "6", "9"])
def test_an_even_low_tension_is_neither_side_nor_corner(points) -> None:
    result = dented(points, set(), 0, level=18.5)
    assert kinds(result) == [("low throughout", "")]
    assert result.findings[0].by_n_per_cm == pytest.approx(1.5, abs=0.1)
    assert str(result.causes[0]).startswith("Likely cause: too little pull")
    worn = evaluate(*even(17.0), points=FIVE, **IN_SERVICE)
    assert kinds(worn) == [("low throughout", "")]
    assert "relaxed" in str(worn.causes[0])


@pytest.mark.parametrize(("warp", "weft", "low"), [(20.0, 23.0, "warp"), (23.0, 20.0, "weft")])
def test_a_low_direction_is_told_from_an_even_low_tension(warp, weft, low: str) -> None:
    result = evaluate([warp] * 5, [weft] * 5, points=FIVE, **FRESH)
    assert kinds(result) == [("unbalanced", low)]
    assert result.findings[0].by_n_per_cm == pytest.approx(3.0)
    assert str(result.causes[0]).startswith("Likely cause: both directions were not pulled alike")


def test_a_good_screen_has_no_finding() -> None:
    for points in (FIVE, SIX, NINE):
        result = dented(points, set(), 0)
        assert (result.verdict, result.findings, result.causes) == ("inside", (), ())


def test_two_opposite_low_corners_are_uneven_without_a_side() -> None:
    low = on(FIVE, lambda x, y: (x < 200) == (y < 200)) - {0}
    assert len(low) == 2
    result = dented(FIVE, low, 3.0)
    assert kinds(result) == [("uneven", "")]
    assert result.causes == ()


def test_a_spread_of_five_or_more_is_a_failed_stretch_or_a_bent_frame() -> None:
    """Published trade advice."""
    result = evaluate([25, 22, 20, 24, 19], [25, 22, 20, 24, 19], **FRESH)
    assert kinds(result) == [("uneven", "")]
    assert str(result.causes[0]) == "Likely cause: a stretch that failed, or a bent frame."
    assert str(result.findings[0].said).endswith("where the points lie is not known.")


def test_scatter_alone_names_no_side() -> None:
    """A meter that repeats to 1.5 N/cm cannot show a side that is 1.2 lower."""
    low = on(SIX, SIDES["left"])
    warp = [21.0 if i in low else 22.2 for i in range(6)]
    steady = evaluate(warp, warp, points=SIX, **FRESH)
    assert kinds(steady) == [("low side", "left")]
    noisy = evaluate(warp, warp, points=SIX, **{**FRESH, "repeatability": 1.5})
    assert kinds(noisy) == []


def test_random_even_screens_are_rarely_blamed() -> None:
    """300 even screens read with the stated scatter: a side or corner is hardly ever named."""
    rng = np.random.default_rng(3)
    blamed = 0
    for _ in range(300):
        table = rng.normal(22, 0.2, (2, 9))
        blamed += bool(evaluate(*table, points=NINE, **FRESH).findings)
    assert blamed <= 3


# --- changes that must not matter, or must in one way --------------------------------------------


@given(pairs=readings, seed=st.integers(0, 99))
def test_the_order_of_the_points_does_not_matter(pairs, seed: int) -> None:
    table = np.array(pairs)
    order = np.random.default_rng(seed).permutation(len(table))
    places = np.array([(37.0 * i, (i * i * 53.0) % 400) for i in range(len(table))])
    plain = evaluate(table[:, 0], table[:, 1], points=places, **FRESH)
    mixed = evaluate(table[order, 0], table[order, 1], points=places[order], **FRESH)
    assert mixed.mean == pytest.approx(plain.mean)
    assert mixed.verdict == plain.verdict
    assert [mixed.deviations[list(order).index(i)] for i in range(len(table))] == pytest.approx(
        plain.deviations
    )
    assert kinds(mixed) == kinds(plain)


@given(pairs=readings, scale=st.floats(0.2, 1.3))
def test_another_unit_of_tension_changes_no_verdict(pairs, scale: float) -> None:
    table = np.array(pairs)
    assume(np.abs(table * scale).max() < 60)
    plain = evaluate(table[:, 0], table[:, 1], **FRESH)
    scaled = {name: value * scale for name, value in FRESH.items()}
    changed = evaluate(table[:, 0] * scale, table[:, 1] * scale, **scaled)
    assert changed.u_mean == pytest.approx(plain.u_mean * scale)
    assert changed.spread == pytest.approx(plain.spread * scale)
    assert changed.deviations == pytest.approx(np.array(plain.deviations) * scale)
    assert changed.verdict == plain.verdict


@given(pairs=readings)
def test_warp_and_weft_may_be_exchanged(pairs) -> None:
    table = np.array(pairs)
    plain = evaluate(table[:, 0], table[:, 1], **FRESH)
    turned = evaluate(table[:, 1], table[:, 0], **FRESH)
    assert (turned.mean, turned.imbalance) == pytest.approx((plain.mean, plain.imbalance))
    assert turned.verdict == plain.verdict


@given(turn=st.sampled_from([1, 2, 3]), low=st.sampled_from(sorted(SIDES)))
def test_a_frame_that_is_turned_on_the_table_turns_its_finding(turn: int, low: str) -> None:
    """A quarter turn carries left to top, top to right, right to bottom, bottom to left."""
    carried = ["left", "top", "right", "bottom"]
    points = np.array(SIX)
    for _ in range(turn):
        points = np.column_stack([1000 - points[:, 1], points[:, 0]])
    members = on(SIX, SIDES[low])
    warp = [19.0 if i in members else 22.0 for i in range(6)]
    result = evaluate(warp, warp, points=points, **FRESH)
    expected = carried[(carried.index(low) + turn) % 4]
    assert kinds(result) == [("low side", expected)]


@given(level=st.floats(10, 30), more=st.floats(0, 5))
def test_a_tighter_screen_in_service_never_gets_a_worse_answer(level: float, more: float) -> None:
    rank = ["outside", "too close to call", "inside"]
    before = evaluate([level] * 5, [level] * 5, **IN_SERVICE).verdict
    after = evaluate([level + more] * 5, [level + more] * 5, **IN_SERVICE).verdict
    assert rank.index(after) >= rank.index(before)


@pytest.mark.parametrize("level", [20.5, 19.5])
def test_the_answer_is_rarely_wrong(level: float) -> None:
    """Simulated meters with a bias and scatter: a clear answer about the mean errs in 5 % at most.

    The truth is 0.5 off the edge of the band; evenness is not judged.
    """
    rng = np.random.default_rng(11)
    rules = {**FRESH, "spread_limit": None, "balance_limit": None}
    wrong = 0
    for _ in range(2000):
        table = level + rng.normal(0, 0.3) + rng.normal(0, 0.2, (2, 5))
        wrong += evaluate(*table, **rules).verdict == ("outside" if level > 20 else "inside")
    assert wrong <= 2000 * 0.05 + 4 * math.sqrt(2000 * 0.05 * 0.95)


# --- facts of the practitioner: common practice, no source --------------------------------------


def test_facts_of_the_practitioner() -> None:
    """Common practice, no source: even within 2 N/cm, warp to weft within 2, six points."""
    assert EVEN_WITHIN_N_PER_CM == 2.0
    assert BALANCED_WITHIN_N_PER_CM == MeshRules().balance_limit == 2.0
    assert len(SIX) == 6
    by_default = {
        name: value
        for name, value in FRESH.items()
        if name not in ("spread_limit", "balance_limit")
    }
    good = evaluate([22.6, 22.2, 21.9, 22.4, 21.8, 22.1], [22, 21.8, 21.6, 22.3, 21.7, 21.5],
                    points=SIX, **by_default)  # fmt: skip
    assert good.verdict == "inside"
    uneven = evaluate([23.6, 22.2, 20.9, 22.4, 21.8, 22.1], [22, 21.8, 20.9, 22.3, 21.7, 21.5],
                      points=SIX, **by_default)  # fmt: skip
    assert uneven.verdict == "outside"


def test_another_mesh_another_target() -> None:
    """The same readings are good for one mesh and too low for another (common practice)."""
    warp, weft = even(22)
    assert evaluate(warp, weft, **FRESH).verdict == "inside"
    assert evaluate(warp, weft, **{**FRESH, "target": 28.0}).verdict == "outside"


# --- what is refused ----------------------------------------------------------------------------

W5 = [22.0, 22.1, 21.9, 22.2, 21.8]


@pytest.mark.parametrize(
    ("warp", "weft", "more", "argument"),
    [
        (W5, [], {}, "weft"),
        ([], W5, {}, "warp"),
        (W5, W5[:4], {}, "weft"),
        (W5[:4], W5, {}, "warp"),
        ([*W5[:4], math.nan], W5, {}, "warp"),
        (W5, [*W5[:4], math.inf], {}, "weft"),
        (W5, [*W5[:4], 0.0], {}, "weft"),
        (W5, [*W5[:4], -3.0], {}, "weft"),
        (W5, [*W5[:4], 220.0], {}, "weft"),
        (W5, [*W5[:4], "tight"], {}, "weft"),
        ([W5, W5], W5, {}, "warp"),
        (22.0, W5, {}, "warp"),
        (W5, W5, {"target": math.nan}, "target"),
        (W5, W5, {"target": None}, "target"),
        (W5, W5, {"tolerance": 0.0}, "tolerance"),
        (W5, W5, {"tolerance": None}, "tolerance"),
        (W5, W5, {"limit": -1.0}, "limit"),
        (W5, W5, {"limit": math.nan}, "limit"),
        (W5, W5, {"spread_limit": 0.0}, "spread_limit"),
        (W5, W5, {"balance_limit": math.nan}, "balance_limit"),
        (W5, W5, {"u_meter": -0.1}, "u_meter"),
        (W5, W5, {"u_meter": math.nan}, "u_meter"),
        (W5, W5, {"u_meter": None}, "u_meter"),
        (W5, W5, {"repeatability": math.inf}, "repeatability"),
        (W5, W5, {"resolution": -0.5}, "resolution"),
        (W5, W5, {"risk": 0.0}, "risk"),
        (W5, W5, {"points": FIVE[:4]}, "points"),
        (W5, W5, {"points": [(0, 0)] * 5}, "points"),
        (W5, W5, {"points": [(0, 0, 0)] * 5}, "points"),
        (W5, W5, {"points": [*FIVE[:4], (math.nan, 0)]}, "points"),
        (W5, W5, {"points": "where"}, "points"),
    ],
)
def test_what_cannot_be_is_refused_by_name(warp, weft, more: dict, argument: str) -> None:
    with pytest.raises(NotValid) as refused:
        evaluate(warp, weft, **{**FRESH, **more})
    assert refused.value.argument == argument


@pytest.mark.parametrize(("warp", "weft"), [([], []), ([22.0], [21.5])])
def test_too_few_points_give_an_error_and_no_number(warp, weft) -> None:
    with pytest.raises(NotEnoughData):
        evaluate(warp, weft, **FRESH)


def test_readings_that_are_all_equal_are_an_even_screen() -> None:
    """The uncertainty comes from the meter, not from the readings, so the answer is honest."""
    result = evaluate([22.0] * 5, [22.0] * 5, points=FIVE, **FRESH)
    assert (result.verdict, result.spread, result.imbalance) == ("inside", 0, 0)
    assert result.u_mean == pytest.approx(math.sqrt(0.3**2 + 0.2**2 / 10))


def test_points_on_one_line_name_no_corner() -> None:
    line = [(100.0 * i, 0.0) for i in range(5)]
    result = evaluate([19, 22, 22, 22, 22], [19, 22, 22, 22, 22], points=line, **FRESH)
    assert kinds(result) == [("uneven", "")]


def test_the_verdict_is_there_without_numpy() -> None:
    """The first window needs domain.survey; numpy would hold it up."""
    code = (
        "import sys, framekeeper.domain.survey as s;"
        "s.evaluate([22, 22.5], [22, 21.5], target=22, tolerance=2, spread_limit=2,"
        "balance_limit=2, u_meter=.3, repeatability=.2);"
        "sys.exit('numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_example_in_the_docstring_holds() -> None:
    tried = doctest.testmod(verdict_module)
    assert (tried.failed, tried.attempted > 0) == (0, True)
