"""The reference page of the JSON twins of pages, read off the functions that make them."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

from reference_common import HEAD, ROOT, Undocumented, both_ways, table

# Heading, address, module and function of each page that has a JSON twin of its own shape.
PAGE_TWINS: tuple[tuple[str, str, str, str], ...] = (
    ("The garden", "/garden.json", "web/pages/garden.py", "garden_twin"),
    ("The trees", "/trees.json", "web/pages/tree.py", "entries_twin"),
    (
        "A tree, beside [its year](advice.md#a-trees-year)",
        "/tree/<id>.json",
        "web/pages/tree.py",
        "tree_twin",
    ),
    ("A kind", "/kind/<key>.json", "web/pages/knowledge.py", "kind_twin"),
    ("What ails a leaf", "/leaf.json", "web/pages/leaf.py", "leaf_twin"),
    ("What ails a leaf: `diagnoses`", "/leaf.json", "web/pages/leaf.py", "_diagnosis_twin"),
    ("A tree's feeding year", "/tree/<id>/feeding.json", "twins_feeding.py", "feeding_twin"),
    ("The shelf", "/shelf.json", "twins_feeding.py", "shelf_twin"),
    ("The feeding sheet", "/sheet.json", "twins_feeding.py", "sheet_twin"),
    ("A tree's pruning", "/tree/<id>/pruning.json", "twins_pruning.py", "pruning_twin"),
    ("A tree's pruning: `fit`", "/tree/<id>/pruning.json", "twins_pruning.py", "_fit"),
    ("A tree's pruning: `reduction`", "/tree/<id>/pruning.json", "twins_pruning.py", "_reduction"),
    ("A tree's pruning: `window`", "/tree/<id>/pruning.json", "twins_pruning.py", "_window"),
    ("A tree's pruning: `wood`", "/tree/<id>/pruning.json", "twins_pruning.py", "_wood"),
    ("The pruning sheet", "/sheet/pruning.json", "twins_pruning.py", "prune_sheet_twin"),
    ("A tree's water", "/tree/<id>/water.json", "watering.py", "water_twin"),
    ("The sheet of water", "/water.json", "watering.py", "water_sheet_twin"),
    ("A past season", "/season.json", "season.py", "season_twin"),
    ("A past season: `trees`", "/season.json", "season.py", "tree_season_twin"),
    ("A past season: `lines`, `looks`", "/season.json", "season.py", "line_twin"),
    ("A past season: a record", "/season.json", "season.py", "act_twin"),
    ("A past season: `crops`", "/season.json", "season.py", "crop_look_twin"),
    ("A past season: `changes`", "/season.json", "season.py", "change_twin"),
    ("Tonight", "/tonight.json", "twins_cold.py", "tonight_twin"),
    ("Tonight: `night`", "/tonight.json", "twins_cold.py", "_night"),
    ("Tonight: `trees`", "/tonight.json", "twins_cold.py", "_tree"),
    ("Tonight: `trees[].organs`", "/tonight.json", "twins_cold.py", "_harm"),
    ("The winters", "/winter.json", "twins_cold.py", "winter_twin"),
    ("The winters: `first_frost`, `last_frost`", "/winter.json", "twins_cold.py", "_frost"),
    ("The winters: `trees`", "/winter.json", "twins_cold.py", "_outlook"),
    ("The winters: a way a tree is hurt", "/winter.json", "twins_cold.py", "_hazard"),
    ("The winters: a yearly chance", "/winter.json", "twins_cold.py", "_chance"),
    ("The weather record", "/weather.json", "twins_weather.py", "weather_twin"),
    ("The history of a store", "/history.json", "web/pages/record.py", "history_twin"),
    ("What a device keeps", "/outdoors.json", "web/pages/outdoors.py", "outdoors_twin"),
    ("The history of a store: an entry", "/history.json", "telling.py", "entry_twin"),
    ("What there is to print", "/paper.json", "twins_paper.py", "paper_twin"),
    ("The week's sheet", "/sheet/week.json", "twins_paper.py", "week_sheet_twin"),
    ("The year's poster", "/poster.json", "twins_paper.py", "poster_twin"),
    ("Tags for the trees", "/tags.json", "twins_paper.py", "tags_twin"),
    ("The garden from above", "/map.json", "twins_paper.py", "map_twin"),
    ("A tree's crop", "/tree/<id>/crop.json", "web/pages/crop.py", "crop_twin"),
    ("A tree's crop: `buys`", "/tree/<id>/crop.json", "web/pages/crop.py", "_side_twin"),
    ("A tree's crop: `policies`", "/tree/<id>/crop.json", "web/pages/crop.py", "_policy_twin"),
    ("Counting a tree", "/tree/<id>/count.json", "web/pages/count.py", "count_twin"),
)


def fields_of(node: ast.AST, before: str = "") -> list[str]:
    """The fields of a dictionary in the code with what stands inside them: `rounds[].doses`."""
    if isinstance(node, ast.IfExp):
        return [*fields_of(node.body, before), *fields_of(node.orelse, before)]
    if isinstance(node, ast.ListComp):
        return fields_of(node.elt, f"{before[:-1]}[]." if before else "")
    found: list[str] = []
    if isinstance(node, ast.Dict):
        for key, value in zip(node.keys, node.values, strict=True):
            if isinstance(key, ast.Constant) and isinstance(key.value, str):
                found += [f"{before}{key.value}", *fields_of(value, f"{before}{key.value}.")]
    return found


def twin_fields(module: str, function: str) -> list[str]:
    """The fields that a function making the twin of a page returns."""
    tree = ast.parse((ROOT / "src/bearwell/faces" / module).read_text("utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name == function:
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and isinstance(inner.value, ast.Dict):
                    return fields_of(inner.value)
    raise Undocumented(f"{module}: {function} returns no dictionary")


def page_twins_page() -> str:
    """The JSON twins of pages."""
    told = {
        name: words
        for file in sorted(Path(__file__).parent.glob("reference_twins*.toml"))
        for name, words in tomllib.loads(file.read_text("utf-8")).items()
    }
    both_ways("twins of pages", [one[3] for one in PAGE_TWINS], told)
    text = HEAD + "# Pages as JSON\n\n"
    text += (
        "The address of a page with `.json` behind it gives what the page shows. Dates are ISO dates, values in "
        "canonical units. `[]` stands for each row of a list. A `because` is a list of "
        "[links of reasoning](advice.md#one-link-of-the-chain-of-reasons).\n\n"
    )
    for heading, address, module, function in PAGE_TWINS:
        both_ways(function, twin_fields(module, function), told[function])
        text += f"## {heading}\n\n`{address}`\n\n"
        text += table(
            ("field", "meaning"), ((f"`{k}`", words) for k, words in told[function].items())
        )
    return text
