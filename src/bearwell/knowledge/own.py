"""A grower's own kinds of tree, added to the project's and checked like them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from bearwell.errors import KnowledgeError, Problem
from bearwell.knowledge.loader import Knowledge, resolve
from bearwell.knowledge.model import Source, Species
from bearwell.said import said

_GROWER = "own-garden"


def extend(
    base: Knowledge, own: Iterable[tuple[str, Mapping[str, Any]]]
) -> tuple[Knowledge, list[Problem]]:
    """Add a grower's own kinds, given as (file name, {kind: table, ...}).

    A row may leave out source, locator and confidence: it then counts as the grower's own judgement.
    What cannot be used comes back as problems; the rest is added.
    """
    problems: list[Problem] = []
    sources = dict(base.sources)
    sources.setdefault(_GROWER, Source(_GROWER, "The grower's own records and judgement"))
    raw: dict[str, tuple[str, Mapping[str, Any]]] = {}
    for where, tables in own:
        for key, table in tables.items():
            if not isinstance(table, Mapping):
                problems.append(
                    Problem(
                        where,
                        said("'{key}' is not a kind", key=key),
                        said("a kind is a table: [{key}], name = ...", key=key),
                    )
                )
            elif key in base.species or key in raw:
                problems.append(
                    Problem(
                        where,
                        said("kind '{key}' exists already", key=key),
                        said("choose another key"),
                    )
                )
            else:
                raw[key] = (where, _filled(where, table, base.schema))
    species = dict(base.species)
    waiting = dict(raw)
    while waiting:
        # A kind may descend from another of the grower's own, so parents go first.
        ready = [
            key for key, (_, table) in waiting.items() if str(table.get("parent")) not in waiting
        ]
        for key in ready or list(waiting):
            where, table = waiting.pop(key)
            try:
                species |= resolve(
                    {key: (where, table)}, base.schema, base.feeding, sources, species
                )
                problems += _unread(where, species[key], table)
            except KnowledgeError as error:
                message = error.message.removeprefix(f"{where}: ")
                problems.append(Problem(where, message, error.hint))
    return Knowledge(species, base.feeding, base.tables, sources, base.schema), problems


def _filled(
    where: str, table: Mapping[str, Any], schema: Mapping[str, Mapping[str, Any]]
) -> Mapping[str, Any]:
    """A grower's kind with what rows may leave out: unit, source, locator and confidence."""
    rows = table.get("facts", {})
    if not isinstance(rows, Mapping):
        return table
    facts = {}
    for name, row in rows.items():
        plain = dict(row) if isinstance(row, Mapping) else {"value": row}
        unit = schema.get(name, {}).get("unit", "text")
        if unit != "text":
            plain.setdefault("unit", unit)
        facts[name] = {"source": _GROWER, "locator": where, "confidence": "judgement", **plain}
    return {**table, "facts": facts}


def _unread(where: str, species: Species, table: Mapping[str, Any]) -> list[Problem]:
    """Facts of a grower's own kind that its bloom rule never looks at."""
    if species.abstract:
        return []
    rule = species["bloom_rule"].text
    read = "bloom_heat" if rule == "heat sum" else "bloom_warmth"
    other = "bloom_warmth" if rule == "heat sum" else "bloom_heat"
    return [
        Problem(
            where,
            said(
                "[{kind}] {name} is never read: its bloom follows a {rule}",
                kind=species.key,
                name=name,
                rule=rule,
            ),
            said("state {read}_... instead, or its own bloom_rule", read=read),
            severity="warning",
        )
        for name in table.get("facts", {})
        if name.startswith(other)
    ]
