"""The description of the JSON for programs, OpenAPI 3.1: from the routes, the shapes and the reckoners."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter

from bearwell import __version__
from bearwell.api import Option, Reckoner, leaf_key, reckoners
from bearwell.faces.shapes import SHAPES, Link, Problems

JSON = "application/json"
# What an address ends in, and what it answers with.
CONTENT = {
    ".json": JSON,
    ".ics": "text/calendar; charset=utf-8",
    ".csv": "text/csv; charset=utf-8",
}
RECKONER = "/reckon/{name}.json"

SUMMARIES = {
    "/week.json": "The work of the coming days, most pressing first",
    "/trees.json": "Every tree with its next job",
    "/tree/{tree}.json": "A tree: its year, its size and its work",
    "/tree/{tree}/feeding.json": "A tree's feeding year with its nitrogen account",
    "/garden.json": "The garden as it was read, with every problem",
    "/kind/{key}.json": "Everything known of a kind",
    "/leaf.json": "What the signs on a leaf may mean; without signs, the questions",
    "/shelf.json": "The shelf over the coming year, and what to buy",
    "/outdoors.json": "The pages a device keeps for when there is no signal, the most needed first",
    "/sheet.json": "The feeding rounds to carry out, in walking order",
    "/season.json": "A past season: what was advised, recorded and picked, and what to change",
    "/tree/{tree}/season.json": "A tree's past season: what was advised, recorded and picked, and what to change",
    "/calendar.ics": "The work as a calendar to subscribe to",
    "/openapi.json": "This description",
}
# By status: the name of the answer, and what it says.
REFUSALS = {
    "401": ("SignIn", "A passphrase is set: sign in first, by POST to /sign-in"),
    "404": ("Missing", "There is nothing of this name"),
    "422": ("Unserved", "The request cannot be served: what is wrong, with a hint"),
    "503": ("Spoiled", "The passphrase file of the garden cannot be read"),
}
PARAMETERS: dict[str, dict[str, Any]] = {
    "days": {
        "description": "How many days ahead.",
        "schema": {"type": "integer", "minimum": 1, "maximum": 366},
        "example": 14,
    },
    "tree": {
        "description": "Id of a tree of the garden.",
        "schema": {"type": "string"},
        "example": "clementine-low",
    },
    "key": {
        "description": "Key of a kind, or any of its names.",
        "schema": {"type": "string"},
        "example": "clementine",
    },
}
PARAMETERS |= {
    name: {"description": words, "schema": {"type": "string", "format": "date"}, "example": day}
    for name, words, day in (
        ("since", "The first day to look back on; else a year before the last.", "2026-01-01"),
        ("until", "The last day to look back on; else today.", "2026-06-30"),
    )
}
KEY_OF_FEED = {
    "name": "key",
    "in": "query",
    "description": "A key made with `bearwell calendar-key`; needed where a passphrase is set.",
    "schema": {"type": "string"},
}


@dataclass(frozen=True)
class Address:
    """A route that answers: its path, and its query with the schema of each part and whether it is needed."""

    path: str
    query: tuple[tuple[str, Mapping[str, Any], bool], ...] = ()


def describe(addresses: Iterable[Address]) -> dict[str, Any]:
    """The description of these addresses; those that answer with pages are left out."""
    schemas: dict[str, Any] = {}
    paths: dict[str, Any] = {}
    for one in addresses:
        ending = re.search(r"\.[a-z]+$", one.path)
        if ending is None or ending[0] not in CONTENT:
            continue
        if one.path == RECKONER:
            for reckoner in reckoners().values():
                paths[f"/reckon/{reckoner.name}.json"] = {"get": _reckoning(reckoner, schemas)}
        else:
            paths[one.path] = {"get": _operation(one, CONTENT[ending[0]], schemas)}
    _schema(Problems, schemas)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "bearwell",
            "version": __version__,
            "summary": "What to do for each fruit tree, each week, and why.",
            "description": "The JSON twins of the pages. Dates are ISO dates, values in canonical units; "
            "`display` and sentences are in the garden's units. Every answer to GET also answers HEAD. Nothing "
            "here changes anything. New fields may be added; none is taken away within a version.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],
        "security": [{}, {"session": []}, {"session_over_tls": []}],
        "paths": dict(sorted(paths.items())),
        "components": {
            "schemas": dict(sorted(schemas.items())),
            "responses": {name: _problems(words) for name, words in REFUSALS.values()},
            "securitySchemes": {
                "session": _cookie("bearwell-session"),
                "session_over_tls": _cookie("__Host-bearwell-session"),
            },
        },
    }


def _cookie(name: str) -> dict[str, str]:
    return {
        "type": "apiKey",
        "in": "cookie",
        "name": name,
        "description": "Given by POST /sign-in where a passphrase is set; else nothing is asked for.",
    }


def _problems(words: str) -> dict[str, Any]:
    example = {
        "problems": [
            {"where": "request", "line": None, "severity": "error", "message": "0 days cannot be listed",
             "hint": "between 1 and 366"}
        ]
    }  # fmt: skip
    schema = {"$ref": "#/components/schemas/Problems"}
    return {"description": words, "content": {JSON: {"schema": schema, "example": example}}}


def _schema(shape: Any, schemas: dict[str, Any]) -> dict[str, Any]:
    """The schema of a shape as a reference; it and what it holds are added to the schemas."""
    made = TypeAdapter(shape).json_schema(
        ref_template="#/components/schemas/{model}", mode="serialization"
    )
    schemas |= {name: _plain(one) for name, one in made.pop("$defs", {}).items()}
    if "$ref" in made:
        return {"$ref": made["$ref"]}
    schemas[made["title"]] = _plain(made)
    return {"$ref": f"#/components/schemas/{made['title']}"}


def _plain(schema: Any) -> Any:
    """Without the titles that only repeat the name of a field."""
    if isinstance(schema, dict):
        kept = {key: _plain(value) for key, value in schema.items() if key != "properties"}
        if "properties" in schema:
            kept["properties"] = {
                name: {key: _plain(value) for key, value in one.items() if key != "title"}
                for name, one in schema["properties"].items()
            }
        return kept
    return [_plain(one) for one in schema] if isinstance(schema, list) else schema


def _operation(one: Address, content: str, schemas: dict[str, Any]) -> dict[str, Any]:
    named = re.findall(r"\{([a-z_]+)\}", one.path)
    parameters: list[dict[str, Any]] = [
        {"name": name, "in": "path", "required": True, **_told(name, {"type": "string"})}
        for name in named
    ]
    parameters += [
        {"name": name, "in": "query", "required": needed, **_told(name, schema)}
        for name, schema, needed in one.query
    ]
    if one.path == "/leaf.json":
        parameters += _leaf_parameters()
    if content.startswith("text/calendar") and "key" not in {name for name, _, _ in one.query}:
        parameters.append(KEY_OF_FEED)
    body: dict[str, Any] = {"type": "string"}
    if content == JSON:
        shape = SHAPES.get(one.path)
        body = {"type": "object"} if shape is None else _schema(shape, schemas)
    return {
        "operationId": _id(one.path),
        "summary": SUMMARIES.get(one.path, f"What the page {_page(one.path)} shows"),
        "parameters": parameters,
        "responses": _responses({content: {"schema": body}}, missing=bool(named)),
    }


def _responses(content: dict[str, Any], *, missing: bool) -> dict[str, Any]:
    kept = ("401", "422", "503", *(["404"] if missing else []))
    refusals = {
        status: {"$ref": f"#/components/responses/{REFUSALS[status][0]}"} for status in kept
    }
    if JSON not in content:  # what is no twin is refused as a page is
        page = {
            "text/html": {"schema": {"type": "string"}},
            "text/plain": {"schema": {"type": "string"}},
        }
        refusals = {
            status: {"description": REFUSALS[status][1], "content": page | _problems("")["content"]}
            for status in kept
        }
    answers = {"200": {"description": "As asked", "content": content}, **refusals}
    return dict(sorted(answers.items()))


def _told(name: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    """A parameter in words, with the schema of the code where no words are kept for it."""
    known = PARAMETERS.get(name)
    if known is None:
        return {"schema": dict(schema)}
    default = {"default": schema["default"]} if schema.get("default") is not None else {}
    return {**known, "schema": {**known["schema"], **default}}


def _leaf_parameters() -> list[dict[str, Any]]:
    """The questions of the leaf key, then what may be said of the tree."""
    found: list[dict[str, Any]] = []
    for question in leaf_key().asked:
        signs = {"type": "string", "enum": [sign.key for sign in question.signs]}
        schema = {"type": "array", "items": signs} if question.several else signs
        found.append(
            {"name": question.key, "in": "query", "description": question.title, "schema": schema}
        )
    return [
        *found,
        {"name": "tree", "in": "query", **PARAMETERS["tree"]},
        {"name": "kind", "in": "query", **PARAMETERS["key"]},
        {"name": "place", "in": "query", "schema": {"type": "string", "enum": ["ground", "pot"]}},
        {"name": "day", "in": "query", "schema": {"type": "string", "format": "date"}},
    ]


def _reckoning(reckoner: Reckoner, schemas: dict[str, Any]) -> dict[str, Any]:
    body = {
        "type": "object",
        "required": ["reckoner", "inputs", "results", "because", "cautions"],
        "properties": {
            "reckoner": {"const": reckoner.name},
            "inputs": {"type": "object"},
            "results": {"type": "object", "properties": {name: {} for name in reckoner.fields}},
            "because": {"type": "array", "items": _schema(Link, schemas)},
            "cautions": {"type": "array", "items": {"type": "string"}},
        },
    }
    return {
        "operationId": f"reckon_{reckoner.name.replace('-', '_')}",
        "summary": reckoner.summary,
        "parameters": [
            one for option in reckoner.options for one in _option_parameters(option, reckoner)
        ],
        "responses": _responses({JSON: {"schema": body}}, missing=False),
    }


def _option_parameters(option: Option, reckoner: Reckoner) -> list[dict[str, Any]]:
    text = {"type": "string"}
    schema = {"type": "array", "items": text} if option.multiple else text
    if option.unit != "file":
        one = {"name": option.name, "in": "query", "required": option.required, "schema": schema,
               "description": f"{option.help} In {option.unit}; a unit may be written."}  # fmt: skip
        example = _example(option, reckoner)
        return [one | {"example": example} if example else one]
    return [
        {"name": option.name, "in": "query", "schema": text,
         "description": f"{option.help} By the name of a weather file of this garden."},
        {"name": f"pasted-{option.name}", "in": "query", "schema": text,
         "description": f"{option.help} The text of the file in its place."},
    ]  # fmt: skip


def _example(option: Option, reckoner: Reckoner) -> str | list[str] | None:
    from bearwell.faces.web.pages.reckoning import example_of

    values = example_of(reckoner).get(option.name)
    if not values:
        return None
    return list(values) if option.multiple else values[0]


def _page(path: str) -> str:
    return path.rsplit(".", 1)[0]


def _id(path: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", _page(path).lower()).strip("_")
