"""Frozen models of a garden. Measures are in canonical units; `None` means the grower did not say."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated, Literal, get_args

from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    StrictBool,
    Tag,
    ValidationInfo,
    field_validator,
    model_validator,
)

from bearwell.errors import BadInput
from bearwell.garden.cold import Cold
from bearwell.garden.counts import Count, Harvest
from bearwell.garden.pruning import CutMore, Pruning
from bearwell.garden.values import (
    MAJOR,
    TRACE,
    Age,
    Day,
    Girth,
    Id,
    Label,
    Length,
    Major,
    Mass,
    Model,
    MonthDay,
    Nutrient,
    Skirt,
    Spread,
    Structure,
    Trace,
    Zone,
    grade_of,
    measure,
    refuse,
)
from bearwell.garden.water import Drip, NoWatering, Watering
from bearwell.quantities import family_of, parse
from bearwell.said import said

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


class Observed(Model):
    """Something seen on the tree, with its date."""

    event: Event
    date: Day
    percent: float | None = Field(default=None, ge=0, le=100)

    @field_validator("percent")
    @classmethod
    def _of_bloom(cls, percent: float | None, info: ValidationInfo) -> float | None:
        if percent is not None and "bloom" not in info.data.get("event", "bloom"):
            raise refuse("percent tells of flowers", "with bloom start, full bloom or bloom end")
        return percent


class LeafTest(Model):
    """A laboratory's analysis of leaves: which leaves, when, and what was in them."""

    date: Day
    leaf: str = "spring flush, from shoots without fruit"
    norms: str | None = None
    n: Major | None = None
    p: Major | None = None
    k: Major | None = None
    ca: Major | None = None
    mg: Major | None = None
    s: Major | None = None
    cl: Major | None = None
    na: Major | None = None
    fe: Trace | None = None
    mn: Trace | None = None
    zn: Trace | None = None
    cu: Trace | None = None
    b: Trace | None = None
    mo: Trace | None = None

    @model_validator(mode="after")
    def _some(self) -> LeafTest:
        if not self.values:
            raise refuse(
                "a leaf test without a nutrient says nothing", 'n = "2.4 %", zn = "18 ppm"'
            )
        return self

    @property
    def values(self) -> dict[str, float]:
        """What was measured, by symbol: percent for the major nutrients, mg/kg for the trace ones."""
        found = {name: getattr(self, name) for name in (*MAJOR, *TRACE)}
        return {name: value for name, value in found.items() if value is not None}


class SeenShortage(Model):
    """A shortage that the leaves showed, by the grower's own judgement or the leaf key."""

    date: Day
    nutrient: Nutrient


WATER_DENSITY = 1000.0  # g/L, as litres of water are weighed: 1 kg a litre


def _given(quantity: str) -> BeforeValidator:
    """A validator that reads a mass, or litres of water when the work was watering."""

    def read(value: object, info: ValidationInfo) -> float:
        try:
            if family_of(value) == "capacity":
                if info.data.get("job") == "water":
                    return parse(value, "volume_of_water") * WATER_DENSITY
                raise BadInput(
                    said(
                        "'{value}' is a volume, which is read for job = \"water\" only", value=value
                    ),
                    'write the mass, such as "2 kg"',
                )
            return parse(value, quantity)
        except BadInput as error:
            raise refuse(error.message, error.hint) from None

    return BeforeValidator(read)


class Done(Model):
    """Work done on a tree. The amount is a mass; water may be given by volume."""

    date: Day
    job: Job
    product: str | None = None
    amount: Annotated[float, _given("mass")] | None = None
    look: str | None = None
    corrects: Nutrient | None = None
    note: str = ""


class Container(Model):
    """A pot and what is in it."""

    volume: Annotated[float, measure("pot")] = Field(alias="container")
    medium: str = "bark and peat"


def _place(value: object) -> object:
    if not isinstance(value, dict | Container) and value != "ground":
        raise refuse(
            said("grows_in = {value!r} is not known", value=value),
            'write "ground" or { container = "45 L", medium = "bark and peat" }',
        )
    return value


def _kind_of_place(value: object) -> str:
    return "<ground>" if isinstance(value, str) else "<pot>"


