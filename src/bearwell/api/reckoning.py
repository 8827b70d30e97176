"""Reckoners through the public door."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bearwell.reckon import RECKONERS, Reckoner, Reckoning, find_reckoner, run

__all__ = ["Reckoner", "Reckoning", "find_reckoner", "reckon", "reckoners", "run_reckoner"]


def reckon(name: str, **options: str | list[str]) -> Reckoning:
    """Run a reckoner from Python: ``reckon("canopy", height="3 m", spread="3 m")``.

    Words of an option are joined by underscores (``from_`` stands for "from"). Raises BadInput as the
    command line does.
    """
    typed = {
        key.rstrip("_").replace("_", "-"): value if isinstance(value, list) else [str(value)]
        for key, value in options.items()
    }
    return run(name, typed)


def run_reckoner(name: str, typed: Mapping[str, Sequence[str]]) -> Reckoning:
    """Run a reckoner on options as typed, each a list of texts."""
    return run(name, typed)


def reckoners() -> dict[str, Reckoner]:
    """Every reckoner by name."""
    return RECKONERS
