"""Turns what the shop knows into papers: labels, the due sheet and the round sheet.

Each paper has a function that gathers its dataclass and one that prints it, so that what a preview
shows and what a file holds come from the same place. `framekeeper.services.tension_paper` does the
same for the tension sheet of one frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.frame_state import WITH_MESH
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, RollRecord
from framekeeper.domain.roll_marks import roll_mark
from framekeeper.domain.sentence import Millimetres, Sentence, say
from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frames, find_roll
from framekeeper.services.plan import DueItem, Listed, due, list_frames
from framekeeper.services.settings import ShopSettings, read_settings
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.due_sheet import DueSheet, DueTask
    from framekeeper.formats.labels import Label
    from framekeeper.formats.paper_kit import Paper
    from framekeeper.formats.round_sheet import RoundLine, RoundSheet

_LABELS_ON = {"a4": "a4_3x7", "letter": "letter_3x10"}
_ON_THE_ROUND = WITH_MESH - {"in_clamps", "curing"}


@dataclass(frozen=True, slots=True)
class LabelSetup:
    """Where labels go on the sheet or roll; an empty format is the usual sheet of the shop."""

    format_key: str = ""
    start_cell: int = 1
    offset_mm: tuple[float, float] = (0.0, 0.0)
    dpi: int = 300


def paper_size(settings: ShopSettings) -> Paper:
    """Return the paper that the shop prints on."""
    return "Letter" if settings.paper == "letter" else "A4"


# labels


def usual_label_format(settings: ShopSettings) -> str:
    """Return the key of the label sheet for the shop's paper."""
    return _LABELS_ON[settings.paper]


def labels(desk: Desk, wording: Wording, codes: Sequence[str] | None = None) -> tuple[Label, ...]:
    """Gather the labels of the named frames, or of every frame that is not retired.

    Raises
    ------
    NotFound, NotValid
        If a frame is not known.
    """
    with desk.read() as reader:
        frames = reader.frames() if codes is None else find_frames(reader, codes)
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    return tuple(_label(frame, meshes, desk, wording) for frame in frames)


def _label(
    frame: FrameRecord, meshes: dict[int, MeshTypeRecord], desk: Desk, wording: Wording
) -> Label:
    from framekeeper.formats.labels import Label

    life = frame.state.life
    since = None if life is None else life.started_at
    target = None if life is None else life.target_n_per_cm
    return Label(
        code=frame.code,
        own_label=frame.own_label,
        mesh=meshes[life.mesh_type_id].name if life else "",
        size=wording.size(frame.width_mm, frame.height_mm),
        stretched_on=wording.date(since.astimezone(desk.clock.zone()).date()) if since else "",
        target=wording.tension(target) if target is not None else "",
    )


def labels_pdf(
    desk: Desk,
    wording: Wording,
    codes: Sequence[str] | None = None,
    setup: LabelSetup | None = None,
) -> bytes:
    """Print labels for the named frames, or for all.

    Raises
    ------
    NotValid
        If there is nothing to print or the sheet has no such cell.
    NotFound
        If a frame or the label format is not known.
    """
    from framekeeper.formats.label_formats import label_format
    from framekeeper.formats.labels import label_pdf

    chosen = setup or LabelSetup()
    key = chosen.format_key or usual_label_format(read_settings(desk))
    return label_pdf(
        labels(desk, wording, codes),
        label_format(key),
        start_cell=chosen.start_cell,
        offset_mm=chosen.offset_mm,
        dpi=chosen.dpi,
        speak=wording.sentence,
    )


def roll_labels(
    desk: Desk, wording: Wording, codes: Sequence[str] | None = None
) -> tuple[Label, ...]:
    """Gather the labels of the named rolls and offcuts, or of every one with mesh on it.

    Raises
    ------
    NotFound
        If a roll is not known.
    """
    from framekeeper.formats.labels import Label

    with desk.read() as reader:
        every = reader.rolls()
        rolls = (
            [r for r in every if r.on_hand_mm > 0]
            if codes is None
            else [find_roll(reader, code) for code in codes]
        )
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    mothers = {r.id: r.code for r in every}
    return tuple(
        Label(
            code=r.code,
            own_label=wording.sentence(say("lot {lot}", lot=r.lot)) if r.lot else "",
            mesh=meshes[r.mesh_type_id].name,
            size=wording.sentence(_roll_size(r, mothers)),
            scans_as=roll_mark(r.id),
        )
        for r in rolls
    )


