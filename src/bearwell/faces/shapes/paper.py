"""The shapes of what is printed, of the garden from above, and of what a device keeps."""

from __future__ import annotations

from typing import Literal

from typing_extensions import TypedDict  # pydantic asks for it below Python 3.12

from bearwell.faces.shapes.common import Advice


class Carried(TypedDict):
    """What to carry out of a product."""

    product: str
    g: float
    measures: str
    lacking_g: float


class WeekStop(TypedDict):
    """A tree on the week's sheet."""

    tree: str
    name: str
    place: str
    jobs: list[Advice]


class WeekLook(TypedDict):
    """A look that serves several trees."""

    trees: list[str]
    headline: str
    until: str


class Brief(TypedDict):
    """A job told in a line."""

    id: str
    tree: str
    headline: str
    latest: str


class CautionsOf(TypedDict):
    """The cautions of a kind of work."""

    kind: str
    texts: list[str]


class WeekSheet(TypedDict):
    """The week's sheet."""

    today: str
    days: int
    minutes: int
    minutes_looking: int
    carry: list[Carried]
    walk: list[WeekStop]
    looks: list[WeekLook]
    held: list[Brief]
    missed: list[Brief]
    cautions: list[CautionsOf]


PosterStage = TypedDict("PosterStage", {"name": str, "from": str, "to": str, "seen": bool})


class PosterJob(TypedDict):
    """A job on the poster."""

    name: str
    kind: str
    earliest: str
    best: str
    latest: str
    held: bool


class PosterTree(TypedDict):
    """A tree on the poster."""

    tree: str
    name: str
    kind: str
    stages: list[PosterStage]
    jobs: list[PosterJob]


Poster = TypedDict(
    "Poster", {"garden": str, "paper": str, "from": str, "to": str, "trees": list[PosterTree]}
)


class Tag(TypedDict):
    """A tag for a tree."""

    tree: str
    name: str
    kind: str
    botanical: str
    rootstock: str
    planted: str
    address: str


class Tags(TypedDict):
    """Tags for the trees."""

    garden: str
    base: str
    size: str
    across: int
    down: int
    skip: int
    tags: list[Tag]


class PaperSheet(TypedDict):
    """A sheet that can be printed."""

    address: str
    name: str
    about: str


class Paper(TypedDict):
    """What there is to print."""

    sheets: list[PaperSheet]


class MapTree(TypedDict):
    """A canopy from above."""

    tree: str
    name: str
    kind: str
    east_m: float | None
    north_m: float | None
    spread_m: float
    spread_ahead_m: float
    spread_ahead_low_m: float
    spread_ahead_high_m: float
    height_m: float
    supposed: bool


class MapShelter(TypedDict):
    """A shelter from above."""

    shelter: str
    shape: Literal["hoop", "box", "gable", "wall"]
    east_m: float | None
    north_m: float | None
    length_m: float | None
    width_m: float | None
    lies_deg: float


class Crowding(TypedDict):
    """Two canopies that meet, now or later."""

    trees: list[str]
    trunks_m: float
    apart_m: float
    apart_ahead_m: float
    apart_ahead_least_m: float
    touching: bool
    expected: bool


class GardenMap(TypedDict):
    """The garden from above."""

    garden: str
    today: str
    years_ahead: int
    trees: list[MapTree]
    shelters: list[MapShelter]
    crowding: list[Crowding]


class KeptPage(TypedDict):
    """A page that a device keeps for when there is no signal."""

    path: str
    title: str
    tree: str | None


class Outdoors(TypedDict):
    """What a device keeps: pages, and the files they need."""

    mark: str
    pages: list[KeptPage]
    files: list[str]
