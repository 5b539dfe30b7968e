"""The starter book of mesh: every value has its source, estimates are marked, nothing is odd."""

from __future__ import annotations

import json
import re
from itertools import pairwise

import pytest

from framekeeper.domain.mesh import Mesh, per_cm, per_inch, suggest_target, target_warning
from framekeeper.domain.mesh_names import read_mesh
from framekeeper.domain.points import point_pattern
from framekeeper.services.settings import ShopSettings
from framekeeper.shipped import find

BOOK = json.loads(find("resources/starter_mesh_book.json").read_text(encoding="utf-8"))
GRADES = {grade["name"]: grade for grade in BOOK["grades"]}
SOURCES = BOOK["sources"]
MEASURES = ("weave", "opening_um", "thickness_um", "suggested_tension_n_per_cm", "colours")

each_grade = pytest.mark.parametrize("grade", BOOK["grades"], ids=lambda g: g["name"])


def count_per_cm(grade: dict) -> float:
    return grade["count"] if grade["count_unit"] == "cm" else per_cm(grade["count"])


def given(grade: dict, name: str) -> float | None:
    """A value of the book, unless a rule of the program estimated it."""
    entry = grade[name]
    return None if entry["source"].startswith("rule_") else entry["value"]


def mesh_of(grade: dict) -> Mesh:
    return Mesh(
        count_per_cm(grade),
        grade["thread_um"],
        weave=grade["weave"]["value"],
        opening_um=given(grade, "opening_um"),
        thickness_um=given(grade, "thickness_um"),
    )


def test_the_bases_are_told_in_these_words_only() -> None:
    assert {source["basis"] for source in SOURCES.values()} == {
        "published",
        "estimated",
        "from memory",
        "common practice, no source",
    }


def test_every_source_is_used_and_every_value_names_one() -> None:
    used = {BOOK["dyed_mesh"]["source"]}
    for grade in GRADES.values():
        used.update(grade["designation"])
        used.update(grade[name]["source"] for name in MEASURES)
        for entry in (*grade["sold_per_inch"], *grade["published_tensions_n_per_cm"]):
            used.add(entry["source"])
    assert used == set(SOURCES)


def test_no_grade_is_there_twice() -> None:
    """Cloth is told apart by the count under which it is named and by its thread."""
    assert len(GRADES) == len(BOOK["grades"])
    counts = [round(count_per_cm(g), 2) for g in BOOK["grades"]]
    assert all(a <= b for a, b in pairwise(counts))


@each_grade
def test_a_name_is_count_and_thread_and_is_read_as_such(grade: dict) -> None:
    join = "-" if grade["count_unit"] == "cm" else "/"
    assert grade["name"] == f"{grade['count']}{join}{grade['thread_um']}"
    read = read_mesh(grade["name"], count_unit=grade["count_unit"])
    assert read.threads_per_cm == pytest.approx(count_per_cm(grade))
    assert read.thread_um == grade["thread_um"]
    assert read.count_unit == grade["count_unit"]


@each_grade
def test_a_grade_can_be_woven_and_what_is_estimated_comes_from_the_rules(grade: dict) -> None:
    mesh = mesh_of(grade)
    for name, value in (("opening_um", mesh.opening_um), ("thickness_um", mesh.thickness_um)):
        assert grade[name]["value"] == pytest.approx(value, abs=0.051)
    is_rule = grade["opening_um"]["source"] == "rule_opening"
    assert mesh.opening_is_estimate is is_rule
    assert mesh.thickness_is_estimate is (grade["thickness_um"]["source"] == "rule_thickness")
    suggested, entry = suggest_target(mesh).tension, grade["suggested_tension_n_per_cm"]
    if suggested is None:
        assert entry["value"] is None
    else:
        assert entry["value"] == pytest.approx(suggested, abs=0.051)
    assert SOURCES[entry["source"]]["basis"] == "estimated"


@each_grade
def test_names_per_inch_are_kept_as_sold_and_lie_near_the_count(grade: dict) -> None:
    """Trade names are rounded: 15 per cm is 38.1 per inch and sold as 40, the farthest of all."""
    for sold in grade["sold_per_inch"]:
        assert sold["value"] == pytest.approx(per_inch(count_per_cm(grade)), rel=0.05)
    if grade["count_unit"] == "inch":
        assert [sold["value"] for sold in grade["sold_per_inch"]] == [grade["count"]]


@each_grade
def test_a_published_tension_is_one_that_the_thread_may_carry(grade: dict) -> None:
    """Three published tensions load thin thread above 200 MPa, and the program warns of them."""
    for tension in grade["published_tensions_n_per_cm"]:
        assert SOURCES[tension["source"]]["basis"] == "published"
        high = tension["high"]
        assert tension["low"] is None or tension["low"] <= high
        is_warned_of = grade["name"] in {"120-31", "315/30", "380/34"}
        assert (target_warning(mesh_of(grade), high) is None) is not is_warned_of


