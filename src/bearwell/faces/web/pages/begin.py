"""The first minutes: what the forms of a new garden say."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from bearwell import api
from bearwell.api import Knowledge
from bearwell.errors import BadInput
from bearwell.faces.language import ENGLISH, say, spoken
from bearwell.faces.web.pages.record import one, stamp_of, whole
from bearwell.faces.web.pages.typed import Form, as_shown, shown_unit
from bearwell.said import said

if TYPE_CHECKING:
    from bearwell.api import Recorded, Store

PLACES = 3  # decimals of a degree that are kept: about a hundred metres
_PART = re.compile(r"([+-]?\d{1,3}(?:\.\d+)?)\s*°?\s*([NSEWO]?)", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_COORDINATES = re.compile(rf"\s*{_PART.pattern}\s*[,;\s]\s*{_PART.pattern}\s*", re.IGNORECASE)
_HINT = "latitude, then longitude, in degrees: 41.69, -8.83 or 41.69 N 8.83 W"


def coordinates(text: str) -> tuple[float, float]:
    """Latitude and longitude from what was typed or pasted, in degrees; BadInput where it is none."""
    # Degrees with decimal commas leave no other comma without a space: 41,69 -8,83.
    found = _COORDINATES.fullmatch(text) or _COORDINATES.fullmatch(_DECIMAL_COMMA.sub(".", text))
    if found is None:
        if not text.strip():
            raise BadInput("no place was named", _HINT)
        raise BadInput(said("'{text}' is not a place on the map", text=text.strip()), _HINT)
    first, north, second, east = found.groups()
    latitude, longitude = _turned(first, north, "NS"), _turned(second, east, "EW")
    if abs(latitude) > 90 or abs(longitude) > 180:
        raise BadInput(said("'{text}' lies on no map", text=text.strip()), _HINT)
    return round(latitude, PLACES), round(longitude, PLACES)


def _turned(number: str, letter: str, known: str) -> float:
    """A number of degrees with its letter taken in."""
    value = float(number)
    if not letter:
        return value
    if letter.upper() == "O" and spoken.get() != ENGLISH:  # oeste, west
        letter = "W"
    if letter.upper() not in known or value < 0:
        raise BadInput(said("'{text}' cannot be read as degrees", text=f"{number} {letter}"), _HINT)
    return -value if letter.upper() == known[1] else value


def begin(store: Store, form: Form, at: datetime, today: date) -> Recorded:
    """Begin the garden that the form describes."""
    latitude, longitude = coordinates(one(form, "place"))
    units = one(form, "units") or "metric"
    degrees, depth = shown_unit("air", units), "in" if units == "us" else "mm"
    normals = {
        key: months_with_unit(one(form, key), unit)
        for key, unit in (("tmin", degrees), ("tmax", degrees), ("rain", depth))
    }
    return api.begin_garden(
        store, stamp_of(form, at), today,
        name=one(form, "name"), latitude=latitude, longitude=longitude,
        elevation=as_shown(one(form, "elevation"), "elevation", form), timezone=one(form, "timezone"),
        units=units, normals=normals,
    )  # fmt: skip


def months_with_unit(text: str, unit: str) -> str:
    """Twelve numbers as typed, with the unit of the garden where none was.

    A comma parts them, or marks their decimals where spaces or semicolons part them: "6,5 7 8,1".
    """
    parted = re.search(r"\d[\s;]+[-−]?\d", text) and not re.search(r",\s", text)
    decimals = re.sub(r"(?<=\d),(?=\d)", ".", text) if parted else text
    plain = " ".join(re.sub(r"[,;]", " ", decimals).split())
    return f"{plain} {unit}" if plain and plain[-1].isdigit() else plain


def plant(store: Store, form: Form, at: datetime, today: date) -> Recorded:
    """Record the trees that the form describes."""
    number, year = whole(form, "number"), whole(form, "year")
    litres = one(form, "pot")
    return api.plant_trees(
        store, stamp_of(form, at), today,
        kind=_kind(one(form, "kind")), number=1 if number is None else number, name=one(form, "name"),
        year=year, in_pot=one(form, "stands") == "pot",
        pot=f"{litres} L" if re.fullmatch(r"\d+([.,]\d+)?", litres) else litres,
        measures={key: as_shown(one(form, key), key, form) for key in ("height", "spread", "trunk_girth")},
        wording=say,
    )  # fmt: skip


def _kind(text: str) -> str:
    """A kind as it was typed: the key of the one that has this name in the language spoken, else the text."""
    if not text:
        raise BadInput("no kind of tree was chosen", "type the first letters of it")
    if spoken.get() != ENGLISH:
        wanted = text.casefold()
        for kind in api.knowledge().species.values():
            if not kind.abstract and say(kind.name).casefold() == wanted:
                return kind.key
    return text


def kinds(book: Knowledge) -> list[str]:
    """The names of all kinds, in order, each of which finds its kind again."""
    return sorted(say(kind.name) for kind in book.species.values() if not kind.abstract)


def shown(book: Knowledge, form: Form | None) -> dict[str, Any]:
    """What both pages show: the kinds, and what was typed where a form is shown again."""
    return {"kinds": kinds(book), "value": lambda key: one(form, key) if form is not None else ""}
