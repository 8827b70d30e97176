"""The soil water of one tree, day by day, from rain and reference evapotranspiration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.garden.model import MeasuredSoil
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.science.evapotranspiration import reference_evapotranspiration_hargreaves
from bearwell.science.soilwater import (
    readily_available_water,
    soil_water_balance,
    total_available_water,
)
from bearwell.season.cycle import Cycle
from bearwell.season.site import Floats, SiteSeason
from bearwell.season.size import Size


@dataclass(frozen=True)
class WaterState:
    """What a tree's root zone holds today and loses a day [L], with its limits."""

    daily_use: float
    deficit: float
    ready: float
    total: float
    days_counted: int
    unknown_rain: int
    because: tuple[Because, ...]


def reference_evapotranspiration_of(site: SiteSeason, first: date, last: date) -> Floats | None:
    """Daily reference evapotranspiration from temperature [mm d-1]; None without a record there."""
    if site.series is None or first > site.series.end or last < site.series.start:
        return None
    part = site.series.between(first, last)
    return np.asarray(
        reference_evapotranspiration_hargreaves(
            part.tmin, part.tmax, site.site.latitude, part.day_of_year()
        )
    )


def crop_coefficient(
    species: Species, cycle: Cycle, site: SiteSeason, day: date
) -> tuple[float, Because]:
    """The crop coefficient of a day: dormant, full canopy, or fading."""
    name = "kc_mid"
    if not species.keeps_leaves:
        out, fall = cycle.of("leaf out", site.season), cycle.of("leaf fall", site.season)
        if out is None or fall is None or day < out.date or day > fall.date:
            name = "kc_ini"
        elif day > fall.date - timedelta(days=35):
            name = "kc_end"
    else:
        name = {0: "kc_ini", 1: "kc_mid", 2: "kc_mid", 3: "kc_end"}[
            (site.northern_day(day) - 1) % 366 // 92
        ]
    fact = species[name]
    return fact.number, from_fact(
        "Crop coefficient of {kind} at this time of year: {value}", fact, kind=species.name
    )


def water_state(
    tree: Tree,
    species: Species,
    cycle: Cycle,
    size: Size,
    site: SiteSeason,
    garden: Garden,
    book: Knowledge,
    today: date,
) -> WaterState | None:
    """The balance over the last weeks up to today; None when there is no recent weather."""
    name = "water balance days of a pot" if tree.pot else "water balance days"
    span = int(book.constant(name).number)
    first = today - timedelta(days=span)
    et0 = reference_evapotranspiration_of(site, first, today)
    if et0 is None or site.series is None or site.series.end < today - timedelta(days=3):
        return None
    part = site.series.between(first, today)
    kc, why_kc = crop_coefficient(species, cycle, site, today)
    links = [why_kc]
    rooted = _rooted_area(tree, size, book)
    if tree.pot is not None:
        medium = book.item("containers", tree.pot.medium)
        available, allowed = medium["available_water"], medium["allowed_depletion"]
        total = available.number * tree.pot.volume
        share = allowed.number
        links.append(
            from_fact(
                "A {volume} pot of {medium} holds {value} of its volume as water a tree can take",
                available,
                volume=amount(tree.pot.volume, "L"),
                medium=tree.pot.medium,
            )
        )
    else:
        contents, why_soil = _soil(garden, book)
        depth, limit = species["root_depth"], species["depletion"]
        total = float(total_available_water(*contents, depth.number)) * rooted
        share = limit.number
        links += [
            why_soil,
            from_fact("{kind} roots to about {value}", depth, kind=species.name),
            from_fact("and can use {value} of the soil's water before it is short", limit),
        ]
    # Isolated tree: the coefficient acts on its own shadow; rain falls on its rooted area.
    # 1 mm on 1 m2 is 1 L, so litres over the rooted area are its millimetres.
    use = np.nan_to_num(et0, nan=float(np.nanmean(et0))) * kc * size.area
    given = _irrigation(tree, part.start, len(use)) / rooted
    balance = soil_water_balance(
        0.0, np.nan_to_num(part.rain, nan=0.0), given, use / rooted, total / rooted, share
    )
    ready = float(readily_available_water(total, share))
    deficit = float(balance.depletion[-1]) * rooted
    recent = float(np.mean(use[-7:]))
    links.append(
        computed(
            "Reference evapotranspiration of the last week by Hargreaves averages {et0}; on {area} of shade "
            "the tree uses about {use} a day",
            recent,
            "L d-1",
            et0=amount(float(np.mean(et0[-7:])), "mm d-1"),
            area=amount(size.area, "m2"),
            use=amount(recent, "L d-1"),
        )
    )
    return WaterState(
        recent, deficit, ready, total, len(use), int(np.isnan(part.rain).sum()), tuple(links)
    )


def _rooted_area(tree: Tree, size: Size, book: Knowledge) -> float:
    """Ground the roots drink from [m2]: the pot's mouth, or somewhat beyond the canopy."""
    if tree.pot is not None:
        # A pot about as deep as wide: V = pi d^3 / 4.
        diameter = (4 * tree.pot.volume / 1000 / np.pi) ** (1 / 3)
        return float(np.pi * diameter**2 / 4)
    return size.area * book.constant("rooted area").number


def _soil(garden: Garden, book: Knowledge) -> tuple[tuple[float, float], Because]:
    soil = garden.site.soil
    if isinstance(soil, MeasuredSoil):
        why = Because(
            computed("Soil water measured by you").statement,
            None,
            "",
            "garden file",
            "site",
            "read",
        )
        return (soil.field_capacity, soil.wilting_point), why
    texture = soil or "loam"
    row = book.item("soils", texture)
    text = "{soil} holds {value} of water at field capacity"
    if soil is None:
        text = "No soil is given, so loam is supposed; it holds {value} of water at field capacity"
    return (row["field_capacity"].number, row["wilting_point"].number), from_fact(
        text, row["field_capacity"], soil=texture.capitalize()
    )


def _irrigation(tree: Tree, first: date, days: int) -> Floats:
    """Litres given by day, from records of watering (amounts are masses of water, 1 kg a litre)."""
    given = np.zeros(days)
    for work in tree.done:
        if work.job == "water" and work.amount is not None and 0 <= (work.date - first).days < days:
            given[(work.date - first).days] += work.amount / 1000
    return given
