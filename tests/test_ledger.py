"""The nitrogen ledger: it closes on every day, and it shows the contrasts that trials have shown."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell import api
from bearwell.api.feeding import FeedingYear, feeding_sheet, feeding_year, shelf
from bearwell.season.ledger import Given, LedgerInputs, run_ledger
from gardens import SHELF, TODAY, opened, tree


def year_of(
    folder: Path, kind: str, *, soil: str = "loam", pot: str = "", head: str = SHELF
) -> FeedingYear:
    loaded = opened(folder, tree(kind, pot=pot), head=head, site=f'soil = "{soil}"')
    return feeding_year(loaded, "one")


def bank_at_bloom(year: FeedingYear) -> tuple[float, float]:
    assert year.bloom is not None
    return year.ledger.bank_on(year.bloom), year.without_late.bank_on(year.bloom)


@pytest.mark.parametrize("kind", ["satsuma", "hass", "olive", "apple", "fig", "northern-highbush"])
@pytest.mark.parametrize("pot", ["", "40 L"])
def test_every_gram_is_accounted_for_every_day(kind: str, pot: str, tmp_path: Path):
    year = year_of(tmp_path, kind, pot=pot)

    for ledger in (year.ledger, year.without_late):
        assert ledger.imbalance() < 1e-9
        for pool in (ledger.flow.held, ledger.flow.soil, ledger.flow.bank):
            assert np.all(pool >= 0)


@pytest.fixture(scope="module")
def inputs(tmp_path_factory: pytest.TempPathFactory) -> LedgerInputs:
    loaded = opened(tmp_path_factory.mktemp("ledger"), tree("navel"), head=SHELF)
    view = loaded.view(loaded.garden.tree("one"))
    demand = loaded.schedule.trees["one"].need.demand
    return LedgerInputs(
        view.tree,
        view.species,
        view.cycle,
        view.size,
        view.site,
        loaded.garden,
        view.book,
        demand,
        TODAY - timedelta(days=200),
        TODAY + timedelta(days=300),
    )


@given(st.lists(st.tuples(st.integers(-250, 350), st.floats(0, 500),
                          st.sampled_from(["soluble", "granular organic", "controlled release", "plant compost"])),
                max_size=8))  # fmt: skip
def test_it_closes_whatever_is_given(inputs: LedgerInputs, gifts: list[tuple[int, float, str]]):
    ledger = run_ledger(
        inputs, [Given(TODAY + timedelta(days=d), grams, release) for d, grams, release in gifts]
    )

    assert ledger.imbalance() < 1e-9
    assert np.all(ledger.flow.freed.sum() <= ledger.given.sum() + 1e-9)


@pytest.mark.parametrize("kind", ["satsuma", "navel", "valencia"])
def test_reserves_carry_most_of_spring_growth_in_citrus(kind: str, tmp_path: Path):
    """61 % with much nitrogen to 70 % with little of the nitrogen in young organs at the end of fruit drop was
    remobilised: IVIA 2011, 15N in young trees (abstract). Our trees are grown and the model is a mixing one, so
    eight points either side are allowed.
    """
    year = year_of(tmp_path, kind)
    assert year.bloom is not None
    share = year.ledger.reserve_share(
        year.bloom - timedelta(days=60), year.bloom + timedelta(days=45)
    )

    assert 0.61 - 0.08 <= share <= 0.70 + 0.08


@pytest.mark.parametrize("kind", ["apple", "peach", "fig"])
def test_deciduous_trees_take_up_little_before_leaves_open(kind: str, tmp_path: Path):
    """Almond: no net uptake until 60-70 % of leaf area (Muhammad and others 2020)."""
    loaded = opened(tmp_path, tree(kind), head=SHELF)
    year = feeding_year(loaded, "one")
    leaf = loaded.view(loaded.garden.tree("one")).cycle.next_after("leaf out", TODAY)
    assert leaf is not None
    before = year.ledger.sums(leaf.date - timedelta(days=60), leaf.date)["uptake"]
    after = year.ledger.sums(leaf.date, leaf.date + timedelta(days=60))["uptake"]

    assert before < 0.15 * after


def test_sand_leaches_more_than_loam_and_loam_more_than_clay(tmp_path: Path):
    """Sandy Florida soils: 21-36 % of the nitrogen leached in one model study, 1-16 % under careful irrigation
    (Paramasivam and others); the order of textures is common knowledge.
    """
    washed = [
        year_of(tmp_path, "navel", soil=soil).ledger.sums(TODAY, TODAY + timedelta(days=364))[
            "leached"
        ]
        for soil in ("sand", "loam", "clay")
    ]

    assert washed[0] > 1.2 * washed[1] > 1.2 * washed[2] * 0.95


@pytest.mark.parametrize("kind", ["satsuma", "navel", "olive", "hass"])
def test_leaving_out_autumn_and_winter_empties_an_evergreens_bank(kind: str, tmp_path: Path):
    """The mission's contrast; common practice, no source."""
    even, without = bank_at_bloom(year_of(tmp_path, kind))

    assert without < 0.96 * even


