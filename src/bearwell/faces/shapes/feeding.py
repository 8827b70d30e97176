"""The shapes of feeding: a tree's year, the shelf and the sheet."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link, Range, Window


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
