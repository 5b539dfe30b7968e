"""The tables of the costs: costs with their parts, their numbers, and what is behind those."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from PySide6.QtCore import Qt

from framekeeper.services.cost_seen import Trace
from framekeeper.services.costs import KnownCosts, Number
from framekeeper.services.costs_telling import (
    ORIGIN_WORDS,
    CostLine,
    amount_words,
    input_words,
    rests_words,
    value_words,
)
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.text import tr

_RIGHT = Qt.AlignmentFlag.AlignRight
_INDENT = "\N{EM SPACE}"


@dataclass(frozen=True, slots=True)
class PricedLine:
    """A line of the costs, with what the shop needs to write it."""

    line: CostLine
    known: KnownCosts


@dataclass(frozen=True, slots=True)
class KnownNumber:
    """A number, with what the shop needs to write it."""

    number: Number
    known: KnownCosts


@dataclass(frozen=True, slots=True)
class TraceRow:
    """One thing that a number rests on; without a trace only the number itself."""

    number: str
    place: int
    words: str
    trace: Trace | None


def cost_columns(bench: Bench) -> tuple[Column[PricedLine], ...]:
    """List the columns of the costs."""
    f = bench.formatter

    def what(row: PricedLine) -> str:
        words = f.sentence(row.line.words)
        return words if row.line.is_head else f"{_INDENT}{words}"

    def cost(row: PricedLine) -> str:
        return f.sentence(amount_words(row.line, row.known.currency))

    def rests(row: PricedLine) -> str:
        return f.sentence(rests_words(row.line))

    return (
        Column("what", tr("What"), what, lambda r: r.line.key, 236, tooltip=rests),
        Column("cost", tr("Costs"), cost, lambda r: r.line.amount, 150, _RIGHT, tooltip=rests),
    )


def number_columns(bench: Bench) -> tuple[Column[KnownNumber], ...]:
    """List the columns of the numbers."""
    f = bench.formatter

    def why(row: KnownNumber) -> str:
        return f.sentence(row.number.words)

    return (
        Column(
            "what",
            tr("Reckoned from"),
            lambda r: f.sentence(input_words(r.number.name)),
            lambda r: r.number.name,
            186,
            tooltip=why,
        ),
        Column(
            "value",
            tr("Value"),
            lambda r: f.sentence(value_words(r.number.name, r.number.value, r.known)),
            lambda r: r.number.value,
            134,
            _RIGHT,
            tooltip=why,
        ),
        Column(
            "origin",
            tr("From"),
            lambda r: f.sentence(ORIGIN_WORDS[r.number.origin]),
            lambda r: r.number.origin,
            96,
            tooltip=why,
        ),
    )


def trace_columns(bench: Bench) -> tuple[Column[TraceRow], ...]:
    """List the columns of what is behind a number."""
    f = bench.formatter

    def moment(row: TraceRow) -> dt.datetime | None:
        return None if row.trace is None else row.trace.at

    def when(row: TraceRow) -> str:
        at = moment(row)
        return "" if at is None else f.moment(at)

    return (
        Column("number", tr("Number"), lambda r: r.number, lambda r: r.number, 220),
        Column("when", tr("When"), when, moment, 170),
        Column(
            "where",
            tr("Frame or roll"),
            lambda r: "" if r.trace is None else r.trace.name,
            lambda r: "" if r.trace is None else r.trace.name,
            170,
        ),
        Column("what", tr("What"), lambda r: r.words, lambda r: r.words, 400),
    )


def line_id(row: PricedLine) -> str:
    """Name a line of the costs."""
    return row.line.key


def number_id(row: KnownNumber) -> str:
    """Name a number."""
    return row.number.name


def trace_id(row: TraceRow) -> tuple[str, int]:
    """Name a row of what is behind."""
    return row.number, row.place
