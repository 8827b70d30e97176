"""Writes the fingerprints of the knowledge tables: a change of a figure shows in the diff."""

from __future__ import annotations

import hashlib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TARGET = ROOT / "tests" / "contracts" / "knowledge.sha256"


def fingerprints() -> str:
    """One line a table: its SHA-256 and its name, in the order of names."""
    folder = ROOT / "src" / "bearwell" / "knowledge"
    lines = [
        f"{hashlib.sha256(file.read_bytes()).hexdigest()}  {file.relative_to(folder).as_posix()}\n"
        for file in sorted(
            folder.rglob("*.toml"), key=lambda file: file.relative_to(folder).as_posix()
        )
    ]
    return "".join(lines)


def main() -> None:
    """Rewrite the fingerprints and say what changed."""
    before = set(TARGET.read_text("utf-8").splitlines()) if TARGET.exists() else set()
    after = fingerprints()
    TARGET.write_text(after, "utf-8")
    changed = sorted({line.split("  ")[1] for line in before ^ set(after.splitlines())})
    print(f"{len(after.splitlines())} tables; changed: {', '.join(changed) or 'none'}")


if __name__ == "__main__":
    main()
