"""What a grower counted and picked: the crop of a year, and the ways to count what hangs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Annotated

from pydantic import BeforeValidator, Field, field_validator, model_validator

from bearwell.garden.values import Day, Mass, Model, measure, refuse
from bearwell.said import said

USUAL_FRAME = 0.5  # m, a side of the frame where none is given
NEAR = 0.1  # share by which the halves of a crop may miss the whole


def _two(value: object) -> object:
    if isinstance(value, dict) and len(value) != 2:
        raise refuse(
            "halves names the two sides of the tree", 'such as { north = "3 kg", south = "11 kg" }'
        )
    return value


Halves = Annotated[dict[str, Mass], BeforeValidator(_two)]
HalfCounts = Annotated[dict[str, Annotated[int, Field(ge=0)]], BeforeValidator(_two)]


class Harvest(Model):
    """The crop of one year. `year` is the year the crop's bloom ripened and was mostly picked in."""

    year: int = Field(ge=1900, le=2200)
    mass: Mass
    fruit: int | None = Field(default=None, ge=0)
    halves: Halves | None = None
    sound: Annotated[float, measure("share")] | None = None
    note: str = ""

    @model_validator(mode="after")
    def _adds_up(self) -> Harvest:
        if self.halves and abs(sum(self.halves.values()) - self.mass) > NEAR * self.mass:
            raise refuse(
                said("the halves of {year} do not add up to its mass", year=self.year),
                "mass is the whole crop",
            )
        return self


@dataclass(frozen=True)
class Pick:
    """One picking as it was recorded: its tree and day, the year it counts for, its mass [g] and fruit.

    ``sound`` is the share of the mass that was worth keeping [1], ``note`` what was said of it.
    """

    tree: str
    day: date
    year: int
    mass: float
    fruit: int | None = None
    sound: float | None = None
    note: str = ""


Branch = Annotated[float, measure("branch")]


class Path(Model):
    """One random-branch path: the chance of having walked it, or the girths it came by, and its fruit."""

    probability: float | None = Field(default=None, gt=0, le=1)
    forks: tuple[tuple[Branch, ...], ...] = ()
    fruit: int = Field(ge=0)

    @field_validator("forks")
    @classmethod
    def _branching(cls, forks: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
        if any(len(fork) < 2 for fork in forks):
            raise refuse(
                "a fork has two branches or more",
                'forks = [["14 cm", "9 cm"]], the one taken first',
            )
        return forks

    @model_validator(mode="after")
    def _one_way(self) -> Path:
        if (self.probability is None) == (not self.forks):
            raise refuse(
                "a path needs its probability or its forks", "probability = 0.25, or the girths"
            )
        return self


class Count(Model):
    """A fruit count: of the whole tree, by branch paths, by frames, of a part, or of both halves."""

    date: Day
    paths: tuple[Path, ...] = ()
    fruit: int | None = Field(default=None, ge=0)
    part: Annotated[float, measure("part")] | None = None
    frames: tuple[Annotated[int, Field(ge=0)], ...] = ()
    frame: tuple[Branch, Branch] | None = None
    halves: HalfCounts | None = None

    @field_validator("frame", mode="before")
    @classmethod
    def _square(cls, value: object) -> object:
        return (value, value) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _one_form(self) -> Count:
        ways = [bool(self.paths), self.fruit is not None, bool(self.frames), bool(self.halves)]
        if sum(ways) != 1:
            raise refuse(
                "a count needs either paths or fruit, frames or halves",
                "paths = [...] or fruit = 120",
            )
        if self.part is not None and self.fruit is None:
            raise refuse("part goes with fruit", 'fruit = 60, part = "25 %"')
        if self.frame is not None and not self.frames:
            raise refuse("frame goes with frames", 'frame = "50 cm", frames = [4, 7, 2]')
        return self

    @property
    def sides(self) -> tuple[float, float]:
        """The sides of its frame [m]."""
        return self.frame or (USUAL_FRAME, USUAL_FRAME)


def missing_years(harvests: tuple[Harvest, ...]) -> tuple[int, ...]:
    """Years between the first and the last crop on record for which none is written down."""
    years = sorted(harvest.year for harvest in harvests)
    return tuple(gone for one, two in pairwise(years) for gone in range(one + 1, two))
