"""The faces call the public door and nothing deeper."""

from __future__ import annotations

import ast

import pytest
from house import SOURCE, modules, part_of, place

OPEN = (
    "bearwell.api",
    "bearwell.csvsafe",
    "bearwell.errors",
    "bearwell.quantities",
    "bearwell.reasons",
    "bearwell.said",
    "bearwell.wholefile",
    "bearwell.faces",
)


def deeper(tree: ast.AST) -> list[tuple[int, str]]:
    """Imports of bearwell, at any depth of the code, that reach past what is open to faces."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = "bearwell.faces" if node.level else node.module or ""
            names = [base]
            if base == "bearwell":
                # Only parts count: the package itself says its version.
                names = [
                    f"bearwell.{alias.name}" for alias in node.names if alias.name != "__version__"
                ]
        else:
            continue
        for name in names:
            ours = name.split(".")[0] == "bearwell"
            shut = name not in OPEN and not name.startswith("bearwell.faces.")
            if ours and shut:
                found.append((node.lineno, name))
    return found


def test_faces_import_only_the_public_door() -> None:
    faces = [(file, tree) for file, tree in modules() if part_of(file) == "faces"]
    found = [
        f"{place(file, tree).rsplit(':', 1)[0]}:{line}: {name}"
        for file, tree in faces
        for line, name in deeper(tree)
    ]

    assert len(faces) > 10
    assert found == []


@pytest.mark.parametrize(
    "code",
    [
        "from bearwell.plan.advice import Advice",
        "from bearwell.api.gardens import year_span",
        "def f():\n    import bearwell.season.cycle",
        "from bearwell import knowledge",
        "import bearwell.garden.model as model",
    ],
)
def test_a_deeper_import_is_found(code: str) -> None:
    assert len(deeper(ast.parse(code))) == 1


def test_what_the_door_names_is_there() -> None:
    import bearwell.api as api

    assert SOURCE.is_dir()
    assert [name for name in api.__all__ if not hasattr(api, name)] == []
