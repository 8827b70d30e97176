"""The pages of feeding: a tree's feeding year, the shelf, the sheet; and that page, JSON and api agree."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from bearwell.api import LoadedGarden, open_garden, write_demo
from bearwell.api.feeding import feeding_sheet, feeding_year, shelf
from bearwell.errors import BadInput
from bearwell.faces.feeding import account, brought, percent, rounds_shown
from bearwell.faces.shelf import filled
from bearwell.faces.twins import words_of
from bearwell.faces.web import create_app
from bearwell.faces.web.drawing.ledger import nice_top
from bearwell.faces.web.pages.feeding import planned_year, rows
from bearwell.faces.words import Words
from bearwell.plan.shelf import in_measures
from bearwell.quantities import Quantity
from browsing import fits, page_of, unfold
from running import running
from test_web import Outline, client_of
from web_garden import GARDEN, SHARED_SCRIPTS, TODAY, scripts_of, write_garden

TREES = ("clementine-low", "peach.wall", "calamondin-pot")
FEEDING = [f"/tree/{tree}/feeding" for tree in TREES]
PAGES = ("/shelf", "/sheet", "/sheet?days=1", "/sheet?days=366", *FEEDING)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_garden(tmp_path_factory.mktemp("feeding"))


@pytest.fixture(scope="module")
def client(path: Path) -> TestClient:
    return client_of(path)


@pytest.fixture(scope="module")
def demo_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(write_demo(tmp_path_factory.mktemp("demo"), TODAY))


@pytest.fixture(scope="module")
def demo(demo_path: Path) -> TestClient:
    return client_of(demo_path)


@pytest.fixture(scope="module")
def opened(demo_path: Path) -> LoadedGarden:
    return open_garden(demo_path, TODAY)


def altered(folder: Path, *changes: tuple[str, str]) -> TestClient:
    """A client of the small garden with some of its text changed."""
    text = GARDEN.format(units="metric")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "garden.toml"
    path.write_text(text, "utf-8")
    return client_of(path)


# ---------------------------------------------------------------- served


@pytest.mark.parametrize("address", PAGES)
def test_every_page_is_well_formed_and_escapes_what_the_grower_wrote(
    client: TestClient, address: str
) -> None:
    answer = client.get(address)
    outline = Outline(answer.text)

    assert answer.status_code == 200
    assert outline.open == []
    assert len(outline.ids) == len(set(outline.ids))
    assert outline.headings[0] == 1
    assert max(after - before for before, after in pairwise(outline.headings)) <= 1
    read = ["reading.js"] if "data-at=" in answer.text else []  # pages with a drawing to be read
    assert scripts_of(answer.text) == [*SHARED_SCRIPTS, *read]
    assert "<img" not in answer.text
    assert "<i>here</i>" not in answer.text
    assert not any(key.startswith("on") or key == "style" for key, _ in outline.attributes)


@pytest.mark.parametrize("address", PAGES)
def test_every_page_has_its_twin(client: TestClient, address: str) -> None:
    place, _, query = address.partition("?")
    twin = client.get(f"{place}.json{'?' + query if query else ''}")

    assert twin.status_code == 200
    assert twin.headers["content-type"] == "application/json"
    assert twin.json()["today"] == TODAY.isoformat()
    assert f'href="{place}.json' in client.get(address).text


def test_unknown_trees_and_impossible_days_are_refused(client: TestClient) -> None:
    for place in ("/tree/nobody/feeding", "/tree/nobody/feeding.json"):
        assert client.get(place).status_code == 404
    for days in ("0", "367", "soon"):
        assert client.get(f"/sheet?days={days}").status_code == 422
        told = client.get(f"/sheet.json?days={days}")
        assert told.status_code == 422
        assert told.json()["problems"]
    strange = client.get("/tree/%3Cb%3E/feeding")
    assert strange.status_code == 404
    assert "<b>'" not in strange.text
    assert "'<b>'" in unescape(strange.text)


def test_other_pages_point_here(client: TestClient) -> None:
    assert "/tree/peach.wall/feeding" in Outline(client.get("/tree/peach.wall").text).links
    for place in ("/garden", "/trees", "/"):
        assert {"/shelf", "/sheet"} <= set(Outline(client.get(place).text).links)


def test_the_garden_says_how_it_is_to_be_fed(tmp_path: Path) -> None:
    said = (
        '[feeding]\nlate_rounds = "stop before frost"\ndistance_to_water = "4 m"\nrain_days = 3\n'
    )
    client = altered(tmp_path, ("[[product]]", f"{said}[[product]]"))
    text = client.get("/garden").text

    assert "stop before frost" in text
    assert "4 m away" in text
    assert "none for 3 days before it" in text
    assert "nor within 3 days before heavy rain" in client.get("/sheet").text


# ---------------------------------------------------------------- a tree's feeding year


@pytest.mark.parametrize("tree", ["satsuma-gate", "golden-low", "kumquat-pot"])
def test_page_twin_and_library_agree_on_the_need(
    demo: TestClient, opened: LoadedGarden, tree: str
) -> None:
    year, words = feeding_year(opened, tree), words_of(opened)
    page = unescape(demo.get(f"/tree/{tree}/feeding").text)
    need = demo.get(f"/tree/{tree}/feeding.json").json()["need"]

    assert need["followed"] == year.need.followed
    assert [one["route"] for one in need["routes"]] == ["table", "balance", "tests"]
    assert [one["route"] for one in need["routes"] if one["followed"]] == [year.need.followed]
    for told, route in zip(need["routes"], year.need.routes, strict=True):
        assert told["n_g"]["value"] == pytest.approx(route.nitrogen.value, abs=0.01)
        assert words.quantity(route.nitrogen, with_range=True) in page
        assert len(told["because"]) == len(route.because) > 0
    for key, wanted in (
        ("n_g", year.need.nitrogen),
        ("p2o5_g", year.need.p2o5),
        ("k2o_g", year.need.k2o),
    ):
        assert need[key]["value"] == pytest.approx(wanted.value, abs=0.01)
        assert words.quantity(wanted, with_range=True) in page
    why = [one["statement"] for one in need["because"]]
    assert any(one.startswith(f"The plan follows the {year.need.followed}") for one in why)
    assert all(one in page for one in why)


@pytest.mark.parametrize("tree", ["satsuma-gate", "peach-south", "calamondin-pot"])
def test_the_rounds_are_those_of_the_plan_and_by_the_labels(
    demo: TestClient, opened: LoadedGarden, tree: str
) -> None:
    year = feeding_year(opened, tree)
    page = unescape(demo.get(f"/tree/{tree}/feeding").text)
    rounds = demo.get(f"/tree/{tree}/feeding.json").json()["rounds"]
    grades = {one.id: one.grade for one in opened.garden.products}

    assert len(rounds) == len(year.rounds)
    table = page.partition('id="rounds"')[2].partition('id="account"')[0]
    assert table.count('role="rowheader"') == len(
        rows(rounds_shown(opened, year, words_of(opened)))
    )
    for told, placed in zip(rounds, year.rounds, strict=True):
        assert told["window"]["best"] == placed.window.best.isoformat()
        assert (told["standing"] == "given") == (placed.given is not None)
        assert (told["standing"] == "carried") == (told["carried_by"] is not None)
        by_label = [
            sum(one["g"] * grades[one["product"]][place] / 100 for one in told["doses"])
            for place in range(3)
        ]
        assert [told["n_g"], told["p2o5_g"], told["k2o_g"]] == pytest.approx(by_label, abs=0.02)
        if told["standing"] in ("due", "coming"):
            assert [(one["product"], one["g"]) for one in told["doses"]] == [
                (key, pytest.approx(mass, abs=0.01)) for key, mass in placed.blend.doses
            ]
            for one in told["doses"]:
                assert one["measures"] in page


@pytest.mark.parametrize(
    "tree", ["satsuma-gate", "loquat-shed", "golden-low", "fig-corner", "kumquat-pot"]
)
def test_the_sums_close_and_agree_with_the_days(
    demo: TestClient, opened: LoadedGarden, tree: str
) -> None:
    year, words = feeding_year(opened, tree), words_of(opened)
    kept, rounds = account(opened, year), rounds_shown(opened, year, words)
    twin = demo.get(f"/tree/{tree}/feeding.json").json()
    page = unescape(demo.get(f"/tree/{tree}/feeding").text)

    # What the rounds of the year bring by their labels is what the account is given.
    assert brought(rounds, TODAY).n == pytest.approx(kept.ahead["given"], rel=1e-9)
    for key, value in kept.ahead.items():
        assert twin["year_ahead_g"][key] == pytest.approx(value, abs=0.001)
        if key != "drawn":
            assert f'<td class="number">{words.quantity(Quantity(value, "g"))}</td>' in page
    # The months lie end to end and add up to the daily rows.
    daily, months = twin["daily"], twin["months"]
    assert months[0]["from"] == daily["start"] == kept.first.isoformat()
    for before, after in pairwise(months):
        assert date.fromisoformat(after["from"]) - date.fromisoformat(before["to"]) == timedelta(1)
    for key in ("given", "wanted", "freed", "humus", "uptake", "leached", "short"):
        assert sum(daily[key]) == pytest.approx(sum(one[key] for one in months), abs=0.2)
        assert len(daily[key]) == (kept.last - kept.first).days + 1
    last = daily["bank"][(date.fromisoformat(months[2]["to"]) - kept.first).days]
    assert months[2]["bank"] == pytest.approx(last, abs=0.001)
    assert min(min(daily[key]) for key in daily if key != "start") >= 0


def test_the_late_rounds_fill_an_evergreen_and_are_none_of_a_deciduous_tree(
    demo: TestClient,
) -> None:
    satsuma = demo.get("/tree/satsuma-gate/feeding.json").json()
    apple = demo.get("/tree/golden-low/feeding.json").json()

    assert satsuma["late_rounds"]["planned"]
    bank = satsuma["bank_at_bloom"]
    assert bank["with_late_rounds"] > bank["without"] + 0.03
    assert not apple["late_rounds"]["planned"]
    assert apple["bank_at_bloom"]["with_late_rounds"] == apple["bank_at_bloom"]["without"]
    for tree, twin, lines in (("satsuma-gate", satsuma, 2), ("golden-low", apple, 1)):
        page = unescape(demo.get(f"/tree/{tree}/feeding").text)
        said = f"the bank stands at {percent(twin['bank_at_bloom']['with_late_rounds'])}"
        assert said in page
        assert len(re.findall(r'<polyline [^>]*class="flow (?:bank|without)"', page)) == 2 * lines
        assert "model of contrasts, not of grams" in page


def test_the_drawing_has_a_title_its_marks_and_a_table_beside_it(demo: TestClient) -> None:
    page = demo.get("/tree/satsuma-gate/feeding").text
    rounds = demo.get("/tree/satsuma-gate/feeding.json").json()["rounds"]
    ahead = [one for one in rounds if one["standing"] in ("due", "coming") and one["doses"]]

    for which in ("wide", "narrow"):
        drawn = re.search(
            rf'<svg [^>]*class="year-drawing ledger {which}".*?</svg>', page, re.DOTALL
        )
        assert drawn is not None
        assert f'id="ledger-{which}-title"' in drawn[0]
        assert f'id="ledger-{which}-desc"' in drawn[0]
        assert 'class="today"' in drawn[0]
        assert 'class="bloom-day"' in drawn[0]
        # One more of each than there are rounds: the key.
        assert drawn[0].count('class="gift planned"') == len(ahead) + 1
        assert "nan" not in drawn[0]
    assert 'class="plain months"' in page


def test_a_rule_holds_rounds_back_aloud(tmp_path: Path) -> None:
    client = altered(
        tmp_path, ('from = "06-01"', 'from = "11-01"'), ('to = "09-30"', 'to = "12-31"')
    )
    page = unescape(client.get("/tree/calamondin-pot/feeding").text)
    twin = client.get("/tree/calamondin-pot/feeding.json").json()
    sheet = client.get("/sheet.json").json()

    held = [one for one in twin["rounds"] if one["standing"] == "blocked"]
    assert held
    assert {one["rule"] for one in held} == {"summer rule <i>here</i>"}
    assert "Held back: summer rule <i>here</i>; feeding opens again 1 January" in page
    assert "calamondin-pot" in {one["tree"] for one in sheet["held_back"]}
    assert sheet["lines"] == []
    assert "No round can be given in the coming three weeks" in client.get("/sheet").text


def test_without_a_shelf_the_pages_say_what_is_missing(tmp_path: Path) -> None:
    bag = GARDEN[GARDEN.index("[[product]]") : GARDEN.index("[[shelter]]")]
    client = altered(tmp_path, (bag, ""))

    assert "No bag is named in the garden file" in client.get("/shelf").text
    assert client.get("/shelf.json").json()["products"] == []
    assert {one["tree"] for one in client.get("/shelf.json").json()["unserved"]} == set(TREES)
    twin = client.get("/tree/clementine-low/feeding.json").json()
    assert "unfed" in {one["standing"] for one in twin["rounds"]}
    assert twin["planned_g"]["n"] == 0
    assert "nothing suits" in client.get("/tree/clementine-low/feeding").text


def test_a_tree_that_cannot_be_planned_is_told(demo_path: Path) -> None:
    opened = open_garden(demo_path, TODAY)
    del opened.schedule.trees["olive-old"]

    with pytest.raises(BadInput, match="'olive-old' cannot be planned"):
        planned_year(opened, "olive-old")


@pytest.mark.parametrize(
    ("noted", "said"),
    [
        ('product = "balanced", amount = "300 g"', "2 level cups</b> (300 g)"),
        ('product = "balanced"', "balanced, noted without an amount"),
        ('amount = "300 g"', "Noted without a product"),
    ],
)
def test_what_was_noted_is_told_as_it_was_noted(tmp_path: Path, noted: str, said: str) -> None:
    done = f'done = [{{ date = 2026-11-08, job = "feed", {noted} }}]'
    client = altered(tmp_path, ("planted = 2024-05-02", f"planted = 2024-05-02\n{done}"))
    page = client.get("/tree/calamondin-pot/feeding")
    rounds = client.get("/tree/calamondin-pot/feeding.json").json()["rounds"]

    assert said in page.text
    given = [one for one in rounds if one["standing"] == "given"]
    assert [one["given_on"] for one in given] == ["2026-11-08"]


def test_rounds_that_one_gift_carries_stand_in_one_row(opened: LoadedGarden) -> None:
    year = feeding_year(opened, "kumquat-pot")
    shown = rounds_shown(opened, year, words_of(opened))[:6]
    sources = (
        None,
        date(2026, 10, 1),
        date(2026, 10, 1),
        date(2026, 12, 1),
        None,
        date(2026, 12, 1),
    )
    rounds = [
        replace(
            one,
            standing="carried" if source else "coming",
            placed=replace(one.placed, carried_by=source),
        )
        for one, source in zip(shown, sources, strict=True)
    ]
    grouped = rows(rounds)

    assert [one for row in grouped for one in row] == rounds
    assert [len(row) for row in grouped] == [1, 2, 1, 1, 1]


def test_american_measures_reach_every_page(tmp_path: Path) -> None:
    client = client_of(write_garden(tmp_path, "us"))

    for place in ("/shelf", "/sheet?days=120", "/tree/clementine-low/feeding"):
        text = client.get(place).text
        assert re.search(r"\d (?:lb|oz|ft|in)\b", text), place
        said = re.sub(
            r'<p class="ground">.*?</p>', "", text, flags=re.DOTALL
        )  # as the source prints it
        assert not re.search(r"\d (?:g|kg|cm|m)\b", said), place


# ---------------------------------------------------------------- the shelf


def test_the_shelf_tells_what_the_library_found(demo: TestClient, opened: LoadedGarden) -> None:
    own, words = shelf(opened), words_of(opened)
    twin, page = demo.get("/shelf.json").json(), unescape(demo.get("/shelf").text)

    assert [one["product"] for one in twin["products"]] == [one.product.id for one in own.products]
    for told, one in zip(twin["products"], own.products, strict=True):
        assert told["used_g"] == pytest.approx(one.used, abs=0.01)
        assert told["trees"] == list(one.trees)
        assert told["runs_out"] == (one.runs_out.isoformat() if one.runs_out else None)
        assert one.product.label in page
        if one.used:
            assert f"<div>{words.quantity(Quantity(one.used, 'g'))}</div>" in page
            assert told["unused_because"] is None
        if one.runs_out:
            assert f"until {words.day(one.runs_out)}" in page
    assert twin["cost"] == pytest.approx(own.cost, abs=0.01)
    assert twin["cost"] == pytest.approx(sum(one["cost"] for one in twin["shopping"]), abs=0.01)
    assert f"Together <b>{own.cost:.2f}</b>" in page
    for told, one in zip(twin["shopping"], own.shopping, strict=True):
        assert told["bags"] * told["pack_g"] >= told["short_g"]
        assert told["left_g"] == pytest.approx(
            told["bags"] * told["pack_g"] - told["short_g"], abs=0.02
        )
        assert f"<b>{one.bags}</b> of {words.quantity(Quantity(one.pack, 'g'))}" in page


def test_compost_is_a_mulch_and_said_so(demo: TestClient) -> None:
    twin = {one["product"]: one for one in demo.get("/shelf.json").json()["products"]}

    assert twin["compost"]["used_g"] == 0
    assert "a mulch, not a feed" in twin["compost"]["unused_because"]
    assert twin["compost"]["unused_because"] in demo.get("/shelf").text


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ('label = "0-0-0"\nrelease = "granular mineral"', "holds no nitrogen, phosphate or potash"),
        ('label = "9-3-6"\nrelease = "granular mineral"\nkept_for = ["blueberry"]',
         "You keep it for blueberry, and no tree here is that"),
        ('label = "0-45-0"\nrelease = "granular mineral"', "No round lacks what it holds"),
    ],
)  # fmt: skip
def test_what_no_round_takes_is_told_with_its_reason(tmp_path: Path, more: str, why: str) -> None:
    client = altered(
        tmp_path, ("[[shelter]]", f'[[product]]\nid = "other"\nname = "other"\n{more}\n[[shelter]]')
    )
    twin = {one["product"]: one for one in client.get("/shelf.json").json()["products"]}

    assert twin["other"]["used_g"] == 0
    assert why in twin["other"]["unused_because"]
    assert why in client.get("/shelf").text


def test_a_missing_pack_and_price_are_said(client: TestClient) -> None:
    twin, page = client.get("/shelf.json").json(), client.get("/shelf").text

    assert twin["shopping"], "the small garden runs short"
    assert twin["cost"] is None
    assert twin["shopping"][0]["bags"] is None
    for said in ("pack not given", "no price given", "The sum is not known"):
        assert said in page


# ---------------------------------------------------------------- the sheet


@pytest.mark.parametrize("days", [1, 21, 120])
def test_the_sheet_walks_the_garden_in_order(
    demo: TestClient, opened: LoadedGarden, days: int
) -> None:
    own = feeding_sheet(opened, days)
    twin, page = (
        demo.get(f"/sheet.json?days={days}").json(),
        unescape(demo.get(f"/sheet?days={days}").text),
    )
    order = [tree.id for tree in opened.garden.trees]
    places = [order.index(one["tree"]) for one in twin["lines"]]

    assert [one["tree"] for one in twin["lines"]] == [one.tree.id for one in own]
    assert places == sorted(places)
    totals: dict[str, float] = {}
    for line in twin["lines"]:
        for dose in line["doses"]:
            totals[dose["product"]] = totals.get(dose["product"], 0) + dose["g"]
    assert {one["product"]: one["g"] for one in twin["totals"]} == pytest.approx(totals, abs=0.1)
    assert page.count('class="tick"') == len(own) + len(totals)
    for text in twin["cautions"]:
        assert page.count(text) == 1, "cautions stand once"
    for tree in {one["tree"] for one in twin["lines"]}:
        assert f'href="/tree/{tree}/feeding"' in page


def test_a_line_tells_the_ring_or_the_pot(demo: TestClient, opened: LoadedGarden) -> None:
    lines = demo.get("/sheet.json?days=200").json()["lines"]
    pots = {tree.id: tree.pot.volume for tree in opened.garden.trees if tree.pot is not None}

    assert {one["tree"] for one in lines} & set(pots)
    for one in lines:
        assert (one["ring_m"] is None) == (one["tree"] in pots)
        if one["ring_m"] is None:
            assert one["pot_l"] == pots[one["tree"]]
        else:
            ring = one["ring_m"]
            area = np.pi * (ring["outer"] ** 2 - ring["inner"] ** 2)
            assert ring["area_m2"] == pytest.approx(area, rel=0.05)


@pytest.mark.parametrize(
    ("mass", "said"),
    [(900.0, "6 level cups"), (37.5, "¼ level cup"), (112.5 + 2 * 150 / 16, "¾ level cup and 2 level tablespoons"),
     (150 / 16, "1 level tablespoon"), (10.0, "")],
)  # fmt: skip
def test_what_to_fill_is_told_in_cups_and_spoons(mass: float, said: str) -> None:
    assert filled(mass, 150.0) == said
    assert filled(mass, None) == ""
    if "and" not in said:
        assert in_measures(mass, 150.0) == said


@pytest.mark.parametrize(
    ("largest", "top"),
    [(0.0, 1.0), (0.07, 0.08), (1.0, 1.0), (1.01, 1.5), (9.0, 10.0), (10.0, 10.0)],
)
def test_scales_end_on_a_round_figure(largest: float, top: float) -> None:
    assert nice_top(largest) == pytest.approx(top)
    assert nice_top(largest) >= largest


def test_percent_keeps_its_sign_beside_the_figure() -> None:
    assert percent(0.846) == "85\N{NO-BREAK SPACE}%"
    assert Words().quantity(Quantity(0.846, "1")) == "85 %"


# ---------------------------------------------------------------- in a browser


@pytest.fixture(scope="module")
def address(demo_path: Path) -> Iterator[str]:
    """The address of the running demonstration garden."""
    with running(create_app(demo_path, today=lambda: TODAY)) as (place, _):
        yield place


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_scrolls_sideways_and_fingers_find_their_mark(
    browser, address: str, width: int
) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, width)
    for place in (
        "/shelf",
        "/sheet?days=60",
        "/tree/satsuma-gate/feeding",
        "/tree/kumquat-pot/feeding",
        "/garden",
    ):
        page.goto(address + place)
        unfold(page)
        fits(page, width, targets="summary, nav a, .onward a", where=place)
        if "/feeding" in place:
            shown = page.locator(".ledger:visible")
            assert shown.count() == 1
            assert shown.locator("polyline").count() >= 3
    page.close()


@pytest.mark.browser
def test_the_sheet_prints_on_two_pages_at_most(browser, address: str, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    page = page_of(browser, 1280, 720)
    page.goto(f"{address}/sheet")
    page.emulate_media(media="print")
    assert not page.locator(".top nav").is_visible()
    assert not page.locator(".turn").is_visible()
    assert page.locator(".tick:visible").count() == page.locator(".tick").count() > 3
    assert page.locator("#mind").is_visible()
    sheet = tmp_path / "sheet.pdf"
    page.pdf(path=str(sheet), format="A4")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", sheet.read_bytes())) <= 2
    page.goto(f"{address}/tree/satsuma-gate/feeding")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("table.months").is_visible()
    assert page.locator(".ledger.wide").is_visible()
    page.close()


def test_a_slow_gift_counts_for_the_year_only_as_far_as_it_feeds_in_it(
    opened: LoadedGarden,
) -> None:
    """Seven months given late in the year are mostly the next year's."""
    year = feeding_year(opened, "calamondin-pot")
    rounds = rounds_shown(opened, year, words_of(opened))
    last = opened.today + timedelta(days=365)
    whole = sum(one.label[0] for one in rounds if one.ahead and one.placed.window.best < last)

    assert any((last - one.placed.window.best).days < 30 * one.placed.months for one in rounds)
    assert 0 < brought(rounds, opened.today).n < 0.8 * whole
