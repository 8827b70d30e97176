"""Cuts and frost: no main cut into nights that hurt its shoots, by normals, by record and by forecast."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.api import pruning_year
from bearwell.plan.advice import Advice
from bearwell.plan.frost import first_frost, hurt_chance, last_frost
from bearwell.plan.prune import plan_prune
from bearwell.plan.view import View
from bearwell.weather.generator import generate
from bearwell.weather.normals import monthly_normals
from bearwell.weather.series import DailySeries
from gardens import TODAY, opened, tree
from records import sample

COOL = {"tmin": (4, 5, 6, 8, 11, 14, 16, 16, 14, 11, 7, 5),
        "tmax": (14, 15, 17, 18, 20, 24, 26, 26, 25, 21, 17, 15)}  # fmt: skip
COLDER = {"tmin": (0, 1, 3, 6, 9, 12, 14, 14, 11, 8, 4, 1),
          "tmax": (9, 10, 14, 17, 21, 25, 28, 28, 24, 19, 12, 9)}  # fmt: skip
WARM = {"tmin": (17, 17, 18, 19, 21, 23, 24, 24, 23, 21, 19, 18),
        "tmax": (24, 25, 26, 27, 29, 31, 32, 32, 31, 29, 27, 25)}  # fmt: skip


def by_normals(folder: Path, kind: str, place: dict[str, tuple[int, ...]]) -> api.LoadedGarden:
    lists = {key: " ".join(str(one) for one in values) for key, values in place.items()}
    head = "".join(f'{key} = "{values} degC"\n' for key, values in lists.items())
    return opened(folder, tree(kind), place="", head=f"[weather.normals]\n{head}")


def view_of(loaded: api.LoadedGarden) -> View:
    return loaded.view(loaded.garden.tree("one"))


def cuts(loaded: api.LoadedGarden) -> list[Advice]:
    return sorted(plan_prune(view_of(loaded)), key=lambda one: one.window.best)


def said(cut: Advice) -> str:
    return " ".join(remark.text for remark in cut.remarks)


def forecast(end: date, nights: dict[date, float]) -> DailySeries:
    """Seeded weather of a mild place to ``end`` with some nights made colder."""
    lows = [9, 9, 10, 11, 13, 15, 17, 17, 15, 13, 11, 9]
    made = monthly_normals(lows, [one + 8 for one in lows], [60] * 12)
    series = generate(made, date(end.year - 11, 1, 1), end, np.random.default_rng(5))
    low = series.tmin.copy()
    for day, value in nights.items():
        low[series.index(day)] = value
    object.__setattr__(series, "tmin", low)
    return series


class TestNormals:
    """Monthly means hide the coldest nights: with a mean minimum of 4 degC nights still freeze."""

    @pytest.mark.parametrize("kind", ["hass", "satsuma", "lemon", "loquat"])
    @pytest.mark.parametrize("place", [COOL, COLDER], ids=["cool", "colder"])
    def test_no_main_cut_is_due_in_the_months_that_freeze(
        self, kind: str, place: dict[str, tuple[int, ...]], tmp_path: Path
    ) -> None:
        loaded = by_normals(tmp_path, kind, place)
        for one in cuts(loaded):
            month = one.window.best.month
            assert place["tmin"][month - 1] > 4, one.window
            assert place["tmin"][one.window.earliest.month - 1] > 4, one.window

    def test_what_frost_is_judged_by_is_told(self, tmp_path: Path) -> None:
        (one,) = cuts(by_normals(tmp_path, "hass", COOL))

        assert any("judged from monthly normals" in link.statement.text for link in one.because)
        assert any("shoots harden" in str(link.statement.values) for link in one.because)
        assert "Frost may follow" in said(one)

    def test_a_place_without_frost_keeps_its_whole_window(self, tmp_path: Path) -> None:
        loaded = by_normals(tmp_path, "hass", WARM)
        view = view_of(loaded)

        assert last_frost(view, 2027) is None
        assert first_frost(view, 2027) is None
        assert not any("Frost" in said(one) or "frost" in said(one) for one in cuts(loaded))

    def test_the_colder_the_normals_the_likelier_the_frost(self, tmp_path: Path) -> None:
        chances = []
        for name, place in (("warm", WARM), ("cool", COOL), ("colder", COLDER)):
            (tmp_path / name).mkdir()
            found = hurt_chance(view_of(by_normals(tmp_path / name, "hass", place)), TODAY, 300)
            assert found is not None
            chances.append(found)

        assert (chances[0] <= chances[1]).all()
        assert (chances[1] <= chances[2]).all()
        assert chances[0].max() < 0.05
        assert chances[2].max() > 0.95

    def test_no_weather_at_all_is_told(self, tmp_path: Path) -> None:
        found = cuts(opened(tmp_path, tree("hass"), place=""))

        assert found
        assert all("Nothing is known of the frost here" in said(one) for one in found)


class TestRecord:
    def test_in_florida_an_avocado_is_not_cut_into_the_winter(self, tmp_path: Path) -> None:
        """Daily record of Gainesville, Florida (GHCN USW00012816): its first frost falls in November."""
        path = sample("weather", "gainesville_fl_USW00012816_1984-2009.csv")
        day = date(2009, 12, 31)
        head = f'[weather]\ndaily = ["{path}"]\n'
        loaded = opened(
            tmp_path, tree("hass", today=day, years=3.7), place="", head=head, today=day
        )
        for one in cuts(loaded):
            assert 4 <= one.window.earliest.month <= one.window.latest.month <= 10
            assert one.window.earliest > day

    @pytest.mark.parametrize("name", ["gainesville_fl_USW00012816_1984-2009.csv",
                                      "sevilla_aemet_1950-2024.csv"])  # fmt: skip
    def test_normals_do_not_call_winter_safe_where_the_record_does_not(
        self, name: str, tmp_path: Path
    ) -> None:
        """The rule for normals against what the same place's record says, in its coldest weeks."""
        path = sample("weather", name)
        day, found = date(2009, 12, 20), {}
        record = opened(
            tmp_path, tree("hass", today=day), place="", today=day,
            head=f'[weather]\ndaily = ["{path}"]\n',
        )  # fmt: skip
        climate = view_of(record).site.climate
        assert climate is not None
        months = [slice(30 * k, 30 * k + 30) for k in range(12)]
        place = {
            key: tuple(round(float(curve[m].mean())) for m in months)
            for key, curve in (("tmin", climate.tmin), ("tmax", climate.tmax))
        }
        (tmp_path / "normals").mkdir()
        for key, loaded in (
            ("record", record),
            ("normals", by_normals(tmp_path / "normals", "hass", place)),
        ):
            chance = hurt_chance(view_of(loaded), day, 14)
            assert chance is not None
            found[key] = float(chance.mean())

        assert found["normals"] == pytest.approx(found["record"], abs=0.35)
        assert found["normals"] > 0.2


