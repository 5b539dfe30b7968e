"""Puts the findings into words: the place, the command line and tests say them alike."""

from __future__ import annotations

from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.findings import Findings, MeshFinding, OddScreen
from framekeeper.services.forecast_words import MOSTLY, PARTLY
from framekeeper.services.forecasts import Fitted

LEAST_LOSS = 0.005  # N/cm: what is smaller is no loss that a meter could tell


def fitted_words(fitted: Fitted | None) -> Sentence:
    """Say when the forecast was fitted, on what, and what it does not know yet."""
    if fitted is None:
        return say("Nothing has been fitted yet: the trade’s figures stand until then.")
    if not fitted.is_stale:
        return say(
            "Fitted {at} on {readings} readings of {stretches} stretches; nothing newer has been "
            "read.",
            at=fitted.fitted_at,
            readings=fitted.readings,
            stretches=fitted.stretches,
        )
    return say(
        "Fitted {at} on {readings} readings of {stretches} stretches. Newer surveys that are not "
        "in it: {new}.",
        at=fitted.fitted_at,
        readings=fitted.readings,
        stretches=fitted.stretches,
        new=fitted.new_surveys,
    )


def share_words(own_share: float) -> Sentence:
    """Say in two words whose figures a mesh's curve mostly rests on."""
    if own_share < MOSTLY:
        return say("trade’s figures")
    return say("partly own") if own_share < PARTLY else say("own readings")


def rests_on_words(found: MeshFinding) -> Sentence:
    """Say in a whole sentence what a mesh's curve rests on."""
    values = {"name": found.mesh.name, "share": 100 * found.own_share}
    if found.own_share < MOSTLY:
        template = (
            "{name}: still mostly the trade’s figures; {share:.0f} % of what is known comes from "
            "this shop’s own readings."
        )
    elif found.own_share < PARTLY:
        template = (
            "{name}: partly the trade’s figures; {share:.0f} % of what is known comes from this "
            "shop’s own readings."
        )
    else:
        template = "{name}: {share:.0f} % of what is known comes from this shop’s own readings."
    return Sentence(template, values)


def loss_words(found: MeshFinding) -> tuple[Sentence, Sentence]:
    """Say what the first night costs, and what a print and reclaim cycle does."""
    start = found.days[0].tension
    night = (
        say(
            "The first night costs {loss:.1f} N/cm ({percent:.0f} %).",
            loss=found.first_night,
            percent=100 * found.first_night / start,
        )
        if found.first_night >= LEAST_LOSS
        else say("The first night costs nothing that could be told.")
    )
    if found.first_cycle < LEAST_LOSS and found.later_cycle < LEAST_LOSS:
        return night, say("Print and reclaim cycles cost nothing that could be told.")
    return night, say(
        "The first print and reclaim cycle costs {first:.2f} N/cm, a later one {later:.2f}.",
        first=max(found.first_cycle, 0.0),
        later=max(found.later_cycle, 0.0),
    )


def spread_words(found: MeshFinding) -> Sentence:
    """Say how far screens of one mesh differ after a month."""
    month = next(p for p in found.days if p.day == 30)
    return say(
        "After 30 days it usually has {tension:.1f} N/cm; eight of ten screens that start alike "
        "lie from {low:.1f} to {high:.1f}.",
        tension=month.tension,
        low=month.low,
        high=month.high,
    )


def trade_words(found: Findings) -> Sentence:
    """Say what the trade’s figures let expect, and that they are no more than that."""
    return say(
        "The trade’s figures leave {day1:.0f} % of the tension after a day, {day30:.0f} % after "
        "30 and {day180:.0f} % after 180. They fade as own readings come.",
        day1=found.trade_left[1],
        day30=found.trade_left[3],
        day180=found.trade_left[5],
    )


def odd_words(odd: OddScreen) -> Sentence:
    """Say in two words how a stretch stands out."""
    if odd.kind == "drop":
        return say("fell")
    return say("lost more") if odd.kind == "more" else say("lost less")


def odd_line(odd: OddScreen) -> Sentence:
    """Say it in a whole line."""
    values = {"frame": odd.frame.name, "mesh": odd.mesh_name, "lost": odd.lost, "at": odd.at}
    if odd.usual is None:
        template = "{frame}, {mesh}: fell suddenly by {lost:.1f} N/cm, seen {at}"
        return Sentence(
            template
            if odd.is_on
            else template + "; past, its tension was set anew or the mesh is off",
            values,
        )
    template = (
        "{frame}, {mesh}: lost {lost:.1f} N/cm until {at} where {usual:.1f} is usual "
        "({deviations:+.1f} deviations)"
    )
    values |= {"usual": odd.usual, "deviations": odd.deviations}
    return Sentence(
        template if odd.is_on else template + "; past, its tension was set anew or the mesh is off",
        values,
    )
