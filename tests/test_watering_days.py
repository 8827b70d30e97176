"""Watering on days that are open, water that is short told truly, and rain that nobody knows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.reasons import Phrase
from gardens import opened, tree, weather_of
from test_watering import RULE, SUMMER, dry, named, plan

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def water_of(loaded: api.LoadedGarden, name: str = "one") -> list[api.Advice]:
    return [one for one in loaded.advice(loaded.garden.tree(name)) if one.kind == "water"]


def said(advice: api.Advice) -> str:
    return " | ".join(str(one.text) for one in advice.remarks)


# ---------------------------------------------------------------- open days


@pytest.mark.parametrize("shut", [*combinations(range(7), 1), *combinations(range(7), 3)])
def test_a_watering_begins_is_best_and_ends_on_open_days(shut: tuple[int, ...], tmp_path: Path):
    """Whatever days of the week a rule closes; 10 August 2026 is a Monday."""
    names = ", ".join(f'"{WEEKDAYS[number]}"' for number in shut)
    head = RULE.format(days=names, more="")
    trees = named(tree("calamondin", pot="45 L", today=SUMMER), "pot") + tree("navel", today=SUMMER)
    loaded = opened(tmp_path, trees, today=SUMMER, head=head, weather=dry())
    for name in ("one", "pot"):
        advice = water_of(loaded, name)
        assert advice
        window = advice[0].window
        days = [
            window.earliest + timedelta(days=n)
            for n in range((window.latest - window.earliest).days + 1)
        ]
        assert window.best in days
        assert not [day for day in days if day.weekday() in shut]


def test_a_round_put_off_by_a_rule_is_told_on_its_open_day(tmp_path: Path):
    head = RULE.format(days='"monday", "tuesday"', more="")
    loaded = opened(tmp_path, tree("navel", today=SUMMER), today=SUMMER, head=head, weather=dry())
    advice = water_of(loaded)[0]

    assert advice.window.best == date(2026, 8, 12)
    assert advice.standing != "blocked"
    assert "Put off" in said(advice)


def dates_in(text: Phrase) -> list[date]:
    """Every date of a phrase, of those within it too, in their order."""
    found = []
    for value in text.values.values():
        found += dates_in(value) if isinstance(value, Phrase) else [value]
    return [value for value in found if isinstance(value, date)]


def test_a_long_run_is_spread_over_open_days(tmp_path: Path):
    head = RULE.format(days='"tuesday", "thursday", "saturday"', more="")
    head += '[watering]\ndrip = { emitters = 1, flow = "8 L/h" }\n'
    loaded = opened(tmp_path, tree("navel", today=SUMMER), today=SUMMER, head=head, weather=dry())
    advice = water_of(loaded)[0]
    long = next(one for one in advice.remarks if "long run" in one.text)
    days = dates_in(long)

    assert len(days) >= 2 and days[0] == advice.window.best
    assert not [day for day in days if day.weekday() in (1, 3, 5)]


# ---------------------------------------------------------------- scarce water


@pytest.mark.parametrize("most", ["300 L", "450 L", "700 L", "900 L"])
def test_what_is_short_is_what_it_would_get_less_what_it_gets(most: str, tmp_path: Path):
    """The full want is that of the same garden with water for all; nothing is counted twice."""
    trees = named(tree("peach", today=SUMMER), "peach") + named(tree("hass", today=SUMMER), "grown")
    found = {}
    for budget in (most, "90000 L"):
        folder = tmp_path / budget.replace(" ", "")
        folder.mkdir()
        head = f'[watering]\nmost_a_week = "{budget}"\n'
        found[budget] = opened(folder, trees, today=SUMMER, head=head, weather=dry())
    for name in ("peach", "grown"):
        got, full = plan(found[most], name), plan(found["90000 L"], name)
        assert full.denied == 0 and full.denied_on is None
        assert got.denied == pytest.approx(max(full.litres - got.litres, 0.0), abs=1e-6)
        for advice in water_of(found[most], name):
            short = [one for one in advice.remarks if "Water is short" in one.text]
            assert bool(short) == (round(got.denied) > 0)
            for one in short:
                values = {key: value.value for key, value in one.values.items()}  # type: ignore[union-attr]
                if "given" in values:
                    assert values["wish"] - values["given"] == pytest.approx(values["less"])
                assert values["wish"] == api.tidy(full.litres)


def test_a_tree_left_out_this_week_is_told_so_and_not_that_a_rule_holds_it(tmp_path: Path):
    head = RULE.format(days='"monday"', more="") + '[watering]\nmost_a_week = "30 L"\n'
    loaded = opened(tmp_path, tree("navel", today=SUMMER), today=SUMMER, head=head, weather=dry())
    advice = water_of(loaded)[0]

    assert advice.headline.text == "No water left for it this week"
    assert advice.window.earliest.weekday() != 0 and advice.window.latest.weekday() != 0
    assert "it gets none" in said(advice)


# ---------------------------------------------------------------- unknown rain

WINTER = date(2026, 12, 20)


@pytest.mark.parametrize("pot", ["", "45 L"])
def test_unknown_rain_asks_for_a_feel_of_the_soil_and_no_dose(pot: str, tmp_path: Path):
    """A record without rain: nobody knows whether the winter has been wet."""
    series = weather_of("mild", WINTER)
    blind = replace(series, rain=np.full(len(series), np.nan))
    kind = tree("calamondin" if pot else "olive", today=WINTER, pot=pot)
    loaded = opened(tmp_path, kind, today=WINTER, weather=blind)
    advice = water_of(loaded)[0]

    assert advice.headline.text.startswith("Feel the soil")
    assert advice.quantity is not None and advice.quantity.low == 0
    assert advice.steps[0].text.startswith("First put a finger")
    assert advice.display is not None and advice.display.text.startswith("at most")
    assert "Rain of the last {days} is unknown" in said(advice)


def test_a_dry_season_is_watered_by_the_account_though_rain_is_unknown(tmp_path: Path):
    """Usual rain is known and small: a month without a record of rain changes little."""
    series = dry()
    fall = np.array(series.rain)
    fall[-40:] = np.nan
    loaded = opened(
        tmp_path, tree("navel", today=SUMMER), today=SUMMER, weather=replace(series, rain=fall)
    )
    advice = water_of(loaded)[0]

    assert plan(loaded).state.rain_doubt is None
    assert advice.quantity is not None and advice.quantity.low > 0


def test_unknown_rain_in_the_wet_season_is_doubted_by_the_usual_rain(tmp_path: Path):
    series = weather_of("mild", WINTER)
    fall = np.array(series.rain)
    fall[-30:] = np.nan
    loaded = opened(
        tmp_path, tree("navel", today=WINTER), today=WINTER, weather=replace(series, rain=fall)
    )
    doubt = plan(loaded).state.rain_doubt

    assert doubt is not None and "usually bring" in doubt.text
    assert plan(opened_with_rain(tmp_path)).state.rain_doubt is None


def opened_with_rain(folder: Path) -> api.LoadedGarden:
    (folder / "known").mkdir()
    return opened(folder / "known", tree("navel", today=WINTER), today=WINTER)
