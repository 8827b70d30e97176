"""Laws the formulas obey whatever the numbers: accounts close, inverses return, order is kept."""

from __future__ import annotations

import importlib
import inspect
import math
import pkgutil
import time
from collections.abc import Callable

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import bearwell.science
from bearwell.errors import BadInput
from bearwell.science import (
    bearing,
    canopy,
    chill,
    cropload,
    cropwater,
    frost,
    heat,
    hourly,
    humidity,
    limb,
    nutrients,
    risk,
    sampling,
    shelter,
    soilwater,
    sun,
)
from bearwell.science import evapotranspiration as et

air = st.floats(-25.0, 45.0)
share = st.floats(0.0, 1.0)
size = st.floats(0.05, 30.0)


def run(
    values: st.SearchStrategy[float], least: int = 2, most: int = 120
) -> st.SearchStrategy[np.ndarray]:
    return st.lists(values, min_size=least, max_size=most).map(np.array)


# ---------------------------------------------------------------- chill and heat
@given(run(air), st.integers(0, 119))
def test_portions_never_fall_and_do_not_look_ahead(hours: np.ndarray, cut: int) -> None:
    portions = chill.chill_portions_fishman(hours)
    assert np.all(np.diff(portions) >= 0.0)
    shorter = chill.chill_portions_fishman(hours[:cut])
    assert np.allclose(shorter, portions[:cut], atol=1e-12)


@given(run(air, most=60))
def test_no_model_but_utah_takes_chill_away(hours: np.ndarray) -> None:
    for name, model in chill.CHILL_MODELS.items():
        gained = model(hours)
        assert gained.shape == hours.shape
        assert name == "Utah" or np.all(gained >= 0.0)
    assert np.all(chill.chill_units_positive_utah(hours) >= chill.chill_units_utah(hours))


@given(st.floats(13.0, 60.0), st.integers(1, 1500))
def test_constant_warmth_makes_no_portion(degrees: float, hours: int) -> None:
    assert chill.chill_portions_fishman(np.full(hours, degrees))[-1] == 0.0


def test_portions_come_from_the_two_step_equations() -> None:
    """The same model, written as the literature writes it: one state, one hour after another."""
    hours = 7.0 + 9.0 * np.sin(np.arange(1500) / 3.7) + 4.0 * np.sin(np.arange(1500) / 61.0)
    x, left, banked = 0.0, 0.0, [0.0]
    for before in hours[:-1]:
        kelvin = before + 273.0
        xs = 139500.0 / 2.567e18 * math.exp((12888.8 - 4153.5) / kelvin)
        k1 = 2.567e18 * math.exp(-12888.8 / kelvin)
        sr = math.exp(1.6 * 277.0 * (kelvin - 277.0) / kelvin)
        xi = sr / (1.0 + sr)
        x = xs - (xs - left) * math.exp(-k1)
        banked.append(x * xi if x >= 1.0 else 0.0)
        left = x - banked[-1]
    assert sum(banked) > 10.0
    assert np.allclose(chill.chill_portion_gains_fishman(hours), banked, rtol=1e-9, atol=1e-12)


def test_forty_years_of_portions_are_quick() -> None:
    hours = 8.0 + 9.0 * np.sin(np.arange(40 * 8766) * 2.0 * np.pi / 24.0)
    start = time.thread_time()
    chill.chill_portions_fishman(hours)
    assert time.thread_time() - start < 1.0, "0.1 s when measured; a slow machine has room"


def test_missing_hours_stay_missing() -> None:
    hours = np.full(100, 6.0)
    hours[50] = np.nan
    gains = chill.chill_portion_gains_fishman(hours)
    assert np.all(np.isfinite(gains[:50]))
    assert np.all(np.isnan(gains[50:]))
    for rate in (*chill.CHILL_MODELS.values(), *heat.HEAT_MODELS.values()):
        assert np.isnan(rate(hours)[50])