def test_a_pot_loses_more_by_leaving_them_out(tmp_path: Path):
    """A pot holds a fraction of what soil holds: common practice, no source."""
    ground = bank_at_bloom(year_of(tmp_path, "navel"))
    pot = bank_at_bloom(year_of(tmp_path, "lemon", pot="45 L"))

    assert pot[1] / pot[0] < ground[1] / ground[0]


@pytest.mark.parametrize("kind", ["apple", "peach", "pear"])
def test_leaving_them_out_changes_nothing_for_a_deciduous_tree(kind: str, tmp_path: Path):
    even, without = bank_at_bloom(year_of(tmp_path, kind))

    assert without == pytest.approx(even, rel=1e-6)


class TestNeed:
    def test_three_routes_stand_side_by_side(self, tmp_path: Path):
        year = year_of(tmp_path, "navel")
        routes = {route.name: route.nitrogen for route in year.need.routes}

        assert set(routes) == {"table", "balance", "tests"}
        assert year.need.followed == "balance"
        assert all(one.because for one in year.need.routes)

    def test_an_unmeasured_tree_goes_by_its_table(self, tmp_path: Path):
        bare = '[[tree]]\nid = "one"\nkind = "navel"\nplanted = 2018-03-01\n'
        loaded = opened(tmp_path, bare, head=SHELF)

        assert feeding_year(loaded, "one").need.followed == "table"

    @pytest.mark.parametrize(("leaf", "way"), [("1.9 %", 1), ("3.4 %", -1)])
    def test_a_leaf_test_moves_the_dose(self, leaf: str, way: int, tmp_path: Path):
        """MSU: a tenth for each 0.1 % below the deficient or above the excessive limit (secondhand)."""
        test = f'leaf_tests = [{{ date = 2026-09-10, norms = "Florida citrus", n = "{leaf}" }}]\n'
        plain = feeding_year(opened(tmp_path, tree("navel"), head=SHELF), "one").need
        moved = feeding_year(opened(tmp_path, tree("navel", more=test), head=SHELF), "one").need

        assert (moved.nitrogen.value - plain.nitrogen.value) * way > 0
        assert 0.6 * plain.nitrogen.value <= moved.nitrogen.value <= 1.4 * plain.nitrogen.value

    def test_long_shoots_cut_it_and_short_ones_raise_it(self, tmp_path: Path):
        def need(shoots: str) -> float:
            more = f'shoot_growth = "{shoots}"\n'
            return feeding_year(
                opened(tmp_path, tree("apple", more=more), head=SHELF), "one"
            ).need.nitrogen.value

        assert need("90 cm") < need("35 cm") < need("8 cm")

    def test_soil_full_of_phosphorus_asks_for_none(self, tmp_path: Path):
        """Mehlich-3 optimum class ends at 137 lb an acre, 68.5 ppm: Rutgers."""
        site = 'soil = "loam"\nsoil_test = { p = { method = "mehlich-3", value = "140 ppm" } }'
        loaded = opened(tmp_path, tree("navel"), head=SHELF, site=site)

        assert feeding_year(loaded, "one").need.p2o5.value == 0

    def test_a_heavy_cropper_needs_more_than_a_light_one(self, tmp_path: Path):
        def need(kilos: int) -> float:
            rows = ", ".join(
                f'{{ year = {year}, mass = "{kilos} kg" }}' for year in (2023, 2024, 2025)
            )
            loaded = opened(tmp_path, tree("navel", more=f"harvests = [{rows}]\n"), head=SHELF)
            return next(
                r for r in feeding_year(loaded, "one").need.routes if r.name == "balance"
            ).nitrogen.value

        assert need(60) > need(10)


