"""Turns words, numbers, dates and units into what this person reads, and back from what they type.

`tr` finds the sentence in the person's language, `Formatter` writes the values in it. English is
the language of the source; a catalogue is an ordinary QTranslator on the application.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QCoreApplication, QDate, QLocale, QTime

if TYPE_CHECKING:
    import datetime as dt

    from framekeeper.domain.errors import FramekeeperError
    from framekeeper.domain.sentence import Sentence

CONTEXT = "framekeeper"
MM_PER_INCH = 25.4  # exact by definition
LengthUnit = Literal["mm", "inch"]
CountUnit = Literal["cm", "inch"]


def tr(template: str, /, **values: object) -> str:
    """Translate a whole sentence, then fill its `str.format` fields.

    Numbers and dates that need the person's own style are formatted first, by a `Formatter`.
    """
    translated = QCoreApplication.translate(CONTEXT, template)
    return translated.format(**values) if values else translated


def tr_count(one: str, many: str, count: int, /, **values: object) -> str:
    """Translate a sentence that counts something; both forms may use the field `{n}`.

    The catalogue is asked for `many` with the number, so that it can hold as many plural forms
    as its language has.
    """
    translated = QCoreApplication.translate(CONTEXT, many, "", count)
    if translated == many and count == 1:
        translated = one
    return translated.format(n=count, **values)


class Formatter:
    """Writes values in one locale, in the units that the shop chose, in the zone of this bench."""

    def __init__(
        self,
        locale: QLocale | None = None,
        *,
        length_unit: LengthUnit = "inch",
        count_unit: CountUnit = "inch",
        zone: dt.tzinfo | None = None,
    ) -> None:
        self._locale = QLocale(locale) if locale is not None else QLocale()
        # 1,234 and 1.234 mean different things to different benches; so no group marks at all.
        self._locale.setNumberOptions(QLocale.NumberOption.OmitGroupSeparator)
        self.length_unit = length_unit
        self.count_unit = count_unit
        self.currency = ""
        self._zone = zone

    def number(self, value: float, decimals: int = 1) -> str:
        """Write a number with a fixed number of decimals and this locale's decimal sign."""
        return self._local_digits(f"{value:.{decimals}f}")

    def tension(self, value_n_per_cm: float) -> str:
        """Write a tension with its unit, such as "18.6 N/cm"."""
        return tr("{number} N/cm", number=self.number(value_n_per_cm))

    def length(self, value_mm: float) -> str:
        """Write a length in the shop's unit: whole mm, or inches to a tenth."""
        if self.length_unit == "mm":
            return tr("{number} mm", number=self.number(value_mm, 0))
        return tr("{number} in", number=self._inches(value_mm))

    def size(self, width_mm: float, height_mm: float) -> str:
        """Write a size such as "23 × 31 in" or "584 × 787 mm"."""
        if self.length_unit == "mm":
            width, height = self.number(width_mm, 0), self.number(height_mm, 0)
            return tr("{width} × {height} mm", width=width, height=height)
        width, height = self._inches(width_mm), self._inches(height_mm)
        return tr("{width} × {height} in", width=width, height=height)

    def decimal_sign(self, plain: str) -> str:
        """Write digits that are exact already with this locale's decimal sign."""
        return self._local_digits(plain)

    def mesh_count(self, threads_per_cm: float) -> str:
        """Write a mesh count in threads per cm or per inch, with its unit."""
        if self.count_unit == "cm":
            return tr("{number} per cm", number=self.number(threads_per_cm, 0))
        per_inch = threads_per_cm * MM_PER_INCH / 10
        return tr("{number} per inch", number=self.number(per_inch, 0))

    def date(self, day: dt.date) -> str:
        """Write a date with the month as a word, so that no order of figures misleads."""
        return self._locale.toString(QDate(day.year, day.month, day.day), "d MMM yyyy")

    def short_day(self, day: dt.date) -> str:
        """Write a day of the coming weeks as people name it: "Wed 26"."""
        return self._locale.toString(QDate(day.year, day.month, day.day), "ddd d")

    def day_and_month(self, day: dt.date) -> str:
        """Write a date without its year, for a place where the year is told beside it."""
        return self._locale.toString(QDate(day.year, day.month, day.day), "d MMM")

    def month_or_year(self, day: dt.date) -> str:
        """Write the month of a date, and of a January its year."""
        pattern = "yyyy" if day.month == 1 else "MMM"
        return self._locale.toString(QDate(day.year, day.month, day.day), pattern)

    def moment(self, when: dt.datetime) -> str:
        """Write an aware date and time in the zone of this bench."""
        local = self._at_bench(when)
        clock = self._locale.toString(
            QTime(local.hour, local.minute), QLocale.FormatType.ShortFormat
        )
        return tr("{date}, {time}", date=self.date(local.date()), time=clock)

    def day_of(self, when: dt.datetime) -> dt.date:
        """Give the calendar day at this bench."""
        return self._at_bench(when).date()

    def start_of(self, day: dt.date) -> dt.datetime:
        """Give the first moment of a calendar day at this bench."""
        import datetime as dt  # nothing is written before the first paint

        return dt.datetime.combine(day, dt.time(), self._zone).astimezone(self._zone)

    def due(self, days: int) -> str:
        """Say when something is due, in whole days from today; negative is late."""
        if days == 0:
            return tr("today")
        if days == 1:
            return tr("tomorrow")
        if days > 0:
            return tr_count("in {n} day", "in {n} days", days)
        return tr_count("{n} day late", "{n} days late", -days)

    def ago(self, days: int) -> str:
        """Say how long ago something was, in whole days."""
        if days == 0:
            return tr("today")
        if days == 1:
            return tr("yesterday")
        return tr_count("{n} day ago", "{n} days ago", days)

    def sentence(self, said: Sentence | str) -> str:
        """Write a sentence of the domain in this language, with this person's units."""
        if isinstance(said, str):
            return tr(said)
        values = {name: _Shown(value, self) for name, value in said.values.items()}
        return tr(said.template, **values)

    def error(self, error: FramekeeperError) -> str:
        """Say what happened, what was kept and what to do."""
        return " ".join(self.sentence(part) for part in error.parts())

    def parse_number(self, text: str) -> float:
        """Read a number that was typed with a decimal comma or a decimal point.

        Raises
        ------
        NotValid
            Where the text is not one plain number; a group mark is refused rather than guessed.
        """
        plain = text.strip().replace("\N{MINUS SIGN}", "-").replace(",", ".")
        unsigned = plain.removeprefix("-")
        digits, dot, decimals = unsigned.partition(".")
        whole = digits + decimals
        if not (whole.isascii() and whole.isdigit()) or (dot and not decimals):
            from framekeeper.domain.errors import NotValid
            from framekeeper.domain.sentence import say

            raise NotValid(
                say("“{text}” is not a number.", text=text.strip()),
                kept="",
                hint=say("Type a number such as 18.6 or 18,6."),
                argument="text",
            )
        return float(plain)

    def show(self, value: object, spec: str) -> str:
        """Write one value of a sentence; `spec` is what follows the colon in its field."""
        import datetime as dt  # nothing is written before the first paint

        from framekeeper.domain.sentence import Millimetres, Running, Sentence

        if isinstance(value, Millimetres):
            return self.length(value.value)
        if isinstance(value, Running):
            unit = "m" if self.length_unit == "mm" else "yd"
            return self._local_digits(format(Running(value.value, unit), spec))
        if isinstance(value, dt.datetime):
            return self.moment(value)
        if isinstance(value, dt.date):
            return self.date(value)
        if isinstance(value, Sentence):
            return self.sentence(value)
        if isinstance(value, float):
            return self._local_digits(format(value, spec))
        return format(value, spec)

    def _at_bench(self, when: dt.datetime) -> dt.datetime:
        if when.tzinfo is None:
            raise ValueError("a moment needs a zone")
        return when.astimezone(self._zone)

    def _inches(self, value_mm: float) -> str:
        text = f"{value_mm / MM_PER_INCH:.1f}".removesuffix(".0")
        return self._local_digits(text)

    def _local_digits(self, plain: str) -> str:
        return plain.replace(".", self._locale.decimalPoint())


class _Shown:
    """A value that lets the formatter answer when `str.format` meets it."""

    def __init__(self, value: object, formatter: Formatter) -> None:
        self._value = value
        self._formatter = formatter

    def __format__(self, spec: str) -> str:
        return self._formatter.show(self._value, spec)
