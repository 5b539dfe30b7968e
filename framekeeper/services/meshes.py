"""Keeps the mesh types of the shop: the name as bought, what it is, and the shop's thresholds."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING

from framekeeper.domain.details import valid_text
from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.mesh import NOTHING_ABOVE_MPA, Mesh, is_weave, target_warning
from framekeeper.domain.mesh_names import MeshName, read_mesh
from framekeeper.domain.money import valid_price
from framekeeper.domain.records import Buying, Colour, CountUnit, MeshTypeRecord
from framekeeper.domain.sentence import Millimetres, Running, say
from framekeeper.domain.survey import valid_tension
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

MOST_RISK = 0.5  # beyond it a screen that waits is more likely below its limit than not

_COLOURS: dict[str, Colour] = {"white": "white", "yellow": "dyed", "orange": "dyed"}


@dataclass(frozen=True, slots=True)
class MeshTypeFacts:
    """What a shop says of a mesh type; `name` is the name as bought and is never recomputed."""

    name: str
    count_as_bought: float | None = None
    count_unit: CountUnit = "inch"
    threads_per_cm: float | None = None
    thread_um: float | None = None
    colour: Colour = "not_told"
    rules: MeshRules = field(default_factory=MeshRules)
    weave: str = "1:1"
    opening_um: float | None = None  # from the data sheet; None: a rule estimates it
    thickness_um: float | None = None
    buying: Buying | None = None  # None: as it is


def add_mesh_type(desk: Desk, facts: MeshTypeFacts) -> Done:
    """Add a mesh type.

    Raises
    ------
    NotValid
        For facts that no mesh can have, and for a target that would tear the thread.
    """
    check_facts(facts)
    _refuse_overload(facts)
    with desk.work("add mesh") as work:
        _refuse_taken(work, facts.name)
        work.name_subject(facts.name)
        put_mesh_type(work, facts)
        changes = work.commit()
    return Done(say("Mesh {name} added.", name=facts.name), changes)


def put_mesh_type(work: Work, facts: MeshTypeFacts, *, to_be_completed: bool = False) -> int:
    """Add a mesh type within an open change; one that was taken back comes alive again."""
    told = facts if facts.buying is not None else replace(facts, buying=Buying())
    values = {**_values(told), "to_be_completed": to_be_completed, "is_hidden": False}
    name = facts.name.strip()
    hidden = next((m for m in work.mesh_types(with_hidden=True) if m.name == name), None)
    if hidden is not None:
        work.edit_row("mesh_type", hidden.id, values)
        return hidden.id
    return work.add_row("mesh_type", values)


def edit_mesh_type(
    desk: Desk, name: str, facts: MeshTypeFacts, *, version: int | None = None
) -> Done:
    """Change a mesh type; completing it takes the mark "to be completed" away."""
    check_facts(facts)
    with desk.work("edit mesh") as work:
        mesh = find_mesh_type(work, name)
        _refuse_taken(work, facts.name, but=mesh.id)
        work.name_subject(facts.name)
        if _load_on(facts) != _load_on(mesh):  # what came with an import may stay as it is
            _refuse_overload(facts)
        complete = facts.rules.target is not None and facts.rules.limit is not None
        values = {**_values(facts), "to_be_completed": mesh.to_be_completed and not complete}
        work.edit_row("mesh_type", mesh.id, values, version=version)
        changes = work.commit()
    return Done(say("Mesh {name} changed.", name=facts.name), changes)


def set_buying(desk: Desk, name: str, buying: Buying, *, version: int | None = None) -> Done:
    """Say how a mesh is bought: where, how long it takes, which roll, at what list price.

    Raises
    ------
    NotValid
        For a time, a size or a price that cannot be.
    """
    check_buying(buying)
    with desk.work("edit mesh") as work:
        mesh = find_mesh_type(work, name)
        work.name_subject(mesh.name)
        work.edit_row("mesh_type", mesh.id, _buying_values(buying), version=version)
        changes = work.commit()
    return Done(say("Mesh {name}: how it is bought is noted.", name=mesh.name), changes)


def _refuse_taken(work: Work, name: str, *, but: int | None = None) -> None:
    """Refuse the name of another mesh; a hidden one has its exact name for itself too."""
    for mesh in work.mesh_types(with_hidden=but is not None):
        taken = name.strip() == mesh.name if mesh.is_hidden else same_name(mesh.name, name)
        if taken and mesh.id != but:
            raise NotValid(
                say("The shop has a mesh named {name} already.", name=mesh.name),
                hint=say("Choose another name."),
                argument="name",
            )


def find_mesh_type(reader: Reader, text: str) -> MeshTypeRecord:
    """Find a mesh type by its name as bought, whatever its case and blanks.

    Raises
    ------
    NotFound
        With the names that the shop has.
    """
    known = reader.mesh_types()
    for mesh in known:
        if same_name(mesh.name, text):
            return mesh
    names = ", ".join(m.name for m in known[:8])
    raise NotFound(
        say("The shop has no mesh named {name}.", name=text.strip() or "—"),
        hint=say("It has: {names}.", names=names)
        if names
        else say("Add the mesh on the Mesh shelf first."),
    )


def facts_from_text(text: str, *, count_unit: CountUnit | None = None) -> MeshTypeFacts:
    """Read "230 yellow" or "90-48" as a mesh type that is to be completed.

    Raises
    ------
    NotValid
        If no reading of a mesh explains the text.
    """
    return facts_of(read_mesh(text, count_unit=count_unit))


def facts_of(read: MeshName) -> MeshTypeFacts:
    """Turn what a name tells into a mesh type that is to be completed."""
    return MeshTypeFacts(
        name=read.name,
        count_as_bought=read.count_as_bought,
        count_unit=read.count_unit,
        threads_per_cm=read.threads_per_cm,
        thread_um=read.thread_um,
        colour=_COLOURS.get(read.colour, "not_told"),
    )


def same_name(one: str, other: str) -> bool:
    """Compare two mesh names the way a person does."""
    return " ".join(one.lower().split()) == " ".join(other.lower().split())


def check_facts(facts: MeshTypeFacts) -> None:
    """Refuse facts that no mesh can have."""
    if not facts.name.strip():
        raise NotValid(say("A mesh needs the name it was bought by."), argument="name")
    valid_text(facts.name, argument="name", most=100)
    for name, value in (
        ("count_as_bought", facts.count_as_bought),
        ("threads_per_cm", facts.threads_per_cm),
        ("thread_um", facts.thread_um),
        ("opening_um", facts.opening_um),
        ("thickness_um", facts.thickness_um),
    ):
        if value is not None and not 0 < value <= 5000:
            raise NotValid(
                say("{value} is no number for a mesh.", value=value),
                hint=say("Take it from the label of the roll or from its data sheet."),
                argument=name,
            )
    if not is_weave(facts.weave):
        raise NotValid(
            say("A weave is written like 1:1 or 2:2, not {weave}.", weave=facts.weave or "—"),
            argument="weave",
        )
    cloth_of(facts)
    check_rules(facts.rules)
    if facts.buying is not None:
        check_buying(facts.buying)


def check_rules(rules: MeshRules) -> None:
    """Refuse thresholds that make no sense, alone or together.

    Raises
    ------
    NotValid
        With the name of the threshold.
    """
    for name, value in (("target", rules.target), ("limit", rules.limit)):
        if value is not None:
            valid_tension(value, argument=name)
    if rules.target is not None and rules.limit is not None and rules.limit >= rules.target:
        raise NotValid(
            say(
                "The limit of {limit:.1f} N/cm is not below the target of {target:.1f}.",
                limit=rules.limit,
                target=rules.target,
            ),
            hint=say("The limit says when a screen is pulled from service."),
            argument="limit",
        )
    for name in ("tolerance", "spread_limit", "balance_limit"):
        value = getattr(rules, name)
        if value is not None and not 0 < value <= 60:
            raise NotValid(say("{value} is no sensible threshold.", value=value), argument=name)
    _check_reading(rules)


def _check_reading(rules: MeshRules) -> None:
    if rules.risk is not None and not 0 < rules.risk <= MOST_RISK:
        raise NotValid(
            say(
                "A risk of {risk:g} % of being below the limit is none to plan with.",
                risk=100 * rules.risk,
            ),
            hint=say(
                "Give more than 0 and at most {most:.0f} %, or none to read by the fixed interval.",
                most=100 * MOST_RISK,
            ),
            argument="risk",
        )
    for name in ("days_between_readings", "longest_wait_days", "inspect_after_reclaims"):
        count = getattr(rules, name)
        if count is not None and not 1 <= count <= 3650:
            raise NotValid(say("{value} is no sensible threshold.", value=count), argument=name)


_BUYING_RANGES: dict[str, tuple[float, float]] = {
    "lead_time_days": (0, 1000),
    "lead_time_sd_days": (0, 1000),
    "buy_width_mm": (1, 6_000),
    "buy_length_mm": (1, 1_000_000),
}


def _as_told(name: str, value: float) -> Millimetres | Running | str:
    """A number of how a mesh is bought, in the unit in which it is typed."""
    if name == "buy_length_mm":
        return Running(value)
    return Millimetres(value) if name == "buy_width_mm" else f"{value:g}"


def check_buying(buying: Buying) -> None:
    """Refuse a time, a size or a price that cannot be.

    Raises
    ------
    NotValid
        With the name of the field.
    """
    valid_text(buying.buy_from, argument="buy_from", most=200)
    for name, (low, high) in _BUYING_RANGES.items():
        value = getattr(buying, name)
        if value is not None and not (math.isfinite(value) and low <= value <= high):
            raise NotValid(
                say(
                    "{value} cannot be; from {low} to {high} can.",
                    value=_as_told(name, value),
                    low=_as_told(name, low),
                    high=_as_told(name, high),
                ),
                argument=name,
            )
    if buying.lead_time_sd_days is not None and buying.lead_time_days is None:
        raise NotValid(
            say("The lead time has a spread but no length."),
            hint=say("Say how many days an order takes, or leave both empty."),
            argument="lead_time_days",
        )
    valid_price(buying.price_per_m, argument="price_per_m")


def cloth_of(mesh: MeshTypeFacts | MeshTypeRecord) -> Mesh | None:
    """Return the cloth of a mesh type; None where its count or its thread is not known.

    Raises
    ------
    NotValid
        For numbers that no cloth can have.
    """
    if mesh.threads_per_cm is None or mesh.thread_um is None:
        return None
    return Mesh(
        mesh.threads_per_cm,
        mesh.thread_um,
        weave=mesh.weave,
        opening_um=mesh.opening_um,
        thickness_um=mesh.thickness_um,
    )


def _load_on(mesh: MeshTypeFacts | MeshTypeRecord) -> tuple[float | None, ...]:
    return (mesh.threads_per_cm, mesh.thread_um, mesh.rules.target,
            mesh.opening_um, mesh.thickness_um)  # fmt: skip


def _refuse_overload(facts: MeshTypeFacts) -> None:
    """Above 260 MPa on the thread only a data sheet can allow a target."""
    target, cloth = facts.rules.target, cloth_of(facts)
    has_sheet = facts.opening_um is not None or facts.thickness_um is not None
    if cloth is None or target is None or has_sheet:
        return
    if cloth.thread_stress_mpa(target) <= NOTHING_ABOVE_MPA:
        return
    raise NotValid(
        target_warning(cloth, target) or "",
        hint=say("Check count, thread and target, or enter the data sheet’s opening first."),
        argument="target",
    )


def _values(facts: MeshTypeFacts) -> dict[str, object]:
    plain = {
        name: getattr(facts, name)
        for name in (
            "count_as_bought", "count_unit", "threads_per_cm", "thread_um", "colour", "weave",
            "opening_um", "thickness_um",
        )
    }  # fmt: skip
    buying = {} if facts.buying is None else _buying_values(facts.buying)
    return {"name": facts.name.strip(), **plain, **asdict(facts.rules), **buying}


def _buying_values(buying: Buying) -> dict[str, object]:
    return {**asdict(buying), "buy_from": buying.buy_from.strip() or None}