@each_grade
def test_dyed_mesh_begins_where_the_trade_says(grade: dict) -> None:
    """Dyed (yellow) mesh from about 180 to 230 per inch up: common practice, no source."""
    rule = BOOK["dyed_mesh"]
    assert (rule["from_per_inch"], rule["always_above_per_inch"]) == (180, 230)
    assert SOURCES[rule["source"]]["basis"] == "common practice, no source"
    count = round(per_inch(count_per_cm(grade)))
    colours = grade["colours"]["value"]
    assert ("yellow" in colours) == (count >= 180)
    assert ("white" in colours) == (count <= 230)


# Published values, each with its source; the book must carry them as they were printed.
PUBLISHED = [
    # NT (Japan), "Screen Specifications": 225 per inch, three threads.
    ("90-40", "opening_um", 73),
    ("90-48", "opening_um", 65),
    ("90-54", "opening_um", 59),
    ("90-40", "thickness_um", 59),
    ("90-48", "thickness_um", 72),
    ("90-54", "thickness_um", 84),
    # AGH Univ. of Science and Technology, supplementary data: 480 per inch, twill.
    ("190-31", "opening_um", 16),
    ("190-31", "thickness_um", 55),
    # Screen Printing, "Mesh Matters", June 2009: 305/40, 63 um thick.
    ("305/40", "thickness_um", 63),
]


@pytest.mark.parametrize(("name", "measure", "printed"), PUBLISHED)
def test_published_measures_are_in_the_book(name: str, measure: str, printed: float) -> None:
    entry = GRADES[name][measure]
    assert entry["value"] == printed
    assert SOURCES[entry["source"]]["basis"] == "published"


@pytest.mark.parametrize(
    ("name", "area", "ink"),
    # NT (Japan), "Screen Specifications", as printed: open area in percent, ink in cm3/m2.
    [("90-40", 42, 25), ("90-48", 33, 24), ("90-54", 27, 23)],
)
def test_published_area_and_ink_follow_from_the_book(name: str, area: float, ink: float) -> None:
    """Printed to whole numbers, for 225 per inch; the book's count is the 90 per cm beside it."""
    mesh = mesh_of(GRADES[name])
    at_225 = Mesh(per_cm(225), mesh.thread_um, opening_um=mesh.opening_um,
                  thickness_um=mesh.thickness_um)  # fmt: skip
    assert 100 * at_225.open_area == pytest.approx(area, abs=0.51)
    assert at_225.ink_volume_cm3_m2 == pytest.approx(ink, abs=0.6)


def test_the_open_area_of_305_40_is_the_published_one() -> None:
    """Screen Printing, "Mesh Matters", June 2009: 25 %, where the formula would say 27."""
    assert 100 * mesh_of(GRADES["305/40"]).open_area == pytest.approx(25, abs=0.1)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    # Images Magazine (UK), June 2024, p. 69: by count, middle thread ("T"), its diameter assumed.
    [("43-80", 35, 35), ("55-64", 35, 35), ("62-64", 25, 28), ("77-55", 25, 28),
     ("90-48", 25, 28), ("100-40", 20, 22), ("120-40", 20, 22)],
)  # fmt: skip
def test_published_garment_tensions_are_in_the_book_and_marked(
    name: str, low: float, high: float
) -> None:
    found = [t for t in GRADES[name]["published_tensions_n_per_cm"] if t["source"] == "images"]
    assert [(t["low"], t["high"]) for t in found] == [(low, high)]
    assert found[0]["thread_is_assumed"]


def test_another_count_another_target() -> None:
    """Two meshes of one count and different thread also get two targets (common practice)."""
    suggested = {n: g["suggested_tension_n_per_cm"]["value"] for n, g in GRADES.items()}
    assert len({suggested[n] for n in ("90-40", "90-48", "90-54")}) == 3
    assert suggested["43-80"] > suggested["77-55"] > suggested["120-34"]


def test_the_same_cloth_keeps_both_of_its_names() -> None:
    """225 and 230, 156 and 158, 195 and 196 are the same cloth."""
    for name, both in (("90-48", {225, 230}), ("61-64", {156, 158}), ("77-55", {195, 196})):
        assert {sold["value"] for sold in GRADES[name]["sold_per_inch"]} == both


def test_what_is_from_memory_stays_marked() -> None:
    """Grades without a published designation say so, and so do counts per inch from memory."""
    assert GRADES["32-100"]["designation"] == ["memory"]
    assert GRADES["90-48"]["designation"][-1] == "memory"
    by_count = {sold["value"]: sold["source"] for sold in GRADES["90-48"]["sold_per_inch"]}
    assert by_count == {225: "table", 230: "memory"}


def test_no_address_stands_in_the_book() -> None:
    """People see the sources; makers sell under their addresses, so none is printed."""
    text = json.dumps(BOOK)
    assert not re.search(r"https?:|www\.|\.(com|biz|pl|it|br)\b", text)


def test_other_facts_of_the_practitioner() -> None:
    """Common practice, no source: six points on a 23 x 31 in frame, a rest of 10 to 20 minutes."""
    assert len(point_pattern("6", 23 * 25.4, 31 * 25.4)) == 6
    assert 10 <= ShopSettings().rest_minutes <= 20
