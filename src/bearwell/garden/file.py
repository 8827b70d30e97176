"""Reads a garden file: every problem at once, each with its line and a hint."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden import cold, counts, model, values
from bearwell.garden.checks import Checks, with_keys
from bearwell.garden.lines import Place, line_map, line_of, titled
from bearwell.garden.model import Garden
from bearwell.garden.nights import read_nights
from bearwell.garden.pruning import CutMore, Pruning
from bearwell.garden.sizes import doubtful_sizes
from bearwell.garden.water import Drip, NoWatering, Watering
from bearwell.knowledge import Knowledge, extend
from bearwell.said import listed, said

_TABLES: dict[str, type[values.Model]] = {
    "garden": model.About,
    "site": model.Site,
    "weather": model.Weather,
    "no_feeding": model.NoFeeding,
    "shelter": model.Shelter,
    "product": model.Product,
    "tree": model.Tree,
    "done": model.Done,
    "harvests": counts.Harvest,
    "observed": model.Observed,
    "counts": counts.Count,
    "grows_in": model.Container,
    "place": model.Where,
    "soil_test": model.SoilTest,
    "normals": model.Normals,
    "feeding": model.Feeding,
    "pruning": Pruning,
    "cut_more": CutMore,
    "leaf_tests": model.LeafTest,
    "drip": Drip,
    "watering": Watering,
    "no_watering": NoWatering,
    "cold": cold.Cold,
    "nights": cold.Night,
    "evenings": cold.Evening,
    "lowest": cold.Lowest,
}
# Complaints of pydantic about the type of a value, in a grower's words.
_WANTED = {
    "string_type": "words in quotes",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "tuple_type": "a list in [ ]",
    "model_type": "a table of keys",
    "model_attributes_type": "a table of keys",
}
_DEGREES = "degrees with a point, north and east of zero positive: 35 N is 35.0, 35 S is -35.0"
_BOUNDS = {
    "latitude": "-90 to 90",
    "longitude": "-180 to 180",
    "probability": "above 0, at most 1",
}


@dataclass(frozen=True)
class GardenFile:
    """A garden read from a file, the knowledge it extends, and what was doubtful or filled in."""

    path: Path
    garden: Garden
    knowledge: Knowledge
    problems: tuple[Problem, ...]
    places: dict[Place, int] = field(default_factory=dict, repr=False)
    name: str = ""
    kept: Mapping[str, bytes] = field(default_factory=dict, repr=False)

    @property
    def folder(self) -> Path:
        """The folder that names of files in it stand for."""
        return self.path if self.path.is_dir() else self.path.parent

    def line(self, *at: str | int) -> int | None:
        """The line on which a key stands."""
        return line_of(self.places, at)


def load_garden(path: Path, book: Knowledge, today: date) -> GardenFile:
    """Read and check a garden file; raises BadFile with every error found, never a partial garden.

    ``today`` bounds the dates: a tree planted, or work done, after it is refused.
    Kinds of the grower's own come from a ``[kind.*]`` table or from ``kinds/*.toml`` beside the file.
    """
    name = str(path)
    text = _text(path)
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadFile([_syntax(name, text, str(error))]) from None

    own, problems = _own_kinds(path, raw)
    return read_garden(path, raw, own, book, today, line_map(text), problems)


def read_garden(
    path: Path,
    raw: dict[str, Any],
    own: Sequence[tuple[str, Mapping[str, Any]]],
    book: Knowledge,
    today: date,
    places: dict[Place, int] | None = None,
    problems: Sequence[Problem] = (),
    name: str = "",
    kept: Mapping[str, bytes] | None = None,
) -> GardenFile:
    """Check what a garden file holds, wherever it was read from; raises BadFile with every error found.

    ``own`` are the grower's own kinds with the name of their file, ``places`` the lines that keys stand
    on, ``problems`` what was found before. ``name`` is what complaints call the file.
    ``kept`` are the files it names, whole, where they do not lie beside it.
    """
    name, places, problems = name or str(path), places or {}, list(problems)
    if own:
        book, complaints = extend(book, own)
        problems += complaints
    garden: Garden | None = None
    try:
        garden = Garden.model_validate(raw)
    except ValidationError as error:
        problems += [_explain(name, places, raw, detail) for detail in error.errors()]
    problems += Checks(name, places, raw, book, today).all()
    problems += doubtful_sizes(name, garden or raw, book, lambda *at: line_of(places, at))
    line = line_of(places, ("cold", "nights"))
    nights, complaints = _nights_named(raw, path, kept or {}, name, line)
    problems += complaints
    if garden is not None and nights is not None:
        cold_part = garden.cold.model_copy(update={"nights": nights})
        garden = garden.model_copy(update={"cold": cold_part})
    problems = list(dict.fromkeys(problems))
    problems.sort(key=lambda problem: (problem.where != name, problem.line or 0))
    if garden is None or any(problem.severity == "error" for problem in problems):
        raise BadFile(problems)
    return GardenFile(
        path, with_keys(garden, book), book, tuple(problems), places, name, kept or {}
    )


def named_files(raw: Mapping[str, Any]) -> list[tuple[Place, str]]:
    """The files a garden file names, each with the place of its name in it."""
    weather = raw.get("weather", {})
    found: list[tuple[Place, Any]] = []
    daily = weather.get("daily", []) if isinstance(weather, Mapping) else []
    for number, name in enumerate(daily if isinstance(daily, list) else []):
        found.append((("weather", "daily", number), name))
    for table, key in (("weather", "thermometer"), ("cold", "nights")):
        part = raw.get(table, {})
        if isinstance(part, Mapping) and isinstance(part.get(key), str):
            found.append(((table, key), part[key]))
    return [(at, name) for at, name in found if isinstance(name, str)]


def _nights_named(
    raw: Mapping[str, Any], path: Path, kept: Mapping[str, bytes], name: str, line: int | None
) -> tuple[tuple[cold.Night, ...] | None, list[Problem]]:
    """The record of nights, where a garden names a file of them, and what is wrong with it."""
    named = _value(raw, ("cold", "nights"))
    if not isinstance(named, str):
        return None, []
    try:
        nights = read_nights(path.parent / named, kept.get(named))
    except BadFile as error:
        return None, error.problems
    except BadInput as error:
        return None, [
            Problem(name, said("[cold] nights: {message}", message=error.message), error.hint, line)
        ]
    return nights, []


def _text(path: Path) -> str:
    if path.is_dir():
        raise BadInput(
            said("{path}: is a folder", path=path),
            "name the garden file in it, such as garden.toml",
        )
    try:
        return path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(
            said("{path}: there is no such file", path=path), "give the path of a garden file"
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            said("{path}: cannot be read as text: {error}", path=path, error=error),
            "save it as UTF-8 text",
        ) from None


def _own_kinds(
    path: Path, raw: dict[str, Any]
) -> tuple[list[tuple[str, Mapping[str, Any]]], list[Problem]]:
    """The grower's own kinds, taken out of the file and read from the folder beside it."""
    own: list[tuple[str, Mapping[str, Any]]] = []
    problems: list[Problem] = []
    kinds = raw.pop("kind", {})
    if not isinstance(kinds, dict):
        problems.append(Problem(str(path), "own kinds are written as tables", "[kind.its-key]"))
    elif kinds:
        own.append((str(path), kinds))
    folder = path.parent / "kinds"
    for file in sorted(folder.glob("*.toml")) if folder.is_dir() else []:
        try:
            text = file.read_text("utf-8-sig")
            own.append((str(file), tomllib.loads(text)))
        except tomllib.TOMLDecodeError as error:
            problems.append(_syntax(str(file), text, str(error)))
        except (OSError, UnicodeDecodeError) as error:
            problems.append(
                Problem(
                    str(file), said("cannot be read: {error}", error=error), "mend or remove it"
                )
            )
    return own, problems


