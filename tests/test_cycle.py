"""The year of a tree: what its dates rest on, how records move them, how the hemispheres mirror."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.season.bloom import HeatGrid, HeatRule, prove_heat
from bearwell.season.cycle import Stage
from gardens import TODAY, opened, tree


def stage(loaded: api.LoadedGarden, event: str, season: int) -> Stage:
    found = loaded.view(loaded.garden.tree("one")).cycle.of(event, season)
    assert found is not None
    return found


def observed(event: str, month_day: str, years: range) -> str:
    rows = ", ".join(f'{{ event = "{event}", date = {year}-{month_day} }}' for year in years)
    return f"observed = [{rows}]\n"


class TestOrderOfTrust:
    def test_what_was_seen_this_season_is_the_date(self, tmp_path: Path):
        loaded = opened(
            tmp_path, tree("navel", more=observed("full bloom", "05-03", range(2026, 2027)))
        )
        bloom = stage(loaded, "full bloom", 2026)

        assert (bloom.date, bloom.low, bloom.high) == (date(2026, 5, 3),) * 3
        assert bloom.basis == "seen"

    @pytest.mark.parametrize("count", [1, 2, 4])
    def test_more_records_pull_the_date_closer_to_them_and_narrow_it(
        self, count: int, tmp_path: Path
    ):
        late = "06-12"
        few = opened(
            tmp_path, tree("navel", more=observed("full bloom", late, range(2026 - count, 2026)))
        )
        more = opened(
            tmp_path, tree("navel", more=observed("full bloom", late, range(2025 - count, 2026)))
        )
        prior = stage(opened(tmp_path, tree("navel")), "full bloom", 2027)
        one, two = stage(few, "full bloom", 2027), stage(more, "full bloom", 2027)

        assert prior.date < one.date < two.date <= date(2027, 6, 12)
        assert prior.spread > one.spread > two.spread
        assert "own records" in one.basis

    def test_without_weather_the_calendar_of_the_table_is_used_and_said(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("navel"), place=None)
        bloom = stage(loaded, "full bloom", 2027)

        assert bloom.basis == "calendar prior"
        assert any("no daily weather" in problem.message for problem in loaded.problems)

    def test_monthly_normals_stand_in_for_a_record(self, tmp_path: Path):
        normals = (
            '[weather]\nnormals = { tmin = "6 6.4 8 9.2 11.4 14 15.4 15.3 14.2 11.8 8.6 6.8 degC", '
            'tmax = "13.9 14.9 17.5 18.8 21.3 24.1 25.9 26.5 24.5 21 16.7 14.4 degC" }\n'
        )
        with_normals = opened(tmp_path, tree("navel"), place=None, head=normals)
        with_record = opened(tmp_path, tree("navel"))

        apart = (
            stage(with_normals, "full bloom", 2027).date
            - stage(with_record, "full bloom", 2027).date
        )
        assert abs(apart.days) <= 6

    @pytest.mark.parametrize(
        ("kind", "event", "basis"),
        [
            ("navel", "full bloom", "heat sum of the usual year"),
            ("fig", "full bloom", "warmth of the usual year"),
            ("loquat", "full bloom", "warmth of the usual year"),
            ("apple", "leaf fall", "warmth of the usual year"),
            ("navel", "harvest start", "counted from bloom (heat sum of the usual year)"),
        ],
    )
    def test_a_date_moved_by_normals_says_so_and_is_no_calendar_prior(
        self, kind: str, event: str, basis: str, tmp_path: Path
    ):
        """Normals shift the table's day; what they shifted rests on the usual year, not on the calendar."""
        normals = (
            '[weather]\nnormals = { tmin = "6 6.4 8 9.2 11.4 14 15.4 15.3 14.2 11.8 8.6 6.8 degC", '
            'tmax = "13.9 14.9 17.5 18.8 21.3 24.1 25.9 26.5 24.5 21 16.7 14.4 degC" }\n'
        )
        usual = opened(tmp_path, tree(kind), place=None, head=normals)
        assert stage(usual, event, 2027).basis == basis
        assert not any(
            "calendar prior" in one.basis
            for one in usual.view(usual.garden.tree("one")).cycle.every_stage
        )
        bare = opened(tmp_path, tree(kind), place=None)
        assert "calendar prior" in stage(bare, event, 2027).basis

    def test_a_harvest_recorded_every_year_is_forecast_within_its_spread(self, tmp_path: Path):
        seen = observed("harvest start", "09-12", range(2019, 2026))
        start = stage(opened(tmp_path, tree("apple", more=seen)), "harvest start", 2027)

        assert abs((start.date - date(2027, 9, 12)).days) <= 6
        assert start.low < date(2027, 9, 12) < start.high


