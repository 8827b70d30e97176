"""The shapes of cold: tonight in the garden, and its winters."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link


class HourOfNight(TypedDict):
    """The air at an hour of the night, counted from its start."""

    hour: float
    air_c: float


class Night(TypedDict):
    """The night at the garden, in the open."""

    ends_on: str
    lowest_c: float
    error_k: float
    evening_c: float | None
    begins: str | None
    ends: str | None
    hours: float
    sort: Literal["radiation", "advection", "between", "unknown"]
    basis: str
    station_c: float | None
    dew_point_c: float | None
    wind_m_s: float | None
    curve: list[HourOfNight]
    because: list[Link]


class EveningReading(TypedDict):
    """What was read in the evening."""

    t0_c: float
    td_c: float | None
    wind_m_s: float | None
    sky: str | None


class EveningRule(TypedDict):
    """The rule from an evening's readings to the night's lowest."""

    own: bool
    nights: int
    slope_t: float
    slope_td: float
    intercept: float
    error_k: float


class Organ(TypedDict):
    """What the night may do to one organ of a tree."""

    organ: str
    limit_c: float
    limit_low_c: float
    limit_high_c: float
    hours_below: float | None
    degree_hours_below: float | None
    chance: float
    chance_low: float
    chance_high: float
    stage: str | None
    share_killed: float | None
    because: list[Link]


class TreeTonight(TypedDict):
    """A tree tonight."""

    tree: str
    name: str
    kind: str
    lowest_c: float
    lift_k: float
    hardening: float
    hardening_ceiling: float
    protect: bool
    lacks_k: float | None
    organs: list[Organ]


class Task(TypedDict):
    """One thing to do on the evening walk."""

    key: str
    tree: str | None
    when: str
    text: str
    minutes: int
    because: list[Link]


class WalkStop(TypedDict):
    """A place of the evening walk."""

    place: str
    title: str
    trees: list[str]
    minutes: int
    tasks: list[Task]
    cautions: list[str]


class LaterNight(TypedDict):
    """A later night and the trees it threatens."""

    night: str
    trees: list[str]


class WaterStart(TypedDict):
    """The air at which water starts, for a wet bulb that is kept to."""

    wet_bulb_c: float
    air_c: float


class IceWater(TypedDict):
    """Water laid on against frost."""

    dew_point_c: float
    starts: list[WaterStart]
    rate_mm: float | None
    flow_l: float | None
    windy: bool
    cautions: list[str]


class Tonight(TypedDict):
    """Tonight in the whole garden."""

    garden: str
    today: str
    night: Night | None
    reading: EveningReading | None
    rule: EveningRule | None
    trees: list[TreeTonight]
    walk: list[WalkStop]
    minutes: int
    morning: list[str]
    later: list[LaterNight]
    water: IceWater | None
    cautions: list[str]


class Winter(TypedDict):
    """One winter of the record."""

    winter: int
    coldest_c: float
    date: str
    chance_by_rank: float


class ColdLevel(TypedDict):
    """The coldest night in so many years."""

    years: int
    coldest_c: float
    low_c: float
    high_c: float


class ColdZone(TypedDict):
    """The zone by the mean of each winter's lowest."""

    zone: str
    low: str
    high: str
    mean_c: float
    winters: int


class ColdNights(TypedDict):
    """Nights a winter at or below a temperature."""

    below_c: float
    mean: float
    least: int
    most: int
    winters: int


class FrostDate(TypedDict):
    """First or last night of frost."""

    middle: str
    early: str
    late: str
    winters: int
    without: int


class Chance(TypedDict):
    """A yearly chance."""

    yearly: float | None
    low: float
    high: float
    counted: int
    winters: int
    nights: float


class Hazard(TypedDict):
    """One way in which cold hurts a tree."""

    organ: str
    what: str
    limit_c: float
    chance: Chance
    in_the_open: Chance | None
    because: list[Link]


class TreeWinters(TypedDict):
    """A tree in the winters of the place."""

    tree: str
    name: str
    kind: str
    standing: str
    verdict: str
    lost: Hazard | None
    hurt: list[Hazard]
    because: list[Link]


class ShelterWinters(TypedDict):
    """What a shelter changes."""

    shelter: str
    cover: str
    lift_k: float
    lift_low_k: float
    lift_high_k: float
    ten_year_night_inside_c: list[float] | None
    trees: list[str]
    cannot_be_closed_for: str | None


class Hardening(TypedDict):
    """How hardened trees are, day by day."""

    start: str
    state: list[float]
    ceiling: list[float]


class Winters(TypedDict):
    """The winters of a record."""

    garden: str
    today: str
    colder_k: float
    lacking: str | None
    winters: list[Winter]
    made_up_winters: int
    location: float | None
    scale: float | None
    levels: list[ColdLevel]
    zone: ColdZone | None
    nights: list[ColdNights]
    first_frost: FrostDate | None
    last_frost: FrostDate | None
    trees: list[TreeWinters]
    shelters: list[ShelterWinters]
    hardening: Hardening | None
