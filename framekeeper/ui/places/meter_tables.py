"""The tables of the meters: the meters with their answer, what was learnt, studies, frames."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import Qt

from framekeeper.domain.records import MeterCheckRecord
from framekeeper.domain.sentence import Sentence
from framekeeper.services.meter_checks import ChangedFrame, MeterPage
from framekeeper.services.meter_studies import MeterStudy
from framekeeper.services.meter_telling import answers_of, check_words
from framekeeper.services.study_telling import ShareOfVariation, study_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.widgets.marks import MARKS, mark_icon, mark_word

_RIGHT = Qt.AlignmentFlag.AlignRight


def meter_columns(bench: Bench) -> tuple[Column[MeterPage], ...]:
    """List the columns of the meters."""
    f = bench.formatter

    def why(page: MeterPage) -> str:
        return reasons(bench, page)

    return (
        Column(
            "name",
            tr("Meter"),
            lambda p: p.trust.meter.name,
            lambda p: p.trust.meter.name.lower(),
            width=130,
            tooltip=lambda p: p.trust.meter.serial,
        ),
        Column(
            "answer",
            tr("Answer"),
            lambda p: mark_word(p.trust.answer),
            lambda p: MARKS.index(p.trust.answer),
            width=100,
            icon=lambda p: mark_icon(p.trust.answer, bench.theme.palette),
        ),
        Column(
            "certificate",
            tr("Certificate until"),
            lambda p: f.date(until) if (until := p.trust.certificate_until) else "—",
            lambda p: p.trust.certificate_until,
            width=136,
        ),
        Column(
            "zero",
            tr("Last zero"),
            lambda p: _moment(f, p.newest("zero")),
            lambda p: p.newest("zero"),
            width=176,
        ),
        Column(
            "good",
            tr("Last good check"),
            lambda p: f.date(f.day_of(good)) if (good := p.trust.last_good_at) else tr("never"),
            lambda p: p.trust.last_good_at,
            width=140,
            header_tooltip=tr(
                "A reference, a certificate or a repair; zero on glass is not enough"
            ),
        ),
        Column(
            "since",
            tr("Readings since"),
            lambda p: str(p.readings_since_good),
            lambda p: p.readings_since_good,
            width=130,
            align=_RIGHT,
            header_tooltip=tr("Surveys made with it since its last good check"),
        ),
        Column("why", tr("Why"), why, lambda p: len(p.trust.reasons), width=160, tooltip=why),
    )


def reasons(bench: Bench, page: MeterPage) -> str:
    """Say why a meter is answered as it is; nothing where it holds."""
    return "; ".join(bench.formatter.sentence(reason) for reason in page.trust.reasons)


def check_columns(bench: Bench) -> tuple[Column[MeterCheckRecord], ...]:
    """List the columns of what was learnt about a meter."""
    f = bench.formatter

    def what(check: MeterCheckRecord) -> str:
        said = f.sentence(check_words(check))
        return tr("{what} ({note})", what=said, note=check.note) if check.note else said

    return (
        Column(
            "when",
            tr("When"),
            lambda c: f.date(f.day_of(c.happened_at)),
            lambda c: c.happened_at,
            width=118,
            tooltip=lambda c: tr("{when}  {by}", when=f.moment(c.happened_at), by=c.by),
        ),
        Column("what", tr("What"), what, lambda c: c.kind, width=200, tooltip=what),
    )


def study_columns(bench: Bench) -> tuple[Column[MeterStudy], ...]:
    """List the columns of the studies."""
    f = bench.formatter

    def found(study: MeterStudy) -> str:
        return f.sentence(study_words(study)[0])

    return (
        Column(
            "when",
            tr("When"),
            lambda s: f.date(f.day_of(s.record.happened_at)),
            lambda s: s.record.happened_at,
            width=118,
        ),
        Column("what", tr("Study"), study_name, study_name, width=200, tooltip=found),
    )


def study_name(study: MeterStudy) -> str:
    """Name a study by its meters."""
    if study.other is not None:
        return tr("{meter} beside {other}", meter=study.meter.name, other=study.other.name)
    return tr("Gauge study of {meter}", meter=study.meter.name)


def share_columns(bench: Bench) -> tuple[Column[ShareOfVariation], ...]:
    """List the columns of a gauge study's result."""
    f = bench.formatter
    return (
        Column("what", tr("What varies"), lambda s: f.sentence(s.what), lambda s: str(s.what), 320),
        Column(
            "sd",
            tr("Deviation, N/cm"),
            lambda s: f.number(s.sd_n_per_cm, 3),
            lambda s: s.sd_n_per_cm,
            width=150,
            align=_RIGHT,
        ),
        Column(
            "percent",
            tr("% of variation"),
            lambda s: f.number(s.percent, 2),
            lambda s: s.percent,
            width=120,
            align=_RIGHT,
        ),
    )


def changed_columns(bench: Bench) -> tuple[Column[ChangedFrame], ...]:
    """List the columns of the frames whose answer changes."""
    f = bench.formatter
    return (
        Column(
            "frame",
            tr("Frame"),
            lambda c: c.frame.name,
            lambda c: c.frame.walking_order,
            width=170,
        ),
        Column("slot", tr("Slot"), lambda c: c.frame.slot, lambda c: c.frame.walking_order, 90),
        Column(
            "lowest",
            tr("Lowest, N/cm"),
            lambda c: _both(f, c.was.lowest, c.becomes.lowest),
            lambda c: c.becomes.lowest,
            width=130,
        ),
        Column(
            "mean",
            tr("Mean, N/cm"),
            lambda c: _both(f, c.was.mean, c.becomes.mean),
            lambda c: c.becomes.mean,
            width=130,
        ),
        Column(
            "answer",
            tr("Answer"),
            lambda c: _becomes(f, *answers_of(c)),
            lambda c: (c.after, c.verdict_after or ""),
            width=260,
        ),
    )


def _both(f: Formatter, was: float, becomes: float) -> str:
    return tr("{was} → {becomes}", was=f.number(was), becomes=f.number(becomes))


def _becomes(f: Formatter, before: Sentence, after: Sentence) -> str:
    return tr("{was} → {becomes}", was=f.sentence(before), becomes=f.sentence(after))


def _moment(f: Formatter, when: dt.datetime | None) -> str:
    return tr("never") if when is None else f.moment(when)


def meter_id(page: MeterPage) -> int:
    """Name a meter's row."""
    return page.trust.meter.id


def check_id(check: MeterCheckRecord) -> int:
    """Name a row of what was learnt."""
    return check.id


def study_id(study: MeterStudy) -> int:
    """Name a row of the studies."""
    return study.record.id


def share_id(share: ShareOfVariation) -> str:
    """Name a row of a result."""
    return share.what.template


def changed_id(changed: ChangedFrame) -> str:
    """Name a row of the frames that change."""
    return changed.frame.code