_SLASHED = re.compile(r"[=\[,]\s*\d{1,4}[/.]\d{1,2}[/.]\d{2,4}\b")
_DASHED = re.compile(r"[=\[,]\s*(\d{1,4}-\d{1,2}-\d{1,4})\b")
_COMMA = re.compile(r"=\s*[+-]?\d+,\d+\s*(#.*)?$")


def _syntax(name: str, text: str, message: str) -> Problem:
    found = re.search(r"at line (\d+)", message)
    number = int(found[1]) if found else max(text.count("\n"), 1)
    plain = re.sub(r"\s*\(at .*\)$", "", message)
    lines = text.splitlines()
    line = lines[number - 1] if number <= len(lines) else ""
    hint = "texts and measures stand in quotes; lists in [ ]; one key a line"
    dashed = _DASHED.search(line)
    if "overwrite" in plain.lower():
        hint = "the same key stands twice in this table"
    elif dashed and re.fullmatch(r"\d{4}-\d\d-\d\d", dashed[1]) and "date" in plain.lower():
        hint = said(
            "there is no day {day}: dates are year-month-day, such as 2021-03-20", day=dashed[1]
        )
    elif dashed or _SLASHED.search(line):
        hint = "dates are written year-month-day with two figures each, such as 2021-03-20"
    elif _COMMA.search(line):
        hint = "use a point, not a comma, for decimals"
    reason = plain[:1].lower() + plain[1:]
    return Problem(name, said("not valid TOML: {reason}", reason=reason), hint, number)


