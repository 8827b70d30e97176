"""The page of the leaf key and its JSON twin: a plain form that works without scripts."""

from __future__ import annotations

from datetime import date
from html import unescape
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from bearwell.api import diagnose, leaf_key
from test_web import HERE, Outline, client_of
from web_garden import SHARED_SCRIPTS, TODAY, scripts_of, write_garden

HLB = {"which": "one-branch", "pattern": "mottle-uneven", "fruit": "lopsided"}
WINTER = {"which": "whole-tree", "pattern": "even-yellow", "past": "cold-wet"}


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_garden(tmp_path_factory.mktemp("leaf"))


@pytest.fixture(scope="module")
def client(path: Path) -> TestClient:
    return client_of(path)


def ask(client: TestClient, given: dict[str, object], twin: bool = False):  # type: ignore[no-untyped-def]
    return client.get(f"/leaf{'.json' if twin else ''}?{urlencode(given, doseq=True)}")


def test_the_empty_form_asks_every_question_and_answers_none(client: TestClient) -> None:
    page = client.get("/leaf")
    outline = Outline(page.text)

    assert page.status_code == 200
    assert outline.headings[0] == 1
    assert 'id="result"' not in page.text
    values = {
        one.get("value") for one in outline.inputs if one.get("type") in ("radio", "checkbox")
    }
    assert {sign.key for one in leaf_key().asked for sign in one.signs} <= values
    assert not values & {"summer", "in-pot"}, "the day and the tree are not asked"


def test_the_form_is_plain_and_every_field_has_its_label(client: TestClient) -> None:
    page = ask(client, HLB)
    outline = Outline(page.text)

    assert outline.open == []
    assert len(set(outline.ids)) == len(outline.ids)
    assert scripts_of(page.text) == SHARED_SCRIPTS
    assert 'action="/leaf" method="get"' in page.text
    assert {one["id"] for one in outline.inputs} <= outline.labels
    assert max(after - before for before, after in pairwise(outline.headings)) <= 1


def test_the_answer_comes_before_the_form_so_that_a_phone_shows_it(client: TestClient) -> None:
    page = ask(client, HLB).text

    assert page.index('id="result"') < page.index('id="ticks"')
    assert 'href="#ticks"' in page


def test_what_was_ticked_stays_ticked(client: TestClient) -> None:
    outline = Outline(ask(client, {**HLB, "tree": "clementine-low"}).text)

    ticked = {one["value"] for one in outline.inputs if "checked" in one and one["value"]}
    assert ticked == set(HLB.values())


def test_a_tree_of_the_garden_brings_its_kind_and_its_pot(client: TestClient) -> None:
    sent = {"pattern": "even-yellow", "tree": "calamondin-pot"}
    given = ask(client, sent, twin=True).json()["given"]

    assert (given["kind"], given["place"], given["day"]) == ("calamondin", "pot", TODAY.isoformat())


def test_greening_is_reported_and_not_moved(client: TestClient) -> None:
    page = unescape(ask(client, {**HLB, "tree": "clementine-low"}).text)

    assert "Citrus greening" in page
    assert "Report it." in page
    assert "Do not move" in page
    assert "Pen test" in page
    assert "must be reported" in page


def test_a_peach_is_never_told_of_greening(client: TestClient) -> None:
    assert "greening" not in ask(client, {**HLB, "tree": "peach.wall"}).text


def test_page_and_twin_say_the_same_as_the_library(client: TestClient) -> None:
    given = {**WINTER, "kind": "navel", "place": "ground", "day": "2026-01-20"}
    twin = ask(client, given, twin=True).json()
    page = unescape(ask(client, given).text)
    own = diagnose(WINTER.values(), kind="navel", in_pot=False, day=date(2026, 1, 20))

    assert [one["cause"] for one in twin["diagnoses"]] == [one.key for one in own]
    assert twin["diagnoses"][0]["cause"] == "cold-roots"
    for one in own:
        for text in (one.name, one.test, one.remedy, one.send):
            assert text in page
    first = twin["diagnoses"][0]
    assert first["because"][0]["source"] == "ucmg-santa-clara-citrus"
    assert first["score"] == own[0].score


def test_the_page_points_to_its_twin_and_others_point_to_it(client: TestClient) -> None:
    page = ask(client, HLB).text

    assert 'href="/leaf.json?which=one-branch' in page
    assert "/leaf" in Outline(client.get("/reckon").text).links
    assert "/leaf" in Outline(client.get("/").text).links


def test_the_empty_twin_holds_the_questions(client: TestClient) -> None:
    twin = client.get("/leaf.json").json()

    assert [one["question"] for one in twin["questions"]] == [one.key for one in leaf_key().asked]
    assert twin["diagnoses"] == []


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"past": "dry"}, "nothing is ticked that can be seen"),
        ({"which": ["old-leaves", "young-leaves"]}, "give one answer"),
        ({"pattern": "nonsense"}, "is no answer to"),
        ({"which": "even-yellow"}, "is no answer to"),
        ({"pattern": "even-yellow", "kind": "navle"}, "navle"),
        ({"pattern": "even-yellow", "tree": "no-such"}, "no-such"),
        ({"pattern": "even-yellow", "place": "moon"}, "moon"),
        ({"pattern": "even-yellow", "day": "yesterday"}, "not a date"),
        ({"pattern": "<script>alert(1)</script>"}, "is no answer to"),
    ],
)
def test_what_cannot_be_answered_is_said_in_the_form(
    client: TestClient, given: dict[str, object], words: str
) -> None:
    page, twin = ask(client, given), ask(client, given, twin=True)

    assert page.status_code == 422
    assert words in unescape(page.text)
    assert "<script>alert" not in page.text
    assert 'role="alert"' in page.text
    assert twin.status_code == 422
    assert words in twin.json()["problems"][0]["message"] + twin.json()["problems"][0]["hint"]


def test_it_works_while_the_garden_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "garden.toml").write_text("bearwell = 1\n[garden", "utf-8")
    client = client_of(tmp_path / "garden.toml")
    page = ask(client, {"which": "old-leaves", "pattern": "green-arrow", "kind": "apple"})

    assert page.status_code == 200
    assert "Short of magnesium" in page.text
    assert 'name="tree"' not in page.text


def test_nothing_that_fits_sends_to_the_extension_service(client: TestClient) -> None:
    page = ask(client, {"pattern": "trails", "kind": "fig"})

    assert page.status_code == 200
    assert "show them to your extension service" in page.text


def test_it_is_safe_as_every_page_is(client: TestClient) -> None:
    answer = ask(client, HLB)

    assert "default-src" in answer.headers["content-security-policy"]
    assert HERE.startswith("http://127.0.0.1")
    assert "style=" not in answer.text
