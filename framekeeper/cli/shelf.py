"""Mesh types and the mesh used on the command line."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import (
    NONE,
    metres,
    millimetres,
    number,
    or_none,
    price,
    share,
    whole,
)
from framekeeper.domain.mesh import CM_PER_INCH
from framekeeper.domain.records import Buying, MeshTypeRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.tasks import MeshRules
from framekeeper.services import forecasts, mesh_book, meshes, rule_effect, stock

if TYPE_CHECKING:
    from framekeeper.cli.call import Call

_CLOTH = {
    "thread": "thread_um",
    "weave": "weave",
    "opening": "opening_um",
    "thickness": "thickness_um",
}
_RULES = {
    "target": ("target", number, "N/cm that a stretch aims for"),
    "tolerance": ("tolerance", number, "N/cm that a fresh stretch may be off"),
    "limit": ("limit", number, "N/cm below which a screen is pulled"),
    "spread": ("spread_limit", number, "N/cm between the highest and the lowest point"),
    "balance": ("balance_limit", number, "N/cm between warp and weft"),
    "risk": ("risk", share, "%% risked of being below the limit between two readings"),
    "longest-wait": ("longest_wait_days", whole, "days between readings at most, by forecast"),
    "read-every": (
        "days_between_readings", whole, "days between readings where nothing is foretold",
    ),
    "inspect-after": ("inspect_after_reclaims", whole, "reclaims between looks at the mesh"),
}  # fmt: skip
_BUYING: dict[str, tuple[str, Callable[[str], Any], str]] = {
    "buy-from": ("buy_from", str, "the shop's own name of the supplier"),
    "lead-time": ("lead_time_days", number, "days from order to shelf"),
    "lead-time-spread": ("lead_time_sd_days", number, "give or take, a standard deviation"),
    "roll-width": ("buy_width_mm", millimetres, "of the roll that is usually bought"),
    "roll-length": ("buy_length_mm", metres, "of the roll that is usually bought"),
    "list-price": ("price_per_m", price, "per metre, such as 31.50"),
}
_ALWAYS = ("tolerance",)  # a rule that cannot be switched off


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands for mesh types and the mesh used."""
    _add_mesh(commands)
    command(commands, "usage", _usage, "list the mesh used, per month and mesh")


def _part(
    commands: Commands[argparse.ArgumentParser], name: str, text: str
) -> Commands[argparse.ArgumentParser]:
    parser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    return parser.add_subparsers(required=True, metavar="WHAT")


def _add_mesh(commands: Commands[argparse.ArgumentParser]) -> None:
    parts = _part(commands, "mesh", "mesh types")
    command(parts, "list", _list_mesh, "list the mesh types")
    parser = command(parts, "book", _book, "list the grades of the starter book")
    parser.add_argument("text", nargs="*", metavar="TEXT", help="such as 230, or 230 48")
    for name, run, text in (
        ("add", _add_mesh_type, "add a mesh type"),
        ("edit", _edit_mesh_type, "change a mesh type"),
    ):
        parser = command(parts, name, run, text)
        parser.add_argument("name", metavar="NAME", help="as bought, such as 90-48 yellow")
        parser.add_argument("--count", type=number, help="threads per --unit as bought")
        parser.add_argument("--unit", choices=("cm", "inch"), help="what the count is per")
        parser.add_argument("--thread", type=number, metavar="UM", help="thread diameter in µm")
        parser.add_argument("--colour", choices=("white", "dyed", "not_told"))
        parser.add_argument("--weave", help="1:1 for plain weave, 2:2 and so on for twill")
        parser.add_argument("--opening", type=number, metavar="UM", help="from the data sheet")
        parser.add_argument("--thickness", type=number, metavar="UM", help="from the data sheet")
        for option, (_, reader, about) in _BUYING.items():
            parser.add_argument(f"--{option}", type=or_none(reader), metavar="N", help=about)
        for option, (rule, reader, about) in _RULES.items():
            read = reader if rule in _ALWAYS else or_none(reader)
            note = "" if rule in _ALWAYS else "; none: no such rule"
            parser.add_argument(f"--{option}", type=read, metavar="N", help=about + note)
        if name == "edit":
            parser.add_argument("--name", dest="new_name", metavar="NEW", help="a new name")
            parser.add_argument(
                "--look", action="store_true",
                help="only tell what the thresholds would do; nothing is saved",
            )  # fmt: skip


# mesh types


def _list_mesh(call: Call) -> None:
    with call.desk.read() as reader:
        listed = reader.mesh_types()
    rows = [
        {
            "name": m.name,
            "threads_per_cm": m.threads_per_cm,
            "thread_um": m.thread_um,
            "weave": m.weave,
            "opening_um": m.opening_um,
            "thickness_um": m.thickness_um,
            "colour": m.colour,
            "target": m.rules.target,
            "limit": m.rules.limit,
            "risk_percent": None if m.rules.risk is None else 100 * m.rules.risk,
            "longest_wait": m.rules.longest_wait_days,
            "read_every": m.rules.days_between_readings,
            "buy_from": m.buying.buy_from,
            "lead_time": m.buying.lead_time_days,
            "list_price": _price(m),
            "to_be_completed": m.to_be_completed,
        }
        for m in listed
    ]
    columns = tuple(rows[0]) if rows else ()
    call.table(rows, columns, say("There is no mesh on the shelf yet."))


