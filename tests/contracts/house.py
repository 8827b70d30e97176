"""Where things stand in the house, for the contract tests."""

from __future__ import annotations

import ast
import shutil
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "bearwell"
FINGERPRINTS = Path(__file__).with_name("knowledge.sha256")

# From the ground up: a part may import only parts to its left.
ORDER = (
    "csvsafe", "said", "errors", "wholefile", "pictures", "quantities", "reasons", "knowledge", "science", "weather", "garden", "season", "plan", "reckon",
    "store", "demo", "api", "faces",
)  # fmt: skip
_NOT_OURS = {
    ".git", ".venv", ".hypothesis", ".mypy_cache", ".pytest_cache", ".ruff_cache", "__pycache__", "demo-garden",
    "dist", "build",
}  # fmt: skip


@cache
def modules() -> tuple[tuple[Path, ast.Module], ...]:
    """Every module of the package with its syntax tree."""
    return tuple(
        (file, ast.parse(file.read_text("utf-8"), str(file)))
        for file in sorted(SOURCE.rglob("*.py"))
        if file.parent != SOURCE or file.name != "__init__.py"
    )


def part_of(file: Path) -> str:
    """The part of the house a module belongs to: science, plan, errors ..."""
    return file.relative_to(SOURCE).parts[0].removesuffix(".py")


def place(file: Path, node: ast.AST) -> str:
    """Where a complaint stands, for a message."""
    return f"{file.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"


def project_files() -> list[Path]:
    """Every file of the project as git sees it, or by walking the tree where there is no git."""
    git = shutil.which("git")
    if git and (ROOT / ".git").exists():
        listed = subprocess.run(
            [git, "-C", str(ROOT), "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            capture_output=True, check=False, text=True,
        )  # fmt: skip
        if listed.returncode == 0:
            return [
                f for name in listed.stdout.split("\0") if name and (f := ROOT / name).is_file()
            ]
    return sorted(_walk(ROOT))


def _walk(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        if path.name in _NOT_OURS or path.name.endswith(".egg-info"):
            continue
        if path.is_dir():
            yield from _walk(path)
        else:
            yield path