# Tags in angle brackets tell pydantic which form was meant, so that only its complaints are told.
Place = Annotated[
    Annotated[Literal["ground"], Tag("<ground>")] | Annotated[Container, Tag("<pot>")],
    Discriminator(_kind_of_place),
    BeforeValidator(_place),
]


class Where(Model):
    """Where something stands on the ground, from one corner of the garden [m]."""

    east: Annotated[float, measure("map_distance")]
    north: Annotated[float, measure("map_distance")]


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
    grows_in: Place = "ground"
    place: Where | None = None
    height: Length | None = None
    spread: Annotated[tuple[Spread, Spread], BeforeValidator(_spread)] | None = None
    skirt: Skirt | None = None
    trunk_girth: Girth | None = None
    limbs: tuple[Annotated[float, measure("branch")], ...] = ()
    shelter: str | None = None
    shape: str | None = None
    wanted_height: Length | None = None
    wanted_spread: Annotated[tuple[Spread, Spread], BeforeValidator(_spread)] | None = None
    cut_more: CutMore | None = None
    harvests: tuple[Harvest, ...] = ()
    observed: tuple[Observed, ...] = ()
    counts: tuple[Count, ...] = ()
    done: tuple[Done, ...] = ()
    leaf_tests: tuple[LeafTest, ...] = ()
    shortages: tuple[SeenShortage, ...] = ()
    drip: Drip | None = None
    shoot_growth: Annotated[float, measure("shoot")] | None = None
    note: str = ""

    # Each of these looks at the fields before it, where they were read, so that all complaints of a
    # tree are told together.
    @field_validator("skirt")
    @classmethod
    def _below_the_top(cls, skirt: float | None, info: ValidationInfo) -> float | None:
        height = info.data.get("height")
        if skirt is not None and height is not None and skirt >= height:
            raise refuse("skirt is not below the height of the tree", "skirt is the lowest foliage")
        return skirt

    @field_validator("trunk_girth")
    @classmethod
    def _within_the_crown(cls, girth: float | None, info: ValidationInfo) -> float | None:
        spread = info.data.get("spread")
        if girth is not None and spread is not None and girth > max(spread):
            raise refuse(
                "trunk_girth is larger than the spread", "girth is measured around the trunk, in cm"
            )
        return girth

    @field_validator("harvests")
    @classmethod
    def _once_a_year(cls, harvests: tuple[Harvest, ...]) -> tuple[Harvest, ...]:
        years = [harvest.year for harvest in harvests]
        if len(set(years)) != len(years):
            raise refuse("a harvest year is listed twice", "one entry a year")
        return harvests

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

    def years_planted(self, today: date) -> float:
        """Years since it was planted, whatever was grafted on it later [yr]."""
        return (today - self.planted).days / 365.25

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
    material: str | None = None
    pack: Mass | None = None
    price: float | None = Field(default=None, ge=0)
    on_hand: Mass | None = None
    kept_for: tuple[str, ...] = ()
    opened: StrictBool = True
    at_most: Mass | None = None
    cup_mass: Annotated[float, measure("cup")] | None = None

    @property
    def grade(self) -> tuple[float, float, float]:
        """N, P2O5 and K2O in percent by mass, as printed."""
        return grade_of(self.label)


_LONGEST_YEAR = 366


class NoFeeding(Model):
    """Days of the year on which a local rule forbids nutrients."""

    start: MonthDay = Field(alias="from")
    end: MonthDay = Field(alias="to")
    nutrients: tuple[Literal["N", "P", "K"], ...] = ("N", "P", "K")
    reason: str = said("local rule")

    def covers(self, day: date) -> bool:
        """Whether the rule holds on this day; a window may run over New Year."""
        mark = day.isoformat()[5:]
        if self.start <= self.end:
            return self.start <= mark <= self.end
        return mark >= self.start or mark <= self.end

    def day_after(self, day: date) -> date | None:
        """The first day from ``day`` on which the rule does not hold; nothing when it holds all year."""
        for ahead in range(_LONGEST_YEAR + 1):
            if not self.covers(day + timedelta(days=ahead)):
                return day + timedelta(days=ahead)
        return None


class Feeding(Model):
    """How this grower wants feeding planned."""

    late_rounds: Literal["even", "stop before frost"] = "even"
    heavy_rain: Annotated[float, measure("rain")] = 25.0
    rain_days: int = Field(default=2, ge=0, le=14)
    distance_to_water: Annotated[float, measure("distance")] | None = None
    area_cap: Annotated[float, measure("spread_rate")] | None = None


