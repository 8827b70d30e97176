"""What a garden file's values are read into: measures with units, dates, names, and how they are refused."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict
from pydantic_core import PydanticCustomError

from bearwell.errors import BadInput
from bearwell.quantities import parse, pointed
from bearwell.said import said


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


def read_date(value: object) -> date | None:
    """The date that a value of a garden file stands for, quoted or not; nothing when it is none."""
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            return None
    return value if type(value) is date else None


def _plain_date(value: object) -> date:
    found = read_date(value)
    if found is None:
        hint = "write it as 2026-04-14"
        if not isinstance(value, str):
            hint = "write it as 2026-04-14, without a time"
        raise refuse(said("'{text}' is not a date", text=value), hint)
    return found


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
        raise refuse(
            said("timezone '{value}' is not known", value=value), 'such as "Europe/Lisbon"'
        ) from None
    return value


def _id(value: str) -> str:
    if not re.fullmatch(r"[\w.-]+", value):
        raise refuse(
            said("id '{value}' has spaces or signs", value=value), "letters, digits, - _ and . only"
        )
    return value


@cache
def grade_of(label: str) -> tuple[float, float, float]:
    """N, P2O5 and K2O in percent by mass of a label such as 5-5-5; BadInput when it is none."""
    text = pointed(label.strip())
    if not re.fullmatch(r"\d+(\.\d+)?(-\d+(\.\d+)?){2}", text):
        raise BadInput(
            said("label '{label}' is not N-P2O5-K2O", label=label), 'write it as printed: "5-5-5"'
        )
    n, p, k = (float(part) for part in text.split("-"))
    if n + p + k > 100:
        raise BadInput(
            said("label '{label}' adds up to more than 100 %", label=label), "check the bag"
        )
    return n, p, k


def _label(value: str) -> str:
    try:
        grade_of(value)
    except BadInput as error:
        raise refuse(error.message, error.hint) from None
    return value


def _month_day(value: str) -> str:
    try:
        date.fromisoformat(f"2024-{value}")
    except ValueError:
        raise refuse(
            said("'{text}' is not a day of the year", text=value), "month-day, such as 06-01"
        ) from None
    if not re.fullmatch(r"\d\d-\d\d", value):
        raise refuse(
            said("'{text}' is not a day of the year", text=value), "month-day, such as 06-01"
        )
    return value


MonthDay = Annotated[str, AfterValidator(_month_day)]
Zone = Annotated[str, AfterValidator(_zone)]
Id = Annotated[str, AfterValidator(_id)]
Label = Annotated[str, AfterValidator(_label)]


class Model(BaseModel):
    """Frozen, and closed to keys we do not know."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=False,
        str_strip_whitespace=True,
        allow_inf_nan=False,
    )


MAJOR = ("n", "p", "k", "ca", "mg", "s", "cl", "na")
TRACE = ("fe", "mn", "zn", "cu", "b", "mo")
Major = Annotated[float, measure("leaf_major")]
Trace = Annotated[float, measure("leaf_trace")]


NUTRIENTS = tuple(one.capitalize() for one in (*MAJOR[:6], *TRACE))


def _nutrient(value: object) -> str:
    symbol = value.strip().capitalize() if isinstance(value, str) else ""
    if symbol not in NUTRIENTS:
        raise refuse(
            said("'{value}' is no nutrient", value=value),
            said("one of: {listed}", listed=", ".join(NUTRIENTS)),
        )
    return symbol


Nutrient = Annotated[str, BeforeValidator(_nutrient)]
