"""The trade's words for everything that is stored by a key, ready for a sentence."""

from __future__ import annotations

from collections.abc import Mapping

from framekeeper.domain.sentence import Sentence, say

STATE_WORDS: Mapping[str, Sentence] = {
    "bare": say("bare"),
    "prepped": say("prepped"),
    "in_clamps": say("in the clamps"),
    "curing": say("curing"),
    "ready": say("ready"),
    "in_use": say("in use"),
    "to_reclaim": say("to reclaim"),
    "pulled": say("pulled"),
    "out": say("out"),
    "missing": say("missing"),
    "retired": say("retired"),
    "void": say("not registered"),
}

EVENT_WORDS: Mapping[str, Sentence] = {
    "registered": say("registered"),
    "found_with_mesh": say("registered as found"),
    "prepped": say("prepped"),
    "stretched": say("stretched"),
    "staged": say("pulled up a stage"),
    "glued": say("glued"),
    "released": say("released from the clamps"),
    "retensioned": say("retensioned"),
    "surveyed": say("surveyed"),
    "recorrected": say("concluded anew"),
    "sent_out": say("sent out"),
    "received": say("received"),
    "imaged": say("imaged"),
    "printed": say("printed"),
    "to_reclaim": say("queued for the washout"),
    "reclaimed": say("reclaimed"),
    "inspected": say("inspected"),
    "damaged": say("recorded as damaged"),
    "pulled": say("pulled from service"),
    "stripped": say("stripped"),
    "held": say("put on hold"),
    "hold_ended": say("taken off hold"),
    "reserved": say("reserved"),
    "freed": say("freed"),
    "retired": say("retired"),
    "missing": say("reported missing"),
    "found": say("found again"),
    "withdrawn": say("taken back"),
}

PREP_WORDS: Mapping[str, Sentence] = {
    "inspect": say("inspect"),
    "old_glue": say("old glue off"),
    "abrade": say("abrade the face"),
    "degrease": say("degrease"),
    "regrind": say("regrind the face"),
    "corners": say("round the corners"),
}

MOMENT_WORDS: Mapping[str, Sentence] = {
    "in_clamps": say("in the clamps"),
    "before_glue": say("on the frame before glue"),
    "after_release": say("after release"),
    "in_service": say("in service"),
}

DAMAGE_WORDS: Mapping[str, Sentence] = {
    "corner_tear": say("tear at a corner"),
    "hole": say("hole"),
    "burst": say("burst"),
    "glue_lift": say("glue lets go"),
    "ghost": say("ghost that will not come out"),
    "bent_bar": say("bent bar"),
    "other": say("other damage"),
}

FRAME_KIND_WORDS: Mapping[str, Sentence] = {
    "glued": say("glued"),
    "roller": say("retensionable, with rollers"),
}

TASK_WORDS: Mapping[str, Sentence] = {
    "below_limit": say("pull or restretch"),
    "below_target": say("stretch again or accept"),
    "uneven": say("look at the frame"),
    "unbalanced": say("look at the frame"),
    "reading_due": say("check tension"),
    "check_tension": say("check tension"),
    "read_again": say("read again"),
    "restretch_expected": say("restretch"),
    "first_reading": say("first reading"),
    "no_reading": say("check tension"),
    "release": say("release"),
    "inbound_survey": say("survey what came back"),
    "meter_found_out": say("read again"),
    "inspect_mesh": say("inspect the mesh"),
    "damaged": say("inspect the damage"),
    "regrind": say("regrind the face"),
    "overdue_outside": say("ask the stretcher"),
    "strip": say("strip and prep"),
}

PLACE_WORDS: Mapping[str, Sentence] = {
    "rack": say("Rack"),
    "stretching": say("Stretching table"),
    "round": say("Tension round"),
    "washout": say("Washout"),
    "prep": say("Prep bench"),
}
