"""The soil water of one tree, day by day, from rain and reference evapotranspiration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.garden.model import MeasuredSoil
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact
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
    usual_days: int
    because: tuple[Because, ...]


def crop_coefficients(
    species: Species, cycle: Cycle, site: SiteSeason, first: date, days: int
) -> Floats:
    """The crop coefficient of each day from ``first`` on, shape (days,) [1].

    Evergreens go by quarters of their season; deciduous trees by leaf out, full canopy and fading leaves.
    """
    start, middle, end = (species[name].number for name in ("kc_ini", "kc_mid", "kc_end"))
    if species.keeps_leaves:
        quarters = [
            (site.northern_day(first + timedelta(days=n)) - 1) % 366 // 92 for n in range(days)
        ]
        return np.array([start, middle, middle, end])[quarters]
    row = np.full(days, start)
    fading = timedelta(days=35)
    for leaf in cycle.leafing:
        fall = cycle.fall_after(leaf)
        a, b, c = ((day - first).days for day in (leaf, fall - fading, fall))
        row[max(a, 0) : max(b, 0)] = middle
        row[max(b, 0) : max(c, 0)] = end
    return row


def why_crop_coefficient(species: Species, value: float) -> Because:
    """The row a day's crop coefficient came from."""
    name = min(("kc_ini", "kc_mid", "kc_end"), key=lambda one: abs(species[one].number - value))
    return from_fact(
        "Crop coefficient of {kind} at this time of year: {value}", species[name], kind=species.name
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
    """The balance over the last weeks up to today; None where even the usual weather is unknown."""
    name = "water balance days of a pot" if tree.pot else "water balance days"
    span = int(book.constant(name).number)
    first = today - timedelta(days=span)
    part = site.span(first, today)
    et0 = part.reference_evapotranspiration(site.site.latitude)
    if not np.isfinite(et0).all():
        return None
    kc = crop_coefficients(species, cycle, site, first, len(et0))
    links = [why_crop_coefficient(species, float(kc[-1]))]
    rooted = rooted_area(tree, size, book)
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
        contents, why_soil = soil_contents(garden, book)
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
    use = et0 * kc * size.area
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
            "the tree uses about {use}",
            recent,
            "L d-1",
            et0=amount(float(np.mean(et0[-7:])), "mm d-1"),
            area=amount(size.area, "m2"),
            use=amount(recent, "L d-1"),
        )
    )
    return WaterState(
        recent,
        deficit,
        ready,
        total,
        len(use),
        int((np.isnan(part.rain) & part.known).sum()),
        part.usual_days,
        tuple(links),
    )


def rooted_area(tree: Tree, size: Size, book: Knowledge) -> float:
    """Ground the roots drink from [m2]: the pot's mouth, or somewhat beyond the canopy."""
    if tree.pot is not None:
        # A pot about as deep as wide: V = pi d^3 / 4.
        diameter = (4 * tree.pot.volume / 1000 / np.pi) ** (1 / 3)
        return float(np.pi * diameter**2 / 4)
    return size.area * book.constant("rooted area").number


def soil_contents(garden: Garden, book: Knowledge) -> tuple[tuple[float, float], Because]:
    """Water contents of the soil at field capacity and wilting point [m3/m3], and where they come from."""
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
