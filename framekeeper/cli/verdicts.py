"""A survey's verdict on the command line: the same words for people, plain values for machines."""

from __future__ import annotations

from collections.abc import Iterator

from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.verdicts import Judgement


def verdict_lines(judged: Judgement | None) -> Iterator[Sentence]:
    """Say the verdict and all that belongs to it."""
    if judged is None:
        return
    yield say("verdict: {word}", word=judged.word)
    yield from why_lines(judged)


def why_lines(judged: Judgement | None) -> Iterator[Sentence]:
    """Say what was found, why, and what was taken for granted."""
    if judged is None:
        return
    for line in (*judged.found, *judged.reasons):
        yield say("  {line}", line=line)
    if judged.assumed is not None:
        yield say("  {line}", line=judged.assumed)


def verdict_rows(judged: Judgement | None) -> dict[str, object]:
    """Give the verdict for a machine; None where there is none, with the reason why."""
    result = None if judged is None else judged.result
    return {
        "verdict": None if result is None else result.verdict,
        "u_mean": None if result is None else result.u_mean,
        "found": [] if judged is None else list(judged.found),
        "reasons": [] if judged is None else list(judged.reasons),
        "assumed": None if judged is None else judged.assumed,
    }
