"""The shapes of water: a tree's account and rounds, and the sheet."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link


class Watering(TypedDict):
    """One watering of a tree."""

    date: str
    l: float  # noqa: E741
    cans: float
    run_min: int | None
    text: str
    why: Literal["short", "freeze", "rule"]


class WaterDay(TypedDict):
    """One day of a tree's account of water, in mm on its ground."""

    date: str
    ahead: bool
    measured: bool
    rain_mm: float
    given_mm: float
    supposed_mm: float
    et0_mm: float
    used_mm: float
    drained_mm: float
    missing_mm: float
    short_mm: float
    stress: float


class Water(TypedDict):
    """A tree's water."""

    tree: str
    name: str
    today: str
    use_l_d: float
    deficit_l: float
    ready_l: float
    total_l: float
    ground_m2: float
    root_depth_m: float | None
    manner: Literal["pot", "deep", "often"]
    phase: str
    may_use: float
    rounds: list[Watering]
    litres: float
    denied_l: float
    notes: list[str]
    because: list[Link]
    days: list[WaterDay]


WaterWeek = TypedDict("WaterWeek", {"from": str, "to": str, "l": float})


class WateredTree(TypedDict):
    """A tree on the sheet of water."""

    tree: str
    name: str
    litres: float
    use_l_d: float
    rank: str
    denied_l: float
    rounds: list[Watering]
    notes: list[str]


class WaterSheet(TypedDict):
    """The sheet of water of the coming two weeks."""

    today: str
    last: str
    litres: float
    denied_l: float
    most_a_week_l: float | None
    weeks: list[WaterWeek]
    trees: list[WateredTree]
    unplanned: list[str]
