"""Frozen models of a garden. Measures are in canonical units; `None` means the grower did not say."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Annotated, Any, Literal, get_args
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from bearwell.errors import BadInput
from bearwell.quantities import parse

Event = Literal[
    "leaf out",
    "bloom start",
    "full bloom",
    "bloom end",
    "natural drop end",
    "harvest start",
    "harvest end",
    "leaf fall",
]
Job = Literal["feed", "prune", "thin", "water", "protect", "harvest", "inspect", "measure"]
EVENTS: tuple[str, ...] = get_args(Event)
JOBS: tuple[str, ...] = get_args(Job)


def refuse(message: str, hint: str = "") -> PydanticCustomError:
    """A complaint that carries its hint through pydantic; braces in a user's text stay themselves."""
    return PydanticCustomError("garden", "{message}", {"message": message, "hint": hint})


def measure(quantity: str) -> BeforeValidator:
    """A validator that reads "2.1 m" into the canonical unit of ``quantity``."""

    def read(value: object) -> float:
        try:
            return parse(value, quantity)
        except BadInput as error:
            raise refuse(error.message, error.hint) from None

    return BeforeValidator(read)


def _plain_date(value: object) -> object:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise refuse(f"'{value}' is not a date", "write it as 2026-04-14") from None
    if type(value) is not date:
        raise refuse(f"'{value}' is not a date", "write it as 2026-04-14, without a time")
    return value


Day = Annotated[date, BeforeValidator(_plain_date)]
Length = Annotated[float, measure("height")]
Girth = Annotated[float, measure("girth")]
Spread = Annotated[float, measure("spread")]
Skirt = Annotated[float, measure("skirt")]
Structure = Annotated[float, measure("structure")]
Mass = Annotated[float, measure("mass")]
Age = Annotated[float, measure("age")]


def _zone(value: str) -> str:
    try:
        ZoneInfo(value)
    except (KeyError, ValueError, OSError):
        raise refuse(f"timezone '{value}' is not known", 'such as "Europe/Lisbon"') from None
    return value


def _id(value: str) -> str:
    if not re.fullmatch(r"[\w.-]+", value):
        raise refuse(f"id '{value}' has spaces or signs", "letters, digits, - _ and . only")
    return value


def _label(value: str) -> str:
    if not re.fullmatch(r"\d+(\.\d+)?(-\d+(\.\d+)?){2}", value):
        raise refuse(f"label '{value}' is not N-P2O5-K2O", 'write it as printed: "5-5-5"')
    if sum(float(part) for part in value.split("-")) > 100:
        raise refuse(f"label '{value}' adds up to more than 100 %", "check the bag")
    return value


Zone = Annotated[str, AfterValidator(_zone)]
Id = Annotated[str, AfterValidator(_id)]
Label = Annotated[str, AfterValidator(_label)]


class Model(BaseModel):
    """Frozen, and closed to keys we do not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, str_strip_whitespace=True)


class Harvest(Model):
    """The crop of one year. `year` is the year the crop's bloom ripened and was mostly picked in."""

    year: int = Field(ge=1900, le=2200)
    mass: Mass
    fruit: int | None = Field(default=None, ge=0)


class Observed(Model):
    """Something seen on the tree, with its date."""

    event: Event
    date: Day


class Path(Model):
    """One random-branch path: the chance of having walked it and the fruit at its end."""

    probability: float = Field(gt=0, le=1)
    fruit: int = Field(ge=0)


class Count(Model):
    """A fruit count: by branch paths, or of the whole tree."""

    date: Day
    paths: tuple[Path, ...] = ()
    fruit: int | None = Field(default=None, ge=0)

    @model_validator(mode="after")
    def _one_way(self) -> Count:
        if bool(self.paths) == (self.fruit is not None):
            raise refuse("a count needs either paths or fruit", "paths = [...] or fruit = 120")
        return self


class Done(Model):
    """Work done on a tree."""

    date: Day
    job: Job
    product: str | None = None
    amount: Mass | None = None
    note: str = ""


class Container(Model):
    """A pot and what is in it."""

    volume: Annotated[float, measure("pot")] = Field(alias="container")
    medium: str = "bark and peat"


