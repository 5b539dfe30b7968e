"""The prep bench and the stretching table on the command line."""

from __future__ import annotations

import argparse
import datetime as dt
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, change
from framekeeper.cli.values import millimetres, named, number, whole
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import PREP_STEPS, PrepStep
from framekeeper.domain.sentence import say
from framekeeper.services import prep, stretch
from framekeeper.services.settings import read_settings
from framekeeper.services.supplies import past_batches, supplies

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands of both tables."""
    parser = change(commands, "prep", _prep, "record prep steps")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--step", choices=PREP_STEPS, help="one step")
    which.add_argument("--all", action="store_true", help="every step that is still missing")
    parser.add_argument(
        "--skip", action="append", default=[], type=named, metavar="STEP=REASON",
        help="leave a step out for a reason; repeatable",
    )  # fmt: skip
    parser.add_argument("--failed", metavar="REASON", help="the frame failed its inspection")
    parser.add_argument("--gap", type=number, metavar="MM", help="how far it rocks on the glass")
    change(commands, "strip", _strip, "take the mesh off")
    parser = change(commands, "stretch", _stretch, "put mesh into the clamps")
    parser.add_argument("--mesh", required=True)
    parser.add_argument("--target", type=number, help="N/cm (default: that of the mesh)")
    parser.add_argument("--roll", default="", metavar="CODE", help="the roll it is cut from")
    parser.add_argument("--cut-length", type=millimetres, help="along the roll")
    parser.add_argument("--cut-width", type=millimetres, help="across the roll")
    parser.add_argument("--warp-along", choices=("long", "short"), help="which side of the frame")
    parser.add_argument("--one-pull", action="store_true", help="all frames share one piece")
    parser = change(commands, "stage", _stage, "record a stage of the pull")
    parser.add_argument("--tension", type=number, required=True, help="N/cm reached")
    parser.add_argument("--rest", type=whole, default=0, metavar="MINUTES")
    parser = change(commands, "glue", _glue, "record the glue and its cure")
    parser.add_argument("--cure", type=whole, metavar="MINUTES", help="default: the shop's setting")
    parser.add_argument("--adhesive-lot", default="")
    parser.add_argument("--activator-lot", default="")
    change(commands, "release", _release, "open the clamps")
    parser = change(commands, "retension", _retension, "tighten frames with rollers again")
    parser.add_argument("--target", type=number, required=True, help="N/cm")


def _prep(call: Call) -> None:
    words, when = call.words, call.when()
    skipped = {_step(name): reason for name, reason in words.skip}
    if words.all:
        if words.failed is not None or words.gap is not None:
            raise NotValid(
                say("An inspection that failed or was measured is a step of its own."),
                hint=say("Use --step inspect."),
            )
        call.done(prep.prep_all(call.desk, words.codes, skipped=skipped, when=when))
        return
    if words.step is not None:
        request = _request(call, words.step, skipped.pop(words.step, None))
        if skipped:
            raise NotValid(say("--skip names another step than --step."))
        call.done(prep.do_step(call.desk, words.codes, request, when=when))
        return
    if len(skipped) != 1:
        raise NotValid(
            say("No single step was named."), hint=say("Use --step, --skip or --all, once.")
        )
    step, reason = skipped.popitem()
    call.done(prep.do_step(call.desk, words.codes, _request(call, step, reason), when=when))


def _request(call: Call, step: PrepStep, skip_reason: str | None) -> prep.StepRequest:
    words = call.words
    if words.failed is not None:
        return prep.StepRequest(step, "failed", words.failed, words.gap)
    if skip_reason is not None:
        return prep.StepRequest(step, "skipped", skip_reason, words.gap)
    return prep.StepRequest(step, gap_mm=words.gap)


def _step(name: str) -> PrepStep:
    if name not in PREP_STEPS:
        raise NotValid(
            say("There is no prep step named {step}.", step=name),
            hint=say("The steps are: {steps}.", steps=", ".join(PREP_STEPS)),
        )
    return name


def _strip(call: Call) -> None:
    call.done(prep.strip(call.desk, call.words.codes, when=call.when()))


def _stretch(call: Call) -> None:
    words = call.words
    request = stretch.StretchRequest(
        mesh=words.mesh,
        target_n_per_cm=words.target,
        roll=words.roll,
        cut_length_mm=words.cut_length,
        cut_width_mm=words.cut_width,
        warp_along=words.warp_along,
        one_pull=words.one_pull,
    )
    call.done(stretch.stretch(call.desk, words.codes, request, when=call.when()))


def _stage(call: Call) -> None:
    words = call.words
    call.done(
        stretch.stage(
            call.desk,
            words.codes,
            tension_n_per_cm=words.tension,
            rest_minutes=words.rest,
            when=call.when(),
        )
    )


def _glue(call: Call) -> None:
    words = call.words
    minutes = read_settings(call.desk).cure_minutes if words.cure is None else words.cure
    call.done(
        stretch.glue(
            call.desk,
            words.codes,
            cure=dt.timedelta(minutes=minutes),
            adhesive_lot=words.adhesive_lot,
            activator_lot=words.activator_lot,
            when=call.when(),
        )
    )
    if not call.as_json:
        batches = {"adhesive": words.adhesive_lot, "activator": words.activator_lot}
        for told in past_batches(supplies(call.desk), **batches):
            call.tell(told)


def _release(call: Call) -> None:
    call.done(stretch.release(call.desk, call.words.codes, when=call.when()))


def _retension(call: Call) -> None:
    words = call.words
    call.done(
        stretch.retension(call.desk, words.codes, target_n_per_cm=words.target, when=call.when())
    )
