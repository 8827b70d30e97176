"""Reads the tables, checks every row against the schema, and resolves what kinds inherit.

Every complaint names the file, the table, the key and the fix. Users' own kinds come through the same
door (:mod:`bearwell.knowledge.own`), so a mistake in a garden's folder reads like a mistake in ours.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache, cached_property, partial
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, get_args

import tomli  # the standard library's parser, compiled: the tables are most of what is read at the start

from bearwell.errors import BadInput, KnowledgeError
from bearwell.knowledge.model import (
    ITEM_NAMES,
    UNDOCUMENTED,
    Confidence,
    Fact,
    FeedingRule,
    FeedingStep,
    Source,
    Species,
    Table,
    Tables,
)
from bearwell.quantities import canonical_of, convert
from bearwell.said import Said, said

CONFIDENCES = get_args(Confidence)
_ROW_KEYS = {"value", "unit", "low", "high", "source", "locator", "confidence", "note"}
_KIND_KEYS = {"name", "botanical", "parent", "also", "abstract", "stands_for", "facts"}
KINDS_LISTED = said("docs/reference/kinds.md or the /kind page lists every kind")
_SHORT = 12  # a table of so many items is listed whole in a hint
_SHORTEST_PART = 3  # letters of a name that may stand for the whole of it


@dataclass(frozen=True)
class Knowledge:
    """Everything the tables say, validated."""

    species: dict[str, Species]
    feeding: dict[str, FeedingRule]
    tables: Mapping[str, Table]
    sources: dict[str, Source]
    schema: dict[str, dict[str, Any]] = field(repr=False)

    def kind(self, key: str) -> Species:
        """The kind of tree behind a key or one of its other names; BadInput names the nearest."""
        found = self.find(key)
        if found is None:
            near = self.nearest(key)
            hint = said("did you mean {listed}?", listed=", ".join(near)) if near else KINDS_LISTED
            raise BadInput(said("unknown kind of tree '{key}'", key=key), hint)
        return found

    def find(self, key: str) -> Species | None:
        """The kind of tree behind a key or one of its other names, or nothing."""
        plain = _plain(key)
        if plain in self.species and not self.species[plain].abstract:
            return self.species[plain]
        group = self.group_meant(key)
        if group is not None:
            return self.species[group.stands_for]
        for species in self.species.values():
            if not species.abstract and plain in (
                _plain(name) for name in (species.name, *species.also)
            ):
                return species
        return None

    def group_meant(self, key: str) -> Species | None:
        """The group behind a plain name that is taken as one kind of it, or nothing."""
        plain = _plain(key)
        groups = (one for one in self.species.values() if one.stands_for)
        return next((one for one in groups if plain in (one.key, _plain(one.name))), None)

    def nearest(self, key: str) -> list[str]:
        """Keys that look like a mistyped one."""
        names = {_plain(s.key): s.key for s in self.species.values() if not s.abstract}
        for species in self.species.values():
            if not species.abstract:
                names |= {_plain(name): species.key for name in (species.name, *species.also)}
        close = get_close_matches(_plain(key), names, n=4, cutoff=0.62)
        group = self.species.get(_plain(key))
        if group is not None and group.abstract:
            return [
                s.key for s in self.species.values() if s.belongs_to(group.key) and not s.abstract
            ][:6]
        inside = [name for name in names if len(key) > 3 and _plain(key) in name]
        return list(dict.fromkeys(names[name] for name in [*close, *inside]))[:4]

    def table(self, name: str) -> dict[str, dict[str, Fact]]:
        """A plain table by name."""
        return self.tables[name]

    def item(self, table: str, key: str) -> dict[str, Fact]:
        """One item of a plain table; BadInput lists what there is."""
        items = self.tables[table]
        return items[key] if key in items else items[self.item_key(table, key)]

    def item_key(self, table: str, named: str) -> str:
        """The key of the item somebody means: case, spaces and hyphens aside, or by a part of its name.

        A part counts only where no other item has it. BadInput lists what there is.
        """
        items = self.tables[table]
        if named in items:
            return named
        plain = {_bare(name): key for key in items for name in (key, *self._also(table, key))}
        wanted = _bare(named)
        if wanted in plain:
            return plain[wanted]
        holding = list(dict.fromkeys(key for bare, key in plain.items() if wanted in bare))
        if len(holding) == 1 and len(wanted) >= _SHORTEST_PART:
            return holding[0]
        near = [plain[bare] for bare in get_close_matches(wanted, plain, n=3, cutoff=0.4)]
        shown = list(dict.fromkeys([*holding, *near, *(items if len(items) <= _SHORT else ())]))
        what = (
            said(ITEM_NAMES[table])
            if table in ITEM_NAMES
            else said("in the table of {table}", table=table)
        )
        raise BadInput(
            said("'{named}' is not {what}", named=named, what=what),
            said("known: {listed}", listed=", ".join(shown or list(items))),
        )

    def _also(self, table: str, key: str) -> list[str]:
        """Other names of an item: those its column "also" lists, commas between."""
        row = self.tables[table][key].get("also")
        return row.text.split(",") if row is not None else []

    @cached_property
    def cautions(self) -> Mapping[str, Sequence[tuple[str, str]]]:
        """The cautions of each job, each with the case it is for; empty where it is for every case."""
        found: dict[str, list[tuple[str, str]]] = {}
        for row in self.tables["cautions"].values():
            case = row["when"].text if "when" in row else ""
            found.setdefault(row["job"].text, []).append((row["text"].text, case))
        return found

    def constant(self, name: str) -> Fact:
        """A constant of the engine or the planners."""
        return self.tables["planning"][name]["figure"]

    def source(self, key: str) -> Source:
        """A row of the bibliography."""
        return self.sources[key]


def _plain(name: str) -> str:
    return name.strip().lower().replace("_", "-").replace(" ", "-")


def _bare(name: str) -> str:
    """A name without case, spaces, hyphens and the like."""
    return "".join(char for char in name.casefold() if char.isalnum())


def _read(file: Traversable | Path, name: str) -> dict[str, Any]:
    try:
        return tomli.loads(file.read_text("utf-8"))
    except tomli.TOMLDecodeError as error:
        raise KnowledgeError(f"{name}: not valid TOML: {error}", "mend the line named") from None


def _fact(
    where: str,
    key: str,
    row: Any,
    spec: Mapping[str, Any],
    owner: str,
    sources: Mapping[str, Source],
) -> Fact:
    """One checked row, with its numbers turned into the canonical unit."""
    place = f"{where}: [{owner}] {key}"
    if not isinstance(row, dict) or "value" not in row:
        raise KnowledgeError(f"{place}: a row needs a value", "write { value = ..., source = ... }")
    strange = set(row) - _ROW_KEYS
    if strange:
        raise KnowledgeError(
            f"{place}: unknown key '{min(strange)}'",
            f"allowed: {', '.join(sorted(_ROW_KEYS))}",
        )
    source, confidence = row.get("source", ""), row.get("confidence", "")
    if source not in sources:
        near = get_close_matches(str(source), sources, n=2)
        raise KnowledgeError(
            f"{place}: source '{source}' is not in the bibliography",
            f"did you mean {' or '.join(near)}?" if near else "add it under sources/",
        )
    if confidence not in CONFIDENCES:
        raise KnowledgeError(
            f"{place}: confidence '{confidence}' is not one of {', '.join(CONFIDENCES)}",
            "choose one",
        )
    locator = row.get("locator", "")
    if not locator and source not in UNDOCUMENTED:
        raise KnowledgeError(f"{place}: no locator", "say the page, table or section of the source")
    if source in UNDOCUMENTED:  # no place in a document: words of our own
        locator = Said(locator)
    provenance = (source, locator, confidence, Said(row.get("note", "")), owner)
    if spec.get("unit", "text") == "text":
        return Fact(key, _word(place, row["value"], spec), "text", None, None, *provenance)
    value, low, high, unit = _figures(place, row, spec)
    return Fact(key, value, unit, low, high, *provenance)


def _word(place: str, value: object, spec: Mapping[str, Any]) -> str:
    """A checked word or sentence."""
    choices = spec.get("choices", ["text"])
    if not isinstance(value, str) or not value:
        raise KnowledgeError(f"{place}: expects words, got {value!r}", "write it in quotes")
    if choices != ["text"] and value not in choices:
        raise KnowledgeError(f"{place}: '{value}' is not allowed", f"one of: {', '.join(choices)}")
    return Said(value)


def _figures(
    place: str, row: Mapping[str, Any], spec: Mapping[str, Any]
) -> tuple[float, float | None, float | None, str]:
    """Value, low and high of a row in the canonical unit, checked against what is plausible."""
    unit = spec["unit"]
    given = row.get("unit", "1" if unit in ("1", "count", "any") else "")
    if not given:
        raise KnowledgeError(f"{place}: no unit", f'write unit = "{unit}"')
    unit = canonical_of(given) if unit == "any" else unit
    least, most = spec.get("low", float("-inf")), spec.get("high", float("inf"))

    def figure(end: str) -> float | None:
        number = row.get(end)
        if number is None:
            return None
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise KnowledgeError(f"{place}: expects a number, got {number!r}", "write it unquoted")
        try:
            turned = round(convert(float(number), given, unit), 10)
        except BadInput as error:
            raise KnowledgeError(f"{place}: {error}", f"use a unit like {unit}") from None
        if not least <= turned <= most:
            raise KnowledgeError(
                f"{place}: {turned:g} {unit} is not plausible",
                f"expected {least:g} to {most:g} {unit}",
            )
        return turned

    value, low, high = figure("value"), figure("low"), figure("high")
    if value is None or (low is not None and low > value) or (high is not None and high < value):
        raise KnowledgeError(f"{place}: the value lies outside its own range", "check low and high")
    return value, low, high, unit


def _load_sources(root: Traversable) -> dict[str, Source]:
    sources: dict[str, Source] = {}
    for file in [
        root / "sources.toml",
        *sorted((root / "sources").iterdir(), key=lambda f: f.name),
    ]:
        if not file.name.endswith(".toml"):
            continue
        for key, row in _read(file, file.name).items():
            if key in sources:
                raise KnowledgeError(f"{file.name}: source '{key}' is listed twice", "keep one")
            try:
                sources[key] = Source(key=key, **row)
            except TypeError as error:
                raise KnowledgeError(
                    f"{file.name}: [{key}]: {error}", "see the other rows"
                ) from None
            if not sources[key].title:
                raise KnowledgeError(f"{file.name}: [{key}]: no title", "every source has a title")
    return sources


def _load_table(
    where: str, raw: Mapping[str, Any], columns: Mapping[str, Any], sources: Mapping[str, Source]
) -> Table:
    table: Table = {}
    for item, cells in raw.items():
        for column in cells:
            if column not in columns:
                near = get_close_matches(column, columns, n=2)
                raise KnowledgeError(
                    f"{where}: [{item}]: unknown column '{column}'",
                    f"did you mean {' or '.join(near)}?"
                    if near
                    else f"known: {', '.join(columns)}",
                )
        for column, spec in columns.items():
            if spec["must"] and column not in cells:
                raise KnowledgeError(f"{where}: [{item}]: no '{column}'", "every item states it")
        table[item] = {
            column: _fact(where, column, cell, columns[column], item, sources)
            for column, cell in cells.items()
        }
    return table


def _load_feeding(
    where: str, raw: Mapping[str, Any], sources: Mapping[str, Source]
) -> dict[str, FeedingRule]:
    rules: dict[str, FeedingRule] = {}
    for key, row in raw.items():
        place = f"{where}: [{key}]"
        if row.get("source") not in sources:
            raise KnowledgeError(
                f"{place}: source '{row.get('source')}' is not in the bibliography", "add it"
            )
        basis, unit = row["basis"], row["unit"]
        canonical = {"years": "g", "trunk diameter": "g/m", "medium volume": "g/L"}.get(basis)
        if canonical is None:
            raise KnowledgeError(
                f"{place}: unknown basis '{basis}'", "years, trunk diameter or medium volume"
            )
        steps = []
        for step in row.get("rows", [dict(row["rate"], at=0)] if "rate" in row else []):
            low, high = (convert(float(step[end]), unit, canonical) for end in ("low", "high"))
            value = (
                convert(float(step["value"]), unit, canonical)
                if "value" in step
                else (low + high) / 2
            )
            if not 0 <= low <= value <= high:
                raise KnowledgeError(
                    f"{place}: {step}: value outside its range", "low <= value <= high"
                )
            steps.append(FeedingStep(step["at"], value, low, high, step.get("rounds")))
        if not steps or [s.at for s in steps] != sorted(s.at for s in steps):
            raise KnowledgeError(
                f"{place}: needs rows in order of 'at', or a rate", "see citrus-by-age"
            )
        cap = row.get("cap")
        rules[key] = FeedingRule(
            key,
            row["meaning"],
            basis,
            canonical,
            tuple(steps),
            convert(float(cap["value"]), cap["unit"], "g") if cap else None,
            row.get("fallback"),
            row["source"],
            row.get("locator", ""),
            row["confidence"],
            row.get("note", ""),
        )
    for key, rule in rules.items():
        if rule.fallback and rule.fallback not in rules:
            raise KnowledgeError(
                f"{where}: [{key}]: fallback '{rule.fallback}' is no rule", "name a rule"
            )
    return rules


RawKinds = Mapping[str, tuple[str, Mapping[str, Any]]]


@dataclass
class _Resolver:
    """Builds kinds with every inherited fact from raw tables keyed by kind with the file they came from."""

    raw: RawKinds
    schema: Mapping[str, Mapping[str, Any]]
    feeding: Mapping[str, FeedingRule]
    sources: Mapping[str, Source]
    done: dict[str, Species]

    def build(self, key: str, path: tuple[str, ...] = ()) -> Species:
        """A kind, after its parents; ``path`` are the kinds that wait for it."""
        if key in self.done:
            return self.done[key]
        where, table = self.raw[key]
        place = f"{where}: [{key}]"
        if key in path:
            raise KnowledgeError(f"{place} is its own ancestor", "mend the parents")
        _check_kind(place, table)
        facts: dict[str, Fact] = {}
        lineage: tuple[str, ...] = ()
        botanical = table.get("botanical", "")
        if table.get("parent") is not None:
            parent = self._parent(place, table["parent"], (*path, key))
            facts, lineage = dict(parent.facts), parent.lineage
            botanical = botanical or parent.botanical
        for name, row in table.get("facts", {}).items():
            if name not in self.schema:
                near = get_close_matches(name, self.schema, n=2)
                raise KnowledgeError(
                    f"{place}: unknown fact '{name}'",
                    f"did you mean {' or '.join(near)}?" if near else "see facts.toml",
                )
            facts[name] = _fact(where, name, row, self.schema[name], key, self.sources)
        species = Species(
            key,
            Said(table["name"]),
            botanical,
            (*lineage, key),
            facts,
            tuple(table.get("also", ())),
            table.get("abstract", False),
            table.get("stands_for", ""),
        )
        if not species.abstract:
            _complete(where, species, self.schema, self.feeding)
        self.done[key] = species
        return species

    def _parent(self, place: str, key: str, path: tuple[str, ...]) -> Species:
        if key not in self.raw and key not in self.done:
            near = get_close_matches(key, [*self.raw, *self.done], n=3)
            raise KnowledgeError(
                f"{place}: parent '{key}' is not a kind",
                f"did you mean {' or '.join(near)}?" if near else "name an existing kind",
            )
        return self.build(key, path)


def _check_kind(place: str, table: Mapping[str, Any]) -> None:
    """The keys of a kind and what they hold."""
    strange = set(table) - _KIND_KEYS
    if strange:
        raise KnowledgeError(
            f"{place}: unknown key '{min(strange)}'", f"allowed: {', '.join(sorted(_KIND_KEYS))}"
        )
    for key in ("name", "botanical", "parent", "stands_for"):
        if key in table and not isinstance(table[key], str):
            raise KnowledgeError(
                f"{place}: {key} expects words, got {table[key]!r}", f'{key} = "..."'
            )
    also = table.get("also", [])
    if not isinstance(also, list) or not all(isinstance(one, str) for one in also):
        raise KnowledgeError(f"{place}: also expects a list, got {also!r}", 'also = ["...", "..."]')
    if not isinstance(table.get("abstract", False), bool):
        raise KnowledgeError(f"{place}: abstract expects true or false", "leave it out for a tree")
    if not isinstance(table.get("facts", {}), Mapping):
        raise KnowledgeError(
            f"{place}: facts expects a table, got {table['facts']!r}", "[that kind.facts]"
        )
    if not table.get("name"):
        raise KnowledgeError(f"{place}: no name", "every kind has a name")


def resolve(
    raw: RawKinds,
    schema: Mapping[str, Mapping[str, Any]],
    feeding: Mapping[str, FeedingRule],
    sources: Mapping[str, Source],
    known: Mapping[str, Species],
) -> dict[str, Species]:
    """Kinds with every inherited fact, the known ones among them."""
    resolver = _Resolver(raw, schema, feeding, sources, dict(known))
    for key in raw:
        resolver.build(key)
    for key in raw:
        _check_stand_in(raw[key][0], resolver.done[key], resolver.done)
    return resolver.done


def _check_stand_in(where: str, group: Species, kinds: Mapping[str, Species]) -> None:
    """Only a group is taken as one of its kinds, and only as one that is a tree."""
    meant = kinds.get(group.stands_for)
    if not group.stands_for:
        return
    if not group.abstract or meant is None or meant.abstract or not meant.belongs_to(group.key):
        raise KnowledgeError(
            f"{where}: [{group.key}]: '{group.stands_for}' cannot stand for it",
            "stands_for is written at an abstract group and names a kind of it",
        )


def _complete(
    where: str,
    species: Species,
    schema: Mapping[str, Mapping[str, Any]],
    feeding: Mapping[str, FeedingRule],
) -> None:
    if "habit" not in species.facts:
        raise KnowledgeError(f"{where}: [{species.key}]: no 'habit'", "state it or inherit it")
    groups = {"all", species.habit} | ({"evergreen"} if species.habit == "ever-bearing" else set())
    for name, spec in schema.items():
        if spec.get("for") in groups and name not in species.facts:
            raise KnowledgeError(
                f"{where}: [{species.key}]: no '{name}' ({spec['meaning']})",
                "state it or inherit it",
            )
    rule = species["feeding_rule"].text
    if rule not in feeding:
        raise KnowledgeError(
            f"{where}: [{species.key}]: feeding rule '{rule}' is not in feeding.toml",
            f"known: {', '.join(feeding)}",
        )
    bloom = species["bloom_rule"].text
    wanted = (
        ["bloom_heat_sum", "bloom_heat_base", "bloom_heat_start"]
        if bloom == "heat sum"
        else ["bloom_warmth"]
    )
    for name in wanted:
        if name not in species.facts:
            raise KnowledgeError(
                f"{where}: [{species.key}]: bloom rule '{bloom}' needs '{name}'", "state it"
            )


def _read_table(
    root: Traversable, name: str, columns: Mapping[str, Any], sources: Mapping[str, Source]
) -> Table:
    """A plain table: one file, or a folder of files that share its columns and no item."""
    folder = root / name
    if not folder.is_dir():
        return _load_table(
            f"{name}.toml", _read(root / f"{name}.toml", f"{name}.toml"), columns, sources
        )
    table: Table = {}
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.name.endswith(".toml"):
            where = f"{name}/{file.name}"
            part = _load_table(where, _read(file, where), columns, sources)
            twice = sorted(set(part) & set(table))
            if twice:
                raise KnowledgeError(
                    f"{where}: [{twice[0]}] stands in another file too", "keep one"
                )
            table |= part
    return table


@cache
def knowledge() -> Knowledge:
    """The project's own kinds, loaded and checked once; plain tables follow when they are first asked for."""
    root = files("bearwell.knowledge")
    sources = _load_sources(root)
    schema = {
        name: {**spec, "unit": spec.get("unit", "text")}
        for name, spec in _read(root / "facts.toml", "facts.toml").items()
    }
    loaders: dict[str, Callable[[], Table]] = {}
    for name, columns in _read(root / "tables.toml", "tables.toml").items():
        meaning = columns.pop("meaning")
        if not meaning:
            raise KnowledgeError(f"tables.toml: [{name}]: no meaning", "say what the table holds")
        loaders[name] = partial(_read_table, root, name, columns, sources)
    feeding = _load_feeding("feeding.toml", _read(root / "feeding.toml", "feeding.toml"), sources)
    raw: dict[str, tuple[str, Mapping[str, Any]]] = {}
    for folder in ("species", "cultivars"):
        for file in sorted((root / folder).iterdir(), key=lambda f: f.name):
            if file.name.endswith(".toml"):
                _gather(raw, f"{folder}/{file.name}", _read(file, f"{folder}/{file.name}"))
    species = resolve(raw, schema, feeding, sources, {})
    return Knowledge(species, feeding, Tables(loaders), sources, schema)


def _gather(
    raw: dict[str, tuple[str, Mapping[str, Any]]], where: str, tables: Mapping[str, Any]
) -> None:
    for key, table in tables.items():
        if key in raw:
            raise KnowledgeError(f"{where}: kind '{key}' is also in {raw[key][0]}", "keep one")
        raw[key] = (where, table)


def used_sources(book: Knowledge) -> set[str]:
    """Every bibliography key that a row points to."""
    used = {fact.source for kind in book.species.values() for fact in kind.facts.values()}
    used |= {c.source for t in book.tables.values() for item in t.values() for c in item.values()}
    return used | {rule.source for rule in book.feeding.values()}
