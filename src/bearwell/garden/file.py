"""Reads a garden file: every problem at once, each with its line and a hint."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden import model
from bearwell.garden.lines import Place, line_map, line_of
from bearwell.garden.model import Garden
from bearwell.knowledge import Knowledge, extend

_TABLES: dict[str, type[model.Model]] = {
    "garden": model.About,
    "site": model.Site,
    "weather": model.Weather,
    "no_feeding": model.NoFeeding,
    "shelter": model.Shelter,
    "product": model.Product,
    "tree": model.Tree,
    "done": model.Done,
    "harvests": model.Harvest,
    "observed": model.Observed,
    "counts": model.Count,
    "grows_in": model.Container,
    "soil_test": model.SoilTest,
    "normals": model.Normals,
}
_CONTAINER_NAMES = {"shelter": "shelters", "product": "products", "tree": "trees"}


@dataclass(frozen=True)
class GardenFile:
    """A garden read from a file, the knowledge it extends, and what was doubtful or filled in."""

    path: Path
    garden: Garden
    knowledge: Knowledge
    problems: tuple[Problem, ...]


def load_garden(path: Path, book: Knowledge, today: date) -> GardenFile:
    """Read and check a garden file; raises BadFile with every error found, never a partial garden.

    ``today`` bounds the dates: a tree planted, or work done, after it is refused.
    Kinds of the grower's own come from a ``[kind.*]`` table or from ``kinds/*.toml`` beside the file.
    """
    name = str(path)
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError:
        raise BadInput(f"{name}: there is no such file", "give the path of a garden file") from None
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            f"{name}: cannot be read as text: {error}", "save it as UTF-8 text"
        ) from None
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadFile([_syntax(name, text, str(error))]) from None

    places = line_map(text)
    problems: list[Problem] = []
    own = [(name, raw.pop("kind"))] if isinstance(raw.get("kind"), dict) else []
    folder = path.parent / "kinds"
    for file in sorted(folder.glob("*.toml")) if folder.is_dir() else []:
        try:
            own.append((str(file), tomllib.loads(file.read_text("utf-8"))))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            problems.append(Problem(str(file), f"cannot be read: {error}", "mend or remove it"))
    if own:
        book, complaints = extend(book, own)
        problems += complaints
    garden: Garden | None = None
    try:
        garden = Garden.model_validate(raw)
    except ValidationError as error:
        problems += [_explain(name, places, raw, detail) for detail in error.errors()]
    problems += _check_trees(name, places, raw, book, today)
    if garden is not None:
        problems += _check_references(name, places, garden, book)
    problems.sort(key=lambda problem: (problem.where != name, problem.line or 0))
    if garden is None or any(problem.severity == "error" for problem in problems):
        raise BadFile(problems)
    return GardenFile(path, garden, book, tuple(problems))


def _syntax(name: str, text: str, message: str) -> Problem:
    found = re.search(r"at line (\d+)", message)
    line = int(found[1]) if found else max(text.count("\n"), 1)
    plain = re.sub(r"\s*\(at .*\)$", "", message)
    hint = "texts and measures stand in quotes; lists in [ ]; one key a line"
    if "overwrite" in plain.lower():
        hint = "the same key stands twice in this table"
    return Problem(name, f"not valid TOML: {plain[:1].lower()}{plain[1:]}", hint, line)


def _explain(
    name: str, places: dict[Place, int], raw: Mapping[str, Any], detail: ErrorDetails
) -> Problem:
    """A pydantic complaint in a grower's words."""
    at: Place = tuple(
        part
        for part in detail["loc"]
        if not (isinstance(part, str) and part.startswith(("literal[", "function-")))
    )
    at = tuple(part for part in at if part not in ("Container", "MeasuredSoil", "str", "ground"))
    line = line_of(places, at)
    label = _label(raw, at)
    kind, context = detail["type"], detail.get("ctx", {})
    key = str(at[-1]) if at else ""
    if kind == "garden":
        return Problem(name, f"{label}: {context['message']}", str(context["hint"]), line)
    if kind == "missing":
        hint = {
            "garden": "add [garden] with a name",
            "site": "add [site] with latitude and longitude",
        }
        return Problem(name, f"{label} is missing", hint.get(key, f"add {key} = ..."), line or 1)
    if kind == "extra_forbidden":
        near = get_close_matches(key, _known_keys(at), n=2)
        return Problem(
            name,
            f"{label}: unknown key '{key}'",
            f"did you mean {' or '.join(near)}?"
            if near
            else f"known: {', '.join(_known_keys(at))}",
            line,
        )
    if kind == "literal_error":
        return Problem(
            name,
            f"{label}: {detail['input']!r} is not known",
            f"one of {context['expected']}",
            line,
        )
    if kind in ("greater_than_equal", "less_than_equal", "greater_than"):
        bounds = {
            "latitude": "-90 to 90",
            "longitude": "-180 to 180",
            "probability": "above 0, at most 1",
        }
        return Problem(
            name,
            f"{label}: {detail['input']} is out of range",
            bounds.get(key, detail["msg"]),
            line,
        )
    return Problem(name, f"{label}: {detail['msg'].lower()}, got {detail['input']!r}", "", line)


def _known_keys(at: Place) -> list[str]:
    words = [part for part in at[:-1] if isinstance(part, str)]
    table: type[model.Model] = _TABLES.get(words[-1], Garden) if words else Garden
    fields = table.model_fields
    return [field.alias or key for key, field in fields.items()]


