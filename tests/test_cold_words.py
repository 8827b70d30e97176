"""What is said of cold reads true: ranges in order, heights that were given, trunks that are young."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell import api
from bearwell.faces.web.pages.winter import odds, one_in
from gardens import opened, tree, weather_of

WINTER = date(2026, 1, 10)
FROST = '[cold]\nevenings = [{ date = 2026-01-10, t0 = "1 degC", td = "-8 degC", wind = "0.3 m/s", sky = "clear" }]\n'


@given(st.lists(st.floats(0.002, 1.0), min_size=3, max_size=3))
def test_a_range_of_odds_is_ordered_and_says_nothing_twice(three: list[float]) -> None:
    low, best, high = sorted(three)
    said = odds(api.Chance(best, low, high, 0, 30, 0.0))
    first, _, rest = said.partition(" (")
    assert first == one_in(best)
    if rest:
        ends = rest.rstrip(")").split(" to ")
        assert len(set(ends)) == len(ends)
        assert ends in ([one_in(low), one_in(high)], [one_in(high)])


def test_certain_loss_is_told_once() -> None:
    assert odds(api.Chance(1.0, 0.99, 1.0, 30, 30, 9.0)) == "every winter"
    assert (
        odds(api.Chance(0.7, 0.1, 0.9, 20, 30, 2.0))
        == "7 winters in ten (one in 10 to 9 winters in ten)"
    )


@pytest.mark.parametrize(("grafted", "banked"), [("", False), ("grafted = 2024-04-01\n", False)])
def test_an_old_trunk_with_a_young_top_is_not_banked(
    tmp_path: Path, grafted: str, *, banked: bool
) -> None:
    old = tree("clementine", years=20, more=grafted).replace("2.8 m", "1.8 m")
    loaded = opened(tmp_path, old, today=WINTER, place="cold", head=FROST)
    keys = {task.key for stop in api.tonight(loaded).plan.stops for task in stop.tasks}
    assert "one:cover" in keys
    assert ("one:bank" in keys) is banked


def test_a_young_trunk_is_banked(tmp_path: Path) -> None:
    young = tree("clementine", years=1).replace("2.8 m", "1.8 m")
    loaded = opened(tmp_path, young, today=WINTER, place="cold", head=FROST)
    keys = {task.key for stop in api.tonight(loaded).plan.stops for task in stop.tasks}
    assert "one:bank" in keys


def test_a_garden_without_a_height_is_not_told_it_lies_at_the_sea(tmp_path: Path) -> None:
    path = tmp_path / "garden.toml"
    opened(tmp_path, tree("lemon"), today=WINTER)
    text = path.read_text("utf-8").replace(
        "[weather]\n", '[weather]\nstation_elevation = "397 m"\n'
    )
    path.write_text(text, "utf-8")
    assert any("above the garden" in one.message for one in api.open_garden(path, WINTER).problems)
    path.write_text(text.replace('elevation = "40 m"\n', "", 1), "utf-8")
    assert not any(
        "above the garden" in one.message for one in api.open_garden(path, WINTER).problems
    )


def test_covers_are_not_laid_out_for_a_first_cold_that_is_here(tmp_path: Path) -> None:
    day = date(2026, 11, 20)
    (tmp_path / "mild").mkdir()
    (tmp_path / "cold").mkdir()
    head = FROST.replace("2026-01-10", str(day))
    series = weather_of("cold", day - timedelta(days=1))
    quiet = opened(tmp_path / "mild", tree("lemon"), today=day, weather=series)
    freezing = opened(tmp_path / "cold", tree("lemon"), today=day, weather=series, head=head)
    told, silent = (
        [one for one in api.worklist(loaded, 60).advice if "Lay out covers" in one.headline.text]
        for loaded in (quiet, freezing)
    )
    assert told
    assert not silent
