"""The tension meters on the command line: what they are, what was learnt, and whom it concerns."""

from __future__ import annotations

import argparse
import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, change, command
from framekeeper.cli.values import day, number, whole
from framekeeper.domain.sentence import say
from framekeeper.services import meter_checks, meter_telling, meters
from framekeeper.services.check import find_meter
from framekeeper.services.meter_checks import CheckRequest, FoundOut

if TYPE_CHECKING:
    from framekeeper.cli.call import Call

_FACTS = (
    "serial", "resolution", "correction", "certificate_until",
    "u_n_per_cm", "repeatability", "certificate_months", "scale",
)  # fmt: skip
_SCALES = {"n-per-cm": "n_per_cm", "mm-of-sag": "mm_of_sag"}


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands for meters."""
    text = "tension meters"
    parser = commands.add_parser("meter", help=text, description="Tension meters.")
    parts = parser.add_subparsers(required=True, metavar="WHAT")
    command(parts, "list", _list, "list the meters, how far they can be trusted, and why")
    _add_facts(parts)
    _add_checks(parts)
    parser = change(
        parts, "found-out", _found_out,
        "conclude anew what was read since the last good check; the raw values stay", frames=False,
    )  # fmt: skip
    parser.add_argument("name", metavar="NAME")
    parser.add_argument("--bias", type=number, help="N/cm that it reads too high; below 0: too low;"
                        " default: by its newest failed reference")  # fmt: skip
    parser.add_argument("--look", action="store_true", help="only show what would change")


def _add_facts(parts: Commands[argparse.ArgumentParser]) -> None:
    for name, run, text in (
        ("add", _add_meter, "add a meter"),
        ("edit", _edit_meter, "change a meter"),
    ):
        parser = command(parts, name, run, text)
        parser.add_argument("name", metavar="NAME")
        parser.add_argument("--serial")
        parser.add_argument("--resolution", type=number, help="N/cm of its smallest step")
        parser.add_argument("--correction", type=number, help="N/cm added to what it shows")
        parser.add_argument("--certificate-until", type=day, metavar="DATE")
        parser.add_argument("--certificate-months", type=whole, help="months between certificates")
        parser.add_argument("--uncertainty", dest="u_n_per_cm", type=number,
                            help="N/cm, standard uncertainty of its bias")  # fmt: skip
        parser.add_argument("--repeatability", type=number,
                            help="N/cm, standard deviation of one reading again")  # fmt: skip
        parser.add_argument("--scale", choices=tuple(_SCALES), help="what it shows")
        if name == "edit":
            parser.add_argument("--name", dest="new_name", metavar="NEW", help="a new name")


def _add_checks(parts: Commands[argparse.ArgumentParser]) -> None:
    for kind, text in (
        ("zero", "record what the meter shows on glass"),
        ("reference", "record what the meter shows on the reference screen"),
        ("certificate", "record a new certificate"),
        ("drop", "record that the meter was dropped"),
        ("repair", "record that the meter was repaired or adjusted"),
    ):
        parser = change(parts, kind, _check, text, frames=False)
        parser.set_defaults(kind=kind)
        parser.add_argument("name", metavar="NAME")
        if kind in ("zero", "reference"):
            parser.add_argument("--shows", type=number, required=True, help="N/cm")
        if kind == "reference":
            parser.add_argument("--should", type=number, required=True, help="N/cm that it has")
        if kind == "certificate":
            parser.add_argument("--until", type=day, metavar="DATE",
                                help="default: today and the meter's own months")  # fmt: skip


# what they are


def _list(call: Call) -> None:
    rows = [
        {
            "name": page.trust.meter.name,
            "serial": page.trust.meter.serial,
            "resolution": page.trust.meter.resolution,
            "correction": page.trust.meter.correction,
            "certificate_until": page.trust.certificate_until,
            "uncertainty": page.trust.meter.u_n_per_cm,
            "repeatability": page.trust.meter.repeatability,
            "certificate_months": page.trust.meter.certificate_months,
            "answer": page.trust.answer,
            "reasons": "; ".join(call.wording.sentence(r) for r in page.trust.reasons),
            "last_zero": page.newest("zero"),
            "last_good_check": page.trust.last_good_at,
            "readings_since": page.readings_since_good,
        }
        for page in meter_checks.meter_pages(call.desk)
    ]
    columns = ("name", "answer", "certificate_until", "readings_since", "reasons")
    call.table(rows, columns if rows else (), say("There is no meter in this shop yet."))


def _add_meter(call: Call) -> None:
    facts = _facts(call, meters.MeterFacts(call.words.name))
    call.done(meters.add_meter(call.desk, facts))


def _edit_meter(call: Call) -> None:
    words = call.words
    with call.desk.read() as reader:
        known = find_meter(reader, words.name)
    facts = replace(meters.facts_of(known), name=words.new_name or known.name)
    call.done(meters.edit_meter(call.desk, words.name, _facts(call, facts), version=known.version))


def _facts(call: Call, facts: meters.MeterFacts) -> meters.MeterFacts:
    told = {name: value for name in _FACTS if (value := getattr(call.words, name)) is not None}
    if "scale" in told:
        told["scale"] = _SCALES[told["scale"]]
    return replace(facts, **told)


# what was learnt


def _check(call: Call) -> None:
    words = call.words
    request = CheckRequest(
        kind=words.kind,
        shown=getattr(words, "shows", None),
        expected=getattr(words, "should", None),
        valid_until=_until(call) if words.kind == "certificate" else None,
        note=words.note,
    )
    call.done(meter_checks.add_check(call.desk, words.name, request, when=call.when()))


def _until(call: Call) -> dt.date:
    told: dt.date | None = call.words.until
    if told is not None:
        return told
    with call.desk.read() as reader:
        meter = find_meter(reader, call.words.name)
    at = call.moment(call.words.at) or call.desk.clock.now()
    begins = at.astimezone(call.desk.clock.zone()).date()
    return meter_telling.certificate_end(meter, begins)


def _found_out(call: Call) -> None:
    words = call.words
    bias = words.bias
    if bias is None:
        bias = meter_telling.failed_bias(call.desk, words.name)
    if words.look:
        _tell_found(call, meter_checks.look_into(call.desk, words.name, bias_n_per_cm=bias), bias)
        return
    done = meter_checks.find_out(
        call.desk, words.name, bias_n_per_cm=bias, note=words.note, when=call.when()
    )
    call.done(done)


def _tell_found(call: Call, found: FoundOut, bias: float) -> None:
    if call.as_json:
        call.give(
            {
                "meter": found.meter.name,
                "bias": bias,
                "since": found.since,
                "surveys": len(found.survey_ids),
                "frames": [frame.code for frame in found.frames],
                "changed": [
                    {
                        "code": c.frame.code,
                        "before": list(c.before),
                        "after": list(c.after),
                        "verdict_before": c.verdict_before,
                        "verdict_after": c.verdict_after,
                    }
                    for c in found.changed
                ],
            }
        )
        return
    call.tell(meter_telling.what_is_doubted(found))
    for changed in found.changed:
        call.tell(meter_telling.how_it_changes(changed))
