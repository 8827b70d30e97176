"""The nights ahead at a garden: how low, how sure, what sort of night, and the air hour by hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from math import sqrt
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from bearwell.garden import Evening, Garden, Night
from bearwell.knowledge import Knowledge
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.said import said
from bearwell.science.clocktime import universal_hour
from bearwell.science.frost import (
    MinimumForecast,
    minimum_forecast_fao,
    minimum_forecast_fit_fao,
    night_temperature_sqrt,
)
from bearwell.science.sun import day_length_spencer, sunrise_sunset_spencer
from bearwell.season.cold import said_colder
from bearwell.season.site import SiteSeason

Sort = Literal["radiation", "advection", "between", "unknown"]
SORTS: dict[str, str] = {
    "radiation": "Clear and calm: the ground loses its heat to the sky and cold air gathers low. Covers to the "
    "ground, banks of soil, lamps and water all work; low spots are coldest, air a few metres up is warmer.",
    "advection": "Cold brought by the wind: the air is as cold above as below. Covers, lamps and jets do little, "
    "wetted leaves are cooled below the air, and fans bring no warmer air down.",
    "between": "Neither still and clear nor windy: covers count for part of what they give in a calm clear night.",
    "unknown": "Wind and sky are not known. The plan reckons with a clear calm night; in wind covers give little.",
}


OWN_RULE = "your evening reading"
FOREIGN_RULE = "your evening reading, by a rule fitted elsewhere"


@dataclass(frozen=True)
class SiteNight:
    """One night at the garden, in the open: the morning it ends on, its lowest [degC] and how sure [K].

    ``station`` is the forecast of the weather file, ``evening`` the air two hours after sunset, ``length``
    the hours from then to sunrise (0 where the sun does not set or rise).
    """

    day: date
    lowest: float
    error: float
    evening: float | None
    length: float
    sort: Sort
    station: float | None
    dew_point: float | None = None
    wind: float | None = None
    basis: str = "the weather file"
    because: tuple[Because, ...] = ()

    @property
    def eve(self) -> date:
        """The day on whose evening it begins."""
        return self.day - timedelta(days=1)

    def hours(self, parts: int = 1) -> list[tuple[float, float]]:
        """Hours since the start and the air at each [h, degC]; empty where the evening is not known.

        With ``parts`` each hour is told in so many steps.
        """
        if self.evening is None or self.length <= 0:
            return []
        whole = [step / parts for step in range(int(self.length * parts) + 1)]
        at = [*whole, self.length] if self.length > whole[-1] + 0.05 else whole
        start = max(self.evening, self.lowest)
        air = night_temperature_sqrt(start, self.lowest, self.length, at)
        return list(zip(at, (float(value) for value in air), strict=True))


@dataclass(frozen=True)
class Rule:
    """The rule from an evening's readings to the night's minimum, and how good it is [K]."""

    fit: MinimumForecast
    error: float
    nights: int
    own: bool
    because: tuple[Because, ...]


def evening_rule(nights: tuple[Night, ...], book: Knowledge) -> Rule:
    """The rule fitted to the grower's own nights, or the published one where they are too few."""
    needed = book.constant("own nights needed")
    if len(nights) >= needed.number:
        air, damp, low = ([getattr(one, key) for one in nights] for key in ("t0", "td", "tmin"))
        fit = minimum_forecast_fit_fao(air, damp, low)
        misses = np.asarray(low) - minimum_forecast_fao(air, damp, *fit)
        spread = sqrt(float(np.sum(misses**2)) / max(len(nights) - 3, 1))
        error = max(spread, book.constant("evening rule error at least").number)
        why = recorded(
            "Fitted to {count} of your own nights: minimum = {a} × air + {b} × dew point + {c}; it misses by "
            "about {error}"
            if fit.intercept >= 0
            else "Fitted to {count} of your own nights: minimum = {a} × air + {b} × dew point − {c}; it misses by "
            "about {error}",
            round(error, 2),
            "K",
            count=len(nights),
            a=said("{slope:.2f}", slope=fit.air_slope),
            b=said("{slope:.2f}", slope=fit.dew_slope),
            c=said("{rest:.1f}", rest=abs(fit.intercept)),
            error=amount(round(error, 1), "K"),
        )
        return Rule(fit, error, len(nights), True, (why,))
    names = ("evening rule air", "evening rule dew point", "evening rule rest")
    air_slope, dew_slope, rest = (book.constant(name).number for name in names)
    wrong = book.constant("evening rule error elsewhere")
    return Rule(
        MinimumForecast(air_slope, dew_slope, rest),
        wrong.number,
        len(nights),
        False,
        (
            from_fact(
                "You have {count} nights of your own, fewer than {value}: a rule fitted elsewhere stands in",
                needed,
                count=len(nights),
            ),
            from_fact(
                "That rule takes {value} of the evening's air temperature",
                book.constant("evening rule air"),
            ),
            from_fact("and may be off by {value} here", wrong),
        ),
    )