def _label(raw: Mapping[str, Any], at: Place) -> str:
    """A path as a person says it: tree 'clementine-low', height."""
    words: list[str] = []
    here: Any = raw
    for part in at:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int):
            title = here.get("id") if isinstance(here, dict) else None
            words[-1] += f" '{title}'" if isinstance(title, str) else f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words) or "the file"


def _check_trees(
    name: str, places: dict[Place, int], raw: Mapping[str, Any], book: Knowledge, today: date
) -> list[Problem]:
    """Kinds, ids and dates: checked on the raw rows so that they are told beside other errors."""
    problems: list[Problem] = []
    rows = raw.get("tree", [])
    if not isinstance(rows, list):
        return [
            Problem(
                name, "trees are written as [[tree]]", "two brackets", line_of(places, ("tree",))
            )
        ]
    if not rows:
        problems.append(
            Problem(
                name,
                "the garden has no trees yet",
                "add a [[tree]] with id, kind and planted",
                None,
                "warning",
            )
        )
    seen: dict[str, int | None] = {}
    for number, row in enumerate(rows):
        if not isinstance(row, dict):
            continue

        def at(*keys: str | int, number: int = number) -> int | None:
            return line_of(places, ("tree", number, *keys))

        tree_id = row.get("id")
        title = f"tree '{tree_id}'" if isinstance(tree_id, str) else f"tree {number + 1}"
        if isinstance(tree_id, str):
            if tree_id in seen:
                problems.append(
                    Problem(
                        name,
                        f"{title}: the id is used twice",
                        f"first on line {seen[tree_id]}",
                        at("id"),
                    )
                )
            seen.setdefault(tree_id, at("id"))
        kind = row.get("kind")
        if isinstance(kind, str) and book.find(kind) is None:
            near = book.nearest(kind)
            hint = (
                f"did you mean {', '.join(near)}?"
                if near
                else "see the list of kinds in the manual"
            )
            problems.append(Problem(name, f"{title}: unknown kind '{kind}'", hint, at("kind")))
        problems += _check_dates(name, title, row, at, today)
    return problems


def _check_dates(
    name: str, title: str, row: Mapping[str, Any], at: Any, today: date
) -> list[Problem]:
    problems: list[Problem] = []
    planted = row.get("planted")
    if type(planted) is not date:
        return problems
    if planted > today:
        problems.append(
            Problem(
                name,
                f"{title}: planted {planted} lies after today, {today}",
                "check the year",
                at("planted"),
            )
        )
    for key in ("observed", "counts", "done"):
        for item in row.get(key, []) if isinstance(row.get(key), list) else []:
            day = item.get("date") if isinstance(item, dict) else None
            if type(day) is date and day < planted:
                problems.append(
                    Problem(
                        name,
                        f"{title}: {key} on {day} lies before planting on {planted}",
                        "check both dates",
                        at(key),
                    )
                )
            elif type(day) is date and day > today:
                problems.append(
                    Problem(
                        name,
                        f"{title}: {key} on {day} lies after today, {today}",
                        "it is left out until then",
                        at(key),
                        "warning",
                    )
                )
    for item in row.get("harvests", []) if isinstance(row.get("harvests"), list) else []:
        year = item.get("year") if isinstance(item, dict) else None
        if isinstance(year, int) and year < planted.year:
            problems.append(
                Problem(
                    name,
                    f"{title}: harvest of {year} lies before planting on {planted}",
                    "check both",
                    at("harvests"),
                )
            )
    return problems


def _check_references(
    name: str, places: dict[Place, int], garden: Garden, book: Knowledge
) -> list[Problem]:
    """Names that must exist elsewhere: shelters, products, covers, soils, media, rootstocks."""
    problems: list[Problem] = []

    def known(table: str, value: str, path: Place, title: str, severity: Any = "error") -> None:
        try:
            book.item(table, value)
        except BadInput as error:
            problems.append(
                Problem(
                    name, f"{title}: {error.message}", error.hint, line_of(places, path), severity
                )
            )

    if isinstance(garden.site.soil, str):
        known("soils", garden.site.soil, ("site", "soil"), "site")
    for number, product in enumerate(garden.products):
        known(
            "releases", product.release, ("product", number, "release"), f"product '{product.id}'"
        )
    for number, shelter in enumerate(garden.shelters):
        known("covers", shelter.cover, ("shelter", number, "cover"), f"shelter '{shelter.id}'")
    shelters = {shelter.id for shelter in garden.shelters}
    products = {product.id for product in garden.products}
    for number, tree in enumerate(garden.trees):
        title = f"tree '{tree.id}'"
        if tree.shelter and tree.shelter not in shelters:
            problems.append(
                Problem(
                    name,
                    f"{title}: no shelter '{tree.shelter}'",
                    f"shelters: {', '.join(sorted(shelters)) or 'none listed'}",
                    line_of(places, ("tree", number, "shelter")),
                )
            )
        if tree.rootstock:
            known("rootstocks", tree.rootstock, ("tree", number, "rootstock"), title, "warning")
        if tree.pot:
            known("containers", tree.pot.medium, ("tree", number, "grows_in"), title)
        problems += [
            Problem(
                name,
                f"{title}: no product '{work.product}' on the shelf",
                "list it under [[product]]",
                line_of(places, ("tree", number, "done")),
                "warning",
            )
            for work in tree.done
            if work.product and work.product not in products
        ]
    for kind, rows in (("shelter", garden.shelters), ("product", garden.products)):
        ids = [row.id for row in rows]
        for number, one in enumerate(ids):
            if one in ids[:number]:
                problems.append(
                    Problem(
                        name,
                        f"{kind} '{one}': the id is used twice",
                        "choose another",
                        line_of(places, (kind, number, "id")),
                    )
                )
    return problems
