"""What a reckoner is: named options with units, a calculation, and an answer that shows its reasons."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from bearwell.errors import BadInput
from bearwell.quantities import parse, plain_number
from bearwell.reasons import Because
from bearwell.said import said

Answer = tuple[dict[str, Any], tuple[Because, ...], tuple[str, ...]]


@dataclass(frozen=True)
class Option:
    """One option of a reckoner. ``read`` turns what was typed into a value in the unit shown."""

    name: str
    read: Callable[[str], Any]
    unit: str
    help: str
    required: bool = True
    multiple: bool = False

    @property
    def key(self) -> str:
        """The name as a Python word."""
        return self.name.replace("-", "_")


@dataclass(frozen=True)
class Reckoner:
    """A calculation by name."""

    name: str
    summary: str
    options: tuple[Option, ...]
    compute: Callable[[Mapping[str, Any]], Answer]
    fields: tuple[str, ...]
    example: str = ""


@dataclass(frozen=True)
class Reckoning:
    """One calculation done."""

    reckoner: str
    inputs: dict[str, Any]
    results: dict[str, Any]
    because: tuple[Because, ...]
    cautions: tuple[str, ...]


def measured(quantity: str) -> Callable[[str], float]:
    """A reader of "2 m" or of a bare number in the quantity's own unit."""
    return lambda text: parse(text, quantity, bare=True)


def number(low: float, high: float, what: str) -> Callable[[str], float]:
    """A reader of a plain number between bounds."""

    def read(text: str) -> float:
        try:
            value = plain_number(text)
        except ValueError:
            raise BadInput(
                said("'{text}' is not a number", text=text),
                said("{what}, from {low:g} to {high:g}", what=said(what), low=low, high=high),
            ) from None
        if not low <= value <= high:
            raise BadInput(
                said("{text} is out of range for {what}", text=text, what=said(what)),
                said("from {low:g} to {high:g}", low=low, high=high),
            )
        return value

    return read


def percentage(text: str) -> float:
    """A reader of a percentage, "30", "30 %" or "30%", between 0 and 100."""
    return number(0, 100, "a percentage")(text.replace("%", "").strip())


def day(text: str) -> date:
    """A reader of a date."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            said("'{text}' is not a date", text=text), "write it as 2026-04-14"
        ) from None


def month_day(text: str) -> tuple[int, int]:
    """A reader of a day of the year, month first."""
    try:
        when = date.fromisoformat(f"2024-{text}")
    except ValueError:
        raise BadInput(
            said("'{text}' is not a day of the year", text=text), "month-day, such as 11-01"
        ) from None
    return when.month, when.day


def humidity_percent(text: str) -> float:
    """A reader of a relative humidity in percent; a share such as 0.6 is taken for a slip."""
    value = percentage(text)
    if 0 < value <= 1:
        raise BadInput(
            said("{text} is drier than any air", text=text),
            said(
                "a percentage is meant: {percent:g}, not {share:g}",
                percent=100 * value,
                share=value,
            ),
        )
    return value


def parts_of(text: str) -> list[str]:
    """The places of a list: between semicolons where there are any, else between commas."""
    return [part.strip() for part in text.split(";" if ";" in text else ",")]


def numbers(text: str) -> list[float]:
    """A reader of numbers with commas between them, or semicolons: "12,30,8" or "12,5; 30; 8"."""
    values = [_number(part, text) for part in parts_of(text) if part]
    if not values:
        raise BadInput(said("'{text}' is not a list of numbers", text=text), _LIST)
    return values


def years(text: str) -> list[float]:
    """A reader of numbers year by year: an empty place, or a dash, is a year that is missing (NaN).

    Commas stand between them, or semicolons.
    """
    parts = parts_of(text)
    values = [math.nan if part in ("", "-", "–") else _number(part, text) for part in parts]
    if all(math.isnan(value) for value in values):
        raise BadInput(said("'{text}' is not a list of numbers", text=text), _LIST)
    return values


def measures(quantity: str) -> Callable[[str], list[float]]:
    """A reader of measures with commas between them; a unit at the end stands for all: "28,26 degF".

    Between semicolons their decimal mark can be a comma: "-2,5; -3 degC".
    """

    def read(text: str) -> list[float]:
        parts = [part for part in parts_of(text) if part]
        if not parts:
            raise BadInput(said("'{text}' is not a list of numbers", text=text), _LIST)
        for part in parts:
            if not any(letter.isdigit() for letter in part):
                raise BadInput(
                    said("'{text}' is not a number", text=part), "numbers with commas between them"
                )
        trailing = _UNIT.search(parts[-1])
        unit = trailing[0] if trailing else ""
        return [
            parse(part if _UNIT.search(part) or not unit else f"{part} {unit}", quantity, bare=True)
            for part in parts
        ]

    return read


_LIST = "such as 12,30,8,41"
_UNIT = re.compile(r"[^\d\s.,][^\d]*$")


def _number(part: str, text: str) -> float:
    try:
        value = plain_number(part)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(said("'{text}' is not a list of numbers", text=text), _LIST)
    return value


def existing_file(text: str) -> Path:
    """A reader of the path of a file that exists."""
    path = Path(text)
    if not path.is_file():
        raise BadInput(said("{path}: there is no such file", path=text), "give the path of a file")
    return path


def choice(*allowed: str) -> Callable[[str], str]:
    """A reader of one of a few words."""

    def read(text: str) -> str:
        if text.lower() not in allowed:
            raise BadInput(
                said("'{text}' is not known", text=text),
                said("one of {listed}", listed=", ".join(allowed)),
            )
        return text.lower()

    return read
