"""What the Rack shows and in which order: rows for every frame, filtered and sorted without Qt."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from framekeeper.domain.frame_state import FrameState, State
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, MeterRecord
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.services.days_left import DaysLeft, days_left
from framekeeper.services.desk import Desk
from framekeeper.services.plan import Listed, list_frames
from framekeeper.services.settings import ShopSettings, read_settings
from framekeeper.ui.text import Formatter, tr, tr_count
from framekeeper.ui.widgets.frame_picture import Cloth
from framekeeper.ui.widgets.marks import Mark, mark_word
from framekeeper.ui.widgets.rack_tile import Tile

SORTS = ("slot", "code", "tension", "left", "days")


@dataclass(frozen=True, slots=True)
class RackRow:
    """One frame on the rack as of the moment at which it was read."""

    frame: FrameRecord
    state: FrameState
    mesh_name: str
    mesh_colour: str
    mark: Mark | None
    days_since_reading: int | None
    why: str  # the first thing that is due, or why it is held
    left: DaysLeft | None = None  # where the forecast says how long it holds

    @property
    def tension(self) -> float | None:
        """The mean of the newest survey, N/cm."""
        life = self.state.life
        return life.survey.mean if life is not None and life.survey is not None else None


@dataclass(frozen=True, slots=True)
class RackNow:
    """The whole rack, and what forms over it offer."""

    rows: tuple[RackRow, ...]  # retired frames too
    mesh_types: tuple[MeshTypeRecord, ...]
    meters: tuple[MeterRecord, ...]
    settings: ShopSettings


@dataclass(frozen=True, slots=True)
class RackQuery:
    """What of it is asked for; empty lets everything through, except what is retired."""

    text: str = ""
    state: str = ""
    mesh: str = ""
    mark: str = ""
    sort: str = "slot"
    left: str = ""  # one of the three answers by days left

    @property
    def is_narrow(self) -> bool:
        """Whether something is filtered out."""
        return bool(self.text.strip() or self.state or self.mesh or self.mark or self.left)

    @property
    def is_by_days(self) -> bool:
        """Whether days left are looked at: then their marks are shown, not those of work."""
        return self.sort == "left" or bool(self.left)


def read_rack(desk: Desk, formatter: Formatter) -> RackNow:
    """Read every frame; runs on the database thread."""
    now, today, zone = desk.clock.now(), desk.today(), desk.clock.zone()
    listed = list_frames(desk, with_retired=True)
    with desk.read() as reader:
        mesh_types, meters = reader.mesh_types(), reader.meters()
    return RackNow(
        tuple(_row(item, now, today, zone, formatter) for item in listed),
        tuple(mesh_types),
        tuple(meters),
        read_settings(desk),
    )


def _row(
    item: Listed, now: dt.datetime, today: dt.date, zone: dt.tzinfo, formatter: Formatter
) -> RackRow:
    state = item.frame.state.at(now)
    survey = state.life.survey if state.life is not None else None
    why = state.hold_reason or (formatter.sentence(item.tasks[0].reason) if item.tasks else "")
    return RackRow(
        frame=item.frame,
        state=state,
        mesh_name=item.mesh_name,
        mesh_colour=item.mesh_colour,
        mark=_mark(item),
        days_since_reading=(today - survey.at.astimezone(zone).date()).days if survey else None,
        why=why,
        left=days_left(item.outlook, now),
    )


def _mark(item: Listed) -> Mark | None:
    """A frame without mesh and without a task holds nothing; it gets no answer."""
    life = item.frame.state.life
    if not item.tasks and (life is None or life.survey is None):
        return None
    answers: dict[str, Mark] = {"holds": "holds", "soon": "soon", "below": "below"}
    return answers[item.mark]


def arrange(rows: Iterable[RackRow], query: RackQuery, formatter: Formatter) -> list[RackRow]:
    """Filter and sort."""
    words = query.text.casefold().split()
    kept = [row for row in rows if _passes(row, query) and _has(row, words, formatter)]
    return sorted(kept, key=sort_key(query.sort))


def _passes(row: RackRow, query: RackQuery) -> bool:
    state = row.state.state
    wanted = state == query.state if query.state else state != "retired"
    return (
        wanted
        and (not query.mesh or row.mesh_name == query.mesh)
        and (not query.mark or row.mark == query.mark)
        and (not query.left or (row.left is not None and row.left.answer == query.left))
    )


def _has(row: RackRow, words: list[str], formatter: Formatter) -> bool:
    if not words:
        return True
    frame, state = row.frame, row.state
    text = " ".join(
        (
            frame.code, frame.own_label, frame.slot, frame.profile, row.mesh_name,
            formatter.size(frame.width_mm, frame.height_mm), state_words(row, formatter),
            state.reserved_job or "", state.out_to or "", row.why,
        )
    ).casefold()  # fmt: skip
    return all(word in text for word in words)


def sort_key(sort: str) -> Callable[[RackRow], Any]:
    """Give the order: what is not known comes last, frames of equal rank by number."""

    def key(row: RackRow) -> Any:
        number = row.frame.number
        if sort == "tension":
            return (row.tension is None, row.tension or 0.0, number)
        if sort == "left":
            return (row.left is None, row.left.rank if row.left else (), number)
        if sort == "days":
            days = row.days_since_reading
            return (days is None, -(days or 0), number)
        if sort == "slot":
            return row.frame.walking_order
        return number

    return key


def state_words(row: RackRow, formatter: Formatter) -> str:
    """Say the state with what marks it: a hold, a job, an outside stretcher."""
    state = row.state
    word = formatter.sentence(STATE_WORDS[state.state])
    if state.hold_reason is not None:
        return tr("{state}, on hold: {reason}", state=word, reason=state.hold_reason)
    if state.reserved_job is not None:
        return tr("{state}, reserved for {job}", state=word, job=state.reserved_job)
    if state.state == "out" and state.out_to:
        return tr("out to {who}", who=state.out_to)
    return word


def tile_of(row: RackRow, formatter: Formatter) -> Tile:
    """Draw a frame as a tile on the wall."""
    frame, state = row.frame, row.state
    return Tile(
        id=frame.id,
        code=frame.code,
        width_mm=frame.width_mm,
        height_mm=frame.height_mm,
        own_label=frame.own_label,
        state=state.state,
        state_word=state_words(row, formatter),
        mark=row.mark,
        cloth=_cloth(row),
        tension_n_per_cm=row.tension,
        slot=frame.slot,
        days_left=days_text(row, formatter) if row.left else "",
        days_mark=row.left.answer if row.left else None,
        days_said=days_said(row),
        is_held=state.hold_reason is not None,
        is_reserved=state.reserved_job is not None,
    )


def days_text(row: RackRow, formatter: Formatter) -> str:
    """Write the days left as short as a cell needs; a dash where nothing is foretold."""
    return formatter.sentence(row.left.words) if row.left else "—"


def days_said(row: RackRow) -> str:
    """Say the days left and their answer for whoever hears them; empty where none is foretold."""
    left = row.left
    if left is None:
        return ""
    if left.answer == "below":
        return tr("likely below its limit by now")
    if left.days is None:
        return tr_count("more than {n} day left", "more than {n} days left", int(left.at_least))
    if left.answer == "soon":
        return tr_count("{n} day left, soon below", "{n} days left, soon below", int(left.days))
    return tr_count("{n} day left", "{n} days left", int(left.days))


def _cloth(row: RackRow) -> Cloth:
    if row.state.life is None:
        return "none"
    return "yellow" if row.mesh_colour == "dyed" else "white"


def usual_sizes(rows: Iterable[RackRow]) -> tuple[tuple[float, float], ...]:
    """The sizes in the shop, the most frequent first."""
    counted = Counter((row.frame.width_mm, row.frame.height_mm) for row in rows)
    return tuple(size for size, _ in counted.most_common(12))


def present_states(rows: Iterable[RackRow]) -> list[State]:
    """The states that occur, in the order in which a frame walks through them."""
    found = {row.state.state for row in rows}
    return [state for state in STATE_WORDS if state in found]


def mark_rank(row: RackRow) -> int | None:
    """What asks for work first, first; None for a frame without an answer."""
    return None if row.mark is None else list(mark_words()).index(row.mark)


def left_words() -> dict[str, str]:
    """The three answers by days left."""
    return {
        "below": tr("Below by now"),
        "soon": tr("Soon below"),
        "holds": tr("Holds for now"),
    }


def mark_words() -> dict[str, str]:
    """The three answers in words."""
    return {mark: mark_word(mark) for mark in ("below", "soon", "holds")}
