"""Proves the tension round: few keys, nothing lost, the answer before the next scan."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from framekeeper.services import meters
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.round_entry import ONE_NUMBER
from framekeeper.ui.places.tension_round import TensionRound
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, press, put_away, stocked_desk

ENTER = Qt.Key.Key_Return
EVEN = ("24", "24", "23", "24", "24", "23", "24", "24", "23", "24")


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> tuple[Desk, list[str]]:
    return stocked_desk(sqlite_place, clock)


@pytest.fixture
def bench(
    qapp: QApplication, stocked: tuple[Desk, list[str]], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def memory(tmp_path: Path) -> Path:
    return tmp_path / "state" / "round.json"


def come_in(bench: Bench, qtbot: QtBot, memory: Path) -> TensionRound:
    """Go to the round as a person does."""
    place = TensionRound(bench, memory_path=memory)
    qtbot.addWidget(place)
    place.resize(1072, 760)
    with qtbot.waitExposed(place):
        place.show()
    place.activateWindow()
    qtbot.waitUntil(place.isActiveWindow)
    place.enter()
    return place


def read(place: TensionRound, numbers: tuple[str, ...]) -> int:
    return sum(press(place, number, ENTER) for number in numbers)


def test_a_round_needs_only_digits_and_enter(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Three screens: a scan and ten numbers each, not one key more, and the answer at once."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    keys = 0
    for code in codes:
        assert place.take_scan(code)
        keys += read(place, EVEN)
        assert place.verdict.code == code
        assert place.verdict.judged is not None
        assert place.verdict.judged.answer == "holds"
    digits = sum(len(number) for number in EVEN)
    assert keys == len(codes) * (digits + len(EVEN)), "digits and one Enter for each reading"
    assert all(frame_page(desk, code).last_survey is not None for code in codes)
    assert place.progress.expected is None


def test_enter_alone_takes_the_screen_that_is_next(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Without a scanner one key more for each screen is enough, in the order of the slots."""
    place = come_in(bench, qtbot, memory)
    order = []
    for _ in stocked[1]:
        press(place, ENTER)
        read(place, EVEN)
        order.append(place.verdict.code)
    assert order == stocked[1]


