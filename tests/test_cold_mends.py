"""Cold at one tree told alike everywhere: fruit that hangs, roots in pots, shelters that cannot be closed."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.plan.outlook import TreeOutlook
from bearwell.season.cold import cold_limits, fruit_on, root_alarm
from gardens import opened, tree

NIGHT = """
[cold]
evenings = [{{ date = {day}, t0 = "2 degC", td = "-6 degC", wind = "0.5 m/s", sky = "clear" }}]
"""
HOOP = """
[[shelter]]
id = "hoop"
shape = "hoop"
length = "6 m"
width = "3.2 m"
height = "{height} m"
cover = "single polyethylene film"
heater = "1000 W"
water = "200 L"
"""
WINTER = date(2026, 1, 10)


def outlook(loaded: api.LoadedGarden, at: str = "one") -> TreeOutlook:
    return next(one for one in api.winter(loaded).trees if one.view.tree.id == at)


@pytest.mark.parametrize("kind", ["navel", "lemon", "hass", "calamondin"])
def test_winters_count_fruit_on_the_days_tonight_counts_it(tmp_path: Path, kind: str) -> None:
    loaded = opened(tmp_path, tree(kind), today=WINTER)
    view = loaded.view(loaded.garden.trees[0])
    rank = next(one for one in outlook(loaded).hurt if one.organ == "fruit")
    hangs = 0
    for step in range(0, 366, 5):
        day = WINTER - timedelta(days=step)
        limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, day)
        tonight = "fruit" in {one.organ for one in limits}
        assert tonight == (fruit_on(view.cycle, view.species, view.book, day) == "fruit")
        hangs += tonight
    # Ripe or not: a crop hangs longer than it is picked, so no winter is counted milder than by picking alone.
    picked = sum(
        begin.date <= WINTER - timedelta(days=step) <= end.date
        for step in range(0, 366, 5)
        for begin in view.cycle.every("harvest start")
        if (end := view.cycle.of("harvest end", begin.season, begin.wave)) is not None
    )
    assert hangs > picked
    assert rank.chance.winters == len(api.winter(loaded).winters)


def test_unripe_fruit_that_hangs_through_winter_is_counted(tmp_path: Path) -> None:
    """A navel picked from late winter hangs green in December: its coldest nights count (common practice)."""
    loaded = opened(tmp_path, tree("navel"), today=WINTER, place="cold")
    view = loaded.view(loaded.garden.trees[0])
    first = view.cycle.next_after("harvest start", WINTER - timedelta(days=200))
    assert first is not None
    hung = first.date - timedelta(days=30)
    assert fruit_on(view.cycle, view.species, view.book, hung) == "fruit"
    fruit = next(one for one in outlook(loaded).hurt if one.organ == "fruit")
    leaves = next(one for one in outlook(loaded).hurt if one.organ == "leaves")
    assert fruit.chance.nights >= leaves.chance.nights


@pytest.mark.parametrize("kind", ["calamondin", "apple"])
def test_roots_in_a_pot_are_ranked_by_the_limit_tonight_uses(tmp_path: Path, kind: str) -> None:
    (tmp_path / "ground").mkdir()
    potted = opened(tmp_path, tree(kind, pot="30 L"), today=WINTER, place="cold")
    ground = opened(tmp_path / "ground", tree(kind), today=WINTER, place="cold")
    view = potted.view(potted.garden.trees[0])
    roots = next(one for one in outlook(potted).hurt if one.organ == "roots in the pot")
    limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, WINTER)
    tonight = next(one for one in limits if one.organ == "roots in the pot")
    alarm = root_alarm(view.species, view.book)
    assert roots.limit == tonight.temperature == alarm.number
    assert (tonight.low, tonight.high) == (alarm.least, alarm.most)
    assert roots.chance.low < roots.yearly <= roots.chance.high
    assert not [one for one in outlook(ground).hurt if one.organ == "roots in the pot"]


def under(folder: Path, height: float) -> api.LoadedGarden:
    folder.mkdir(exist_ok=True)
    head = NIGHT.format(day=WINTER) + HOOP.format(height=height)
    return opened(
        folder, tree("satsuma", more='shelter = "hoop"'), today=WINTER, place=None, head=head
    )


def test_a_hoop_a_tree_stands_through_is_not_closed_and_lifts_nothing(tmp_path: Path) -> None:
    fits, through = under(tmp_path / "fits", 4.2), under(tmp_path / "through", 2.1)
    closed, open_ = (api.tonight(one).plan for one in (fits, through))
    assert closed.trees[0].night.lift > 0
    assert open_.trees[0].night.lift == 0
    keys = [task.key for stop in open_.stops for task in stop.tasks]
    assert "hoop:cannot close" in keys
    assert "one:cover" in keys
    assert not {"hoop:close", "hoop:heat", "hoop:barrels"} & set(keys)
    said = " ".join(task.text.text for stop in open_.stops for task in stop.tasks)
    assert "which suffices" not in said
    advice = next(one for one in api.worklist(through).advice if one.kind == "protect")
    assert (
        advice.details["measures"][0] == "cannot close"
        or "cannot close" in advice.details["measures"]
    )
    assert advice.details["at_tree_c"] == round(open_.night.lowest, 1)  # type: ignore[union-attr]


def test_a_shelter_stands_open_for_its_other_trees_too(tmp_path: Path) -> None:
    small = (
        tree("satsuma", more='shelter = "hoop"')
        .replace('"one"', '"small"')
        .replace("2.8 m", "1.2 m")
    )
    small = small.replace("2.6 m", "1.2 m")
    head = NIGHT.format(day=WINTER) + HOOP.format(height=2.1)
    loaded = opened(
        tmp_path, tree("satsuma", more='shelter = "hoop"') + small, today=WINTER, head=head
    )
    assert all(one.night.lift == 0 for one in api.tonight(loaded).plan.trees)
    seen = api.winter(loaded).shelters[0]
    assert seen.through is not None
    assert seen.through.tree.id == "one"
    assert seen.inside is None


def test_a_supposed_crown_opens_no_shelter(tmp_path: Path) -> None:
    bare = '[[tree]]\nid = "one"\nkind = "satsuma"\nplanted = 2005-03-01\nshelter = "hoop"\n'
    loaded = opened(
        tmp_path, bare, today=WINTER, head=NIGHT.format(day=WINTER) + HOOP.format(height=1.0)
    )
    assert api.tonight(loaded).plan.trees[0].night.lift > 0
    assert np.isfinite(api.tonight(loaded).plan.trees[0].night.lowest)


def test_cautions_stand_where_their_measure_is_advised(tmp_path: Path) -> None:
    both = tree("navel") + tree("calamondin", pot="30 L").replace('"one"', '"pot"')
    loaded = opened(tmp_path, both, today=WINTER, place="cold", head=NIGHT.format(day=WINTER))
    plan = api.tonight(loaded).plan
    words = {
        "heavy": "bend your knees",
        "lamps": "Fix lamps",
        "ice": "breaks limbs",
        "state": "quarantine",
    }
    for stop in plan.stops:
        keys = {task.key.rsplit(":", 1)[1] for task in stop.tasks}
        said = " ".join(stop.cautions)
        assert (words["heavy"] in said) == bool(keys & {"move pot", "wrap pot"})
        assert (words["state"] in said) == bool(keys & {"move pot", "wrap pot"})
        assert words["lamps"] not in said or keys & {"heat", "second cover"}
        assert words["ice"] not in said
    everything = [*(text for stop in plan.stops for text in stop.cautions), *plan.beside]
    everything += plan.water.cautions if plan.water is not None else ()
    assert len(everything) == len(set(everything))
    assert sorted(everything) == sorted(plan.cautions)
    for one in api.worklist(loaded).advice:
        if one.kind == "protect":
            said, measures = " ".join(one.cautions), set(one.details["measures"])
            assert (words["heavy"] in said) == bool(measures & {"move pot", "wrap pot"})
            assert (words["lamps"] in said) == bool(measures & {"heat", "second cover"})
            assert "height of the leaves" in said
