"""Units and quantities: one table, read from quantities.toml, and the arithmetic on it.

Inside the program every number is in the canonical unit of its quantity. People's units exist where a
value is typed (:func:`parse`) and where it is shown (:func:`convert`).
"""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from bearwell.errors import BadInput

_NUMBER_AND_UNIT = re.compile(r"^\s*([+\-−]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
# What follows the first number of "7 ft 3 in": a unit, a number, a unit.
_FURTHER = re.compile(r"^(\D+?),?\s*(\d+\.?\d*|\.\d+)\s*(\D+)$")


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit and how it turns into the canonical unit of its family."""

    name: str
    family: str
    factor: float
    offset: float


@dataclass(frozen=True, slots=True)
class Kind:
    """A quantity a user may type: canonical unit, meaning and what is plausible."""

    name: str
    unit: str
    meaning: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in a canonical unit, with its range when it has one."""

    value: float
    unit: str
    low: float | None = None
    high: float | None = None


@cache
def _table() -> tuple[dict[str, Unit], dict[str, Unit], dict[str, Kind]]:
    raw = tomllib.loads(files("bearwell").joinpath("quantities.toml").read_text("utf-8"))
    units: dict[str, Unit] = {}
    spellings: dict[str, Unit] = {}
    for name, row in raw["unit"].items():
        unit = Unit(name, row["family"], row.get("factor", 1.0), row.get("offset", 0.0))
        units[name] = unit
        for spelling in (name, *row.get("names", [])):
            spellings[spelling] = unit
    kinds = {name: Kind(name=name, **row) for name, row in raw["quantity"].items()}
    return units, spellings, kinds


def units() -> dict[str, Unit]:
    """Every unit by its canonical name."""
    return _table()[0]


def kinds() -> dict[str, Kind]:
    """Every quantity a user may type, by name."""
    return _table()[2]


def unit(name: str) -> Unit:
    """The unit behind a spelling; raises BadInput with the nearest names when there is none."""
    spellings = _table()[1]
    found = spellings.get(name) or spellings.get(name.lower())
    if found is None:
        near = get_close_matches(name, spellings, n=3, cutoff=0.5)
        raise BadInput(f"unknown unit '{name}'", f"did you mean {', '.join(near)}?" if near else "")
    return found


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Turn a value of one unit into another of the same family; raises BadInput when they do not match."""
    source, target = unit(from_unit), unit(to_unit)
    if source.family != target.family:
        raise BadInput(
            f"'{from_unit}' is a {source.family}, '{to_unit}' is a {target.family}",
            f"give a {target.family}",
        )
    return (value * source.factor + source.offset - target.offset) / target.factor


def canonical_of(name: str) -> str:
    """The canonical unit of the family a unit belongs to; BadInput for an unknown unit."""
    family = unit(name).family
    for row in units().values():
        if row.family == family and row.factor == 1.0 and row.offset == 0.0:
            return row.name
    return name


def spellings_of(family: str) -> list[str]:
    """The canonical unit names of a family, for hints."""
    return [name for name, row in units().items() if row.family == family]


def _read(number: float, name: str) -> tuple[float, Unit]:
    """A number in a unit; "7 ft 3 in" comes back in its first unit."""
    further = None if name in _table()[1] else _FURTHER.match(name)
    if further is None:
        return number, unit(name)
    first, second = unit(further[1].strip()), unit(further[3].strip())
    if first.family != second.family or second.factor >= first.factor or first.offset:
        raise BadInput(
            f"'{number:g} {name}' is not one measure", 'two units go together as in "7 ft 3 in"'
        )
    rest = float(further[2]) * second.factor / first.factor
    if rest >= 1:
        raise BadInput(
            f"'{number:g} {name}': {further[2]} {second.name} is a {first.name} or more",
            f"write it in one unit, such as {number + rest:.3g} {first.name}",
        )
    return (number - rest if math.copysign(1.0, number) < 0 else number + rest), first


def _read_in(number: float, name: str, family: str, examples: str) -> tuple[float, Unit]:
    """The same, where a unit of ``family`` is wanted: an unknown one is answered with its spellings."""
    try:
        return _read(number, name)
    except BadInput as error:
        if not error.message.startswith("unknown unit"):
            raise
        spelled = [key for key, row in _table()[1].items() if row.family == family]
        near = get_close_matches(name, spelled, n=3, cutoff=0.6)
        raise BadInput(
            error.message, f"did you mean {', '.join(near)}?" if near else f"such as {examples}"
        ) from None


def family_of(text: object) -> str:
    """The family of the unit of a typed measure; empty where there is no number with a known unit."""
    match = _NUMBER_AND_UNIT.match(text) if isinstance(text, str) else None
    if match is None or not match[2]:
        return ""
    try:
        return _read(float(match[1].replace("−", "-")), match[2])[1].family
    except BadInput:
        return ""


def parse(text: object, quantity: str, *, bare: bool = False) -> float:
    """Read a typed measure such as "2.1 m" or "7 ft 3 in" into the canonical unit of ``quantity``.

    With ``bare`` a plain number is taken in the canonical unit; otherwise it is refused.
    Raises BadInput, in words a grower can act on, for a missing or foreign unit, a decimal comma,
    or a value outside the plausible range.
    """
    kind = kinds()[quantity]
    family = unit(kind.unit).family
    examples = " or ".join(f'"2 {name}"' for name in spellings_of(family)[:3])
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise BadInput(
            f"{text!r} is not a measure", f"write a number with its unit, such as {examples}"
        )
    if isinstance(text, int | float):
        if not bare:
            raise BadInput(f"{text} has no unit", f"write it with its unit, such as {examples}")
        value = float(text)
    else:
        match = _NUMBER_AND_UNIT.match(text)
        if match is None or re.match(r"^,\d", match[2]):
            comma = (
                "use a point, not a comma, for decimals" if "," in text else f"such as {examples}"
            )
            raise BadInput(f"'{text}' is not a number with a unit", comma)
        number, name = float(match[1].replace("−", "-")), match[2]
        if not name:
            if not bare:
                raise BadInput(
                    f"'{text}' has no unit", f"write it with its unit, such as {examples}"
                )
            value = number
        else:
            number, given = _read_in(number, name, family, examples)
            if given.family == "temperature" and family == "temperature difference":
                given = unit("degF difference" if given.name == "degF" else "K")
            if given.family != family:
                raise BadInput(
                    f"'{text}' is a {given.family}, but this is a {family}", f"such as {examples}"
                )
            value = convert(number, given.name, kind.unit)
    if not math.isfinite(value) or not kind.low <= value <= kind.high:
        raise BadInput(
            f"{text} is not plausible for {kind.meaning}",
            f"between {kind.low:g} and {kind.high:g} {kind.unit} is expected",
        )
    return value
