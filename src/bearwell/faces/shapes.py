"""The shapes of the JSON twins, field by field: what the description of the JSON is written from.

The words for each field are in the reference pages; a test holds every answer against its shape both ways.
"""

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


class Range(TypedDict):
    """A figure with its range."""

    value: float
    low: float | None
    high: float | None


class Dose(TypedDict):
    """What goes in of one product."""

    product: str
    g: float
    measures: str


class Route(TypedDict):
    """One route to the nitrogen a tree needs."""

    route: str
    n_g: Range
    followed: bool
    because: list[Link]


class Need(TypedDict):
    """What a tree is given in a year."""

    n_g: Range
    p2o5_g: Range
    k2o_g: Range
    followed: str
    routes: list[Route]
    because: list[Link]


class Other(TypedDict):
    """One of the other nutrients."""

    nutrient: str
    removed_g: Range | None
    leaf_grade: str | None
    short: bool
    because: list[Link]


class Planned(TypedDict):
    """What the rounds of the coming year bring, in g."""

    n: float
    n_counted: float
    p2o5: float
    k2o: float


class Round(TypedDict):
    """One round of feeding."""

    round: int
    rounds: int
    part: int
    parts: int
    window: Window
    standing: Literal["due", "coming", "missed", "given", "carried", "blocked", "unfed"]
    doses: list[Dose]
    n_g: float
    p2o5_g: float
    k2o_g: float
    n_counted_g: float | None
    bought: bool
    given_on: str | None
    carried_by: str | None
    rule: str | None
    notes: list[str]


class BankAtBloom(TypedDict):
    """How full the bank is at bloom, as a share of full."""

    with_late_rounds: float
    without: float


Late = TypedDict("Late", {"from": str, "to": str, "planned": bool})
Flows = dict[str, float]


class Daily(TypedDict):
    """The nitrogen account day by day."""

    start: str
    given: list[float]
    wanted: list[float]
    freed: list[float]
    humus: list[float]
    uptake: list[float]
    leached: list[float]
    short: list[float]
    bank: list[float]
    bank_without: list[float]


class Feeding(TypedDict):
    """A tree's feeding year; each month holds from, to, the two banks and a figure a flow."""

    tree: str
    name: str
    today: str
    need: Need
    others: list[Other]
    given_n_g: float
    past_supposed: bool
    planned_g: Planned
    rounds: list[Round]
    bloom: str | None
    bank_at_bloom: BankAtBloom | None
    late_rounds: Late
    year_behind_g: Flows
    year_ahead_g: Flows
    year_ahead_without_late_g: Flows
    months: list[dict[str, str | float]]
    daily: Daily


class ShelfProduct(TypedDict):
    """A product on the shelf over the coming year."""

    product: str
    name: str
    label: str
    release: str
    on_hand_g: float | None
    used_g: float
    trees: list[str]
    runs_out: str | None
    unused_because: str | None


class Purchase(TypedDict):
    """What has to be bought of a product."""

    product: str
    needed_g: float
    on_hand_g: float | None
    short_g: float
    pack_g: float | None
    bags: int | None
    cost: float | None
    left_g: float | None


class Unserved(TypedDict):
    """A tree with rounds that no bag serves."""

    tree: str
    rounds: int


class Shelf(TypedDict):
    """The shelf over the coming year."""

    garden: str
    today: str
    products: list[ShelfProduct]
    shopping: list[Purchase]
    cost: float | None
    unserved: list[Unserved]


class Ring(TypedDict):
    """Where a round is spread."""

    inner: float
    outer: float
    area_m2: float


class SheetLine(TypedDict):
    """One round to carry out."""

    tree: str
    name: str
    pot_l: float | None
    round: int
    rounds: int
    part: int
    parts: int
    window: Window
    doses: list[Dose]
    ring_m: Ring | None
    bought: bool
    notes: list[str]


class Total(TypedDict):
    """What to carry out of a product."""

    product: str
    g: float
    measures: str
    lacking_g: float


class Held(TypedDict):
    """A round that a rule holds back."""

    tree: str
    window: Window
    reason: str


class Sheet(TypedDict):
    """The feeding sheet."""

    garden: str
    today: str
    days: int
    minutes: int
    lines: list[SheetLine]
    totals: list[Total]
    held_back: list[Held]
    cautions: list[str]


# By address. An address without a shape is described as an object and named in the tests as not yet told.
SHAPES: dict[str, type] = {
    "/week.json": Worklist,
    "/trees.json": Trees,
    "/tree/{tree}.json": Tree,
    "/tree/{tree}/feeding.json": Feeding,
    "/garden.json": Garden,
    "/kind/{key}.json": Kind,
    "/leaf.json": Leaf,
    "/shelf.json": Shelf,
    "/sheet.json": Sheet,
}
