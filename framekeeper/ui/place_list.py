"""The places of the shop in the order in which a frame walks through them."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import NamedTuple

from framekeeper.ui.bench import Bench
from framekeeper.ui.places.place import Place


class PlaceEntry(NamedTuple):
    """A place on the map; its module is imported when somebody first goes there."""

    key: str
    title: str
    icon: str
    module: str
    class_name: str

    def build(self, bench: Bench) -> Place:
        """Build the place."""
        make: Callable[[Bench], Place] = getattr(
            import_module(f"framekeeper.ui.places.{self.module}"), self.class_name
        )
        return make(bench)


PLACES: tuple[PlaceEntry, ...] = (
    PlaceEntry("today", "Today", "today", "today", "Today"),
    PlaceEntry("rack", "Rack", "rack", "rack", "Rack"),
    PlaceEntry("prep", "Prep bench", "prep", "prep_bench", "PrepBench"),
    PlaceEntry("stretching", "Stretching table", "stretching", "stretching", "StretchingTable"),
    PlaceEntry("round", "Tension round", "round", "tension_round", "TensionRound"),
    PlaceEntry("washout", "Washout", "washout", "washout", "Washout"),
    PlaceEntry("shelf", "Mesh shelf", "shelf", "mesh_shelf", "MeshShelf"),
    PlaceEntry("meters", "Meters", "meters", "meters", "Meters"),
    PlaceEntry("findings", "Findings", "findings", "findings", "Findings"),
)
