"""The pages of a past season: page, JSON, command and api agree; spans are chosen and refused plainly."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from bearwell.api import look_back, open_garden, write_demo
from bearwell.faces.cli import cli
from bearwell.faces.season import CHANGE_WORDS, VERDICT_WORDS, season_twin
from bearwell.faces.twins import words_of
from bearwell.faces.web import create_app
from stores import kept, write
from test_web import Outline, client_of
from web_garden import TODAY, write_garden

TREE = "satsuma-gate"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client_of(write_garden(tmp_path_factory.mktemp("small")))


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def demo(file: Path) -> TestClient:
    return TestClient(create_app(file, today=lambda: TODAY), base_url="http://127.0.0.1")


@pytest.mark.parametrize(
    "place", ["/season", "/tree/clementine-low/season", "/tree/peach.wall/season"]
)
def test_a_page_has_its_twin_and_escapes_names(small: TestClient, place: str):
    page, twin = small.get(place), small.get(f"{place}.json")

    assert page.status_code == twin.status_code == 200
    assert f'href="{place}.json?since=2025-11-25&amp;until=2026-11-25"' in page.text
    outline = Outline(page.text)
    assert "<script>alert" not in page.text
    assert not [key for key, _ in outline.attributes if key == "style" or key.startswith("on")]
    assert "img" not in outline.tags  # a note of that garden tries to be one
    assert twin.json()["today"] == "2026-11-25"


def test_a_large_garden_is_looked_back_on_in_several_answers_that_say_how_far_they_are(
    file: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("bearwell.api.season._mornings", {})
    monkeypatch.setattr("bearwell.faces.web.routes.season.AT_ONCE", 30)
    client = TestClient(create_app(file, today=lambda: TODAY), base_url="http://127.0.0.1")
    come = [0]
    while '<meta http-equiv="refresh"' in (page := client.get("/season")).text:
        told = re.search(r"(\d+) of (\d+) trees are looked back on so far", page.text)
        assert told, page.text
        assert f'<progress class="come" max="{told[2]}" value="{told[1]}"' in page.text
        assert "season-tree" not in page.text, "no sum of a part is shown as that of the whole"
        come.append(int(told[1]))
        assert come[-1] > come[-2], "it goes on from where it was"
    assert len(come) > 3

    assert page.text == _at_once(file)
    assert client.get("/season").text == page.text


def _at_once(file: Path) -> str:
    return (
        TestClient(create_app(file, today=lambda: TODAY), base_url="http://127.0.0.1")
        .get("/season")
        .text
    )


def test_a_twin_is_whole_at_the_first_asking(file: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("bearwell.api.season._mornings", {})
    monkeypatch.setattr("bearwell.faces.web.routes.season.AT_ONCE", 1)
    client = TestClient(create_app(file, today=lambda: TODAY), base_url="http://127.0.0.1")
    opened = open_garden(file, TODAY)
    assert len(client.get("/season.json").json()["trees"]) == len(look_back(opened).trees)


def test_the_twin_is_what_the_api_says(demo: TestClient, file: Path):
    opened = open_garden(file, TODAY)
    said = season_twin(look_back(opened), words_of(opened))

    assert demo.get("/season.json").json() == json.loads(json.dumps(said))


def test_the_command_gives_the_twin(demo: TestClient, file: Path):
    done = CliRunner().invoke(cli, ["season", str(file), "--today", f"{TODAY}", "--tree", TREE, "--json"])  # fmt: skip

    assert json.loads(done.output) == demo.get(f"/tree/{TREE}/season.json").json()


def test_the_command_lists_every_advice_of_a_tree_with_its_verdict(demo: TestClient, file: Path):
    done = CliRunner().invoke(cli, ["season", str(file), "--today", f"{TODAY}", "--tree", TREE, "--why"])  # fmt: skip
    (one,) = demo.get(f"/tree/{TREE}/season.json").json()["trees"]
    flat = " ".join(done.output.split())

    assert one["lines"]
    for line in one["lines"]:
        assert line["headline"] in flat
        assert VERDICT_WORDS[line["verdict"]] in flat
    for change in one["changes"]:
        assert CHANGE_WORDS[change["key"]] in flat
        assert change["because"][0]["statement"] in flat


def test_the_page_tells_every_tree_and_every_change(demo: TestClient):
    page = unescape(demo.get("/season").text)
    twin = demo.get("/season.json").json()

    assert len(twin["trees"]) == 18
    for one in twin["trees"]:
        assert f'id="tree-{one["tree"]}"' in page
        assert f"/tree/{one['tree']}/season?since={twin['since']}" in page
        for change in one["changes"]:
            assert change["headline"] in page
    assert page.count('class="group"') == len(
        {change["key"] for one in twin["trees"] for change in one["changes"]}
        | {change["key"] for change in twin["changes"]}
    )


def test_a_tree_draws_its_days_and_links_back(demo: TestClient):
    page = demo.get(f"/tree/{TREE}/season").text

    assert page.count('class="year-drawing') == 2
    assert f'href="/tree/{TREE}"' in page
    assert f'href="/tree/{TREE}/season"' in demo.get(f"/tree/{TREE}").text
    assert 'href="/season"' in demo.get("/").text


def test_a_past_span_draws_no_today(demo: TestClient):
    page = demo.get(f"/tree/{TREE}/season?since=2026-01-01&until=2026-06-30").text

    assert 'class="year-drawing' in page
    assert 'class="today"' not in page


def test_a_span_is_chosen_by_its_form(demo: TestClient):
    found = demo.get("/season.json?since=2026-02-01&until=2026-05-31").json()
    page = demo.get("/season?since=2026-02-01&until=2026-05-31").text

    assert (found["since"], found["until"]) == ("2026-02-01", "2026-05-31")
    assert 'value="2026-02-01"' in page
    assert demo.get("/season?since=&until=").status_code == 200


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("since=spring", "is no date"),
        ("since=2026-11-24", "cannot be looked back on"),
        ("until=2027-01-01", "still to come"),
        ("until=0001-01-02", "too long ago"),
        ("since=2026-05-01&until=2026-04-01", "cannot be looked back on"),
    ],
)
def test_a_span_that_cannot_be_is_refused_with_a_hint(demo: TestClient, asked: str, said: str):
    for place in ("/season", "/season.json", f"/tree/{TREE}/season"):
        answer = demo.get(f"{place}?{asked}")
        assert answer.status_code == 422
        assert said in answer.text


def test_an_unknown_tree_is_not_found(demo: TestClient):
    for place in ("/tree/nobody/season", "/tree/nobody/season.json"):
        assert demo.get(place).status_code == 404


def test_a_store_without_trees_has_a_calm_page(tmp_path: Path):
    empty = write(tmp_path / "file", " ")
    kept(str(tmp_path / "data"), empty, TODAY).close()
    client = TestClient(create_app(tmp_path / "data", today=lambda: TODAY), base_url="http://127.0.0.1")  # fmt: skip
    page = client.get("/season")

    assert page.status_code == 200
    assert "no tree to look back on" in page.text
    assert client.get("/season.json").json()["trees"] == []


def test_every_verdict_and_change_has_words():
    from bearwell import api

    assert set(VERDICT_WORDS) == set(api.VERDICTS)
    source = "".join(
        one.read_text("utf-8") for one in Path(api.__file__).parents[1].glob("plan/change*.py")
    )
    keys = set(re.findall(r'Change\(\s*"([a-z-]+)"', source))
    assert len(keys) > 10
    assert keys <= set(CHANGE_WORDS)