class TestSharedShelf:
    TREES = (
        tree("navel")
        + tree("hass").replace('"one"', '"two"')
        + tree("apple").replace('"one"', '"three"')
    )

    def test_what_early_rounds_take_late_ones_do_not_find(self, tmp_path: Path):
        small = SHELF.replace('on_hand = "40 kg"', 'on_hand = "2 kg"\npack = "10 kg"\nprice = 18')
        loaded = opened(tmp_path, self.TREES, head=small)
        found = shelf(loaded)
        balanced = next(one for one in found.products if one.product.id == "balanced")

        assert balanced.runs_out is not None
        assert any(one.id == "balanced" and one.bags and one.bags >= 1 for one in found.shopping)

    def test_a_full_shelf_needs_no_shopping(self, tmp_path: Path):
        full = (
            SHELF.replace('on_hand = "40 kg"', 'on_hand = "400 kg"')
            .replace('"9 kg"', '"90 kg"')
            .replace('"5 kg"', '"90 kg"')
        )

        assert shelf(opened(tmp_path, self.TREES, head=full)).shopping == ()

    def test_the_sheet_goes_in_walking_order(self, tmp_path: Path):
        loaded = opened(tmp_path, self.TREES, head=SHELF, today=date(2026, 3, 20))
        order = [line.tree.id for line in feeding_sheet(loaded, 40)]

        assert order
        assert order == sorted(order, key=["one", "two", "three"].index)

    def test_the_order_of_trees_in_the_file_does_not_lose_a_round(self, tmp_path: Path):
        other = (
            tree("apple").replace('"one"', '"three"')
            + tree("hass").replace('"one"', '"two"')
            + tree("navel")
        )
        first = opened(tmp_path, self.TREES, head=SHELF).schedule
        second = opened(tmp_path, other, head=SHELF).schedule

        for key in ("one", "two", "three"):
            assert [one.window for one in first.trees[key].rounds] == [
                one.window for one in second.trees[key].rounds
            ]


