"""Turns the costs into their paper: the same lines, words and numbers as the place shows."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.costs import Costs
from framekeeper.services.costs_telling import (
    amount_words,
    assumed_words,
    away_words,
    break_even_words,
    choice_words,
    cost_lines,
    difference_words,
    input_words,
    missing_words,
    money,
    rests_words,
    told_swings,
    value_words,
)
from framekeeper.services.desk import Desk
from framekeeper.services.papers import paper_size
from framekeeper.services.settings import read_settings
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.cost_sheet import CostLineChart, CostSheet


def costs_pdf(desk: Desk, wording: Wording, found: Costs) -> bytes:
    """Print costs as they are shown, with their screens a month and every "what if"."""
    from framekeeper.formats.cost_sheet import cost_sheet_pdf

    return cost_sheet_pdf(cost_sheet(desk, wording, found), speak=wording.sentence)


def cost_sheet(desk: Desk, wording: Wording, found: Costs) -> CostSheet:
    """Gather the sheet."""
    from framekeeper.formats.cost_sheet import CostRow, CostSheet, NumberRow, SwingBar

    settings, speak, known = read_settings(desk), wording.sentence, found.known
    told = (
        choice_words(found),
        break_even_words(found),
        away_words(found),
        assumed_words(),
        missing_words(found),
    )
    return CostSheet(
        shop=settings.shop_name,
        printed_on=wording.date(desk.today()),
        mesh=known.mesh,
        rows=tuple(
            CostRow(
                speak(line.words),
                speak(amount_words(line, known.currency)),
                speak(rests_words(line)),
                line.is_head,
            )
            for line in cost_lines(found)
        ),
        words=tuple(speak(said) for said in told if said is not None),
        chart=_chart(wording, found),
        swings=tuple(
            SwingBar(
                speak(input_words(swing.name)),
                speak(value_words(swing.name, swing.low, known)),
                speak(value_words(swing.name, swing.high, known)),
                float(swing.at_low),
                float(swing.at_high),
            )
            for swing in told_swings(found)
        ),
        middle=float(found.difference or 0),
        middle_text="" if found.difference is None else speak(difference_words(found)),
        numbers=tuple(
            NumberRow(
                speak(input_words(number.name)),
                speak(value_words(number.name, number.value, known)),
                speak(number.words),
            )
            for number in found.numbers.values()
        ),
        paper=paper_size(settings),
    )


def _chart(wording: Wording, found: Costs) -> CostLineChart | None:
    from framekeeper.formats.cost_sheet import CostLineChart

    if not found.line:
        return None
    start, end = found.line
    even = None if found.break_even is None else found.break_even.screens
    speak = wording.sentence
    highest = max(point for p in found.line for point in (p.in_house, p.sent_out))
    return CostLineChart(
        far=float(end.screens),
        in_house=(float(start.in_house), float(end.in_house)),
        sent_out=(float(start.sent_out), float(end.sent_out)),
        in_house_text=speak(say("in house")),
        sent_out_text=speak(say("sent out")),
        across_text=speak(say("screens a month")),
        highest_text=speak(money(highest, found.known.currency)),
        far_text=speak(_count(end.screens)),
        asked=float(found.screens),
        asked_text=speak(_count(found.screens)),
        even=None if even is None else float(even),
        even_text="" if even is None else speak(say("equal at {n:.1f}", n=float(even))),
    )


def _count(screens: Decimal) -> Sentence:
    return say("{n:.0f}", n=float(screens))
