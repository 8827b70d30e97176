"""Garden files: what is refused, where, and with which hint; and what is let through."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden.lines import line_map, line_of
from bearwell.garden.model import NoFeeding
from bearwell.knowledge import knowledge
from bearwell.quantities import parse
from gardens import SHELF, TODAY, opened, tree, write_garden

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
        (('kind = "satsuma"', 'kind = "quuxwort"'), 12, "unknown kind", "docs/reference/kinds.md or the /kind page"),
        (('height = "2 m"', "height = 2"), 14, "2 has no unit", '"2 m"'),
        (('height = "2 m"', 'height = "2 kg"'), 14, "is a mass", "2 m"),
        (('height = "2 m"', 'height = "2 furlong"'), 14, "unknown unit 'furlong'", ""),
        (('height = "2 m"', 'height = "2,500 m"'), 14, "'2,500' can be read in two ways", "2500 or 2.5"),
        (('height = "2 m"', 'height = "2.500,5 m"'), 14, "both a point and a comma", "2500.5"),
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
        (("longitude = -8.8", 'longitude = -8.8\nsoil = "sand loam"'), 9, "not a soil texture we know", "sandy loam"),
        (('height = "2 m"', 'grows_in = "bucket"'), 14, "not known", "container"),
        (('height = "2 m"', 'grows_in = { container = "45 cm" }'), 14, "is a length, but this is a capacity", "L"),
        (('height = "2 m"', 'grows_in = { container = "45 L", medium = "potting compost" }'), 14,
         "not a potting medium we know", "known: bark and peat, peat, coir, loam-based, bark and sand"),
        (("latitude = 41.7", 'latitude = "35N"'), 7, "expects a number", "35 S is -35.0"),
        (("longitude = -8.8", 'longitude = -8.8\nsoil = { field_capacity = "11 %", wilting_point = "24 %" }'), 9,
         "wilting point is not below", "exchanged"),
        (("longitude = -8.8", 'longitude = -8.8\nsoil = { field_capacity = "11 %", wilting_point = 0.1 }'), 9,
         "has no unit", "with its unit"),
        (("planted = 2020-03-01", 'planted = "2031-03-01"'), 13, "lies after today", "year"),
        (('height = "2 m"', 'done = [{ date = "2019-02-01", job = "prune" }]'), 14, "before planting", "dates"),
        (('height = "2 m"', "grafted = 2027-03-01"), 14, "grafted 2027-03-01 lies after today", "year"),
        (('height = "2 m"', "grafted = 2018-03-01"), 14, "lies before planting", "bought grafted"),
        (('height = "2 m"', 'harvests = [{ year = 2028, mass = "3 kg" }]'), 14, "lies in the future", "year"),
        (('height = "2 m"', 'done = [{ date = 2024-02-01, job = "feed", amount = "6 L" }]'), 14, "is a volume", "mass"),
        (('height = "2 m"', 'done = [{ date = 2024-02-01, job = "inspect", look = "grith" }]'), 14,
         "not a look we know", "girth"),
        (('height = "2 m"', 'kind = "quuxwort"'), 14, "not valid TOML", "twice"),
        (("planted = 2020-03-01", "planted = 20/03/2021"), 13, "not valid TOML", "2021-03-20"),
        (("planted = 2020-03-01", "planted = 2021-3-20"), 13, "not valid TOML", "2021-03-20"),
        (("planted = 2020-03-01", "planted = 2026-02-30"), 13, "not valid TOML", "no day 2026-02-30"),
        (("latitude = 41.7", "latitude = 41,7"), 7, "not valid TOML", "point"),
        (('name = "plot"', 'name = "plot"\n[[no_feeding]]\nfrom = "6-1"\nto = "09-30"'), 6, "'6-1' is not a day", "06-01"),
        (('height = "2 m"', 'shelter = "hoop"'), 14, "no shelter 'hoop'", "none listed"),
        (('height = "2 m"', 'skirt = "2.5 m"\nheight = "2 m"'), 14, "skirt", "lowest foliage"),
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
        ('label = "5-5-5"\nprice = inf', "expects a number"),
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


def test_names_and_measures_are_told_together(tmp_path: Path):
    """Names that must exist elsewhere are looked up whatever else is wrong with the file."""
    broken = GOOD.replace(
        "latitude = 41.7", 'latitude = 41.7\nsoil = "sandloamy"\ntimezone = "Mars"'
    ).replace(
        'height = "2 m"',
        'height = 2\nspread = "1 m"\ntrunk_girth = "3 m"\nshelter = "gone"\n'
        'grows_in = { container = "45 L", medium = "gravel" }',
    )
    shelf = '[[product]]\nid = "b"\nname = "b"\nlabel = "5-5"\nrelease = "slow"\n[[shelter]]\nid = "h"\ncover = "silk"\n'
    told = " | ".join(problem.message for problem in errors_of(tmp_path, broken + shelf))

    for part in ("soil texture", "timezone", "height: 2 has no unit", "trunk_girth is larger", "no shelter 'gone'",
                 "potting medium", "N-P2O5-K2O", "release class", "a cover we know"):  # fmt: skip
        assert part in told


def test_one_measure_for_both_spreads_is_complained_of_once(tmp_path: Path):
    found = errors_of(tmp_path, GOOD.replace('height = "2 m"', "spread = 2"))

    assert [problem.message for problem in found] == ["tree 'one', spread: 2 has no unit"]
    assert len(errors_of(tmp_path, GOOD.replace('height = "2 m"', 'spread = [2, "1 kg"]'))) == 2


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("planted = 2020-03-01", "planted = 1820-03-01"), "more than 200 years ago"),
        (("latitude = 41.7", "latitude = 69.2"), "polar circle"),
        (('height = "2 m"', 'rootstock = "sweet lemon"'), "not a rootstock we know"),
        (('height = "2 m"', 'done = [{ date = 2024-02-01, job = "feed", amount = "1 kg" }]'), "a feeding names no product"),
        (('height = "2 m"', 'done = [{ date = 2024-02-01, job = "prune", look = "girth" }]'), "look belongs to"),
        (('height = "2 m"', 'leaf_tests = [{ date = 2027-02-01, n = "2.4 %" }]'), "leaf tests on 2027-02-01 lies after"),
    ],
)  # fmt: skip
def test_what_is_doubtful_is_warned_about_and_used(
    change: tuple[str, str], message: str, tmp_path: Path
):
    found = problems_of(tmp_path, GOOD.replace(*change))

    assert [p.severity for p in found if message in p.message] == ["warning"]
    assert not [p for p in found if p.severity == "error"]


def test_feeding_with_a_product_and_a_harvest_of_next_year_are_not_complained_of(tmp_path: Path):
    """Fruit of a bloom in November may be picked, and noted, under the coming year."""
    shelf = '[[product]]\nid = "b"\nname = "b"\nlabel = "5-5-5"\nrelease = "soluble"\ncup_mass = "8 oz"\n'
    text = GOOD.replace(
        'height = "2 m"',
        'height = "2 m"\ndone = [{ date = 2024-02-01, job = "feed", product = "b" }]\n'
        'harvests = [{ year = 2027, mass = "3 kg" }]',
    )

    assert not [
        p
        for p in problems_of(tmp_path, text + shelf)
        if "product" in p.message or "harvest" in p.message
    ]


@pytest.mark.parametrize("cup", ["5 g", "2 kg"])
def test_a_cup_that_cannot_be_is_refused(cup: str, tmp_path: Path):
    shelf = f'[[product]]\nid = "b"\nname = "b"\nlabel = "5-5-5"\nrelease = "soluble"\ncup_mass = "{cup}"\n'

    assert any(
        "a cup of product" in p.message and p.line for p in errors_of(tmp_path, GOOD + shelf)
    )


@pytest.mark.parametrize(
    ("written", "grams"), [("600 L", 600_000), ("10 kg", 10_000), ("100 gal", 378_541.18)]
)
def test_water_is_noted_by_volume_or_by_mass(written: str, grams: float, tmp_path: Path):
    """A litre of water weighs a kilogram; a US gallon is 3.785411784 L by definition."""
    more = f'done = [{{ date = 2026-08-01, job = "water", amount = "{written}" }}]\n'
    loaded = opened(tmp_path, tree("navel", more=more), place=None)

    assert loaded.garden.trees[0].done[0].amount == pytest.approx(grams, abs=0.01)


def test_a_look_is_noted_by_its_key(tmp_path: Path):
    more = 'done = [{ date = 2026-08-01, job = "inspect", look = "Girth" }]\n'
    loaded = opened(tmp_path, tree("navel", more=more), place=None)

    assert loaded.garden.trees[0].done[0].look == "girth"


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("mm 111", "MM111"),
        ("M111", "MM111"),
        ("gisela-5", "Gisela 5"),
        ("Citrumelo", "citrumelo"),
        ("Carrizo citrange", "citrange"),
        ("St. Julien", "St Julien A"),
    ],
)
def test_a_rootstock_is_known_by_its_other_spellings(written: str, key: str, tmp_path: Path):
    loaded = opened(tmp_path, tree("apple", more=f'rootstock = "{written}"\n'), place=None)

    assert loaded.garden.trees[0].rootstock == key
    assert not [p for p in loaded.problems if "rootstock" in p.message]


def test_other_names_of_an_item_come_from_its_table():
    book = knowledge()
    also = replace(next(iter(book.table("rootstocks").values()))["remark"], value="Carrizo, Troyer")
    named = {**book.tables, "rootstocks": {"citrange": {"also": also}, "M9": {}}}

    assert replace(book, tables=named).item_key("rootstocks", "carrizo") == "citrange"


def test_a_part_that_several_items_share_is_refused_with_all_of_them():
    with pytest.raises(BadInput, match="quince A") as refused:
        knowledge().item("rootstocks", "seedling pea quince")
    assert "seedling" in str(refused.value)
    with pytest.raises(BadInput, match="granular mineral, granular organic"):
        knowledge().item("releases", "granular")


@pytest.mark.parametrize(
    ("written", "metres"), [("7 ft 3 in", 2.2098), ("7' 3\"", 2.2098), ("2 m 10 cm", 2.1)]
)
def test_two_units_together_are_one_measure(written: str, metres: float):
    """1 ft is 0.3048 m and 1 in 0.0254 m by definition (international yard and pound, 1959)."""
    assert parse(written, "height") == pytest.approx(metres, abs=1e-9)


def test_pounds_and_ounces_go_together():
    """5 lb 4 oz are 84 oz of 28.349523125 g."""
    assert parse("5 lb 4 oz", "mass") == pytest.approx(84 * 28.349523125, abs=1e-6)


@pytest.mark.parametrize(
    "written", ["7 ft 14 in", "7 ft 3 lb", "3 in 7 ft", "50 degF 3 in", "2 m extra", "7 ft 3"]
)
def test_two_units_that_are_no_measure_are_refused(written: str):
    with pytest.raises(BadInput):
        parse(written, "height")


def test_a_folder_is_no_garden_file(tmp_path: Path):
    with pytest.raises(BadInput, match="is a folder"):
        api.open_garden(tmp_path, TODAY)


def test_a_rule_for_the_whole_year_has_no_day_after():
    always = NoFeeding.model_validate({"from": "01-01", "to": "12-31"})
    around = NoFeeding.model_validate({"from": "07-01", "to": "06-30"})
    summer = NoFeeding.model_validate({"from": "06-01", "to": "09-30"})

    assert always.day_after(date(2023, 5, 1)) is None
    assert around.day_after(date(2023, 5, 1)) is None
    assert summer.day_after(date(2023, 7, 1)) == date(2023, 10, 1)
    assert summer.day_after(date(2023, 5, 1)) == date(2023, 5, 1)


def test_a_tree_is_found_by_its_name_where_only_one_has_it(tmp_path: Path):
    trees = tree("navel", more='name = "Laranjeira"\n') + "".join(
        tree("apple", more='name = "Row"\n').replace('"one"', f'"{key}"')
        for key in ("two", "three")
    )
    garden = opened(tmp_path, trees, place=None).garden

    assert garden.tree("laranjeira").id == garden.tree("ONE").id == "one"
    with pytest.raises(BadInput, match=r"2 trees are called 'row'.*two, three"):
        garden.tree("row")


@pytest.mark.parametrize(
    ("own", "message"),
    [
        ('[kind.x]\nname = "x"\nparent = "satsuma"\nfacts = 3\n', "facts expects a table"),
        ('[kind.x]\nname = "x"\nparent = ["satsuma"]\n', "parent expects words"),
        ('[kind.x]\nname = "x"\nparent = "satsuma"\nalso = "lemon"\n', "also expects a list"),
        ("[kind.x]\nname = 3\n", "name expects words"),
        ("[kind]\nx = 3\n", "'x' is not a kind"),
        ('[[kind]]\nname = "x"\n', "own kinds are written as tables"),
        ('[kind.x]\nname = "x"\nparent = "satsuma"\nabstract = "no"\n', "abstract expects"),
        (
            '[kind.x]\nname = "x"\nparent = "satsuma"\n[kind.x.facts]\nbloom_to_ripe = []\n',
            "expects a number",
        ),
    ],
)
def test_a_wrong_type_in_an_own_kind_is_told(own: str, message: str, tmp_path: Path):
    assert any(message in problem.message for problem in errors_of(tmp_path, GOOD + own))


def test_a_kinds_file_may_begin_with_a_byte_order_mark(tmp_path: Path):
    (tmp_path / "kinds").mkdir()
    (tmp_path / "kinds" / "mine.toml").write_text(
        '[hill-apple]\nname = "hill apple"\nparent = "apple"\n', encoding="utf-8-sig"
    )

    assert opened(tmp_path, tree("hill-apple"), place=None).garden.trees


def test_a_broken_kinds_file_is_told_with_its_line(tmp_path: Path):
    (tmp_path / "kinds").mkdir()
    (tmp_path / "kinds" / "mine.toml").write_text("[hill-apple]\nname = hill\n")
    found = errors_of(tmp_path, GOOD)

    assert [(Path(p.where).name, p.line) for p in found] == [("mine.toml", 2)]


@pytest.mark.parametrize(
    ("written", "complaint"),
    [
        ('kept_for = ["pots"]', "kept for 'pots', which is no tree"),
        ('pack = "0 kg"', "pack is nothing"),
        ('opened = "no"', "opened"),
    ],
)
def test_a_product_that_cannot_be_is_told_with_its_line(
    written: str, complaint: str, tmp_path: Path
):
    head = SHELF.replace('id = "meal"', f'id = "meal"\n{written}')
    with pytest.raises(BadFile) as caught:
        opened(tmp_path, tree("lemon"), head=head, place=None)

    told = [p for p in caught.value.problems if complaint in p.message]
    assert [p.severity for p in told] == ["error"]
    assert told[0].line
    assert told[0].hint or "expects" in told[0].message


def test_rules_and_labels_that_do_nothing_are_doubted(tmp_path: Path):
    rules = (
        '[[no_feeding]]\nfrom = "01-01"\nto = "12-31"\n[[no_feeding]]\nfrom = "06-01"\nto = "07-01"\n'
        "nutrients = []\n"
    )
    head = SHELF.replace('label = "12-0-0"', 'label = "0-0-0"') + rules
    loaded = opened(tmp_path, tree("lemon"), head=head, place=None)

    told = " ".join(p.message for p in loaded.problems if p.severity == "warning" and p.line)
    for part in ("leaves no day of the year open", "forbids no nutrient", "feeds nothing"):
        assert part in told


def test_unknown_leaf_norms_are_told_with_their_line(tmp_path: Path):
    more = 'leaf_tests = [{ date = 2026-08-10, norms = "Minho citrus", n = "2.4 %" }]'
    with pytest.raises(BadFile) as caught:
        opened(tmp_path, tree("lemon", more=more), place=None)

    assert [p.line is not None for p in caught.value.problems if "Minho citrus" in p.message] == [
        True
    ]


def test_a_group_named_as_a_kind_is_answered_with_its_kinds(tmp_path: Path):
    with pytest.raises(BadFile) as caught:
        opened(tmp_path, tree("plum"), place=None)

    hints = [p.hint for p in caught.value.problems if "unknown kind 'plum'" in p.message]
    assert len(hints) == 1
    assert "european-plum" in hints[0]
    assert "apricot" not in hints[0]


def test_open_water_may_be_far_off(tmp_path: Path):
    loaded = opened(tmp_path, tree("lemon"), head='[feeding]\ndistance_to_water = "1.5 km"\n')

    assert loaded.garden.feeding.distance_to_water == 1500.0
