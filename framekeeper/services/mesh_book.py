"""The starter book: generic grades of mesh to choose from, each value with where it comes from."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal

from framekeeper.domain.mesh import CM_PER_INCH, Mesh, TargetSuggestion, suggest_target
from framekeeper.domain.records import Colour, CountUnit
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.meshes import MeshTypeFacts
from framekeeper.shipped import find

Basis = Literal["published", "from memory", "common practice, no source", "estimated"]

BASIS_WORDS: dict[Basis, Sentence] = {
    "published": say("published"),
    "from memory": say("from memory"),
    "common practice, no source": say("common practice, no source"),
    "estimated": say("estimated"),
}


@dataclass(frozen=True, slots=True)
class Sourced:
    """A value of the book, on what it rests, and the source in words."""

    value: float | None
    basis: Basis
    source: str

    @property
    def on_a_data_sheet(self) -> float | None:
        """The value where it was published; what a rule or a memory gave is no data sheet."""
        return self.value if self.basis == "published" else None


@dataclass(frozen=True, slots=True)
class PublishedTension:
    """What somebody published for this cloth, N/cm; `thread_is_assumed` where they gave none."""

    low: float | None
    high: float | None
    source: str
    thread_is_assumed: bool


@dataclass(frozen=True, slots=True)
class Grade:
    """One cloth of the book. The count is the one under which it is named, never recomputed."""

    name: str
    count: float
    count_unit: CountUnit
    thread_um: float
    sold_per_inch: tuple[Sourced, ...]  # the counts under which the same cloth is sold
    colours: tuple[str, ...]
    weave: str
    weave_basis: Basis
    opening_um: Sourced
    thickness_um: Sourced
    tensions: tuple[PublishedTension, ...]
    named_in: tuple[str, ...]

    @property
    def threads_per_cm(self) -> float:
        """The count per cm, for the maths alone."""
        return self.count if self.count_unit == "cm" else self.count / CM_PER_INCH

    @property
    def aliases(self) -> tuple[float, ...]:
        """The counts per inch under which the same cloth is sold too."""
        told = tuple(sold.value for sold in self.sold_per_inch if sold.value is not None)
        return told if self.count_unit == "cm" or len(told) > 1 else ()

    @property
    def colour(self) -> Colour:
        """The colour, where the cloth of this count comes in one."""
        if len(self.colours) > 1:
            return "not_told"
        return "white" if self.colours == ("white",) else "dyed"

    @property
    def mesh(self) -> Mesh:
        """The cloth; only published values stand in for a data sheet."""
        return Mesh(
            self.threads_per_cm,
            self.thread_um,
            weave=self.weave,
            opening_um=self.opening_um.on_a_data_sheet,
            thickness_um=self.thickness_um.on_a_data_sheet,
        )

    @property
    def suggestion(self) -> TargetSuggestion:
        """The target that the thread suggests, with its band."""
        return suggest_target(self.mesh)


@cache
def grades() -> tuple[Grade, ...]:
    """Read the book, coarse cloth first."""
    book = json.loads(find("resources/starter_mesh_book.json").read_text(encoding="utf-8"))
    read = [_grade(entry, book["sources"]) for entry in book["grades"]]
    return tuple(sorted(read, key=lambda g: (g.threads_per_cm, g.thread_um)))


def find_grades(text: str) -> tuple[Grade, ...]:
    """List the grades that a text means: parts of a name, a count or a thread, in any order.

    "230" finds 230/48 and 90-48, which is sold as 230; "230 48" leaves the two with that thread.
    """
    words = text.lower().replace("/", " ").replace("-", " ").split()
    return tuple(grade for grade in grades() if all(_means(grade, word) for word in words))


def facts_of_grade(grade: Grade, name: str = "") -> MeshTypeFacts:
    """Fill in a mesh type from a grade; a name that was given stays as bought."""
    bought = name.strip()
    facts = MeshTypeFacts(
        name=bought or grade.name,
        count_as_bought=grade.count,
        count_unit=grade.count_unit,
        threads_per_cm=grade.threads_per_cm,
        thread_um=grade.thread_um,
        colour=grade.colour,
        weave=grade.weave,
        opening_um=grade.opening_um.on_a_data_sheet,
        thickness_um=grade.thickness_um.on_a_data_sheet,
    )
    return facts if grade.colour != "not_told" else replace(facts, colour=_told_in(bought, grade))


def alias_words(grade: Grade) -> Sentence | None:
    """Say under which other names the cloth is sold; the name as bought stays."""
    if not grade.aliases:
        return None
    return say(
        "Also sold as {counts} per inch: the same cloth. The name stays as bought.",
        counts=" = ".join(f"{count:g}" for count in grade.aliases),
    )


def _told_in(name: str, grade: Grade) -> Colour:
    words = name.lower().split()
    if any(word in words for word in ("yellow", "dyed", "gold")):
        return "dyed"
    return "white" if "white" in words else grade.colour


def _means(grade: Grade, word: str) -> bool:
    counts = [grade.count, *(sold.value for sold in grade.sold_per_inch if sold.value)]
    numbers = [f"{count:g}" for count in counts] + [f"{grade.thread_um:g}"]
    return any(number.startswith(word) for number in numbers) or word in grade.colours


def _grade(entry: Mapping[str, Any], sources: Mapping[str, Any]) -> Grade:
    def sourced(value: Mapping[str, Any]) -> Sourced:
        source = sources[value["source"]]
        return Sourced(value["value"], source["basis"], source["text"])

    return Grade(
        name=entry["name"],
        count=float(entry["count"]),
        count_unit=entry["count_unit"],
        thread_um=float(entry["thread_um"]),
        sold_per_inch=tuple(sourced(sold) for sold in entry["sold_per_inch"]),
        colours=tuple(entry["colours"]["value"]),
        weave=entry["weave"]["value"],
        weave_basis=sources[entry["weave"]["source"]]["basis"],
        opening_um=sourced(entry["opening_um"]),
        thickness_um=sourced(entry["thickness_um"]),
        tensions=tuple(
            PublishedTension(
                told["low"],
                told["high"],
                sources[told["source"]]["text"],
                bool(told.get("thread_is_assumed")),
            )
            for told in entry["published_tensions_n_per_cm"]
        ),
        named_in=tuple(sources[key]["text"] for key in entry["designation"]),
    )
