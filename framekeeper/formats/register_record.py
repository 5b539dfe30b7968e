"""What a register file tells, as plain facts: frames, readings, and what could not be read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.events import FrameKind
from framekeeper.domain.mesh_names import CountUnit, MeshName
from framekeeper.domain.sentence import Sentence
from framekeeper.domain.sizes import LengthUnit

RegisterState = Literal["", "bare", "ready", "in_use", "to_reclaim", "out", "missing", "retired"]


@dataclass(frozen=True, slots=True)
class RegisterDefaults:
    """What the shop takes for granted where its file says nothing.

    `undated_readings_on` dates the readings of a file that has no column with their date; without
    it such readings are refused, because a forecast lives on dates.
    """

    today: dt.date
    size_unit: LengthUnit | None = None
    count_unit: CountUnit | None = None
    frame_kind: FrameKind = "glued"
    day_first: bool = True
    undated_readings_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class FrameRow:
    """One frame as the register tells it; None and "" are what it does not tell.

    Either `own_label` or `code` is set: `code` where the name is a code of this program with the
    right check character, printed form.
    """

    row: int
    sheet: str
    own_label: str
    code: str
    frame_kind: FrameKind
    width_mm: float | None = None
    height_mm: float | None = None
    mesh_text: str = ""
    mesh: MeshName | None = None
    target_n_per_cm: float | None = None
    limit_n_per_cm: float | None = None
    reclaims: int | None = None
    stretched_on: dt.date | None = None
    slot: str = ""
    note: str = ""
    state: RegisterState = ""


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading of one frame; place i of a tuple is point i + 1, None where it was not read.

    `not_told` holds the values whose direction the register does not tell.
    """

    row: int
    sheet: str
    own_label: str
    code: str
    on: dt.date
    warp: tuple[float | None, ...] = ()
    weft: tuple[float | None, ...] = ()
    not_told: tuple[float | None, ...] = ()
    meter: str = ""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something that stays out, with the place where a person finds it."""

    sheet: str
    row: int
    column: str
    value: str
    reason: Sentence


@dataclass(frozen=True, slots=True)
class RegisterFile:
    """Everything that one file tells; the caller decides whether a problem stops it.

    A frame with a bad fact stays out with its whole row. A bad reading stays out alone.
    `columns` gives for each sheet the header that was found for each meaning.
    """

    frames: tuple[FrameRow, ...]
    readings: tuple[ReadingRow, ...]
    problems: tuple[Problem, ...]
    skipped_blank_rows: int
    columns: Mapping[str, Mapping[str, str]]
    notes: tuple[Sentence, ...]
