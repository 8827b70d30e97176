"""Cold in a garden: evening readings, sorts of night, what is advised, the walk, afterwards, the long view."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell import api
from bearwell.errors import BadFile, BadInput
from bearwell.faces.words import Words
from bearwell.knowledge import knowledge
from bearwell.plan.cold import TreeNight, plan_after_cold, spells_of
from bearwell.plan.nights import SiteNight, credited_lift, evening_rule, sort_of_night
from bearwell.season.buds import bud_rows, buds_on
from bearwell.season.cold import Limit
from bearwell.season.hardiness import hardening_season, hardness
from gardens import TODAY, opened, tree, weather_of

# Ten nights made up for the tests.
NIGHTS = [
    (5.8, 1.0, 0.3), (3.9, -2.2, -1.6), (4.6, -3.4, -1.9), (6.7, 0.4, 0.6), (2.8, -4.1, -2.8),
    (4.1, -0.6, -1.2), (5.1, -1.9, -0.7), (3.3, -1.2, -1.5), (1.9, -5.0, -3.6), (4.9, 0.2, -0.4),
]  # fmt: skip


def cold_table(nights: list[tuple[float, float, float]], evening: str = "") -> str:
    rows = "".join(
        f'  {{ t0 = "{a} degC", td = "{d} degC", tmin = "{m} degC" }},\n' for a, d, m in nights
    )
    return f"[cold]\nnights = [\n{rows}]\n{evening}\n"


def evening(t0: str, td: str | None, more: str = "") -> str:
    damp = "" if td is None else f', td = "{td} degC"'
    return f'evenings = [{{ date = {TODAY}, t0 = "{t0} degC"{damp}{more} }}]\n'


def garden(
    folder: Path,
    trees: str,
    lows: list[float] | None = None,
    *,
    head: str = "",
    today: date = TODAY,
    place: str = "mild",
    site: str = 'soil = "loam"',
    swing: float = 9.0,
) -> api.LoadedGarden:
    """A garden whose next nights are these."""
    folder.mkdir(exist_ok=True)
    series = weather_of(place, today + timedelta(days=7))
    tmin, tmax = np.array(series.tmin), np.array(series.tmax)
    if lows is not None:
        tmin[-7:] = 9.0
        tmin[-7 : len(tmin) - 7 + len(lows)] = lows
        tmax[-8:] = np.maximum(tmin[-8:] + swing, tmax[-8:])
    return opened(
        folder,
        trees,
        today=today,
        head=head,
        site=site,
        weather=replace(series, tmin=tmin, tmax=tmax),
    )


def two(kind: str, more: str = "") -> str:
    """The same tree twice, in the ground first and in a pot."""
    ground = tree(kind, years=4).replace('id = "one"', 'id = "ground"')
    pot = tree(kind, years=4, pot="40 L").replace('id = "one"', 'id = "pot"')
    return ground + pot + more


HARD = [-4.0, 6.0, 9.0]


# ---------------------------------------------------------------- readings


class TestEvenings:
    def test_enough_own_nights_make_an_own_rule(self):
        nights = tuple(
            api.Night(t0=f"{a} degC", td=f"{d} degC", tmin=f"{m} degC")  # type: ignore[arg-type]
            for a, d, m in NIGHTS
        )
        own, foreign = (evening_rule(part, knowledge()) for part in (nights, nights[:3]))

        assert own.own
        assert own.error < 1.2
        assert not foreign.own
        assert "secondhand" in {link.confidence for link in foreign.because}
        assert foreign.error > own.error

    def test_a_reading_moves_tonight_and_the_worklist_alike(self, tmp_path: Path):
        head = cold_table(NIGHTS, evening("4.2", "-2.6", ', wind = "0.5 m/s", sky = "clear"'))
        loaded = garden(tmp_path, tree("persian-lime"), [6.0, 6.0], head=head)
        plan = api.tonight(loaded).plan

        assert plan.night is not None
        assert plan.night.sort == "radiation"
        assert plan.night.basis == "your evening reading"
        assert -3.0 < plan.night.lowest < 0.0
        listed = [one for one in api.worklist(loaded).advice if one.kind == "protect"]
        assert [one.details["at_tree_c"] for one in listed] == [round(plan.night.lowest, 1)]

    def test_a_rule_fitted_elsewhere_gives_way_to_a_forecast(self, tmp_path: Path):
        head = cold_table([], evening("4.2", "-2.6"))
        plan = api.tonight(garden(tmp_path, tree("navel"), [5.0], head=head)).plan

        assert plan.night is not None
        assert plan.night.basis == "the weather file"
        assert plan.night.evening == 4.2
        assert plan.night.lowest == pytest.approx(4.2), "no night is warmer than its evening"
        assert any("not followed" in link.statement.text for link in plan.night.because)

    def test_without_a_forecast_it_stands_in_and_says_so(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("navel"), head=cold_table([], evening("4.2", "-2.6")))
        plan = api.tonight(loaded).plan

        assert plan.night is not None
        assert "fitted elsewhere" in plan.night.basis
        assert plan.night.error >= 2.0

    def test_in_wind_the_rule_is_not_asked(self, tmp_path: Path):
        head = cold_table(NIGHTS, evening("4.2", "-2.6", ', wind = "6 m/s"'))
        plan = api.tonight(garden(tmp_path, tree("navel"), [1.0], head=head)).plan

        assert plan.night is not None
        assert plan.night.sort == "advection"
        assert plan.night.basis == "the weather file"

    @pytest.mark.parametrize(
        ("table", "words"),
        [
            (evening("4.2", "5.0"), "dew point is above the air"),
            (cold_table([(2.0, -3.0, 4.0)]), "minimum is above the reading"),
            (cold_table([(2.0, 3.0, 1.0)]), "dew point is above"),
            ("nights = 5\n", "not known"),
            ('nights = "nowhere.csv"\n', "no such file"),
        ],
    )
    def test_what_cannot_be_is_told_with_its_line(self, table: str, words: str, tmp_path: Path):
        head = table if table.startswith("[cold]") else f"[cold]\n{table}"
        with pytest.raises(BadFile) as refused:
            opened(tmp_path, tree("navel"), head=head)

        told = [one for one in refused.value.problems if words in one.message]
        assert told
        assert told[0].line is not None

    def test_nights_of_a_file_are_read_in_fahrenheit_too(self, tmp_path: Path):
        rows = "\n".join(
            f"{9 * a / 5 + 32:.3f},{9 * d / 5 + 32:.3f},{9 * m / 5 + 32:.3f}" for a, d, m in NIGHTS
        )
        (tmp_path / "nights.csv").write_text(f"t0_f,td_f,tmin_f\n{rows}\n")
        loaded = opened(tmp_path, tree("navel"), head='[cold]\nnights = "nights.csv"\n')

        assert len(loaded.garden.cold.listed) == 10
        assert loaded.garden.cold.listed[0].t0 == pytest.approx(5.8, abs=1e-3)

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("date,low,high\n2025-01-01,1,2\n", "no column t0 or td or tmin"),
            ("t0,td,tmin\n3,-1,x\n", "no number"),
            ("t0_f,td,tmin\n3,-1,1\n", "different units"),
            ("t0,td,tmin\n", "no night"),
            ("", "empty"),
        ],
    )
    def test_a_file_of_nights_that_is_none_is_refused(self, text: str, words: str, tmp_path: Path):
        (tmp_path / "nights.csv").write_text(text)
        with pytest.raises(BadFile) as refused:
            opened(tmp_path, tree("navel"), head='[cold]\nnights = "nights.csv"\n')

        assert any(words in one.message for one in refused.value.problems)
        assert all("nights.csv" in one.where for one in refused.value.problems)

    @pytest.mark.parametrize(
        ("typed", "words"),
        [
            (("",), "no temperature"),
            (("3", "5"), "dew point is above"),
            (("400",), "not plausible"),
            (("3", "-1", "2", "starry"), "not known"),
        ],
    )
    def test_typed_readings_are_checked(self, typed: tuple[str, ...], words: str):
        with pytest.raises(BadInput, match=words):
            api.evening_reading(TODAY, *typed)


# ---------------------------------------------------------------- sorts of night, chances


def night(lowest: float, *, error: float = 2.0, sort: str = "radiation") -> SiteNight:
    return SiteNight(TODAY, lowest, error, lowest + 6.0, 12.0, sort, lowest)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("wind", "sky", "sort"),
    [
        (None, None, "unknown"), (0.5, "clear", "radiation"), (0.5, None, "unknown"), (0.5, "cloudy", "between"),
        (3.0, "clear", "between"), (6.0, "clear", "advection"), (None, "cloudy", "between"),
    ],
)  # fmt: skip
def test_wind_and_sky_make_the_sort_of_night(wind: float | None, sky: str | None, sort: str):
    """FAO 2005: radiation nights are clear with wind below 2 m/s."""
    assert sort_of_night(wind, sky, knowledge())[0] == sort


@given(st.floats(-3.0, 12.0), st.sampled_from(["radiation", "unknown", "between", "advection"]))
def test_no_cover_is_credited_with_more_than_its_row(lift: float, sort: str):
    credit = credited_lift(lift, sort, knowledge())  # type: ignore[arg-type]

    assert credit <= max(lift, 0.0) + 1e-12
    if sort == "advection":
        assert credit <= 1.0


@given(st.floats(-12.0, 6.0), st.floats(0.1, 5.0), st.floats(-6.0, 0.0), st.floats(0.0, 3.0),
       st.floats(0.5, 3.0), st.booleans())  # fmt: skip
def test_a_chance_is_one_and_never_falls_as_the_night_gets_colder(
    lowest: float, colder: float, at: float, reach: float, error: float, hours: bool
):
    stands = knowledge().kind("navel")["cold_fruit_hours"] if hours else None
    limit = Limit("fruit", at, (), at - reach, at + reach, stands)
    mild, hard = (TreeNight(night(low, error=error), 0.0) for low in (lowest, lowest - colder))

    assert 0.0 <= mild.chance(limit) <= hard.chance(limit) + 1e-9 <= 1.0 + 1e-9
    low, high = mild.chance_range(limit)
    assert 0.0 <= low <= mild.chance(limit) <= high <= 1.0


@pytest.mark.parametrize("latitude", [72.0, -72.0])
@pytest.mark.parametrize("today", [date(2026, 6, 20), date(2026, 12, 20)])
def test_a_polar_night_has_no_curve_and_breaks_nothing(
    latitude: float, today: date, tmp_path: Path
):
    loaded = garden(tmp_path, tree("apple", today=today), [-5.0, -6.0], today=today)
    path = loaded.path
    path.write_text(path.read_text().replace("latitude = 41.7", f"latitude = {latitude}"))
    ahead = api.tonight(api.open_garden(path, today))

    assert ahead.plan.night is not None
    assert (ahead.begins, ahead.ends) == (None, None)
    assert ahead.plan.night.hours() == []
    assert all(harm.hours is None for one in ahead.plan.trees for harm in one.harms)


# ---------------------------------------------------------------- what the tree stands


class TestLimits:
    def test_hardening_builds_in_a_cool_season_and_is_drawn(self, tmp_path: Path):
        loaded = garden(tmp_path, tree("navel"), place="cold")
        site, book = loaded.site, loaded.book
        autumn, winter = (hardness(site, day, book).state for day in (date(2026, 10, 1), TODAY))
        season = hardening_season(site, TODAY, book)

        assert 0.0 <= autumn < winter <= 1.0
        assert season is not None
        assert len(season.state) in (365, 366)
        assert float(season.state.max()) > 0.9
        at = (TODAY - season.start).days
        assert float(season.state[at]) == pytest.approx(winter, abs=0.05)

    def test_buds_run_through_their_stages_towards_bloom(self, tmp_path: Path):
        today = date(2026, 4, 1)
        loaded = opened(tmp_path, tree("apple", today=today), today=today, place="cold")
        view = loaded.view(loaded.garden.tree("one"))
        bloom = view.cycle.next_after("full bloom", today)
        assert bloom is not None
        limits = [
            found.t10
            for back in range(30, -1, -1)
            if (found := buds_on(view.species, view.cycle, view.book, bloom.date - timedelta(back)))
        ]
        rows = bud_rows(view.species, view.book)

        assert len(limits) == 31
        assert np.all(np.diff(limits) >= -1e-9), "an apple's buds only get tenderer"
        assert min(row.t10.number for row in rows) <= min(limits)
        assert limits[-1] == pytest.approx(-2.22, abs=0.01)
        at_bloom = buds_on(view.species, view.cycle, view.book, bloom.date)
        assert at_bloom is not None
        assert at_bloom.organ == "flowers"
        shares = [at_bloom.expected_share(low, 0.5) for low in (0.0, -2.0, -3.0, -4.0, -8.0)]
        assert shares == sorted(shares)
        assert shares[0] < 0.01
        assert shares[-1] > 0.8

    def test_a_kind_without_stages_has_flowers_only_in_bloom(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("persimmon"))
        view = loaded.view(loaded.garden.tree("one"))

        assert bud_rows(view.species, view.book) == ()
        assert buds_on(view.species, view.cycle, view.book, TODAY) is None

    def test_resting_wood_of_an_apple_stands_far_more_than_its_soft_growth(self, tmp_path: Path):
        loaded = garden(tmp_path, tree("apple"), [-6.0], place="cold", today=date(2027, 1, 10))
        one = api.tonight(loaded).plan.trees[0]

        assert not one.spell
        assert one.worst.limit.temperature < -15.0


# ---------------------------------------------------------------- what to do


class TestMeasures:
    def test_a_pot_comes_before_the_same_tree_in_the_ground(self, tmp_path: Path):
        plan = api.tonight(garden(tmp_path, two("persian-lime"), HARD)).plan

        assert [stop.key for stop in plan.stops] == ["day", "pots", "ground"]
        assert [one.key for one in plan.stops[1].tasks] == ["pot:move pot"]

    def test_tenderer_pots_go_first_and_lighter_ones_before_heavy_ones(self, tmp_path: Path):
        names = (
            ("persian-lime", "big", "60 L"),
            ("persian-lime", "small", "20 L"),
            ("kumquat", "hard", "20 L"),
        )
        trees = "".join(
            tree(kind, pot=pot).replace('id = "one"', f'id = "{name}"') for kind, name, pot in names
        )
        plan = api.tonight(garden(tmp_path, trees, [-6.0])).plan

        assert plan.stops[1].trees == ("small", "big", "hard")

    @pytest.mark.parametrize("low", [0.5, -1.0, -3.0, -6.0])
    def test_no_cover_is_promised_more_than_its_row(self, low: float, tmp_path: Path):
        loaded = garden(tmp_path, tree("persian-lime", years=2), [low])
        (spell,) = spells_of(loaded.view(loaded.garden.tree("one")))
        cover = next(one for one in spell.measures if one.key == "cover")
        cloth = str(cover.text.values["cloth"])
        gives = cover.text.values["gives"]

        assert gives.value <= knowledge().item("covers", cloth)["lift"].number + 1e-9  # type: ignore[union-attr]
        assert "it can be nothing" in cover.text.text

    def test_colder_nights_take_heavier_cloth_and_more_heat(self, tmp_path: Path):
        lacks, watts, weights = [], [], []
        for place, low in enumerate((-0.5, -2.0, -4.0, -6.0)):
            loaded = garden(tmp_path / str(place), tree("persian-lime", years=2), [low])
            (spell,) = spells_of(loaded.view(loaded.garden.tree("one")))
            lacks.append(spell.lack.kelvin)
            for one in spell.measures:
                if one.key == "cover":
                    weights.append(int(str(one.text.values["cloth"]).split()[2]))
                if "watts" in one.text.values:
                    watts.append(one.text.values["watts"].value)  # type: ignore[union-attr]

        assert lacks == sorted(lacks)
        assert weights == sorted(weights)
        assert watts == sorted(watts)
        assert len(watts) >= 2

    def test_a_shelter_without_measures_says_what_is_assumed(self, tmp_path: Path):
        shed = '[[shelter]]\nid = "shed"\nshape = "hoop"\n'
        plain = tree("persian-lime", years=2, more='shelter = "shed"\n')
        loaded = garden(tmp_path, plain, [-5.0], head=shed)

        assert any("no length, width, height" in one.message for one in loaded.problems)
        (spell,) = spells_of(loaded.view(loaded.garden.tree("one")))
        said = [link.statement.text for one in spell.measures for link in one.because]
        assert any("No measures are given" in one for one in said)

    def test_a_shelter_is_closed_once_for_all_its_trees(self, tmp_path: Path):
        shed = (
            '[[shelter]]\nid = "shed"\nshape = "hoop"\nlength = "6 m"\nwidth = "4 m"\nheight = "4.2 m"\n'
            'heater = "500 W"\nwater = "300 L"\n'
        )
        trees = "".join(
            tree("persian-lime", years=2, more='shelter = "shed"\n').replace("one", name, 1)
            for name in ("a", "b")
        )
        loaded = garden(tmp_path, trees, [-4.0], head=shed)
        plan = api.tonight(loaded).plan
        keys = [task.key for stop in plan.stops for task in stop.tasks]

        assert keys.count("shed:close") == 1
        assert {"shed:heat", "shed:barrels"} <= set(keys)
        listed = [one for one in api.worklist(loaded).advice if one.kind == "protect"]
        closing = [one.minutes for one in listed]
        assert sum(closing) == pytest.approx(plan.minutes, abs=4), (
            "the list and the walk tell one time"
        )

    def test_the_walk_says_what_the_worklist_says(self, tmp_path: Path):
        loaded = garden(tmp_path, two("persian-lime"), HARD)
        words = Words("metric", TODAY)
        for one in api.worklist(loaded).advice:
            if one.kind != "protect":
                continue
            steps = [words.phrase(step) for step in one.steps]
            tasks = [
                words.phrase(task.text)
                for stop in api.tonight(loaded).plan.stops
                for task in stop.tasks
                if task.tree == one.tree
            ]
            assert tasks
            assert [text for text in steps if text in tasks] == tasks

    def test_water_starts_above_the_wet_bulb_and_not_in_wind(self, tmp_path: Path):
        still, windy = (
            api.tonight(
                garden(
                    tmp_path / name,
                    tree("navel"),
                    [-3.0],
                    head="[cold]\n"
                    + evening("4.0", "-5.0", f', wind = "{wind} m/s", sky = "clear"'),
                )
            ).plan.water
            for name, wind in (("still", 0.5), ("windy", 6))
        )

        assert still is not None
        assert windy is not None
        assert all(start >= wet for wet, start in still.starts)
        assert still.rate == pytest.approx(2.54)
        assert windy.windy
        assert windy.rate is None


# ---------------------------------------------------------------- afterwards


class TestAfterwards:
    def test_a_hurtful_night_ahead_is_followed_by_looks(self, tmp_path: Path):
        loaded = garden(tmp_path, tree("persian-lime"), [-7.0])
        looks = plan_after_cold(loaded.view(loaded.garden.tree("one")))
        first = next(one for one in looks if "after-frost" in one.id)
        wood = next(one for one in looks if "frost-wood" in one.id)

        assert first.window.earliest == TODAY + timedelta(days=1)
        assert wood.window.earliest >= TODAY + timedelta(days=90)
        assert wood.window.earliest <= wood.window.best <= wood.window.latest
        assert any("Do not cut" in step.text for step in first.steps)

    def test_a_recorded_night_is_followed_too(self, tmp_path: Path):
        loaded = garden(tmp_path, tree("persian-lime"), [-7.0])
        later = api.open_garden(loaded.path, TODAY + timedelta(days=3))
        looks = plan_after_cold(later.view(later.garden.tree("one")))

        assert any("by the record" in (one.display.text if one.display else "") for one in looks)
        assert any(one.details["night"] == (TODAY + timedelta(days=1)).isoformat() for one in looks)

    def test_a_mild_autumn_has_nothing_to_look_at(self, tmp_path: Path):
        loaded = garden(tmp_path, tree("navel"), [9.0])

        assert plan_after_cold(loaded.view(loaded.garden.tree("one"))) == []


# ---------------------------------------------------------------- the long view


class TestOutlook:
    def test_winters_are_counted_as_the_record_has_them(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("navel"), site='colder_than_station = "1.0 K"')
        seen = api.winter(loaded)
        series = loaded.site.series
        assert series is not None
        nights = dict(zip(series.iter_dates(), series.tmin, strict=True))
        for one in seen.winters:
            lows = [
                low
                for day, low in nights.items()
                if date(one.label - 1, 7, 1) <= day < date(one.label, 7, 1)
            ]
            assert one.coldest == pytest.approx(min(lows) - 1.0)
        assert seen.winters[-1].label == 2026, "the winter that has just begun is not counted"
        assert [one.position for one in seen.winters] == pytest.approx(
            [sum(o.coldest <= w.coldest for o in seen.winters) / 12 for w in seen.winters]
        )

    def test_levels_agree_with_the_reckoner_and_widen(self, tmp_path: Path):
        seen = api.winter(opened(tmp_path, tree("navel")))
        minima = ",".join(str(one.coldest) for one in seen.winters)
        done = api.reckon("freeze-risk", minima=minima).results
        by_years = {one.years: one for one in seen.levels}

        for years in (10, 20, 50):
            assert by_years[years].temperature == pytest.approx(done[f"t{years}_c"], abs=0.005)
            assert by_years[years].low < by_years[years].temperature < by_years[years].high
            assert done[f"t{years}_low_c"] == pytest.approx(by_years[years].low, abs=0.8)
        widths = [one.high - one.low for one in seen.levels]
        assert widths == sorted(widths)

    def test_odds_are_odds_and_a_shelter_helps(self, tmp_path: Path):
        shed = '[[shelter]]\nid = "shed"\ncover = "double polyethylene film"\n'
        bare = tree("persian-lime").replace('id = "one"', 'id = "bare"')
        under = tree("persian-lime", more='shelter = "shed"\n')
        seen = api.winter(opened(tmp_path, bare + under, head=shed))
        found = {one.view.tree.id: one for one in seen.trees}

        for one in seen.trees:
            for hazard in (one.lost, *one.hurt):
                assert hazard is not None
                chance = hazard.chance
                assert 0.0 <= chance.low <= hazard.yearly <= chance.high <= 1.0
        lost, kept = found["bare"].lost, found["one"].lost
        assert lost is not None
        assert kept is not None
        assert kept.open is not None
        assert kept.yearly < lost.yearly
        assert kept.open.best == pytest.approx(lost.chance.best)
        assert seen.trees[0].view.tree.id == "bare", "most endangered first"

    def test_a_tender_tree_is_out_of_place_where_a_hardy_one_is_at_home(self, tmp_path: Path):
        trees = tree("key-lime").replace('"one"', '"lime"') + tree("apple")
        seen = api.winter(opened(tmp_path, trees, place="cold"))

        assert {one.view.tree.id: one.standing for one in seen.trees} == {
            "lime": "out of place",
            "one": "at home",
        }
        assert seen.zone is not None
        assert seen.zone.mean < -3.0

    @pytest.mark.parametrize("place", [None, "mild"])
    def test_a_short_record_says_that_it_is_short(self, place: str | None, tmp_path: Path):
        series = None if place is None else weather_of("mild", TODAY, years=3)
        seen = api.winter(opened(tmp_path, tree("navel"), place=place, weather=series))

        assert seen.lacking is not None
        assert seen.levels == ()
        if place is None:
            assert seen.zone is None
        else:
            assert seen.trees[0].lost is not None
            assert seen.trees[0].lost.chance.best is None

    def test_the_south_has_its_winters_in_their_own_year(self, tmp_path: Path):
        seen = api.winter(opened(tmp_path, tree("navel"), southern=True))

        assert all(4 <= one.date.month <= 10 for one in seen.winters)
        if seen.first is not None:
            assert seen.first.middle.year == 2026
