"""Writes docs/reference/ from the code: what a grower may write, ask and read, nothing left out.

`python tools/reference.py` writes the pages, `--check` says which are not current and exits 1.
"""

from __future__ import annotations

import ast
import inspect
import sys
import tomllib
import types
import typing
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import click
from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo

from bearwell import quantities
from bearwell.api import knowledge, reckoners
from bearwell.faces.cli import cli
from bearwell.garden import cold, counts, model, pruning
from bearwell.garden import water as watering
from bearwell.knowledge import Fact, Knowledge, Species
from reference_common import HEAD, ROOT, Undocumented, both_ways, table
from reference_pages import page_twins_page

PAGES = ROOT / "docs" / "reference"
WORDS = tomllib.loads(Path(__file__).with_name("reference_words.toml").read_text("utf-8"))


def number(value: float) -> str:
    """A number without needless figures."""
    return f"{value:.6g}".replace("-", "−")


def short(value: float) -> str:
    """A number in three figures."""
    return number(round(value) if abs(value) >= 100 else float(f"{value:.3g}"))


# ---------------------------------------------------------------- quantities


def quantities_page() -> str:
    """Units and quantities."""
    text = HEAD + "# Quantities and units\n\n"
    text += (
        'Every measure in a garden file is a text with its unit, such as `"2.1 m"` or `"7 ft"`. Any unit of '
        "the same family will do. Inside, and in JSON, every number is in the canonical unit of its quantity.\n\n"
        "## Quantities you may write\n\n"
    )
    text += table(
        ("quantity", "meaning", "canonical unit", "plausible from", "to"),
        (
            (f"`{kind.name}`", kind.meaning, f"`{kind.unit}`", number(kind.low), number(kind.high))
            for kind in quantities.kinds().values()
        ),
    )
    spellings: dict[str, list[str]] = {name: [] for name in quantities.units()}
    raw = tomllib.loads((ROOT / "src/bearwell/quantities.toml").read_text("utf-8"))
    for name, row in raw["unit"].items():
        spellings[name] = row.get("names", [])
    families: dict[str, list[quantities.Unit]] = {}
    for unit in quantities.units().values():
        families.setdefault(unit.family, []).append(unit)
    text += "## Units\n\nThe factor turns a value into the first unit of its family; an offset is added after.\n\n"
    rows = []
    for family, members in families.items():
        for unit in members:
            offset = (
                f", then {'+' if unit.offset > 0 else '−'} {number(abs(unit.offset))}"
                if unit.offset
                else ""
            )
            also = ", ".join(f"`{spelling}`" for spelling in spellings[unit.name])
            rows.append((family, f"`{unit.name}`", also, f"× {number(unit.factor)}{offset}"))
    return text + table(("family", "unit", "also written", "factor"), rows)


# ---------------------------------------------------------------- kinds


def measure(fact: Fact | None) -> str:
    """A fact in one cell: value, range and unit."""
    if fact is None:
        return ""
    if isinstance(fact.value, str):
        return fact.value
    span = f" ({short(fact.least)} to {short(fact.most)})" if fact.least != fact.most else ""
    unit = "" if fact.unit in ("1", "count") else f" {fact.unit}"
    return f"{short(fact.number)}{span}{unit}"


def group_of(kind: Species, book: Knowledge) -> str:
    """The heading a kind stands under: its topmost ancestor."""
    return book.species[kind.lineage[0]].name


