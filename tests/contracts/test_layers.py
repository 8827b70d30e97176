"""Imports point down, the clock stays in the faces, formulas and plans touch no disk."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from house import ORDER, SOURCE, modules, part_of, place

SCIENCE_MAY_IMPORT = {"errors", "quantities", "said", "science"}
CLOCK_CALLS = {"today", "now", "utcnow"}
CLOCK_MODULES = {"time"}
SEEDED = {"default_rng", "Generator", "SeedSequence", "BitGenerator", "PCG64"}
NO_DISK = {"science", "season", "plan"}
DISK_CALLS = {
    "open", "read_text", "write_text", "read_bytes", "write_bytes", "mkdir", "unlink", "touch", "rename", "replace_file",
}  # fmt: skip


def _without_type_checking(tree: ast.AST) -> Iterator[ast.AST]:
    """Every node except what stands under ``if TYPE_CHECKING``."""
    for child in ast.iter_child_nodes(tree):
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            for other in child.orelse:
                yield other
                yield from _without_type_checking(other)
            continue
        yield child
        yield from _without_type_checking(child)


def _imported(file: Path, node: ast.AST) -> list[str]:
    """The parts of bearwell that an import statement reaches."""
    if isinstance(node, ast.Import):
        names = [alias.name for alias in node.names]
    elif isinstance(node, ast.ImportFrom):
        base = node.module or ""
        if node.level:
            here = ("bearwell", *file.relative_to(SOURCE).parent.parts)
            above = here[: len(here) - node.level + 1]
            base = ".".join((*above, *([base] if base else [])))
        names = [f"{base}.{alias.name}" for alias in node.names]
    else:
        return []
    return [
        parts[1] for name in names if (parts := name.split("."))[0] == "bearwell" and len(parts) > 1
    ]


def upward_imports(file: Path, tree: ast.Module) -> list[str]:
    """Imports of a module that do not point down."""
    part, wrong = part_of(file), []
    for node in _without_type_checking(tree):
        for target in _imported(file, node):
            if target not in ORDER:
                continue  # a name of the package itself, such as __version__
            rises = ORDER.index(target) > ORDER.index(part)
            if rises or (part == "science" and target not in SCIENCE_MAY_IMPORT):
                wrong.append(f"{place(file, node)}: {part} imports {target}")
    return wrong


def clocks_and_chance(file: Path, tree: ast.Module) -> list[str]:
    """Looks at a clock or unseeded chance in a module."""
    wrong = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            base = (
                [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else [a.name for a in node.names]
            )
            named = {name.split(".")[0] for name in base}
            if isinstance(node, ast.ImportFrom) and node.level:
                named = set()
            bad = named & (CLOCK_MODULES | {"random", "secrets"})
            wrong += [f"{place(file, node)}: imports {name}" for name in sorted(bad)]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            if name in CLOCK_CALLS:
                wrong.append(f"{place(file, node)}: calls {ast.unparse(node.func)}()")
            if name == "default_rng" and not node.args and not node.keywords:
                wrong.append(f"{place(file, node)}: default_rng() without a seed")
        if isinstance(node, ast.Attribute) and node.attr not in SEEDED:
            owner = ast.unparse(node.value)
            if owner in ("np.random", "numpy.random"):
                wrong.append(f"{place(file, node)}: {owner}.{node.attr} is not seeded")
    return wrong


def disk(file: Path, tree: ast.Module) -> list[str]:
    """Files opened, read or written in a module."""
    wrong = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            if name in DISK_CALLS:
                wrong.append(f"{place(file, node)}: {ast.unparse(node.func)}()")
    return wrong


def crude_refusals(file: Path, tree: ast.Module) -> list[str]:
    """Assertions, which vanish under -O, and exceptions without a name of their own."""
    wrong = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Assert):
            wrong.append(f"{place(file, node)}: assert")
        if isinstance(node, ast.Raise) and node.exc is not None:
            raised = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
            if ast.unparse(raised) in ("Exception", "BaseException"):
                wrong.append(f"{place(file, node)}: raise {ast.unparse(raised)}")
    return wrong


def test_every_part_has_its_place() -> None:
    assert {part_of(file) for file, _ in modules()} <= set(ORDER)


def test_imports_point_down() -> None:
    assert [line for file, tree in modules() for line in upward_imports(file, tree)] == []


def test_no_clock_and_no_unseeded_chance_below_the_faces() -> None:
    below = [(file, tree) for file, tree in modules() if part_of(file) != "faces"]

    assert [line for file, tree in below for line in clocks_and_chance(file, tree)] == []


def test_formulas_seasons_and_plans_touch_no_disk() -> None:
    pure = [(file, tree) for file, tree in modules() if part_of(file) in NO_DISK]

    assert [line for file, tree in pure for line in disk(file, tree)] == []


def test_refusals_have_a_name() -> None:
    assert [line for file, tree in modules() for line in crude_refusals(file, tree)] == []


# The checks above would pass on an empty tree; these show that each of them can fail.
@pytest.mark.parametrize(
    ("where", "code", "check"),
    [
        ("season/x.py", "def f():\n    from bearwell.plan.feed import plan_feed", upward_imports),
        ("season/x.py", "import bearwell.api", upward_imports),
        ("season/x.py", "from ..plan import feed", upward_imports),
        ("science/x.py", "from bearwell.knowledge import knowledge", upward_imports),
        ("reasons.py", "from bearwell.knowledge import Fact", upward_imports),
        ("plan/x.py", "from datetime import date\nday = date.today()", clocks_and_chance),
        ("plan/x.py", "import datetime as dt\nday = dt.datetime.now(dt.UTC)", clocks_and_chance),
        ("plan/x.py", "from time import monotonic", clocks_and_chance),
        ("plan/x.py", "import random", clocks_and_chance),
        ("plan/x.py", "import numpy as np\nx = np.random.normal()", clocks_and_chance),
        ("plan/x.py", "import numpy as np\nx = np.random.default_rng()", clocks_and_chance),
        ("plan/x.py", "open('notes.txt')", disk),
        ("plan/x.py", "from pathlib import Path\nPath('a').write_text('b')", disk),
        ("plan/x.py", "assert True", crude_refusals),
        ("plan/x.py", "raise Exception('no')", crude_refusals),
    ],
)
def test_each_check_finds_what_it_looks_for(where: str, code: str, check) -> None:  # type: ignore[no-untyped-def]
    assert len(check(SOURCE / where, ast.parse(code))) >= 1


def test_type_checking_imports_may_point_up() -> None:
    code = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from bearwell.knowledge import Fact"

    assert upward_imports(SOURCE / "reasons.py", ast.parse(code)) == []
