"""Laws of cold: hardening, buds, water, shelters and rare winters, whatever the numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.errors import BadInput
from bearwell.science import (
    buds,
    clocktime,
    enclosure,
    frost,
    hardening,
    humidity,
    risk,
    shelter,
    waterfrost,
)

air = st.floats(-20.0, 35.0)
measure = st.floats(0.3, 30.0)
COURSE = {"base": 12.8, "full_days": 28.0, "full_coolness": 4.27, "loss": 2.0, "forfeit": 0.5}


def means(values: st.SearchStrategy[float], most: int = 200) -> st.SearchStrategy[np.ndarray]:
    return st.lists(values, min_size=1, max_size=most).map(np.array)


# ---------------------------------------------------------------- hardening


@given(means(air))
def test_hardening_stays_between_none_and_its_ceiling(daily: np.ndarray) -> None:
    course = hardening.hardening_course(daily, **COURSE)

    assert np.all((course.state >= 0.0) & (course.state <= 1.0))
    assert np.all((course.ceiling >= 0.0) & (course.ceiling <= 1.0))
    assert np.all(np.diff(course.ceiling) <= 1e-12), "what is not regained stays lost"


@given(means(st.floats(-15.0, 12.8)))
def test_cool_days_only_build(daily: np.ndarray) -> None:
    assert np.all(np.diff(hardening.hardening_course(daily, **COURSE).state) >= 0.0)


@given(means(air, 80), st.integers(0, 79), st.floats(0.1, 6.0))
def test_a_cooler_season_of_cool_days_is_never_less_hardened(
    daily: np.ndarray, at: int, cooler: float
) -> None:
    cool = np.minimum(daily, 12.8)
    other = np.array(cool)
    other[at % len(other)] -= cooler
    first, second = (hardening.hardening_course(d, **COURSE).state[-1] for d in (cool, other))

    assert second >= first - 1e-12


def test_a_warm_week_takes_it_and_it_is_not_regained() -> None:
    """UF/IFAS (Oswalt 2021): loss can be quick and is normally not regained to the same level."""
    season = [7.0] * 60 + [24.0] * 7 + [7.0] * 60
    course = hardening.hardening_course(season, **COURSE)

    assert course.state[59] == pytest.approx(1.0)
    assert course.state[66] < 0.1
    assert 0.4 < course.state[-1] < 0.65
    assert course.state[-1] == pytest.approx(course.ceiling[-1])


@given(st.floats(-5.0, 0.0), st.floats(0.0, 8.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_hardening_stands_more(tender: float, gain: float, one: float, other: float) -> None:
    limits = hardening.hardened_limit(tender, tender - gain, [min(one, other), max(one, other)])

    assert tender - gain - 1e-9 <= limits[1] <= limits[0] <= tender + 1e-9


# ---------------------------------------------------------------- buds


@given(st.floats(-12.0, 0.0), st.floats(0.2, 10.0), air, st.floats(0.01, 4.0), st.floats(0.1, 5.0))
def test_expected_damage_is_a_share_and_grows_with_cold(
    t10: float, gap: float, minimum: float, error: float, colder: float
) -> None:
    mild = buds.expected_damage_normal(t10, t10 - gap, minimum, error)
    hard = buds.expected_damage_normal(t10, t10 - gap, minimum - colder, error)

    assert 0.0 <= mild <= hard + 1e-9 <= 1.0 + 1e-9


@given(st.floats(-10.0, -1.0), st.floats(0.5, 6.0), st.floats(-14.0, 2.0), st.floats(0.3, 3.0))
def test_expected_damage_is_the_mean_over_the_error(
    t10: float, gap: float, minimum: float, error: float
) -> None:
    z = (np.arange(4000) + 0.5) / 4000
    from statistics import NormalDist

    nights = [minimum + error * NormalDist().inv_cdf(float(share)) for share in z[::10]]
    drawn = float(np.mean(frost.damage_fraction(t10, t10 - gap, nights)))

    assert buds.expected_damage_normal(t10, t10 - gap, minimum, error) == pytest.approx(
        drawn, abs=0.01
    )


def test_a_dormant_bud_has_no_stage() -> None:
    found = buds.critical_temperature_between_stages([-40.0, 30.0], [-30.0, 0.0], [-9.0, -2.0])

    assert np.isnan(found[0])
    assert found[1] == -2.0


# ---------------------------------------------------------------- water


@given(st.floats(-10.0, 2.0), st.floats(0.0, 10.0), st.floats(70.0, 103.0))
def test_the_start_is_never_below_the_wet_bulb_and_returns_it(
    wet: float, dry: float, pressure: float
) -> None:
    damp = wet - dry
    start = float(waterfrost.air_temperature_at_wet_bulb(wet, damp, pressure))
    vapour = humidity.saturation_vapour_pressure(damp)

    assert start >= wet - 1e-9
    assert humidity.wet_bulb(start, vapour, pressure) == pytest.approx(wet, abs=1e-4)


@given(st.floats(-6.0, 0.0), st.floats(0.5, 8.0), st.floats(0.1, 5.0))
def test_drier_air_needs_an_earlier_start(wet: float, dry: float, drier: float) -> None:
    first = waterfrost.air_temperature_at_wet_bulb(wet, wet - dry, 101.3)

    assert waterfrost.air_temperature_at_wet_bulb(wet, wet - dry - drier, 101.3) > first


# ---------------------------------------------------------------- shelters


@given(
    st.sampled_from(sorted(enclosure.ENCLOSURES)), measure, measure, measure, st.floats(1.01, 2.0)
)
def test_a_larger_shelter_has_more_of_everything(
    shape: str, length: float, width: float, height: float, larger: float
) -> None:
    small = enclosure.enclosure_of(shape, length, width, height)
    large = enclosure.enclosure_of(shape, length * larger, width * larger, height * larger)

    assert all(a > 0 for a in small)
    assert large.cover == pytest.approx(small.cover * larger**2)
    assert large.air == pytest.approx(small.air * larger**3)
    assert small.cover > small.ground * 0.99, "a cover is no smaller than the ground it covers"


@given(measure, measure, measure)
def test_a_hoop_and_a_gable_fit_into_the_box(length: float, width: float, height: float) -> None:
    box = enclosure.enclosure_box(length, width, height)
    for shape in ("hoop", "gable"):
        other = enclosure.enclosure_of(shape, length, width, height)
        assert other.air < box.air
        assert other.cover <= box.cover * 1.001


@given(st.floats(1.0, 200.0), st.floats(1.0, 10.0), st.floats(1.0, 300.0), st.floats(0.0, 20.0),
       st.floats(0.0, 10.0), st.floats(0.1, 5.0))  # fmt: skip
def test_watts_rise_with_lift_and_with_air_changes(
    area: float, film: float, volume: float, changes: float, lift: float, more: float
) -> None:
    watts = shelter.heat_loss(area, film, volume, changes, lift)

    assert shelter.heat_loss(area, film, volume, changes, lift + more) > watts
    assert shelter.heat_loss(area, film, volume, changes + more, lift) >= watts


def test_a_wall_closes_nothing() -> None:
    with pytest.raises(BadInput, match="encloses no air"):
        enclosure.enclosure_of("wall", 2.0, 2.0, 2.0)


# ---------------------------------------------------------------- rare winters


@given(st.floats(-30.0, 5.0), st.floats(0.3, 4.0))
def test_drawn_fits_scatter_as_the_error_says(place: float, scale: float) -> None:
    """The large-sample error of a night of ten years against fits to 4000 drawn records of forty."""
    fits = risk.gumbel_refits_moments(place, scale, 40, 4000, 3)
    nights = fits[:, 0] + fits[:, 1] * np.log(-np.log1p(-0.1))
    told = risk.gumbel_quantile_error_moments(scale, 10.0, 40)

    assert float(np.std(nights)) == pytest.approx(told, rel=0.06)
    assert float(np.mean(nights)) == pytest.approx(
        risk.gumbel_quantile(place, scale, 10.0), abs=0.1 * scale
    )


@given(st.floats(-50.0, 20.0), st.floats(0.0, 20.0))
def test_a_warmer_place_is_in_no_lower_zone(mean: float, warmer: float) -> None:
    zone = risk.hardiness_half_zone_usda(mean)

    assert 0 <= zone <= risk.hardiness_half_zone_usda(mean + warmer) <= 25


@given(st.integers(1, 366), st.floats(-180.0, 165.0))
def test_fifteen_degrees_east_are_an_hour_earlier(day: int, longitude: float) -> None:
    here, east = (clocktime.universal_hour(12.0, lon, day) for lon in (longitude, longitude + 15.0))

    assert float(here - east) == pytest.approx(1.0)
    assert abs(float(clocktime.equation_of_time_spencer(day))) < 17.0
