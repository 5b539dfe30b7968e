"""The table of the prep bench: a frame in each row, its steps in the order of the trade."""

from __future__ import annotations

from framekeeper.domain.trade_words import DAMAGE_WORDS, STATE_WORDS
from framekeeper.services.bench_queues import PrepRow, StepMark
from framekeeper.services.prep import BENCH_ORDER, BenchStep
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.places.prep_marks import step_icon, step_word
from framekeeper.ui.text import tr

_MARK_ORDER: tuple[StepMark, ...] = ("next", "open", "skipped", "done", "none")


def step_name(step: BenchStep) -> str:
    """Name a step the way a button or a column does."""
    return {
        "inspect": tr("Inspect"),
        "strip": tr("Strip"),
        "old_glue": tr("Old glue off"),
        "abrade": tr("Abrade"),
        "corners": tr("Corners"),
        "degrease": tr("Degrease"),
        "regrind": tr("Regrind"),
    }[step]


def prep_columns(bench: Bench) -> tuple[Column[PrepRow], ...]:
    """List the columns: what the frame is, its steps, and what holds it up."""
    formatter = bench.formatter
    return (
        Column("code", tr("Frame"), lambda r: r.frame.name, lambda r: r.frame.number, width=138),
        Column(
            "size",
            tr("Size"),
            lambda r: formatter.size(r.frame.width_mm, r.frame.height_mm),
            lambda r: (r.frame.width_mm, r.frame.height_mm),
            width=116,
        ),
        *(_step_column(bench, step) for step in BENCH_ORDER),
        Column(
            "remarks",
            tr("Remarks"),
            lambda r: remarks(bench, r),
            lambda r: remarks(bench, r),
            width=200,
            tooltip=lambda r: remarks(bench, r),
        ),
    )


def _step_column(bench: Bench, step: BenchStep) -> Column[PrepRow]:
    return Column(
        step,
        step_name(step),
        lambda r: step_word(r.shown(step).mark),
        lambda r: _MARK_ORDER.index(r.shown(step).mark),
        width={"old_glue": 110, "degrease": 94, "strip": 92}.get(step, 84),
        tooltip=lambda r: r.shown(step).reason,
        icon=lambda r: step_icon(r.shown(step).mark, bench.theme.palette),
    )


def remarks(bench: Bench, row: PrepRow) -> str:
    """Say what holds a frame up, what is due, and how it came here."""
    state, said = row.frame.state, []
    if state.hold_reason:
        said.append(tr("on hold: {reason}", reason=state.hold_reason))
    if row.is_regrind_due:
        said.append(tr("regrind due, {count} stretches", count=state.stretches_since_regrind))
    if state.state == "pulled":
        why = state.taken_out_reason or ""
        words = bench.formatter.sentence(DAMAGE_WORDS.get(why, STATE_WORDS["pulled"]))
        said.append(tr("pulled: {reason}", reason=words if why in DAMAGE_WORDS else why))
    if row.frame.kind == "roller":
        said.append(tr("rollers: inspect only"))
    return "; ".join(said)
