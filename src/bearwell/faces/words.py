"""Turns phrases, quantities and dates into what the grower reads, in the garden's units.

This is the only place where canonical units become people's units.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from bearwell.plan.advice import Advice
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

_US = {
    "g": "oz",
    "kg": "lb",
    "m": "ft",
    "m2": "ft2",
    "m3": "ft3",
    "cm2": "in2",
    "L": "gal",
    "mm": "in",
    "degC": "degF",
    "K": "degF difference",
    "mm d-1": "in",
    "L d-1": "gal/d",
}

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
        return phrase.text.format(
            **{key: self.value(value) for key, value in phrase.values.items()}
        )

    def value(self, value: Value) -> str:
        """Any value that a phrase may hold."""
        if isinstance(value, Quantity):
            return self.quantity(value)
        if isinstance(value, date):
            return self.day(value)
        return str(value)

    def day(self, day: date) -> str:
        """A date as people say it: 14 April, or 14 April 2027 when the year is not plain."""
        plain = f"{day.day} {_MONTHS[day.month - 1]}"
        if self.units == "us":
            plain = f"{_MONTHS[day.month - 1]} {day.day}"
        near = self.today is not None and abs((day - self.today).days) < 180
        return plain if near else f"{plain}{',' if self.units == 'us' else ''} {day.year}"

    def short_day(self, day: date) -> str:
        """A date in a narrow column: 14 Apr."""
        month = _MONTHS[day.month - 1][:3]
        return f"{month} {day.day}" if self.units == "us" else f"{day.day} {month}"

    def span(self, first: date, last: date) -> str:
        """Two dates as a span."""
        if first == last:
            return self.day(first)
        return f"{self.short_day(first)} – {self.day(last)}"

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
        hours, rest = divmod(round(minutes) if minutes < 90 else 10 * round(minutes / 10), 60)
        parts = [f"{hours} h"] if hours else []
        return " ".join([*parts, f"{rest} min"] if rest or not hours else parts)

    def quantity(self, quantity: Quantity, *, with_range: bool = False) -> str:
        """A quantity in the garden's units, rounded as people would say it."""
        text = self._one(quantity.value, quantity.unit)
        if with_range and quantity.low is not None and quantity.high is not None:
            low, high = (
                self._one(quantity.low, quantity.unit),
                self._one(quantity.high, quantity.unit),
            )
            if low != high:
                unit = text.split(" ", 1)[1] if " " in text else ""
                if unit and low.endswith(unit) and high.endswith(unit):
                    low = low[: -len(unit)].strip()
                return f"{text} ({low} to {high})"
        return text

    def _one(self, value: float, unit: str) -> str:
        if unit == "count":
            return f"{value:,.0f}".replace(",", " ")
        if unit == "1":
            return f"{100 * value:.0f} %" if 0 < abs(value) < 1 else f"{value:.2g}"
        if unit == "g":
            return self._mass(value)
        if self.units == "us" and unit in _US:
            return self._us(value, unit)
        return self._metric(value, unit)

    def _mass(self, grams: float) -> str:
        if self.units == "us":
            ounces = convert(grams, "g", "oz")
            return f"{_neat(ounces / 16)} lb" if ounces >= 16 else f"{_neat(ounces)} oz"
        return f"{_neat(grams / 1000)} kg" if abs(grams) >= 1000 else f"{_neat(grams)} g"

    def _metric(self, value: float, unit: str) -> str:
        if unit == "m" and abs(value) < 1:
            return f"{_neat(100 * value)} cm"
        named = {
            "degC": "°C",
            "K": "°C",
            "m2": "m²",
            "m3": "m³",
            "cm2": "cm²",
            "mm d-1": "mm a day",
            "L d-1": "L a day",
            "d": "days",
            "degC d": "°C days",
            "kg m-3": "kg a cubic metre",
            "fruit cm-2": "fruit a cm²",
            "fruit cm-1": "fruit a cm",
            "yr": "years",
            "CP": "chill portions",
            "count yr-1": "times a year",
            "degC h": "°C hours",
            "g/kg": "g a kg",
            "leaves/fruit": "leaves a fruit",
            "m3/m3": "by volume",
            "MJ m-2 d-1": "MJ/m² a day",
            "m s-1": "m/s",
        }
        if unit in ("degC", "K"):
            return f"{_minus(value)} {named[unit]}"
        if unit == "m3/m3":
            return f"{100 * value:.0f} % {named[unit]}"
        if unit == "kg":
            return f"{_neat(value)} kg"
        if unit in ("d", "yr") and _neat(value) == "1":
            return "1 day" if unit == "d" else "1 year"
        return f"{_neat(value)} {named.get(unit, unit)}"

    def _us(self, value: float, unit: str) -> str:
        if unit == "cm2":
            return f"{_neat(value / 6.4516)} sq in"
        if unit == "m" and value < 0.6:
            return f"{_neat(convert(value, 'm', 'in'))} in"
        if unit == "L" and value < 3.7854:
            return f"{_neat(value * 1.056688)} qt"
        if unit in ("mm", "mm d-1"):
            return f"{value / 25.4:.2f} in" + (" a day" if unit == "mm d-1" else "")
        turned = convert(value, unit, _US[unit])
        named = {
            "degC": "°F",
            "K": "°F",
            "m": "ft",
            "m2": "sq ft",
            "m3": "cu ft",
            "L": "gal",
            "L d-1": "gal a day",
            "kg": "lb",
        }
        text = (
            _minus(turned, 0 if unit == "degC" else 1) if unit in ("degC", "K") else _neat(turned)
        )
        return f"{text} {named[unit]}"

    def because(self, link: Because) -> str:
        """The statement of a link."""
        return self.phrase(link.statement)


def _neat(value: float) -> str:
    """Two or three figures, no needless zeros, thin spaces in thousands."""
    size = abs(value)
    if size >= 100:
        text = f"{value:,.0f}".replace(",", " ")
    elif size >= 10:
        text = f"{value:.1f}" if abs(value - round(value)) >= 0.05 and size < 20 else f"{value:.0f}"
    elif size >= 1:
        text = f"{value:.1f}"
    elif size >= 0.1:
        text = f"{value:.2f}"
    else:
        text = f"{value:.2g}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")


def _minus(value: float, places: int = 1) -> str:
    text = f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"
    return ("0" if text in ("-0", "") else text).replace("-", "−")
