"""Which readings a finding about a meter reaches, told by what was learnt about it."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.meter_trust import DoubtedReadings, doubted_readings
from framekeeper.domain.records import MeterCheckRecord

START = dt.datetime(2025, 3, 3, 8, 0, tzinfo=dt.UTC)


def on(day: int) -> dt.datetime:
    return START + dt.timedelta(days=day)


def learnt(*words: str) -> list[MeterCheckRecord]:
    """One check a day: good or bad reference, certificate, drop, repair, found out, zero."""
    kinds = {"g": "reference", "b": "reference", "c": "certificate", "d": "drop", "r": "repair",
             "f": "found_out", "z": "zero"}  # fmt: skip
    return [
        MeterCheckRecord(
            n, 1, kinds[w], on(n), 21.0, 21.0, w not in "bdf", None, "", ""  # type: ignore[arg-type]
        )
        for n, w in enumerate("".join(words), start=1)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("story", "since", "until", "is_unsettled"),
    [
        ("", None, None, False),
        ("z", None, None, False),  # a zero on glass vouches for nothing
        ("g", 1, None, False),
        ("gc", 2, None, False),
        ("gb", 1, None, False),
        ("gd", 1, None, False),
        ("gdg", 3, None, False),  # dropped, and as good as before
        ("gbr", 1, 3, True),  # put right, but not what was read before
        ("gbg", 1, 3, True),  # adjusted without a word
        ("gbc", 1, 3, True),
        ("gbrg", 1, 3, True),
        ("gbf", 1, None, False),  # found out, still off: a later finding replaces this one
        ("gbrf", 3, None, False),
        ("gbrgf", 4, None, False),
        ("gbrgb", 4, None, False),  # a new doubt
        ("gbrb", 3, None, False),
        ("gr", 1, 2, False),
        ("grg", 3, None, False),
    ],
)
def test_a_repair_does_not_vouch_for_what_was_read_before_it(
    story: str, since: int | None, until: int | None, is_unsettled: bool
) -> None:
    """Letters are days: what the meter is good for follows from their order alone."""
    expected = DoubtedReadings(
        None if since is None else on(since), None if until is None else on(until), is_unsettled
    )
    checks = learnt(story)
    assert doubted_readings(checks) == expected
    assert doubted_readings(checks[::-1]) == expected