def kinds_page() -> str:
    """Kinds of tree and everything that may be known of one."""
    book = knowledge()
    kinds = [kind for kind in book.species.values() if not kind.abstract]
    text = HEAD + "# Kinds of tree\n\n"
    text += (
        f"{len(kinds)} kinds. In a garden file `kind` takes the key or any of the names. Every figure of a kind, "
        "with its range, source and how sure it is, is on the page `/kind/<key>` of `bearwell serve`. To add a "
        "kind of your own see [the growers' guide](../growers.md#a-kind-of-your-own).\n\n"
    )
    taken = {group.stands_for: group.key for group in book.species.values() if group.stands_for}
    plain = ", ".join(f"`{group}` as `{kind}`" for kind, group in taken.items())
    text += (
        f"Some plain names stand for many kinds that differ much. They are taken as a middling one, with a note in "
        f"`bearwell check`: {plain}.\n\n"
    )
    groups: dict[str, list[Species]] = {}
    for kind in kinds:
        groups.setdefault(group_of(kind, book), []).append(kind)
    for name, members in sorted(groups.items(), key=lambda pair: pair[0].lower()):
        text += f"## {name[:1].upper()}{name[1:]}\n\n"
        text += table(
            ("key", "name", "also called", "botanical name", "habit", "bloom to ripe", "fed by"),
            (
                (
                    f"`{kind.key}`", kind.name, ", ".join(kind.also), kind.botanical, kind.habit,
                    measure(kind.get("bloom_to_ripe")), kind["feeding_rule"].text,
                )
                for kind in sorted(members, key=lambda kind: (len(kind.lineage), kind.key))
            ),
        )  # fmt: skip
    text += "## What may be stated of a kind\n\n"
    text += "These are the facts a kind of your own may state under `[kind.<key>.facts]`.\n\n"
    rows = []
    for name, spec in book.schema.items():
        if spec["unit"] == "text":
            what = (
                "words"
                if spec["choices"] == ["text"]
                else " or ".join(f"`{c}`" for c in spec["choices"])
            )
            span = ""
        else:
            what = f"`{spec['unit']}`"
            span = f"{number(spec['low'])} to {number(spec['high'])}"
        rows.append((f"`{name}`", spec["meaning"], what, span, spec["for"] or "optional"))
    return text + table(("fact", "meaning", "unit", "plausible", "needed by"), rows)


# ---------------------------------------------------------------- reckoners


def reckoners_page() -> str:
    """Every ready calculation."""
    text = HEAD + "# Reckoners\n\n"
    text += (
        "Ready calculations that need no garden: `bearwell reckon NAME --option value ...`, the page `/reckon`, "
        'and in Python `bearwell.api.reckon("canopy", height="3 m", spread="3 m")`. A value may carry its '
        'unit (`"0.5 lb"`); a bare number is taken in the unit shown. `--json` gives `reckoner`, `inputs`, '
        "`results`, `because` and `cautions`.\n\n"
    )
    found = reckoners()
    text += table(
        ("name", "what it works out"), ((f"[{n}](#{n})", one.summary) for n, one in found.items())
    )
    for name, one in found.items():
        text += f"## {name}\n\n{one.summary}\n\n"
        text += table(
            ("option", "unit", "", "meaning"),
            (
                (
                    f"`--{option.name}`", option.unit,
                    ", ".join(["needed" if option.required else "optional", *(["may repeat"] if option.multiple else [])]),
                    option.help,
                )
                for option in one.options
            ),
        )  # fmt: skip
        text += f"Results: {', '.join(f'`{field}`' for field in one.fields)}.\n\n"
        if one.example:
            text += f"    bearwell reckon {name} {one.example}\n\n"
    return text


# ---------------------------------------------------------------- commands


def commands_of(
    group: click.Group, context: click.Context, above: str = ""
) -> Iterator[tuple[str, click.Command]]:
    """Every command with its full name, those of a group after the group."""
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if command is None:
            raise Undocumented(f"command {name}: not found")
        yield f"{above}{name}", command
        if isinstance(command, click.Group):
            yield from commands_of(command, context, f"{above}{name} ")


def commands_page() -> str:
    """The command line."""
    text = HEAD + "# Commands\n\n"
    text += (
        "Errors go to stderr in one line with a hint. Exit codes: 0 done, 1 failure, 2 bad input, 130 stopped by "
        "the user.\n\n"
    )
    with click.Context(cli, info_name="bearwell") as context:
        for name, command in commands_of(cli, context):
            if not command.help:
                raise Undocumented(f"command {name}: no help text")
            with click.Context(command, info_name=name, parent=context) as inner:
                usage = " ".join(command.collect_usage_pieces(inner))
                text += f"## {name}\n\n{inspect.cleandoc(command.help)}\n\n    bearwell {name} {usage}\n\n"
                rows = []
                for parameter in command.get_params(inner):
                    if isinstance(parameter, click.Argument):
                        continue  # the usage line and the text above it tell what it is
                    record = parameter.get_help_record(inner)
                    if record is None:
                        continue
                    if not record[1]:
                        raise Undocumented(f"command {name}: option {record[0]} has no help text")
                    rows.append((f"`{record[0]}`", record[1]))
                text += table(("option", "meaning"), rows)
    return text