def _spread(value: object) -> object:
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise refuse("spread takes one measure or two", 'spread = "2 m" or ["2.2 m", "2.0 m"]')
        return tuple(value)
    return (value, value)


class Tree(Model):
    """One tree, as far as its grower has described it."""

    id: Id
    kind: str
    name: str = ""
    planted: Day
    age_at_planting: Age = 365.25
    grafted: Day | None = None
    rootstock: str | None = None
    grows_in: Literal["ground"] | Container = "ground"
    height: Length | None = None
    spread: Annotated[tuple[Spread, Spread], BeforeValidator(_spread)] | None = None
    skirt: Skirt | None = None
    trunk_girth: Girth | None = None
    shelter: str | None = None
    harvests: tuple[Harvest, ...] = ()
    observed: tuple[Observed, ...] = ()
    counts: tuple[Count, ...] = ()
    done: tuple[Done, ...] = ()
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _where(cls, data: Any) -> Any:
        if isinstance(data, dict):
            place = data.get("grows_in", "ground")
            if not isinstance(place, dict) and place != "ground":
                raise refuse(
                    f"grows_in = {place!r} is not known",
                    'write "ground" or { container = "45 L", medium = "bark and peat" }',
                )
        return data

    @model_validator(mode="after")
    def _sense(self) -> Tree:
        if self.skirt is not None and self.height is not None and self.skirt >= self.height:
            raise refuse("skirt is not below the height of the tree", "skirt is the lowest foliage")
        if self.spread and self.trunk_girth and self.trunk_girth > max(self.spread):
            raise refuse(
                "trunk_girth is larger than the spread", "girth is measured around the trunk, in cm"
            )
        years = [harvest.year for harvest in self.harvests]
        if len(set(years)) != len(years):
            raise refuse("a harvest year is listed twice", "one entry a year")
        return self

    @property
    def called(self) -> str:
        """The name people use for it."""
        return self.name or self.id

    @property
    def in_pot(self) -> bool:
        """Whether it stands in a container."""
        return isinstance(self.grows_in, Container)

    @property
    def pot(self) -> Container | None:
        """Its container, if it has one."""
        return self.grows_in if isinstance(self.grows_in, Container) else None

    def years_here(self, today: date) -> float:
        """Years since it was planted, or since its top was grafted when that is later [yr]."""
        start = max(self.planted, self.grafted or self.planted)
        return (today - start).days / 365.25

    def age(self, today: date) -> float:
        """Its age, counting its years before planting [yr]."""
        return ((today - self.planted).days + self.age_at_planting) / 365.25

    def last_done(self, job: str, today: date) -> Done | None:
        """The latest work of this sort up to today."""
        past = [work for work in self.done if work.job == job and work.date <= today]
        return max(past, key=lambda work: work.date, default=None)


class Product(Model):
    """A bag on the shelf."""

    id: Id
    name: str
    label: Label
    release: str
    pack: Mass | None = None
    price: float | None = Field(default=None, ge=0)
    on_hand: Mass | None = None
    kept_for: tuple[str, ...] = ()
    cup_mass: Mass | None = None

    @property
    def grade(self) -> tuple[float, float, float]:
        """N, P2O5 and K2O in percent by mass, as printed."""
        n, p, k = (float(part) for part in self.label.split("-"))
        return n, p, k


class NoFeeding(Model):
    """Days of the year on which a local rule forbids nutrients."""

    start: str = Field(alias="from", pattern=r"^\d\d-\d\d$")
    end: str = Field(alias="to", pattern=r"^\d\d-\d\d$")
    nutrients: tuple[Literal["N", "P", "K"], ...] = ("N", "P", "K")
    reason: str = "local rule"

    @model_validator(mode="after")
    def _days(self) -> NoFeeding:
        for text in (self.start, self.end):
            try:
                date.fromisoformat(f"2024-{text}")
            except ValueError:
                raise refuse(
                    f"'{text}' is not a day of the year", "month-day, such as 06-01"
                ) from None
        return self

    def covers(self, day: date) -> bool:
        """Whether the rule holds on this day; a window may run over New Year."""
        mark = f"{day:%m-%d}"
        if self.start <= self.end:
            return self.start <= mark <= self.end
        return mark >= self.start or mark <= self.end

    def day_after(self, day: date) -> date:
        """The first day from ``day`` on which the rule does not hold."""
        while self.covers(day):
            day += timedelta(days=1)
        return day


