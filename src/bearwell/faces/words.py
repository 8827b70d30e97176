"""Turns phrases, quantities and dates into what the grower reads, in the garden's units.

This is the only place where canonical units become people's units.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from typing import Literal

from bearwell.api import Advice
from bearwell.faces.language import ENGLISH, N_, Np_, _, _p, say, speaking, spoken
from bearwell.quantities import Quantity, convert
from bearwell.reasons import Because, Phrase, Value
from bearwell.said import Said

System = Literal["metric", "us"]

_MONTHS = (
    N_("January"),
    N_("February"),
    N_("March"),
    N_("April"),
    N_("May"),
    N_("June"),
    N_("July"),
    N_("August"),
    N_("September"),
    N_("October"),
    N_("November"),
    N_("December"),
)
# The same in a narrow column.
_SHORT_MONTHS = (
    Np_("short month", "Jan"),
    Np_("short month", "Feb"),
    Np_("short month", "Mar"),
    Np_("short month", "Apr"),
    Np_("short month", "May"),
    Np_("short month", "Jun"),
    Np_("short month", "Jul"),
    Np_("short month", "Aug"),
    Np_("short month", "Sep"),
    Np_("short month", "Oct"),
    Np_("short month", "Nov"),
    Np_("short month", "Dec"),
)
_WEEKDAYS = (
    N_("Monday"),
    N_("Tuesday"),
    N_("Wednesday"),
    N_("Thursday"),
    N_("Friday"),
    N_("Saturday"),
    N_("Sunday"),
)

# Times that end a unit and may stand in the sentence round it too.
_TIMES = (
    N_("a day"), N_("a year"), N_("day"), N_("days"), N_("hour"), N_("hours"), N_("year"), N_("years"),
)  # fmt: skip


@cache
def _once(language: str) -> re.Pattern[str]:
    """What is said twice where a unit that says "a day" stands in a sentence that says it too."""
    with speaking(language):
        times = "|".join(re.escape(_(one)) for one in _TIMES)
    return re.compile(rf"\b({times}) (?=\1\b)")


# How canonical units are written where they are not written as they are.
_METRIC = {
    "degC": "°C",
    "K": "°C",
    "m2": "m²",
    "m3": "m³",
    "cm2": "cm²",
    "mm d-1": N_("mm a day"),
    "L d-1": N_("L a day"),
    "d": N_("days"),
    "h": N_("hours"),
    "degC d": N_("°C days"),
    "degC h": N_("°C hours"),
    "g m-2": N_("g a square metre"),
    "g/m": N_("g a metre"),
    "g/L": N_("g a litre"),
    "L/m3": N_("L a cubic metre"),
    "kg m-3": N_("kg a cubic metre"),
    "fruit cm-2": N_("fruit a cm²"),
    "fruit cm-1": N_("fruit a cm"),
    "yr": N_("years"),
    "CP": N_("chill portions"),
    "count yr-1": N_("times a year"),
    "g/kg": N_("g a kg"),
    "leaves/fruit": N_("leaves a fruit"),
    "m3/m3": N_("by volume"),
    "MJ m-2 d-1": N_("MJ/m² a day"),
    "L/h": N_("L an hour"),
    "m s-1": "m/s",
    "W m-2": "W/m²",
    "W m-2 K-1": N_("W/m² a degree"),
}
# What a grower used to US units reads instead: the unit to turn into, and how it is written.
_US = {
    "kg": ("lb", "lb"),
    "m": ("ft", "ft"),
    "m2": ("ft2", N_("sq ft")),
    "m3": ("ft3", N_("cu ft")),
    "cm2": ("in2", N_("sq in")),
    "L": ("gal", "gal"),
    "degC": ("degF", "°F"),
    "K": ("degF difference", "°F"),
    "L d-1": ("gal/d", N_("gal a day")),
    "L/h": ("gal/h", N_("gal an hour")),
    "degC d": ("degF d", N_("°F days")),
    "degC h": ("degF h", N_("°F hours")),
    "g m-2": ("lb/1000ft2", N_("lb on 1000 sq ft")),
    "g/m": ("oz/in", N_("oz an inch")),
    "g/L": ("oz/gal", N_("oz a gallon")),
    "L/m3": ("gal/1000ft3", N_("gal on 1000 cu ft")),
    "g/kg": ("lb/ton", N_("lb a ton")),
    "kg m-3": ("lb/ft3", N_("lb a cubic foot")),
    "fruit cm-2": ("fruit in-2", N_("fruit a sq in")),
    "fruit cm-1": ("fruit in-1", N_("fruit an inch")),
    "m s-1": ("mph", "mph"),
}
_ONE = {"d": N_("1 day"), "yr": N_("1 year"), "h": N_("1 hour")}

# Before the sound of an i Spanish says "e" in place of "y" (Ortografía de la lengua española, RAE 2010).
_SPOKEN_I = re.compile(r"h?[ií](?![eao])", re.IGNORECASE)
_INCHES_BELOW = 0.6  # m, two feet
_FAR = 180  # days from which a date is told with its year

# What is seen on a tree in its year.
EVENT_WORDS = (
    N_("leaf out"),
    N_("bloom start"),
    N_("full bloom"),
    N_("bloom end"),
    N_("natural drop end"),
    N_("harvest start"),
    N_("harvest end"),
    N_("leaf fall"),
)

# What a cover is like.
COVER_SHAPES = (N_("hoop"), N_("box"), N_("gable"), N_("wall"))

CONFIDENCE_WORDS = {
    "read": N_("read in the source"),
    "secondhand": N_("quoted from the source by another"),
    "memory": N_("from memory, not checked again"),
    "judgement": N_("our judgement"),
    "computed": N_("worked out"),
}

JOB_WORDS = {
    "feed": N_("Feed"),
    "prune": N_("Cut"),
    "thin": N_("Thin"),
    "water": N_("Water"),
    "protect": N_("Protect"),
    "harvest": N_("Pick"),
    "inspect": N_("Look"),
    "measure": N_("Measure"),
}

STANDING_WORDS = {
    "due": N_("open now"),
    "coming": N_("opens soon"),
    "later": N_("later"),
    "blocked": N_("held back"),
    "missed": N_("window closed"),
}


SECTION_WORDS = {
    "protect": (N_("Protect"), N_("Cold comes first: everything else can wait a day.")),
    "closing": (N_("Closes in these days"), N_("Their time runs out within these days.")),
    "now": (N_("Best done now"), N_("Open longer, but these are their best days.")),
    "open": (N_("Open, no hurry"), N_("Can be begun; their best days come later.")),
    "round": (N_("Looking round"), N_("A walk with open eyes, and what to measure on the way.")),
    "blocked": (N_("Held back"), N_("Would be done, but something stands against it.")),
    "missed": (
        N_("Window closed"),
        N_("Not seen as done in time. Mostly best left until its next turn."),
    ),
}


@dataclass(frozen=True)
class Words:
    """A way of writing numbers and dates: the unit system, today for near dates, and the language spoken.

    It belongs to one answer: it writes in the language that was spoken when it was made.
    """

    units: System = "metric"
    today: date | None = None
    language: str = field(default_factory=spoken.get)

    def phrase(self, phrase: Phrase | None) -> str:
        """A phrase as a sentence."""
        if phrase is None:
            return ""
        if not phrase.values:
            return _(phrase.text)
        shown = {key: self.value(value) for key, value in phrase.values.items()}
        return _once(self.language).sub("", _(phrase.text).format(**shown))

    def value(self, value: Value) -> str:
        """Any value that a phrase may hold."""
        if isinstance(value, Quantity):
            return self.quantity(value)
        if isinstance(value, date):
            return self.day(value)
        if isinstance(value, Phrase):
            return self.phrase(value)
        return say(value) if isinstance(value, Said) else str(value)

    def day(self, day: date) -> str:
        """A date as people say it: 14 April, or 14 April 2027 when the year is not plain."""
        return self._plain_day(day) if self._near(day) else self._dated(day)

    def _near(self, day: date) -> bool:
        return self.today is not None and abs((day - self.today).days) < _FAR

    def _plain_day(self, day: date) -> str:
        return self._day_of(day, _(_MONTHS[day.month - 1]))

    def _day_of(self, day: date, month: str) -> str:
        if self._month_first:
            return f"{month} {day.day}"
        return _("{day} {month}", day=day.day, month=month)

    @property
    def _month_first(self) -> bool:
        """Whether days are written as in the United States; other languages have one way only."""
        return self.units == "us" and self.language == ENGLISH

    def _dated(self, day: date) -> str:
        if self._month_first:
            return f"{self._plain_day(day)}, {day.year}"
        return _("{day} {year}", day=self._plain_day(day), year=day.year)

    def month(self, day: date) -> str:
        """The month of a date with its year: April 2027."""
        return _("{month} {year}", month=_(_MONTHS[day.month - 1]), year=day.year)

    def month_name(self, day: date) -> str:
        """The month of a date: April."""
        return _(_MONTHS[day.month - 1])

    def yearly(self, mark: str) -> str:
        """A day of every year, written as 06-01, as people say it: 1 June."""
        return self._plain_day(date.fromisoformat(f"2000-{mark}"))

    def given(self, job: str, grams: float) -> str:
        """What a job gave or took: water in litres, everything else by its mass."""
        litres = job == "water"  # a litre of water weighs a kilogram
        return self.quantity(Quantity(grams / 1000, "L") if litres else Quantity(grams, "g"))

    def short_month(self, day: date) -> str:
        """The month of a date in a narrow column: Apr."""
        return _p("short month", _SHORT_MONTHS[day.month - 1])

    def weekday(self, day: date) -> str:
        """The day of the week: Monday."""
        return _(_WEEKDAYS[day.weekday()])

    def short_day(self, day: date) -> str:
        """A date in a narrow column: 14 Apr."""
        month = self.short_month(day)
        return f"{month} {day.day}" if self._month_first else f"{day.day} {month}"

    def span(self, first: date, last: date) -> str:
        """Two dates as a span: 10 – 24 October, 25 November – 9 December, with years where not plain."""
        if first == last:
            return self.day(first)
        near = self._near(first) and self._near(last)
        if (first.year, first.month) == (last.year, last.month):
            if self._month_first:
                year = "" if near else f", {last.year}"
                return f"{self._plain_day(first)} – {last.day}{year}"
            return f"{first.day} – {self._plain_day(last) if near else self._dated(last)}"
        dated = not near and first.year != last.year
        begin = self._dated(first) if dated else self._plain_day(first)
        return f"{begin} – {self._plain_day(last) if near else self._dated(last)}"

    def listed(self, names: Sequence[str]) -> str:
        """Names in a row: plum, fig and lemon."""
        if len(names) < 2:
            return "".join(names)
        rest, last = ", ".join(names[:-1]), names[-1]
        if self.language == "es" and _SPOKEN_I.match(last):
            return f"{rest} e {last}"
        return _("{names} and {last}", names=rest, last=last)

    def window(self, advice: Advice) -> str:
        """When: by when, and the best day while it lies ahead."""
        window = advice.window
        best, latest = self.day(window.best), self.day(window.latest)
        if advice.standing == "missed":
            return _("closed on {latest}; best was {best}", latest=latest, best=best)
        if self.today is not None and window.best <= self.today:
            return _("now, by {latest}", latest=latest)
        if advice.standing == "coming":
            earliest = self.day(window.earliest)
            return _(
                "from {earliest}, best {best}, by {latest}",
                earliest=earliest,
                best=best,
                latest=latest,
            )
        return _("best {best}, by {latest}", best=best, latest=latest)

    def away(self, day: date) -> str:
        """How far a date is from today: today, tomorrow, in 5 days, 3 days ago; empty without a today."""
        if self.today is None:
            return ""
        days = (day - self.today).days
        near = {-1: N_("yesterday"), 0: N_("today"), 1: N_("tomorrow")}
        if days in near:
            return _(near[days])
        return _("in {days} days", days=days) if days > 0 else _("{days} days ago", days=-days)

    def time(self, minutes: float) -> str:
        """A length of work: 25 min, 1 h, 2 h 10 min; hours are rounded to ten minutes."""
        if minutes <= 0:
            return _("no work")
        whole = max(round(minutes), 1) if minutes < 90 else 10 * round(minutes / 10)
        hours, rest = divmod(whole, 60)
        parts = [f"{hours} h"] if hours else []
        return " ".join([*parts, f"{rest} min"] if rest or not hours else parts)

    def quantity(self, quantity: Quantity, *, with_range: bool = False) -> str:
        """A quantity in the garden's units, rounded as people would say it."""
        number, unit = self._one(quantity.value, quantity.unit)
        text = f"{number} {unit}".strip()
        if with_range and quantity.low is not None and quantity.high is not None:
            (low, low_unit), (high, high_unit) = (
                self._one(end, quantity.unit) for end in (quantity.low, quantity.high)
            )
            if (low, low_unit) != (high, high_unit):
                low = f"{low} {low_unit}".strip() if low_unit != high_unit else low
                return _(
                    "{value} ({low} to {high})",
                    value=text,
                    low=low,
                    high=f"{high} {high_unit}".strip(),
                )
        return text

    def _one(self, value: float, unit: str) -> tuple[str, str]:
        """A figure and its unit, as written."""
        if unit == "count":
            return self._thousands(value), ""
        if unit == "1":
            return (
                (self._marked(_percent(value)), "%")
                if 0 < abs(value) < 1
                else (self._marked(f"{value:.2g}"), "")
            )
        if unit == "m3/m3":
            return self._marked(_percent(value)), f"% {_(_METRIC[unit])}"
        if unit in _ONE and self._neat(value) == "1":
            number, word = _(_ONE[unit]).split()
            return number, word
        if unit == "g":
            return self._mass(value)
        return self._us(value, unit) if self.units == "us" else self._metric(value, unit)

    def _mass(self, grams: float) -> tuple[str, str]:
        if self.units == "us":
            ounces = convert(grams, "g", "oz")
            pounds = abs(ounces) >= 16
            return self._neat(ounces / 16 if pounds else ounces), "lb" if pounds else "oz"
        kilos = abs(grams) >= 1000
        return self._neat(grams / 1000 if kilos else grams), "kg" if kilos else "g"

    def _metric(self, value: float, unit: str) -> tuple[str, str]:
        if unit == "m" and abs(value) < 1:
            return self._neat(100 * value), "cm"
        if unit in ("degC", "K"):
            return self._marked(_minus(value)), _METRIC[unit]
        return self._neat(value), _(_METRIC[unit]) if unit in _METRIC else unit

    def _us(self, value: float, unit: str) -> tuple[str, str]:
        if unit == "m" and abs(value) < _INCHES_BELOW:
            return self._neat(convert(value, "m", "in")), "in"
        if unit == "L" and abs(convert(value, "L", "gal")) < 1:
            return self._neat(4 * convert(value, "L", "gal")), "qt"
        if unit in ("mm", "mm d-1"):
            inches = self._marked(f"{convert(value, 'mm', 'in'):.2f}")
            return inches, _("in a day") if unit == "mm d-1" else "in"
        if unit not in _US:
            return self._metric(value, unit)
        other, written = _US[unit]
        turned = convert(value, unit, other)
        if unit in ("degC", "K"):
            return self._marked(_minus(turned, 0 if unit == "degC" else 1)), written
        return self._neat(turned), _(written)

    def _neat(self, value: float) -> str:
        """Two or three figures, no needless zeros, thousands set apart."""
        size = abs(value)
        if size >= 100:
            return self._thousands(value)
        if size >= 10:
            loose = abs(value - round(value)) >= 0.05 and size < 20
            text = f"{value:.1f}" if loose else f"{value:.0f}"
        elif size >= 1:
            text = f"{value:.1f}"
        elif size >= 0.1:
            text = f"{value:.2f}"
        else:
            text = f"{value:.2g}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        return self._marked(text.replace("-", "−"))

    def _thousands(self, value: float) -> str:
        text = f"{value:,.0f}".replace("-", "−")
        return text if self._month_first else text.replace(",", " ")

    def number(self, value: float, places: int = 0) -> str:
        """A bare number with this many decimals, its decimal mark that of the language."""
        return self._marked(f"{value:.{places}f}".replace("-", "−"))

    def typed(self, measure: str) -> str:
        """A measure as it was written with a point, with the decimal mark of the language."""
        return self._marked(measure)

    def bare(self, value: float, figures: int = 6) -> str:
        """A bare number of at most so many figures, without needless zeros: 3, 2.5."""
        return self._marked(f"{value:.{figures}g}".replace("-", "−"))

    def _marked(self, number: str) -> str:
        """A number written with a point, with the decimal mark of the language."""
        return number if self.language == ENGLISH else number.replace(".", ",")

    def because(self, link: Because) -> str:
        """The statement of a link."""
        return self.phrase(link.statement)


def in_order(name: str) -> str:
    """What a name is sorted by: its letters without accents, small."""
    plain = unicodedata.normalize("NFKD", name)
    return "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()


def _percent(share: float) -> str:
    """A share in percent: whole ones, below 5 % to a tenth."""
    percent = 100 * share
    return f"{percent:.0f}" if abs(percent) >= 5 else f"{percent:.2g}"


def _minus(value: float, places: int = 1) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"
    return ("0" if text in ("-0", "") else text).replace("-", "−")