# ---------------------------------------------------------------- garden file

TABLES: tuple[tuple[str, str, type[BaseModel]], ...] = (
    ("`[garden]`", "", model.About),
    ("`[site]`", "", model.Site),
    ("`soil_test = { ... }`", "in `[site]`", model.SoilTest),
    ("A reading of a soil test", "in `soil_test`", model.Reading),
    ("Measured soil", "in place of a texture class under `soil`", model.MeasuredSoil),
    ("`[weather]`", "", model.Weather),
    ("`[weather.normals]`", "", model.Normals),
    ("`[feeding]`", "", model.Feeding),
    ("`[pruning]`", "", pruning.Pruning),
    ("`[cold]`", "", cold.Cold),
    ("`nights = [ { ... } ]`", "in `[cold]`", cold.Night),
    ("`evenings = [ { ... } ]`", "in `[cold]`", cold.Evening),
    ("`lowest = [ { ... } ]`", "in `[cold]`", cold.Lowest),
    ("`[[no_feeding]]`", "repeated for each rule", model.NoFeeding),
    ("`[watering]`", "", watering.Watering),
    ("`[[no_watering]]`", "repeated for each rule", watering.NoWatering),
    ("`[[shelter]]`", "repeated for each shelter", model.Shelter),
    ("`[[product]]`", "repeated for each product", model.Product),
    ("`[[tree]]`", "repeated for each tree", model.Tree),
    ("`cut_more = { ... }`", "of a tree", pruning.CutMore),
    ("`grows_in = { ... }`", "of a tree in a pot", model.Container),
    (
        "`drip = { ... }`",
        "of a tree, or in `[watering]` for every tree in the ground",
        watering.Drip,
    ),
    ("`place = { ... }`", "of a tree or a shelter", model.Where),
    ("`leaf_tests = [ { ... } ]`", "of a tree", model.LeafTest),
    ("`shortages = [ { ... } ]`", "of a tree", model.SeenShortage),
    ("`harvests = [ { ... } ]`", "of a tree", counts.Harvest),
    ("`observed = [ { ... } ]`", "of a tree", model.Observed),
    ("`counts = [ { ... } ]`", "of a tree", counts.Count),
    ("`paths = [ { ... } ]`", "of a count", counts.Path),
    ("`done = [ { ... } ]`", "of a tree", model.Done),
)


def measured_as(metadata: Iterable[Any]) -> str | None:
    """The quantity that a field's reader turns a text into, if it is a measure."""
    for one in metadata:
        if isinstance(one, BeforeValidator) and inspect.isfunction(one.func):
            seen = inspect.getclosurevars(one.func).nonlocals
            if "quantity" in seen:
                return str(seen["quantity"])
    return None


def written_as(annotation: Any, metadata: Iterable[Any] = ()) -> str:
    """How a value of this type is written in the file."""
    metadata = list(metadata)
    origin, inside = typing.get_origin(annotation), typing.get_args(annotation)
    quantity = measured_as(metadata)
    if quantity:
        kind = quantities.kinds()[quantity]
        if origin is tuple:
            return f'"twelve numbers and a unit" ({kind.unit})'
        named = [
            name
            for name in quantities.spellings_of(quantities.unit(kind.unit).family)
            if name != "1"
        ]
        return f'"measure" ({", ".join(named[:4])})'
    if origin is typing.Annotated:
        return written_as(inside[0], [*inside[1:], *metadata])
    if origin in (typing.Union, types.UnionType):
        parts = [written_as(part) for part in inside if part is not type(None)]
        return " or ".join(dict.fromkeys(parts))
    if origin is typing.Literal:
        return " or ".join(f'"{word}"' if isinstance(word, str) else str(word) for word in inside)
    if origin is tuple:
        if len(inside) == 2 and inside[1] is not Ellipsis:
            return f"{written_as(inside[0])}, once or [along, across]"
        return f"[ {written_as(inside[0])}, ... ]"
    if origin is dict:
        return f"{{ side = {written_as(inside[1])}, side = ... }}"
    if inspect.isclass(annotation) and issubclass(annotation, BaseModel):
        return "{ ... }"
    plain = {str: '"text"', float: "number", int: "whole number", bool: "true or false"}
    plain[date] = "2026-04-14"
    if annotation not in plain:
        raise Undocumented(f"a field of type {annotation}")
    return plain[annotation]


