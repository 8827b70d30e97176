"""Cuts: what an earlier cut leaves, young trees, light rounds, sun, rain and the words of the reasons."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.plan.advice import Advice
from bearwell.plan.prune import plan_prune
from bearwell.reasons import Phrase
from bearwell.weather.generator import generate
from bearwell.weather.normals import monthly_normals
from bearwell.weather.series import DailySeries
from gardens import MILD, TODAY, opened, tree


def cuts(loaded: api.LoadedGarden) -> list[Advice]:
    return sorted(
        plan_prune(loaded.view(loaded.garden.tree("one"))), key=lambda one: one.window.best
    )


def done(day: date) -> str:
    return f'done = [{{ date = {day}, job = "prune" }}]\n'


def picked_late(kind_bloom: str, picked: str) -> str:
    """Own dates of a tree whose harvest ends shortly before it blooms."""
    seen = ", ".join(
        f'{{ event = "full bloom", date = {year}-{kind_bloom} }}, '
        f'{{ event = "harvest end", date = {year}-{picked} }}'
        for year in range(2021, 2027)
    )
    return f"observed = [{seen}]\n"


def hot_place(end: date) -> DailySeries:
    """Made-up weather of a place with scorching summers and wet winters."""
    warm = [4, 5, 7, 9, 13, 18, 21, 21, 17, 12, 7, 5]
    highs = [14, 16, 20, 23, 28, 34, 37, 37, 32, 25, 18, 14]
    made = monthly_normals(warm, highs, MILD["rain"])
    return generate(made, date(end.year - 11, 1, 1), end, np.random.default_rng(7))


class TestCutBefore:
    def test_a_cut_within_the_year_leaves_light_work_and_says_so(self, tmp_path: Path):
        """A cut ten months before the window counts, though it is long past today."""
        today = date(2027, 5, 1)
        cut = date(2026, 7, 1)
        (one,) = [
            one
            for one in cuts(
                opened(tmp_path, tree("loquat", today=today, more=done(cut)), today=today)
            )
            if one.window.best.year == 2027 and one.window.best.month < 9
        ]

        assert one.details["heavy"] is False
        assert one.details["share"] <= 0.12
        assert one.headline.values == {"day": cut}
        assert "light" in one.headline.text.lower()

    def test_the_cut_of_last_winter_does_not_make_the_next_one_light(self, tmp_path: Path):
        today = date(2026, 5, 1)
        loaded = opened(
            tmp_path, tree("olive", today=today, more=done(date(2026, 2, 20))), today=today
        )
        following = [one for one in cuts(loaded) if one.window.best.year == 2027]

        assert [one.details["heavy"] for one in following] == [True]
        assert following[0].details["share"] > 0.12

    def test_dates_are_values_not_text(self, tmp_path: Path):
        """The garden's faces say dates in the grower's own form."""
        cut = TODAY - timedelta(days=60)
        one = cuts(opened(tmp_path, tree("satsuma", more=done(cut))))[0]
        link = next(link for link in one.because if "It was cut on" in link.statement.text)

        assert cut in link.statement.values.values()
        assert not any(
            isinstance(value, str) and "2026" in value for value in link.statement.values.values()
        )


class TestYoung:
    @pytest.mark.parametrize("kind", ["satsuma", "olive", "lemon", "apple", "apricot", "loquat"])
    def test_a_tree_that_does_not_bear_is_shaped_lightly(self, kind: str, tmp_path: Path):
        found = cuts(opened(tmp_path, tree(kind, years=0.9)))

        assert found
        assert {one.headline.text for one in found} == {"Shape it lightly"}
        assert not any(one.details["heavy"] for one in found)

    def test_an_avocado_that_does_not_bear_is_left_alone(self, tmp_path: Path):
        assert cuts(opened(tmp_path, tree("hass", years=1.0))) == []

    def test_an_avocado_that_bears_is_cut(self, tmp_path: Path):
        assert cuts(opened(tmp_path, tree("hass")))


class TestLightRounds:
    def test_a_tree_that_carries_its_fruit_through_spring_has_no_round_then(self, tmp_path: Path):
        """Loquat flowers in autumn and ripens at the shoot ends in spring; hard-pressed gap, no main cut."""
        more = picked_late("10-25", "08-30")
        loaded = opened(tmp_path, tree("loquat", more=more))
        found = cuts(loaded)

        assert found
        assert all("light" in one.id for one in found)
        assert {one.id.split("/")[2] for one in found} == {"light-after-harvest"}

    @pytest.mark.parametrize("bloom", ["03-20", "04-10", "04-28", "05-15"])
    def test_light_rounds_of_the_warm_season_lie_45_days_apart(self, bloom: str, tmp_path: Path):
        picked = f"{int(bloom[:2]) - 1:02d}-20"
        found = cuts(opened(tmp_path, tree("navel", more=picked_late(bloom, picked))))
        warm = [one.window.best for one in found if "summer" in one.id or "autumn" in one.id]

        assert warm
        assert all((later - sooner).days >= 45 for sooner, later in pairwise(warm))

    def test_no_light_cut_in_the_hottest_weeks(self, tmp_path: Path):
        series = hot_place(TODAY)
        loaded = opened(tmp_path, tree("navel", more=picked_late("04-10", "03-15")), weather=series)
        climate = loaded.view(loaded.garden.tree("one")).site.climate
        assert climate is not None
        found = [one for one in cuts(loaded) if not one.details["heavy"]]

        assert any("summer" in one.id for one in found)
        for one in found:
            hot = climate.tmax[one.window.best.timetuple().tm_yday - 1] > 30
            assert not hot or any("hottest" in remark.text for remark in one.remarks)

    def test_a_mild_summer_says_nothing_of_the_sun(self, tmp_path: Path):
        found = cuts(opened(tmp_path, tree("navel", more=picked_late("04-28", "03-10"))))

        assert found
        assert not any("hottest" in remark.text for one in found for remark in one.remarks)


class TestOlive:
    """UC IPM, Olive Knot: infection in autumn, winter and spring, through pruning wounds, with rain."""

    @pytest.mark.parametrize("southern", [False, True])
    def test_an_olive_is_cut_late_in_the_winter_off_its_wettest_months(
        self, southern: bool, tmp_path: Path
    ):
        loaded = opened(tmp_path, tree("olive"), southern=southern)
        climate = loaded.view(loaded.garden.tree("one")).site.climate
        assert climate is not None
        (one,) = [one for one in cuts(loaded) if one.window.best > TODAY]
        wettest = np.quantile(climate.rain, 0.75)
        window = one.window

        length = (window.latest - window.earliest).days
        assert (window.best - window.earliest).days >= 0.7 * length
        for step in range(length + 1):
            day = window.earliest + timedelta(days=step)
            assert climate.rain[day.timetuple().tm_yday - 1] <= wettest

    def test_olive_knot_is_told_with_its_source(self, tmp_path: Path):
        one = cuts(opened(tmp_path, tree("olive")))[0]

        assert any("olive knot" in remark.text for remark in one.remarks)
        assert any(link.source == "uc-ipm-olive-knot" for link in one.because)

    def test_no_other_kind_hears_of_olive_knot(self, tmp_path: Path):
        one = cuts(opened(tmp_path, tree("guava")))[0]

        assert not any("olive" in remark.text for remark in one.remarks)


class TestReasons:
    def short_reason(self, folder: Path, bloom: str, picked: str, kind: str) -> tuple[float, str]:
        folder.mkdir()
        found = cuts(opened(folder, tree(kind, more=picked_late(bloom, picked))))
        gap = next(link for link in found[0].because if "between them" in link.statement.text)
        text = " ".join(link.statement.text for link in found[0].because)
        assert isinstance(gap.value, int | float)
        return float(gap.value), text

    def test_a_gap_that_is_long_enough_is_not_called_too_short(self, tmp_path: Path):
        gap, text = self.short_reason(tmp_path / "a", "10-25", "07-05", "loquat")

        assert 84 <= gap < 120
        assert "Below {value}" not in text
        assert "does not fit" in text

    def test_a_short_gap_is(self, tmp_path: Path):
        gap, text = self.short_reason(tmp_path / "b", "04-28", "03-10", "navel")

        assert gap < 84
        assert "Below {value}" in text

    @pytest.mark.parametrize("kind", ["satsuma", "olive", "loquat", "apple", "apricot", "lemon"])
    def test_every_sentence_has_the_values_it_names(self, kind: str, tmp_path: Path):
        for one in cuts(opened(tmp_path, tree(kind, more=done(TODAY - timedelta(days=40))))):
            said: list[Phrase] = [one.headline, *one.steps, *one.remarks]
            said += [link.statement for link in one.because]
            for sentence in said:
                if sentence.values:
                    sentence.text.format(**dict.fromkeys(sentence.values, "x"))
