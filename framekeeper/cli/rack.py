"""The rack on the command line: register, find, list, show and edit frames."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TYPE_CHECKING

from framekeeper.cli.forecast import days_cell, forecast_fields
from framekeeper.cli.options import Commands, change, command
from framekeeper.cli.values import day, number, size, whole
from framekeeper.cli.verdicts import verdict_lines, verdict_rows
from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import FRAME_KINDS
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import STATE_WORDS, TASK_WORDS
from framekeeper.services import frame_page, plan, register, telling
from framekeeper.services.forecasts import refresh_if_possible

if TYPE_CHECKING:
    from framekeeper.cli.call import Call

MOST_AT_ONCE = 1000


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands of the rack."""
    parser = change(commands, "register", _register, "register bare frames", frames=False)
    _about_frames(parser)
    parser = change(
        commands, "found", _found, "register frames that have mesh on already", frames=False
    )
    _about_frames(parser)
    parser.add_argument("--mesh", required=True, help="the mesh that is on them")
    parser.add_argument("--reclaims", type=whole, help="reclaims so far, where known")
    parser.add_argument("--since", type=day, metavar="DATE", help="when that mesh was stretched")
    parser.add_argument("--target", type=number, help="its target in N/cm")
    parser = command(commands, "edit", _edit, "change what a frame is")
    parser.add_argument("code", metavar="CODE")
    parser.add_argument("--size", type=size, help="outer size, such as 23x31in")
    parser.add_argument("--kind", choices=FRAME_KINDS)
    for name in ("label", "slot", "profile"):
        parser.add_argument(f"--{name}")
    parser = command(commands, "frames", _frames, "list the frames")
    parser.add_argument("--retired", action="store_true", help="retired frames too")
    parser = command(commands, "show", _show, "show one frame")
    parser.add_argument("code", metavar="CODE")
    parser = command(commands, "journal", _journal, "list what happened to a frame, newest first")
    parser.add_argument("code", metavar="CODE")