class TestForecast:
    def open_cut(self, folder: Path, nights: dict[date, float], today: date) -> Advice:
        series = forecast(today + timedelta(days=6), nights)
        loaded = opened(folder, tree("satsuma", today=today), today=today, weather=series)
        return next(one for one in cuts(loaded) if one.window.latest >= today)

    def test_a_cut_waits_until_the_forecast_night_is_over(self, tmp_path: Path) -> None:
        today = date(2027, 2, 10)
        for name in ("mild", "cold"):
            (tmp_path / name).mkdir()
        free = self.open_cut(tmp_path / "mild", {}, today)
        assert free.window.earliest <= today <= free.window.latest
        cold = today + timedelta(days=2)
        held = self.open_cut(tmp_path / "cold", {cold: -6.0}, today)

        assert held.window.earliest > cold
        assert held.window.best > cold
        assert held.standing_on(today).standing == "coming"
        assert "Held back until" in said(held)
        assert held.details["held_until"] == held.window.earliest.isoformat()

    def test_a_window_that_closes_before_the_cold_is_over_is_blocked(self, tmp_path: Path) -> None:
        today = date(2027, 2, 10)
        (tmp_path / "free").mkdir()
        window = self.open_cut(tmp_path / "free", {}, today).window
        today = window.latest - timedelta(days=1)
        (tmp_path / "cold").mkdir()
        nights = {today + timedelta(days=step): -6.0 for step in (1, 2, 3)}
        held = self.open_cut(tmp_path / "cold", nights, today)

        assert held.standing_on(today).standing == "blocked"
        assert "Leave it uncut this time" in said(held)

    def test_no_cut_is_open_while_the_tree_is_to_be_protected(self, tmp_path: Path) -> None:
        today = date(2027, 2, 10)
        series = forecast(today + timedelta(days=6), {today + timedelta(days=1): -5.0})
        loaded = opened(tmp_path, tree("satsuma", today=today), today=today, weather=series)
        listed = loaded.advice(loaded.garden.tree("one"))

        assert any(one.kind == "protect" and one.standing == "due" for one in listed)
        assert not any(one.kind == "prune" and one.standing == "due" for one in listed)


class TestDoubt:
    def test_a_best_day_before_frost_is_told_as_doubtful_and_only_light(
        self, tmp_path: Path
    ) -> None:
        loaded = by_normals(tmp_path, "hass", {
            "tmin": (-3, -2, 1, 3, 6, 10, 12, 12, 9, 5, 1, -2),
            "tmax": (9, 10, 14, 17, 21, 25, 28, 28, 24, 19, 12, 9),
        })  # fmt: skip
        year = pruning_year(loaded, "one")
        assert year.cut is not None
        best = year.cut.window.best

        assert year.scores.at(best) < 0.5
        assert "A doubtful day" in said(year.cut)
        assert not year.cut.details["heavy"]
        assert year.cut.details["share"] <= 0.12

    def test_the_chance_that_bloom_has_closed_it_is_the_one_told(self, tmp_path: Path) -> None:
        """Where the best day itself is at risk, its own chance is told, not one year of ten."""
        path = sample("weather", "gainesville_fl_USW00012816_1984-2009.csv")
        day = date(2009, 12, 31)
        head = f'[weather]\ndaily = ["{path}"]\n'
        loaded = opened(tmp_path, tree("satsuma", today=day), place="", head=head, today=day)
        year = pruning_year(loaded, "one")
        assert year.cut is not None
        assert year.closes == year.cut.window.best

        assert year.chance_closed == pytest.approx(year.scores.chance_closed(year.closes))
        assert year.chance_closed > 0.15
