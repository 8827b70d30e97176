"""The numbers the weather room judges by, read once from rules.toml with their sources."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from bearwell.errors import KnowledgeError


@dataclass(frozen=True, slots=True)
class Rule:
    """A number with its unit, what it decides, and where it comes from."""

    name: str
    value: float
    unit: str
    meaning: str
    source: str
    confidence: str
    note: str = ""


@cache
def rules() -> dict[str, Rule]:
    """Every rule by name, such as ``gap.longest`` or ``generator.wet_share_dry``."""
    raw = tomllib.loads(files("bearwell.weather").joinpath("rules.toml").read_text("utf-8"))
    found: dict[str, Rule] = {}
    for group, rows in raw.items():
        for name, row in rows.items():
            try:
                found[f"{group}.{name}"] = Rule(name=f"{group}.{name}", **row)
            except TypeError as problem:
                raise KnowledgeError(f"rules.toml [{group}.{name}]: {problem}") from None
    return found


def rule(name: str) -> float:
    """The value of one rule; raises KnowledgeError when there is none of that name."""
    try:
        return rules()[name].value
    except KeyError:
        raise KnowledgeError(f"rules.toml states no '{name}'", "add the row") from None
