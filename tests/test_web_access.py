"""Pages that everybody can use: the rules of WCAG 2.0 to 2.2, levels A and AA, tried by axe-core.

Source of the rules: W3C, Web Content Accessibility Guidelines 2.2, as far as the checker axe-core
can decide them. What no program can decide (sense, order, wording) is walked through by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from bearwell.faces.web import create_app
from browsing import context_of, page_of, unfold
from running import running
from stores import kept
from web_garden import TODAY, write_garden

pytestmark = pytest.mark.browser

axe = pytest.importorskip("axe_playwright_python.base", reason="axe-playwright-python is not installed")  # fmt: skip
TREE = "/tree/clementine-low"
PAGES = (
    "/", "/?by=tree", "/trees", "/garden", "/map", "/poster", "/sheet", "/sheet/week", "/sheet/pruning", "/paper",
    "/tags", "/tonight", "/winter", "/water", "/weather", "/leaf", "/shelf", "/history", "/sources", "/why", "/kind",
    "/kind/clementine", "/outdoors", "/begin/trees", "/reckon", "/reckon/canopy?height=3&spread=x", "/reckon/night", "/nowhere",
    TREE, f"{TREE}/feeding", f"{TREE}/pruning", f"{TREE}/crop", f"{TREE}/count", f"{TREE}/water", f"{TREE}/record",
    "/season", f"{TREE}/season", "/season?since=2026-01-01&until=2026-06-30",
)  # fmt: skip
RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    "resultTypes": ["violations"],
}


def violations(page: Any) -> list[str]:
    """What the checker finds wrong on the page now shown: rule, how many, the first place."""
    page.evaluate(axe.AXE_SCRIPT)
    found = page.evaluate("rules => axe.run(document, rules)", RULES)["violations"]
    return [f"{one['id']} ({len(one['nodes'])}): {one['nodes'][0]['html'][:120]}" for one in found]


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A garden served from a store, so that the forms to record are there too."""
    place = tmp_path_factory.mktemp("garden")
    kept(str(place / "data"), write_garden(place)).close()
    with running(create_app(place / "data", today=lambda: TODAY)) as (home, _):
        yield home


@pytest.mark.parametrize("light", ["light", "dark"])
def test_no_page_breaks_a_rule_that_a_program_can_decide(
    browser: Any, address: str, light: str
) -> None:
    context = context_of(browser, color_scheme=light)
    page = context.new_page()
    wrong = {}
    for place in PAGES:
        page.goto(address + place)
        unfold(page)
        if found := violations(page):
            wrong[place] = found
    context.close()
    assert wrong == {}


def test_the_checker_sees_what_is_wrong(browser: Any, address: str) -> None:
    page = page_of(browser)
    page.goto(address + "/trees")
    page.evaluate(
        """() => {
            const main = document.querySelector("main");
            main.append(document.createElement("button"), document.createElement("img"));
            const pale = document.createElement("p");
            pale.textContent = "too pale to read";
            pale.style.color = "rgb(215, 215, 205)";
            main.append(pale);
        }"""
    )
    found = " ".join(violations(page))
    page.close()
    for rule in ("button-name", "image-alt", "color-contrast"):
        assert rule in found
