"""The shapes of pruning: a tree's cuts and what they rest on, and the sheet."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Advice, Link, Outline, Range, Sure, Whole


class CanopyNow(Outline):
    """A canopy as it stands."""

    skirt_m: float
    volume_m3: float
    supposed: list[str]


class CanopyAfter(Outline):
    """A canopy after a cut."""

    volume_m3: float


class CanopyAhead(Outline):
    """A canopy in some years."""

    years: int
    low: Outline
    high: Outline
    volume_m3: Range


class Light(TypedDict):
    """Light half way down the crown."""

    inner_now: Range
    inner_after: Range
    wanted: Range
    because: list[Link]


class FitPoint(TypedDict):
    """Cover and canopy at a distance from the middle line."""

    from_middle_m: float
    cover_m: float
    canopy_m: float


class CoverFit(TypedDict):
    """How a tree stands under its shelter."""

    shelter: str
    shape: Literal["hoop", "box", "gable", "wall"]
    fits: bool
    room_m: float | None
    wanted_room_m: float
    share_off_now: float | None
    fits_at: Outline | None
    cut_to_for_next_winter: Outline | None
    above_wall_m: float | None
    cover_needed_m: list[float] | None
    spread_kept: float
    neighbours: list[str]
    points: list[FitPoint]
    because: list[Link]


class ReductionYear(TypedDict):
    """One year on the way down to a wanted size."""

    year: int
    share: float
    after: Outline
    before_the_next_cut: Outline


class Reduction(TypedDict):
    """The years down to a wanted size."""

    wanted: Outline
    by: str
    share_in_all: float
    most_a_year: float
    reached: bool
    warning: str | None
    years: list[ReductionYear]
    because: list[Link]


class DayWorth(TypedDict):
    """What each day is worth for a cut, factor by factor."""

    start: str
    score: list[float]
    factors: dict[str, list[float]]
    meaning: dict[str, str]


class CutWindow(TypedDict):
    """The window of the cut shown."""

    earliest: str | None
    best: str | None
    latest: str | None
    may_close_by: str | None
    chance_closed_by_then: float | None
    chance_closed_at_best: float | None
    chance_closed_at_latest: float | None
    days: DayWorth


class WoodYear(TypedDict):
    """Shares of the wood in one year."""

    year: int
    new: float
    bearing: float
    old: float


class Wood(TypedDict):
    """The bearing wood of a tree over the years."""

    counted_in: str
    bears_from_yr: float
    bears_until_yr: float
    renewal_share: float
    by_age: list[float]
    renewed: list[WoodYear]
    left_alone: list[WoodYear]
    because: list[Link]


class HeadingCuts(TypedDict):
    """The share in cuts of one thickness."""

    thickness: str
    thickness_m: Range
    cuts: Whole
    new_shoots: Whole


class CutCare(TypedDict):
    """What a source says of cutting."""

    about: str
    text: str
    followed: str
    source: str
    confidence: Sure


class Pruning(TypedDict):
    """A tree's pruning."""

    tree: str
    name: str
    today: str
    pattern: str
    shape: str
    now: CanopyNow
    share: float
    most_share: float
    after: CanopyAfter
    why_uncut: str | None
    cut: str | None
    cuts: list[Advice]
    ahead_uncut: list[CanopyAhead]
    ahead_after_cut: list[CanopyAhead]
    growth_because: list[Link]
    light: Light
    fit: CoverFit | None
    reduction: Reduction | None
    window: CutWindow
    barest: str | None
    wood: Wood
    heading_cuts: list[HeadingCuts]
    heading_because: list[Link]
    brush_m3: Range
    crop_lost_share: Range
    care: list[CutCare]


class PruneLine(TypedDict):
    """A tree on the pruning sheet."""

    tree: str
    name: str
    cut: Advice
    now: Outline
    after: Outline
    heading_cuts: dict[str, Whole]


class PruneSheet(TypedDict):
    """The pruning sheet."""

    garden: str
    today: str
    days: int
    minutes: int
    brush_m3: float
    lines: list[PruneLine]
    cautions: list[str]