@given(run(air))
def test_heat_is_never_negative_and_bounded(hours: np.ndarray) -> None:
    anderson = heat.growing_degree_hours_anderson(hours)
    richardson = heat.growing_degree_hours_richardson(hours)
    assert np.all((anderson >= 0.0) & (anderson <= 21.0))
    assert np.all((richardson >= 0.0) & (richardson <= 20.5))
    assert np.all(np.diff(heat.temperature_sum(hours, 4.0)) >= 0.0)


@given(air, st.floats(0.0, 20.0), st.floats(0.0, 12.0), st.floats(0.1, 20.0))
def test_degree_days_fall_with_a_higher_base(
    low: float, spread: float, base: float, more: float
) -> None:
    days = heat.growing_degree_days(low, low + spread, base)
    assert days >= heat.growing_degree_days(low, low + spread, base + more)
    assert days >= heat.growing_degree_days(low, low + spread, base, base + 5.0)


# ---------------------------------------------------------------- hours and sun
@given(
    st.lists(st.tuples(st.floats(-20.0, 25.0), st.floats(0.5, 25.0)), min_size=1, max_size=9),
    st.floats(-55.0, 55.0),
    st.integers(1, 366),
)
def test_hours_stay_near_the_day(
    days: list[tuple[float, float]], latitude: float, first: int
) -> None:
    low = np.array([day[0] for day in days])
    high = low + np.array([day[1] for day in days])
    number = (first - 1 + np.arange(low.size)) % 365 + 1
    hours = hourly.hourly_temperature_linvill(low, high, latitude, number)
    assert hours.shape == (low.size, 24)
    assert np.all(hours <= max(high) + 1e-9)
    # The stated undershoot before sunrise: ln(N + 1)/ln(N) - 1 of the fall, N the night in hours.
    night = np.min(24.0 - sun.day_length_spencer(latitude, number))
    fall = np.max(high) - np.min(low)
    assert np.all(hours >= min(low) - fall * (math.log(night + 1.1) / math.log(night - 0.1) - 1.0))
    alone = hourly.hourly_temperature_linvill(low[:1], high[:1], latitude, number[:1])
    assert np.all(alone[0, 12:14] <= high[0] + 1e-9)


@pytest.mark.parametrize("latitude", [-89.0, -67.0, 60.0, 64.0, 66.0, 68.0, 75.0, 90.0])
def test_hours_are_sane_at_the_polar_circles(latitude: float) -> None:
    number = np.arange(1, 366)
    hours = hourly.hourly_temperature_linvill(
        np.full(365, -5.0), np.full(365, 5.0), latitude, number
    )
    assert np.all(np.isfinite(hours))
    assert np.all(hours <= 5.0 + 1e-9)
    assert np.all(hours >= -5.0 - 10.0 * 0.17)


def test_a_missing_day_spoils_only_the_nights_beside_it() -> None:
    low, high = np.full(5, 2.0), np.full(5, 12.0)
    low[2] = np.nan
    hours = hourly.hourly_temperature_linvill(low, high, 35.0, np.arange(100, 105))
    assert np.all(np.isnan(hours[2]))
    assert np.all(np.isfinite(hours[[0, 4]]))
    assert np.all(np.isfinite(hours[1, 6:18]))
    assert np.all(np.isnan(hours[1, 20:]))
    assert np.all(np.isnan(hours[3, :5]))


@given(st.floats(-90.0, 90.0), st.integers(1, 366))
def test_days_and_nights_fill_the_clock(latitude: float, number: int) -> None:
    for length in (sun.day_length_fao56, sun.day_length_spencer):
        assert 0.0 <= length(latitude, number) <= 24.0
    rise, fall = sun.sunrise_sunset_spencer(latitude, number)
    assert fall - rise == pytest.approx(float(sun.day_length_spencer(latitude, number)), abs=1e-9)
    opposite = sun.sunset_hour_angle(-latitude, sun.solar_declination_fao56(number))
    here = sun.sunset_hour_angle(latitude, sun.solar_declination_fao56(number))
    assert here + opposite == pytest.approx(math.pi, abs=1e-6)
    assert sun.extraterrestrial_radiation_fao56(latitude, number) >= 0.0


