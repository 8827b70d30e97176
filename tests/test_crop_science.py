"""Counting and bearing against theory and open records: unbiased counts, chance levels, growth, uniformity."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.science import alternation, bearing, cropload, fruitsize, limb, sampling

SHARED = Path(__file__).resolve().parents[2] / "shared" / "data" / "cropload"

# A small tree: trunk to A (section 12) and B (6); A to A1 (5) and A2 (3). Fruit at the three ends.
CHANCES = np.array([12 / 18 * 5 / 8, 12 / 18 * 3 / 8, 6 / 18])
FRUIT = np.array([40, 20, 30])


def records(name: str) -> list[dict[str, str]]:
    """An open data set kept beside the project; skips where it is absent."""
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"{name} is not beside the project (../shared/data/cropload)")
    text = path.read_text("utf-8")
    separator = "," if path.suffix == ".csv" else "\t"
    return list(csv.DictReader(text.splitlines(), delimiter=separator))


# ---------------------------------------------------------------- random branches (Jessen 1955)


def test_one_walk_is_unbiased_and_has_the_variance_of_theory() -> None:
    """Over all paths sum Q X = X and sum Q (X - true)^2 is the variance: 90 and 40 for this tree (algebra)."""
    whole = FRUIT / CHANCES

    assert float(np.sum(CHANCES * whole)) == pytest.approx(90.0)
    assert float(np.sum(CHANCES * (whole - 90.0) ** 2)) == pytest.approx(40.0)
    equal = np.array([0.25, 0.25, 0.5])
    assert float(np.sum(equal * (FRUIT / equal - 90.0) ** 2)) == pytest.approx(1700.0)


def test_counts_of_simulated_walks_centre_on_the_tree_and_their_errors_are_true() -> None:
    rng = np.random.default_rng(5)
    walks = rng.choice(3, size=(4000, 5), p=CHANCES)
    found = [sampling.branch_path_estimate(CHANCES[row], FRUIT[row], 0.9) for row in walks]
    means = np.array([one.estimate for one in found])
    squares = np.array([one.standard_error**2 for one in found])

    assert means.mean() == pytest.approx(90.0, abs=4 * math.sqrt(40 / 5 / 4000))
    assert squares.mean() == pytest.approx(40.0 / 5, rel=0.05)


def test_girths_give_the_same_chances_as_sections() -> None:
    sections = np.array([12.0, 6.0])
    girths = np.sqrt(4 * math.pi * sections) / 100

    assert sampling.branch_probabilities_by_girth(girths) == pytest.approx([2 / 3, 1 / 3])


@given(
    st.lists(st.tuples(st.floats(0.01, 1.0), st.integers(0, 500)), min_size=2, max_size=8),
    st.integers(0, 7),
)
def test_more_fruit_at_an_end_never_means_fewer_on_the_tree(
    walks: list[tuple[float, int]], at: int
) -> None:
    chance = [one[0] for one in walks]
    fruit = [one[1] for one in walks]
    more = list(fruit)
    more[at % len(more)] += 10

    one = sampling.branch_path_estimate(chance, fruit, 0.9)
    two = sampling.branch_path_estimate(chance, more, 0.9)
    assert two.estimate > one.estimate
    assert one.low <= one.estimate <= one.high


@given(st.floats(0.02, 0.98), st.floats(0.02, 0.98))
def test_counting_a_larger_part_never_widens_the_error(one: float, two: float) -> None:
    small, large = sorted((one, two))

    assert sampling.part_count_error(large, 0.35, 8) <= sampling.part_count_error(small, 0.35, 8)


# ---------------------------------------------------------------- chance levels of the intensity


@pytest.mark.parametrize(
    ("draw", "expected"),
    [("uniform", 2 * math.log(2) - 1), ("exponential", 0.5)],
)
def test_chance_level_of_the_intensity(draw: str, expected: float) -> None:
    """Independent yields: uniform 2 ln 2 - 1, exponential 1/2, both exact (integrals of the definition)."""
    rng = np.random.default_rng(7)
    yields = getattr(rng, draw)(size=40000)

    assert bearing.bearing_intensity(yields) == pytest.approx(expected, abs=0.006)


def test_chance_level_of_normal_yields_is_near_its_formula() -> None:
    yields = np.random.default_rng(8).normal(1.0, 0.2, 40000)

    assert bearing.bearing_intensity(yields) == pytest.approx(
        bearing.expected_intensity_normal(0.2), rel=0.04
    )


def test_random_series_turn_in_two_thirds_of_their_changes() -> None:
    """Turning points of a random series: 2/3 (theory of runs)."""
    yields = np.random.default_rng(9).random(30000)

    assert bearing.bienniality(yields) == pytest.approx(2 / 3, abs=0.01)


def test_reshuffling_is_honest_under_chance() -> None:
    """Of series without any alternation about a twentieth comes out below a p of 0.05."""
    from itertools import permutations

    orders = np.array(list(permutations(range(6))))
    rng = np.random.default_rng(10)
    found = [bearing.detrended_chance_share(rng.random(6) + 1, orders) for _ in range(600)]

    assert 0.015 <= float(np.mean(np.array(found) <= 0.05)) <= 0.09


def test_a_trend_is_not_taken_for_alternation() -> None:
    from itertools import permutations

    orders = np.array(list(permutations(range(5))))

    assert bearing.detrended_chance_share([10.0, 20.0, 30.0, 40.0, 50.0], orders) == 1.0
    swing = bearing.detrended_chance_share([10.0, 40.0, 20.0, 60.0, 30.0], orders)
    assert swing <= 0.15


# ---------------------------------------------------------------- alternation and policies

loads = st.floats(0.0, 4.0)
strengths = st.floats(0.0, 0.98)


@given(loads, loads, strengths)
def test_a_heavier_crop_never_brings_a_heavier_return(a: float, b: float, strength: float) -> None:
    light, heavy = sorted((a, b))
    after = alternation.return_crop([light, heavy], strength, 3.0)

    assert after[1] <= after[0] + 1e-12


@given(st.floats(0.02, 0.98))
def test_the_return_falls_by_the_strength_at_an_even_crop(strength: float) -> None:
    step = 1e-5
    low, high = alternation.return_crop([1 - step, 1 + step], strength, 3.0)

    assert (high - low) / (2 * step) == pytest.approx(-strength, abs=1e-3)


def test_intensity_and_strength_belong_together() -> None:
    """A linear first-order series made with a strength shows the intensity it came from (simulation)."""
    strength, scatter = alternation.strength_of_intensity(0.2, 0.15), 0.15
    rng = np.random.default_rng(11)
    deviation, series = 0.0, []
    for shock in rng.normal(0, scatter, 60000):
        deviation = -strength * deviation + shock
        series.append(1 + deviation)

    assert bearing.bearing_intensity(np.maximum(series, 0)) == pytest.approx(0.2, rel=0.06)


def test_a_trees_own_years_outweigh_its_kind_in_time() -> None:
    swing = np.tile([1.6, 0.4], 6)
    few = alternation.strength_of_records(swing[:3], 0.2, 0.2, 0.25)
    many = alternation.strength_of_records(swing, 0.2, 0.2, 0.25)

    assert 0.2 < few.strength < many.strength <= 0.98
    assert few.weight < many.weight
    assert many.spread < few.spread


def test_a_missing_year_breaks_its_pairs_and_no_more() -> None:
    whole = alternation.strength_of_records([1.5, 0.5, 1.5, 0.5], 0.3, 0.2, 0.25)
    gap = alternation.strength_of_records([1.5, 0.5, np.nan, 0.5], 0.3, 0.2, 0.25)
    none = alternation.strength_of_records([1.5, np.nan, 1.5], 0.3, 0.2, 0.25)

    assert gap.weight < whole.weight
    assert none == (0.3, 0.2, 0.0)


@pytest.mark.parametrize("strength", [0.5, 0.7, 0.9])
def test_thinning_is_more_even_than_keeping_all_and_bears_more_than_stripping(
    strength: float,
) -> None:
    """Common practice, no source: thin a heavy crop and it bears every year; strip it and a year is lost."""
    rng = np.random.default_rng(12)
    first, swing = np.full(2000, 1.8), np.full(2000, strength)
    shocks = rng.standard_normal((2000, 9))

    def run(policy: str) -> np.ndarray:
        return alternation.crops_under_policy(first, swing, 2.0, 0.25, shocks, policy)

    def uneven(crop: np.ndarray) -> float:
        both = crop[:, 1:] + crop[:, :-1]
        change = np.abs(np.diff(crop, axis=1))
        return float(np.mean(np.divide(change, both, out=np.zeros_like(both), where=both > 0)))

    keep, plan, strip = run("keep all"), run("plan"), run("strip")
    assert uneven(plan) < 0.5 * uneven(keep)
    assert uneven(strip) > uneven(keep)
    assert plan.sum() > strip.sum()
    assert keep[:, 1].mean() < 0.8, "a light year follows a heavy one that was not thinned"


def test_an_unknown_policy_lists_the_known_ones() -> None:
    with pytest.raises(Exception, match="no way to treat a tree"):
        alternation.crops_under_policy([1.0], [0.5], 3.0, 0.2, [[0.0]], "prayer")


# ---------------------------------------------------------------- size and limbs


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_more_fruit_are_smaller_but_weigh_more_together(a: float, b: float) -> None:
    few, many = sorted((a, b))
    small = fruitsize.fruit_mass_at_load(150, many, 0.354, 1.45)
    large = fruitsize.fruit_mass_at_load(150, few, 0.354, 1.45)

    assert small <= large
    assert few * large <= many * small + 1e-9


@given(st.floats(0.05, 0.095))
def test_an_oranges_mass_and_width_return(width: float) -> None:
    assert fruitsize.orange_diameter(fruitsize.orange_mass(width)) == pytest.approx(width)


@given(st.floats(0.1, 200.0), st.floats(0.1, 200.0))
def test_more_stress_breaks_more_limbs(a: float, b: float) -> None:
    low, high = sorted((a, b))

    assert limb.failure_chance(low, 28.1, 0.3) <= limb.failure_chance(high, 28.1, 0.3)


def test_pear_branches_by_their_outer_girth_fail_as_they_were_pulled() -> None:
    """Kane 2007, table 3: clear wood 69.9 MPa; failure as a circle over the bark 28.1, a ratio of 0.40."""
    assert pytest.approx(0.40, abs=0.005) == 28.1 / 69.9
    assert limb.failure_chance(0.4 * 69.9, 28.1, 0.3) == pytest.approx(0.5, abs=0.01)


@given(st.floats(0.3, 5.0), st.floats(0.3, 5.0), st.floats(0.3, 5.0))
def test_a_canopy_has_at_least_the_surface_of_a_ball_of_its_volume(
    height: float, along: float, across: float
) -> None:
    surface = cropload.canopy_surface(height, 0.0, along, across)
    volume = math.pi / 6 * height * along * across

    assert surface >= 0.985 * math.pi ** (1 / 3) * (6 * volume) ** (2 / 3)


# ---------------------------------------------------------------- open records, where they are at hand


def test_the_curve_of_young_orange_trunks_fits_the_trees_it_was_made_on() -> None:
    """Orange (Draper and Smith 1981): pooled residual 23.4 mm on 32 degrees of freedom."""
    rows = records("Orange.csv")
    age = np.array([float(row["age"]) for row in rows])
    girth = np.array([float(row["circumference"]) for row in rows])
    model = np.array([1000 * cropload.orange_trunk_girth(days) for days in age])
    residual = math.sqrt(float(np.sum((girth - model) ** 2)) / (len(girth) - 3))

    assert residual == pytest.approx(23.37, abs=0.05)


def test_trees_of_one_orchard_differ_enough_to_be_counted_one_by_one() -> None:
    """Lemon and navel orchards (Batchelor and Reed 1918): trees of one kind and age vary by 30 and 40 %."""
    spread = {}
    for name in ("batchelor.lemon.uniformity.txt", "batchelor.navel2.uniformity.txt"):
        values = np.array([float(row["yield"]) for row in records(name)])
        spread[name] = float(values.std(ddof=1) / values.mean())

    assert all(0.2 < one < 0.5 for one in spread.values()), spread


def test_trees_counted_once_do_not_look_alternate_in_space() -> None:
    """Neighbours of one year's record are no years: reshuffling must not call them alternating."""
    values = [float(row["yield"]) for row in records("batchelor.navel2.uniformity.txt")][:72]
    rng = np.random.default_rng(13)
    low = 0
    for start in range(0, 72, 8):
        part = np.array(values[start : start + 8])
        orders = np.array([rng.permutation(8) for _ in range(500)])
        low += bearing.detrended_chance_share(part, orders) <= 0.05

    assert low <= 2
