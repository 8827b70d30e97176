"""The garden from above: places in the garden file, crowding by plain geometry, the page and its JSON."""

from __future__ import annotations

from datetime import timedelta
from math import hypot
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.errors import BadFile, BadInput
from bearwell.faces.web.drawing.map import Ground
from bearwell.faces.web.pages.map import place_line
from bearwell.garden import load_garden
from bearwell.knowledge import knowledge
from gardens import TODAY, opened, write_garden
from test_web import Outline, client_of
from web_garden import SHARED_SCRIPTS

PLANTED = TODAY - timedelta(days=12 * 365)


def at(
    name: str, east: float, north: float, spread: str, *, kind: str = "navel", more: str = ""
) -> str:
    """A grown tree of this width at a place."""
    return (
        f'[[tree]]\nid = "{name}"\nkind = "{kind}"\nplanted = {PLANTED}\nheight = "2.5 m"\nspread = "{spread}"\n'
        f'place = {{ east = "{east} m", north = "{north} m" }}\n{more}\n'
    )


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client_of(api.write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> api.LoadedGarden:
    path = api.write_demo(tmp_path_factory.mktemp("crowded"), TODAY)
    return api.open_garden(path, TODAY)


class TestPlaces:
    def test_a_place_is_read_in_any_length_and_on_either_side_of_the_corner(self, tmp_path: Path):
        text = (
            '[[tree]]\nid = "a"\nkind = "navel"\nplanted = 2015-03-01\n'
            'place = { east = "10 ft", north = "-150 cm" }\n'
        )
        (tree,) = load_garden(write_garden(tmp_path, text), knowledge(), TODAY).garden.trees

        assert tree.place is not None
        assert tree.place.east == pytest.approx(3.048)  # a foot is 0.3048 m by definition
        assert tree.place.north == pytest.approx(-1.5)

    @pytest.mark.parametrize(
        ("place", "told"),
        [
            ('{ east = "3 m" }', "north is missing"),
            ('{ east = 3, north = "1 m" }', "3 has no unit"),
            ('{ east = "3 m", north = "1 m", up = "1 m" }', "unknown key 'up'"),
            ('{ east = "3 kg", north = "1 m" }', "mass"),
            ('{ east = "9 km", north = "1 m" }', "9"),
            ('"by the wall"', "place"),
        ],
    )
    def test_a_place_that_is_none_is_told_with_its_line(
        self, tmp_path: Path, place: str, told: str
    ):
        text = f'[[tree]]\nid = "a"\nkind = "navel"\nplanted = 2015-03-01\nplace = {place}\n'
        path = write_garden(tmp_path, text)
        line = path.read_text("utf-8").splitlines().index(f"place = {place}") + 1
        with pytest.raises(BadFile) as refused:
            load_garden(path, knowledge(), TODAY)

        assert [(one.line, told in one.message) for one in refused.value.problems] == [(line, True)]

    def test_two_trees_on_one_spot_are_doubted(self, tmp_path: Path):
        text = at("a", 1, 2, "2 m") + at("b", 1, 2, "2 m").replace('"1 m"', '"100 cm"')
        read = load_garden(write_garden(tmp_path, text), knowledge(), TODAY)

        (told,) = (one for one in read.problems if "same spot" in one.message)
        assert told.severity == "warning"
        assert told.message == "tree 'b' stands on the same spot as tree 'a'"
        assert (
            told.line
            == [
                number
                for number, line in enumerate(read.path.read_text("utf-8").splitlines(), 1)
                if line.startswith("place")
            ][1]
        )

    def test_a_shelter_says_where_its_middle_is_and_how_it_lies(self, tmp_path: Path):
        head = (
            '[[shelter]]\nid = "wall"\nshape = "wall"\nlength = "6 m"\nlies = "0 deg"\ncover = "wall only"\n'
            'place = { east = "2 m", north = "5 m" }\n'
        )
        plan = api.ground_plan(opened(tmp_path, at("a", 4, 4, "2 m"), head=head))
        (wall,) = plan.shelters
        ground = Ground(plan)

        assert wall.lies == 0
        # Six metres from north to south about its middle, with room beyond.
        assert ground.north > 8 and ground.south < 2

    @given(st.floats(-500, 500), st.floats(-500, 500))
    def test_the_line_to_write_reads_back(self, east: float, north: float):
        import tomllib

        from bearwell.garden.model import Where

        east, north = round(east, 1), round(north, 1)
        place = Where.model_validate(tomllib.loads(place_line(east, north))["place"])

        assert (place.east, place.north) == (pytest.approx(east), pytest.approx(north))


class TestCrowding:
    def test_canopies_that_overlap_touch_by_as_much(self, tmp_path: Path):
        loaded = opened(
            tmp_path, at("a", 0, 0, "3 m") + at("b", 2.4, 0, "2.6 m") + at("c", 0, 9, "2 m")
        )
        (crowd,) = api.ground_plan(loaded).crowds

        assert {crowd.one.tree.id, crowd.other.tree.id} == {"a", "b"}
        assert crowd.trunks == pytest.approx(2.4)
        assert crowd.apart == pytest.approx(2.4 - 1.5 - 1.3)
        assert crowd.touching

    def test_a_young_tree_grows_into_its_neighbour(self, tmp_path: Path):
        young = at("young", 2.0, 0, "0.8 m").replace(str(PLANTED), str(TODAY - timedelta(days=400)))
        loaded = opened(tmp_path, at("old", 0, 0, "2.6 m") + young)
        near = api.ground_plan(loaded, 1)
        far = api.ground_plan(loaded, 8)

        assert not near.crowds or near.crowds[0].apart_later > far.crowds[0].apart_later
        (crowd,) = far.crowds
        assert crowd.expected and not crowd.touching
        assert crowd.apart == pytest.approx(2.0 - 1.3 - 0.4)

    @given(years=st.integers(1, 29))
    def test_a_canopy_never_shrinks_with_the_years(self, crowded: api.LoadedGarden, years: int):
        sooner, later = api.ground_plan(crowded, years), api.ground_plan(crowded, years + 1)

        for one, other in zip(sooner.canopies, later.canopies, strict=True):
            assert one.spread <= one.later + 1e-9 <= other.later + 2e-9
            assert one.later_low <= one.later <= one.later_high

    def test_every_pair_that_is_not_told_keeps_apart(self, crowded: api.LoadedGarden):
        plan = api.ground_plan(crowded)
        told = {frozenset((one.one.tree.id, one.other.tree.id)) for one in plan.crowds}
        assert told

        for one in plan.placed:
            for other in plan.placed:
                if one.tree.id < other.tree.id:
                    trunks = hypot(one.east - other.east, one.north - other.north)  # type: ignore[operator]
                    touch = trunks <= (one.later_high + other.later_high) / 2
                    assert touch == (frozenset((one.tree.id, other.tree.id)) in told)

    def test_words_tell_touching_from_will_and_may(self, tmp_path: Path):
        from bearwell.faces.web.pages.map import crowd_words
        from bearwell.faces.words import Words

        (tmp_path / "alone").mkdir()
        (alone,) = api.ground_plan(opened(tmp_path / "alone", at("a", 0, 0, "2.8 m"))).canopies
        apart = round(
            (alone.later + alone.later_high) / 2, 2
        )  # two such meet only where both grow fast
        assert alone.later < apart < alone.later_high
        said = []
        for number, east in enumerate((2.7, 3.0, apart)):
            folder = tmp_path / str(number)
            folder.mkdir()
            loaded = opened(folder, at("a", 0, 0, "2.8 m") + at("b", east, 0, "2.8 m"))
            plan = api.ground_plan(loaded)
            said += [crowd_words(one, plan, Words()) for one in plan.crowds]

        assert said[0] == (
            "a and b touch already: 2.7 m from trunk to trunk, 10 cm of canopy in each other's way"
        )
        assert said[1].startswith("a and b will touch within 3 years")
        assert said[1].endswith("3 m from trunk to trunk, 20 cm between their canopies now")
        assert said[2].startswith("a and b may touch within 3 years if both grow fast")
        assert len(said) == 3

    def test_a_pot_holds_its_tree_back(self, tmp_path: Path):
        pot = 'grows_in = { container = "45 L", medium = "bark and peat" }'
        free = opened(tmp_path, at("a", 0, 0, "0.8 m", kind="calamondin"))
        (tmp_path / "pot").mkdir()
        held = opened(tmp_path / "pot", at("a", 0, 0, "0.8 m", kind="calamondin", more=pot))

        assert (
            api.ground_plan(held, 20).canopies[0].later
            <= api.ground_plan(free, 20).canopies[0].later
        )

    @pytest.mark.parametrize("years", [0, 31, -3])
    def test_years_beyond_reason_are_refused(self, tmp_path: Path, years: int):
        with pytest.raises(BadInput, match="cannot be looked ahead"):
            api.ground_plan(opened(tmp_path, at("a", 0, 0, "2 m")), years)


class TestPage:
    def test_page_and_json_tell_the_same_trees(self, demo: TestClient):
        data = demo.get("/map.json").json()
        text = demo.get("/map").text

        assert len(data["trees"]) == 18
        assert all(one["east_m"] is not None for one in data["trees"])
        for one in data["trees"]:
            assert f'data-tree="{one["tree"]}"' in text
            assert one["name"] in text
        assert data["crowding"]
        assert text.count(" touch already: ") == sum(one["touching"] for one in data["crowding"])

    def test_a_tree_stands_north_of_another_above_it(self, tmp_path: Path):
        plan = api.ground_plan(opened(tmp_path, at("a", 0, 0, "2 m") + at("b", 3, 7, "2 m")))
        ground = Ground(plan)

        assert ground.y(7) < ground.y(0)
        assert ground.x(3) > ground.x(0)
        assert (ground.y(0) - ground.y(7)) / 7 == pytest.approx((ground.x(3) - ground.x(0)) / 3)

    def test_trees_without_a_place_are_told_with_how_to_add_one(self, tmp_path: Path):
        text = at("a", 0, 0, "2 m") + '[[tree]]\nid = "b"\nkind = "fig"\nplanted = 2015-03-01\n'
        page = client_of(write_garden(tmp_path, text)).get("/map")

        assert "1 of 2 trees have a place" in page.text
        assert "place = { east = &#34;3.2 m&#34;, north = &#34;1.5 m&#34; }" in page.text
        assert 'data-set="b"' in page.text

    def test_a_garden_without_places_or_trees_has_a_page(self, tmp_path: Path):
        for number, trees in enumerate(
            ("", '[[tree]]\nid = "b"\nkind = "fig"\nplanted = 2015-03-01\n')
        ):
            folder = tmp_path / str(number)
            folder.mkdir()
            page = client_of(write_garden(folder, trees)).get("/map")
            assert page.status_code == 200
            assert "No tree has a place yet." in page.text

    def test_names_are_no_markup(self, tmp_path: Path):
        name = "name = \"<script>alert('x')</script>\"\n"
        client = client_of(write_garden(tmp_path, at("a", 0, 0, "2 m", more=name)))
        found = Outline(client.get("/map").text)

        assert found.tags.count("script") == len(SHARED_SCRIPTS) + 1  # our own
        assert not [key for key, _ in found.attributes if key.startswith("on") or key == "style"]

    def test_feet_are_shown_where_the_garden_likes_them(self, tmp_path: Path):
        text = (
            client_of(write_garden(tmp_path, at("a", 3.048, 0, "2 m"), units="us")).get("/map").text
        )

        assert "10 ft" in text
        assert 'data-units="us"' in text

    @pytest.mark.parametrize("years", ["0", "99", "x"])
    def test_years_beyond_reason_are_refused(self, demo: TestClient, years: str):
        assert demo.get(f"/map?years={years}").status_code == 422
        assert "problems" in demo.get(f"/map.json?years={years}").json()
