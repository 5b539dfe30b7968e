"""A person goes from Today to the order and back in the real window, by keys alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.services import marks, meshes, prep, register, stock, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.order import order_list
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.order_page import OrderPage
from framekeeper.ui.places.today import Today
from tests.ui.person import Person
from tests.ui.person import person as person

MESH = "230 yellow"


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    """Three frames whose mesh burst, and a roll that is nearly empty."""

    def do(desk: Desk) -> None:
        rules = MeshRules(target=25, limit=18)
        meshes.add_mesh_type(desk, meshes.MeshTypeFacts(MESH, 230, "inch", 90.55, 48, rules=rules))
        stock.receive_roll(desk, stock.NewRoll(MESH, 1100, 3000))
        codes = list(register.register(desk, [register.NewFrame(584, 787)] * 3).codes)
        prep.prep_all(desk, codes)
        stretch.stretch(desk, codes, stretch.StretchRequest(MESH, roll="R0001"))
        marks.damage(desk, codes, "burst", mesh_is_done=True)

    return do


def order_page(person: Person) -> OrderPage:
    shelf = person.window.current
    assert isinstance(shelf, MeshShelf)
    assert shelf.order is not None
    return shelf.order


def test_from_today_to_the_order_and_back(person: Person) -> None:
    """Today counts it; three keys mark it as ordered; undo follows; then Today counts no more."""
    today = person.window.current
    assert isinstance(today, Today)
    purpose = today._header._purpose
    person.until(lambda: "1 mesh to order." in purpose.text())
    person.press("Ctrl+7", "F9")
    page = order_page(person)
    person.until(lambda: page.header._purpose.text().startswith("1 mesh to order."))
    person.press("F6")
    assert person.message == "Ordered: 230 yellow."
    person.until(lambda: page.header._purpose.text().startswith("Every mesh lasts"))
    person.press("Ctrl+Z")
    person.until(lambda: page.header._purpose.text().startswith("1 mesh to order."))
    assert order_list(person.desk).meshes[0].coming is None
    person.press("F6")
    person.until(lambda: not page._ordered.isEnabled())
    person.press("Escape")
    assert not page.isVisible()
    person.press("Ctrl+1")
    person.until(lambda: "to order" not in purpose.text())


def test_a_habit_is_changed_by_keys(person: Person) -> None:
    """Ctrl+D opens the form, Enter saves it, and the words follow."""
    person.press("Ctrl+7", "F9", "Ctrl+D")
    assert person.form is not None
    person.fill(D="21")
    person.press("Return")
    assert person.form is None
    page = order_page(person)
    person.until(lambda: page.orders is not None and page.orders.settings.review_days == 21)
    assert page.orders is not None
    (order,) = page.orders.meshes
    assert (order.until - order.today).days == 14 + 21
