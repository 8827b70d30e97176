"""The shapes of the history of a store and of counting a tree."""

from __future__ import annotations

from typing import Any

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link


class HistoryEntry(TypedDict):
    """One entry of the history."""

    number: int
    record: str
    subject: str
    named: str
    what: str
    key: str
    day: str | None
    recorded_at: str
    by: str
    content: dict[str, Any]
    undoes: str | None
    undone_by: str | None


class HistoryRecord(TypedDict):
    """What was recorded in one go."""

    record: str
    recorded_at: str
    by: str
    lines: list[str]
    trees: list[str]
    undone_by: str | None
    entries: list[HistoryEntry]


class History(TypedDict):
    """The history, newest first."""

    records: list[HistoryRecord]


class BranchWalk(TypedDict):
    """One walk along the branches to a twig."""

    probability: float
    fruit: int


class Fork(TypedDict):
    """A fork, and the branch that was taken."""

    girths_m: list[float]
    taken: int


class CountEstimate(TypedDict):
    """What a count comes to."""

    fruit: float
    standard_error: float
    low: float
    high: float
    more_for_10_pct: int | None
    keep: int | None
    rule: str | None
    implausible: bool
    because: list[Link]


class Count(TypedDict):
    """Counting a tree."""

    tree: str
    today: str
    how: str
    seed: int
    walks: list[BranchWalk]
    forks: list[Fork]
    chance: float | None
    complaint: str | None
    hint: str | None
    estimate: CountEstimate | None
    line: str | None
