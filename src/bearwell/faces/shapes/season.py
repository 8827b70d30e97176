"""The shape of a past season: what was advised, recorded and picked, and what to change."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link, Sure, Window

Job = Literal["feed", "prune", "thin", "water", "protect", "harvest", "inspect", "measure"]


class Act(TypedDict):
    """What was recorded of one job on one tree on one day."""

    date: str
    job: Job
    records: int
    mass_g: float | None
    sound: float | None
    n_g: float | None
    look: str
    seen: str
    counted: bool
    notes: list[str]


class Decided(TypedDict):
    """What the grower decided about an advice."""

    what: Literal["skip", "postpone", "close"]
    day: str | None
    reason: str


class AdvisedThen(TypedDict):
    """One advice of a past season with what is known of it."""

    id: str
    kind: Job
    headline: str
    display: str
    told: str
    window: Window
    verdict: Literal[
        "as-advised",
        "differently",
        "no-day",
        "left-out",
        "put-off",
        "not-recorded",
        "asked-again",
        "held-back",
        "still-open",
    ]
    days_off: int
    amount_off: bool
    repeat: bool
    advised_n_g: float | None
    acts: list[Act]
    decided: Decided | None
    minutes: int


class NitrogenThen(TypedDict):
    """Nitrogen of a span."""

    need_g: float
    need_low_g: float | None
    need_high_g: float | None
    need_by_label: bool
    advised_g: float
    advised_low_g: float | None
    advised_high_g: float | None
    given_g: float
    counted_g: float
    unasked_g: float
    feedings: int
    without_amount: int


class DateThen(TypedDict):
    """A stage as it was forecast and as it was seen."""

    event: str
    season: int
    wave: int
    told: str
    forecast: str
    low: str
    high: str
    seen: str
    off_d: int
    within: bool


class DateMissing(TypedDict):
    """A stage that was forecast and of which no date is written down."""

    event: str
    season: int
    forecast: str
    low: str
    high: str


class CropThen(TypedDict):
    """A crop beside its forecasts."""

    year: int
    forecast_on: str | None
    forecast_g: float | None
    forecast_low_g: float | None
    forecast_high_g: float | None
    basis: str
    last_on: str | None
    last_g: float | None
    even_g: float | None
    picked_g: float | None
    fruit: int | None
    fruit_g: float | None
    usual_fruit_g: float
    picking_over: bool
    within: bool | None
    picks: list[Act]


class WaterThen(TypedDict):
    """A tree's water over a span."""

    asked_l: float
    rain_l: float
    given_l: float
    supposed_l: float
    lacking_l: float
    short_days: int
    days: int
    unmeasured_days: int


class ColdThen(TypedDict):
    """The night of a span that came nearest to hurting a tree."""

    night: str
    lowest_c: float
    organ: str
    limit_c: float
    limit_low_c: float
    limit_high_c: float
    chance_hurt: float
    protections: int
    looks_after: int


class Change(TypedDict):
    """A proposal with its reasons."""

    key: str
    headline: str
    proposal: str
    confidence: Sure
    because: list[Link]


class TreeThen(TypedDict):
    """One tree of a past season."""

    tree: str
    name: str
    kind: str
    planned: str
    records: int
    lines: list[AdvisedThen]
    looks: list[AdvisedThen]
    unasked: list[Act]
    waterings: list[Act]
    protections: list[Act]
    nitrogen: NitrogenThen
    dates: list[DateThen]
    not_seen: list[DateMissing]
    crops: list[CropThen]
    water: WaterThen | None
    cold: ColdThen | None
    asked_min: int
    done_min: int
    changes: list[Change]


class DatesThen(TypedDict):
    """How many dates lay in their ranges."""

    seen: int
    within: int
    mean_off_d: float
    mean_size_d: float
    chance_of_so_few: float
    chance_of_so_many: float


class SpanOffered(TypedDict):
    """A span that can be looked back on."""

    key: Literal["year", "season"]
    since: str
    until: str


class Season(TypedDict):
    """A past season of a garden, or of one of its trees."""

    garden: str
    today: str
    since: str
    until: str
    trees: list[TreeThen]
    left_out: list[str]
    dates: DatesThen | None
    changes: list[Change]
    spans: list[SpanOffered]