def default_of(field: FieldInfo) -> str:
    """Whether a key must be written, and what holds without it."""
    if field.is_required():
        return "**needed**"
    value = field.get_default()
    if value is None or value in ((), ""):
        return ""
    if isinstance(value, BaseModel):
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return "[" + ", ".join(f'"{one}"' for one in value) + "]"
    quantity = measured_as(field.metadata)
    unit = f" {quantities.kinds()[quantity].unit}" if quantity else ""
    return f'"{value}"' if isinstance(value, str) else f"{number(value)}{unit}"


def words_list(book: Knowledge) -> str:
    """The words that tables of knowledge allow in a garden file."""
    text = "## Words from the tables\n\n"

    def rows(table_name: str, *columns: str) -> list[tuple[str, ...]]:
        items = book.table(table_name)
        return [
            (f'"{key}"', *(measure(row.get(column)) for column in columns))
            for key, row in items.items()
        ]

    text += "### soil\n\n"
    text += table(("soil", "holds after draining", "holds when wilting", "least feedings a year"),
                  rows("soils", "field_capacity", "wilting_point", "splits"))  # fmt: skip
    text += "### medium\n\n"
    text += table(
        ("medium", "water it holds, share of volume"), rows("containers", "available_water")
    )
    text += "### cover\n\n"
    text += table(("cover", "warmer than outside on a still clear night"), rows("covers", "lift"))
    text += "### rootstock\n\n"
    text += table(("rootstock", "also called", "cold, against a seedling", "vigour", "remark"),
                  rows("rootstocks", "also", "cold", "vigour", "remark"))  # fmt: skip
    text += "### shape\n\nOf a tree's canopy.\n\n"
    text += table(("shape", "what it looks like", "also called", "a cut makes smaller"),
                  rows("shapes", "says", "also", "gives"))  # fmt: skip
    text += "### release\n\n"
    text += table(("release", "share of nitrogen in the first warm season", "lasts", "remark"),
                  rows("releases", "first_season", "duration", "remark"))  # fmt: skip
    text += "### norms\n\nOf a leaf test.\n\n"
    text += table(("norms", "for", "leaves"), rows("leafsets", "groups", "leaf"))
    text += "### Common products\n\nLabels and cup weights to start from; your own bag and scales are better.\n\n"
    text += table(("material", "label", "release", "a level cup weighs"),
                  rows("materials", "label", "release", "cup_mass"))  # fmt: skip
    return text


def garden_file_page() -> str:
    """The garden file, key by key."""
    told = WORDS["garden-file"]
    both_ways("garden file tables", [one.__name__ for _, _, one in TABLES] + ["Garden"], told)
    text = HEAD + "# The garden file, key by key\n\n"
    text += (
        "Plain text (TOML). Start with [the growers' guide](../growers.md). A measure is a text with its unit; "
        "[any unit](quantities.md) of the family will do. At the head of the file stands `bearwell = 1`, the "
        "version of this format.\n\n"
    )
    both_ways("Garden", model.Garden.model_fields, told["Garden"])
    text += table(
        ("table", "meaning"),
        (
            (f"`{field.alias or key}`", told["Garden"][key])
            for key, field in model.Garden.model_fields.items()
        ),
    )
    for heading, where, one in TABLES:
        words = told[one.__name__]
        both_ways(one.__name__, one.model_fields, words)
        text += f"## {heading}\n\n" + (f"{where[:1].upper()}{where[1:]}.\n\n" if where else "")
        text += table(
            ("key", "written as", "without it", "meaning"),
            (
                (f"`{field.alias or key}`", written_as(field.annotation, field.metadata), default_of(field), words[key])
                for key, field in one.model_fields.items()
            ),
        )  # fmt: skip
    return text + words_list(knowledge())


# ---------------------------------------------------------------- advice


