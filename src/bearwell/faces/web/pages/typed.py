"""Measures typed into a form: a bare number is taken in the unit that the page showed beside the field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from bearwell.faces.language import in_one_way

Form = Mapping[str, Sequence[str]]

# What is typed, with the unit shown for it and an example: metric, then US.
SHOWN: Final[dict[str, tuple[tuple[str, str], tuple[str, str]]]] = {
    "height": (("m", "2.1"), ("ft", "7")),
    "spread": (("m", "2.2, 2.0"), ("ft", "7, 6.5")),
    "skirt": (("m", "0.4"), ("ft", "1.3")),
    "trunk_girth": (("cm", "18"), ("in", "7")),
    "shoot_growth": (("cm", "28"), ("in", "11")),
    "elevation": (("m", "35"), ("ft", "115")),
    "crop": (("kg", "4.5"), ("lb", "10")),
    "feed": (("g", "150"), ("oz", "5")),
    "water": (("L", "20"), ("gal", "5")),
    "air": (("degC", "-1.5"), ("degF", "29")),
}
# What the amount of a job is; of the others it has a unit of its own or none.
AMOUNTS: Final = {"feed": "feed", "water": "water", "harvest": "crop"}
WRITTEN: Final = {"degC": "°C", "degF": "°F"}
_BARE: Final = re.compile(r"[+\-−]?(?:\d+[.,]?\d*|[.,]\d+)")
# What stands between two measures: a semicolon, a cross, or a comma that marks no decimals.
_BETWEEN: Final = re.compile(r"\s*(?:;|×|(?<=[\d\s])x(?=[\d\s])|(?<=[^\d\s]),|,(?=\s))\s*")
_POINTS: Final = re.compile(r"(\d+\.\d+),(\d+\.\d+)")


def shown_unit(what: str, units: str) -> str:
    """The unit in which a page of these units ("metric" or "us") asks for something."""
    return SHOWN[what][units == "us"][0]


def written_unit(what: str, units: str) -> str:
    """The same as it is written beside a field."""
    unit = shown_unit(what, units)
    return WRITTEN.get(unit, unit)


def example(what: str, units: str) -> str:
    """An example of a number in that unit."""
    return SHOWN[what][units == "us"][1]


def with_unit(text: str, unit: str) -> str:
    """A measure as typed, with the unit where it is a bare number.

    Raises BadInput where it can be read in two ways (:func:`bearwell.faces.language.in_one_way`).
    """
    return f"{in_one_way(text)} {unit}" if _BARE.fullmatch(text) else in_one_way(text)


def several(text: str) -> list[str]:
    """The measures of a text: "2.2, 2.0", "2,2; 2,0" and "2.2 m x 2 m" are two, "2,2 m" is one."""
    if points := _POINTS.fullmatch(text.strip()):
        return [points[1], points[2]]
    return [part for part in _BETWEEN.split(text.strip()) if part]


def as_shown(text: str, what: str, form: Form) -> str:
    """A measure as typed, a bare number in the unit that the page of this form showed.

    The form says in which units its page was, as the garden may have changed them since. One that does not
    say was made by no page of ours, and a bare number stays bare.
    """
    said = form.get("units", ())
    return with_unit(text, shown_unit(what, said[-1])) if said and said[-1] else in_one_way(text)


def amount_as_shown(text: str, job: str, form: Form) -> str:
    """The same of the amount of a job."""
    return as_shown(text, AMOUNTS[job], form) if job in AMOUNTS else in_one_way(text)