def _roll_size(roll: RollRecord, mothers: dict[int, str]) -> Sentence:
    wide = Millimetres(roll.width_mm)
    mother = mothers.get(roll.from_roll_id or 0)
    if mother is None:
        return say("{wide} wide", wide=wide)
    return say("{wide} wide, offcut of {roll}", wide=wide, roll=mother)


def roll_labels_pdf(
    desk: Desk,
    wording: Wording,
    codes: Sequence[str] | None = None,
    setup: LabelSetup | None = None,
) -> bytes:
    """Print labels for the named rolls, or for all with mesh on them; see `labels_pdf`."""
    from framekeeper.formats.label_formats import label_format
    from framekeeper.formats.labels import label_pdf

    chosen = setup or LabelSetup()
    key = chosen.format_key or usual_label_format(read_settings(desk))
    return label_pdf(
        roll_labels(desk, wording, codes),
        label_format(key),
        start_cell=chosen.start_cell,
        offset_mm=chosen.offset_mm,
        dpi=chosen.dpi,
        speak=wording.sentence,
        title=say("Roll labels"),
    )


# the due sheet


def due_sheet(desk: Desk, wording: Wording) -> DueSheet:
    """Gather what is due, place by place in the order of the walk through the shop."""
    from framekeeper.formats.due_sheet import DuePlace, DueSheet

    settings = read_settings(desk)
    items = due(desk)
    return DueSheet(
        shop=settings.shop_name,
        printed_on=wording.date(desk.today()),
        places=tuple(
            DuePlace(
                wording.sentence(words),
                tuple(_due_task(i, desk, wording) for i in items if i.task.place == place),
            )
            for place, words in PLACE_WORDS.items()
        ),
        paper=paper_size(settings),
    )


def _due_task(item: DueItem, desk: Desk, wording: Wording) -> DueTask:
    from framekeeper.formats.due_sheet import DueTask

    due_on = item.task.due_at.astimezone(desk.clock.zone()).date()
    return DueTask(
        code=item.frame.code,
        own_label=item.frame.own_label,
        task=wording.sentence(TASK_WORDS[item.task.rule]),
        reason=wording.sentence(item.task.reason),
        due=wording.date(due_on),
        slot=item.frame.slot,
        is_late=due_on < desk.today(),
    )


def due_sheet_pdf(desk: Desk, wording: Wording) -> bytes:
    """Print what is due."""
    from framekeeper.formats import due_sheet as paper

    return paper.due_sheet_pdf(due_sheet(desk, wording), speak=wording.sentence)


# the round sheet


def round_sheet(
    desk: Desk, wording: Wording, codes: Sequence[str] | None = None, *, meter: str = ""
) -> RoundSheet:
    """Gather the screens of a tension round in walking order: by slot, then by code.

    Without codes every screen that can be read is on it; without a meter there is a line to fill
    in.
    """
    from framekeeper.formats.round_sheet import RoundSheet

    now = desk.clock.now()
    listed = [i for i in list_frames(desk) if i.frame.state.at(now).state in _ON_THE_ROUND]
    if codes is not None:
        with desk.read() as reader:
            wanted = {frame.id for frame in find_frames(reader, codes)}
        listed = [i for i in listed if i.frame.id in wanted]
    settings = read_settings(desk)
    return RoundSheet(
        shop=settings.shop_name,
        printed_on=wording.date(desk.today()),
        meter=meter or "______",
        lines=tuple(
            _round_line(i, wording) for i in sorted(listed, key=lambda i: i.frame.walking_order)
        ),
        points=settings.points_of_a_survey,
        paper=paper_size(settings),
    )


def _round_line(item: Listed, wording: Wording) -> RoundLine:
    from framekeeper.formats.round_sheet import RoundLine

    life = item.frame.state.life
    target = (life.target_n_per_cm if life else None) or item.rules.target
    last = life.survey if life else None
    return RoundLine(
        slot=item.frame.slot,
        code=item.frame.code,
        own_label=item.frame.own_label,
        mesh=item.mesh_name,
        target="" if target is None else wording.tension(target),
        limit="" if item.rules.limit is None else wording.tension(item.rules.limit),
        last="" if last is None else wording.tension(last.mean),
    )


def round_sheet_pdf(
    desk: Desk, wording: Wording, codes: Sequence[str] | None = None, *, meter: str = ""
) -> bytes:
    """Print the sheet for a tension round."""
    from framekeeper.formats import round_sheet as paper

    sheet = round_sheet(desk, wording, codes, meter=meter)
    return paper.round_sheet_pdf(sheet, speak=wording.sentence)
