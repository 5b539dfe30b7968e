"""A reading that was made after the meter's certificate ran out is marked wherever it shows."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.due import MeshRules
from framekeeper.services import meter_checks, meters, register
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type
from framekeeper.services.meter_checks import CheckRequest
from framekeeper.services.record import When
from framekeeper.services.telling import names_on, tell
from framekeeper.services.tension_paper import tension_sheet
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock

PAIR = ((22.0, 23.0), (22.0, 23.0))


def screen_read_on(desk: Desk, *days_after_the_end: int) -> str:
    """One screen, read so many days after the day with which the certificate ends."""
    add_mesh_type(desk, MeshTypeFacts("230 yellow", rules=MeshRules(target=25, limit=18)))
    ends = desk.today() - dt.timedelta(days=10)
    meters.add_meter(desk, meters.MeterFacts("Blue case", certificate_until=ends))
    meters.add_meter(desk, meters.MeterFacts("Red case"))
    start = desk.clock.now() - dt.timedelta(days=40)
    (code,) = register.register(
        desk,
        [register.NewFrame(584, 787)],
        found=register.FoundMesh("230 yellow"),
        when=When(start),
    ).codes
    for days in days_after_the_end:
        at = desk.clock.now() - dt.timedelta(days=10 - days)
        survey(desk, code, SurveyRequest(*PAIR, meter="Blue case"), when=When(at))
    return code


def marked(desk: Desk, code: str) -> list[bool]:
    """Whether each survey is marked, oldest first; page, journal and sheet must agree."""
    page = frame_page(desk, code)
    names = names_on(page)
    on_page = [s.event.event_id in page.overdue for s in page.surveys]
    told = [str(tell(s.event, names)) for s in page.surveys]
    sheet = [line.meter for line in reversed(tension_sheet(desk, PlainWording(), code).surveys)]
    assert ["meter overdue" in text for text in told] == on_page
    assert ["meter overdue" in text for text in sheet] == on_page
    return on_page


def test_the_last_day_of_the_certificate_counts_and_the_next_does_not(desk: Desk) -> None:
    code = screen_read_on(desk, -1, 0, 1)
    assert marked(desk, code) == [False, False, True]


def test_a_new_certificate_vouches_for_what_is_read_after_it_alone(desk: Desk) -> None:
    """What was read in between stays marked: nobody knew then that the meter was good."""
    code = screen_read_on(desk, 1)
    until = desk.today() + dt.timedelta(days=365)
    at = desk.clock.now() - dt.timedelta(days=5)
    request = CheckRequest("certificate", valid_until=until)
    meter_checks.add_check(desk, "Blue case", request, when=When(at))
    survey(desk, code, SurveyRequest(*PAIR, meter="Blue case"))
    assert marked(desk, code) == [True, False]


def test_a_meter_without_a_certificate_and_an_untold_meter_are_not_overdue(desk: Desk) -> None:
    """Overdue is what was certified once; a meter that never was is told so at its place."""
    code = screen_read_on(desk)
    survey(desk, code, SurveyRequest(*PAIR, meter="Red case"))
    survey(desk, code, SurveyRequest(*PAIR))
    assert marked(desk, code) == [False, False]


def test_the_last_day_of_the_certificate_ends_at_the_shops_midnight(
    desk: Desk, clock: FakeClock
) -> None:
    """East of Greenwich the next day has begun while it is still the last one there."""
    clock.where = dt.timezone(dt.timedelta(hours=10))
    code = screen_read_on(desk)
    ends = desk.today() - dt.timedelta(days=10)
    for hour in (13, 15):  # UTC: 23 o'clock in the shop, and 1 o'clock of the next day
        at = dt.datetime.combine(ends, dt.time(hour), dt.UTC)
        survey(desk, code, SurveyRequest(*PAIR, meter="Blue case"), when=When(at))
    assert marked(desk, code) == [False, True]
