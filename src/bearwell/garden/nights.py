"""Reads a grower's record of clear calm nights: t0, td and tmin, one night a line."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden.cold import Night
from bearwell.quantities import convert
from bearwell.said import listed, said

COLUMNS: Final = ("t0", "td", "tmin")
_HEAD: Final = re.compile(
    r"^(date|t0|td|tmin)[\s_(\[]*(?:deg|°)?\s*(c|f|celsius|fahrenheit)?[)\]]*$"
)
_HINT: Final = "a first line such as date,t0,td,tmin; in Fahrenheit head it t0_f,td_f,tmin_f"


def read_nights(path: Path, content: bytes | None = None) -> tuple[Night, ...]:
    """The nights of a CSV file, in order; raises BadFile with every bad line, BadInput for no file.

    Columns are found by their heads: ``t0`` and ``td`` two hours after sunset, ``tmin`` after it, ``date``
    if it is there; each in Celsius unless its head says otherwise (``t0_f`` or ``t0 [degF]``). ``content`` is
    what the file holds, where it is kept elsewhere.
    """
    try:
        text = (path.read_bytes() if content is None else content).decode("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(
            said("{path}: there is no such file", path=path), "a CSV file of t0,td,tmin"
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            said("{path}: cannot be read as text: {error}", path=path, error=error),
            "save it as UTF-8 CSV",
        ) from None
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise BadFile([Problem(str(path), "the file is empty", _HINT)])
    units, places = _head(path, *lines[0])
    separator = _separator(lines[0][1])
    nights: list[Night] = []
    problems: list[Problem] = []
    for number, line in lines[1:]:
        cells = next(csv.reader([line], delimiter=separator))
        night = _night(cells, units, places, separator)
        if isinstance(night, str):
            problems.append(Problem(str(path), night, "mend or remove the line", number))
        else:
            nights.append(night)
    if not nights and not problems:
        problems.append(Problem(str(path), "there is no night below the first line", _HINT))
    if problems:
        raise BadFile(problems)
    return tuple(nights)


def _separator(line: str) -> str:
    return next((mark for mark in ("\t", ";") if mark in line), ",")


def _head(path: Path, number: int, line: str) -> tuple[Mapping[str, str], Mapping[str, int]]:
    """Unit and place of each column; BadFile where a column is missing or in no unit we know."""
    units: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, cell in enumerate(next(csv.reader([line], delimiter=_separator(line)))):
        match = _HEAD.match(cell.strip().lower())
        if match:
            units[match[1]] = "degF" if (match[2] or "c").startswith("f") else "degC"
            places[match[1]] = place
    missing = [name for name in COLUMNS if name not in places]
    if missing:
        message: str = said(
            "no column {listed} in '{line}'",
            listed=listed(missing, "{one} or {other}"),
            line=line.strip(),
        )
        raise BadFile([Problem(str(path), message, _HINT, number)])
    if len({units[name] for name in COLUMNS}) > 1:
        message = "t0, td and tmin are in different units"
        raise BadFile([Problem(str(path), message, "all in Celsius or all in Fahrenheit", number)])
    return units, places


def _night(
    cells: list[str], units: Mapping[str, str], places: Mapping[str, int], separator: str
) -> Night | str:
    """One night, or what is wrong with its line."""
    values: dict[str, str] = {}
    for name in COLUMNS:
        cell = cells[places[name]].strip() if places[name] < len(cells) else ""
        if separator != ",":
            cell = cell.replace(",", ".")
        try:
            number = float(cell.replace("−", "-"))
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            return (
                said("{name} is '{cell}', which is no number", name=name, cell=cell)
                if cell
                else said("{name} is missing", name=name)
            )
        values[name] = f"{convert(number, units[name], 'degC')!r} degC"
    when = cells[places["date"]].strip() if "date" in places and places["date"] < len(cells) else ""
    try:
        return Night.model_validate({"date": date.fromisoformat(when) if when else None, **values})
    except ValidationError as error:
        first = error.errors()[0]
        return str(first.get("ctx", {}).get("message", first["msg"]))
    except ValueError:
        return said("'{text}' is not a date", text=when)
