"""The tension round, the press and the washout on the command line."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, change
from framekeeper.cli.values import number, whole
from framekeeper.cli.verdicts import verdict_rows, why_lines
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import DAMAGE_KINDS, MOMENTS
from framekeeper.domain.sentence import say
from framekeeper.services import check, marks, washout
from framekeeper.services.tension_round import survey_and_judge

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands of a screen in service."""
    parser = change(commands, "survey", _survey, "record tension readings", frames=False)
    parser.add_argument("code", metavar="CODE")
    parser.add_argument(
        "numbers", nargs="*", type=number, metavar="N",
        help="N/cm in walking order: warp and weft at each point, or one number alone",
    )  # fmt: skip
    parser.add_argument("--warp", nargs="+", type=number, default=[], metavar="N")
    parser.add_argument("--weft", nargs="+", type=number, default=[], metavar="N")
    parser.add_argument("--moment", choices=MOMENTS, help="default: what the frame's state says")
    parser.add_argument("--meter", default="", help="the meter's name")
    parser = change(commands, "image", _image, "put a stencil on")
    parser.add_argument("--job", default="")
    parser = change(commands, "print", _print, "record a run on the press")
    parser.add_argument("--impressions", type=whole, required=True)
    parser.add_argument("--job", default="")
    change(commands, "queue", _queue, "put screens into the washout's queue")
    parser = change(commands, "reclaim", _reclaim, "record a reclaim")
    parser.add_argument("--haze", action="store_true", help="haze remover was used")
    parser.add_argument("--findings", default="", help="what was found")
    parser = change(commands, "inspect", _inspect, "record a look against the light")
    parser.add_argument("--findings", default="", help="what was found")
    parser = change(commands, "damage", _damage, "record damage")
    parser.add_argument("--kind", choices=DAMAGE_KINDS, required=True)
    parser.add_argument("--where", default="")
    parser.add_argument("--mesh-is-done", action="store_true", help="the mesh cannot be used again")
    parser = change(commands, "pull", _pull, "take screens out of service")
    parser.add_argument("--reason", required=True)


def _survey(call: Call) -> None:
    words = call.words
    if words.numbers and (words.warp or words.weft):
        raise NotValid(
            say("The readings are told twice."),
            hint=say("Give them in walking order, or with --warp and --weft."),
        )
    if words.numbers:
        request = check.pairs_to_request(words.numbers, moment=words.moment, meter=words.meter)
    else:
        request = check.SurveyRequest(
            tuple(words.warp), tuple(words.weft), (), words.moment, words.meter
        )
    done = survey_and_judge(call.desk, words.code, request, when=call.when())
    figures = done.figures
    more = {} if figures is None else {
        name: getattr(figures, name)
        for name in ("mean", "lowest", "highest", "mean_warp", "mean_weft", "spread", "imbalance")
    }  # fmt: skip
    call.done(done, **more, **verdict_rows(done.judgement))
    if not call.as_json:
        for line in why_lines(done.judgement):
            call.tell(line)


def _image(call: Call) -> None:
    call.done(washout.image(call.desk, call.words.codes, job=call.words.job, when=call.when()))


def _print(call: Call) -> None:
    words = call.words
    call.done(
        washout.printed(
            call.desk, words.codes, impressions=words.impressions, job=words.job, when=call.when()
        )
    )


def _queue(call: Call) -> None:
    call.done(washout.queue(call.desk, call.words.codes, when=call.when()))


def _reclaim(call: Call) -> None:
    words = call.words
    call.done(
        washout.reclaim(
            call.desk,
            words.codes,
            haze_remover=words.haze,
            findings=words.findings,
            when=call.when(),
        )
    )


def _inspect(call: Call) -> None:
    words = call.words
    call.done(washout.inspect(call.desk, words.codes, findings=words.findings, when=call.when()))


def _damage(call: Call) -> None:
    words = call.words
    call.done(
        marks.damage(
            call.desk,
            words.codes,
            words.kind,
            mesh_is_done=words.mesh_is_done,
            where=words.where,
            when=call.when(),
        )
    )


def _pull(call: Call) -> None:
    call.done(marks.pull(call.desk, call.words.codes, call.words.reason, when=call.when()))