class Shelter(Model):
    """A structure that trees stand under or against in winter."""

    id: Id
    shape: Literal["hoop", "box", "gable", "wall"] = "box"
    length: Structure | None = None
    width: Structure | None = None
    height: Structure | None = None
    cover: str = "single polyethylene film"


class Reading(Model):
    """A soil-test reading and the extraction it was made with."""

    method: str
    value: Annotated[float, measure("soil_nutrient")]


class SoilTest(Model):
    """A laboratory's report on the soil."""

    ph: float | None = Field(default=None, ge=2, le=11)
    organic_matter: Annotated[float, measure("organic_matter")] | None = None
    p: Reading | None = None
    k: Reading | None = None
    mg: Reading | None = None
    ca: Reading | None = None


class MeasuredSoil(Model):
    """Water contents measured rather than taken from a texture class."""

    field_capacity: Annotated[float, measure("share")]
    wilting_point: Annotated[float, measure("share")]


class Site(Model):
    """Where the garden is."""

    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    elevation: Annotated[float, measure("elevation")] = 0.0
    timezone: Zone = "UTC"
    soil: str | MeasuredSoil | None = None
    soil_test: SoilTest | None = None
    irrigation_water_ec: Annotated[float, measure("conductivity")] | None = None
    colder_than_station: Annotated[float, measure("temperature_difference")] = 0.0

    @property
    def southern(self) -> bool:
        """Whether the seasons are those of the southern hemisphere."""
        return self.latitude < 0


def _twelve(quantity: str) -> BeforeValidator:
    def read(value: object) -> tuple[float, ...]:
        words = value.split() if isinstance(value, str) else []
        hint = (
            'one number a month and the unit at the end: "9 9 11 12 14 17 18 18 17 15 12 10 degC"'
        )
        if len(words) < 13:
            raise refuse("monthly normals take twelve numbers and a unit", hint)
        unit = " ".join(words[12:])
        try:
            return tuple(parse(f"{word} {unit}", quantity) for word in words[:12])
        except BadInput as error:
            raise refuse(error.message, error.hint or hint) from None

    return BeforeValidator(read)


class Normals(Model):
    """Monthly means typed by hand: the fallback when there is no daily weather."""

    tmin: Annotated[tuple[float, ...], _twelve("air_temperature")]
    tmax: Annotated[tuple[float, ...], _twelve("air_temperature")]
    rain: Annotated[tuple[float, ...], _twelve("rain")] | None = None

    @model_validator(mode="after")
    def _order(self) -> Normals:
        if any(low > high for low, high in zip(self.tmin, self.tmax, strict=True)):
            raise refuse("a monthly tmin is above its tmax", "check the order of the two lists")
        return self


class Weather(Model):
    """Where the weather comes from."""

    daily: tuple[str, ...] = ()
    normals: Normals | None = None


class About(Model):
    """The name of the garden and how its grower likes numbers shown."""

    name: str
    units: Literal["metric", "us"] = "metric"


class Garden(Model):
    """A garden file, read."""

    version: Literal[1] = Field(default=1, alias="bearwell")
    about: About = Field(alias="garden")
    site: Site
    weather: Weather = Weather()
    no_feeding: tuple[NoFeeding, ...] = ()
    shelters: tuple[Shelter, ...] = Field(default=(), alias="shelter")
    products: tuple[Product, ...] = Field(default=(), alias="product")
    trees: tuple[Tree, ...] = Field(default=(), alias="tree")

    def tree(self, tree_id: str) -> Tree:
        """A tree by id; BadInput lists the ids."""
        for tree in self.trees:
            if tree.id == tree_id:
                return tree
        raise BadInput(
            f"no tree '{tree_id}' in this garden", f"trees: {', '.join(t.id for t in self.trees)}"
        )

    def shelter(self, shelter_id: str | None) -> Shelter | None:
        """A shelter by id."""
        return next((shelter for shelter in self.shelters if shelter.id == shelter_id), None)