def keys_of(node: ast.AST) -> list[str]:
    """The texts that are keys of a dictionary in the code."""
    return [
        key.value
        for key in getattr(node, "keys", [])
        if isinstance(key, ast.Constant) and isinstance(key.value, str)
    ]


def returned_keys(function: str) -> list[str]:
    """The keys of the dictionary that a function of the twins returns."""
    tree = ast.parse((ROOT / "src/bearwell/faces/twins.py").read_text("utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name == function:
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and isinstance(inner.value, ast.Dict):
                    return keys_of(inner.value)
    raise Undocumented(f"twins.{function} returns no dictionary")


def details_by_kind() -> dict[str, set[str]]:
    """The keys of `details` by kind of advice, as the planners write them."""
    found: dict[str, set[str]] = {}
    for file in sorted((ROOT / "src/bearwell/plan").glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if not (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Advice"):
                continue
            given = {word.arg: word.value for word in node.keywords}
            kind = given.get("kind")
            if not isinstance(kind, ast.Constant) or "details" not in given:
                raise Undocumented(
                    f"{file.name}:{node.lineno}: an Advice without a plain kind or details"
                )
            found.setdefault(str(kind.value), set()).update(keys_of(given["details"]))
    return found


def advice_page() -> str:
    """The JSON that faces give."""
    told, twins = WORDS["json"], {
        "worklist": ("worklist_twin", "The worklist", "`bearwell worklist GARDEN --json` and `/week.json`."),
        "advice": ("advice_twin", "One advice", ""),
        "because": ("because_twin", "One link of the chain of reasons", ""),
        "problem": ("problem_twin", "One problem", ""),
        "year": ("year_twin", "A tree's year", "`bearwell year GARDEN --json` gives a list of these."),
        "reckoning": ("reckoning_twin", "A calculation", "`bearwell reckon NAME ... --json`."),
    }  # fmt: skip
    both_ways("json", twins, told)
    text = HEAD + "# Advice as JSON\n\n"
    text += (
        "Dates are ISO dates. Values are in canonical units whatever the garden shows; `display` and the "
        "sentences are in the garden's units.\n\n"
    )
    for name, (function, heading, lead) in twins.items():
        both_ways(f"json {name}", returned_keys(function), told[name])
        text += f"## {heading}\n\n" + (f"{lead}\n\n" if lead else "")
        text += table(
            ("field", "meaning"), ((f"`{key}`", words) for key, words in told[name].items())
        )
    details = details_by_kind()
    both_ways("kinds of advice", details, WORDS["details"])
    both_ways("jobs", details, model.JOBS)
    text += "## details, by kind of advice\n\n"
    for kind in model.JOBS:
        both_ways(f"details of {kind}", details[kind], WORDS["details"][kind])
        text += f"### {kind}\n\n"
        text += table(
            ("field", "meaning"),
            ((f"`{key}`", words) for key, words in WORDS["details"][kind].items()),
        )
    return text


PAGE_WRITERS = {
    "quantities.md": quantities_page,
    "kinds.md": kinds_page,
    "reckoners.md": reckoners_page,
    "commands.md": commands_page,
    "garden-file.md": garden_file_page,
    "advice.md": advice_page,
    "pages.md": page_twins_page,
}


def pages() -> dict[str, str]:
    """Every reference page by file name."""
    return {name: write().rstrip("\n") + "\n" for name, write in PAGE_WRITERS.items()}


def main() -> int:
    """Write the pages, or check them."""
    try:
        written = pages()
    except Undocumented as error:
        print(f"{error}\nits words belong in tools/reference_words.toml", file=sys.stderr)
        return 1
    stale = [
        name for name, text in written.items()
        if not (PAGES / name).exists() or (PAGES / name).read_text("utf-8") != text
    ]  # fmt: skip
    if "--check" in sys.argv[1:]:
        if stale:
            print(f"not current: {', '.join(stale)}; run `make docs`", file=sys.stderr)
        return 1 if stale else 0
    PAGES.mkdir(parents=True, exist_ok=True)
    for name in stale:
        (PAGES / name).write_text(written[name], "utf-8")
    print(f"{len(written)} pages, rewritten: {', '.join(stale) or 'none'}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
