"""Files in and out, checks and backups on the command line."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import day
from framekeeper.domain.errors import NotPossible, StorageTrouble
from framekeeper.domain.sentence import say

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands that keep the shop's data."""
    parser = command(
        commands, "import", _import, "take over frames, meshes and readings from a file"
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="CSV, XLSX, XLS, ODS or JSON")
    parser.add_argument("--partial", action="store_true", help="take the good rows, list the bad")
    parser.add_argument("--size-unit", choices=("mm", "cm", "inch"), help="of sizes without a unit")
    parser.add_argument("--count-unit", choices=("cm", "inch"), help="what mesh counts are per")
    parser.add_argument(
        "--month-first", action="store_true", help="dates such as 03/04/2025 begin with the month"
    )
    parser.add_argument(
        "--read-on", type=day, metavar="DATE", help="the day of readings that have no date column"
    )
    parser = command(commands, "export", _export, "write everything to a JSON file")
    parser.add_argument("file", type=Path, metavar="FILE.json")
    command(commands, "verify", _verify, "check the shop's data")
    parser = command(commands, "backup", _backup, "copy the shop while it is in use")
    parser.add_argument("file", type=Path, metavar="FILE")
    parser = command(commands, "restore", _restore, "put a backup in the place of the shop")
    parser.add_argument("file", type=Path, metavar="FILE")
    parser = command(
        commands, "pictures", _pictures, "take a picture of every place, of the demo shop"
    )
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument(
        "--first-pages", action="store_true", help="leave out the further pages of a place"
    )


def _import(call: Call) -> None:
    if call.words.file.suffix.lower() == ".json":
        from framekeeper.services.keeping import import_json

        call.done(import_json(call.desk, call.words.file))
        return
    _import_register(call)


def _import_register(call: Call) -> None:
    from framekeeper.services.exchange import (
        ImportChoices,
        plan_import,
        run_import,
        tell_problem,
    )

    words = call.words
    choices = ImportChoices(words.size_unit, words.count_unit, words.month_first, words.read_on)
    plan = plan_import(call.desk, words.file, choices)
    problems = [
        {
            "sheet": p.sheet,
            "row": p.row,
            "column": p.column,
            "value": p.value,
            "reason": p.reason,
        }
        for p in plan.problems
    ]
    is_told = not (call.as_json or (plan.problems and not words.partial))
    for note in plan.notes if is_told else ():
        call.tell(note)
    if not call.as_json:
        for problem in plan.problems:
            call.tell(tell_problem(problem))
    elif plan.problems and not words.partial:
        call.give({"problems": problems})
    done = run_import(call.desk, plan, partial=words.partial)
    call.done(
        done,
        frames=len(plan.frames),
        surveys=plan.survey_count,
        mesh_types=[m.name for m in plan.mesh_types],
        meters=list(plan.meters),
        problems=problems,
        notes=list(plan.notes),
    )


def _export(call: Call) -> None:
    from framekeeper.services.keeping import export_json

    call.done(export_json(call.desk, call.words.file))


def _verify(call: Call) -> int:
    from framekeeper.services.keeping import verify

    findings = verify(call.desk)
    if call.as_json:
        call.give([{"rule": f.rule, "said": f.said} for f in findings])
    elif not findings:
        call.tell(say("Everything is in order."))
    else:
        for finding in findings:
            call.tell(finding.said)
        sys.stderr.write(
            call.wording.sentence(
                say(
                    "{count} things are wrong in this shop. Nothing was changed. Keep this file "
                    "and restore a backup.",
                    count=len(findings),
                )
            )
            + "\n"
        )
    return 1 if findings else 0


def _backup(call: Call) -> None:
    from framekeeper.services.keeping import backup

    call.done(backup(call.desk, call.words.file))


def _restore(call: Call) -> None:
    from framekeeper.services.keeping import restore

    place = str(call.place)
    if "://" in place:
        raise NotPossible(
            say("A shop on a server is not restored from a file."),
            hint=say("Use the server's own backup, or import an export into an empty shop."),
        )
    call.done(restore(Path(place).expanduser(), call.words.file, call.clock))


def _pictures(call: Call) -> None:
    from framekeeper import bootstrap

    place = call.demo_copy if call.words.db is None else call.place
    try:
        written = bootstrap.take_pictures(
            call.words.folder, place, further=not call.words.first_pages
        )
    except OSError as trouble:
        raise StorageTrouble(
            say(
                "{folder} cannot take the pictures: {reason}.",
                folder=call.words.folder,
                reason=trouble.strerror,
            ),
            kept=say("The shop is as it was."),
            hint=say("Check the folder and the space on the disk."),
        ) from trouble
    if call.as_json:
        call.give([str(path) for path in written])
        return
    for path in written:
        sys.stdout.write(f"{path}\n")