def _price(mesh: MeshTypeRecord) -> str | None:
    price_per_m = mesh.buying.price_per_m
    return None if price_per_m is None else f"{price_per_m:f}"


def _book(call: Call) -> None:
    """List grades; a value that a rule estimated says so."""
    rows = [
        {
            "name": grade.name,
            "sold_per_inch": list(grade.aliases) if call.as_json else _counts(grade),
            "thread_um": grade.thread_um,
            "weave": grade.weave,
            "colours": ", ".join(grade.colours),
            "opening_um": grade.opening_um.value,
            "opening": grade.opening_um.basis,
            "thickness_um": grade.thickness_um.value,
            "thickness": grade.thickness_um.basis,
            "target": grade.suggestion.tension,
            "target_low": grade.suggestion.low,
            "target_high": grade.suggestion.high,
        }
        for grade in mesh_book.find_grades(" ".join(call.words.text))
    ]
    columns = tuple(rows[0]) if rows else ()
    call.table(rows, columns, say("The starter book has no such grade."))
    if rows and not call.as_json:
        call.tell(
            say(
                "Targets are suggested from the load on the thread, derived from published "
                "tensions of garment printing; a data sheet wins."
            )
        )


def _counts(grade: mesh_book.Grade) -> str:
    return " = ".join(f"{count:g}" for count in grade.aliases)


def _add_mesh_type(call: Call) -> None:
    words = call.words
    facts = meshes.MeshTypeFacts(name=words.name)
    if words.count is None:
        facts = meshes.facts_from_text(words.name, count_unit=words.unit)
    call.done(meshes.add_mesh_type(call.desk, _changed(call, facts)))


def _edit_mesh_type(call: Call) -> None:
    words = call.words
    with call.desk.read() as reader:
        known = meshes.find_mesh_type(reader, words.name)
    facts = replace(_changed(call, _facts(known)), name=words.new_name or known.name)
    if words.look:
        meshes.check_facts(facts)
        _tell_effect(call, known.name, facts.rules)
        return
    call.done(meshes.edit_mesh_type(call.desk, words.name, facts, version=known.version))


def _bought(call: Call, facts: meshes.MeshTypeFacts) -> Buying:
    """How it is bought, with what was told now."""
    known = facts.buying or Buying()
    told: dict[str, Any] = {}
    for option, (field, _, _) in _BUYING.items():
        value = getattr(call.words, option.replace("-", "_"))
        if value is NONE:
            told[field] = "" if field == "buy_from" else None
        elif value is not None:
            told[field] = value
    return replace(known, **told)


def _tell_effect(call: Call, name: str, rules: MeshRules) -> None:
    """Tell what the thresholds do now, and what the new ones would do."""
    forecasts.refresh_if_possible(call.desk)
    now, then = rule_effect.compare(rule_effect.gather(call.desk, name), rules)
    if call.as_json:
        call.give({"now": now, "then": then})
        return
    call.tell(say("Now: {what}.", what=now.said))
    call.tell(say("With this: {what}.", what=then.said))
    for note in then.notes:
        call.tell(note)


def _facts(known: MeshTypeRecord) -> meshes.MeshTypeFacts:
    return meshes.MeshTypeFacts(
        known.name,
        known.count_as_bought,
        known.count_unit,
        known.threads_per_cm,
        known.thread_um,
        known.colour,
        known.rules,
        known.weave,
        known.opening_um,
        known.thickness_um,
        known.buying,
    )


def _changed(call: Call, facts: meshes.MeshTypeFacts) -> meshes.MeshTypeFacts:
    words = call.words
    told: dict[str, Any] = {
        rule: None if value is NONE else value
        for option, (rule, _, _) in _RULES.items()
        if (value := getattr(words, option.replace("-", "_"))) is not None
    }
    facts = replace(facts, rules=replace(facts.rules, **told), buying=_bought(call, facts))
    if words.count is not None:
        unit = words.unit or facts.count_unit
        per_cm = words.count if unit == "cm" else words.count / CM_PER_INCH
        facts = replace(facts, count_as_bought=words.count, count_unit=unit, threads_per_cm=per_cm)
    sheet = {
        field: value
        for option, field in _CLOTH.items()
        if (value := getattr(words, option)) is not None
    }
    facts = replace(facts, **sheet)
    return facts if words.colour is None else replace(facts, colour=words.colour)


def _usage(call: Call) -> None:
    rows = [
        {
            "month": use.month.strftime("%Y-%m"),
            "mesh": use.mesh.name,
            "pieces": use.pieces,
            "cut_m": use.cut_mm / 1000,
            "scrapped_m": use.scrapped_mm / 1000,
        }
        for use in stock.shelf(call.desk).usage
    ]
    call.table(rows, tuple(rows[0]) if rows else (), say("No mesh has been cut yet."))