class TestScheduleRules:
    def rounds(self, loaded: api.LoadedGarden) -> list:
        return [one for one in loaded.advice(loaded.garden.tree("one")) if one.kind == "feed"]

    @pytest.mark.parametrize("nutrients", ['["N"]', '["P"]', '["N", "P", "K"]'])
    def test_a_ban_all_year_is_said_and_does_not_run_for_ever(self, nutrients: str, tmp_path: Path):
        rule = f'[[no_feeding]]\nfrom = "01-01"\nto = "12-31"\nnutrients = {nutrients}\nreason = "all year"\n'
        only = '[[product]]\nid = "b"\nname = "b"\nlabel = "5-5-5"\nrelease = "granular organic"\n'
        rounds = self.rounds(opened(tmp_path, tree("navel"), head=rule + only))

        assert rounds
        assert all(one.standing == "blocked" and one.details["open_from"] is None for one in rounds)

    def test_bans_that_touch_are_seen_together(self, tmp_path: Path):
        rules = "".join(
            f'[[no_feeding]]\nfrom = "{a}"\nto = "{b}"\nnutrients = ["N"]\nreason = "{a}"\n'
            for a, b in (("06-10", "06-30"), ("07-01", "07-20"), ("07-21", "08-15"))
        )
        for one in self.rounds(opened(tmp_path, tree("navel"), head=rules + SHELF)):
            if one.standing == "blocked":
                continue
            day = one.window.earliest
            while day <= one.window.latest:
                assert not (6, 10) <= (day.month, day.day) <= (8, 15)
                day += timedelta(days=1)

    def test_a_short_ban_does_not_cost_a_pot_its_month(self, tmp_path: Path):
        rule = (
            '[[no_feeding]]\nfrom = "12-05"\nto = "12-12"\nnutrients = ["N"]\nreason = "a week"\n'
        )
        december = [
            one
            for one in self.rounds(opened(tmp_path, tree("kumquat", pot="45 L"), head=rule + SHELF))
            if one.window.best.month == 12 and one.standing != "blocked"
        ]

        assert december

    def test_heavy_rain_ahead_moves_the_round(self, tmp_path: Path):
        from dataclasses import replace

        from gardens import weather_of

        series = weather_of("mild", TODAY + timedelta(days=7))
        rain = np.zeros(len(series))
        rain[:-7] = series.rain[:-7]
        rain[-4] = 60.0
        loaded = opened(
            tmp_path, tree("kumquat", pot="45 L"), head=SHELF, weather=replace(series, rain=rain)
        )
        wet = {TODAY + timedelta(days=n) for n in (2, 3, 4)}
        now = [one for one in self.rounds(loaded) if one.standing == "due"]

        assert now
        assert all(one.window.best not in wet for one in now)

    def test_a_product_without_nitrogen_given_is_no_round(self, tmp_path: Path):
        potash = (
            'done = [{ date = 2026-11-20, job = "feed", product = "potash", amount = "100 g" }]\n'
        )
        with_it = self.rounds(
            opened(tmp_path, tree("kumquat", pot="45 L", more=potash), head=SHELF)
        )
        without = self.rounds(opened(tmp_path, tree("kumquat", pot="45 L"), head=SHELF))

        assert [one.id for one in with_it] == [one.id for one in without]

    def test_controlled_release_alone_stands_for_its_months(self, tmp_path: Path):
        prills = '[[product]]\nid = "p"\nname = "prills"\nlabel = "15-8-12"\nrelease = "controlled release"\n'
        rounds = self.rounds(opened(tmp_path, tree("kumquat", pot="45 L"), head=prills))
        ahead = [one for one in rounds if one.window.best >= TODAY]

        assert len(ahead) <= 3
        assert all(one.details["months"] > 3 for one in ahead)

    @pytest.mark.parametrize("pot", ["2 L", "5 L", "45 L"])
    def test_a_pot_is_not_given_more_than_its_share_by_rounding(self, pot: str, tmp_path: Path):
        loaded = opened(tmp_path, tree("calamondin", pot=pot), head=SHELF)
        need = loaded.schedule.trees["one"].need
        given = sum(one.details["n_g"] for one in self.rounds(loaded) if one.window.best >= TODAY)
        freed = 0.65

        assert given * freed <= 1.35 * (need.nitrogen.high or need.nitrogen.value)

    def test_the_late_season_question_can_be_answered_the_other_way(self, tmp_path: Path):
        stop = '[feeding]\nlate_rounds = "stop before frost"\n'
        even = self.rounds(opened(tmp_path, tree("satsuma"), head=SHELF, place="cold"))
        stopped = self.rounds(opened(tmp_path, tree("satsuma"), head=stop + SHELF, place="cold"))
        cold = [one for one in stopped if one.window.best.month in (11, 12, 1, 2)]

        assert [one for one in even if one.window.best.month in (11, 12, 1, 2)]
        assert cold == []

    def test_autumn_planting_waits_for_growth(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("hass", years=0.1), head=SHELF)

        assert all(one.window.earliest >= date(2027, 3, 1) for one in self.rounds(loaded))
