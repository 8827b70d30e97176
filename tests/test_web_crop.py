"""The pages of a tree's crop and of counting it: what they show, their JSON, bad input, no script needed."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web.app import create_app
from browsing import expect, page_of
from running import running

TODAY = date(2026, 5, 20)
ORIGIN = "http://127.0.0.1"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    path = api.write_demo(tmp_path_factory.mktemp("crop"), TODAY)
    return TestClient(create_app(path, today=lambda: TODAY), base_url=ORIGIN)


def count(client: TestClient, **query: Any) -> dict[str, Any]:
    answer = client.get(f"/tree/anna-steps/count.json?{urlencode(query, doseq=True)}")
    found: dict[str, Any] = answer.json()
    return found


class TestCropPage:
    def test_every_tree_has_its_page_and_its_twin(self, client: TestClient):
        trees = [one["tree"] for one in client.get("/trees.json").json()["trees"]]

        for tree in trees:
            page, twin = client.get(f"/tree/{tree}/crop"), client.get(f"/tree/{tree}/crop.json")
            assert (page.status_code, twin.status_code) == (200, 200), tree
            assert "None" not in re.sub(r"<[^>]+>", " ", page.text).replace(
                "None are counted", ""
            ), tree
            assert len(twin.json()["years_ahead"]["years"]) == 10

    def test_the_tightest_rule_is_marked_and_the_same_in_both(self, client: TestClient):
        twin = client.get("/tree/anna-steps/crop.json").json()
        page = client.get("/tree/anna-steps/crop").text
        best = [one for one in twin["rules"] if one["holds"]]

        assert len(best) == 1
        assert best[0]["fruit"]["value"] == min(one["fruit"]["value"] for one in twin["rules"])
        assert twin["keep"] == best[0]["fruit"]["value"]
        assert page.count(">holds<") == 1
        assert all(one["because"] for one in twin["rules"])

    def test_what_thinning_buys_stands_side_by_side(self, client: TestClient):
        buys = client.get("/tree/anna-steps/crop.json").json()["buys"]

        assert buys["thinned"]["fruit_g"]["value"] > buys["kept"]["fruit_g"]["value"]
        assert buys["thinned"]["ripe_from"] <= buys["kept"]["ripe_from"]
        assert "What thinning buys" in client.get("/tree/anna-steps/crop").text

    def test_a_tree_without_a_count_is_sent_to_count(self, client: TestClient):
        page = client.get("/tree/golden-low/crop").text

        assert 'href="/tree/golden-low/count"' in page
        assert client.get("/tree/golden-low/crop.json").json()["counted"] is None

    def test_the_drawing_has_its_table_and_its_words(self, client: TestClient):
        page = client.get("/tree/golden-low/crop").text

        assert page.count('role="img"') == 2
        assert "<desc" in page
        assert "The drawing as a table" in page
        for words in ("Keep all that sets", "Thin each year", "Strip a heavy year"):
            assert words in page

    def test_the_tree_page_leads_here(self, client: TestClient):
        page = client.get("/tree/anna-steps").text

        assert 'href="/tree/anna-steps/crop"' in page
        assert 'href="/tree/anna-steps/count"' in page

    @pytest.mark.parametrize("path", ["crop", "crop.json", "count", "count.json"])
    def test_an_unknown_tree_is_not_found(self, client: TestClient, path: str):
        assert client.get(f"/tree/nowhere/{path}").status_code == 404


class TestCountPage:
    def test_a_walk_goes_fork_by_fork_without_a_script(self, client: TestClient):
        """The form alone: girths in, a branch out; fruit in, an estimate and a line for the file out."""
        one = count(client, how="walks", seed=7, girths="14 9 6", do="choose")
        assert one["estimate"] is None
        fork = one["forks"][0]
        share = fork["girths_m"][fork["taken"] - 1] ** 2 / sum(g * g for g in fork["girths_m"])
        assert one["chance"] == pytest.approx(share, abs=1e-6)

        sent = f"{','.join(str(g) for g in fork['girths_m'])}@{fork['taken'] - 1}"
        two = count(client, how="walks", seed=7, fork=sent, fruit="12", do="end")
        assert two["walks"] == [{"probability": one["chance"], "fruit": 12}]
        assert two["estimate"]["fruit"] == pytest.approx(12 / share, abs=0.2)
        assert two["line"].startswith("counts = [ { date = 2026-05-20, paths = [{ probability")

    def test_the_same_sheet_chooses_the_same_branch(self, client: TestClient):
        first = count(client, how="walks", seed=7, girths="14 9 6")
        again = count(client, how="walks", seed=7, girths="14 9 6")

        assert first["forks"] == again["forks"]

    def test_chance_follows_the_sections(self, client: TestClient):
        """Of many sheets the thick branch is taken as often as its section says: 16 of 20 (theory)."""
        taken = [
            count(client, how="walks", seed=seed, girths="20 10")["forks"][0]["taken"]
            for seed in range(150)
        ]

        assert 0.7 < taken.count(1) / 150 < 0.9

    def test_the_line_it_gives_loads(self, client: TestClient, tmp_path: Path):
        from bearwell.garden import load_garden
        from bearwell.knowledge import knowledge

        queries: list[dict[str, Any]] = [
            {"how": "walks", "walk": ["0.25:13", "0.3:20", "0.2:11"]},
            {"how": "whole", "fruit": "120"},
            {"how": "part", "part": "25", "fruit": "30"},
            {"how": "frames", "frame": "50", "frames": "3 4 5"},
            {"how": "halves", "first": "40", "second": "12", "first_name": 'no"rth', "second_name": "süd"},
        ]  # fmt: skip
        for query in queries:
            line = count(client, **query)["line"]
            file = tmp_path / "garden.toml"
            file.write_text(
                'bearwell = 1\n[garden]\nname = "x"\n[site]\nlatitude = 41.7\nlongitude = -8.8\n'
                f'[[tree]]\nid = "a"\nkind = "apple"\nplanted = 2019-01-01\n{line}\n',
                "utf-8",
            )
            read = load_garden(file, knowledge(), TODAY)
            assert [str(one) for one in read.problems if one.severity == "error"] == [], line
            assert len(read.garden.trees[0].counts) == 1

    def test_more_walks_say_how_many_more_are_wanted(self, client: TestClient):
        estimate = count(client, how="walks", walk=["0.25:13", "0.3:20", "0.2:11", "0.4:9"])[
            "estimate"
        ]

        assert estimate["low"] < estimate["fruit"] < estimate["high"]
        assert estimate["more_for_10_pct"] > 0

    @pytest.mark.parametrize(
        ("query", "said"),
        [
            ({"how": "dowsing"}, "no way to count"),
            ({"how": "walks", "walk": "1.4:20"}, "is no walk"),
            ({"how": "walks", "walk": "0:20"}, "is no walk"),
            ({"how": "walks", "fork": "0.1@3"}, "is no fork"),
            ({"how": "walks", "girths": "14"}, "two branches or more"),
            ({"how": "walks", "girths": "a lot"}, "not a number"),
            ({"how": "walks", "fruit": "12", "do": "end"}, "no fork was walked yet"),
            ({"how": "walks", "fork": "0.1,0.05@0", "do": "end"}, "how many fruit"),
            ({"how": "whole", "fruit": "many"}, "cannot be"),
            ({"how": "part", "fruit": "30", "part": "300"}, "not plausible"),
            ({"how": "frames", "frames": "3 x"}, "cannot be"),
            ({"how": "halves", "first": "3", "second": "4", "first_name": "a", "second_name": "a"}, "one name"),
        ],
    )  # fmt: skip
    def test_what_cannot_be_counted_is_refused_in_words(
        self, client: TestClient, query: dict[str, str], said: str
    ):
        answer = client.get(f"/tree/anna-steps/count?{urlencode(query)}")
        twin = client.get(f"/tree/anna-steps/count.json?{urlencode(query)}")

        assert (answer.status_code, twin.status_code) == (422, 422)
        assert said in f"{twin.json()['complaint']} {twin.json()['hint']}"
        assert 'role="alert"' in answer.text

    def test_an_absurd_count_is_doubted(self, client: TestClient):
        assert count(client, how="whole", fruit="90000")["estimate"]["implausible"] is True

    def test_a_step_can_be_taken_back(self, client: TestClient):
        back = count(client, how="walks", walk=["0.25:13", "0.3:20"], do="back")

        assert back["walks"] == [{"probability": 0.25, "fruit": 13}]

    def test_markup_in_what_was_typed_stays_text(self, client: TestClient):
        page = client.get(
            "/tree/anna-steps/count", params={"how": "whole", "fruit": "<script>alert(1)</script>"}
        ).text

        assert "<script>alert" not in page
        assert 'style="' not in page
        assert "onsubmit" not in page


@pytest.mark.browser
def test_the_script_walks_without_the_server(client: TestClient, browser: Any, tmp_path: Path):
    """With the script a whole walk is done in the page: no request is sent, and the address keeps the sheet."""
    path = api.write_demo(tmp_path, TODAY)
    with running(create_app(path, today=lambda: TODAY)) as (home, _):
        page = page_of(browser)
        page.goto(f"{home}/tree/anna-steps/count")
        page.context.set_offline(True)
        page.fill("#girths", "14 9")
        page.click("text=Choose")
        expect(page.locator("#now")).to_contain_text("Take branch")
        page.fill("#fruit", "21")
        page.click("text=End walk")
        expect(page.locator("#walks")).to_contain_text("stands for")
        expect(page.locator("#line")).to_have_text(re.compile(r"^counts = \[ \{ date = 2026-05-20"))
        page.fill("#girths", "14")
        page.click("text=Choose")
        expect(page.locator(".complaint")).to_contain_text("two branches")
        sheet = page.evaluate("location.search")
        told = page.inner_text("#estimate")
        page.close()
    assert "walk=" in sheet
    server_says = client.get(f"/tree/anna-steps/count.json{sheet}").json()["estimate"]
    assert told.startswith(str(round(server_says["fruit"])))