def test_a_screen_below_its_limit_says_why_and_is_pulled_by_one_key(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """The reason carries the numbers; the pull carries the reason."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    place.take_scan(codes[0])
    read(place, ("17",) * 10)
    assert "tension 17.0 N/cm, limit 18.0" in place.verdict.words
    press(place, Qt.Key.Key_F4)
    qtbot.waitUntil(lambda: frame_page(desk, codes[0]).settled.state == "pulled")
    state = frame_page(desk, codes[0]).settled
    assert state.taken_out_reason == place.verdict.reason()


def test_the_verdict_follows_the_numbers_while_they_are_typed(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """A low side is named before the last number; each point shows how it leans."""
    place = come_in(bench, qtbot, memory)
    place.take_scan(stocked[1][0])
    read(place, ("25", "25"))
    assert "no verdict so far, 1 of 5 points" in place.panel.verdict.words
    read(place, ("21", "21"))
    assert "outside so far, 2 of 5 points" in place.panel.verdict.words
    picture = place.panel.entry.picture
    assert picture is not None
    assert (picture.points[1].mark, picture.points[1].lean_n_per_cm) == ("soon", -4.0)
    read(place, ("25", "25", "25", "25", "21"))
    assert not place.panel.verdict.isHidden()
    read(place, ("21",))
    assert "The left side is 4.0 N/cm lower than the rest." in place.verdict.words
    assert "a bent bar, or adhesive that slipped" in place.verdict.words
    assert place.panel.verdict.isHidden(), "the large verdict stands beside the list now"


def test_too_close_to_call_offers_the_other_meter_and_comes_back(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """One key reads the screen again with it, at the same moment; then the first is in force."""
    desk, codes = stocked
    meters.add_meter(desk, meters.MeterFacts("Red case"))
    place = come_in(bench, qtbot, memory)
    place.panel.choose_meter("Blue case")
    place._chosen()
    place.take_scan(codes[0])
    read(place, ("24",) * 10)  # 23.5 by the meter's correction, 0.5 above what may be
    judged = place.verdict.judged
    assert judged is not None
    assert judged.judgement is not None
    assert judged.judgement.verdict == "too close to call"
    assert "Red case" in place.verdict.again.text()
    assert "Too close to call: 1" in place._header._purpose.text()
    press(place, Qt.Key.Key_F2)
    qtbot.waitUntil(lambda: place.panel.page is not None)
    assert place.panel.meter == "Red case"
    read(place, ("25",) * 10)
    page = frame_page(desk, codes[0])
    assert [s.survey.moment for s in page.surveys] == ["after_release", "after_release"]
    assert len({s.survey.meter_id for s in page.surveys}) == 2
    assert page.judgement is not None
    assert page.judgement.verdict == "inside"
    assert place.panel.meter == "Blue case"
    assert "Too close to call: 0" in place._header._purpose.text()


def test_a_reading_that_is_left_keeps_its_moment_and_its_meter(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Read again with the other meter, left after three numbers, and gone on with another day."""
    desk, codes = stocked
    meters.add_meter(desk, meters.MeterFacts("Red case"))
    place = come_in(bench, qtbot, memory)
    place.panel.choose_meter("Blue case")
    place._chosen()
    place.take_scan(codes[0])
    read(place, ("24",) * 10)
    press(place, Qt.Key.Key_F2)
    read(place, ("25",) * 3)
    press(place, Qt.Key.Key_Escape)
    assert place.panel.meter == "Blue case", "the next screen is read with the bench's own"
    again = come_in(bench, qtbot, memory)
    assert again.panel.meter == "Blue case"
    again.take_scan(codes[0])
    assert again.panel.meter == "Red case"
    read(again, ("25",) * 7)
    page = frame_page(desk, codes[0])
    assert [s.survey.moment for s in page.surveys] == ["after_release", "after_release"]
    assert len({s.survey.meter_id for s in page.surveys}) == 2
    assert again.panel.meter == "Blue case"


def test_one_number_has_no_verdict_and_says_why(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    place = come_in(bench, qtbot, memory)
    place.panel.set_choices([], "", ONE_NUMBER)
    place.take_scan(stocked[1][0])
    press(place, "17", ENTER)
    assert "no verdict" in place.verdict.words
    assert "One number alone cannot show whether a screen is even" in place.verdict.words
    assert "tension 17.0 N/cm, limit 18.0" in place.verdict.words, "the due list still says so"


def test_a_wrong_digit_is_one_key_back_even_after_the_last_number(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Backspace opens the last number of the saved survey; one survey counts in the end."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    place.take_scan(codes[0])
    read(place, (*EVEN[:-1], "42"))
    press(place, Qt.Key.Key_Backspace)
    read(place, ("24",))
    page = frame_page(desk, codes[0])
    assert [s.figures.highest for s in page.surveys] == [24.0]
    assert len([line for line in page.journal if line.event.kind == "surveyed"]) == 2


def test_a_half_typed_survey_is_offered_back_after_a_crash(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Another scan sets it aside; the next start of the program still has its numbers."""
    desk, codes = stocked
    before = come_in(bench, qtbot, memory)
    before.take_scan(codes[0])
    read(before, EVEN[:7])
    before.take_scan(codes[1])
    read(before, EVEN[:2])
    after = come_in(bench, qtbot, memory)
    after.take_scan(codes[0])
    assert after.panel.readings()[:7] == (24, 24, 23, 24, 24, 23, 24)
    read(after, EVEN[7:])
    assert frame_page(desk, codes[0]).last_survey is not None
    press(after, Qt.Key.Key_F3)
    qtbot.waitUntil(lambda: after.panel.page is not None)
    assert after.panel.page is not None
    assert after.panel.page.frame.code == codes[1]
    third = come_in(bench, qtbot, memory)
    third.take_scan(codes[0])
    assert set(third.panel.readings()) == {None}, "what was recorded is no draft any more"


def test_a_missing_screen_is_one_key(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """The expected screen is missing; the next one is expected; a later survey finds it again."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    press(place, Qt.Key.Key_F6)
    qtbot.waitUntil(lambda: frame_page(desk, codes[0]).settled.state == "missing")
    assert place.progress.expected is not None
    assert place.progress.expected.frame.code == codes[1]
    place.take_scan(codes[0])
    read(place, EVEN)
    assert frame_page(desk, codes[0]).settled.state == "ready"


def test_escape_leaves_a_survey_without_losing_it(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Coffee in between: the numbers are there when the screen is scanned again."""
    place = come_in(bench, qtbot, memory)
    place.take_scan(stocked[1][0])
    read(place, EVEN[:3])
    press(place, Qt.Key.Key_Escape)
    assert place.panel.page is None
    assert place.code.hasFocus()
    place.take_scan(stocked[1][0])
    assert place.panel.readings()[:4] == (24, 24, 23, None)


def test_an_unknown_code_is_refused_in_words_and_stays_in_its_field(
    bench: Bench, qtbot: QtBot, memory: Path
) -> None:
    """What was typed is kept so that it can be mended."""
    place = come_in(bench, qtbot, memory)
    press(place, "Z99", ENTER)
    assert "No frame in this shop answers to Z99" in place.trouble.text
    assert place.code.text() == "Z99"


def test_a_shop_may_read_one_number_for_each_screen(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Scan, number, Enter: the survey has one reading without direction and the chosen meter."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    place.panel.set_choices([*place._looked.meters], "Blue case", ONE_NUMBER)  # type: ignore[union-attr]
    place.take_scan(codes[0])
    press(place, "22.5", ENTER)
    page = frame_page(desk, codes[0])
    assert page.last_survey is not None
    assert [r.direction for r in page.last_survey.survey.readings] == ["not_told"]
    assert page.last_survey.figures.mean == pytest.approx(22.0), "less the meter's correction"


def test_a_frame_without_mesh_is_not_read(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """The refusal names the way out."""
    from framekeeper.services import prep

    desk, codes = stocked
    prep.strip(desk, [codes[0]])
    place = come_in(bench, qtbot, memory)
    place.take_scan(codes[0])
    assert "cannot be surveyed" in place.trouble.text
    assert place.panel.page is None


@pytest.mark.parametrize("broken", ["", "{", '{"version": 1, "shops": [1]}', '{"version": 9}'])
def test_a_broken_memory_does_not_stop_a_round(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path, broken: str
) -> None:
    """The file is a convenience; the journal has what counts."""
    memory.parent.mkdir()
    memory.write_text(broken, encoding="utf-8")
    place = come_in(bench, qtbot, memory)
    place.take_scan(stocked[1][0])
    read(place, EVEN)
    assert place.verdict.code == stocked[1][0]


def test_a_memory_that_cannot_be_written_is_told_and_stops_nothing(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, tmp_path: Path
) -> None:
    """A full or forbidden disk costs the safety of half-typed numbers, not the round."""
    in_the_way = tmp_path / "file"
    in_the_way.write_text("no folder", encoding="utf-8")
    place = come_in(bench, qtbot, in_the_way / "round.json")
    place.take_scan(stocked[1][0])
    with qtbot.waitSignal(bench.refused) as told:
        read(place, EVEN[:1])
    assert "cannot be kept on this computer" in told.args[0]
    read(place, EVEN[1:])
    assert place.verdict.code == stocked[1][0]


def test_another_meter_and_other_points_are_remembered_for_this_shop(
    bench: Bench, stocked: tuple[Desk, list[str]], qtbot: QtBot, memory: Path
) -> None:
    """Chosen once; the next start has them, and the survey names the meter."""
    desk, codes = stocked
    place = come_in(bench, qtbot, memory)
    place.panel._meter.setCurrentIndex(1)
    place.panel._points.setCurrentIndex(place.panel._points.findData("1"))
    place.panel._meter.activated.emit(1)
    again = come_in(bench, qtbot, memory)
    assert (again.panel.meter, again.panel.pattern) == ("Blue case", "1")
    again.take_scan(codes[0])
    read(again, ("24", "24"))
    last = frame_page(desk, codes[0]).last_survey
    assert last is not None
    assert last.survey.correction_n_per_cm == -0.5
