"""The forecast of bloom from heat: nothing leaks, chance is refused, and on real records it never loses."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.season.bloom import HeatGrid, HeatRule, chosen_weight, prove_heat
from bearwell.season.bloomskill import dated_years

SHARED = Path(__file__).resolve().parents[2] / "shared" / "data" / "phenology"


def springs(years: int, seed: int) -> np.ndarray:
    """Daily means of so many years, each early or late as a whole."""
    rng = np.random.default_rng(seed)
    days = np.arange(366)
    return np.array(
        [
            10
            - 8 * np.cos(2 * np.pi * (days - 15) / 365)
            + rng.normal(0, 1.5)
            + rng.normal(0, 2, 366)
            for _ in range(years)
        ]
    )


def followed(means: np.ndarray, noise: float = 0.0) -> np.ndarray:
    rule = HeatRule(2.0, 31, 250.0)
    rng = np.random.default_rng(1)
    return np.array([float(rule.reached(row) or 0) for row in means]) + rng.normal(
        0, noise, len(means)
    )


@pytest.mark.parametrize("year", [0, 3, 7])
def test_a_year_has_no_say_in_its_own_forecast(year: int):
    """Moving the date of a year by a month leaves what was forecast for it where it was."""
    means = springs(9, 2)
    days = followed(means, 2.0)
    moved = days.copy()
    moved[year] += 30

    before, after = prove_heat(means, days), prove_heat(means, moved)

    assert after.misses[year] + moved[year] == pytest.approx(before.misses[year] + days[year])
    assert after.chosen[year] == before.chosen[year]


def test_pairs_left_out_are_what_fitting_without_them_gives():
    """The table of pairs against the plain fit, rule by rule."""
    means = springs(8, 4)
    days = followed(means, 3.0).round()
    grid = HeatGrid.of(means)
    table = grid.misses_of_pairs(days)

    for one in range(8):
        for other in range(8):
            keep = ~np.isin(np.arange(8), [one, other])
            rule, _ = grid.fit(days, keep)
            found = grid.forecast(rule, other)
            expected = float(days[keep].mean()) if found is None else found
            assert table[one, other] == pytest.approx(expected - days[other])


def test_heat_is_taken_whole_where_bloom_follows_it():
    means = springs(14, 3)
    proof = prove_heat(means, followed(means))

    assert proof.weight == 1.0
    assert proof.error < 0.5 * proof.error_of_mean


def test_noise_falls_back_on_the_mean_date_nearly_always():
    """Dates that have nothing to do with the weather: a share of heat is chosen in one record of ten or so."""
    means = springs(14, 3)
    taken = 0
    for seed in range(40):
        noise = 110 + np.random.default_rng(seed).normal(0, 6, 14).round()
        proof = prove_heat(means, noise)
        taken += proof.helps
        assert proof.error < 1.25 * proof.error_of_mean
    assert taken <= 8


def test_the_plainest_within_one_standard_error_is_chosen():
    """By hand: a gain that one year alone makes is within chance; the same gain in every year is not."""
    of_mean = np.array([3.0, 3.0, 3.0, 3.0, 3.0, 9.0])

    assert chosen_weight(of_mean, np.array([3.0, 3.0, 3.0, 3.0, 3.0, 0.0])) == 0.0
    assert chosen_weight(of_mean, of_mean / 9) == 1.0
    assert chosen_weight(of_mean, of_mean) == 0.0


def test_southern_dates_belong_to_the_season_they_fall_in():
    """Day 280 of 2020 lies in the southern season that began on 2 July 2020."""
    means = np.full(3000, 12.0)
    found = dated_years(date(2015, 1, 1), means, {2020: 280.0}, southern=True)

    assert found.days[0] == (date(2020, 10, 6) - date(2020, 7, 2)).days
    assert found.left_out == ()


def _files(folder: Path, years: int, noise: float = 1.0) -> tuple[str, str]:
    means = springs(years, 5)
    days = followed(means, noise)
    lines = ["date,tmin_c,tmax_c,rain_mm"]
    for number, row in enumerate(means):
        first = date(2004 + number, 1, 1)
        count = (date(2005 + number, 1, 1) - first).days
        lines += [
            f"{first + timedelta(days=at)},{row[at] - 5:.2f},{row[at] + 5:.2f},0"
            for at in range(count)
        ]
    (folder / "weather.csv").write_text("\n".join(lines) + "\n")
    seen = [f"{2004 + n},{round(day) + 1}" for n, day in enumerate(days)]
    (folder / "bloom.csv").write_text("\n".join(["year,doy", "1999,NA", "1990,120", *seen]) + "\n")
    return str(folder / "weather.csv"), str(folder / "bloom.csv")


def test_the_reckoner_says_how_well_and_how(tmp_path: Path):
    weather, bloom = _files(tmp_path, 10)
    done = api.reckon(
        "bloom-skill", weather=weather, observed=bloom, latitude="45", kind="sweet-cherry"
    )

    assert done.results["n"] == 10
    assert done.results["rmse_d"] < done.results["rmse_mean_date_d"]
    assert done.results["method"]
    assert done.results["rmse_kind_d"] > 0
    assert any("1 years have a date" in one for one in done.cautions)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("when,where\n2004,120\n", "no columns year and doy"),
        ("year,doy\n2004,0\n", "no day of a year"),
        ("year,doy\n2004,120\n2004,121\n", "stands twice"),
        ("year,doy\n2004,soon\n", "not a year and a day"),
        ("year,doy\n", "holds no date"),
        ("year,doy\n2004,120\n2005,121\n", "too few"),
    ],
)
def test_what_bloom_skill_refuses(text: str, said: str, tmp_path: Path):
    weather, bloom = _files(tmp_path, 5)
    Path(bloom).write_text(text)

    with pytest.raises(BadInput, match=said):
        api.reckon("bloom-skill", weather=weather, observed=bloom, latitude="45")


@pytest.mark.skipif(
    not SHARED.is_dir(), reason="records of bloom are not beside the project (../shared/data)"
)
def test_on_cherries_of_klein_altendorf_it_beats_the_mean_date():
    """Sweet cherry, full bloom 1998 to 2008, 50.4 N: the data set KA_bloom of the R package chillR."""
    found = api.reckon(
        "bloom-skill",
        weather=str(SHARED / "KA_weather.csv"),
        observed=str(SHARED / "KA_bloom.csv"),
        latitude="50.4",
    ).results

    assert found["n"] == 11
    assert found["rmse_d"] < found["rmse_mean_date_d"] == pytest.approx(5.706, abs=0.01)