def sort_of_night(
    wind: float | None, sky: str | None, book: Knowledge
) -> tuple[Sort, tuple[Because, ...]]:
    """What sort of night it is, from wind [m/s] and sky where they are known."""
    if wind is None:
        if sky == "cloudy":
            return "between", (
                computed("The sky is cloudy: the night cools less than a clear one"),
            )
        return "unknown", ()
    calm, blown = book.constant("calm wind"), book.constant("advection wind")
    speed = amount(round(wind, 1), "m s-1")
    if wind >= blown.number:
        why = from_fact(
            "A wind of {speed} brings the cold with it: from {value} on", blown, speed=speed
        )
        return "advection", (why,)
    if wind < calm.number and sky != "cloudy":
        why = from_fact("A wind of {speed} is below {value}: a still night", calm, speed=speed)
        return ("radiation" if sky == "clear" else "unknown"), (why,)
    why = from_fact("A wind of {speed} lies above a calm of {value}", calm, speed=speed)
    return "between", (why,)


def credited_lift(lift: float, sort: Sort, book: Knowledge) -> float:
    """What of a cover's lift counts in a sort of night [K]; a cover that is no warmer stays so."""
    if lift <= 0 or sort in ("radiation", "unknown"):
        return lift
    if sort == "advection":
        return min(lift, book.constant("lift in an advection night").number)
    return lift * book.constant("covers in wind").number


def reading_of(garden: Garden, today: date) -> Evening | None:
    """The grower's reading of this evening, if there is one."""
    return next((one for one in garden.cold.evenings if one.date == today), None)


def nights_of_site(
    garden: Garden,
    site: SiteSeason,
    book: Knowledge,
    today: date,
    reading: Evening | None = None,
) -> list[SiteNight]:
    """The nights that are forecast, those just past among them, and tonight from an evening's reading."""
    reading = reading or reading_of(garden, today)
    found = {night.day: night for night in _forecast(site, book, today)}
    tonight = today + timedelta(days=1)
    if reading is not None:
        read = _from_reading(garden, site, book, tonight, reading, found.get(tonight))
        if read is not None:
            found[tonight] = read
    return [found[day] for day in sorted(found)]


def _lengths(site: SiteSeason, days: Sequence[date], book: Knowledge) -> list[float]:
    """Hours from two hours after sunset to sunrise; 0 where the sun does not rise or does not set."""
    light = day_length_spencer(site.site.latitude, [day.timetuple().tm_yday for day in days])
    after = book.constant("start of the night").number
    dark = np.maximum(24.0 - light - after, 0.0)
    lengths: list[float] = np.where((light > 0.0) & (light < 24.0), dark, 0.0).tolist()
    return lengths


def _forecast(site: SiteSeason, book: Knowledge, today: date) -> Sequence[SiteNight]:
    """The nights that are forecast, the same for every tree of the site."""
    known, of_book, of_day = site.worked_out.get("nights", ((), None, None))
    if of_book is not book or of_day != today:
        known = _forecast_anew(site, book, today)
        site.worked_out["nights"] = known, book, today
    nights: Sequence[SiteNight] = known
    return nights