def test_polar_day_and_night() -> None:
    assert sun.day_length_spencer([80.0, -80.0], 172).tolist() == [24.0, 0.0]
    assert sun.day_length_fao56([80.0, -80.0], 355).tolist() == [0.0, 24.0]
    assert sun.extraterrestrial_radiation_fao56(80.0, 355) == 0.0


@given(st.integers(1, 365))
def test_both_series_follow_the_same_sun(number: int) -> None:
    spencer = sun.solar_declination_spencer(number)
    assert abs(spencer - sun.solar_declination_fao56(number)) < 0.026
    assert abs(spencer) <= math.radians(23.5)


# ---------------------------------------------------------------- air and water
@given(st.floats(-40.0, 50.0))
def test_dew_and_frost_point_are_inverses(degrees: float) -> None:
    over_water = humidity.saturation_vapour_pressure(degrees)
    assert humidity.dew_point(over_water) == pytest.approx(degrees, abs=1e-8)
    over_ice = humidity.saturation_vapour_pressure_ice(degrees)
    assert humidity.frost_point(over_ice) == pytest.approx(degrees, abs=1e-8)


@given(st.floats(-30.0, 45.0), st.floats(0.02, 1.0), st.floats(60.0, 105.0))
def test_wet_bulb_lies_between_dew_point_and_air(
    degrees: float, humid: float, pressure: float
) -> None:
    vapour = humidity.actual_vapour_pressure(degrees, humid)
    wet = float(humidity.wet_bulb(degrees, vapour, pressure))
    assert humidity.dew_point(vapour) - 1e-6 <= wet <= degrees + 1e-9
    held = 0.000665 * (1.0 + 0.00115 * wet) * pressure * (degrees - wet)
    assert humidity.saturation_vapour_pressure(wet) - held == pytest.approx(vapour, abs=1e-9)


def test_vapour_pressure_returns_from_a_wet_bulb() -> None:
    wet = humidity.wet_bulb(25.6, 1.91, 87.9)
    assert humidity.actual_vapour_pressure_wet_bulb(25.6, wet, 87.9) == pytest.approx(
        1.91, abs=0.02
    )


@given(st.floats(-5.0, 30.0), st.floats(1.0, 20.0), st.floats(0.2, 0.98), st.floats(0.0, 8.0))
def test_reference_evapotranspiration_grows_with_sun_and_dryness(
    low: float, spread: float, humid: float, wind: float
) -> None:
    def lost(vapour_share: float, solar: float) -> float:
        vapour = vapour_share * humidity.saturation_vapour_pressure(low)
        return float(
            et.reference_evapotranspiration_fao56(
                low, low + spread, vapour, solar, wind, 35.0, 50.0, 172
            )
        )

    assert lost(humid, 25.0) >= lost(humid, 15.0) >= 0.0
    days = et.reference_evapotranspiration_hargreaves(low, low + spread, 35.0, 172)
    assert days <= et.reference_evapotranspiration_hargreaves(low, low + spread + 2.0, 35.0, 172)
    assert lost(humid, 15.0) < 20.0


waters = arrays.arrays(np.float64, 40, elements=st.floats(0.0, 80.0))