def _about_frames(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--size", type=size, required=True, help="outer size, such as 23x31in")
    parser.add_argument("--count", type=whole, help="how many alike")
    parser.add_argument("--kind", choices=FRAME_KINDS, default="glued")
    parser.add_argument("--label", action="append", default=[], help="the shop's own; repeatable")
    parser.add_argument("--slot", default="", help="where it stands")
    parser.add_argument("--profile", default="", help="the profile of its bars")


def _new_frames(call: Call) -> list[register.NewFrame]:
    words = call.words
    count = words.count if words.count is not None else max(1, len(words.label))
    if not 1 <= count <= MOST_AT_ONCE:
        raise NotValid(say("{count} frames at once cannot be.", count=count), argument="count")
    if words.label and len(words.label) != count:
        raise NotValid(
            say("{labels} labels are not one for each of {count} frames.",
                labels=len(words.label), count=count),
            hint=say("Give --label once for each frame, or not at all."),
        )  # fmt: skip
    return [
        register.NewFrame(
            words.size.width_mm, words.size.height_mm, words.kind, label, words.profile, words.slot
        )
        for label in (words.label or [""] * count)
    ]


def _register(call: Call) -> None:
    call.done(register.register(call.desk, _new_frames(call), when=call.when()))
    _tell_guess(call)


def _tell_guess(call: Call) -> None:
    """Say how a size without unit was read: 58 x 78 may have meant cm."""
    size = call.words.size
    if size.unit_is_a_guess and not call.as_json:
        read = call.wording.size(size.width_mm, size.height_mm)
        call.tell(say("No unit was told; the size was read as {size}.", size=read))


def _found(call: Call) -> None:
    words = call.words
    since = call.moment((words.since, None)) if words.since else None
    if since is not None:
        lifecycle.check_time(since, call.clock.now())
    mesh = register.FoundMesh(words.mesh, words.reclaims, since, words.target)
    call.done(register.register(call.desk, _new_frames(call), found=mesh, when=call.when()))
    _tell_guess(call)


def _edit(call: Call) -> None:
    words = call.words
    edit = register.FrameEdit(
        own_label=words.label,
        width_mm=words.size.width_mm if words.size else None,
        height_mm=words.size.height_mm if words.size else None,
        kind=words.kind,
        profile=words.profile,
        slot=words.slot,
    )
    call.done(register.edit_frame(call.desk, words.code, edit))


def _frames(call: Call) -> None:
    refresh_if_possible(call.desk)
    listed = plan.list_frames(call.desk, with_retired=call.words.retired)
    rows = [_row(call, item) for item in listed]
    if not call.as_json:
        rows = [{**row, "state": STATE_WORDS[str(row["state"])],
                 "size": call.wording.size(item.frame.width_mm, item.frame.height_mm),
                 "days_left": days_cell(call, item)}
                for row, item in zip(rows, listed, strict=True)]  # fmt: skip
    call.table(
        rows,
        (
            "code",
            "own_label",
            "state",
            "mesh",
            "size",
            "tension",
            "limit",
            "days_left",
            "slot",
            "mark",
        ),
        say("There is no frame in this shop yet. Register one, or import a register."),
    )


def _row(call: Call, item: plan.Listed) -> dict[str, object]:
    """Give one frame for a machine; tension is the mean of the last survey of this mesh."""
    frame = item.frame
    state = frame.state.at(call.clock.now())
    life = state.life
    survey = life.survey if life else None
    return {
        "code": frame.code,
        "own_label": frame.own_label,
        "state": state.state,
        "mesh": item.mesh_name,
        "size_mm": [frame.width_mm, frame.height_mm],
        "tension": survey.mean if survey else None,
        "lowest": survey.lowest if survey else None,
        "spread": survey.spread if survey else None,
        "read_at": survey.at if survey else None,
        "target": (life.target_n_per_cm if life else None) or item.rules.target,
        "limit": item.rules.limit,
        "kind": frame.kind,
        "slot": frame.slot,
        "profile": frame.profile,
        "mesh_since": life.started_at if life else None,
        "reclaims": life.reclaims if life else None,
        "reclaims_known": life.reclaims_known if life else None,
        "stretches": state.stretches,
        "hold": state.hold_reason,
        "reserved_for": state.reserved_job,
        "mark": item.mark if item.tasks or survey else None,  # a bare frame holds nothing
        **forecast_fields(call, item),
    }


def _show(call: Call) -> None:
    page = frame_page.frame_page(call.desk, call.words.code)
    item = plan.Listed(
        page.frame,
        page.mesh.name if page.mesh else "",
        page.mesh.colour if page.mesh else "not_told",
        page.rules,
        page.tasks,
        page.outlook,
    )
    row = _row(call, item)
    if call.as_json:
        tasks = [
            {"task": t.rule, "place": t.place, "due": t.due_at, "reason": t.reason}
            for t in page.tasks
        ]
        said = verdict_rows(page.judgement)
        call.give({**row, **said, "due": tasks, "journal": _journal_rows(call, page)})
        return
    for line in _page_lines(call, page, row):
        call.tell(line)


def _page_lines(
    call: Call, page: frame_page.FramePage, row: dict[str, object]
) -> Iterator[Sentence | str]:
    frame, state = page.frame, page.settled
    yield say(
        "{frame}: {state}, {size}",
        frame=frame.name,
        state=STATE_WORDS[state.state],
        size=call.wording.size(frame.width_mm, frame.height_mm),
    )
    if state.life is not None:
        yield say("mesh {mesh}, reclaims {count}", mesh=row["mesh"], count=state.life.reclaims)
    if state.life is not None and state.life.survey is not None:
        survey = state.life.survey
        yield say(
            "tension {mean:.1f} N/cm on {at}, lowest {lowest:.1f}, spread {spread:.1f}",
            mean=survey.mean,
            at=survey.at,
            lowest=survey.lowest,
            spread=survey.spread,
        )
    yield from verdict_lines(page.judgement)
    if state.hold_reason is not None:
        yield say("on hold: {reason}", reason=state.hold_reason)
    for task in page.tasks:
        yield say("due: {task}: {reason}", task=TASK_WORDS[task.rule], reason=task.reason)
    yield from _journal_lines(call, page)


def _journal_lines(call: Call, page: frame_page.FramePage) -> Iterator[Sentence]:
    for row in _journal_rows(call, page):
        line = say("{event:>6}  {at}  {what}", **row)
        if row["by"]:
            line = say("{line}  ({by})", line=line, by=row["by"])
        if row["note"]:
            line = say("{line}  “{note}”", line=line, note=row["note"])
        yield say("{line}  [taken back]", line=line) if row["taken_back"] else line


def _journal_rows(call: Call, page: frame_page.FramePage) -> list[dict[str, object]]:
    names = telling.names_on(page)
    return [
        {
            "event": line.event.event_id,
            "at": line.event.happened_at,
            "kind": line.event.kind,
            "what": telling.tell(line.event, names),
            "by": line.event.by,
            "note": line.event.note,
            "taken_back": line.is_withdrawn,
        }
        for line in page.journal
    ]


def _journal(call: Call) -> None:
    page = frame_page.frame_page(call.desk, call.words.code)
    if call.as_json:
        call.give(_journal_rows(call, page))
        return
    for line in _journal_lines(call, page):
        call.tell(line)
