"""The shop's own settings."""

from __future__ import annotations

from typing import Any

import pytest

from framekeeper.domain.errors import NotValid
from framekeeper.services import settings
from framekeeper.services.desk import Desk
from framekeeper.services.settings import ShopSettings
from tests.services.shoptalk import rows


def test_a_new_shop_has_the_defaults(desk: Desk) -> None:
    assert settings.read_settings(desk) == ShopSettings()


def test_what_was_chosen_is_kept_and_the_rest_stays(desk: Desk) -> None:
    done = settings.change_settings(desk, shop_name="Squeegee Lane", paper="letter")
    assert settings.read_settings(desk) == ShopSettings(shop_name="Squeegee Lane", paper="letter")
    assert done.changes.kinds == {"settings"}
    before = rows(desk)
    settings.change_settings(desk, paper="letter")
    assert rows(desk) == before


@pytest.mark.parametrize(
    "wrong",
    [
        {"colour_of_the_door": "red"},
        {"paper": "legal"},
        {"paper": 4},
        {"length_unit": "furlong"},
        {"cut_allowance_mm": -1},
        {"cut_allowance_mm": 1001},
        {"cut_allowance_mm": 50.5},
        {"cut_allowance_mm": True},
        {"regrind_after_stretches": 0},
        {"point_pattern": "7"},
        {"shop_name": "x" * 201},
        {"shop_name": "\x00"},
    ],
)
def test_a_setting_that_cannot_be(desk: Desk, wrong: dict[str, Any]) -> None:
    before = rows(desk)
    with pytest.raises(NotValid):
        settings.change_settings(desk, shop_name="never", **wrong) if (
            "shop_name" not in wrong
        ) else settings.change_settings(desk, **wrong)
    assert rows(desk) == before
