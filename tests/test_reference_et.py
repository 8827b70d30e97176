"""Our daily reference evapotranspiration beside another program's: the package refet, ASCE 2005.

The two are the same equation written twice. The year below is made up, but plausible day by day: a
yearly wave of temperature, clear and dull spells, dry and damp spells, calm and wind.

Measured on days brighter than 0.3 of a clear sky, at five sites: the largest difference is
0.0012 mm d-1, the mean 0.0005, ours the lower. Of it 0.0008 comes from the Stefan-Boltzmann
constant (4.903e-9 in FAO-56, 4.901e-9 in ASCE), 0.0005 from the package bringing wind from 2 m to
2 m (a factor of 1.0002) and less than 0.0001 from the rounded slope (2503 against 4098 times
0.6108). The tolerance is 0.005 mm, half of what an answer is printed to: an error in any
coefficient is larger.

On duller days the two differ by rule: ASCE holds the ratio of the radiations at 0.3 or more, FAO-56
does not, so ASCE lets the reference lose more heat and evaporate up to 0.4 mm less.
"""

from __future__ import annotations

import numpy as np
import pytest

from bearwell.science import evapotranspiration as et
from bearwell.science import humidity, sun

refet = pytest.importorskip("refet")

SITES = [(33.07, 361.0), (50.8, 100.0), (40.39, 1425.0), (-34.0, 20.0), (13.7, 2.0)]
DAYS = np.arange(1, 366)


def year(latitude: float, brightest: float, dullest: float) -> dict[str, np.ndarray]:
    """A plausible year of daily weather for a latitude; no two weeks alike, nothing random."""
    season = -np.sign(latitude) * np.cos(2.0 * np.pi * (DAYS - 20) / 365.0)
    spell = 0.5 + 0.5 * np.sin(2.0 * np.pi * DAYS / 17.3) * np.cos(2.0 * np.pi * DAYS / 5.9)
    mean = 28.0 - 0.35 * abs(latitude) + 0.22 * abs(latitude) * season + 3.0 * (spell - 0.5)
    spread = 5.0 + 11.0 * spell
    tmin, tmax = mean - spread / 2.0, mean + spread / 2.0
    sky = dullest + (brightest - dullest) * spell
    return {
        "tmin": tmin,
        "tmax": tmax,
        "vapour": humidity.saturation_vapour_pressure(tmin - 4.0 * spell),
        "solar": sky * sun.extraterrestrial_radiation_fao56(latitude, DAYS),
        "wind": 2.2 + 1.9 * np.sin(2.0 * np.pi * DAYS / 9.7),
    }


def both(latitude: float, elevation: float, dullest: float) -> tuple[np.ndarray, np.ndarray]:
    days = year(latitude, 0.75, dullest)
    ours = et.reference_evapotranspiration_fao56(
        days["tmin"],
        days["tmax"],
        days["vapour"],
        days["solar"],
        days["wind"],
        latitude,
        elevation,
        DAYS,
    )
    theirs = refet.Daily(
        tmin=days["tmin"],
        tmax=days["tmax"],
        rs=days["solar"],
        uz=days["wind"],
        zw=2.0,
        elev=elevation,
        lat=latitude,
        doy=DAYS,
        ea=days["vapour"],
        method="asce",
    ).eto()
    return ours, np.maximum(theirs, 0.0)


@pytest.mark.parametrize(("latitude", "elevation"), SITES)
def test_agrees_with_another_program(latitude: float, elevation: float) -> None:
    ours, theirs = both(latitude, elevation, 0.26)
    assert ours.min() < 2.5
    assert ours.max() > 3.5, "the year must hold hot and cool days to be a test"
    assert np.max(np.abs(ours - theirs)) < 0.005


def test_dull_days_differ_only_by_the_floor_of_the_asce_text() -> None:
    latitude, elevation = SITES[1]
    ours, theirs = both(latitude, elevation, 0.05)
    days = year(latitude, 0.75, 0.05)
    clear = et.clear_sky_radiation_fao56(latitude, DAYS, elevation)
    bright = days["solar"] / clear > 0.3
    assert bright.any()
    assert not bright.all()
    assert np.max(np.abs((ours - theirs)[bright])) < 0.005
    assert np.min((ours - theirs)[~bright]) > -0.005
    assert np.max((ours - theirs)[~bright]) < 0.5


def test_the_fast_way_is_the_formulas_one_by_one() -> None:
    """Penman-Monteith in one go against its parts in their own functions, polar night and gaps included."""
    for latitude, elevation in (*SITES, (78.2, 5.0), (-70.0, 1200.0)):
        days = year(latitude, 0.75, 0.15)
        days["tmin"][40] = np.nan
        net = et.net_radiation_fao56(
            days["tmin"], days["tmax"], days["vapour"], days["solar"], latitude, elevation, DAYS
        )
        parts = et.penman_monteith_fao56(
            (days["tmin"] + days["tmax"]) / 2,
            days["wind"],
            net,
            0.2,
            humidity.mean_saturation_vapour_pressure(days["tmin"], days["tmax"]),
            days["vapour"],
            humidity.psychrometric_constant_fao56(humidity.atmospheric_pressure_fao56(elevation)),
        )
        whole = et.reference_evapotranspiration_fao56(
            days["tmin"], days["tmax"], days["vapour"], days["solar"], days["wind"], latitude, elevation,
            DAYS, 0.2,
        )  # fmt: skip

        assert np.isnan(whole[40]) and np.isnan(whole).sum() == 1
        assert np.allclose(whole, np.maximum(parts, 0.0), atol=1e-9, equal_nan=True)
