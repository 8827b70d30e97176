"""An opening that goes on from an earlier one plans what a fresh one plans, whatever was recorded meanwhile."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

import bearwell
from bearwell import api
from stores import stamp

TODAY = date(2026, 3, 15)
DAY = TODAY - timedelta(days=1)
# Trees of the demo garden: in the ground, under a hoop with another, in a pot.
GROUND, HOOP, BESIDE, POT = "satsuma-gate", "hass-hoop", "clementine-graft", "calamondin-pot"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture
def store(file: Path, tmp_path: Path) -> Iterator[api.Store]:
    with api.open_store(tmp_path / "data", create=True) as made:
        api.import_garden(made, stamp(), TODAY, path=file)
        yield made


def everything(opened: api.LoadedGarden) -> dict[str, Any]:
    """All that is planned, with its days, amounts and reasons, and what had to be told."""
    return {
        "advice": api.planned(opened),
        "shopping": opened.schedule.shopping,
        "used": opened.schedule.used,
        "rounds": {
            key: (one.need, one.rounds, one.because) for key, one in opened.schedule.trees.items()
        },
        "water": {
            key: (one.rounds, one.wait, one.denied, one.closed, one.depletion.tolist())
            for key, one in opened.watering.trees.items()
        },
        "stages": [one.stages for one in api.years(opened)],
        "problems": opened.problems,
    }


def went_on(before: api.LoadedGarden, after: api.LoadedGarden) -> set[str]:
    """Trees whose view was taken over, by their cycle."""
    return {
        tree.id
        for tree in after.garden.trees
        if tree.id in {one.id for one in before.garden.trees}
        and after.view(tree).cycle is before.view(before.garden.tree(tree.id)).cycle
    }


Recording = Callable[[Any], object]  # what is done to a store
ALONE: dict[str, tuple[str, Recording]] = {
    "fed": (GROUND, lambda store: api.record_done(
        store, stamp(), TODAY, tree=GROUND, job="feed", day=DAY, product="balanced", amount="900 g")),
    "watered": (POT, lambda store: api.record_done(
        store, stamp(), TODAY, tree=POT, job="water", day=DAY, amount="4 L")),
    "pruned": (GROUND, lambda store: api.record_done(store, stamp(), TODAY, tree=GROUND, job="prune", day=DAY)),
    "measured": (GROUND, lambda store: api.record_measure(
        store, stamp(), TODAY, tree=GROUND, day=DAY, measures={"height": "3.4 m", "trunk_girth": "41 cm"})),
    "seen": (GROUND, lambda store: api.record_seen(
        store, stamp(), TODAY, tree=GROUND, event="bloom start", day=DAY)),
    "picked": (GROUND, lambda store: api.record_harvest(
        store, stamp(), TODAY, tree=GROUND, day=TODAY - timedelta(days=100), mass="31 kg", whole=True)),
    "counted": (POT, lambda store: api.record_count(store, stamp(), TODAY, tree=POT, day=DAY, fruit=40)),
    "tested": (GROUND, lambda store: api.record_leaf_test(
        store, stamp(), TODAY, tree=GROUND, day=DAY, values={"n": "1.9 %"})),
}  # fmt: skip


@pytest.mark.parametrize("what", ALONE)
def test_what_is_recorded_of_one_tree_replans_that_tree_alone(store: api.Store, what: str) -> None:
    tree, record = ALONE[what]
    before = api.open_garden(store, TODAY)
    told = everything(before)
    record(store)
    on, fresh = api.open_garden(store, TODAY, before=before), api.open_garden(store, TODAY)
    after = everything(fresh)
    assert went_on(before, on) == {one.id for one in fresh.garden.trees} - {tree}
    assert everything(on) == after
    assert after != told, "it moved the plan"


def _under_the_hoop(store: api.Store) -> object:
    return api.record_measure(
        store, stamp(), TODAY, tree=BESIDE, day=DAY, measures={"height": "2.9 m", "spread": "3.1 m"}
    )


def test_a_tree_beside_it_under_the_same_shelter_is_planned_anew_too(store: api.Store) -> None:
    before = api.open_garden(store, TODAY)
    everything(before)
    _under_the_hoop(store)
    on, fresh = api.open_garden(store, TODAY, before=before), api.open_garden(store, TODAY)
    assert went_on(before, on) == {one.id for one in fresh.garden.trees} - {HOOP, BESIDE}
    assert everything(on) == everything(fresh)


def test_trees_in_another_order_under_a_shelter_are_told_in_that_order(
    file: Path, tmp_path: Path
) -> None:
    head, *blocks = re.split(r"(?m)^(?=\[\[tree\]\])", file.read_text("utf-8"))
    garden = tmp_path / "garden.toml"
    garden.write_text(head + "".join(blocks), "utf-8")
    (tmp_path / "weather").symlink_to(file.parent / "weather")
    before = api.open_garden(garden, TODAY)
    everything(before)
    garden.write_text(head + "".join(reversed(blocks)), "utf-8")
    on, fresh = api.open_garden(garden, TODAY, before=before), api.open_garden(garden, TODAY)
    assert went_on(before, on) == {one.id for one in fresh.garden.trees} - {HOOP, BESIDE}
    assert everything(on) == everything(fresh)


ALL: dict[str, Recording] = {
    "a rule of the garden": lambda store: api.record_state(
        store, stamp(), TODAY, subject="garden", named="", values={"units": "us"}, day=DAY),
    "the site": lambda store: api.record_state(
        store, stamp(), TODAY, subject="site", named="", values={"elevation": "260 m"}, day=DAY),
    "a night at the tree": lambda store: api.record_night(
        store, stamp(), TODAY, day=DAY, lowest="-4 degC"),
}  # fmt: skip


@pytest.mark.parametrize("what", ALL)
def test_what_every_tree_rests_on_replans_all(store: api.Store, what: str) -> None:
    before = api.open_garden(store, TODAY)
    everything(before)
    ALL[what](store)
    on, fresh = api.open_garden(store, TODAY, before=before), api.open_garden(store, TODAY)
    assert went_on(before, on) == set()
    assert everything(on) == everything(fresh)


def test_another_day_replans_all(store: api.Store) -> None:
    before = api.open_garden(store, TODAY)
    everything(before)
    later = TODAY + timedelta(days=1)
    on, fresh = api.open_garden(store, later, before=before), api.open_garden(store, later)
    assert went_on(before, on) == set()
    assert everything(on) == everything(fresh)


def test_a_day_of_records_one_after_the_other(store: api.Store) -> None:
    """Bags run low, a bag is weighed, trees come and go, all is undone: no step leaves anything behind."""
    first = opened = api.open_garden(store, TODAY)
    told = everything(opened)
    steps: list[Recording] = [
        *(record for _, record in ALONE.values()),
        lambda store: api.record_stock(
            store, stamp(), TODAY, product="balanced", on_hand="300 g", day=TODAY
        ),
        lambda store: api.record_new(
            store, stamp(), TODAY, subject="tree",
            table={"id": "late-comer", "kind": "lemon", "planted": DAY, "height": "1.1 m", "shelter": "north-hoop"},
        ),
        lambda store: api.record_gone(
            store, stamp(), TODAY, subject="tree", named=GROUND, day=TODAY, reason="blown over"
        ),
        _under_the_hoop,
        lambda store: api.record_gone(
            store, stamp(), TODAY, subject="tree", named=HOOP, day=TODAY, reason="given away"
        ),
        lambda store: api.record_skip(
            store, stamp(), TODAY, advice=next(one for one in api.planned(opened) if one.kind == "feed"),
            reason="no time",
        ),
    ]  # fmt: skip
    for record in steps:
        record(store)
        opened = api.open_garden(store, TODAY, before=opened)
        assert everything(opened) == everything(api.open_garden(store, TODAY))
    newest = list(dict.fromkeys(one.entry.action for one in api.history(store)))
    for action in newest[: len(steps)]:
        api.undo(store, stamp(), TODAY, record=action)
        opened = api.open_garden(store, TODAY, before=opened)
    assert everything(opened) == everything(api.open_garden(store, TODAY)) == told
    held = {id(opened.view(tree).cycle.tree) for tree in opened.garden.trees}
    assert held == {id(tree) for tree in opened.garden.trees}, "one garden is held, not many"
    assert len(opened.garden.trees) == len(first.garden.trees)


# Where planners look at other trees, or at what is on the shelf: under one shelter, or for the whole garden.
LOOKS_BEYOND = {
    "garden.trees": {"plan/cold.py", "plan/fit.py", "plan/outlook.py"},
    "on_hand": {
        "plan/blend.py", "plan/schedule.py", "plan/shelf.py", "plan/shopping.py", "plan/view.py",
    },
}  # fmt: skip


@pytest.mark.parametrize("what", LOOKS_BEYOND)
def test_nothing_else_rests_on_what_a_view_does_not_compare(what: str) -> None:
    """A planner that is to look further must say so to `View` and `_gone_on` first, then be named here."""
    home = Path(bearwell.__file__).parent
    files = [*(home / "plan").glob("*.py"), *(home / "season").glob("*.py")]
    found = {f"{one.parent.name}/{one.name}" for one in files if what in one.read_text("utf-8")}
    assert found == LOOKS_BEYOND[what]
