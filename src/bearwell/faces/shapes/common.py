"""The shapes that many twins share."""

from __future__ import annotations

from typing import Any, Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

Sure = Literal["read", "secondhand", "memory", "judgement", "computed"]
Habit = Literal["evergreen", "deciduous", "ever-bearing"]


class Link(TypedDict):
    """One link of the chain of reasons."""

    statement: str
    value: float | str | None
    unit: str
    low: float | None
    high: float | None
    source: str
    locator: str
    confidence: Sure
    note: str


class Problem(TypedDict):
    """What is wrong, doubtful or filled in."""

    where: str
    line: int | None
    severity: Literal["error", "warning", "note"]
    message: str
    hint: str


class Problems(TypedDict):
    """What is answered when a request cannot be served."""

    problems: list[Problem]


class Window(TypedDict):
    """The days on which to do a thing."""

    earliest: str
    best: str
    latest: str


class Measure(TypedDict):
    """A quantity in its canonical unit, with its range where it has one."""

    value: float
    unit: str
    low: float | None
    high: float | None


class Advice(TypedDict):
    """One thing to do."""

    id: str
    tree: str
    kind: Literal["feed", "prune", "thin", "water", "protect", "harvest", "inspect", "measure"]
    standing: Literal["due", "coming", "blocked", "missed"]
    window: Window
    quantity: Measure | None
    display: str
    headline: str
    steps: list[str]
    remarks: list[str]
    cautions: list[str]
    minutes: int
    confidence: Sure
    changes: str
    because: list[Link]
    details: dict[str, Any]


class Range(TypedDict):
    """A figure with its range."""

    value: float
    low: float | None
    high: float | None


class Whole(TypedDict):
    """A figure with its range, in whole units."""

    value: int
    low: int | None
    high: int | None


class Outline(TypedDict):
    """How high and wide a canopy is; the spread along and across."""

    height_m: float
    spread_m: list[float]