@given(st.floats(0.0, 1.0), waters, waters, st.floats(0.0, 12.0), st.floats(5.0, 250.0), share)
def test_the_water_account_closes(
    dry: float, rain: np.ndarray, given_water: np.ndarray, demand: float, total: float, part: float
) -> None:
    start = dry * total
    wanted = np.full(40, demand)
    part = min(part, 0.95)
    days = soilwater.soil_water_balance(start, rain / 8.0, given_water / 20.0, wanted, total, part)
    used, drained = days.evapotranspiration, days.drainage
    end = start - np.cumsum(rain / 8.0 + given_water / 20.0 - used - drained)
    assert np.allclose(days.depletion, end, atol=1e-9)
    assert np.all((days.depletion >= 0.0) & (days.depletion <= total + 1e-9))
    assert np.all(drained >= 0.0)
    assert np.all((used >= -1e-12) & (used <= demand + 1e-12))
    assert np.all((drained == 0.0) | (days.depletion == 0.0))
    one = soilwater.root_zone_depletion(
        start, float(rain[0]) / 8.0, float(given_water[0]) / 20.0, demand, total, part
    )
    assert one.depletion == days.depletion[0]


def test_a_day_cannot_use_more_water_than_there_is() -> None:
    day = soilwater.root_zone_depletion(2.0, 1.0, 0.0, 12.0, 5.0, 0.5)
    assert (day.depletion, day.evapotranspiration, day.drainage) == (5.0, 4.0, 0.0)


def test_a_missing_rain_makes_what_follows_missing() -> None:
    rain = np.zeros(5)
    rain[2] = np.nan
    days = soilwater.soil_water_balance(10.0, rain, 0.0, 3.0, 100.0, 0.5)
    assert np.isfinite(days.depletion).tolist() == [True, True, False, False, False]


@given(st.floats(0.0, 200.0), st.floats(0.0, 50.0), st.floats(0.1, 0.9))
def test_stress_only_grows_as_the_soil_dries(used: float, more: float, part: float) -> None:
    moist = soilwater.stress_coefficient_fao56(used, 250.0, part)
    assert 0.0 <= soilwater.stress_coefficient_fao56(used + more, 250.0, part) <= moist <= 1.0


# ---------------------------------------------------------------- trees
@given(st.floats(0.0, 1e6), st.floats(0.005, 1.0))
def test_fertilizer_arithmetic_returns(mass: float, content: float) -> None:
    product = nutrients.product_mass_for_nutrient(mass, content)
    assert nutrients.nutrient_in_product(product, content) == pytest.approx(mass)
    phosphate = nutrients.p2o5_from_phosphorus(mass)
    assert nutrients.phosphorus_from_p2o5(phosphate) == pytest.approx(mass)
    assert nutrients.potassium_from_k2o(nutrients.k2o_from_potassium(mass)) == pytest.approx(mass)


def test_an_element_stated_twice_adds_up() -> None:
    found = nutrients.nutrients_supplied(100.0, {"K": 0.1, "K2O": 0.1})
    assert found == {"K": pytest.approx(10.0 + nutrients.potassium_from_k2o(10.0))}


@given(size, share, size, size, share)
def test_pruning_takes_the_share_it_says(
    height: float, low: float, along: float, across: float, cut: float
) -> None:
    skirt = low * height * 0.9
    before = canopy.canopy_volume_ellipsoid(height, skirt, along, across)
    left = canopy.height_and_spread_after_removal(height, skirt, along, across, cut)
    after = canopy.canopy_volume_ellipsoid(
        left.height, skirt, left.spread_along, left.spread_across
    )
    assert after == pytest.approx(before * (1.0 - cut), rel=1e-6, abs=1e-9)
    assert skirt - 1e-9 <= left.height <= height + 1e-9


@given(size, size)
def test_canopies_agree_where_they_are_the_same(height: float, width: float) -> None:
    round_tree = canopy.canopy_volume_spheroid(height, width)
    assert canopy.canopy_volume_ellipsoid(height, 0.0, width, width) == pytest.approx(round_tree)
    assert canopy.canopy_volume_cut_spheroid(height, width, 0.0) == pytest.approx(round_tree)
    half = canopy.canopy_volume_cut_spheroid(height, width, height / 2.0)
    assert half == pytest.approx(round_tree / 2.0)


