"""One daily weather series per site: files read, gaps told, normals, climate, made-up weather."""

from bearwell.weather.generator import Recipe, generate
from bearwell.weather.normals import Climate, CoolSeason, Normals, climate, monthly_normals
from bearwell.weather.readers import merge, read_daily
from bearwell.weather.series import EXTRAS, DailySeries, fill_gaps
from bearwell.weather.writer import write_csv

__all__ = [
    "EXTRAS",
    "Climate",
    "CoolSeason",
    "DailySeries",
    "Normals",
    "Recipe",
    "climate",
    "fill_gaps",
    "generate",
    "merge",
    "monthly_normals",
    "read_daily",
    "write_csv",
]
