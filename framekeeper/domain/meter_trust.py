"""Says how far a tension meter can be trusted today, from what was learnt about it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.records import MeterCheckRecord, MeterRecord
from framekeeper.domain.sentence import Sentence, say

ZERO_WITHIN_DIVISIONS = 0.5  # further out on glass is adjusted: common practice, no source
ZERO_SEND_IN_N_PER_CM = 1.0  # further out is sent in: common practice, no source
ZERO_EVERY = dt.timedelta(hours=12)  # before each session: common practice, no source

Trust = Literal["holds", "soon", "below"]


@dataclass(frozen=True, slots=True)
class MeterTrust:
    """The answer for one meter, with its reasons; the same three answers as for a screen.

    "below" means: do not measure with it. `last_good_at` is the newest check that vouches for
    readings before it, `certificate_until` the end of the newest certificate.
    """

    meter: MeterRecord
    answer: Trust
    reasons: tuple[Sentence, ...]
    last_good_at: dt.datetime | None
    certificate_until: dt.date | None


def trust(
    meter: MeterRecord,
    checks: Sequence[MeterCheckRecord],
    *,
    now: dt.datetime,
    today: dt.date,
    doubted: int = 0,
) -> MeterTrust:
    """Fold what was learnt about a meter.

    Parameters
    ----------
    meter
        The meter.
    checks
        What was learnt about this meter, in any order.
    now, today
        The moment in UTC, and the date in the shop's own zone.
    doubted
        How many readings a finding would reach.
    """
    ordered = sorted(checks, key=lambda c: (c.happened_at, c.id))
    until = certificate_until(meter, ordered)
    doubts = _doubts(ordered)
    unsettled = _unsettled(ordered) if doubted else []
    warnings = [*unsettled, *_certificate(until, today), *_zero(meter, ordered, now)]
    answer: Trust = "below" if doubts else "soon" if warnings else "holds"
    return MeterTrust(meter, answer, (*doubts, *warnings), last_good_check(ordered), until)


def certificate_until(
    meter: MeterRecord, checks: Sequence[MeterCheckRecord], *, at: dt.datetime | None = None
) -> dt.date | None:
    """Return until when the meter is certified, as known at a moment (None: now)."""
    dates = [
        c.valid_until
        for c in sorted(checks, key=lambda c: (c.happened_at, c.id))
        if c.kind == "certificate" and c.valid_until and (at is None or c.happened_at <= at)
    ]
    return dates[-1] if dates else meter.certificate_until


def is_overdue(
    meter: MeterRecord, checks: Sequence[MeterCheckRecord], *, at: dt.datetime, zone: dt.tzinfo
) -> bool:
    """Say whether the certificate had run out when a reading was taken."""
    until = certificate_until(meter, checks, at=at)
    return until is not None and at.astimezone(zone).date() > until


def last_good_check(checks: Sequence[MeterCheckRecord]) -> dt.datetime | None:
    """Return when a reference screen, a certificate or a repair last vouched for the meter.

    A zero on glass does not: a meter may read zero on glass and be wrong at every tension.
    """
    return max(
        (
            c.happened_at
            for c in checks
            if c.is_good and c.kind in ("reference", "certificate", "repair")
        ),
        default=None,
    )


@dataclass(frozen=True, slots=True)
class DoubtedReadings:
    """Which readings a finding about the meter would reach: after `since`, up to `until`.

    None is open: from the first reading on, or up to now. `is_unsettled`: something spoke against
    the meter, it was put right since, and nobody has said what its readings before were worth.
    """

    since: dt.datetime | None
    until: dt.datetime | None = None
    is_unsettled: bool = False


def doubted_readings(checks: Sequence[MeterCheckRecord]) -> DoubtedReadings:
    """Find the readings that nothing vouches for.

    A good reference or a certificate vouches for what was read before it. A repair does not, and
    after a reference that failed nothing does: the meter was put right, its readings were not.
    """
    since: dt.datetime | None = None
    until: dt.datetime | None = None
    good_at: dt.datetime | None = None  # the newest check that vouches for what came after `until`
    failed = False
    for check in sorted(checks, key=lambda c: (c.happened_at, c.id)):
        is_failed = check.kind == "reference" and not check.is_good
        if (check.kind == "found_out" or is_failed) and until is not None:
            # settled, or a new doubt: what came after it was put right is a stretch of its own
            since, until, good_at, failed = good_at or until, None, None, False
        if is_failed:
            failed = True
        elif check.kind == "found_out":
            continue
        elif check.kind == "repair":
            until = until or check.happened_at
        elif check.kind in ("reference", "certificate"):
            if not failed:
                since, until = check.happened_at, None
            elif until is None:
                until = check.happened_at
            else:
                good_at = check.happened_at
    return DoubtedReadings(since, until, is_unsettled=failed and until is not None)


def _doubts(ordered: Sequence[MeterCheckRecord]) -> list[Sentence]:
    """What has happened since the last good check and speaks against the meter, each once."""
    since = last_good_check(ordered)
    reasons = {
        "drop": say("it was dropped and not checked since"),
        "found_out": say("it was found out and not checked since"),
        "reference": say("it failed on the reference screen"),
    }
    doubted = dict.fromkeys(
        c.kind
        for c in ordered
        if c.kind in reasons
        and (c.kind != "reference" or not c.is_good)
        and (since is None or c.happened_at > since)
    )
    return [reasons[kind] for kind in doubted]


def _unsettled(ordered: Sequence[MeterCheckRecord]) -> list[Sentence]:
    doubted = doubted_readings(ordered)
    if not doubted.is_unsettled:
        return []
    return [say("what it read before {date} is still in doubt", date=doubted.until)]


def _certificate(until: dt.date | None, today: dt.date) -> list[Sentence]:
    if until is None:
        return [say("it has no certificate")]
    if today > until:
        return [say("its certificate ran out on {date}", date=until)]
    return []


def _zero(
    meter: MeterRecord, ordered: Sequence[MeterCheckRecord], now: dt.datetime
) -> list[Sentence]:
    zeros = [c for c in ordered if c.kind == "zero"]
    if not zeros or now - zeros[-1].happened_at > ZERO_EVERY:
        return [say("zero it on glass before the next session")]
    off = abs(zeros[-1].shown or 0.0)
    if off > ZERO_SEND_IN_N_PER_CM:
        return [say("{off:.1f} N/cm off on glass: send it in", off=off)]
    if off > ZERO_WITHIN_DIVISIONS * meter.resolution:
        return [say("{off:.1f} N/cm off on glass: adjust it", off=off)]
    return []
