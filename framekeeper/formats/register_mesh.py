"""Reads the mesh of a frame from one column, or from columns for count, thread and colour."""

from __future__ import annotations

import dataclasses
import re
from typing import Final, Literal, cast

from framekeeper.domain.errors import NotValid
from framekeeper.domain.mesh_names import CountUnit, MeshName, read_mesh
from framekeeper.domain.sentence import say
from framekeeper.formats.register_values import read_number, shown
from framekeeper.formats.register_words import (
    COLOUR_WORDS,
    NO_MESH_PHRASES,
    phrases,
    plain_words,
)
from framekeeper.formats.table_shape import Cell

_COLOURS: Final = phrases(COLOUR_WORDS)
_WORD: Final = re.compile(r"[^\W\d_]+")
_MICROMETRES: Final = re.compile(r"\s*(?:µm|μm|um|µ|μ|micron|microns)\.?$", re.IGNORECASE)
_SAME_THREAD_UM: Final = 0.5

Colour = Literal["white", "yellow", "orange"]


def says_no_mesh(cell: Cell) -> bool:
    """Whether the cell says that the frame carries no mesh."""
    return plain_words(shown(cell)) in NO_MESH_PHRASES


def read_mesh_cell(cell: Cell, *, count_unit: CountUnit | None) -> MeshName:
    """The mesh as the shop names it; colours may stand in the shop's language."""
    if not isinstance(cell, str | int | float) or isinstance(cell, bool):
        raise NotValid(
            say("This is a date, not a mesh; format the column as text and write it again.")
        )
    return read_mesh(_WORD.sub(_in_english, shown(cell)), count_unit=count_unit)


def read_thread(cell: Cell) -> float:
    """The diameter of the thread in um, with or without its unit."""
    return read_number(_MICROMETRES.sub("", cell) if isinstance(cell, str) else cell)


def colour_of(cell: Cell) -> Colour | None:
    """The colour of the mesh; None for a word that is no colour of mesh."""
    return cast("Colour | None", _COLOURS.get(plain_words(shown(cell))))


def with_thread(mesh: MeshName, thread_um: float) -> MeshName:
    """Add the thread from its own column, which may also settle how the mesh is counted.

    Raises
    ------
    NotValid
        The name already tells another thread, or there is no such cloth.
    """
    if mesh.thread_um is not None:
        if abs(mesh.thread_um - thread_um) > _SAME_THREAD_UM:
            raise NotValid(say("The mesh is named with a thread of {um:g} um.", um=mesh.thread_um))
        return mesh
    unit = None if mesh.unit_is_a_guess else mesh.count_unit
    name = f"{mesh.count_as_bought:g}-{thread_um:g} {mesh.colour}".strip()
    return read_mesh(name, count_unit=unit)


def with_colour(mesh: MeshName, cell: Cell) -> MeshName:
    """Add the colour from its own column.

    Raises
    ------
    NotValid
        The name already tells another colour, or the cell tells none.
    """
    colour = colour_of(cell)
    if colour is None:
        raise NotValid(say("This is no colour of mesh: write white, yellow or orange."))
    if mesh.colour == colour:
        return mesh
    if mesh.colour:
        raise NotValid(say("The mesh is named as {colour}.", colour=mesh.colour))
    return dataclasses.replace(mesh, name=f"{mesh.name} {colour}", colour=colour)


def _in_english(word: re.Match[str]) -> str:
    return _COLOURS.get(plain_words(word.group()), word.group())
