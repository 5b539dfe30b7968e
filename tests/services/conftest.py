"""A furnished shop for the tests of services, on both databases."""

from __future__ import annotations

import pytest

from framekeeper.services.desk import Desk
from tests.services.shoptalk import furnish


@pytest.fixture
def stocked(desk: Desk) -> Desk:
    """A person at a shop with two meshes, a roll of 30 m and a meter."""
    furnish(desk)
    return desk