def _explain(
    name: str, places: dict[Place, int], raw: Mapping[str, Any], detail: ErrorDetails
) -> Problem:
    """A pydantic complaint in a grower's words."""
    # Parts in angle brackets tell which form of a value was meant; a grower wrote no such key.
    at: Place = tuple(
        part
        for part in detail["loc"]
        if not (isinstance(part, str) and part.startswith(("<", "literal[", "function-")))
    )
    if at[-2:-1] == ("spread",) and not isinstance(_value(raw, at[:-1]), list):
        at = at[:-1]  # one measure stands for both
    line = line_of(places, at)
    label = _label(raw, at)
    kind, context = detail["type"], detail.get("ctx", {})
    key = str(at[-1]) if at else ""
    given, reason = detail["input"], detail["msg"].lower()
    message = said("{label}: {reason}, got {given!r}", label=label, reason=reason, given=given)
    hint = ""
    if kind == "garden":
        message = said("{label}: {message}", label=label, message=said(context["message"]))
        hint = str(context["hint"])
    elif kind == "missing":
        needed = {
            "garden": "add [garden] with a name",
            "site": "add [site] with latitude and longitude",
        }
        message = said("{name} is missing", name=label)
        hint = needed.get(key, said("add {key} = ...", key=key))
        line = line or (1 if places else None)
    elif kind == "extra_forbidden":
        near = get_close_matches(key, _known_keys(at), n=2)
        message = said("{label}: unknown key '{key}'", label=label, key=key)
        known = said("known: {listed}", listed=", ".join(_known_keys(at)))
        meant = listed(near, "{one} or {other}")
        hint = said("did you mean {listed}?", listed=meant) if near else known
    elif kind == "literal_error":
        message = said("{label}: {given!r} is not known", label=label, given=given)
        # pydantic names them as 'a', 'b' or 'c'
        *first, last = re.findall(r"'[^']*'", context["expected"]) or [context["expected"]]
        meant = said("{one} or {other}", one=", ".join(first), other=last) if first else last
        hint = said("one of {listed}", listed=meant)
    elif kind in ("greater_than_equal", "less_than_equal", "greater_than"):
        message = said("{label}: {given} is out of range", label=label, given=given)
        hint = _BOUNDS.get(key, detail["msg"])
    elif kind in _WANTED:
        message = said(
            "{label}: expects {wanted}, got {given!r}",
            label=label,
            wanted=said(_WANTED[kind]),
            given=given,
        )
        hint = _DEGREES if key in ("latitude", "longitude") else ""
    return Problem(name, message, hint, line)


def _known_keys(at: Place) -> list[str]:
    words = [part for part in at[:-1] if isinstance(part, str)]
    table: type[values.Model] = _TABLES.get(words[-1], Garden) if words else Garden
    fields = table.model_fields
    return [field.alias or key for key, field in fields.items()]


def _value(raw: Mapping[str, Any], at: Place) -> Any:
    """What stands at a place of the file; nothing where there is nothing."""
    here: Any = raw
    for part in at:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def _label(raw: Mapping[str, Any], at: Place) -> str:
    """A path as a person says it: tree 'clementine-low', height."""
    words: list[str] = []
    for depth, part in enumerate(at, start=1):
        if isinstance(part, int):
            here = _value(raw, at[:depth])
            title = here.get("id") if isinstance(here, dict) else None
            words[-1] = titled(words[-1], title if isinstance(title, str) else part)
        else:
            words.append(part)
    return listed(words) or said("the file")
