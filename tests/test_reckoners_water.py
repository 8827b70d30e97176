"""The reckoners of water against printed answers, and what each refuses. Sources stand beside their checks."""

from __future__ import annotations

import math

import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.reckon import RECKONERS


def results(name: str, **options: str) -> dict:
    done = api.reckon(name, **options)
    assert set(done.results) <= set(RECKONERS[name].fields)
    assert done.because
    return done.results


# Pan evaporation of Wokalup, Western Australia, by month [mm d-1], and litres a day for a tree of 9 m2:
# Department of Primary Industries, "Citrus irrigation recommendations"; 0.7 of the pan on the canopy's area.
# Printed to half or whole litres: half a unit is half a litre.
WOKALUP = [(9, 57), (8.6, 54), (6.8, 43), (4.4, 28), (2.7, 17), (2.1, 13), (2.3, 14.5), (2.5, 16),
           (3.2, 20), (4.4, 28), (6, 38), (7.9, 50)]  # fmt: skip


@pytest.mark.parametrize(("pan", "litres"), WOKALUP)
def test_citrus_of_western_australia(pan: float, litres: float):
    wide = 2 * math.sqrt(9 / math.pi)
    found = results("tree-water", et0=str(pan), kc="0.7", canopy_diameter=f"{wide} m")

    assert found["litres_per_day"] == pytest.approx(litres, abs=0.5)


@pytest.mark.parametrize(
    ("diameter", "gallons"), [("5 ft", 2.0), ("10 ft", 8.0), ("15 ft", 17.9), ("20 ft", 31.8)]
)
def test_the_rule_of_gallons(diameter: str, gallons: float):
    """1 inch on 1 square foot is 0.6234 gal (University of California, sacvalleyorchards.com): 0.25 in at
    Kc 0.65 on the circle of the canopy.
    """
    found = results("tree-water", et0="0.25 in", kc="0.65", canopy_diameter=diameter)

    assert found["litres_per_day"] / 3.785411784 == pytest.approx(gallons, abs=0.05)


def test_a_landscape_tree_by_the_pan():
    """Arboriculture & Urban Forestry, method of Lindsey and Bassuk: a crown of 20 ft, leaf area index 4, pan
    0.0167 ft a day, 0.20 of it: 4.19 cubic feet, 31 gallons a day.
    """
    found = results(
        "tree-water", et0=f"{0.0167 * 12} in", kc=f"{4 * 0.20:g}", canopy_diameter="20 ft"
    )

    assert found["litres_per_day"] / 3.785411784 == pytest.approx(31.4, abs=0.1)


def test_rain_and_losses_count():
    dry = results("tree-water", et0="6", kc="0.65", canopy_diameter="3")["litres_per_day"]
    rain = results("tree-water", et0="6", kc="0.65", canopy_diameter="3", rain="1.95 mm")
    lossy = results("tree-water", et0="6", kc="0.65", canopy_diameter="3", efficiency="50 %")
    wet = results("tree-water", et0="6", kc="0.65", canopy_diameter="3", rain="40")

    assert dry == pytest.approx(27.567, abs=0.001)
    assert rain["litres_per_day"] == pytest.approx(dry / 2, abs=0.001)
    assert lossy["litres_per_day"] == pytest.approx(dry * 2, abs=0.002)
    assert wet["litres_per_day"] == 0


# FAO-56 example 36, tomato with roots of 0.8 m and p 0.40: total and readily available water [mm].
@pytest.mark.parametrize(
    ("full", "dry", "total", "ready"),
    [("0.15", "0.06", 72, 29), ("0.32", "15 %", 136, 54), ("0.35", "0.23", 96, 38)],
)
def test_soil_water_of_fao_example_36(full: str, dry: str, total: float, ready: float):
    found = results(
        "soil-water", field_capacity=full, wilting_point=dry, root_depth="80 cm", depletion="0.40"
    )

    assert found["total_mm"] == pytest.approx(total, abs=0.5)
    assert found["readily_mm"] == pytest.approx(ready, abs=0.5)


@pytest.mark.parametrize(
    ("name", "options", "said"),
    [
        ("tree-water", {"et0": "6", "kc": "6", "canopy_diameter": "3"}, "out of range for a crop coefficient"),
        ("tree-water", {"et0": "-1", "kc": "0.7", "canopy_diameter": "3"}, "not plausible"),
        ("tree-water", {"et0": "6", "kc": "0.7", "canopy_diameter": "3", "rain": "-2"}, "not plausible for rain"),
        ("tree-water", {"et0": "6", "kc": "0.7", "canopy_diameter": "3", "efficiency": "85"}, "written '85 %'"),
        ("tree-water", {"et0": "6", "kc": "0.7", "canopy_diameter": "3", "efficiency": "0"}, "efficiency"),
        ("soil-water", {"field_capacity": "0.1", "wilting_point": "0.2", "root_depth": "1", "depletion": "0.5"}, "exchanged"),
        ("soil-water", {"field_capacity": "23", "wilting_point": "0.1", "root_depth": "1", "depletion": "0.5"}, "23 %"),
        ("soil-water", {"field_capacity": "0.3", "wilting_point": "0.1", "root_depth": "0", "depletion": "0.5"}, "depth"),
        ("soil-water", {"field_capacity": "0.3", "wilting_point": "0.1", "root_depth": "1", "depletion": "1.5"}, "depletion"),
    ],
)  # fmt: skip
def test_what_they_refuse(name: str, options: dict[str, str], said: str):
    with pytest.raises(BadInput) as refused:
        api.reckon(name, **options)
    assert said in str(refused.value)
