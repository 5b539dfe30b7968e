"""The week on Today: the board, its jobs, what if, and the calendar file; by keys alone."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from icalendar import Calendar
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from framekeeper.services import check, marks, register
from framekeeper.services.check import SurveyRequest
from framekeeper.services.settings import change_settings
from framekeeper.ui.places.today import Today
from framekeeper.ui.places.week_page import WeekPage
from framekeeper.ui.printing import save_calendar
from tests.fakes import FakePrompter
from tests.ui.bench_shop import ENTER, BenchShop, come_in, field_named, nameless, strike, type_into
from tests.ui.bench_shop import bench_shop as bench_shop

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def shop(bench_shop: BenchShop) -> BenchShop:
    """One screen that waits for its first reading, one read today, and two frames pulled."""
    bench_shop.add_meshes()
    desk = bench_shop.desk
    frames = [register.NewFrame(584, 787, own_label=f"S{n}", slot=f"A{n}") for n in range(1, 5)]
    codes = register.register(desk, frames, found=register.FoundMesh("110")).codes
    check.survey(desk, codes[1], SurveyRequest((22.0,), (22.0,)))
    marks.pull(desk, codes[2:], "slack")
    bench_shop.clock.go_on(hours=1)
    return bench_shop


def week_of(shop: BenchShop, qtbot: QtBot) -> tuple[Today, WeekPage]:
    today = come_in(Today, shop, qtbot)
    strike(today, qtbot, Qt.Key.Key_T, CTRL)
    assert today.week is not None
    return today, today.week


def spoken(week: WeekPage) -> list[str]:
    """What a screen reader says of the cells with work, row by row."""
    model = week.board.model()
    cells = [
        model.index(row, column).data(Qt.ItemDataRole.AccessibleTextRole)
        for row in range(model.rowCount())
        for column in range(model.columnCount())
    ]
    return [text for text in cells if "0 jobs" not in text]


def test_one_key_leads_to_the_week_and_back(shop: BenchShop, qtbot: QtBot) -> None:
    today, week = week_of(shop, qtbot)
    assert week.isVisible()
    assert week.board.hasFocus()
    assert today._header._purpose.text() == "4 jobs until 16 Mar 2025."
    assert spoken(week) == [
        "Prep bench, Mon 3: 40 of 120 minutes used, 2 jobs",
        "Tension round, Mon 3: 3 of 60 minutes used, 1 job",
        "Tension round, Mon 10: 3 of 60 minutes used, 1 job",
    ]
    assert not nameless(today)
    strike(today, qtbot, Qt.Key.Key_T, CTRL)
    assert not week.isVisible()
    assert "3 tasks" in today._header._purpose.text()
    assert not nameless(today)


def test_the_arrows_go_from_bench_to_bench_and_enter_to_the_jobs(
    shop: BenchShop, qtbot: QtBot
) -> None:
    today, week = week_of(shop, qtbot)
    assert week.board.chosen == (0, 0)
    assert [(line.place, line.task, line.since) for line in week.lines] == [
        ("Strip and prep, 40 min", "Strip and prep", "due today"),
    ] * 2
    QTest.keyClick(week.board, Qt.Key.Key_Down)
    assert week.lines == []
    assert week.free.isVisible()
    QTest.keyClick(week.board, Qt.Key.Key_Down)
    (line,) = week.lines
    assert (line.where, line.task, line.mark) == ("S1  ·  A1", "Check tension", "soon")
    for _ in range(5):
        QTest.keyClick(week.board, Qt.Key.Key_Right)
    (line,) = week.lines
    assert (line.where, line.mark, line.since) == ("S2  ·  A2", "holds", "due in 7 days")
    QTest.keyClick(week.board, ENTER)
    assert week.jobs.hasFocus()
    wanted: list[str] = []
    shop.bench.frame_wanted.connect(wanted.append)
    shop.bench.place_wanted.connect(wanted.append)
    QTest.keyClick(week.jobs, ENTER)
    strike(today, qtbot, Qt.Key.Key_G, CTRL)
    assert wanted == [line.name, "round"]


def test_what_is_late_has_a_mark_and_a_word(shop: BenchShop, qtbot: QtBot) -> None:
    shop.clock.go_on(days=2)
    _, week = week_of(shop, qtbot)
    cell = week.board.cell(0, 0)
    assert (cell.mark, cell.late) == ("soon", "2 late")
    assert cell.spoken.endswith("2 jobs, 2 late")
    assert {line.since for line in week.lines} == {"late by 2 working days"}


def test_what_fits_on_no_day_has_a_column_of_its_own(shop: BenchShop, qtbot: QtBot) -> None:
    today_on = shop.desk.today()
    away = tuple(today_on + dt.timedelta(days=n) for n in range(14))
    change_settings(shop.desk, holidays=away)
    today, week = week_of(shop, qtbot)
    assert today._header._purpose.text() == ("4 jobs until 16 Mar 2025. 4 fit on no day.")
    assert "Prep bench: 2 jobs that fit on no day" in spoken(week)
    assert [line.place for line in week.lines] == ["No day has room for these"] * 2


def test_an_empty_shop_and_a_closed_one_say_what_to_do(bench_shop: BenchShop, qtbot: QtBot) -> None:
    _, week = week_of(bench_shop, qtbot)
    assert week.empty.isVisible()
    away = tuple(bench_shop.desk.today() + dt.timedelta(days=n) for n in range(14))
    bench_shop.bench.change(lambda desk: change_settings(desk, holidays=away))
    assert week.closed.isVisible()


def test_the_board_follows_what_others_change(shop: BenchShop, qtbot: QtBot) -> None:
    _, week = week_of(shop, qtbot)
    shop.bench.change(lambda desk: change_settings(desk, prep_minutes_a_day=45))
    assert week.board.cell(0, 0).minutes == "40 of 45"
    shop.bench.change(lambda desk: change_settings(desk, prep_minutes_a_day=0))
    assert week.board.cell(0, 0).minutes == "nobody"


def test_the_knobs_are_turned_and_answered(shop: BenchShop, qtbot: QtBot) -> None:
    _, week = week_of(shop, qtbot)
    panel = week.what_if
    assert panel.told == ("No restretch is expected until 16 Mar 2025. 2 frames wait for mesh.")
    piece = (787 + 102) / 1000
    shown = panel.result_lines()
    assert shown[:3] == ["110", f"{2 * piece:.1f} of 0.0 m", f"{2 * piece:.1f} m short"]
    type_into(field_named(panel, "More screens"), "12")
    QTest.keyClick(panel.more, ENTER)
    assert f"{14 * piece:.1f} m short" in panel.result_lines()
    panel.where.setCurrentIndex(panel.where.findData("stretching"))
    type_into(field_named(panel, "Minutes a day at that bench"), "30")
    QTest.keyClick(panel.minutes, ENTER)
    lines = panel.result_lines()
    # with their set-up the 14 screens take longer than half an hour: one on each of ten days
    assert lines[lines.index("Stretching table") + 2] == "4 jobs fit on no day"


def test_expected_restretches_are_told_with_their_spread(shop: BenchShop, qtbot: QtBot) -> None:
    """A screen below its limit is one for certain."""
    frame = [register.NewFrame(584, 787)]
    code = register.register(shop.desk, frame, found=register.FoundMesh("230 yellow")).codes[0]
    check.survey(shop.desk, code, SurveyRequest((12.0,), (12.0,)))
    _, week = week_of(shop, qtbot)
    told = "Restretches until 16 Mar 2025: 1.0 expected, give or take 0.0."
    assert week.what_if.told.startswith(told)


def test_a_shop_that_thinks_in_inches_is_answered_in_yards(shop: BenchShop, qtbot: QtBot) -> None:
    shop.bench.change(lambda desk: change_settings(desk, length_unit="inch"))
    _, week = week_of(shop, qtbot)
    assert week.what_if.result_lines()[:3] == ["110", "1.9 of 0.0 yd", "1.9 yd short"]


@pytest.mark.parametrize(
    ("knob", "typed", "told"),
    [
        ("more", "some", "not a number"),
        ("more", "-2", "more screens can be reckoned"),
        ("minutes", "-1", "none below 0"),
        ("closed", "someday", "not a date"),
    ],
)
def test_a_knob_that_means_nothing_is_refused_beside_it(
    shop: BenchShop, qtbot: QtBot, knob: str, typed: str, told: str
) -> None:
    _, week = week_of(shop, qtbot)
    before = week.what_if.told
    field = getattr(week.what_if, knob)
    type_into(field, typed)
    QTest.keyClick(field, ENTER)
    assert told in week.what_if.trouble.text
    assert week.what_if.told == before
    type_into(field, "")
    field.clear()
    QTest.keyClick(field, ENTER)
    assert not week.what_if.trouble.text


def test_days_and_minutes_open_over_the_week(shop: BenchShop, qtbot: QtBot) -> None:
    today, _ = week_of(shop, qtbot)
    strike(today, qtbot, Qt.Key.Key_D, CTRL)
    from framekeeper.ui.dialogs.working_days import WorkingDaysForm

    form = today.findChild(WorkingDaysForm)
    assert form is not None
    form.done(0)


def test_the_calendar_file_goes_where_the_person_says(
    shop: BenchShop, qtbot: QtBot, tmp_path: Path
) -> None:
    today, _ = week_of(shop, qtbot)
    path = tmp_path / "week.ics"
    prompter = FakePrompter([str(path)])
    save_calendar(shop.bench, today, prompter=prompter)
    found = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len(found) == 4
    assert shop.told == [f"Saved as {path}."]
