"""The mesh book fills in a grade; what a data sheet says wins, and estimates stay estimates."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import MeshTypeRecord
from framekeeper.services import meshes
from framekeeper.services.desk import Desk
from framekeeper.services.mesh_book import (
    BASIS_WORDS,
    Grade,
    alias_words,
    facts_of_grade,
    find_grades,
    grades,
)
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type, edit_mesh_type


def grade(name: str) -> Grade:
    return next(g for g in grades() if g.name == name)


def stored(desk: Desk, name: str) -> MeshTypeRecord:
    with desk.read() as reader:
        return meshes.find_mesh_type(reader, name)


def test_the_book_is_read_whole_coarse_cloth_first() -> None:
    counts = [g.threads_per_cm for g in grades()]
    assert len(grades()) == 58
    assert counts == sorted(counts)
    assert {g.opening_um.basis for g in grades()} <= set(BASIS_WORDS)


@pytest.mark.parametrize("one", grades(), ids=lambda g: g.name)
def test_what_a_rule_estimated_is_never_a_data_sheet_value(one: Grade) -> None:
    """Only a published opening or thickness reaches the maths as given."""
    facts = facts_of_grade(one)
    assert (facts.opening_um is not None) == (one.opening_um.basis == "published")
    assert (facts.thickness_um is not None) == (one.thickness_um.basis == "published")
    assert one.mesh.opening_is_estimate == (one.opening_um.basis != "published")
    assert one.mesh.thickness_is_estimate == (one.thickness_um.basis != "published")
    meshes.check_facts(facts)


def test_a_published_opening_wins_over_the_formula() -> None:
    """90-48: the published table has another opening than pitch less thread, 63.1 um."""
    published = grade("90-48")
    assert published.mesh.opening_um == published.opening_um.value
    assert not published.mesh.opening_is_estimate
    assert published.mesh.opening_um != pytest.approx(10_000 / 90 - 48, abs=0.5)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("90 48", ["90-48"]),
        ("90-48", ["90-48"]),
        ("230 48", ["90-48", "230/48"]),  # 90-48 is sold as 230
        ("158", ["61-64"]),
        ("190 white", []),
        ("cotton", []),
    ],
)
def test_a_grade_is_found_by_count_thread_and_the_counts_it_is_sold_as(
    text: str, found: list[str]
) -> None:
    assert [g.name for g in find_grades(text)] == found


def test_an_empty_search_lists_the_whole_book() -> None:
    assert find_grades("  ") == grades()


def test_the_name_as_bought_is_kept_whatever_the_cloth_is_sold_as() -> None:
    """156 and 158 are one cloth; bought as 158, it stays 158 and its count is not recomputed."""
    facts = facts_of_grade(grade("61-64"), "158 white")
    assert (facts.name, facts.count_as_bought, facts.count_unit) == ("158 white", 61, "cm")
    assert str(alias_words(grade("61-64"))) == (
        "Also sold as 156 = 158 per inch: the same cloth. The name stays as bought."
    )
    assert alias_words(grade("230/40")) is None


@pytest.mark.parametrize(
    ("name", "bought", "colour"),
    [
        ("90-48", "", "not_told"),  # about 180 to 230 per inch: both are sold, common practice
        ("90-48", "230 yellow", "dyed"),
        ("90-48", "90-48 white", "white"),
        ("43-80", "", "white"),
        ("120-34", "", "dyed"),
    ],
)
def test_the_colour_is_told_where_the_count_has_one(name: str, bought: str, colour: str) -> None:
    assert facts_of_grade(grade(name), bought).colour == colour


def test_two_cloths_of_one_count_get_two_targets() -> None:
    """Another thread, another target: 150 MPa x 90 pi d^2 / 4."""
    thick, thin = grade("90-48").suggestion, grade("90-40").suggestion
    assert thick.tension == pytest.approx(24.4, abs=0.05)
    assert thin.tension == pytest.approx(17.0, abs=0.05)
    assert thick.low is not None
    assert thick.high is not None
    assert thick.low < thick.tension < thick.high


# kept by the shop, on both databases


def test_weave_opening_and_thickness_are_kept_changed_and_exported(desk: Desk) -> None:
    facts = replace(facts_of_grade(grade("190-31")), rules=MeshRules(target=20.0, limit=15.0))
    add_mesh_type(desk, facts)
    kept = stored(desk, "190-31")
    assert (kept.weave, kept.opening_um, kept.thickness_um) == (
        "2:2", facts.opening_um, facts.thickness_um,
    )  # fmt: skip
    assert facts.opening_um is not None
    edit_mesh_type(desk, "190-31", replace(facts, opening_um=None, thickness_um=50.0))
    changed = stored(desk, "190-31")
    assert (changed.opening_um, changed.thickness_um) == (None, 50.0)
    cloth = meshes.cloth_of(changed)
    assert cloth is not None
    assert cloth.opening_is_estimate
    assert not cloth.thickness_is_estimate
    out = io.StringIO()
    desk.shop.write_rows(out)
    assert '"thickness_um": 50.0' in out.getvalue()


@pytest.mark.parametrize(
    ("wrong", "argument"),
    [
        ({"weave": "plain"}, "weave"),
        ({"weave": ""}, "weave"),
        ({"opening_um": 0.0}, "opening_um"),
        ({"opening_um": float("nan")}, "opening_um"),
        ({"opening_um": 111.2}, "opening_um"),  # as wide as the pitch
        ({"thickness_um": -1.0}, "thickness_um"),
        ({"rules": MeshRules(target=45.0)}, "target"),  # 276 MPa
    ],
)
def test_what_no_cloth_can_have_is_refused_by_name(
    desk: Desk, wrong: dict[str, object], argument: str
) -> None:
    facts = replace(MeshTypeFacts("90-48", 90, "cm", 90.0, 48.0), **wrong)  # type: ignore[arg-type]
    with pytest.raises(NotValid) as refused:
        add_mesh_type(desk, facts)
    assert refused.value.argument == argument


def test_a_target_above_260_mpa_needs_a_data_sheet_and_an_imported_one_may_stay(
    desk: Desk,
) -> None:
    """The refusal says so; other rules of a mesh that came with it can still be changed."""
    facts = MeshTypeFacts("90-48", 90, "cm", 90.0, 48.0, rules=MeshRules(target=45.0))
    with pytest.raises(NotValid, match="only the data sheet"):
        add_mesh_type(desk, facts)
    with desk.work("import") as work:
        work.name_subject("90-48")
        meshes.put_mesh_type(work, facts)
        work.commit()
    calmer = replace(facts, rules=replace(facts.rules, days_between_readings=14))
    edit_mesh_type(desk, "90-48", calmer)
    assert stored(desk, "90-48").rules.days_between_readings == 14
    with pytest.raises(NotValid):
        edit_mesh_type(desk, "90-48", replace(facts, rules=MeshRules(target=46.0)))
    add_mesh_type(desk, replace(facts, name="90-48 strong", opening_um=57.0))