class Shelter(Model):
    """A structure that trees stand under or against in winter."""

    id: Id
    shape: Literal["hoop", "box", "gable", "wall"] = "box"
    length: Structure | None = None
    width: Structure | None = None
    height: Structure | None = None
    cover: str = "single polyethylene film"
    air_changes: float | None = Field(default=None, ge=0, le=60)
    heater: Annotated[float, measure("power")] | None = None
    water: Annotated[float, measure("volume_of_water")] | None = None
    place: Where | None = None
    lies: Annotated[float, measure("compass")] = 90.0


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

    @model_validator(mode="after")
    def _order(self) -> MeasuredSoil:
        if self.wilting_point >= self.field_capacity:
            raise refuse(
                "the wilting point is not below the field capacity",
                "a drained soil holds more water than plants leave in it: were they exchanged?",
            )
        return self


def _kind_of_soil(value: object) -> str:
    return "<measured>" if isinstance(value, dict | MeasuredSoil) else "<texture>"


Soil = Annotated[
    Annotated[str, Tag("<texture>")] | Annotated[MeasuredSoil, Tag("<measured>")],
    Discriminator(_kind_of_soil),
]


class Site(Model):
    """Where the garden is."""

    latitude: float = Field(ge=-90, le=90)
    longitude: float = Field(ge=-180, le=180)
    elevation: Annotated[float, measure("elevation")] = 0.0
    timezone: Zone = "UTC"
    soil: Soil | None = None
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


def _listed(value: object) -> object:
    """One name for a list of one."""
    return [value] if isinstance(value, str) else value


class Weather(Model):
    """Where the weather comes from."""

    daily: tuple[str, ...] = ()
    station: str | None = None
    station_elevation: Annotated[float, measure("elevation")] | None = None
    to_garden_height: bool = False
    online: Annotated[
        tuple[Literal["open-meteo", "nasa-power"], ...], BeforeValidator(_listed)
    ] = ()
    since: Annotated[int, Field(ge=1940, le=2100)] | None = None
    thermometer: str | None = None
    normals: Normals | None = None

    @model_validator(mode="after")
    def _goes_together(self) -> Weather:
        if self.since is not None and not self.online:
            raise refuse(
                "since says how far back to fetch, and no service is named", 'online = "open-meteo"'
            )
        return self


class About(Model):
    """The name of the garden and how its grower likes numbers shown."""

    name: str
    units: Literal["metric", "us"] = "metric"


_LISTED = 40  # ids named in a hint


class Garden(Model):
    """A garden file, read."""

    version: Literal[1] = Field(default=1, alias="bearwell")
    about: About = Field(alias="garden")
    site: Site
    weather: Weather = Weather()
    feeding: Feeding = Feeding()
    pruning: Pruning = Pruning()
    watering: Watering = Watering()
    cold: Cold = Cold()
    no_feeding: tuple[NoFeeding, ...] = ()
    no_watering: tuple[NoWatering, ...] = ()
    shelters: tuple[Shelter, ...] = Field(default=(), alias="shelter")
    products: tuple[Product, ...] = Field(default=(), alias="product")
    trees: tuple[Tree, ...] = Field(default=(), alias="tree")

    def tree(self, named: str) -> Tree:
        """A tree by its id, or by its name where no other has it; BadInput lists the ids."""
        for tree in self.trees:
            if tree.id == named:
                return tree
        plain = named.strip().casefold()
        called = [
            tree for tree in self.trees if plain in (tree.id.casefold(), tree.name.casefold())
        ]
        if len(called) == 1:
            return called[0]
        ids = [tree.id for tree in called or self.trees]
        what = (
            said("{count} trees are called '{named}'", count=len(called), named=named)
            if called
            else said("no tree '{named}' in this garden", named=named)
        )
        shown = ", ".join(ids[:_LISTED]) + (" ..." if len(ids) > _LISTED else "")
        raise BadInput(
            what, said("trees: {shown}", shown=shown) if ids else "the garden has no trees"
        )

    def shelter(self, shelter_id: str | None) -> Shelter | None:
        """A shelter by id."""
        return next((shelter for shelter in self.shelters if shelter.id == shelter_id), None)
