"""Recording on the pages: one touch, otherwise, undo; sent twice it is once; refused is told and nothing is lost."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web import create_app
from gardens import TODAY
from stores import opened, stamp, write
from web_store import HOME, JSON, client, folder

__all__ = ["folder", "client"]  # fixtures


def forms(page: str) -> list[dict[str, str]]:
    found = re.findall(r'<form class="record[^"]*".*?</form>', page, re.DOTALL)
    return [
        {name: unescape(value) for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', text)}
        for text in found
    ]


def due(client: TestClient, kind: str) -> dict[str, str]:
    """The Done form of the first job of this kind on the list."""
    return next(
        one
        for one in forms(client.get("/?days=120").text)
        if one.get("what") == "done" and f"/{kind}/" in one["advice"]
    )


def ids(client: TestClient, days: int = 120) -> set[str]:
    return {one["id"] for one in client.get(f"/week.json?days={days}").json()["advice"]}


def test_done_closes_the_job_takes_from_the_bag_and_can_be_undone(client: TestClient, folder: Path):
    form = due(client, "feed")
    with api.open_store(folder) as store:
        before = {bag.id: bag.on_hand for bag in opened(store).garden.products}

    answer = client.post("/do", data=form, follow_redirects=False)

    assert answer.status_code == 303
    assert form["advice"] not in ids(client)
    page = client.get(answer.headers["location"]).text
    assert 'id="told"' in page
    with api.open_store(folder) as store:
        after = {bag.id: bag.on_hand for bag in opened(store).garden.products}
    assert any((after[key] or 0) < (before[key] or 0) for key in before)

    undo = next(one for one in forms(page) if "record" in one)
    client.post("/undo", data=undo)

    assert form["advice"] in ids(client)
    with api.open_store(folder) as store:
        assert {bag.id: bag.on_hand for bag in opened(store).garden.products} == before


def test_sent_twice_it_is_recorded_once(client: TestClient, folder: Path):
    form = due(client, "feed")

    first = client.post("/do", data=form, headers=JSON)
    second = client.post("/do", data=form, headers=JSON)

    assert (first.status_code, second.status_code) == (200, 200)
    assert (first.json()["repeated"], second.json()["repeated"]) == (False, True)
    with api.open_store(folder) as store:
        assert sum(one.entry.action == form["id"] for one in api.history(store)) > 0
        done = [one for one in opened(store).garden.tree("one").done if one.date == TODAY]
        assert len(done) == len({(one.product, one.amount) for one in done})


def test_a_job_that_left_the_plan_is_a_conflict_that_is_told(client: TestClient):
    form = due(client, "feed")
    client.post("/do", data=form)

    late = client.post("/do", data=form | {"id": str(uuid4())}, headers=JSON)
    page = client.post("/do", data=form | {"id": str(uuid4())})

    assert late.status_code == 409
    assert "no longer in the plan" in late.json()["problems"][0]["message"]
    assert "no longer in the plan" in page.text


def test_done_otherwise_records_what_was_really_given(client: TestClient, folder: Path):
    form = due(client, "feed") | {
        "what": "otherwise", "amount": "123 g", "product": "balanced", "note": "half a cup less",
    }  # fmt: skip

    client.post("/do", data=form)

    with api.open_store(folder) as store:
        tree = opened(store).garden.tree(form["advice"].split("/")[0])
        assert any(
            work.amount == 123 and work.note == "half a cup less" and work.date == TODAY
            for work in tree.done
        )


def test_left_undone_it_is_held_back_with_its_reason_and_put_off_it_moves(client: TestClient):
    form = due(client, "prune")
    reason = "the ladder is lent"
    client.post("/do", data=form | {"what": "skip", "reason": reason})

    listed = {one["id"]: one for one in client.get("/week.json?days=120").json()["advice"]}

    assert listed[form["advice"]]["standing"] == "blocked"
    assert any(reason in text for text in listed[form["advice"]]["remarks"])

    other = due(client, "feed")
    window = listed[other["advice"]]["window"]
    client.post("/do", data=other | {"what": "later", "until": window["latest"]})
    moved = {one["id"]: one for one in client.get("/week.json?days=120").json()["advice"]}
    assert moved[other["advice"]]["window"]["best"] == window["latest"]


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({"kind": "picked", "mass": "3 elephants"}, "elephants"),
        ({"kind": "picked", "mass": "3 kg", "day": "2027-01-01"}, "2027"),
        ({"kind": "counted", "fruit": "many"}, "whole number"),
        ({"kind": "counted"}, "no number"),
        ({"kind": "measured"}, "nothing was measured"),
        ({"kind": "seen", "event": "harvest moon"}, "harvest moon"),
        ({"kind": "dreamt"}, "dreamt"),
        ({"kind": "seen", "event": "full bloom", "day": "yesterday"}, "yesterday"),
        ({"kind": "work", "job": "feed", "id": "not-a-uuid"}, "not-a-uuid"),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_nothing_is_kept(
    body: dict[str, str], wrong: str, client: TestClient, folder: Path
):
    with api.open_store(folder) as store:
        before = store.mark()

    told = client.post("/tree/one/record", data=body, headers=JSON)
    page = client.post("/tree/one/record", data=body)

    assert (told.status_code, page.status_code) == (422, 422)
    problem = told.json()["problems"][0]
    assert wrong in f"{problem['message']} {problem['hint']}"
    assert wrong.lower() in unescape(page.text).lower()
    with api.open_store(folder) as store:
        assert store.mark() == before


def test_a_refused_form_keeps_what_was_typed(client: TestClient):
    page = client.post(
        "/tree/one/record", data={"kind": "picked", "mass": "3 elephants", "fruit": "17"}
    )

    assert 'value="3 elephants"' in page.text
    assert 'value="17"' in page.text


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "picked", "mass": "3 kg", "fruit": "31"},
        {"kind": "counted", "fruit": "120"},
        {"kind": "measured", "height": "2.9 m", "spread": "3 m, 2.8 m"},
        {"kind": "seen", "event": "harvest start"},
        {"kind": "lacks", "nutrient": "Zn"},
        {"kind": "work", "job": "prune", "note": "<b>light & early</b> = ok"},
    ],
)
def test_every_kind_of_record_reaches_the_garden_and_is_told_escaped(
    body: dict[str, str], client: TestClient
):
    answer = client.post("/tree/one/record", data=body | {"back": "/tree/one/record"})

    assert answer.status_code == 200
    assert 'id="told"' in answer.text
    assert "<b>light" not in answer.text
    told = client.get("/history.json?tree=one&last=1").json()["records"][0]
    assert told["trees"] == ["one"]
    assert told["lines"]


def test_measures_move_the_plan_at_once(client: TestClient):
    before = client.get("/tree/one.json").json()
    client.post("/tree/one/record", data={"kind": "measured", "height": "4 m", "spread": "4 m"})
    after = client.get("/tree/one.json").json()

    assert after != before


def test_a_form_sends_its_reader_back_to_this_server_only(client: TestClient):
    body = {"kind": "seen", "event": "full bloom", "day": "2026-04-10"}
    for back in ("https://elsewhere.example/x", "//elsewhere.example/x", "javascript:alert(1)"):
        answer = client.post(
            "/tree/one/record",
            data=body | {"back": back, "id": str(uuid4())},
            follow_redirects=False,
        )
        assert answer.headers["location"].startswith("/?told=") or answer.headers[
            "location"
        ].startswith("/x?told=")


def test_read_only_nothing_can_be_written_and_no_form_is_shown(folder: Path):
    client = TestClient(create_app(folder, today=lambda: TODAY, read_only=True), base_url=HOME)

    assert forms(client.get("/").text) == []
    assert client.post("/do", data={"what": "done"}).status_code == 403
    assert client.post("/tree/one/record", data={"kind": "seen"}).status_code == 403
    assert "Nothing can be recorded here" in client.get("/tree/one/record").text


def test_a_garden_file_has_no_buttons_and_says_how_to_begin(tmp_path: Path):
    client = TestClient(create_app(write(tmp_path), today=lambda: TODAY), base_url=HOME)

    assert forms(client.get("/").text) == []
    assert "bearwell import" in client.get("/history").text
    told = client.post("/do", data={"what": "done", "advice": "one/feed/x"}, headers=JSON)
    assert told.status_code == 422
    assert "read from a file" in told.json()["problems"][0]["message"]


def test_the_history_tells_undone_records_too(client: TestClient, folder: Path):
    with api.open_store(folder) as store:
        done = api.record_seen(store, stamp(datetime(2026, 11, 25, 9, tzinfo=UTC)), TODAY, tree="one",
                               event="leaf fall", day=TODAY)  # fmt: skip
        api.undo(store, stamp(), TODAY, record=done.id)

    page = client.get("/history").text

    assert "Seen: leaf fall" in page
    assert 'class="undone"' in page
    assert "Bring it back" in page
