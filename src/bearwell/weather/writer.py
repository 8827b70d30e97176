"""Writing a daily record as our own CSV, whole or not at all."""

from __future__ import annotations

import csv
import math
from os import PathLike
from pathlib import Path

from bearwell.weather.series import EXTRAS, DailySeries
from bearwell.wholefile import SHARED, whole_file

_HEADING = {
    "tmin": "tmin_c",
    "tmax": "tmax_c",
    "rain": "rain_mm",
    "rh_min": "rh_min_pct",
    "rh_max": "rh_max_pct",
    "dew_point": "dew_point_c",
    "wind": "wind_m_s",
    "sunshine": "sunshine_h",
    "solar": "solar_mj",
}


def write_csv(series: DailySeries, path: str | PathLike[str]) -> None:
    """Write a record so that :func:`bearwell.weather.readers.read_daily` reads it back the same.

    Values are kept to the hundredth; missing ones are empty. The file appears under its name only
    once it is complete, and an older one stays until then. Raises BearwellError when it cannot be
    written.
    """
    target = Path(path)
    columns = {"tmin": series.tmin, "tmax": series.tmax, "rain": series.rain}
    columns |= {name: series.extra[name] for name in EXTRAS if name in series.extra}
    heads = ["date", *(_HEADING[name] for name in columns)]
    cells = [[_cell(value) for value in values.tolist()] for values in columns.values()]
    rows = [[day.isoformat() for day in series.iter_dates()], *cells]
    if series.filled.any():
        heads.append("filled")
        rows.append(["1" if made else "0" for made in series.filled.tolist()])
    mode = target.stat().st_mode & 0o777 if target.exists() else SHARED
    with whole_file(target, mode) as part, part.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(heads)
        writer.writerows(zip(*rows, strict=True))


def _cell(value: float) -> str:
    if math.isnan(value):
        return ""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
