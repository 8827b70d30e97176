"""The web face without a browser: every route, its JSON twin, escaping, safety headers, bad files."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import quote

import httpx2
import pytest
from starlette.testclient import TestClient

from bearwell.api import knowledge, open_garden, reckon, reckoners, tree_year, worklist
from bearwell.demo import write_demo
from bearwell.errors import BadInput
from bearwell.faces.twins import words_of, worklist_twin, year_twin
from bearwell.faces.web import create_app, serve
from bearwell.faces.web.pages import reckoning, week
from bearwell.faces.web.pages.reckoning import example_of
from bearwell.faces.web.render import STATIC
from bearwell.faces.words import Words
from running import PATIENCE, await_port, end, free_port
from web_garden import TODAY, spoken_once, write_garden

HERE = "http://127.0.0.1:8321"
TREES = ("clementine-low", "peach.wall", "calamondin-pot")
PAGES = (
    "/", "/?by=tree", "/?days=30", "/?days=366&by=tree", "/?tree=peach.wall", "/trees", "/garden", "/reckon",
    "/kind", "/kind/clementine", "/sources", "/why", "/season", *(f"/tree/{tree}" for tree in TREES),
    *(f"/tree/{tree}/season" for tree in TREES),
    *(f"/reckon/{name}" for name in reckoners()),
)  # fmt: skip
TWINS = (
    "/week.json",
    "/trees.json",
    "/garden.json",
    "/kind/clementine.json",
    "/tree/clementine-low.json",
)


def client_of(path: Path, **options: object) -> TestClient:
    """A client of an application on the settled day, by its own address."""
    options.setdefault("today", lambda: TODAY)
    app = create_app(path, **options)  # type: ignore[arg-type]
    return TestClient(app, base_url=HERE, raise_server_exceptions=True)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_garden(tmp_path_factory.mktemp("garden"))


@pytest.fixture(scope="module")
def client(path: Path) -> TestClient:
    return client_of(path)


class Outline(HTMLParser):
    """What of a page matters here: headings, ids, links, tags that never close, attributes."""

    VOID = frozenset({"meta", "link", "input", "br", "img"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.headings: list[int] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.sources: list[str] = []
        self.labels: set[str] = set()
        self.inputs: list[dict[str, str]] = []
        self.open: list[str] = []
        self.tags: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        self.tags.append(tag)
        self.attributes += given.items()
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "a":
            self.links.append(given["href"])
        if tag == "label":
            self.labels.add(given["for"])
        if tag in ("input", "select", "textarea"):
            self.inputs.append(given)
        self.sources += [given[key] for key in ("src", "srcset") if key in given]
        if tag == "link":
            self.sources.append(given["href"])
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if self.open and self.open[-1] == tag:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes another element"


# ---------------------------------------------------------------- pages


@pytest.mark.parametrize("address", PAGES)
def test_every_page_is_served_well_formed(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text[:500]
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    page = Outline(answer.text)
    assert page.open == []
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    steps = [
        after - before for before, after in zip(page.headings, page.headings[1:], strict=False)
    ]
    assert max(steps, default=0) <= 1, f"headings skip a level: {page.headings}"
    assert len(page.ids) == len(set(page.ids)), "an id stands twice"
    assert {"header", "main", "nav", "footer"} <= set(page.tags)
    assert 'href="#main"' in answer.text
    for field in page.inputs:
        assert field.get("id") in page.labels or field.get("aria-label"), f"no label for {field}"


@pytest.mark.parametrize("address", PAGES)
def test_no_page_asks_anyone_else_or_carries_inline_script_or_style(
    client: TestClient, address: str
) -> None:
    text = client.get(address).text
    page = Outline(text)
    assert all(source.startswith("/") and not source.startswith("//") for source in page.sources)
    assert "style" not in {name for name, _ in page.attributes}
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    assert re.findall(r"<script(?![^>]* src=)", text) == []
    assert "<style" not in text


def test_every_inner_link_leads_somewhere(client: TestClient) -> None:
    seen: dict[str, Outline] = {}
    waiting = ["/"]
    while waiting:
        address = waiting.pop()
        answer = client.get(address)
        assert answer.status_code == 200, address
        if "html" not in answer.headers["content-type"]:
            continue
        seen[address] = Outline(answer.text)
        for link in seen[address].links:
            inner = spoken_once(link.split("#")[0])
            if inner.startswith("/") and inner not in seen and inner not in waiting:
                waiting.append(inner)
    for address, page in seen.items():
        for link in page.links:
            inner, _, mark = link.partition("#")
            target = seen.get(inner or address)
            if mark and target is not None:
                assert mark in {quote(one) for one in target.ids}, (
                    f"{address} links to a missing {link}"
                )
    assert len(seen) > 60


@pytest.mark.parametrize(
    "address", ["/nowhere", "/tree/none", "/kind/none", "/reckon/none", "/static/none.css"]
)
def test_what_is_not_there_is_404(client: TestClient, address: str) -> None:
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("address", ["/tree/none.json", "/kind/none.json", "/reckon/none.json"])
def test_what_is_not_there_is_404_as_json(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 404
    assert answer.json()["problems"][0]["message"]


def test_an_unknown_tree_names_the_trees_there_are(client: TestClient) -> None:
    assert "peach.wall" in client.get("/tree/none").text


@pytest.mark.parametrize(
    "address", ["/?days=0", "/?days=367", "/?days=soon", "/?tree=none", "/week.json?days=0"]
)
def test_a_request_that_cannot_be_served_is_told(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 422
    assert "Traceback" not in answer.text


@pytest.mark.parametrize("address", ["/", "/week.json", "/trees", "/tree/peach.wall", "/sources"])
def test_head_is_answered(client: TestClient, address: str) -> None:
    answer = client.head(address)
    assert answer.status_code == 200
    assert answer.text == ""


# ---------------------------------------------------------------- what the week says


def test_every_advice_stands_on_the_page_with_its_reasons_without_scripts(
    client: TestClient, path: Path
) -> None:
    opened = open_garden(path, TODAY)
    words = words_of(opened)
    listed = worklist(opened)
    for address in ("/", "/?by=tree"):
        text = _plain(client.get(address).text)
        assert listed.advice
        for one in listed.advice:
            assert _squeezed(words.phrase(one.headline)) in text
            assert _squeezed(words.phrase(one.display)) in text
            for link in one.because:
                assert _squeezed(words.because(link))[1:] in text
            for step in one.steps:
                assert _squeezed(words.phrase(step)) in text
            for caution in one.cautions:
                assert _squeezed(caution) in text


def test_sections_hold_each_advice_once(path: Path) -> None:
    for days in (1, 14, 60):
        listed = worklist(open_garden(path, TODAY), days)
        trees = open_garden(path, TODAY).garden.trees
        for sections in (week.by_urgency(listed), week.by_tree(listed, trees)):
            shown = [one.id for section in sections for one in section.cards]
            shown += [
                one.id for section in sections for group in section.groups for one in group.members
            ]
            assert sorted(shown) == sorted(one.id for one in listed.advice)


def test_looking_round_has_one_entry_a_headline(tmp_path: Path) -> None:
    opened = open_garden(write_demo(tmp_path, TODAY), TODAY)
    listed = worklist(opened)
    entries = next(one for one in week.by_urgency(listed) if one.key == "round").groups
    headlines = [words_of(opened).phrase(group.lead.headline) for group in entries]
    looks = [one for one in listed.advice if one.kind in week.ROUND]
    assert len(entries) < len(looks) / 2
    assert len(headlines) == len(set(headlines))


def test_doubt_is_said_in_words(client: TestClient, path: Path) -> None:
    listed = worklist(open_garden(path, TODAY))
    sure = {one.confidence for one in listed.advice}
    text = client.get("/").text
    assert sure & {"memory", "judgement"}
    for confidence, said in (
        ("memory", "rests on memory"),
        ("judgement", "rests on our judgement"),
    ):
        assert (said in text) == (confidence in sure)


def test_a_reason_links_to_its_source(client: TestClient, path: Path) -> None:
    listed = worklist(open_garden(path, TODAY))
    cited = {link.source for one in listed.advice for link in one.because} & set(
        knowledge().sources
    )
    text = client.get("/").text
    for key in cited - {"memory", "judgement"}:
        assert f'href="/sources#{quote(key)}"' in text


def test_units_of_the_garden_are_used(tmp_path: Path) -> None:
    text = client_of(write_garden(tmp_path, "us")).get("/tree/clementine-low").text
    assert "6.9 ft" in text  # 2.1 m
    assert "2.1 m" not in text


# ---------------------------------------------------------------- JSON twins


def test_the_week_twin_is_the_contract(client: TestClient, path: Path) -> None:
    opened = open_garden(path, TODAY)
    data = client.get("/week.json").json()
    assert data == json.loads(
        json.dumps(worklist_twin(worklist(opened), words_of(opened)), default=str)
    )
    assert {"garden", "today", "advice", "problems"} <= set(data)
    for one in data["advice"]:
        assert {
            "id", "tree", "kind", "window", "quantity", "display", "headline", "steps", "cautions", "minutes",
            "because", "details",
        } <= set(one)  # fmt: skip
        assert set(one["window"]) == {"earliest", "best", "latest"}
        for link in one["because"]:
            assert {"statement", "value", "unit", "source", "locator", "confidence"} <= set(link)


def test_the_tree_twin_holds_the_year_and_the_advice(client: TestClient, path: Path) -> None:
    opened = open_garden(path, TODAY)
    for tree in TREES:
        data = client.get(f"/tree/{tree}.json").json()
        expected = json.loads(
            json.dumps(year_twin(tree_year(opened, tree), words_of(opened)), default=str)
        )
        assert {key: data[key] for key in expected} == expected
        assert {one["id"] for one in data["advice"]} == {
            one.id for one in opened.advice(opened.garden.tree(tree))
        }


def test_pages_name_their_twins(client: TestClient) -> None:
    for address in ("/", "/trees", "/garden", "/tree/clementine-low", "/kind/clementine"):
        text = client.get(address).text
        found = re.search(r'<link rel="alternate" type="application/json" href="([^"]+)"', text)
        assert found, address
        answer = client.get(found[1].replace("&amp;", "&"))
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "application/json"


@pytest.mark.parametrize("address", TWINS)
def test_twins_are_plain_json(client: TestClient, address: str) -> None:
    assert isinstance(client.get(address).json(), dict)


def test_the_kind_twin_has_every_fact(client: TestClient) -> None:
    species = knowledge().kind("clementine")
    data = client.get("/kind/clementine.json").json()
    assert {one["fact"] for one in data["facts"]} == set(species.facts)


def test_every_kind_has_its_page(client: TestClient) -> None:
    for species in knowledge().species.values():
        if not species.abstract:
            text = client.get(f"/kind/{species.key}").text
            assert text.count("<dt>") == len(species.facts), species.key


# ---------------------------------------------------------------- reckoners


def without_files() -> list[str]:
    """The reckoners that read no file; the others are tested with pasted text."""
    return [
        name
        for name, one in reckoners().items()
        if all(option.unit != "file" for option in one.options)
    ]


@pytest.mark.parametrize("name", without_files())
def test_each_example_is_reckoned_as_in_python(client: TestClient, name: str) -> None:
    reckoner = reckoners()[name]
    given = example_of(reckoner)
    done = reckon(name, **{key.replace("-", "_"): list(values) for key, values in given.items()})
    data = client.get(f"/reckon/{name}.json", params=given).json()
    assert data["results"] == json.loads(json.dumps(done.results, default=str))
    assert set(data) == {"reckoner", "inputs", "results", "because", "cautions"}
    page = client.get(f"/reckon/{name}", params=given)
    assert page.status_code == 200
    assert '<h2 id="result">' in page.text


def test_a_wrong_entry_is_told_beside_its_field(client: TestClient) -> None:
    answer = client.get("/reckon/canopy", params={"height": "1,500 m", "spread": "3 m"})
    assert answer.status_code == 422
    field = answer.text.split('id="f-height"')[1].split('class="field')[0]
    assert 'aria-invalid="true"' in field
    assert "write 1500 or 1.5" in field
    assert 'value="1,500 m"' in answer.text
    assert answer.text.count('aria-invalid="true"') == 1


def test_a_missing_entry_is_told(client: TestClient) -> None:
    answer = client.get("/reckon/canopy", params={"height": "3 m"})
    assert answer.status_code == 422
    assert "This is needed" in answer.text
    assert client.get("/reckon/canopy.json", params={"height": "3 m"}).status_code == 422


@pytest.mark.parametrize("key", ["nothing", "name", "pasted-height", "pasted-nothing"])
def test_foreign_entries_are_refused(client: TestClient, key: str) -> None:
    answer = client.get("/reckon/canopy", params={"height": "3 m", "spread": "3 m", key: "1"})
    assert answer.status_code == 422


def test_a_reckoner_opens_no_file_but_the_gardens(tmp_path: Path) -> None:
    other = tmp_path / "other.csv"
    other.write_text("time,temperature\nsecret words here,1\n", "utf-8")
    client = client_of(write_garden(tmp_path))
    for entry in (str(other), "../other.csv", "other.csv", "/etc/hostname"):
        for address in ("/reckon/chill", "/reckon/chill.json"):
            answer = client.get(address, params={"hourly": entry})
            assert answer.status_code == 422
            assert "secret" not in answer.text
            assert "not a file of this garden" in answer.text


def test_pasted_text_is_reckoned_and_leaves_no_file(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    begin = date(2024, 10, 1)
    rows = [f"{begin + timedelta(days=n)},4.0,12.0,0" for n in range(200)]
    text = "date,tmin_c,tmax_c,rain_mm\n" + "\n".join(rows) + "\n"
    answer = client.post("/reckon/chill", data={"pasted-weather": text, "latitude": "41.7"})
    assert answer.status_code == 200, re.findall(r'class="complaint".*', answer.text)
    assert '<h2 id="result">' in answer.text
    assert "2025" in answer.text
    assert list(tmp_path.iterdir()) == []
    wrong = client.post(
        "/reckon/chill", data={"pasted-weather": "nonsense <b>", "latitude": "41.7"}
    )
    assert wrong.status_code == 422
    assert str(tmp_path) not in wrong.text
    assert "<b>&" not in wrong.text
    assert "nonsense &lt;b&gt;" in wrong.text


def test_a_result_in_the_gardens_units_too(tmp_path: Path) -> None:
    client = client_of(write_garden(tmp_path, "us"))
    text = client.get(
        "/reckon/dose", params={"label": "5-5-5", "nutrient": "n", "amount": "0.5 lb"}
    ).text
    assert "10 lb" in text  # 0.5 lb of N from a 5 % product


def test_names_of_results_in_words() -> None:
    done = reckon("dose", label="5-5-5", nutrient="n", amount="100 g")
    lines = reckoning.result_lines(done, Words())
    assert ("product", "2000 g") in {(line.name, line.text) for line in lines}
    assert ("nitrogen, N", "100 g") in {(line.name, line.text) for line in lines}


# ---------------------------------------------------------------- safety


def test_names_with_markup_stay_text(client: TestClient) -> None:
    for address in (
        "/",
        "/?by=tree",
        "/trees",
        "/garden",
        "/tree/clementine-low",
        "/tree/peach.wall",
    ):
        text = client.get(address).text
        for markup in (
            "<script>alert",
            "<b>Steps",
            "<img src=x",
            "<em>half",
            "<u>noted",
            "<i>here",
        ):
            assert markup not in text, address
    text = client.get("/tree/clementine-low").text
    assert "&lt;script&gt;alert" in text
    drawing = text.split("year-drawing wide")[1].split("</svg>")[0]
    assert "&lt;em&gt;half" in drawing, "the drawing names the work too"


def test_what_is_typed_stays_text(client: TestClient) -> None:
    for address in (
        '/reckon/canopy?height="><script>alert(1)</script>&spread=1',
        "/tree/<script>alert(1)</script>",
        "/?tree=<script>alert(1)</script>",
        "/kind/<script>alert(1)</script>",
        "/reckon/canopy?<script>alert(1)</script>=1",
        "/?days=<script>alert(1)</script>",
        "/?by=<script>alert(1)</script>",
    ):
        assert "<script>alert" not in client.get(address).text, address


@pytest.mark.parametrize(
    "address", ["/", "/nowhere", "/week.json", "/?days=0", "/static/bearwell.css"]
)
def test_every_answer_carries_the_safety_headers(client: TestClient, address: str) -> None:
    headers = client.get(address).headers
    policy = dict(
        part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["form-action"] == "'self'"
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:8321", 200), ("localhost", 200), ("LOCALHOST:80", 200), ("[::1]:8321", 200),
        ("evil.example", 400), ("127.0.0.1.evil.example", 400), ("localhost.evil.example:8321", 400), ("", 400),
        ("192.168.1.7:8321", 400), ("[::2]", 400),
    ],
)  # fmt: skip
def test_only_loopback_names_are_answered(client: TestClient, host: str, status: int) -> None:
    answer = client.get("/why", headers={"host": host})
    assert answer.status_code == status
    assert "content-security-policy" in answer.headers


def test_beyond_loopback_addresses_and_the_given_name_are_answered(path: Path) -> None:
    client = client_of(path, hosts=("garden.local",), by_address=True)
    for host, status in (
        ("192.168.1.7:8321", 200),
        ("garden.local:8321", 200),
        ("evil.example", 400),
    ):
        assert client.get("/why", headers={"host": host}).status_code == status


def test_read_only_takes_nothing_in(path: Path) -> None:
    client = client_of(path, read_only=True)
    assert client.get("/").status_code == 200
    assert client.post("/reckon/chill", data={"latitude": "41"}).status_code == 403
    assert 'method="post"' not in client.get("/reckon/chill").text
    assert 'method="post"' in client_of(path).get("/reckon/chill").text


def test_a_body_too_long_is_refused(client: TestClient) -> None:
    assert client.post("/reckon/chill", content=b"x" * 4_000_001).status_code == 413


def test_static_files_are_only_ours(client: TestClient) -> None:
    for address in ("/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py"):
        assert client.get(address).status_code == 404


# ---------------------------------------------------------------- files that change


def touched(path: Path, text: str) -> None:
    """Write a file with a later time of change, however fast the clock of the disk is."""
    later = path.stat().st_mtime_ns + 1_000_000
    path.write_text(text, "utf-8")
    os.utime(path, ns=(later, later))


def test_a_spoiled_garden_is_told_and_heals(tmp_path: Path) -> None:
    path = write_garden(tmp_path)
    client = client_of(path)
    whole = path.read_text("utf-8")
    assert client.get("/").status_code == 200
    spoiled = whole.replace('kind = "peach"', 'kind = "<b>peech</b>"').replace('"2.1 m"', '"2.1"')
    touched(path, spoiled)
    for address in ("/", "/garden", "/tree/peach.wall"):
        answer = client.get(address)
        assert answer.status_code == 200
        assert "The garden cannot be read" in answer.text
        assert "<b>peech" not in answer.text
        lines = spoiled.splitlines()
        for said in ('"2.1"', "<b>peech"):
            line = next(number for number, text in enumerate(lines, start=1) if said in text)
            assert f"line {line}<" in answer.text
    answer = client.get("/week.json")
    assert answer.status_code == 422
    assert len(answer.json()["problems"]) >= 2
    assert client.get("/why").status_code == 200
    assert client.get("/reckon/canopy?height=3&spread=3").status_code == 200
    touched(path, whole)
    assert "The coming two weeks" in client.get("/").text
    assert client.get("/week.json").status_code == 200


def test_broken_toml_and_a_missing_file_are_told(tmp_path: Path) -> None:
    path = write_garden(tmp_path)
    client = client_of(path)
    touched(path, "[garden\nname = ")
    assert "Not valid TOML" in client.get("/").text
    path.unlink()
    assert "there is no such file" in client.get("/").text
    write_garden(tmp_path)
    assert "The coming two weeks" in client.get("/").text


def test_weather_that_changes_is_read_again(tmp_path: Path) -> None:
    path = write_garden(tmp_path)
    daily = tmp_path / "daily.csv"
    rows = [f"{TODAY - timedelta(days=n)},5,12,1" for n in range(30, -1, -1)]
    daily.write_text("date,tmin_c,tmax_c,rain_mm\n" + "\n".join(rows), "utf-8")
    client = client_of(path, weather=[daily])
    assert client.get("/garden.json").json()["weather"]["forecast_days"] == 0
    rows += [f"{TODAY + timedelta(days=n)},-6,4,0" for n in (1, 2)]
    touched(daily, "date,tmin_c,tmax_c,rain_mm\n" + "\n".join(rows))
    assert client.get("/garden.json").json()["weather"]["forecast_days"] == 2
    assert "Protect" in client.get("/").text
    daily.unlink()
    assert "The garden cannot be read" in client.get("/").text


def test_a_kind_added_beside_the_file_is_read(tmp_path: Path) -> None:
    client = client_of(write_garden(tmp_path))
    assert client.get("/kind/wall-peach").status_code == 404
    folder = tmp_path / "kinds"
    folder.mkdir()
    (folder / "own.toml").write_text(
        '["wall-peach"]\nname = "peach of the wall"\nparent = "peach"\n', "utf-8"
    )
    assert client.get("/kind/wall-peach").status_code == 200


def test_the_day_turns(tmp_path: Path) -> None:
    now = [TODAY]
    client = client_of(write_garden(tmp_path), today=lambda: now[0])
    assert client.get("/week.json").json()["today"] == "2026-11-25"
    now[0] = TODAY + timedelta(days=1)
    assert client.get("/week.json").json()["today"] == "2026-11-26"


def test_the_clock_is_the_sites(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Clock(datetime):
        @classmethod
        def now(cls, tz=None):  # type: ignore[no-untyped-def, override]
            return datetime(2026, 11, 25, 13, 0, tzinfo=UTC).astimezone(tz)

    monkeypatch.setattr("bearwell.faces.clock.datetime", Clock)
    path = write_garden(tmp_path)
    path.write_text(path.read_text("utf-8").replace("Europe/Lisbon", "Pacific/Auckland"), "utf-8")
    assert client_of(path, today=None).get("/week.json").json()["today"] == "2026-11-26"


def test_serving_prints_its_address_first(path: Path) -> None:
    port = free_port()
    code = "import sys, pathlib; from bearwell.faces.web import serve; serve(pathlib.Path(sys.argv[1]), port=int(sys.argv[2]))"
    running = subprocess.Popen(
        [sys.executable, "-c", code, str(path), str(port)], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )  # fmt: skip
    try:
        assert running.stdout is not None
        assert f"http://127.0.0.1:{port}/" in running.stdout.readline()
        await_port(port, running)
        assert httpx2.get(f"http://127.0.0.1:{port}/why", timeout=PATIENCE).status_code == 200
    finally:
        end(running)


@pytest.mark.parametrize("port", [0, -1, 65536])
def test_a_port_that_is_none_is_refused(path: Path, port: int) -> None:
    with pytest.raises(BadInput, match="port"):
        serve(path, port=port)


# ---------------------------------------------------------------- weight and looks


def test_the_first_load_is_light(tmp_path: Path) -> None:
    client = client_of(write_demo(tmp_path, TODAY))
    with client.stream("GET", "/", headers={"accept-encoding": "gzip"}) as answer:
        weight = sum(len(part) for part in answer.iter_raw())
    page = Outline(client.get("/").text)
    for address in set(page.sources) - {"/week.json?days=14"}:
        with client.stream("GET", address, headers={"accept-encoding": "gzip"}) as answer:
            weight += sum(len(part) for part in answer.iter_raw())
    assert 5_000 < weight < 100_000


def test_static_files_may_be_kept_and_change_address_when_they_change(client: TestClient) -> None:
    text = client.get("/").text
    found = re.search(r'href="(/static/bearwell\.css\?[0-9a-f]{10})"', text)
    assert found
    assert "immutable" in client.get(found[1]).headers["cache-control"]
    assert client.get("/").headers["cache-control"] == "private, no-cache"


def _luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_on_its_ends() -> None:
    # WCAG 2.2: ratios range from 1 to 21; #767676 on white is the well-known grey just past 4.5.
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def _palettes() -> list[dict[str, str]]:
    css = (STATIC / "bearwell.css").read_text("utf-8")
    blocks = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    light, dark = (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block)) for block in blocks[:2])
    return [light, light | dark]


@pytest.mark.parametrize("palette", _palettes(), ids=["light", "dark"])
def test_text_and_marks_have_contrast(palette: dict[str, str]) -> None:
    # WCAG 2.2, success criteria 1.4.3 (text, 4.5) and 1.4.11 (graphics and controls, 3).
    for text in ("ink", "soft", "leaf", "urgent", "doubt"):
        for ground in ("paper", "card"):
            assert _contrast(palette[text], palette[ground]) >= 4.5, (text, ground)
    assert _contrast(palette["urgent"], palette["urgent-pale"]) >= 4.5
    assert _contrast(palette["paper"], palette["leaf"]) >= 4.5
    for mark in ("line", "bloom", "fruit", "drop", "cut", "feed"):
        assert _contrast(palette[mark], palette["paper"]) >= 3, mark


def _plain(html: str) -> str:
    return _squeezed(unescape(re.sub(r"<[^>]+>", " ", html)))


def _squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()
