"""Reckoners of water: tree-water, soil-water; and of what a bloom forecast is worth: bloom-skill."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bearwell.errors import BadInput
from bearwell.knowledge import knowledge
from bearwell.quantities import parse, plain_number
from bearwell.reasons import computed
from bearwell.reckon.model import Answer, Option, Reckoner, existing_file, measured, number
from bearwell.reckon.sky import cited
from bearwell.said import said
from bearwell.science import soilwater
from bearwell.season.bloom import BASES, STARTS, HeatRule
from bearwell.season.bloomskill import dated_years, error_of_rule, proved
from bearwell.weather.readers import read_daily

# The most a crop coefficient may be: FAO-56 prints none above 1.3, a lone tree in dry wind may pass it.
KC_MOST = 1.6
# Below this a system loses more than it gives: a slip, such as 5 for 0.5, or a broken pipe.
EFFICIENCY_LEAST = 0.2


def _share(what: str, least: float, most: float, example: str) -> Any:
    """A reader of a share, as 0.85 or "85 %"."""

    def read(text: str) -> float:
        value = parse(text, "share", bare=True) if "%" in text else _plain(text)
        if not least <= value <= most:
            hint = said(
                "between {least:g} and {most:g}, such as {example}; {value:g} % is written '{value:g} %' or "
                "{share:g}"
                if most < value <= 100
                else "between {least:g} and {most:g}, such as {example}",
                least=least,
                most=most,
                example=example,
                value=value,
                share=value / 100,
            )
            message = said("{text} is out of range for {what}", text=text, what=said(what))
            raise BadInput(message, hint)
        return value

    def _plain(text: str) -> float:
        try:
            return plain_number(text)
        except ValueError:
            raise BadInput(
                said("'{named}' is not {what}", named=text, what=said(what)),
                said("such as {examples}", examples=example),
            ) from None

    return read


def _kind(text: str) -> str:
    return knowledge().kind(text).key


def _tree_water(given: Mapping[str, Any]) -> Answer:
    et0, kc, diameter = given["et0"], given["kc"], given["canopy_diameter"]
    rain, efficiency = given.get("rain") or 0.0, given.get("efficiency") or 1.0
    area = math.pi * diameter**2 / 4
    wanted = et0 * kc
    missing = max(wanted - rain, 0.0)
    litres = soilwater.irrigation_for_tree(missing, area, 0.0, efficiency)
    links = [
        cited(
            "Water the tree would use: reference evapotranspiration times the crop coefficient",
            round(wanted, 3),
            "mm d-1",
            "allen-1998",
            "equation 58",
        ),
        computed(
            "Less the rain of a day, on the canopy's shadow of {area} m²; 1 mm on 1 m² is 1 L",
            round(missing * area, 3),
            "L d-1",
            area=said("{area:.2f}", area=area),
        ),
    ]
    if efficiency < 1:
        links.append(
            computed(
                "{percent} % of what is given reaches the roots",
                percent=said("{percent:g}", percent=100 * efficiency),
            )
        )
    notes = [
        "Printed crop coefficients are for the whole ground of an orchard at its own cover. On the shadow of a lone "
        "tree the figure is the printed one divided by that cover: 0.65 at 70 % cover is 0.93.",
    ]
    if rain >= wanted:
        notes.append("Rain covers the use of the day.")
    results = {
        "litres_per_day": round(litres, 3),
        "use_mm": round(wanted, 3),
        "canopy_area_m2": round(area, 4),
    }
    return results, tuple(links), tuple(notes)


def _soil_water(given: Mapping[str, Any]) -> Answer:
    full, dry = given["field_capacity"], given["wilting_point"]
    if dry >= full:
        raise BadInput(
            said(
                "the wilting point {dry:g} is not below the field capacity {full:g}",
                dry=dry,
                full=full,
            ),
            "a drained soil holds more water than plants leave in it: were they exchanged?",
        )
    total = float(soilwater.total_available_water(full, dry, given["root_depth"]))
    ready = float(soilwater.readily_available_water(total, given["depletion"]))
    links = (
        cited("All the water between field capacity and wilting point in the root zone", round(total, 2), "mm",
              "allen-1998", "equation 82"),
        cited("What a tree can draw before it feels dry: that, times the depletion share", round(ready, 2), "mm",
              "allen-1998", "equation 83"),
    )  # fmt: skip
    return {"total_mm": round(total, 3), "readily_mm": round(ready, 3)}, links, ()


_YEAR_WORDS = ("year", "season")
_DAY_WORDS = ("doy", "day_of_year", "day", "pheno", "jday")


def read_dates(path: Path) -> dict[int, float]:
    """Days of the year by year from a CSV headed year,doy; an empty cell or NA is a year without a date."""
    found: dict[int, float] = {}
    with path.open(newline="", encoding="utf-8-sig") as file:
        rows = csv.reader(file)
        header = [cell.strip().lower() for cell in next(rows, [])]
        try:
            at = next(header.index(word) for word in _YEAR_WORDS if word in header)
            on = next(header.index(word) for word in _DAY_WORDS if word in header)
        except StopIteration:
            raise BadInput(
                said("{path}:1: the file has no columns year and doy", path=path), "year,doy"
            ) from None
        for line, row in enumerate(rows, start=2):
            if not any(cell.strip() for cell in row):
                continue
            try:
                cell = row[on].strip()
                year = int(row[at])
                day = math.nan if cell.lower() in ("", "na", "nan") else float(cell)
            except (ValueError, IndexError):
                raise BadInput(
                    said("{path}:{line}: not a year and a day", path=path, line=line), "2021,118"
                ) from None
            if math.isnan(day):
                continue
            if not 1 <= day <= 366 or not 1000 <= year <= 9000:
                raise BadInput(
                    said(
                        "{path}:{line}: day {day:g} of {year} is no day of a year",
                        path=path,
                        line=line,
                        day=day,
                        year=year,
                    ),
                    "1 January is 1, 31 December is 365 or 366",
                )
            if year in found:
                raise BadInput(
                    said("{path}:{line}: {year} stands twice", path=path, line=line, year=year),
                    "one date a year",
                )
            found[year] = day
    if not found:
        raise BadInput(said("{path}: holds no date", path=path), "rows such as 2021,118")
    return found


def _bloom_skill(given: Mapping[str, Any]) -> Answer:
    weather = read_daily(given["weather"])
    observed = read_dates(given["observed"])
    means = (weather.tmin + weather.tmax) / 2
    series = dated_years(weather.start, means, observed, given["latitude"] < 0)
    proof = proved(series)
    results: dict[str, Any] = {
        "n": len(series.years),
        "rmse_d": round(proof.error, 3),
        "rmse_mean_date_d": round(proof.error_of_mean, 3),
        "rmse_heat_sum_d": round(proof.error_of_heat, 3),
        "method": proof.method,
        "heat_share": proof.weight,
        "folds_by_mean_date": proof.fallbacks,
        "base_c": proof.rule.base,
        "from_day": proof.rule.start + 1,
        "heat_sum_cd": round(proof.rule.total, 1) if math.isfinite(proof.rule.total) else None,
    }
    links = [
        computed(
            "Each year is forecast from the others. Base, first day, heat sum and the share of heat beside the mean "
            "date are all chosen on those others, so no year has a say in its own forecast",
            results["rmse_d"],
            "d",
        ),
        computed(
            "The share is the least one whose squared error, with each of those years left out again, is within one "
            "standard error of the best; {count} of {years} years fell back on the mean date",
            count=proof.fallbacks,
            years=len(series.years),
        ),
        computed("The mean date of the other years", results["rmse_mean_date_d"], "d"),
        computed(
            "Heat alone, from {bases} bases and {days} first days",
            results["rmse_heat_sum_d"],
            "d",
            bases=len(BASES),
            days=len(STARTS),
        ),
    ]
    notes: list[str] = []
    if given.get("kind") is not None:
        species = knowledge().kind(given["kind"])
        if "bloom_heat_sum" not in species.facts:
            notes.append(said("No heat sum to bloom is stated for {kind}.", kind=species.name))
        else:
            stated = error_of_rule(series, HeatRule.of(species))
            results["rmse_kind_d"] = None if stated is None else round(stated, 3)
            links.append(
                computed(
                    "The heat sum stated for {kind}, its mean miss taken off by the other years",
                    results["rmse_kind_d"],
                    "d",
                    kind=species.name,
                )
            )
    if series.left_out:
        notes.append(
            said(
                "{count} years have a date but too little weather and are left out.",
                count=len(series.left_out),
            )
        )
    if not proof.helps:
        notes.append("Heat has not shown more than chance on these years: the mean date is used.")
    return results, tuple(links), tuple(notes)


RECKONERS = (
    Reckoner(
        "tree-water",
        "Litres a day that keep a tree of this width at ease.",
        (
            Option("et0", measured("reference_et"), "mm", "reference evapotranspiration of a day"),
            Option("kc", number(0.05, KC_MOST, "a crop coefficient"), "1", "crop coefficient on the canopy's shadow"),
            Option("canopy-diameter", measured("spread"), "m", "width of the canopy"),
            Option("rain", measured("daily_rain"), "mm", "rain of a day that stays in the soil; none if left out", required=False),
            Option("efficiency", _share("an efficiency", EFFICIENCY_LEAST, 1.0, "0.85"), "1", "share of what is given that reaches the roots, 0.85 or 85 %; 1 if left out", required=False),
        ),
        _tree_water,
        ("litres_per_day", "use_mm", "canopy_area_m2"),
        '--et0 6 --kc 0.65 --canopy-diameter "3 m" --efficiency "85 %"',
    ),
    Reckoner(
        "soil-water",
        "Water a root zone holds, and how much of it a tree can draw before it is short.",
        (
            Option("field-capacity", _share("a field capacity", 0.01, 0.8, "0.23"), "m3/m3", "water content after draining, 0.23 or 23 %"),
            Option("wilting-point", _share("a wilting point", 0.0, 0.7, "0.11"), "m3/m3", "water content at which plants wilt, 0.11 or 11 %"),
            Option("root-depth", measured("root_depth"), "m", "depth of the roots"),
            Option("depletion", _share("a depletion share", 0.05, 0.95, "0.5"), "1", "share of that water that can go before the tree is short, 0.5 or 50 %"),
        ),
        _soil_water,
        ("total_mm", "readily_mm"),
        "--field-capacity 0.32 --wilting-point 0.15 --root-depth 0.8 --depletion 0.40",
    ),
    Reckoner(
        "bloom-skill",
        "How well dates of bloom are forecast from heat on a record of your own, beside their mean date.",
        (
            Option("weather", existing_file, "file", "daily weather file"),
            Option("latitude", number(-90, 90, "latitude"), "deg", "latitude, negative in the south"),
            Option("observed", existing_file, "file", "CSV headed year,doy: a date a year as day of the year"),
            Option("kind", _kind, "kind", "kind of tree, to try its stated heat sum as well", required=False),
        ),
        _bloom_skill,
        ("n", "rmse_d", "rmse_mean_date_d", "rmse_heat_sum_d", "rmse_kind_d", "method", "heat_share", "folds_by_mean_date", "base_c", "from_day", "heat_sum_cd"),
        "--weather weather.csv --latitude 50.4 --observed bloom.csv",
    ),
)  # fmt: skip
