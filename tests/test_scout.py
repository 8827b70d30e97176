"""Looking round: what a record clears, and which looks a tree and a place call for."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from bearwell.plan.advice import Advice
from bearwell.plan.scout import plan_scout
from bearwell.weather.generator import generate
from bearwell.weather.normals import monthly_normals
from bearwell.weather.series import DailySeries
from gardens import opened, tree


def looks(folder: Path, trees: str, today: date, **rest: object) -> dict[str, Advice]:
    folder.mkdir(exist_ok=True)
    loaded = opened(folder, trees, today=today, **rest)
    found = plan_scout(loaded.view(loaded.garden.tree("one")))
    return {one.details["inspection"]: one for one in found if one.kind == "inspect"}


def over_the_year(folder: Path, kind: str, **rest: object) -> set[str]:
    """Every look of a year, without weather unless it is given."""
    rest = {"place": None, **rest}
    more = {key: rest.pop(key) for key in ("years", "pot", "more") if key in rest}
    found: set[str] = set()
    for month in range(1, 13, 2):  # looks are told up to 60 days ahead
        today = date(2026, month, 10)
        found |= set(
            looks(folder / str(month), tree(kind, today=today, **more), today, **rest)  # type: ignore[arg-type]
        )
    return found


def warm_place(end: date) -> DailySeries:
    made = monthly_normals([15] * 12, [26] * 12, [60] * 12)
    return generate(made, date(end.year - 6, 1, 1), end, np.random.default_rng(3))


class TestRecords:
    TODAY = date(2026, 5, 12)

    def open_after(self, folder: Path, record: str) -> set[str]:
        more = f'done = [{{ date = 2026-05-10, job = "inspect"{record} }}]\n'
        return set(looks(folder, tree("satsuma", today=self.TODAY, more=more), self.TODAY))

    def test_a_record_clears_the_look_it_names_and_no_other(self, tmp_path: Path):
        before = set(looks(tmp_path / "a", tree("satsuma", today=self.TODAY), self.TODAY))
        key = "shoots below the union, spring"
        after = self.open_after(tmp_path / "b", f', look = "{key}"')

        assert len(before) > 2
        assert before - after == {key}

    def test_a_record_that_names_none_clears_none(self, tmp_path: Path):
        before = set(looks(tmp_path / "a", tree("satsuma", today=self.TODAY), self.TODAY))

        assert self.open_after(tmp_path / "b", "") == before


class TestWhoIsLookedAt:
    @pytest.fixture(scope="class")
    def folder(self, tmp_path_factory: pytest.TempPathFactory) -> Path:
        return tmp_path_factory.mktemp("looks")

    @pytest.mark.parametrize(
        ("kind", "curls"),
        [("peach", True), ("nectarine", True), ("sweet-cherry", False), ("japanese-plum", False)],
    )
    def test_leaf_curl_is_for_peach_and_nectarine(self, kind: str, curls: bool, tmp_path: Path):
        found = over_the_year(tmp_path, kind)

        assert ({"leaf curl, autumn", "leaf curl, late winter"} <= found) is curls

    def test_frost_looks_only_where_it_freezes(self, tmp_path: Path):
        (tmp_path / "warm").mkdir()
        (tmp_path / "cold").mkdir()
        frosty = {"buds after frost", "covers ready", "after the cold"}
        warm = over_the_year(tmp_path / "warm", "apple", weather=warm_place(date(2026, 12, 31)))
        cold = over_the_year(tmp_path / "cold", "apple", place="cold")

        assert frosty & warm == set()
        assert "buds after frost" in cold

    def test_without_weather_frost_is_supposed(self, tmp_path: Path):
        assert "covers ready" in over_the_year(tmp_path, "satsuma", place=None)

    @pytest.mark.parametrize(("years", "loaded"), [(1.0, False), (9.0, True)])
    def test_trees_that_bear_nothing_have_no_loaded_branches(
        self, years: float, loaded: bool, tmp_path: Path
    ):
        found = over_the_year(tmp_path, "apple", years=years)

        assert ("loaded branches" in found) is loaded
        assert ("fruit count" in found) is loaded

    @pytest.mark.parametrize(("years", "told"), [(1.3, True), (3.2, False), (9.0, False)])
    def test_first_fruit_is_taken_off_young_trees_only(
        self, years: float, told: bool, tmp_path: Path
    ):
        assert ("flowers on a new tree" in over_the_year(tmp_path, "satsuma", years=years)) is told

    @pytest.mark.parametrize(
        ("kind", "more", "told"),
        [
            ("satsuma", "", True),
            ("apple", "", True),
            ("apple", 'rootstock = "M26"\n', True),
            ("satsuma", 'rootstock = "own roots"\n', False),
            ("rabbiteye", "", False),
            ("fig", "", False),
            ("olive", "", False),
            ("olive", "grafted = 2020-04-01\n", True),
        ],
    )
    def test_shoots_below_the_union_where_there_is_one(
        self, kind: str, more: str, told: bool, tmp_path: Path
    ):
        found = over_the_year(tmp_path, kind, more=more)

        assert ("shoots below the union, spring" in found) is told


class TestChill:
    @pytest.mark.parametrize(
        ("southern", "months", "today"),
        [
            (False, "November to February", date(2026, 2, 1)),
            (True, "May to August", date(2026, 8, 1)),
        ],
    )
    def test_the_months_are_those_of_the_hemisphere(
        self, southern: bool, months: str, today: date, tmp_path: Path
    ):
        series = warm_place(today)
        found = looks(
            tmp_path, tree("apple", today=today), today, southern=southern, weather=series
        )

        assert [link.locator for link in found["chill"].because if link.unit == "CP"][-1] == months
