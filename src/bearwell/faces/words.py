"""Turns phrases, quantities and dates into what the grower reads, in the garden's units.

This is the only place where canonical units become people's units.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from bearwell.api import Advice
from bearwell.quantities import Quantity, convert
from bearwell.reasons import Because, Phrase, Value

System = Literal["metric", "us"]

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

# How canonical units are written where they are not written as they are.
_METRIC = {
    "degC": "°C",
    "K": "°C",
    "m2": "m²",
    "m3": "m³",
    "cm2": "cm²",
    "mm d-1": "mm a day",
    "L d-1": "L a day",
    "d": "days",
    "h": "hours",
    "degC d": "°C days",
    "degC h": "°C hours",
    "g m-2": "g a square metre",
    "g/m": "g a metre",
    "g/L": "g a litre",
    "L/m3": "L a cubic metre",
    "kg m-3": "kg a cubic metre",
    "fruit cm-2": "fruit a cm²",
    "fruit cm-1": "fruit a cm",
    "yr": "years",
    "CP": "chill portions",
    "count yr-1": "times a year",
    "g/kg": "g a kg",
    "leaves/fruit": "leaves a fruit",
    "m3/m3": "by volume",
    "MJ m-2 d-1": "MJ/m² a day",
    "L/h": "L an hour",
    "m s-1": "m/s",
    "W m-2": "W/m²",
    "W m-2 K-1": "W/m² a degree",
}
# What a grower used to US units reads instead: the unit to turn into, and how it is written.
_US = {
    "kg": ("lb", "lb"),
    "m": ("ft", "ft"),
    "m2": ("ft2", "sq ft"),
    "m3": ("ft3", "cu ft"),
    "cm2": ("in2", "sq in"),
    "L": ("gal", "gal"),
    "degC": ("degF", "°F"),
    "K": ("degF difference", "°F"),
    "L d-1": ("gal/d", "gal a day"),
    "L/h": ("gal/h", "gal an hour"),
    "degC d": ("degF d", "°F days"),
    "degC h": ("degF h", "°F hours"),
    "g m-2": ("lb/1000ft2", "lb on 1000 sq ft"),
    "g/m": ("oz/in", "oz an inch"),
    "g/L": ("oz/gal", "oz a gallon"),
    "L/m3": ("gal/1000ft3", "gal on 1000 cu ft"),
    "g/kg": ("lb/ton", "lb a ton"),
    "kg m-3": ("lb/ft3", "lb a cubic foot"),
    "fruit cm-2": ("fruit in-2", "fruit a sq in"),
    "fruit cm-1": ("fruit in-1", "fruit an inch"),
    "m s-1": ("mph", "mph"),
}
_ONE = {"d": "1 day", "yr": "1 year", "h": "1 hour"}

# A unit that says "a day" in a sentence that says it too.
_TWICE = re.compile(r"\b(a day|a year|days?|hours?|years?) (?=\1\b)")
_INCHES_BELOW = 0.6  # m, two feet
_FAR = 180  # days from which a date is told with its year

CONFIDENCE_WORDS = {
    "read": "read in the source",
    "secondhand": "quoted from the source by another",
    "memory": "from memory, not checked again",
    "judgement": "our judgement",
    "computed": "worked out",
}

JOB_WORDS = {
    "feed": "Feed",
    "prune": "Cut",
    "thin": "Thin",
    "water": "Water",
    "protect": "Protect",
    "harvest": "Pick",
    "inspect": "Look",
    "measure": "Measure",
}

STANDING_WORDS = {
    "due": "open now",
    "coming": "opens soon",
    "later": "later",
    "blocked": "held back",
    "missed": "window closed",
}


SECTION_WORDS = {
    "protect": ("Protect", "Cold comes first: everything else can wait a day."),
    "closing": ("Closes in these days", "Their time runs out within these days."),
    "now": ("Best done now", "Open longer, but these are their best days."),
    "open": ("Open, no hurry", "Can be begun; their best days come later."),
    "round": ("Looking round", "A walk with open eyes, and what to measure on the way."),
    "blocked": ("Held back", "Would be done, but something stands against it."),
    "missed": ("Window closed", "Not seen as done in time. Mostly best left until its next turn."),
}


@dataclass(frozen=True)
class Words:
    """A way of writing numbers and dates: the unit system, and today for near dates."""

    units: System = "metric"
    today: date | None = None

    def phrase(self, phrase: Phrase | None) -> str:
        """A phrase as a sentence."""
        if phrase is None:
            return ""
        if not phrase.values:
            return phrase.text
        shown = {key: self.value(value) for key, value in phrase.values.items()}
        return _TWICE.sub("", phrase.text.format(**shown))

    def value(self, value: Value) -> str:
        """Any value that a phrase may hold."""
        if isinstance(value, Quantity):
            return self.quantity(value)
        if isinstance(value, date):
            return self.day(value)
        return str(value)

    def day(self, day: date) -> str:
        """A date as people say it: 14 April, or 14 April 2027 when the year is not plain."""
        return self._plain_day(day) if self._near(day) else self._dated(day)

    def _near(self, day: date) -> bool:
        return self.today is not None and abs((day - self.today).days) < _FAR

    def _plain_day(self, day: date) -> str:
        month = _MONTHS[day.month - 1]
        return f"{month} {day.day}" if self.units == "us" else f"{day.day} {month}"

    def _dated(self, day: date) -> str:
        return f"{self._plain_day(day)}{',' if self.units == 'us' else ''} {day.year}"

    def short_day(self, day: date) -> str:
        """A date in a narrow column: 14 Apr."""
        month = _MONTHS[day.month - 1][:3]
        return f"{month} {day.day}" if self.units == "us" else f"{day.day} {month}"

    def span(self, first: date, last: date) -> str:
        """Two dates as a span: 10 – 24 October, 25 November – 9 December, with years where not plain."""
        if first == last:
            return self.day(first)
        near = self._near(first) and self._near(last)
        if (first.year, first.month) == (last.year, last.month):
            if self.units == "us":
                year = "" if near else f", {last.year}"
                return f"{self._plain_day(first)} – {last.day}{year}"
            return f"{first.day} – {self._plain_day(last) if near else self._dated(last)}"
        dated = not near and first.year != last.year
        begin = self._dated(first) if dated else self._plain_day(first)
        return f"{begin} – {self._plain_day(last) if near else self._dated(last)}"

    def window(self, advice: Advice) -> str:
        """When: by when, and the best day while it lies ahead."""
        window = advice.window
        if advice.standing == "missed":
            return f"closed on {self.day(window.latest)}; best was {self.day(window.best)}"
        if self.today is not None and window.best <= self.today:
            return f"now, by {self.day(window.latest)}"
        begin = f"from {self.day(window.earliest)}, " if advice.standing == "coming" else ""
        return f"{begin}best {self.day(window.best)}, by {self.day(window.latest)}"

    def away(self, day: date) -> str:
        """How far a date is from today: today, tomorrow, in 5 days, 3 days ago; empty without a today."""
        if self.today is None:
            return ""
        days = (day - self.today).days
        near = {-1: "yesterday", 0: "today", 1: "tomorrow"}
        return near.get(days) or (f"in {days} days" if days > 0 else f"{-days} days ago")

    def time(self, minutes: float) -> str:
        """A length of work: 25 min, 1 h, 2 h 10 min; hours are rounded to ten minutes."""
        if minutes <= 0:
            return "no work"
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
                return f"{text} ({low} to {f'{high} {high_unit}'.strip()})"
        return text

    def _one(self, value: float, unit: str) -> tuple[str, str]:
        """A figure and its unit, as written."""
        if unit == "count":
            return self._thousands(value), ""
        if unit == "1":
            return (_percent(value), "%") if 0 < abs(value) < 1 else (f"{value:.2g}", "")
        if unit == "m3/m3":
            return _percent(value), f"% {_METRIC[unit]}"
        if unit in _ONE and self._neat(value) == "1":
            number, word = _ONE[unit].split()
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
            return _minus(value), _METRIC[unit]
        return self._neat(value), _METRIC.get(unit, unit)

    def _us(self, value: float, unit: str) -> tuple[str, str]:
        if unit == "m" and abs(value) < _INCHES_BELOW:
            return self._neat(convert(value, "m", "in")), "in"
        if unit == "L" and abs(convert(value, "L", "gal")) < 1:
            return self._neat(4 * convert(value, "L", "gal")), "qt"
        if unit in ("mm", "mm d-1"):
            return f"{convert(value, 'mm', 'in'):.2f}", "in a day" if unit == "mm d-1" else "in"
        if unit not in _US:
            return self._metric(value, unit)
        other, written = _US[unit]
        turned = convert(value, unit, other)
        if unit in ("degC", "K"):
            return _minus(turned, 0 if unit == "degC" else 1), written
        return self._neat(turned), written

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
        return text.replace("-", "−")

    def _thousands(self, value: float) -> str:
        text = f"{value:,.0f}".replace("-", "−")
        return text if self.units == "us" else text.replace(",", " ")

    def because(self, link: Because) -> str:
        """The statement of a link."""
        return self.phrase(link.statement)


def _percent(share: float) -> str:
    """A share in percent: whole ones, below 5 % to a tenth."""
    percent = 100 * share
    return f"{percent:.0f}" if abs(percent) >= 5 else f"{percent:.2g}"


def _minus(value: float, places: int = 1) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"
    return ("0" if text in ("-0", "") else text).replace("-", "−")
