"""The shape of a tree's crop."""

from __future__ import annotations

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link, Range, Whole


class Counted(TypedDict):
    """What was counted on a tree."""

    fruit: int
    low: int
    high: int
    standard_error: float
    way: str
    more_for_10_pct: int | None
    halves: dict[str, int]


class CropRule(TypedDict):
    """A rule for how many fruit to keep."""

    rule: str
    fruit: Whole
    holds: bool
    moved: bool
    because: list[Link]


class TakingOff(TypedDict):
    """When fruit is taken off, and whether that time is over."""

    earliest: str
    best: str
    latest: str
    closed: bool


class Picking(TypedDict):
    """The mass to be picked: of the crop on the tree, and of a whole year."""

    crop_g: Whole
    year_g: Whole
    basis: str
    because: list[Link]


class NextCrop(TypedDict):
    """The crop of the bloom that follows."""

    bloom: str
    drop_ends: str
    keep: int
    old_enough: bool


Pass = TypedDict(
    "Pass",
    {"pass": int, "earliest": str, "best": str, "latest": str, "remove": int, "leave": int},
)


class LimbShare(TypedDict):
    """What a limb keeps and loses."""

    limb: int
    share: float
    keep: int
    remove: int


class LimbLoad(TypedDict):
    """What a limb carries."""

    limb: int
    diameter_m: float
    load_g: int
    stress_mpa: float
    chance: float
    prop: bool


class CropSide(TypedDict):
    """The crop with all of it kept, or thinned."""

    fruit: int
    fruit_g: Range
    fruit_width_m: Range | None
    crop_g: Whole
    ripe_from: str
    a_limb_breaks: float
    limbs: list[LimbLoad]


class Thinned(TypedDict):
    """What thinning buys."""

    kept: CropSide
    thinned: CropSide


class HalfYear(TypedDict):
    """The last year of a half of the tree, and what it was."""

    year: int
    state: str


class Bearing(TypedDict):
    """How the tree bears over the years."""

    even_crop_g: int
    basis: str
    state: str
    missing_years: list[int]
    halves: dict[str, HalfYear]
    swing_back: float
    swing: float
    swing_back_of_kind: float
    own_weight: float
    expected_g: Whole
    intensity: float | None
    detrended_intensity: float | None
    expected_by_chance: float | None
    p_value: float | None
    verdict: str | None
    year_after_g: dict[str, Whole]
    because: list[Link]


class Policy(TypedDict):
    """The years ahead under one way to treat the tree."""

    quantiles_10_25_50_75_90_g: list[list[int]]
    mean_g: list[int]
    total_g: Whole
    intensity: float
    nearly_empty_years: float


class YearsAhead(TypedDict):
    """Ten years ahead under each way to treat the tree."""

    years: list[int]
    even_crop_g: list[int]
    policies: dict[str, Policy]


class Crop(TypedDict):
    """A tree's crop."""

    tree: str
    name: str
    today: str
    bloom: str
    crop_year: int
    old_enough: bool
    counted: Counted | None
    rules: list[CropRule]
    no_rule: list[Link]
    phase: str
    taking_off: TakingOff | None
    to_pick: Picking
    next: NextCrop | None
    keep: int
    remove: int
    passes: list[Pass]
    limbs: list[LimbShare]
    buys: Thinned | None
    bearing: Bearing
    years_ahead: YearsAhead
