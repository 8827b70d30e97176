"""What a grower says of cold nights: past ones at this spot, and the readings of an evening."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Tag, ValidationInfo, field_validator

from bearwell.garden.values import Day, Model, measure, refuse
from bearwell.said import said

Air = Annotated[float, measure("air_temperature")]
Wind = Annotated[float, measure("wind_speed")]
Sky = Literal["clear", "cloudy"]


def _minimum_below(value: float, info: ValidationInfo) -> float:
    evening = info.data.get("t0")
    if evening is not None and value > evening:
        raise refuse(
            "the minimum is above the reading of the evening",
            "t0 is read two hours after sunset, tmin is the lowest of the night",
        )
    return value


def _dew_below(value: float, evening: float | None) -> float:
    if evening is not None and value > evening:
        raise refuse(
            "the dew point is above the air temperature", "were the two readings exchanged?"
        )
    return value


class Night(Model):
    """A clear calm night of the past: readings two hours after sunset and the minimum that followed."""

    date: Day | None = None
    t0: Air
    td: Air
    tmin: Air

    @field_validator("td")
    @classmethod
    def _dew(cls, value: float, info: ValidationInfo) -> float:
        return _dew_below(value, info.data.get("t0"))

    @field_validator("tmin")
    @classmethod
    def _lowest(cls, value: float, info: ValidationInfo) -> float:
        return _minimum_below(value, info)


class Lowest(Model):
    """The lowest reading of a night at the height of the leaves, by the date of its morning."""

    date: Day
    tmin: Air


class Evening(Model):
    """Readings two hours after sunset, at the height of the leaves, on the evening of a day."""

    date: Day
    t0: Air
    td: Air | None = None
    wind: Wind | None = None
    sky: Sky | None = None

    @field_validator("td")
    @classmethod
    def _dew(cls, value: float | None, info: ValidationInfo) -> float | None:
        return None if value is None else _dew_below(value, info.data.get("t0"))


def _nights(value: object) -> object:
    if not isinstance(value, str | list | tuple):
        raise refuse(
            said("nights = {value!r} is not known", value=value),
            'the name of a file, or a list: [{ t0 = "3.2 degC", td = "-4.2 degC", tmin = "-3.1 degC" }]',
        )
    return value


Nights = Annotated[
    Annotated[str, Tag("<file>")] | Annotated[tuple[Night, ...], Tag("<list>")],
    Discriminator(lambda value: "<file>" if isinstance(value, str) else "<list>"),
    BeforeValidator(_nights),
]


class Cold(Model):
    """What is known here of cold nights. ``nights`` may name a file with columns t0, td and tmin."""

    nights: Nights = ()
    evenings: tuple[Evening, ...] = ()
    lowest: tuple[Lowest, ...] = ()

    @property
    def listed(self) -> tuple[Night, ...]:
        """The nights, where they were listed or read; none while a file still has to be read."""
        return () if isinstance(self.nights, str) else self.nights
