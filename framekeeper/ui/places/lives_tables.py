"""The tables of lives: groups, causes, and what is behind a number."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from PySide6.QtCore import Qt

from framekeeper.domain.lived_mesh import Cause
from framekeeper.services.behind import BehindEvent, BehindRow
from framekeeper.services.lives import CauseFound, LifeGroup
from framekeeper.services.lives_telling import (
    cause_words,
    law_words,
    left_words,
    middle_words,
    share_words,
)
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.text import tr

_RIGHT = Qt.AlignmentFlag.AlignRight


def group_columns(bench: Bench) -> tuple[Column[LifeGroup], ...]:
    """List the columns of the groups: counts, then what was estimated from them."""
    f = bench.formatter

    def count(
        key: str, head: str, of: Callable[[LifeGroup], int], width: int, tip: str
    ) -> Column[LifeGroup]:
        return Column(key, head, lambda g: str(of(g)), of, width, _RIGHT, header_tooltip=tip)

    def name(group: LifeGroup) -> str:
        return f.sentence(group.label.name)

    return (
        Column("name", tr("Group"), name, lambda g: (not g.label.is_told, g.label.order), 148,
               tooltip=name),
        count("lives", tr("Lives"), lambda g: len(g.rows), 66, tr("Lives that count")),
        count("ended", tr("Ended"), lambda g: len(g.ended), 70, tr("Lives that are over")),
        count("on", tr("Running"), lambda g: len(g.running), 84,
              tr("Screens in service: their lives go on")),
        count("out_of_sight", tr("Unseen"), lambda g: len(g.out_of_sight), 80,
              tr("On frames that were retired, are missing or were sent out: they count up to "
                 "then")),
        count("left_out", tr("Left out"), lambda g: len(g.left_out), 80,
              tr("Nobody knows when they began, or they were first seen at their end")),
        Column(
            "middle", tr("Half last"), lambda g: f.sentence(middle_words(g.middle)),
            lambda g: g.middle.age if g.middle else None, 146, _RIGHT,
            header_tooltip=tr("Age that half of them outlast, with its 95 % interval"),
        ),
        Column(
            "law", tr("How they fail"), lambda g: f.sentence(law_words(g.law)),
            lambda g: g.law.shape if g.law else None, 230,
            header_tooltip=tr(
                "Weibull shape with its 95 % interval: above 1 it wears out, 1 is pure accident, "
                "below 1 the young fail most"
            ),
        ),
        Column(
            "left", tr("Left"), lambda g: f.sentence(left_words(g.mean_left)),
            lambda g: g.mean_left.expected if g.mean_left else None, 102, _RIGHT,
            header_tooltip=tr("What a screen in service has left on average"),
        ),
    )  # fmt: skip


def group_id(group: LifeGroup) -> str:
    """Name the row of a group."""
    return group.label.key


def cause_columns(bench: Bench) -> tuple[Column[CauseFound], ...]:
    """List the columns of the causes."""
    f = bench.formatter

    def words(cause: CauseFound) -> str:
        return f.sentence(cause_words(cause.cause))

    return (
        Column("cause", tr("Cause"), words, lambda c: words(c).casefold(), 250, tooltip=words),
        Column("ends", tr("Ends"), lambda c: str(len(c.rows)), lambda c: len(c.rows), 62, _RIGHT),
        Column(
            "share", tr("Share"), lambda c: f.sentence(share_words(c.share)),
            lambda c: c.share, 96,
            tooltip=lambda c: tr(
                "Together with the more frequent ones: {share}",
                share=f.sentence(share_words(c.cumulative)),
            ),
        ),
    )  # fmt: skip


def cause_id(cause: CauseFound) -> Cause:
    """Name the row of a cause."""
    return cause.cause


def behind_columns(bench: Bench) -> tuple[Column[BehindRow], ...]:
    """List the columns of what is behind a number."""
    f = bench.formatter

    def since(row: BehindRow) -> str:
        return tr("not known") if row.since is None else f.date(f.day_of(row.since))

    def said(row: BehindRow) -> str:
        return f.sentence(row.said)

    return (
        Column("frame", tr("Frame"), lambda r: r.frame_name, lambda r: r.frame_name, 142),
        Column("mesh", tr("Mesh"), lambda r: r.mesh_name, lambda r: r.mesh_name.casefold(), 104),
        Column("since", tr("From"), since, lambda r: r.since, 122),
        Column("said", tr("What it says"), said, lambda r: r.sort, 280, tooltip=said),
    )


def behind_id(row: BehindRow) -> int:
    """Name a row of what is behind a number."""
    return row.key


def event_columns(bench: Bench) -> tuple[Column[BehindEvent], ...]:
    """List the columns of the events of one life."""
    f = bench.formatter

    def at(event: BehindEvent) -> tuple[dt.datetime, int]:
        return event.at, event.event_id

    return (
        Column("when", tr("When"), lambda e: f.moment(e.at), at, 174),
        Column(
            "what",
            tr("Event"),
            lambda e: f.sentence(e.said),
            lambda e: str(e.said),
            140,
            tooltip=lambda e: f.sentence(e.said),
        ),
    )


def event_id(event: BehindEvent) -> int:
    """Name the row of an event."""
    return event.event_id
