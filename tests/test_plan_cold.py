"""Cold nights ahead: spells, the limit that is used, and how long fruit stands it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.plan.advice import Advice
from bearwell.plan.cold import plan_cold
from gardens import TODAY, opened, tree, weather_of


def forecast(
    folder: Path,
    trees: str,
    lows: list[float],
    *,
    swing: float = 8.0,
    today: date = TODAY,
    history: float | None = None,
) -> api.LoadedGarden:
    """A garden whose next nights are these, with days warmer by ``swing``."""
    series = weather_of("mild", TODAY + timedelta(days=7))
    tmin, tmax = np.array(series.tmin), np.array(series.tmax)
    if history is not None:
        tmin[-100:-7], tmax[-100:-7] = history - 4, history + 4
    tmin[-7:] = 8.0
    tmin[-7 : len(tmin) - 7 + len(lows)] = lows
    tmax[-8:] = tmin[-8:] + swing
    tmax[-8] = tmin[-7] + swing
    return opened(
        folder, trees, today=today, weather=replace(series, tmin=tmin, tmax=np.maximum(tmax, tmin))
    )


def protection(loaded: api.LoadedGarden) -> list[Advice]:
    return plan_cold(loaded.view(loaded.garden.tree("one")))


def words(advice: Advice) -> str:
    return " | ".join(link.statement.text for link in advice.because)


TWO_SPELLS = [2.0, -3.0, 5.0, 6.0, 6.0, -3.5, 7.0]


class TestSpells:
    def test_an_earlier_hurtful_night_is_protected_too(self, tmp_path: Path):
        advice = protection(forecast(tmp_path, tree("persian-lime"), TWO_SPELLS))

        nights = [one.details["night"] for one in advice]
        assert nights == [
            (TODAY + timedelta(days=2)).isoformat(),
            (TODAY + timedelta(days=6)).isoformat(),
        ]
        assert [one.window.latest for one in advice] == [
            TODAY + timedelta(days=1),
            TODAY + timedelta(days=5),
        ]
        assert len({one.id for one in advice}) == 2

    def test_nights_in_a_row_are_one_spell_named_by_its_coldest(self, tmp_path: Path):
        lows = [8.0, 8.0, -3.0, -6.0, -2.5, 8.0, 8.0]
        (one,) = protection(forecast(tmp_path, tree("persian-lime"), lows))

        assert one.window.latest == TODAY + timedelta(days=2)
        assert one.window.earliest == TODAY + timedelta(days=1)
        assert one.details["night"] == (TODAY + timedelta(days=4)).isoformat()
        assert one.display is not None and one.display.values["count"] == 3
        assert one.display.values["night"] == TODAY + timedelta(days=4)

    def test_a_spell_keeps_its_name_from_day_to_day(self, tmp_path: Path):
        lows = [8.0, -4.0, -6.0, -5.0, 8.0, 8.0, 8.0]
        names = set()
        for day in range(3):
            today = TODAY + timedelta(days=day)
            folder = tmp_path / str(day)
            folder.mkdir()
            names |= {
                one.id
                for one in protection(forecast(folder, tree("persian-lime"), lows, today=today))
            }

        assert len(names) == 1

    def test_a_mild_week_asks_for_nothing(self, tmp_path: Path):
        assert protection(forecast(tmp_path, tree("navel"), [8.0] * 7)) == []


class TestLimitUsed:
    @pytest.mark.parametrize("years", [1.5, 9])
    def test_the_chain_states_the_limit_the_display_uses(self, years: float, tmp_path: Path):
        (one,) = protection(
            forecast(
                tmp_path, tree("persian-lime", years=years), [8.0, -5.0, 8.0, 8.0, 8.0, 8.0, 8.0]
            )
        )

        assert one.display is not None
        shown = one.display.values["limit"]
        stated = [
            link.statement.values["limit"]
            for link in one.because
            if link.statement.text == "so {limit} for this tree today"
        ]
        assert stated == [shown]

    def test_half_hardened_leaves_show_both_ends_and_the_state(self, tmp_path: Path):
        (one,) = protection(
            forecast(
                tmp_path,
                tree("satsuma", years=1.2),
                [8.0, -9.0, 8.0, 8.0, 8.0, 8.0, 8.0],
                history=10.5,
            )
        )

        assert "when soft" in words(one) and "when fully hardened" in words(one)
        assert "{share} % of the way" in words(one)

    def test_a_tree_that_keeps_no_fruit_has_none_to_protect(self, tmp_path: Path):
        lows = [8.0, -5.0, 8.0, 8.0, 8.0, 8.0, 8.0]
        young, grown = tmp_path / "young", tmp_path / "grown"
        young.mkdir()
        grown.mkdir()
        first = protection(forecast(young, tree("navel", years=1.5), lows))[0]
        second = protection(forecast(grown, tree("navel"), lows))[0]

        assert "fruit" not in first.details["limits"]
        assert not any("ripe" in step.text for step in first.steps)
        assert "fruit" in second.details["limits"]

    def test_ripe_persimmons_are_called_fruit(self, tmp_path: Path):
        seen = (
            "observed = ["
            + ", ".join(
                f"{{ event = 'harvest start', date = {year}-11-20 }}, {{ event = 'harvest end', date = {year}-12-10 }}"
                for year in range(2021, 2026)
            )
            + "]\n"
        )
        advice = protection(
            forecast(tmp_path, tree("persimmon", more=seen), [8.0, -4.5, 8.0, 8.0, 8.0, 8.0, 8.0])
        )

        assert "fruit" in advice[0].details["limits"]
        assert "young fruit" not in advice[0].details["limits"]


class TestHours:
    """Oranges are harmed at 28 degF (-2.2 degC) for four hours or more: UF/IFAS CH182."""

    def chance(self, folder: Path, swing: float) -> Advice | None:
        folder.mkdir()
        advice = protection(
            forecast(
                folder,
                tree("navel"),
                [8.0, -3.2, 8.0, 8.0, 8.0, 8.0, 8.0],
                swing=swing,
                history=8.0,
            )
        )
        return next(iter(advice), None)

    def test_a_short_dip_hurts_fruit_less_than_a_long_night(self, tmp_path: Path):
        def fruit(one: Advice | None) -> float:
            if one is None:
                return 0.0
            assert one.display is not None and one.display.values["organ"] == "fruit"
            return float(one.details["chance"])

        short = fruit(self.chance(tmp_path / "short", swing=22.0))
        long = fruit(self.chance(tmp_path / "long", swing=2.0))

        assert long > short + 0.2

    def test_the_hours_are_told(self, tmp_path: Path):
        one = self.chance(tmp_path / "told", swing=4.0)

        assert one is not None
        link = next(link for link in one.because if "hours" in link.statement.values)
        assert link.source == "uf-ch182"


class TestOdds:
    def test_without_a_forecast_past_winters_are_asked(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("persian-lime"), today=date(2026, 1, 10))
        advice = protection(loaded)

        assert [one.details["winters"] >= 3 for one in advice] == [True] * len(advice)
        assert all("so {limit} for this tree today" in words(one) for one in advice)

    def test_citrus_is_told_about_quarantine_with_its_protection(self, tmp_path: Path):
        pot = protection(
            forecast(
                tmp_path, tree("persian-lime", pot="40 L"), [8.0, -5.0, 8.0, 8.0, 8.0, 8.0, 8.0]
            )
        )

        assert any("quarantine" in caution for caution in pot[0].cautions)
