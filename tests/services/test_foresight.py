"""What is foretold of a screen: the band, the dates and the sentences, and what is missing."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from zoneinfo import ZoneInfo

import pypdf
import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.services import (
    check,
    forecast_words,
    forecasts,
    foresight,
    marks,
    plan,
    prep,
    stretch,
)
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, edit_mesh_type, find_mesh_type
from framekeeper.services.tension_paper import tension_sheet, tension_sheet_pdf
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock
from tests.made_forecast import after, made_forecast, made_outlook
from tests.services.shoptalk import MESH, bare, in_clamps, ready

NO_LIMIT = MeshRules(limit=None)
DECAY = ((0, 24.0), (1, 22.8), (3, 22.3), (7, 21.9), (14, 21.6))  # days since the one before, N/cm


def read(desk: Desk, code: str, tension: float) -> None:
    check.survey(desk, code, SurveyRequest((tension,) * 5, (tension,) * 5))


def followed(desk: Desk, clock: FakeClock, *, screens: int = 3) -> list[str]:
    """Screens that lose tension as screens do, each a little otherwise."""
    codes = [in_clamps(desk) for _ in range(screens)]
    stretch.glue(desk, codes, cure=dt.timedelta(0))
    stretch.release(desk, codes)
    for wait, tension in DECAY:
        clock.go_on(days=wait)
        for place, code in enumerate(codes):
            read(desk, code, round(tension + 0.2 * (place - 1), 2))
    return codes


def set_rules(desk: Desk, **changes: object) -> None:
    with desk.read() as reader:
        mesh = find_mesh_type(reader, MESH)
    rules = replace(mesh.rules, **changes)  # type: ignore[arg-type]
    edit_mesh_type(desk, MESH, MeshTypeFacts(MESH, 120, "cm", 120.0, 34.0, rules=rules))


def said(desk: Desk, code: str) -> str:
    found = foresight.frame_forecast(desk, code)
    assert found is not None
    return " ".join(PlainWording(zone=desk.clock.zone()).sentence(line) for line in found.lines)


# the sentences


@pytest.mark.parametrize(
    ("even_day", "days_on", "sentence"),
    [
        (28, 0, "Likely below 18.0 N/cm around 2025-06-29 (between 2025-06-06 and 2025-07-21)."),
        (28, 10, "Likely below 18.0 N/cm around 2025-06-29 (between now and 2025-07-21)."),
        (28, 35, "Likely below 18.0 N/cm since around 2025-06-29, with a chance of 62 % by now."),
        (273, 0, "Likely below 18.0 N/cm around 2026-03-01 (from 2025-07-25 to more than a year "
                 "ahead)."),
        (273, 60, "Likely below 18.0 N/cm around 2026-03-01 (from now to more than a year ahead)."),
        (0, 3, "Below 18.0 N/cm already, with a chance of 97 %."),
        (None, 3, "Likely to hold 18.0 N/cm for the year: the chance of being below it by "
                  "2026-06-01 is 4 %."),
        (None, 364.9, "Likely to hold 18.0 N/cm for the year: the chance of being below it by "
                      "2026-06-01 is 4 %."),
        (None, 365, "Last read on 2025-06-01, a year ago or more: nothing says any more how long "
                    "it holds 18.0 N/cm. Read it first."),
    ],
)  # fmt: skip
def test_one_sentence_says_when_it_is_likely_below(
    even_day: float | None, days_on: float, sentence: str
) -> None:
    outlook = made_outlook(even_day)
    assert str(forecast_words.crossing(outlook, after(days_on), dt.UTC)) == sentence


def test_days_are_those_of_the_shops_own_zone() -> None:
    late = made_outlook(28, read_at=dt.datetime(2025, 6, 1, 23, 30, tzinfo=dt.UTC))
    berlin = ZoneInfo("Europe/Berlin")
    assert "2025-06-29" in str(forecast_words.crossing(late, late.read_at, dt.UTC))
    assert "2025-06-30" in str(forecast_words.crossing(late, late.read_at, berlin))


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.0, "less than 1 %"), (0.0099, "less than 1 %"), (0.01, "1 %"), (0.99, "99 %"),
     (1.0, "more than 99 %")],
)  # fmt: skip
def test_no_chance_is_called_certain(chance: float, words: str) -> None:
    assert str(forecast_words.chance_words(chance)) == words


# the band


def test_between_its_points_the_band_is_straight() -> None:
    band = made_forecast(28).band
    assert band is not None
    fall = 3.0 / 28
    assert band.look(after(6)) == pytest.approx((21 - 6 * fall, 20 - 6 * fall, 22 - 6 * fall))
    assert band.look(after(0)) == pytest.approx((21.0, 20.0, 22.0))
    assert band.look(after(60)) == pytest.approx((21 - 60 * fall, 20 - 60 * fall, 22 - 60 * fall))
    assert band.look(after(-0.1)) is None
    assert band.look(after(60.1)) is None


def test_the_band_begins_at_the_latest_reading_and_widens(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    assert found.outlook is not None
    band = found.band
    assert band is not None
    assert band.at[0] == found.outlook.read_at == clock.now()
    assert band.mean[0] == pytest.approx(found.outlook.tension)
    wide = [high - low for low, high in zip(band.low, band.high, strict=True)]
    assert wide[0] == pytest.approx(2 * foresight.UPPER_TENTH * found.outlook.sd)
    assert wide[-1] > wide[0]
    assert band.mean[-1] < band.mean[0]


def test_the_band_shows_where_the_limit_is_crossed(stocked: Desk, clock: FakeClock) -> None:
    """The limit lies where the screen will be within months: then the dates are in view."""
    code = followed(stocked, clock)[1]
    set_rules(stocked, limit=21.0)
    forecasts.refresh(stocked)
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    assert found.band is not None
    assert found.early_at is not None
    assert found.even_at is not None
    assert clock.now() < found.early_at < found.even_at < found.band.at[-1]
    seen = found.band.look(found.even_at)
    assert seen is not None
    assert seen[0] == pytest.approx(21.0, abs=0.15)  # a sudden drop may come before
    assert found.left is not None
    assert found.left.likely_at == found.even_at


def test_the_band_belongs_to_the_mesh_that_is_on(stocked: Desk, clock: FakeClock) -> None:
    """After a restretch nothing is foretold from the readings of the old mesh."""
    code, *_ = followed(stocked, clock)
    forecasts.refresh(stocked)
    marks.pull(stocked, [code], "slack")
    assert foresight.frame_forecast(stocked, code) is None
    prep.strip(stocked, [code])
    assert foresight.frame_forecast(stocked, code) is None


# what is missing


def test_without_mesh_nothing_is_foretold(stocked: Desk) -> None:
    code = bare(stocked)
    assert foresight.frame_forecast(stocked, code) is None
    ((frame, found),) = foresight.frame_forecasts(stocked, [code])
    assert frame.code == code
    assert "no mesh" in str(found.said)
    assert foresight.frame_forecasts(stocked) == []


def test_what_is_missing_is_said_with_the_place_to_set_it(stocked: Desk, clock: FakeClock) -> None:
    code, *_ = followed(stocked, clock)
    unread = ready(stocked)
    assert "has not been worked out yet" in said(stocked, code)
    forecasts.refresh(stocked)
    assert "Likely" in said(stocked, code)
    assert "Not enough readings yet" in said(stocked, unread)
    set_rules(stocked, risk=None)
    text = said(stocked, code)
    assert f"No risk is set for {MESH}" in text
    assert "Change a mesh type" in text
    set_rules(stocked, limit=None)
    assert f"No limit is set for {MESH}" in said(stocked, code)
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    assert (found.limit, found.even_at, found.left) == (None, None, None)
    assert found.band is not None  # how its tension goes on can be seen without a limit


def test_a_long_name_is_said_whole(stocked: Desk) -> None:
    code = ready(stocked)
    name = ("the finest yellow cloth that this shop has ever had on a frame " * 3)[:99].strip()
    edit_mesh_type(stocked, MESH, MeshTypeFacts(name, 120, "cm", 120.0, 34.0, rules=NO_LIMIT))
    assert f"No limit is set for {name}:" in said(stocked, code)


# when to read next, and what it rests on


def test_the_next_reading_has_a_day_and_a_reason(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    assert found.outlook is not None
    assert found.next_reading_on == found.outlook.check_at.date()
    assert "no screen waits longer than 42 days" in said(stocked, code)
    set_rules(stocked, limit=21.2)
    forecasts.refresh(stocked)
    near = foresight.frame_forecast(stocked, code)
    assert near is not None
    assert near.next_reading_on is not None
    assert near.next_reading_on < found.next_reading_on
    assert "any later, it risks more than the 1.1 days below its limit" in said(stocked, code)


def test_a_reading_that_is_late_is_not_called_the_next(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    clock.go_on(days=51)
    assert f"A reading is due since {found.next_reading_on}: it holds" in said(stocked, code)


def test_a_point_below_the_limit_is_pulled_everywhere(stocked: Desk, clock: FakeClock) -> None:
    """The mean holds for months; the due list goes by the lowest point, and so does the rest."""
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    clock.go_on(days=2)
    check.survey(stocked, code, SurveyRequest((22.2, 17.0) + (22.2,) * 3, (22.2,) * 5))
    found = foresight.frame_forecast(stocked, code)
    assert found is not None
    assert found.outlook is not None
    assert found.outlook.decision == "keep"
    assert found.next_reading_on is None
    why = "tension 21.7 N/cm but 17.0 at its lowest point, limit 18.0"
    assert f"Due now: pull or restretch ({why})." in said(stocked, code)
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
    assert frame is not None
    assert frame.state.life is not None
    words = forecast_words.decision_words(found.outlook, frame.state.life.survey)
    assert str(words) == "pull or restretch"
    until = (clock.now() + dt.timedelta(days=90)).date()
    assert [a.task.rule for a in plan.ahead(stocked, until) if a.frame.code == code] == []


def test_a_sudden_drop_is_read_again_now(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    clock.go_on(days=2)
    read(stocked, code, 16.0)
    text = said(stocked, code)
    assert "already" in text
    assert "Due now: read again (16.0 N/cm is" in text


def test_it_says_what_it_rests_on(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    forecasts.refresh(stocked)
    assert f"3 stretches of {MESH}" in said(stocked, code)
    assert "last worked out" not in said(stocked, code)
    clock.go_on(days=1)
    read(stocked, code, 21.5)
    day = (clock.now() - dt.timedelta(days=1)).date()
    assert f"Surveys since the whole shop was last worked out on {day}: 1;" in said(stocked, code)


def test_the_list_says_the_same_as_the_page(stocked: Desk, clock: FakeClock) -> None:
    codes = followed(stocked, clock)
    forecasts.refresh(stocked)
    listed = foresight.frame_forecasts(stocked)
    assert [frame.code for frame, _ in listed] == codes
    for frame, found in listed:
        page = foresight.frame_forecast(stocked, frame.code)
        assert page is not None
        assert replace(page, band=None) == found


# on paper


def test_the_sheet_prints_what_the_page_shows(stocked: Desk, clock: FakeClock) -> None:
    """The same band, date and sentences, in days since the start of the chart."""
    code = followed(stocked, clock)[1]
    set_rules(stocked, limit=21.0)
    forecasts.refresh(stocked)
    page = foresight.frame_forecast(stocked, code)
    assert page is not None
    assert page.band is not None
    assert page.even_at is not None
    wording = PlainWording(zone=clock.zone())
    sheet = tension_sheet(stocked, wording, code)
    assert sheet.forecast == tuple(wording.sentence(line) for line in page.lines)
    ahead = sheet.chart.ahead
    assert ahead is not None
    assert ahead.mean == page.band.mean
    assert ahead.days[0] == pytest.approx(sheet.chart.points[-1].day)
    assert ahead.even_day == pytest.approx(
        ahead.today + (page.even_at - clock.now()) / dt.timedelta(days=1)
    )
    assert ahead.even_text == page.even_at.date().isoformat()
    (first, *_) = texts(tension_sheet_pdf(stocked, wording, code))
    for words in (ahead.even_text, "today", "Likely below 21.0 N/cm around", "Next reading on"):
        assert words in first


def test_a_sheet_without_forecast_says_why_and_has_no_band(stocked: Desk, clock: FakeClock) -> None:
    code, *_ = followed(stocked, clock)
    set_rules(stocked, limit=None)
    forecasts.refresh(stocked)
    wording = PlainWording(zone=clock.zone())
    assert "No limit is set" in tension_sheet(stocked, wording, code).forecast[0]
    nothing = tension_sheet(stocked, wording, bare(stocked))
    assert (nothing.forecast, nothing.chart.ahead) == ((), None)


def texts(pdf: bytes) -> list[str]:
    """The words of each page, as a reader finds them."""
    return [" ".join(p.extract_text().split()) for p in pypdf.PdfReader(io.BytesIO(pdf)).pages]
