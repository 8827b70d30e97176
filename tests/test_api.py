"""The public door: one bad tree does not stop a garden, doubts are told, and what was supposed is noted."""

from __future__ import annotations

from pathlib import Path

import pytest

from bearwell import api
from bearwell.api import gardens
from bearwell.errors import BadInput, BearwellError, KnowledgeError, Problem
from gardens import COLD, MILD, SHELF, TODAY, opened, tree, write_garden

TWO = tree("navel") + tree("apple").replace('"one"', '"two"')


def typed_normals(values: dict[str, tuple[float, ...]], turned: bool = False) -> str:
    def row(name: str, unit: str) -> str:
        column = values[name][6:] + values[name][:6] if turned else values[name]
        return f'{name} = "{" ".join(f"{value:g}" for value in column)} {unit}"\n'

    return "[weather.normals]\n" + row("tmin", "degC") + row("tmax", "degC")


@pytest.fixture
def broken_apple(monkeypatch: pytest.MonkeyPatch) -> None:
    """A planner that cannot cope with one tree."""
    plan = gardens.plan_tree

    def planned(view, *rest):
        if view.tree.id == "two":
            raise KnowledgeError("'apple' states no 'something'", "add the row to its table")
        return plan(view, *rest)

    monkeypatch.setattr(gardens, "plan_tree", planned)


@pytest.mark.usefixtures("broken_apple")
def test_a_tree_that_cannot_be_planned_does_not_stop_the_others(tmp_path: Path):
    loaded = opened(tmp_path, TWO)
    listed = api.worklist(loaded, 60)
    told = [problem for problem in listed.problems if problem.severity == "error"]

    assert {one.tree for one in listed.advice} == {"one"}
    assert [problem.message for problem in told] == [
        "tree 'two' cannot be planned: 'apple' states no 'something'"
    ]
    api.worklist(loaded, 30)
    assert sum("cannot be planned" in problem.message for problem in loaded.problems) == 1


@pytest.mark.usefixtures("broken_apple")
def test_check_tells_a_tree_that_cannot_be_planned(tmp_path: Path):
    found = api.check_garden(write_garden(tmp_path, TWO), TODAY)

    assert found[0].severity == "error"
    assert "tree 'two'" in found[0].message


def test_feeding_goes_on_without_a_tree_whose_feeding_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    plan = gardens.feeding_schedule

    def schedule(views):
        if any(view.tree.id == "two" for view in views):
            raise KnowledgeError("no rule", "")
        return plan(views)

    monkeypatch.setattr(gardens, "feeding_schedule", schedule)
    loaded = opened(tmp_path, TWO, head=SHELF)
    listed = api.worklist(loaded, 366)

    assert any(one.kind == "feed" and one.tree == "one" for one in listed.advice)
    assert any("tree 'two' cannot be planned: no rule" in p.message for p in listed.problems)


def test_the_years_of_the_others_are_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    cycle = gardens.Cycle

    def made(grown, *rest):
        if grown.id == "two":
            raise KnowledgeError("no bloom", "")
        return cycle(grown, *rest)

    monkeypatch.setattr(gardens, "Cycle", made)
    loaded = opened(tmp_path, TWO)

    assert [year.tree.id for year in api.years(loaded)] == ["one"]
    assert any("tree 'two'" in problem.message for problem in loaded.problems)
    with pytest.raises(BearwellError, match="no bloom"):
        api.years(loaded, "two")


@pytest.mark.parametrize(
    ("southern", "turned", "told"),
    [(False, False, False), (True, True, False), (True, False, True), (False, True, True)],
)
def test_weather_of_the_other_hemisphere_is_warned_about(
    southern: bool, turned: bool, told: bool, tmp_path: Path
):
    head = typed_normals(MILD, turned)
    loaded = opened(tmp_path, tree("navel"), place=None, southern=southern, head=head)
    found = [p for p in loaded.problems if "do not go together" in p.message]

    assert bool(found) is told
    assert all(p.severity == "warning" and p.line and "negative" in p.hint for p in found)


def test_a_daily_record_of_the_other_hemisphere_is_warned_about(tmp_path: Path):
    path = write_garden(tmp_path, tree("navel"))
    path.write_text(path.read_text().replace("latitude = 41.7", "latitude = -41.7"))

    assert any("do not go together" in p.message for p in api.open_garden(path, TODAY).problems)


def test_near_the_equator_no_season_contradicts_the_latitude(tmp_path: Path):
    path = write_garden(tmp_path, tree("navel"), place=None, head=typed_normals(COLD))
    path.write_text(path.read_text().replace("latitude = 41.7", "latitude = -12"))

    assert not [p for p in api.open_garden(path, TODAY).problems if "go together" in p.message]


def test_check_notes_what_was_supposed_of_each_tree(tmp_path: Path):
    bare = '[[tree]]\nid = "two"\nkind = "apple"\nplanted = 2018-03-01\nskirt = "0.4 m"\n'
    found = api.check_garden(write_garden(tmp_path, tree("navel") + bare), TODAY)
    notes = [p.message for p in found if p.severity == "note" and "supposed from" in p.message]

    assert len(notes) == 1
    assert notes[0] == (
        "tree 'two': height and spread are supposed from its kind and age; its trunk girth is not known"
    )


def test_check_reads_further_weather(tmp_path: Path):
    later = tmp_path / "later.csv"
    later.write_text("date,tmin,tmax,rain\n2026-11-26,9.0,5.0,0\n")
    path = write_garden(tmp_path, tree("navel"))

    assert not [p for p in api.check_garden(path, TODAY) if "later.csv" in p.where]
    assert [p for p in api.check_garden(path, TODAY, [later]) if "later.csv" in p.where]


def test_problems_are_sorted_by_gravity_then_file_then_line():
    mixed = [
        Problem("b", "3", severity="note"),
        Problem("b", "2", line=9),
        Problem("b", "1", line=2),
        Problem("a", "0", line=40),
        Problem("a", "w", severity="warning"),
    ]

    assert [problem.message for problem in api.gravest_first(mixed)] == ["0", "1", "2", "w", "3"]


def test_a_worklist_of_no_days_or_of_an_unknown_tree_is_refused(tmp_path: Path):
    loaded = opened(tmp_path, TWO, place=None)

    with pytest.raises(BadInput, match="between 1 and 366"):
        api.worklist(loaded, 0)
    with pytest.raises(BadInput, match="one, two"):
        api.worklist(loaded, 14, "three")
