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
from bearwell.said import listed, said

# A number with marks in it, such as 3,5 or 1.500,25.
_MARKED = re.compile(r"\d+(?:[.,]\d+)+")
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


class UnknownUnit(BadInput):
    """A unit that stands in no table."""


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
        hint = said("did you mean {listed}?", listed=", ".join(near)) if near else ""
        raise UnknownUnit(said("unknown unit '{name}'", name=name), hint)
    return found


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Turn a value of one unit into another of the same family; raises BadInput when they do not match."""
    source, target = unit(from_unit), unit(to_unit)
    if source.family != target.family:
        raise BadInput(
            said(
                "'{given}' is a {family}, '{wanted}' is a {other}",
                given=from_unit,
                family=said(source.family),
                wanted=to_unit,
                other=said(target.family),
            ),
            said("give a {family}", family=said(target.family)),
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


@cache
def _examples(family: str) -> str:
    return listed((f'"2 {name}"' for name in spellings_of(family)[:3]), "{one} or {other}")


def _such(family: str) -> str:
    return said("such as {examples}", examples=_examples(family))


def _no_unit(message: str, family: str) -> BadInput:
    examples = _examples(family)
    return BadInput(message, said("write it with its unit, such as {examples}", examples=examples))


def _read(number: float, name: str) -> tuple[float, Unit]:
    """A number in a unit; "7 ft 3 in" comes back in its first unit."""
    further = None if name in _table()[1] else _FURTHER.match(name)
    if further is None:
        return number, unit(name)
    first, second = unit(further[1].strip()), unit(further[3].strip())
    if first.family != second.family or second.factor >= first.factor or first.offset:
        raise BadInput(
            said("'{number:g} {unit}' is not one measure", number=number, unit=name),
            'two units go together as in "7 ft 3 in"',
        )
    rest = float(further[2]) * second.factor / first.factor
    if rest >= 1:
        raise BadInput(
            said(
                "'{number:g} {unit}': {rest} {smaller} is a {larger} or more",
                number=number,
                unit=name,
                rest=further[2],
                smaller=second.name,
                larger=first.name,
            ),
            said(
                "write it in one unit, such as {number:.3g} {unit}",
                number=number + rest,
                unit=first.name,
            ),
        )
    return (number - rest if math.copysign(1.0, number) < 0 else number + rest), first


def _read_in(number: float, name: str, family: str) -> tuple[float, Unit]:
    """The same, where a unit of ``family`` is wanted: an unknown one is answered with its spellings."""
    try:
        return _read(number, name)
    except UnknownUnit as error:
        spelled = [key for key, row in _table()[1].items() if row.family == family]
        near = get_close_matches(name, spelled, n=3, cutoff=0.6)
        hint = said("did you mean {listed}?", listed=", ".join(near)) if near else _such(family)
        raise BadInput(error.message, hint) from None


def family_of(text: object) -> str:
    """The family of the unit of a typed measure; empty where there is no number with a known unit."""
    try:
        match = _NUMBER_AND_UNIT.match(pointed(text)) if isinstance(text, str) else None
        if match is None or not match[2]:
            return ""
        return _read(float(match[1].replace("−", "-")), match[2])[1].family
    except BadInput:
        return ""


def pointed(text: str) -> str:
    """A typed text with a decimal point in its numbers, where they were written with a decimal comma.

    "3,5 kg" is 3.5 kg. Raises BadInput where a comma can also set thousands apart, as in "1,500 g",
    and where a number holds several marks; "0,500" can be nothing but a half.
    """
    return _MARKED.sub(_pointed, text)


def _pointed(found: re.Match[str]) -> str:
    number = found[0]
    if "," not in number:
        return number
    whole, *parts = re.split("[.,]", number)
    if len(parts) > 1:
        if "." in number:
            message = said("'{number}' has both a point and a comma", number=number)
            plain = "".join((whole, *parts[:-1])) + "." + parts[-1]
        else:
            message = said("'{number}' has more than one comma", number=number)
            plain = "".join((whole, *parts))
        raise BadInput(message, said("write {number}", number=plain))
    if len(parts[0]) == 3 and whole != "0":
        shorter = f"{whole}.{parts[0]}".rstrip("0").rstrip(".")
        raise BadInput(
            said("'{number}' can be read in two ways", number=number),
            said("write {one} or {other}", one=whole + parts[0], other=shorter),
        )
    return f"{whole}.{parts[0]}"


def plain_number(text: str) -> float:
    """A typed number without a unit, with a decimal point or comma; raises ValueError where it is none.

    Raises BadInput where a comma can be read in two ways (:func:`pointed`).
    """
    return float(pointed(text).replace("−", "-"))


def parse(text: object, quantity: str, *, bare: bool = False) -> float:
    """Read a typed measure such as "2.1 m" or "7 ft 3 in" into the canonical unit of ``quantity``.

    With ``bare`` a plain number is taken in the canonical unit; otherwise it is refused.
    A decimal comma is read where it can be nothing else (:func:`pointed`). Raises BadInput, in words a
    grower can act on, for a missing or foreign unit, a comma that can be read in two ways, or a value
    outside the plausible range.
    """
    kind = kinds()[quantity]
    family = unit(kind.unit).family
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise BadInput(
            said("{given!r} is not a measure", given=text),
            said("write a number with its unit, such as {examples}", examples=_examples(family)),
        )
    if isinstance(text, int | float):
        if not bare:
            raise _no_unit(said("{given} has no unit", given=text), family)
        value = float(text)
    else:
        match = _NUMBER_AND_UNIT.match(pointed(text))
        if match is None:
            raise BadInput(said("'{given}' is not a number with a unit", given=text), _such(family))
        number, name = float(match[1].replace("−", "-")), match[2]
        if not name:
            if not bare:
                raise _no_unit(said("'{given}' has no unit", given=text), family)
            value = number
        else:
            number, given = _read_in(number, name, family)
            if given.family == "temperature" and family == "temperature difference":
                given = unit("degF difference" if given.name == "degF" else "K")
            if given.family != family:
                raise BadInput(
                    said(
                        "'{given}' is a {family}, but this is a {wanted}",
                        given=text,
                        family=said(given.family),
                        wanted=said(family),
                    ),
                    _such(family),
                )
            value = convert(number, given.name, kind.unit)
    if not math.isfinite(value) or not kind.low <= value <= kind.high:
        raise BadInput(
            said("{given} is not plausible for {what}", given=text, what=said(kind.meaning)),
            said(
                "between {low:g} and {high:g} {unit} is expected",
                low=kind.low,
                high=kind.high,
                unit=kind.unit,
            ),
        )
    return value
