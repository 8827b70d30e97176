"""The demonstration garden: same bytes for a day, sound on any day, never over a grower's edits."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell.api import check_garden, open_garden, worklist, years
from bearwell.demo import write_demo
from bearwell.demo.weather import RAIN, TMAX, TMIN, invented_weather
from bearwell.errors import BadInput
from bearwell.faces.words import Words
from bearwell.garden import Garden

TODAY = date(2026, 11, 25)
ODD_DAYS = (
    date(2028, 2, 29),
    date(2027, 1, 1),
    date(2027, 12, 31),
    date(2026, 6, 30),
    date(2026, 7, 1),
)
MONTHS = tuple(date(year, month, 12) for year in (2026, 2027) for month in range(1, 13))

HALF_A_YEAR = timedelta(days=182)
_DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")


def _garden(folder: Path, today: date) -> Garden:
    return open_garden(write_demo(folder, today), today).garden


def _read_all(folder: Path) -> dict[str, bytes]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def _plan_everything(path: Path, today: date) -> int:
    """Work out and word every advice; how many there are."""
    opened, words = open_garden(path, today), Words("metric", today)
    told = 0
    for tree in opened.garden.trees:
        for one in opened.advice(tree):
            assert words.phrase(one.headline)
            for said in (one.display, one.changes, *one.steps, *one.remarks):
                words.phrase(said)
            for link in one.because:
                assert words.phrase(link.statement)
            assert one.window.earliest <= one.window.latest, one.id
            told += 1
    assert worklist(opened).advice
    return told


def test_a_day_gives_the_same_bytes(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two" / "deeper"
    path = write_demo(one, TODAY)
    write_demo(two, TODAY)
    assert path == one / "tern-steps.toml"
    assert set(_read_all(one)) == {"tern-steps.toml", "weather/tern-steps.csv"}
    assert _read_all(one) == _read_all(two)
    write_demo(one, TODAY)
    assert _read_all(one) == _read_all(two)


def test_it_says_that_it_is_invented_and_for_which_day(tmp_path: Path) -> None:
    head = write_demo(tmp_path, TODAY).read_text("utf-8").splitlines()[:8]
    assert "INVENTED" in head[0]
    assert any(TODAY.isoformat() in line for line in head)


@pytest.mark.parametrize("today", [TODAY, *ODD_DAYS])
def test_nothing_is_wrong_with_it(tmp_path: Path, today: date) -> None:
    found = check_garden(write_demo(tmp_path, today), today)
    assert [str(one) for one in found if one.severity != "note"] == []


def test_an_untouched_file_is_renewed(tmp_path: Path) -> None:
    write_demo(tmp_path, TODAY)
    later = TODAY + timedelta(days=400)
    path = write_demo(tmp_path, later)
    assert later.isoformat() in path.read_text("utf-8")
    assert [one for one in check_garden(path, later) if one.severity != "note"] == []


@pytest.mark.parametrize("name", ["tern-steps.toml", "weather/tern-steps.csv"])
def test_an_edited_file_is_left_alone(tmp_path: Path, name: str) -> None:
    write_demo(tmp_path, TODAY)
    edited = tmp_path / name
    edited.write_text(edited.read_text("utf-8").replace("2", "3", 1), "utf-8")
    before = _read_all(tmp_path)
    with pytest.raises(BadInput) as refused:
        write_demo(tmp_path, TODAY + timedelta(days=1))
    assert edited.name in refused.value.message
    assert refused.value.hint
    assert _read_all(tmp_path) == before


@pytest.mark.parametrize("text", ["", "bearwell = 1\n", "# Checksum: garden 0, weather 0\n"])
def test_somebody_elses_file_is_left_alone(tmp_path: Path, text: str) -> None:
    (tmp_path / "tern-steps.toml").write_text(text, "utf-8")
    with pytest.raises(BadInput):
        write_demo(tmp_path, TODAY)
    assert _read_all(tmp_path) == {"tern-steps.toml": text.encode()}


def test_an_added_last_line_is_an_edit(tmp_path: Path) -> None:
    path = write_demo(tmp_path, TODAY)
    with path.open("a", encoding="utf-8") as out:
        out.write("\n")
    with pytest.raises(BadInput):
        write_demo(tmp_path, TODAY)


def test_weather_left_by_a_stopped_run_is_taken_over(tmp_path: Path) -> None:
    write_demo(tmp_path, TODAY).unlink()
    later = TODAY + timedelta(days=30)
    found = check_garden(write_demo(tmp_path, later), later)
    assert [one for one in found if one.severity != "note"] == []


def test_weather_alone_that_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "weather" / "tern-steps.csv"
    target.parent.mkdir()
    target.write_text("date,tmin_c,tmax_c,rain_mm\n2026-01-01,5,12,0\n", "utf-8")
    with pytest.raises(BadInput):
        write_demo(tmp_path, TODAY)


@pytest.mark.parametrize("today", [date(1900, 1, 1), date(2250, 1, 1)])
def test_a_day_out_of_reach_is_refused(tmp_path: Path, today: date) -> None:
    with pytest.raises(BadInput):
        write_demo(tmp_path, today)
    assert _read_all(tmp_path) == {}


def test_between_them_the_trees_show_every_habit(tmp_path: Path) -> None:
    opened = open_garden(write_demo(tmp_path, TODAY), TODAY)
    told, book, trees = years(opened), opened.book, opened.garden.trees
    assert {one.habit for one in told} == {"evergreen", "deciduous", "ever-bearing"}
    kinds = {tree.id: book.kind(tree.kind) for tree in trees}
    seasons = {kind["prune_season"].text for kind in kinds.values()}
    assert seasons == set(book.schema["prune_season"]["choices"])
    rules = {kind["bloom_rule"].text for kind in kinds.values()}
    assert {"heat sum", "falling warmth"} <= rules
    assert sum(tree.in_pot for tree in trees) == 4
    assert {tree.shelter for tree in trees} == {None, "north-hoop", "granite-wall"}
    families = {key for kind in kinds.values() for key in kind.lineage}
    assert families >= {
        "satsuma", "navel", "calamondin", "clementine", "avocado", "apple-low-chill", "apple",
        "peach", "apricot", "fig", "olive", "persimmon", "southern-highbush", "loquat",
        "pomegranate", "kumquat", "pear",
    }  # fmt: skip


def test_its_own_kind_takes_effect(tmp_path: Path) -> None:
    opened = open_garden(write_demo(tmp_path, TODAY), TODAY)
    own, parent = opened.book.kind("tern-early"), opened.book.kind("satsuma")
    assert own["bloom_to_ripe"].number < parent["bloom_to_ripe"].number
    assert own["fruit_mass"] == parent["fruit_mass"]
    assert opened.garden.tree("satsuma-gate").kind == own.key


@pytest.mark.parametrize("today", [TODAY, *ODD_DAYS])
def test_records_end_at_today_and_reach_five_years_back(tmp_path: Path, today: date) -> None:
    garden = _garden(tmp_path, today)
    seen = [one.date for tree in garden.trees for one in tree.observed]
    done = [one.date for tree in garden.trees for one in tree.done]
    assert max(seen) <= today
    assert today - timedelta(days=5 * 366) <= min(seen) <= today - timedelta(days=4 * 366)
    assert max(seen) >= today - timedelta(days=120)
    assert today - timedelta(days=366) <= min(done)
    assert max(done) <= today
    assert all(one.year <= today.year for tree in garden.trees for one in tree.harvests)
    assert sum(not tree.observed for tree in garden.trees) >= 3
    assert sum(tree.height is None or tree.spread is None for tree in garden.trees) >= 2


@pytest.mark.parametrize("today", [TODAY, *ODD_DAYS, *MONTHS])
def test_the_graft_stays_young_and_overset_and_the_olive_swings(
    tmp_path: Path, today: date
) -> None:
    garden = _garden(tmp_path, today)
    graft = garden.tree("clementine-graft")
    assert 1 <= graft.years_here(today) <= 2.01
    assert [one.fruit for one in graft.counts] == [64]
    crops = [one.mass for one in garden.tree("olive-old").harvests]
    assert len(crops) >= 5
    turns = np.sign(np.diff(crops))
    assert (turns[1:] == -turns[:-1]).all()


def test_a_past_season_keeps_its_records_from_day_to_day(tmp_path: Path) -> None:
    now, later = (_garden(tmp_path / str(step), TODAY + timedelta(days=step)) for step in (0, 200))
    before = {(one.event, one.date) for one in now.tree("navel-wall").observed}
    after = {(one.event, one.date) for one in later.tree("navel-wall").observed}
    assert len(before & after) >= 0.7 * len(before)


def test_what_was_seen_is_ordered_as_a_tree_does_it(tmp_path: Path) -> None:
    """Picking starts after bloom and ends after it started, in every season of every tree."""
    for tree in _garden(tmp_path, TODAY).trees:
        starts = [one.date for one in tree.observed if one.event == "harvest start"]
        ends = [one.date for one in tree.observed if one.event == "harvest end"]
        for start in starts:
            assert not any(start - timedelta(days=60) < end <= start for end in ends), tree.id


def test_feeding_kept_to_the_rule(tmp_path: Path) -> None:
    garden = _garden(tmp_path, TODAY)
    rule = garden.no_feeding[0]
    fed = [work for tree in garden.trees for work in tree.done if work.job == "feed"]
    assert fed
    assert not [work for work in fed if rule.covers(work.date)]
    shelf = {product.id for product in garden.products}
    assert {work.product for work in fed} <= shelf


@pytest.mark.parametrize("today", [*MONTHS, *ODD_DAYS])
def test_every_planner_speaks_in_every_month(tmp_path: Path, today: date) -> None:
    assert _plan_everything(write_demo(tmp_path, today), today) > 50


@pytest.mark.parametrize("today", [*MONTHS, *ODD_DAYS])
def test_every_planner_speaks_in_the_south(tmp_path: Path, today: date) -> None:
    """The same garden beyond the equator: every date, of records and weather, half a year on."""
    path = write_demo(tmp_path, today - HALF_A_YEAR)
    for file in (path, tmp_path / "weather" / "tern-steps.csv"):
        file.write_text(_DATE.sub(_half_a_year_on, file.read_text("utf-8")), "utf-8")
    south = path.read_text("utf-8").replace("latitude = 41.69", "latitude = -41.69")
    south = south.replace('from = "06-01"', 'from = "12-01"').replace(
        'to = "09-30"', 'to = "03-31"'
    )
    path.write_text(south, "utf-8")
    opened = open_garden(path, today)
    assert opened.site.southern
    assert _plan_everything(path, today) > 50
    blooms = opened.view(opened.garden.tree("peach-south")).cycle.every("full bloom")
    assert all(stage.date.month in (8, 9, 10) for stage in blooms)


def _half_a_year_on(found: re.Match[str]) -> str:
    return (date.fromisoformat(found[0]) + HALF_A_YEAR).isoformat()


# ---------------------------------------------------------------------- the invented weather


def test_the_weather_spans_twelve_years_and_a_week_ahead() -> None:
    for today in (TODAY, *ODD_DAYS):
        series = invented_weather(today)
        assert series.start == date(today.year - 12, 1, 1)
        assert series.end == today + timedelta(days=7)
        assert np.isfinite(series.tmin).all()
        assert (series.tmax > series.tmin).all()


def test_a_past_day_keeps_its_weather() -> None:
    early, late = invented_weather(TODAY), invented_weather(TODAY + timedelta(days=300))
    span = (date(2024, 3, 1), TODAY)
    assert np.array_equal(early.between(*span).tmin, late.between(*span).tmin)
    assert np.array_equal(early.between(*span).rain, late.between(*span).rain)


@pytest.mark.parametrize("year", [2026, 2027, 2028, 2030])
def test_the_weather_follows_its_normals(year: int) -> None:
    series = invented_weather(date(year, 12, 24))
    month = series.month()
    for number in range(12):
        within = month == number + 1
        assert series.tmin[within].mean() == pytest.approx(TMIN[number], abs=1.0)
        assert series.tmax[within].mean() == pytest.approx(TMAX[number], abs=1.0)
    assert series.rain.sum() / len(series) * 365.25 == pytest.approx(sum(RAIN), rel=0.1)
    wet = np.isin(month, (10, 11, 12, 1, 2, 3, 4))
    assert series.rain[wet].sum() > 0.7 * series.rain.sum()


@pytest.mark.parametrize("year", [2026, 2027, 2028, 2030])
def test_hard_nights_come_but_rarely(year: int) -> None:
    series = invented_weather(date(year, 12, 24))
    days = list(series.iter_dates())
    frosts = [day for day, low in zip(days, series.tmin, strict=True) if low < 0]
    hard = {
        day.year + (day.month > 6) for day, low in zip(days, series.tmin, strict=True) if low <= -1
    }
    assert 1 <= len(frosts) <= 3 * 13
    assert 1 <= len(hard) <= 7
    assert all(day.month in (11, 12, 1, 2, 3) for day in frosts)
    assert series.tmin.min() > -6
