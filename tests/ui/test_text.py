"""Claims about words, numbers, dates and units."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QCoreApplication, QLocale, QTranslator

from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.sentence import Millimetres, say
from framekeeper.ui.text import Formatter, tr, tr_count

ENGLISH = QLocale(QLocale.Language.English, QLocale.Country.UnitedStates)
GERMAN = QLocale(QLocale.Language.German, QLocale.Country.Germany)
CET = dt.timezone(dt.timedelta(hours=1))


@pytest.fixture
def inch() -> Formatter:
    return Formatter(ENGLISH, length_unit="inch", count_unit="inch", zone=CET)


@pytest.fixture
def metric() -> Formatter:
    return Formatter(GERMAN, length_unit="mm", count_unit="cm", zone=CET)


def test_values_are_written_in_the_shops_units(inch: Formatter, metric: Formatter) -> None:
    """The same mm and threads per cm read as each shop wants them; 25.4 mm are an inch."""
    assert inch.size(584.2, 787.4) == "23 × 31 in"
    assert metric.size(584.2, 787.4) == "584 × 787 mm"
    assert inch.length(647.7) == "25.5 in"
    assert inch.mesh_count(90) == "229 per inch"
    assert metric.mesh_count(90) == "90 per cm"
    assert inch.tension(18.62) == "18.6 N/cm"
    assert metric.tension(18.62) == "18,6 N/cm"


def test_large_numbers_have_no_group_marks(metric: Formatter, inch: Formatter) -> None:
    """1.234 could be read as a decimal, so thousands are written together."""
    assert metric.number(12345.5) == "12345,5"
    assert inch.number(12345.5) == "12345.5"


def test_times_are_told_in_the_benchs_zone(inch: Formatter) -> None:
    """A moment late in the evening UTC is the next day at a bench to the east."""
    late = dt.datetime(2025, 3, 3, 23, 30, tzinfo=dt.UTC)
    assert inch.moment(late).startswith("4 Mar 2025, 12:30")
    assert inch.day_of(late) == dt.date(2025, 3, 4)


def test_a_time_without_a_zone_is_a_bug(inch: Formatter) -> None:
    """A naive time is refused instead of being guessed."""
    with pytest.raises(ValueError, match="zone"):
        inch.moment(dt.datetime(2025, 3, 3))  # noqa: DTZ001


@pytest.mark.parametrize(
    ("days", "text"),
    [(0, "today"), (1, "tomorrow"), (3, "in 3 days"), (-1, "1 day late"), (-2, "2 days late")],
)
def test_due_days_read_as_a_person_says_them(inch: Formatter, days: int, text: str) -> None:
    """Late is said as late."""
    assert inch.due(days) == text


def test_a_coming_day_is_named_by_its_weekday(inch: Formatter, metric: Formatter) -> None:
    """In the person's language."""
    assert inch.short_day(dt.date(2024, 2, 29)) == "Thu 29"
    assert metric.short_day(dt.date(2024, 2, 29)).startswith("Do")


def test_the_past_reads_as_a_person_says_it(inch: Formatter) -> None:
    """Today, yesterday, and then a count."""
    assert [inch.ago(n) for n in (0, 1, 9)] == ["today", "yesterday", "9 days ago"]


def test_a_sentence_takes_locale_and_units(inch: Formatter, metric: Formatter) -> None:
    """Numbers, lengths, dates and sentences inside a sentence are all written the person's way."""
    said = say(
        "{what}: {mean:.1f} N/cm on {size}, read {day}, chance {risk:.0%}, {count} times",
        what=say("limit {limit:.1f}", limit=18.0),
        mean=18.62,
        size=Millimetres(787.4),
        day=dt.date(2025, 3, 3),
        risk=0.22,
        count=4,
    )
    assert inch.sentence(said) == (
        "limit 18.0: 18.6 N/cm on 31 in, read 3 Mar 2025, chance 22%, 4 times"
    )
    german = metric.sentence(said)
    assert german.startswith("limit 18,0: 18,6 N/cm on 787 mm, read 3")
    assert german.endswith("chance 22%, 4 times")


def test_an_error_says_all_three_parts(metric: Formatter) -> None:
    """What happened, what was kept and what to do stay together and keep the locale."""
    error = NotFound(say("No frame holds {t:.1f} N/cm.", t=30.5), hint=say("Choose another."))
    assert metric.error(error) == "No frame holds 30,5 N/cm. Nothing was changed. Choose another."


@pytest.mark.parametrize(
    ("typed", "value"),
    [("18.6", 18.6), ("18,6", 18.6), (" 18 ", 18), ("-3,5", -3.5), ("−3.5", -3.5), (",5", 0.5)],
)
def test_comma_and_point_are_both_decimals(inch: Formatter, typed: str, value: float) -> None:
    """Whatever the locale, both signs are understood."""
    assert inch.parse_number(typed) == pytest.approx(value)


@pytest.mark.parametrize(
    "typed", ["", "x", "1.234,5", "1,2,3", "18.", "1e3", "nan", "--1", "٣", "²"]
)
def test_what_is_not_one_plain_number_is_refused(inch: Formatter, typed: str) -> None:
    """Nothing is guessed from group marks, exponents or words."""
    with pytest.raises(NotValid):
        inch.parse_number(typed)


@given(st.floats(-1000, 1000))
def test_what_is_written_can_be_typed_back(value: float) -> None:
    """In a locale with a comma, a written number reads back as itself."""
    formatter = Formatter(GERMAN)
    assert formatter.parse_number(formatter.number(value, 3)) == pytest.approx(value, abs=6e-4)


def test_counting_sentences_have_both_forms() -> None:
    """One frame, two frames: English is right without a catalogue."""
    assert tr_count("{n} frame on {shelf}", "{n} frames on {shelf}", 1, shelf="A") == "1 frame on A"
    assert (
        tr_count("{n} frame on {shelf}", "{n} frames on {shelf}", 2, shelf="A") == "2 frames on A"
    )


def test_a_translator_of_the_application_is_asked(qapp: object) -> None:
    """A catalogue that is installed changes what `tr` says."""

    class Catalogue(QTranslator):
        def translate(
            self, context: str, source: str, disambiguation: str | None = None, n: int = -1
        ) -> str | None:  # type: ignore[override]  # null, unlike "", means: not in here
            return {"Rack {n}": "Regal {n}"}.get(source)

        def isEmpty(self) -> bool:
            return False

    catalogue = Catalogue()
    QCoreApplication.installTranslator(catalogue)
    try:
        assert tr("Rack {n}", n=3) == "Regal 3"
        assert tr("Washout") == "Washout"
    finally:
        QCoreApplication.removeTranslator(catalogue)
