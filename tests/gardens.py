"""Small gardens for tests: written to a folder with plausible or seeded weather, then opened."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from bearwell import api
from bearwell.weather.generator import generate
from bearwell.weather.normals import monthly_normals
from bearwell.weather.series import DailySeries
from bearwell.weather.writer import write_csv

# Monthly normals made up for the tests: a mild Atlantic coast, and the same place mirrored south.
MILD = {
    "tmin": (6.0, 6.4, 8.0, 9.2, 11.4, 14.0, 15.4, 15.3, 14.2, 11.8, 8.6, 6.8),
    "tmax": (13.9, 14.9, 17.5, 18.8, 21.3, 24.1, 25.9, 26.5, 24.5, 21.0, 16.7, 14.4),
    "rain": (170, 130, 120, 120, 95, 45, 25, 35, 80, 160, 180, 190),
}
COLD = {
    "tmin": (-3.0, -2.4, 0.5, 3.6, 8.0, 11.2, 13.2, 12.8, 9.5, 5.8, 1.4, -1.6),
    "tmax": (3.4, 5.2, 9.8, 14.6, 19.2, 22.4, 24.6, 24.2, 19.6, 13.8, 7.4, 4.2),
    "rain": (50, 42, 48, 50, 66, 72, 76, 70, 54, 52, 56, 58),
}
TODAY = date(2026, 11, 25)


@cache
def weather_of(place: str, end: date, southern: bool = False, years: int = 11) -> DailySeries:
    """Seeded daily weather up to ``end``; the southern one is the northern moved by half a year."""
    normals = {"mild": MILD, "cold": COLD}[place]
    turn = {key: values[6:] + values[:6] if southern else values for key, values in normals.items()}
    start = date(end.year - years, 1, 1)
    made = monthly_normals(turn["tmin"], turn["tmax"], turn["rain"])
    return generate(made, start, end, np.random.default_rng(41))


def write_garden(
    folder: Path,
    trees: str,
    *,
    today: date = TODAY,
    place: str | None = "mild",
    southern: bool = False,
    head: str = "",
    site: str = 'soil = "loam"',
    weather: DailySeries | None = None,
    units: str = "metric",
) -> Path:
    """A garden file with these trees, and its weather beside it when ``place`` or ``weather`` is given."""
    series = weather or (weather_of(place, today, southern) if place else None)
    daily = ""
    if series is not None:
        write_csv(series, folder / "weather.csv")
        daily = '[weather]\ndaily = ["weather.csv"]\n'
    latitude = -41.7 if southern else 41.7
    path = folder / "garden.toml"
    path.write_text(
        f'bearwell = 1\n[garden]\nname = "test plot"\nunits = "{units}"\n'
        f'[site]\nlatitude = {latitude}\nlongitude = -8.8\nelevation = "40 m"\ntimezone = "UTC"\n{site}\n'
        f"{daily}{head}\n{trees}\n",
        encoding="utf-8",
    )
    return path


def opened(folder: Path, trees: str, *, today: date = TODAY, **rest: object) -> api.LoadedGarden:
    """A garden written and opened."""
    return api.open_garden(write_garden(folder, trees, today=today, **rest), today)  # type: ignore[arg-type]


def tree(kind: str, *, years: float = 9, today: date = TODAY, more: str = "", pot: str = "") -> str:
    """A [[tree]] table of a grown, measured tree."""
    planted = today - timedelta(days=round(years * 365.25))
    place = f'grows_in = {{ container = "{pot}", medium = "bark and peat" }}\n' if pot else ""
    size = (
        'height = "1.2 m"\nspread = "1.0 m"\ntrunk_girth = "8 cm"\n'
        if pot
        else (
            'height = "2.8 m"\nspread = ["2.8 m", "2.6 m"]\nskirt = "0.4 m"\ntrunk_girth = "36 cm"\n'
        )
    )
    return f'[[tree]]\nid = "one"\nkind = "{kind}"\nplanted = {planted}\n{place}{size}{more}\n'


SHELF = """
[[product]]
id = "balanced"
name = "balanced organic granules"
label = "5-5-5"
release = "granular organic"
on_hand = "40 kg"
cup_mass = "150 g"
[[product]]
id = "meal"
name = "feather meal"
label = "12-0-0"
release = "quick organic meal"
on_hand = "9 kg"
[[product]]
id = "potash"
name = "sulfate of potash"
label = "0-0-50"
release = "granular mineral"
on_hand = "5 kg"
"""
