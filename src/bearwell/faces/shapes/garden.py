"""The shapes of the worklist, of trees and their years, of kinds and of the leaf key."""

from __future__ import annotations

from typing import Any, Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Advice, Habit, Link, Problem, Sure


class Worklist(TypedDict):
    """The work of the coming days."""

    garden: str
    today: str
    days: int
    advice: list[Advice]
    problems: list[Problem]


class Stage(TypedDict):
    """One stage of a tree's year."""

    event: str
    season: int
    wave: int | None
    date: str
    low: str
    high: str
    basis: str
    because: list[Link]


class Size(TypedDict):
    """The size of a tree, measured or supposed."""

    height_m: float
    spread_m: list[float]
    skirt_m: float
    trunk_girth_m: float | None
    volume_m3: float
    area_m2: float
    shape: str
    supposed: list[str]


class Harvest(TypedDict):
    """The crop of a year."""

    year: int
    mass_g: float
    fruit: int | None
    sound: float | None
    note: str


class Year(TypedDict):
    """A tree's year."""

    tree: str
    name: str
    kind: str
    habit: Habit
    events: list[Stage]


class Tree(Year):
    """The page of a tree."""

    today: str
    place: str
    planted: str
    size: Size
    harvests: list[Harvest]
    advice: list[Advice]


class TreeEntry(TypedDict):
    """A line of the list of trees."""

    tree: str
    name: str
    kind: str
    kind_key: str
    habit: Habit
    place: str
    planted: str
    next: Advice | None


class Trees(TypedDict):
    """The list of trees."""

    trees: list[TreeEntry]


class Record(TypedDict):
    """What the daily weather covers."""

    start: str
    end: str
    days: int
    filled: int
    missing: int
    forecast_days: int
    sources: list[str]
    terms: list[str]


class Climate(TypedDict):
    """The winters of the place."""

    mean_coldest_night_c: float | None
    chill_portions: float | None
    chill_hours: float | None


class Garden(TypedDict):
    """The garden as it was read; tables of the garden file are in canonical units."""

    garden: str
    units: Literal["metric", "us"]
    today: str
    site: dict[str, Any]
    weather: Record | None
    climate: Climate
    products: list[dict[str, Any]]
    no_feeding: list[dict[str, Any]]
    shelters: list[dict[str, Any]]
    trees: list[str]
    problems: list[Problem]


class Fact(TypedDict):
    """One fact of a kind."""

    fact: str
    meaning: str
    value: float | str
    unit: str
    low: float | None
    high: float | None
    display: str
    source: str
    locator: str
    confidence: Sure
    note: str
    stated_by: str


class Kind(TypedDict):
    """A kind of tree."""

    kind: str
    name: str
    botanical: str
    also: list[str]
    lineage: list[str]
    facts: list[Fact]


class Sign(TypedDict):
    """A sign on a leaf that may be ticked."""

    sign: str
    words: str


class Question(TypedDict):
    """A question of the leaf key."""

    question: str
    title: str
    several: bool
    signs: list[Sign]


class LeafGiven(TypedDict):
    """What was said of the tree and its leaves."""

    signs: list[str]
    tree: str | None
    kind: str | None
    place: Literal["ground", "pot"] | None
    day: str | None


Diagnosis = TypedDict(
    "Diagnosis",
    {
        "cause": str, "name": str, "sort": str, "nutrient": str | None, "likelihood": str, "score": float,
        "for": list[str], "against": list[str], "unexplained": list[str], "why": str, "test": str, "remedy": str,
        "send": str, "cautions": list[str], "report": str | None, "because": list[Link],
    },
)  # fmt: skip


class Leaf(TypedDict):
    """What a leaf may lack or suffer."""

    questions: list[Question]
    given: LeafGiven
    diagnoses: list[Diagnosis]
    mends: dict[str, Advice]
