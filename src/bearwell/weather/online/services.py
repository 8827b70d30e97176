"""The services that can be asked: where they are, what they are asked, what their makers want said."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from bearwell.weather.report import OPEN_METEO_TERMS, POWER_TERMS
from bearwell.weather.rules import rule

Query = dict[str, str]


@dataclass(frozen=True, slots=True)
class Asked:
    """Where the garden is."""

    latitude: float
    longitude: float
    elevation: float | None = None


@dataclass(frozen=True, slots=True)
class Service:
    """One service. ``history`` and ``forecast`` make the query; ``late`` is how far its history lags [d]."""

    name: str
    title: str
    terms: str
    begins: int
    late: int
    history: Callable[[Asked, date, date], Query]
    forecast: Callable[[Asked], Query] | None = None


ADDRESSES: Mapping[str, str] = MappingProxyType(
    {
        "open-meteo history": "https://archive-api.open-meteo.com/v1/archive",
        "open-meteo forecast": "https://api.open-meteo.com/v1/forecast",
        "nasa-power history": "https://power.larc.nasa.gov/api/temporal/daily/point",
    }
)
"""Where each sort of request goes. Only what the grower asks for is ever sent there."""

_NEEDED = ("temperature_2m_min", "temperature_2m_max", "precipitation_sum")
_DAILY = (
    *_NEEDED,
    "shortwave_radiation_sum",
    "relative_humidity_2m_min",
    "relative_humidity_2m_max",
    "wind_speed_10m_mean",
)
_PARAMETERS = ("T2M_MIN", "T2M_MAX", "PRECTOTCORR", "ALLSKY_SFC_SW_DWN", "T2MDEW", "WS2M")


def _place(asked: Asked) -> Query:
    query = {"latitude": f"{asked.latitude:.4f}", "longitude": f"{asked.longitude:.4f}"}
    if asked.elevation is not None:
        query["elevation"] = f"{asked.elevation:.0f}"
    return query


def _open_meteo_history(asked: Asked, first: date, last: date) -> Query:
    return _place(asked) | {
        "start_date": first.isoformat(),
        "end_date": last.isoformat(),
        "daily": ",".join(_DAILY),
        "timezone": "auto",
    }


def _open_meteo_forecast(asked: Asked) -> Query:
    return _place(asked) | {
        "forecast_days": f"{rule('online.forecast'):.0f}",
        "past_days": f"{rule('online.bridge'):.0f}",
        "daily": ",".join(_DAILY),
        "timezone": "auto",
    }


def only_needed(query: Query) -> Query | None:
    """The same request for no more than temperature and rain; None where it asks for no more."""
    least = ",".join(_NEEDED)
    return query | {"daily": least} if query.get("daily", least) != least else None


def _power_history(asked: Asked, first: date, last: date) -> Query:
    return {
        "parameters": ",".join(_PARAMETERS),
        "community": "AG",
        "latitude": f"{asked.latitude:.4f}",
        "longitude": f"{asked.longitude:.4f}",
        "start": first.strftime("%Y%m%d"),
        "end": last.strftime("%Y%m%d"),
        "format": "JSON",
        "time-standard": "LST",
    }


SERVICES: Mapping[str, Service] = MappingProxyType(
    {
        one.name: one
        for one in (
            Service(
                "open-meteo", "Open-Meteo", OPEN_METEO_TERMS, 1940, 6,
                _open_meteo_history, _open_meteo_forecast,
            ),
            Service(
                "nasa-power", "NASA POWER", POWER_TERMS, 1981, 3,
                _power_history,
            ),
        )
    }
)  # fmt: skip
"""Every service by the name a garden file gives it."""
