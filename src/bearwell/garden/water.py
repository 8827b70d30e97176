"""How a grower waters: drippers, cans, how much there is, and the days on which a rule forbids it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field, StrictBool, field_validator

from bearwell.errors import BadInput
from bearwell.garden.values import Model, MonthDay, measure, refuse
from bearwell.quantities import parse
from bearwell.said import said

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
_LEAST, _MOST = 0.2, 1.0
_LONGEST_YEAR = 366


def _efficiency(value: object) -> float:
    """A share of the water that reaches the roots, "85 %"."""
    try:
        share = parse(value, "share")
    except BadInput as error:
        raise refuse(error.message, error.hint or 'such as "85 %"') from None
    if not _LEAST <= share <= _MOST:
        raise refuse(
            said("an efficiency of {percent:g} % cannot be", percent=100 * share),
            "the share of what is given that reaches the roots: 20 % to 100 %, a dripper about 90 %",
        )
    return share


Efficiency = Annotated[float, BeforeValidator(_efficiency)]


class Drip(Model):
    """The drippers of a tree, or of every tree in the ground: how many, and what each gives."""

    emitters: int = Field(default=1, ge=1, le=200)
    flow: Annotated[float, measure("flow")]

    @property
    def litres_per_minute(self) -> float:
        """What all of them give [L/min]."""
        return self.emitters * self.flow / 60


class Watering(Model):
    """How this grower waters, and how much water there is."""

    drip: Drip | None = None
    can: Annotated[float, measure("can")] = 10.0
    efficiency: Efficiency | None = None
    wind_height: Annotated[float, measure("instrument_height")] = 2.0
    most_a_week: Annotated[float, measure("volume_of_water")] | None = None
    save: StrictBool = False

    @field_validator("most_a_week")
    @classmethod
    def _some(cls, most: float | None) -> float | None:
        if most is not None and most <= 0:
            raise refuse("most_a_week of nothing leaves every tree dry", "leave the line out")
        return most


class NoWatering(Model):
    """Days on which a local rule forbids watering: a part of the year, some days of the week in it."""

    start: MonthDay = Field(alias="from")
    end: MonthDay = Field(alias="to")
    weekdays: tuple[Weekday, ...] = WEEKDAYS
    pots: StrictBool = True
    reason: str = said("local rule")

    def covers(self, day: date, *, pot: bool = False) -> bool:
        """Whether the rule holds on this day for a tree in the ground or in a pot."""
        if (pot and not self.pots) or WEEKDAYS[day.weekday()] not in self.weekdays:
            return False
        mark = day.isoformat()[5:]
        if self.start <= self.end:
            return self.start <= mark <= self.end
        return mark >= self.start or mark <= self.end

    def leaves_a_day(self, first: date) -> bool:
        """Whether any day of the year from ``first`` on stays open."""
        return any(not self.covers(first + timedelta(days=ahead)) for ahead in range(_LONGEST_YEAR))
