"""Garden files: what is refused, where, and with which hint; and what is let through."""

from __future__ import annotations

from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden.lines import line_map, line_of
from gardens import TODAY, opened, tree, write_garden

GOOD = """\
bearwell = 1

[garden]
name = "plot"

[site]
latitude = 41.7
longitude = -8.8

[[tree]]
id = "one"
kind = "satsuma"
planted = 2020-03-01
height = "2 m"
"""


def problems_of(tmp_path: Path, text: str) -> list[Problem]:
    path = tmp_path / "garden.toml"
    path.write_text(text, encoding="utf-8")
    return api.check_garden(path, TODAY)


def errors_of(tmp_path: Path, text: str) -> list[Problem]:
    return [problem for problem in problems_of(tmp_path, text) if problem.severity == "error"]


def test_a_good_file_has_no_errors(tmp_path: Path):
    assert errors_of(tmp_path, GOOD) == []


@pytest.mark.parametrize(
    ("change", "line", "message", "hint"),
    [
        (('kind = "satsuma"', 'kind = "satsumma"'), 12, "unknown kind 'satsumma'", "satsuma"),
        (('kind = "satsuma"', 'kind = "quuxwort"'), 12, "unknown kind", "kinds"),
        (('height = "2 m"', "height = 2"), 14, "2 has no unit", '"2 m"'),
        (('height = "2 m"', 'height = "2 kg"'), 14, "is a mass", "2 m"),
        (('height = "2 m"', 'height = "2 furlong"'), 14, "unknown unit 'furlong'", ""),
        (('height = "2 m"', 'height = "2,5 m"'), 14, "not a number with a unit", "point"),
        (('height = "2 m"', 'height = "-2 m"'), 14, "not plausible", "between 0.1 and 25"),
        (('height = "2 m"', 'height = "400 m"'), 14, "not plausible", "between"),
        (('height = "2 m"', 'hieght = "2 m"'), 14, "unknown key 'hieght'", "height"),
        (("planted = 2020-03-01", "planted = 2031-03-01"), 13, "lies after today", "year"),
        (("planted = 2020-03-01", 'planted = "spring"'), 13, "not a date", "2026-04-14"),
        (("planted = 2020-03-01", ""), 10, "planted is missing", "add planted"),
        (("latitude = 41.7", "latitude = 97"), 7, "out of range", "-90 to 90"),
        (("latitude = 41.7", ""), 6, "latitude is missing", "latitude"),
        (('id = "one"', 'id = "number one"'), 11, "spaces", "letters"),
        (('name = "plot"', 'name = "plot"\nunits = "imperial"'), 5, "'imperial' is not known", "metric"),
        (("longitude = -8.8", 'longitude = -8.8\ntimezone = "Mars/North"'), 9, "not known", "Europe/Lisbon"),
        (("longitude = -8.8", 'longitude = -8.8\nsoil = "sand loam"'), 9, "soils", "sandy loam"),
        (('height = "2 m"', 'grows_in = "bucket"'), 10, "not known", "container"),
        (('height = "2 m"', 'shelter = "hoop"'), 14, "no shelter 'hoop'", "none listed"),
        (('height = "2 m"', 'skirt = "2.5 m"\nheight = "2 m"'), 10, "skirt", "lowest foliage"),
        (('height = "2 m"', 'observed = [{ event = "blooming", date = 2024-05-01 }]'), 14, "'blooming'", "full bloom"),
        (('height = "2 m"', "observed = [{ event = \"full bloom\", date = 2019-05-01 }]"), 14, "before planting", "dates"),
        (('height = "2 m"', "counts = [{ date = 2024-07-01, paths = [{ probability = 1.4, fruit = 3 }] }]"), 14,
         "out of range", "above 0"),
        (('height = "2 m"', "counts = [{ date = 2024-07-01 }]"), 14, "either paths or fruit", "paths"),
        (("height = \"2 m\"", 'harvests = [{ year = 2011, mass = "3 kg" }]'), 14, "before planting", "check"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_line_and_a_hint(
    change: tuple[str, str], line: int, message: str, hint: str, tmp_path: Path
):
    found = errors_of(tmp_path, GOOD.replace(*change))

    assert found, "nothing was found wrong"
    assert any(message in p.message and hint in p.hint and p.line == line for p in found), found


def test_every_problem_is_told_at_once(tmp_path: Path):
    broken = (
        GOOD.replace("latitude = 41.7", "latitude = 141.7")
        .replace('kind = "satsuma"', 'kind = "nonesuch"')
        .replace('height = "2 m"', "height = 2")
    )

    assert len(errors_of(tmp_path, broken)) == 3


@pytest.mark.parametrize(
    ("product", "message"),
    [
        ('label = "5-5"', "not N-P2O5-K2O"),
        ('label = "60-50-10"', "more than 100"),
        ('label = "5-5-5"\non_hand = "-3 kg"', "not plausible"),
        ('label = "5-5-5"\nprice = -1', "out of range"),
    ],
)
def test_a_bag_that_cannot_be_is_refused(product: str, message: str, tmp_path: Path):
    shelf = f'\n[[product]]\nid = "b"\nname = "b"\nrelease = "soluble"\n{product}\n'

    assert any(message in problem.message for problem in errors_of(tmp_path, GOOD + shelf))


def test_a_release_class_must_exist(tmp_path: Path):
    shelf = '\n[[product]]\nid = "b"\nname = "b"\nlabel = "5-5-5"\nrelease = "granular organics"\n'
    found = errors_of(tmp_path, GOOD + shelf)

    assert found[0].hint.startswith("known: granular organic")


@pytest.mark.parametrize(
    "text", ["", "bearwell = [", 'name = "a"\nname = "b"\n', "\x00\x01", "[[tree]\n"]
)
def test_what_is_no_garden_file_is_refused_in_one_line(text: str, tmp_path: Path):
    found = errors_of(tmp_path, text)

    assert found
    assert all("\n" not in problem.message for problem in found)


def test_a_file_that_is_not_there_is_said(tmp_path: Path):
    with pytest.raises(BadInput, match="no such file"):
        api.open_garden(tmp_path / "nowhere.toml", TODAY)


def test_a_weather_file_that_is_not_there_is_said(tmp_path: Path):
    found = errors_of(tmp_path, GOOD + '\n[weather]\ndaily = ["gone.csv"]\n')

    assert any("gone.csv" in problem.where or "gone.csv" in problem.message for problem in found)


def test_a_garden_without_trees_opens_and_says_so(tmp_path: Path):
    loaded = opened(tmp_path, "")

    assert api.worklist(loaded).advice == ()
    assert any("no trees" in problem.message for problem in loaded.problems)


def test_an_id_used_twice_is_refused(tmp_path: Path):
    with pytest.raises(BadFile, match="used twice"):
        opened(tmp_path, tree("navel") + tree("apple"))


@pytest.mark.parametrize(
    "name", ["Laranjeira da avó", "みかん", "برتقال", "<b>bold</b>", "{brace} %s", "🍊"]
)
def test_names_in_any_script_pass_through(name: str, tmp_path: Path):
    loaded = opened(tmp_path, tree("navel", more=f'name = "{name}"\n'))

    assert loaded.garden.trees[0].called == name
    assert api.worklist(loaded).advice


def test_five_hundred_trees_are_planned(tmp_path: Path):
    kinds = ["navel", "apple", "olive", "fig", "peach"]
    trees = "".join(tree(kinds[n % 5]).replace('"one"', f'"tree-{n}"') for n in range(500))
    loaded = opened(tmp_path, trees)

    assert len({one.tree for one in api.worklist(loaded).advice}) >= 400


def test_own_kinds_come_from_the_file_and_from_the_folder_beside_it(tmp_path: Path):
    own = '[kind.terrace-satsuma]\nname = "terrace satsuma"\nparent = "satsuma"\n[kind.terrace-satsuma.facts]\nbloom_to_ripe = { value = 188, low = 178, high = 200 }\n'
    (tmp_path / "kinds").mkdir()
    (tmp_path / "kinds" / "mine.toml").write_text(
        '[hill-apple]\nname = "hill apple"\nparent = "apple"\n[hill-apple.facts]\nfruit_mass = 140\n'
    )
    trees = tree("terrace-satsuma") + tree("hill-apple").replace('"one"', '"two"')
    loaded = opened(tmp_path, trees, head=own)

    first, second = (loaded.view(one).species for one in loaded.garden.trees)
    assert (first["bloom_to_ripe"].number, first["bloom_to_ripe"].confidence) == (188, "judgement")
    assert (second["fruit_mass"].number, second["fruit_mass"].unit) == (140, "g")


@pytest.mark.parametrize(
    ("own", "message"),
    [
        ('[kind.x]\nname = "x"\nparent = "satsumma"\n', "not a kind"),
        (
            '[kind.x]\nname = "x"\nparent = "satsuma"\n[kind.x.facts]\nbloom_to_rip = 3\n',
            "unknown fact",
        ),
        (
            '[kind.x]\nname = "x"\nparent = "satsuma"\n[kind.x.facts]\nbloom_to_ripe = 9000\n',
            "not plausible",
        ),
        ('[kind.satsuma]\nname = "x"\nparent = "apple"\n', "exists already"),
    ],
)
def test_a_mistake_in_an_own_kind_is_told(own: str, message: str, tmp_path: Path):
    assert any(message in problem.message for problem in errors_of(tmp_path, GOOD + own))


def test_work_dated_after_today_is_left_out_and_said(tmp_path: Path):
    more = 'done = [{ date = 2026-12-24, job = "prune" }]\n'
    loaded = opened(tmp_path, tree("satsuma", more=more))

    assert any("lies after today" in p.message and p.severity == "warning" for p in loaded.problems)


def test_both_units_of_measure_mean_the_same(tmp_path: Path):
    metric = opened(tmp_path, tree("navel"))
    feet = opened(
        tmp_path,
        tree("navel").replace('"2.8 m"\n', '"9.1864 ft"\n').replace('"36 cm"', '"14.1732 in"'),
    )

    assert feet.garden.trees[0].height == pytest.approx(metric.garden.trees[0].height, abs=1e-4)
    assert feet.garden.trees[0].trunk_girth == pytest.approx(
        metric.garden.trees[0].trunk_girth, abs=1e-5
    )


def test_the_line_of_a_nested_key_is_found():
    text = 'a = 1\n[site]\nx = """\n[[tree]]\n"""\n[[tree]]\nid = "one"\nnotes = [\n  "[x]",\n]\n[[tree]]\nid = "two"\n'
    places = line_map(text)

    assert line_of(places, ("tree", 0, "id")) == 7
    assert line_of(places, ("tree", 1, "id")) == 12
    assert line_of(places, ("tree", 0, "notes", 0)) == 8


def test_reading_the_file_writes_nothing(tmp_path: Path):
    path = write_garden(tmp_path, tree("navel"))
    before = {file: file.stat().st_mtime_ns for file in tmp_path.rglob("*")}
    api.worklist(api.open_garden(path, TODAY))

    assert {file: file.stat().st_mtime_ns for file in tmp_path.rglob("*")} == before
