"""The mesh types of the shop."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import Conflict, NotFound, NotValid
from framekeeper.domain.records import Buying
from framekeeper.services import history, meshes
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type, edit_mesh_type, set_buying
from tests.services.shoptalk import MESH, rows


def named(desk: Desk, name: str) -> Any:
    with desk.read() as reader:
        return meshes.find_mesh_type(reader, name)


@pytest.mark.parametrize("typed", ["120-34", " 120-34 ", "120-34\t"])
def test_a_mesh_is_found_by_its_name(stocked: Desk, typed: str) -> None:
    assert named(stocked, typed).name == MESH


def test_a_mesh_is_kept_as_it_was_bought(desk: Desk) -> None:
    rules = MeshRules(25.0, 1.5, 17.0, 2.5, None, 14, 0.08, 60, 30)
    facts = MeshTypeFacts(" 305/40 dyed ", 305, "inch", 120.1, 40.0, "dyed", rules)
    add_mesh_type(desk, facts)
    mesh = named(desk, "305/40 DYED")
    assert mesh.name == "305/40 dyed"
    assert (mesh.count_as_bought, mesh.count_unit, mesh.colour) == (305, "inch", "dyed")
    assert mesh.rules == rules


@pytest.mark.parametrize("name", [MESH, " 120-34", "120-34 "])
def test_two_meshes_do_not_share_a_name(stocked: Desk, name: str) -> None:
    before = rows(stocked)
    with pytest.raises(NotValid, match="has a mesh named"):
        add_mesh_type(stocked, MeshTypeFacts(name))
    with pytest.raises(NotValid, match="has a mesh named"):
        edit_mesh_type(stocked, "77-55", MeshTypeFacts(name))
    assert rows(stocked) == before


def test_a_mesh_that_was_taken_back_can_be_added_again(stocked: Desk) -> None:
    add_mesh_type(stocked, MeshTypeFacts("90-48", thread_um=48.0))
    history.undo(stocked)
    with pytest.raises(NotFound):
        named(stocked, "90-48")
    with pytest.raises(NotValid, match="has a mesh named"):
        edit_mesh_type(stocked, "77-55", MeshTypeFacts("90-48"))  # the hidden row has the name
    add_mesh_type(stocked, MeshTypeFacts(" 90-48", thread_um=40.0))
    assert named(stocked, "90-48").thread_um == 40.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": "  "},
        {"name": "x" * 101},
        {"name": "a\x00b"},
        {"threads_per_cm": -5.0},
        {"threads_per_cm": float("nan")},
        {"thread_um": 0.0},
        {"count_as_bought": float("inf")},
        {"threads_per_cm": 190.0, "thread_um": 80.0},  # no room between the threads
        {"rules": MeshRules(target=-1.0)},
        {"rules": MeshRules(target=float("nan"))},
        {"rules": MeshRules(limit=61.0)},
        {"rules": MeshRules(target=20.0, limit=20.0)},
        {"rules": MeshRules(tolerance=float("nan"))},
        {"rules": MeshRules(spread_limit=-1.0)},
        {"rules": MeshRules(balance_limit=0.0)},
        {"rules": MeshRules(days_between_readings=0)},
        {"rules": MeshRules(inspect_after_reclaims=3651)},
        {"rules": MeshRules(risk=0.0)},
        {"rules": MeshRules(risk=-0.01)},
        {"rules": MeshRules(risk=0.501)},
        {"rules": MeshRules(risk=float("nan"))},
        {"rules": MeshRules(longest_wait_days=0)},
        {"rules": MeshRules(longest_wait_days=3651)},
    ],
)
def test_a_mesh_that_cannot_be(stocked: Desk, wrong: dict[str, Any]) -> None:
    facts = MeshTypeFacts(**{"name": "new", **wrong})
    before = rows(stocked)
    with pytest.raises(NotValid):
        add_mesh_type(stocked, facts)
    with pytest.raises(NotValid):
        edit_mesh_type(stocked, "77-55", facts)
    assert rows(stocked) == before


@pytest.mark.parametrize(
    "rules",
    [
        MeshRules(risk=0.5, longest_wait_days=1),
        MeshRules(risk=0.001, longest_wait_days=3650),
        MeshRules(risk=None, longest_wait_days=None, days_between_readings=None),
    ],
)
def test_thresholds_at_their_edges_are_kept(stocked: Desk, rules: MeshRules) -> None:
    edit_mesh_type(stocked, "77-55", MeshTypeFacts("77-55", rules=rules))
    assert named(stocked, "77-55").rules == rules


def test_a_risk_that_is_refused_names_itself_and_the_way_out(stocked: Desk) -> None:
    with pytest.raises(NotValid) as refused:
        add_mesh_type(stocked, MeshTypeFacts("new", rules=MeshRules(risk=0.8)))
    assert refused.value.argument == "risk"
    assert "A risk of 80 %" in str(refused.value.said)
    assert "at most 50 %" in str(refused.value.hint)


def test_a_mesh_is_completed_by_its_target_and_limit(stocked: Desk) -> None:
    with stocked.work("import") as work:
        work.name_subject("230")
        meshes.put_mesh_type(work, meshes.facts_from_text("230 yellow"), to_be_completed=True)
        work.commit()
    mesh = named(stocked, "230 yellow")
    assert (mesh.to_be_completed, mesh.colour, mesh.count_unit) == (True, "dyed", "inch")
    edit_mesh_type(stocked, "230 yellow", MeshTypeFacts("230 yellow", rules=MeshRules(22.0)))
    assert named(stocked, "230 yellow").to_be_completed
    rules = MeshRules(22.0, limit=16.0)
    edit_mesh_type(stocked, "230 yellow", MeshTypeFacts("230 yellow", rules=rules))
    assert not named(stocked, "230 yellow").to_be_completed


def test_an_older_version_is_not_saved_over_a_newer_one(stocked: Desk) -> None:
    seen = named(stocked, "77-55")
    edit_mesh_type(stocked, "77-55", MeshTypeFacts("77-55", thread_um=48.0))
    with pytest.raises(Conflict):
        edit_mesh_type(stocked, "77-55", MeshTypeFacts("77-55"), version=seen.version)


def test_text_that_no_reading_of_a_mesh_explains() -> None:
    with pytest.raises(NotValid):
        meshes.facts_from_text("left of the door")


def test_how_a_mesh_is_bought_stays_through_an_edit_and_goes_with_an_undo(stocked: Desk) -> None:
    """Facts that say nothing of buying leave it."""
    bought = Buying("Weberei Lund", 9.0, 2.5, 1580, 30_000, Decimal("31.50"))

    def known() -> Buying:
        buying: Buying = named(stocked, "77-55").buying
        return buying

    set_buying(stocked, "77-55", bought)
    edit_mesh_type(stocked, "77-55", MeshTypeFacts("77-55", thread_um=55.0))
    assert known() == bought
    history.undo(stocked)
    history.undo(stocked)
    assert known() == Buying()
    history.redo(stocked)
    assert known() == bought


@pytest.mark.parametrize(
    "wrong",
    [
        {"lead_time_days": -1.0}, {"lead_time_days": float("nan")}, {"lead_time_sd_days": 2.0},
        {"buy_width_mm": 0}, {"buy_length_mm": 1_000_001}, {"price_per_m": Decimal(-1)},
        {"buy_from": "x" * 201}, {"buy_from": "\x00"},
    ],
)  # fmt: skip
def test_buying_that_cannot_be(stocked: Desk, wrong: dict[str, Any]) -> None:
    with pytest.raises(NotValid) as refused:
        set_buying(stocked, "77-55", Buying(**wrong))
    assert refused.value.argument in {*wrong, "lead_time_days"}


def test_a_roll_that_cannot_be_bought_is_told_in_the_unit_it_is_typed_in(stocked: Desk) -> None:
    with pytest.raises(NotValid, match=r"10000\.00 m cannot be.* to 1000\.00 m can"):
        set_buying(stocked, "77-55", Buying(buy_length_mm=10_000_000))