crops = arrays.arrays(np.float64, st.integers(3, 7), elements=st.floats(0.0, 500.0))


@given(crops, st.floats(0.1, 50.0))
def test_bearing_does_not_depend_on_the_unit_of_weight(crop: np.ndarray, unit: float) -> None:
    crop = np.round(crop, 3)
    intensity = bearing.bearing_intensity(crop)
    assert 0.0 <= intensity <= 1.0
    assert bearing.bearing_intensity(crop * unit) == pytest.approx(intensity)
    assert bearing.bearing_intensity(crop[::-1]) == pytest.approx(intensity)
    assert 0.0 <= bearing.bienniality(crop) <= 1.0


@given(crops)
def test_chance_share_counts_at_least_the_true_order_and_its_mirror(crop: np.ndarray) -> None:
    chance = bearing.intensity_chance_share(crop)
    assert 2.0 / math.factorial(crop.size) - 1e-12 <= chance <= 1.0


def test_chance_share_by_shuffles_nears_the_exact_one() -> None:
    crop = np.array([40.0, 8.0, 55.0, 12.0, 60.0, 20.0])
    exact = bearing.intensity_chance_share(crop)
    rows = np.array([np.random.default_rng(k).permutation(6) for k in range(4000)])
    assert bearing.intensity_chance_share(crop, rows) == pytest.approx(exact, abs=0.01)
    assert exact < 0.05
    with pytest.raises(BadInput):
        bearing.intensity_chance_share(np.arange(8.0))
    with pytest.raises(BadInput):
        bearing.intensity_chance_share(crop, [[0, 1, 2, 3, 4, 4]])


