"""The calendar file, read back by a library and byte by byte against the rules of RFC 5545."""

from __future__ import annotations

import datetime as dt
import json
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar

from framekeeper.formats.calendar_file import CalendarEntry, calendar_ics
from tests.domain.published import FOLDER

NOW = dt.datetime(2025, 3, 3, 8, 10, 59, 7, tzinfo=dt.timezone(dt.timedelta(hours=1)))
ESCAPED = {"\\\\": "\\", "\\;": ";", "\\,": ",", "\\n": "\n", "\\N": "\n"}


def rules() -> dict:
    """Check A9-O2; its source stands in the file."""
    listed = json.loads((FOLDER / "calendar.json").read_text(encoding="utf-8"))
    check = next(check for check in listed if check["id"] == "A9-O2")
    return {name: entry["value"] for name, entry in check["expected"].items()}


def entry(**more: object) -> CalendarEntry:
    values = {
        "uid": "one",
        "day": dt.date(2025, 3, 4),
        "summary": "FK0012K: check tension",
        "description": "last reading 7 days ago, due every 7",
        "bench": "Tension round",
    }
    return CalendarEntry(**{**values, **more})  # type: ignore[arg-type]


def write(*entries: CalendarEntry, name: str = "Squeegee Lane") -> bytes:
    return calendar_ics(entries, name=name, written_at=NOW)


def content_lines(data: bytes) -> list[str]:
    """Unfold without the library: bytes first, because a fold may stand anywhere between octets."""
    assert data.endswith(b"\r\n")
    return data.replace(b"\r\n ", b"").decode("utf-8").removesuffix("\r\n").split("\r\n")


def event_lines(data: bytes) -> dict[str, str]:
    lines = content_lines(data)
    start, end = lines.index("BEGIN:VEVENT"), lines.index("END:VEVENT")
    return dict(line.split(":", 1) for line in lines[start + 1 : end])


def unescaped(text: str) -> str:
    return re.sub(r"\\[\\;,nN]", lambda found: ESCAPED[found[0]], text)


# what RFC 5545 wants, on the bytes

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=200)


@given(texts, texts, texts)
@example("é" * 120, "網" * 120, "a" * 70 + "é")
@example("a;b,c\\d", "\r\nx\ny\u2028z\x00", "\t")
def test_every_line_keeps_the_rules_whatever_is_said(
    summary: str, description: str, bench: str
) -> None:
    data = write(entry(summary=summary, description=description, bench=bench), name=summary)
    longest = rules()["longest content line, octets without the break"]
    assert rules()["line ending"] == "CRLF"
    assert data.count(b"\r") == data.count(b"\n") == data.count(b"\r\n")
    for line in data.removesuffix(b"\r\n").split(b"\r\n"):
        assert 0 < len(line) <= longest
        line.removeprefix(b" ").decode("utf-8")  # no fold inside the bytes of one letter
        assert not any((octet < 32 and octet != 9) or octet == 127 for octet in line)
    found = event_lines(data)
    for raw in (found["SUMMARY"], found["DESCRIPTION"], found["CATEGORIES"]):
        assert re.fullmatch(r"(?:[^\\;,\n]|\\[\\;,n])*", raw), "a comma or semicolon is not escaped"


def test_what_the_rfc_requires_stands_there_once() -> None:
    data = write(entry(), entry(uid="two", day=dt.date(2025, 3, 5)))
    lines = content_lines(data)
    head = lines[: lines.index("BEGIN:VEVENT")]
    assert (head[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    for name in rules()["required in VCALENDAR"]:
        assert sum(line.split(":")[0] == name for line in head) == 1
    assert f"VERSION:{rules()['VERSION value']}" in head
    inside = [line.partition(":")[0] for line in lines[len(head) :]]
    for name in rules()["required in VEVENT"]:
        assert inside.count(name) == 2
    assert "METHOD" not in {line.split(":")[0] for line in head}  # a file, not an invitation


def test_an_all_day_event_ends_before_the_next_day_and_the_stamp_is_utc() -> None:
    found = event_lines(write(entry(day=dt.date(2024, 2, 29))))
    assert rules()["all-day event"] == "DTSTART;VALUE=DATE:YYYYMMDD, DTEND exclusive"
    assert found["DTSTART;VALUE=DATE"] == "20240229"
    assert found["DTEND;VALUE=DATE"] == "20240301"
    assert found["DTSTAMP"] == found["LAST-MODIFIED"] == "20250303T071059Z"


def test_the_escaped_text_of_the_rfc_is_three_lines() -> None:
    """Section 3.3.11 of RFC 5545; the example there has a comma and two line breaks."""
    three = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert rules()["escaped text example decodes to 3 lines"].replace("\\n", "\n") == three
    raw = event_lines(write(entry(description=three)))["DESCRIPTION"]
    assert raw == "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
    assert unescaped(raw).count("\n") == 2


# read back

plain_texts = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1, max_size=150
).filter(lambda text: text == text.strip())


@given(plain_texts, plain_texts, st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)))
@example("a;b,c\\d\\n", "x" * 74 + "é", dt.date(2025, 3, 30))
def test_a_reader_gets_what_was_said(summary: str, second: str, day: dt.date) -> None:
    description = f"{summary}\n{second}"
    said = entry(summary=summary, description=description, day=day, bench=second)
    data = write(said)
    calendar = Calendar.from_ical(data)
    (event,) = calendar.walk("VEVENT")
    assert not event.errors
    assert str(event["SUMMARY"]) == summary
    assert str(event["DESCRIPTION"]) == description
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (day, day + dt.timedelta(days=1))
    assert list(event.categories) == [second]
    assert event.decoded("DTSTAMP") == NOW.astimezone(dt.UTC).replace(microsecond=0)
    found = event_lines(data)  # and without the library
    assert unescaped(found["SUMMARY"]) == summary
    assert unescaped(found["DESCRIPTION"]) == description


def test_a_later_file_outranks_an_earlier_one_and_the_order_told_does_not_matter() -> None:
    first, second = entry(), entry(uid="two", day=dt.date(2025, 3, 3))
    assert write(first, second) == write(second, first)
    later = calendar_ics([first], name="", written_at=NOW + dt.timedelta(seconds=1))
    ranks = [int(event_lines(data)["SEQUENCE"]) for data in (write(first), later)]
    assert ranks[0] < ranks[1] < 2**31
    assert event_lines(write(first))["UID"] == event_lines(later)["UID"] == "one"


def test_no_work_is_a_calendar_too() -> None:
    lines = content_lines(write())
    assert "BEGIN:VEVENT" not in lines
    assert lines[-1] == "END:VCALENDAR"


@pytest.mark.parametrize("zone", [dt.UTC, dt.timezone(dt.timedelta(hours=-11))])
def test_the_day_is_the_shops_day_in_every_zone(zone: dt.tzinfo) -> None:
    data = calendar_ics([entry()], name="", written_at=NOW.astimezone(zone))
    assert data == calendar_ics([entry()], name="", written_at=NOW)
