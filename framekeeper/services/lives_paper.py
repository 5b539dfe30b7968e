"""Turns what the page of lives shows into its report on paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk
from framekeeper.services.lives import LifeGroup, LivesFound
from framekeeper.services.lives_telling import (
    WHAT_COUNTS,
    cause_words,
    comparison_words,
    estimate_lines,
    found_line,
    law_words,
    left_words,
    middle_words,
    night_lines,
    share_words,
)
from framekeeper.services.papers import paper_size
from framekeeper.services.settings import read_settings
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.lives_report import LifeChart, LivesReport

_HEADS = (
    say("Group"),
    say("Lives"),
    say("Ended"),
    say("Running"),
    say("Unseen"),
    say("Left out"),
    say("Half last"),
    say("How they fail"),
    say("Left"),
)


def lives_report(
    desk: Desk, wording: Wording, found: LivesFound, group: LifeGroup | None
) -> LivesReport:
    """Gather the report; the chart is that of the chosen group."""
    from framekeeper.formats.lives_report import LivesReport

    settings, sentence = read_settings(desk), wording.sentence
    words = () if group is None else tuple(map(sentence, _chart_words(group, found)))
    said: list[Sentence] = [comparison_words(found.comparison), *night_lines(found.night)]
    return LivesReport(
        shop=settings.shop_name,
        printed_on=wording.date(desk.today()),
        asked=sentence(found_line(found)),
        chart=None if group is None else _chart(found, group, wording),
        words=words,
        heads=tuple(map(sentence, _HEADS)),
        groups=tuple(_cells(g, wording) for g in found.groups),
        causes=tuple(
            (
                sentence(cause_words(c.cause)),
                sentence(say("{n} ({share})", n=len(c.rows), share=share_words(c.share))),
                c.share,
            )
            for c in found.causes
        ),
        said=tuple(map(sentence, (*said, WHAT_COUNTS))),
        paper=paper_size(settings),
    )


def lives_report_pdf(
    desk: Desk, wording: Wording, found: LivesFound, group: LifeGroup | None
) -> bytes:
    """Print what the page of lives shows."""
    from framekeeper.formats import lives_report as paper

    report = lives_report(desk, wording, found, group)
    return paper.lives_report_pdf(report, speak=wording.sentence)


def _chart_words(group: LifeGroup, found: LivesFound) -> Iterator[Sentence]:
    yield from estimate_lines(group, found.unit)
    if group.curve:
        yield say("Band: 95 % limits at each age. Strokes: lives that go on or left sight.")
    else:
        yield say("Filled: ended. Open: goes on or left sight.")


def _cells(group: LifeGroup, wording: Wording) -> tuple[str, ...]:
    counts = (group.rows, group.ended, group.running, group.out_of_sight, group.left_out)
    told = (middle_words(group.middle), law_words(group.law), left_words(group.mean_left))
    return (
        wording.sentence(group.label.name),
        *(str(len(rows)) for rows in counts),
        *map(wording.sentence, told),
    )


def _chart(found: LivesFound, group: LifeGroup, wording: Wording) -> LifeChart:
    from framekeeper.formats.lives_report import Dot, LifeChart, Step

    spans = [r.span for r in group.rows if r.span is not None]
    across = say("days since the release") if found.unit == "days" else say("reclaims")
    return LifeChart(
        title=wording.sentence(group.label.name),
        across=wording.sentence(across),
        steps=tuple(Step(s.age, s.share, s.low, s.high) for s in group.curve),
        going=tuple(s.age for s in spans if not s.ended) if group.curve else (),
        dots=() if group.curve else tuple(Dot(s.age, s.ended) for s in spans),
    )