class TestHeat:
    def test_heat_moves_the_bloom_in_a_cold_winter_place(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("apple"), place="cold", today=date(2026, 3, 20))

        assert stage(loaded, "full bloom", 2026).basis == "heat sum"

    def test_a_mild_place_keeps_to_the_calendar_until_heat_has_proved_itself(self, tmp_path: Path):
        """Heat sums did worse than the mean date at most mild sites: AdaMedOr, leave one year out."""
        loaded = opened(tmp_path, tree("apple"), today=date(2026, 3, 20))

        assert stage(loaded, "full bloom", 2026).basis == "heat sum of the usual year"

    def test_heat_is_proved_on_records_that_follow_it_and_refused_on_noise(self):
        rng = np.random.default_rng(3)
        days = np.arange(366)
        years = np.array(
            [
                10
                - 8 * np.cos(2 * np.pi * (days - 15) / 365)
                + rng.normal(0, 1.5)
                + rng.normal(0, 2, 366)
                for _ in range(12)
            ]
        )
        rule = HeatRule(2.0, 31, 250.0)
        followed = np.array([float(rule.reached(row) or 0) for row in years])
        noise = 110 + rng.normal(0, 6, 12).round()

        assert prove_heat(years, followed).error < 0.6 * prove_heat(years, followed).error_of_mean
        assert prove_heat(years, noise).error > 0.9 * prove_heat(years, noise).error_of_mean

    def test_a_year_left_out_has_no_say_in_its_own_forecast(self):
        """Moving one year's date changes the rule fitted without it not at all."""
        rng = np.random.default_rng(5)
        grid = HeatGrid.of(rng.normal(9, 4, (6, 366)))
        days = np.array([100.0, 104, 98, 110, 95, 101])
        keep = np.array([True] * 5 + [False])
        moved = days.copy()
        moved[5] += 30

        assert grid.fit(days, keep) == grid.fit(moved, keep)

    def test_the_grid_and_the_rule_reach_the_same_day(self):
        rng = np.random.default_rng(6)
        means = rng.normal(9, 5, (4, 366))
        grid = HeatGrid.of(means)
        rule = HeatRule(2.0, 31, 300.0)

        assert [grid.forecast(rule, year) for year in range(4)] == [
            rule.reached(row) for row in means
        ]


class TestHabits:
    @pytest.mark.parametrize(
        "kind", ["satsuma", "apple", "loquat", "fig", "calamondin", "hass", "northern-highbush"]
    )
    def test_stages_come_in_their_order(self, kind: str, tmp_path: Path):
        cycle = (
            opened(tmp_path, tree(kind)).view(opened(tmp_path, tree(kind)).garden.tree("one")).cycle
        )
        for season in (2025, 2026, 2027):
            found = [
                cycle.of(event, season)
                for event in (
                    "bloom start",
                    "full bloom",
                    "bloom end",
                    "natural drop end",
                    "harvest end",
                )
            ]
            days = [one.date for one in found if one is not None]

            assert days == sorted(days)
            start, end = cycle.of("harvest start", season), cycle.of("harvest end", season)
            assert start is not None and end is not None
            assert start.date < end.date

    def test_an_evergreen_never_drops_its_leaves_and_a_deciduous_tree_does(self, tmp_path: Path):
        def events(kind: str) -> set[str]:
            loaded = opened(tmp_path, tree(kind))
            return {one.event for one in loaded.view(loaded.garden.tree("one")).cycle.stages}

        assert "leaf fall" not in events("navel") | events("olive") | events("hass")
        assert {"leaf fall", "leaf out"} <= events("peach") & events("fig")

    def test_an_ever_bearing_tree_blooms_in_waves(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("lemon"))
        waves = [
            one
            for one in loaded.view(loaded.garden.tree("one")).cycle.every("full bloom")
            if one.season == 2026
        ]

        assert len(waves) >= 2
        assert waves[0].spread < waves[1].spread

    def test_low_chill_apple_wakes_before_high_chill_apple(self, tmp_path: Path):
        """Common practice, no source."""
        early = stage(opened(tmp_path, tree("apple-low-chill")), "full bloom", 2026)
        late = stage(opened(tmp_path, tree("apple-high-chill")), "full bloom", 2026)

        assert early.date < late.date

    def test_loquat_blooms_in_autumn_and_ripens_in_spring(self, tmp_path: Path):
        """UF/IFAS: bloom October to February, picked in early spring."""
        loaded = opened(tmp_path, tree("loquat"))

        assert stage(loaded, "full bloom", 2026).date.month in (10, 11, 12)
        assert stage(loaded, "harvest start", 2026).date.month in (3, 4, 5)


class TestPlacesAndDays:
    @pytest.mark.parametrize(
        "kind", ["navel", "satsuma", "apple", "peach", "loquat", "olive", "calamondin", "fig"]
    )
    def test_the_south_mirrors_the_north(self, kind: str, tmp_path: Path):
        north = stage(opened(tmp_path, tree(kind)), "full bloom", 2026)
        south = stage(opened(tmp_path, tree(kind), southern=True), "full bloom", 2026)

        apart = (south.date - north.date).days
        assert 165 <= apart <= 200

    @pytest.mark.parametrize(
        "today", [date(2024, 2, 29), date(2025, 12, 31), date(2026, 1, 1), date(2026, 7, 2)]
    )
    def test_any_day_of_the_year_works(self, today: date, tmp_path: Path):
        loaded = opened(tmp_path, tree("navel", today=today), today=today)

        assert api.worklist(loaded).today == today
        assert loaded.advice(loaded.garden.tree("one"))

    @pytest.mark.parametrize("latitude", ["0.5", "69.6", "-54.8"])
    def test_the_tropics_and_the_far_north_do_not_break_it(self, latitude: str, tmp_path: Path):
        from gardens import write_garden

        path = write_garden(tmp_path, tree("navel") + tree("apple").replace('"one"', '"two"'))
        path.write_text(path.read_text().replace("latitude = 41.7", f"latitude = {latitude}"))

        assert api.worklist(api.open_garden(path, TODAY)).advice

    def test_nothing_is_forecast_before_planting(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("navel", years=0.5))
        planted = loaded.garden.tree("one").planted

        assert all(
            one.date >= planted for one in loaded.view(loaded.garden.tree("one")).cycle.stages
        )

    def test_a_date_of_next_year_lies_a_year_after_this_years(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("satsuma"))
        gap = stage(loaded, "full bloom", 2027).date - stage(loaded, "full bloom", 2026).date

        assert abs(gap - timedelta(days=365)) <= timedelta(days=2)
