"""The shapes of the weather record."""

from __future__ import annotations

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Link, Problem


class DaysByState(TypedDict):
    """Days by what they stand on."""

    measured: int
    flagged: int
    filled: int
    forecast: int
    usual: int


class YearOfRecord(TypedDict):
    """A year of the record; each stretch is a state, its first and its last day."""

    year: int
    days: DaysByState
    stretches: list[list[str]]


class Gap(TypedDict):
    """Days without a measured temperature, and what the plan uses for them."""

    first: str
    last: str
    days: int
    used: str


class Flag(TypedDict):
    """Days flagged for one reason."""

    reason: str
    days: int
    first: list[str]


class Station(TypedDict):
    """Where a record was measured."""

    name: str
    latitude: float | None
    longitude: float | None
    elevation_m: float | None


class LeftOut(TypedDict):
    """Readings left out or doubted for one reason."""

    reason: str
    count: int
    lines: list[int]


class WeatherSource(TypedDict):
    """How one source was read."""

    where: str
    layout: str
    day: str
    station: Station | None
    units: dict[str, str]
    dropped: list[LeftOut]
    doubted: list[LeftOut]
    terms: str


class ColderBySort(TypedDict):
    """How much colder the garden runs on nights of one sort."""

    sort: str
    nights: int
    value_k: float
    low_k: float
    high_k: float


class Colder(TypedDict):
    """How much colder the garden runs than its station."""

    value_k: float
    low_k: float
    high_k: float
    because: list[Link]
    nights: list[ColderBySort]


class FetchOutcome(TypedDict):
    """How one request to a service went."""

    service: str
    sort: str
    came: bool
    said: str
    first: str | None
    last: str | None
    missing_days: int


class Weather(TypedDict):
    """The weather record."""

    garden: str
    today: str
    start: str | None
    end: str | None
    days: DaysByState
    known: dict[str, int]
    years: list[YearOfRecord]
    gaps: list[Gap]
    flags: list[Flag]
    sources: list[WeatherSource]
    terms: list[str]
    colder: Colder
    online: list[str]
    fetched: list[FetchOutcome] | None
    problems: list[Problem]