def test_expected_intensity_of_even_and_of_exponential_years() -> None:
    """E|a-b|/(a+b) over a grid of quantiles: 2 ln 2 - 1 for even chances, 1/2 for exponential."""
    quantile = (np.arange(600) + 0.5) / 600.0
    for crop, expected in ((quantile, 2.0 * math.log(2.0) - 1.0), (-np.log(quantile), 0.5)):
        pairs = np.stack(np.meshgrid(crop, crop), axis=-1).reshape(-1, 2)
        swing = np.abs(pairs[:, 0] - pairs[:, 1]) / pairs.sum(axis=1)
        assert swing.mean() == pytest.approx(expected, abs=0.002)
        some = pairs[:: pairs.shape[0] // 50]
        assert [bearing.bearing_intensity(pair) for pair in some] == pytest.approx(
            swing[:: pairs.shape[0] // 50].tolist()
        )


def test_branch_paths_are_unbiased_and_sections_beat_equal_chances() -> None:
    """A tree of three ends with 40, 20 and 30 fruit: over all paths the mean is the true 90."""
    fruit = np.array([40.0, 20.0, 30.0])
    first, second = sampling.branch_probabilities([12.0, 6.0]), [5.0 / 8.0, 3.0 / 8.0]
    by_section = np.array([first[0] * second[0], first[0] * second[1], first[1]])
    equal = np.array([0.25, 0.25, 0.5])
    for chance, variance in ((by_section, 40.0), (equal, 1700.0)):
        whole = np.array(
            [
                sampling.branch_path_estimate([p], [f], 0.8).estimate
                for p, f in zip(chance, fruit, strict=True)
            ]
        )
        assert chance @ whole == pytest.approx(90.0)
        assert chance @ (whole - 90.0) ** 2 == pytest.approx(variance)


@given(
    st.lists(st.tuples(st.floats(0.01, 1.0), st.integers(0, 300)), min_size=2, max_size=12),
    st.floats(0.05, 0.95),
)
def test_branch_interval_holds_its_estimate(
    paths: list[tuple[float, int]], confidence: float
) -> None:
    found = sampling.branch_path_estimate(*zip(*paths, strict=True), confidence)
    assert 0.0 <= found.low <= found.estimate <= found.high
    most = max(count for _, count in paths)
    assert min(most, found.estimate) <= found.low
    wider = sampling.branch_path_estimate(*zip(*paths, strict=True), confidence + 0.04)
    assert wider.high >= found.high - 1e-9


@given(st.floats(0.5, 0.995), st.integers(1, 200))
def test_student_t_narrows_to_the_normal(confidence: float, degrees: int) -> None:
    quantile = sampling.student_t_quantile(confidence, degrees)
    assert quantile > sampling.student_t_quantile(confidence, degrees + 1)
    inside = math.erf(quantile / math.sqrt(2.0))
    assert inside > confidence


@given(st.floats(0.0, 2.0), st.floats(0.0, 30.0))
def test_crop_targets_grow_with_the_tree(girth: float, load: float) -> None:
    section = cropload.trunk_section(girth)
    assert cropload.trunk_section(2.0 * girth) == pytest.approx(4.0 * section)
    target = cropload.fruit_by_trunk_section(section, load)
    assert cropload.fruit_by_trunk_section(section, 2.0 * load) == pytest.approx(2.0 * target)
    assert cropload.fruit_to_remove(target, target, 0.0) == 0.0


@given(st.floats(0.0, 40.0), st.floats(0.0, 5.0), st.floats(0.5, 12.0))
def test_young_trees_carry_more_each_year(age: float, bare: float, ramp: float) -> None:
    now = cropload.young_tree_share(age, bare, bare + ramp)
    assert 0.0 <= now <= cropload.young_tree_share(age + 1.0, bare, bare + ramp) <= 1.0


@given(st.floats(0.1, 80.0), st.floats(0.05, 4.0), st.floats(0.005, 0.4))
def test_safe_load_returns_its_stress(stress: float, reach: float, diameter: float) -> None:
    load = limb.safe_load(stress, reach, diameter)
    assert limb.bending_stress(load, reach, diameter) == pytest.approx(stress)


# ---------------------------------------------------------------- cold
nights = st.tuples(st.floats(-3.0, 12.0), st.floats(0.5, 15.0), st.floats(5.0, 16.0))


@given(nights, st.floats(-12.0, 12.0), st.floats(0.0, 4.0))
def test_a_night_holds_more_hours_below_a_higher_limit(
    night: tuple[float, float, float], limit: float, more: float
) -> None:
    start, drop, length = night
    hours = frost.hours_below_sqrt(start, start - drop, length, limit)
    assert 0.0 <= hours <= length
    assert hours <= frost.hours_below_sqrt(start, start - drop, length, limit + more) + 1e-9
    depth = frost.degree_hours_below_sqrt(start, start - drop, length, limit)
    assert 0.0 <= depth <= max(limit - start + drop, 0.0) * hours + 1e-9


@given(nights, share)
def test_hours_below_match_the_curve_itself(night: tuple[float, float, float], part: float) -> None:
    start, drop, length = night
    limit = start - drop * part
    time = (np.arange(20000) + 0.5) * length / 20000
    curve = frost.night_temperature_sqrt(start, start - drop, length, time)
    counted = np.mean(curve < limit) * length
    hours = frost.hours_below_sqrt(start, start - drop, length, limit)
    assert hours == pytest.approx(counted, abs=length / 5000)
    summed = np.mean(np.maximum(limit - curve, 0.0)) * length
    depth = frost.degree_hours_below_sqrt(start, start - drop, length, limit)
    assert depth == pytest.approx(summed, abs=0.01)


@given(run(air, most=48), st.floats(-10.0, 10.0))
def test_hours_above_and_below_fill_the_run(hours: np.ndarray, limit: float) -> None:
    below = frost.hours_below(hours, limit)
    above = frost.hours_below(-hours, -limit)
    level = np.sum((hours[1:] == limit) & (hours[:-1] == limit))
    assert below + above + level == pytest.approx(hours.size - 1, abs=1e-6)


@given(st.floats(-15.0, 0.0), st.floats(0.3, 12.0), st.floats(-30.0, 5.0), st.floats(0.0, 5.0))
def test_colder_nights_kill_more(t10: float, gap: float, low: float, colder: float) -> None:
    damage = frost.damage_fraction(t10, t10 - gap, [low, low - colder])
    assert 0.0 <= damage[0] <= damage[1] <= 1.0
    assert frost.surviving_share(damage) <= 1.0 - damage[1] + 1e-12


def test_the_two_step_forecast_is_not_the_joint_fit() -> None:
    warm = np.array([3.2, 0.8, 0.2, 2.6, 4.4, 5.2, 2.7, 1.2, 4.5, 5.6])
    damp = np.array([-4.2, -8.8, -6.5, -6.2, -6.1, 2.6, -0.7, -1.7, -1.2, 0.1])
    low = np.array([-3.1, -5.0, -6.3, -5.4, -4.0, -2.5, -4.8, -5.0, -4.4, -3.3])
    fitted = frost.minimum_forecast_fit_fao(warm, damp, low)
    miss = frost.minimum_forecast_fao(warm, damp, *fitted) - low
    assert np.mean(miss) == pytest.approx(0.0, abs=1e-12)
    assert np.sqrt(np.mean(miss**2)) == pytest.approx(0.631, abs=0.0006)
    joint, *_ = np.linalg.lstsq(np.column_stack([warm, damp, np.ones(10)]), low, rcond=None)
    assert abs(fitted.air_slope - joint[0]) > 0.05


winters = st.lists(st.floats(-30.0, 5.0).map(lambda t: round(t, 1)), min_size=5, max_size=40)


@given(winters.filter(lambda w: max(w) - min(w) > 1.0), st.floats(1.1, 200.0))
def test_gumbel_quantile_and_probability_are_inverses(minima: list[float], period: float) -> None:
    for fit in (risk.gumbel_minima_moments, risk.gumbel_minima_lmoments):
        curve = fit(minima)
        assert curve.scale > 0.0
        cold = risk.gumbel_quantile(*curve, period)
        assert risk.gumbel_probability(*curve, cold) == pytest.approx(1.0 / period, rel=1e-6)
        assert risk.gumbel_quantile(*curve, period * 2.0) < cold
        shifted = fit(np.array(minima) - 2.0)
        assert shifted.location == pytest.approx(curve.location - 2.0)
        assert shifted.scale == pytest.approx(curve.scale)


def test_gumbel_fits_find_what_they_were_given() -> None:
    """Exact quantiles of a known distribution: both fits come back to it."""
    chance = (np.arange(20000) + 0.5) / 20000.0
    minima = -3.0 + 1.5 * np.log(-np.log(1.0 - chance))
    for fit in (risk.gumbel_minima_moments, risk.gumbel_minima_lmoments):
        assert fit(minima) == pytest.approx((-3.0, 1.5), abs=0.005)


@given(share, st.floats(0.0, 60.0), st.floats(0.0, 10.0))
def test_risk_grows_with_years(chance: float, years: float, more: float) -> None:
    now = risk.risk_over_years(chance, years)
    assert 0.0 <= now <= risk.risk_over_years(chance, years + more) + 1e-12 <= 1.0 + 1e-12


@given(st.floats(1.0, 500.0), size, st.floats(0.5, 10.0), size, st.floats(0.0, 20.0))
def test_a_lamp_holds_the_lift_it_gives(
    power: float, area: float, film: float, volume: float, changes: float
) -> None:
    lift = shelter.steady_lift(power, area, film, volume, changes)
    assert shelter.heat_loss(area, film, volume, changes, lift) == pytest.approx(power)


# ---------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    "call",
    [
        lambda: sun.day_length_spencer(91.0, 10),
        lambda: sun.day_length_fao56(45.0, 367),
        lambda: hourly.hourly_temperature_linvill([5.0], [4.0], 40.0, [1]),
        lambda: hourly.hourly_temperature_linvill([5.0], [6.0, 7.0], 40.0, [1]),
        lambda: chill.chill_portions_fishman([[1.0]]),
        lambda: heat.growing_degree_days(1.0, 9.0, 5.0, 5.0),
        lambda: humidity.dew_point(0.0),
        lambda: humidity.actual_vapour_pressure(20.0, 55.0),
        lambda: et.wind_speed_2m_fao56(-1.0, 2.0),
        lambda: cropwater.crop_coefficient_on_day_fao56(5, 0.3, 1.0, 0.5, 10, 0, 10, 10),
        lambda: soilwater.total_available_water(0.1, 0.2, 1.0),
        lambda: soilwater.root_zone_depletion(120.0, 0.0, 0.0, 4.0, 100.0, 0.5),
        lambda: soilwater.root_zone_depletion(10.0, -1.0, 0.0, 4.0, 100.0, 0.5),
        lambda: soilwater.irrigation_for_tree(5.0, 5.0, 1.0, 1.0),
        lambda: soilwater.leaching_requirement(9.0, 2.0),
        lambda: nutrients.product_mass_for_nutrient(100.0, 0.0),
        lambda: nutrients.nutrient_in_product(100.0, 21.0),
        lambda: canopy.canopy_volume_ellipsoid(2.0, 3.0, 1.0, 1.0),
        lambda: canopy.height_and_spread_after_removal(2.0, 0.5, 1.0, 1.0, 1.5),
        lambda: bearing.bearing_intensity([5.0]),
        lambda: bearing.bearing_intensity([5.0, -1.0]),
        lambda: sampling.branch_path_estimate([0.0], [5], 0.8),
        lambda: sampling.student_t_quantile(0.8, 0),
        lambda: cropload.young_tree_share(3.0, 5.0, 4.0),
        lambda: cropload.fruit_by_leaves(100.0, 0.0),
        lambda: frost.damage_fraction(-4.0, -2.0, -3.0),
        lambda: frost.hours_below_sqrt(-4.0, 2.0, 10.0, 0.0),
        lambda: risk.gumbel_minima_moments([1.0, 2.0]),
        lambda: risk.gumbel_minima_moments([1.0, 1.0, 1.0]),
        lambda: risk.gumbel_quantile(0.0, 1.0, 1.0),
        lambda: limb.bending_stress(10.0, 1.0, 0.0),
        lambda: shelter.water_store_power(1000.0, 2.0, 15.0, 10.0),
    ],
)
def test_the_impossible_is_refused(call: Callable[[], object]) -> None:
    with pytest.raises(BadInput):
        call()


def test_rivals_are_functions_of_their_rooms() -> None:
    for rivals in (chill.CHILL_MODELS, heat.HEAT_MODELS, et.ET0_METHODS):
        assert len(rivals) > 1
        assert all(inspect.isfunction(function) for function in rivals.values())


def test_formulas_leave_their_input_alone() -> None:
    hours = np.linspace(-5.0, 20.0, 50)
    kept = hours.copy()
    for function in (
        *chill.CHILL_MODELS.values(),
        *heat.HEAT_MODELS.values(),
        chill.chill_portions_fishman,
        lambda air_temperature: humidity.wet_bulb(air_temperature, 0.3, 101.3),
        lambda air_temperature: frost.hours_below(air_temperature, 0.0),
        risk.gumbel_minima_lmoments,
    ):
        function(hours)
        assert np.array_equal(hours, kept)


def test_science_rooms_import_only_each_other_errors_and_words() -> None:
    for module in pkgutil.iter_modules(bearwell.science.__path__):
        source = inspect.getsource(importlib.import_module(f"bearwell.science.{module.name}"))
        for line in source.splitlines():
            if line.startswith(("from bearwell", "import bearwell")):
                ours = ("from bearwell.science", "from bearwell.errors", "from bearwell.said")
                assert line.startswith(ours), line