def _forecast_anew(site: SiteSeason, book: Knowledge, today: date) -> list[SiteNight]:
    series = site.series
    span = timedelta(days=round(book.constant("forecast days used").number))
    if series is None or series.end <= today or series.start > today + span:
        return []
    part = series.between(max(series.start, today - span), min(series.end, today + span))
    share, error = (
        book.constant("evening share of the day").number,
        book.constant("forecast error").number,
    )
    colder, why = said_colder(site)
    winds, damp = part.extra.get("wind"), part.extra.get("dew_point")
    nights = []
    days = [part.start + timedelta(days=index) for index in range(len(part.tmin))]
    lengths = _lengths(site, days, book)
    for index, (day, low) in enumerate(zip(days, part.tmin, strict=True)):
        if not np.isfinite(low):
            continue
        high = float(part.tmax[index - 1]) if index else float("nan")
        evening = float(low) + share * (high - float(low)) - colder if np.isfinite(high) else None
        wind = _known(winds, index)
        sort, why_sort = sort_of_night(wind, None, book)
        nights.append(
            SiteNight(
                day,
                float(low) - colder,
                error,
                evening,
                lengths[index],
                sort,
                float(low),
                _known(damp, index),
                wind,
                because=(*why, *why_sort),
            )
        )
    return nights


def _known(values: np.ndarray | None, index: int) -> float | None:
    return None if values is None or not np.isfinite(values[index]) else float(values[index])


def _from_reading(
    garden: Garden,
    site: SiteSeason,
    book: Knowledge,
    day: date,
    reading: Evening,
    forecast: SiteNight | None,
) -> SiteNight | None:
    """Tonight with the grower's own reading: its start, its sort, its minimum where the rule may be asked.

    The rule holds for clear calm nights. One that was fitted elsewhere gives way to a forecast.
    """
    wind = reading.wind if reading.wind is not None else (forecast.wind if forecast else None)
    sort, why_sort = sort_of_night(wind, reading.sky, book)
    rule = evening_rule(garden.cold.listed, book)
    low: float | None = None
    if reading.td is not None and sort in ("radiation", "unknown"):
        low = min(float(minimum_forecast_fao(reading.t0, reading.td, *rule.fit)), reading.t0)
    follows = low is not None and (rule.own or forecast is None)
    if not follows and forecast is None:
        return None
    why = [
        recorded(
            "Two hours after sunset you read {air}",
            reading.t0,
            "degC",
            air=amount(reading.t0, "degC"),
        )
    ]
    if reading.td is not None:
        why.append(
            recorded(
                "and a dew point of {damp}", reading.td, "degC", damp=amount(reading.td, "degC")
            )
        )
    if low is not None:
        why += rule.because
        why.append(
            computed(
                "By that rule the night falls to {low}"
                if follows
                else "By that rule the night falls to {low}: told, not followed",
                round(low, 1),
                "degC",
                low=amount(low, "degC"),
            )
        )
    if forecast is not None and not follows:
        return replace(
            forecast,
            lowest=min(forecast.lowest, reading.t0),
            evening=reading.t0,
            sort=sort,
            dew_point=reading.td if reading.td is not None else forecast.dew_point,
            wind=wind,
            because=(*forecast.because, *why, *why_sort),
        )
    return SiteNight(
        day,
        reading.t0 if low is None else low,
        rule.error,
        reading.t0,
        _lengths(site, [day], book)[0],
        sort,
        forecast.station if forecast else None,
        reading.td,
        wind,
        OWN_RULE if rule.own else FOREIGN_RULE,
        (*why, *why_sort),
    )


def clock_times(
    site: SiteSeason, night: SiteNight, book: Knowledge
) -> tuple[datetime, datetime] | None:
    """Clock time of the start of a night, two hours after sunset, and of sunrise; None without either."""
    if night.length <= 0:
        return None
    place, zone = site.site, ZoneInfo(site.site.timezone)
    after = book.constant("start of the night").number

    def clock(day: date, sun_hour: float) -> datetime:
        hour = float(universal_hour(sun_hour, place.longitude, day.timetuple().tm_yday))
        midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
        return (midnight + timedelta(hours=hour)).astimezone(zone)

    eve = sunrise_sunset_spencer(place.latitude, night.eve.timetuple().tm_yday)
    morning = sunrise_sunset_spencer(place.latitude, night.day.timetuple().tm_yday)
    return clock(night.eve, float(eve.sunset) + after), clock(night.day, float(morning.sunrise))
