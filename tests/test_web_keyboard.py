"""The main pages walked through with the keyboard alone.

Source of the rules: W3C, Web Content Accessibility Guidelines 2.2: 2.1.1 keyboard, 2.1.2 no trap, 2.4.1 bypass
blocks, 2.4.7 focus visible, 2.4.11 focus not obscured. What is interactive is asked of the page itself, so that
whatever a page gains is walked to as well.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bearwell import api
from bearwell.faces.web import create_app
from browsing import context_of, page_of, unfold, until
from gardens import TODAY
from running import running
from stores import kept

pytestmark = pytest.mark.browser

TREE = "/tree/satsuma-gate"
PAGES = ("/", TREE, "/map", "/tonight", f"{TREE}/record", f"{TREE}/feeding", "/begin/trees")
LONGEST = 1500  # steps of a walk
HIDDEN = 6  # of nine spots spread over a thing
STAYS = 12  # steps within one thing: a date has a stop for the day, the month and the year

# A record that the server would not take: it waits at the foot of every page until somebody looks at it.
WAITING = {
    "id": "00000000-0000-4000-8000-000000000001", "url": "/do", "body": "advice=satsuma-gate/x", "made": "2026",
    "label": "A record that waits", "why": "refused, for a look",
}  # fmt: skip

# Marks everything that can be acted on, in the order of the page, with how it looks without focus.
MARK = """() => {
  const wanted = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]';
  window.looks = (one) => [one, ...one.querySelectorAll(':scope > *')].map((part) => {
    const seen = getComputedStyle(part);
    return [seen.outlineStyle === 'none' ? 0 : seen.outlineWidth, seen.boxShadow, seen.borderColor, seen.stroke,
            seen.strokeWidth, seen.backgroundColor].join(' ');
  }).join('|');
  const radios = new Set();
  let count = 0;
  window.before = {};
  for (const one of document.querySelectorAll(wanted)) {
    if (one.disabled || one.tabIndex < 0 || !one.checkVisibility({ visibilityProperty: true })) continue;
    if (one.type === 'radio') {
      if (radios.has(one.name) && !one.checked) continue;
      radios.add(one.name);
    }
    one.dataset.walk = count;
    window.before[count] = window.looks(one);
    count += 1;
  }
  return count;
}"""

# What has the focus: which of the marked, whether it looks otherwise, and how much of it can be seen.
HERE = """async () => {
  for (let frame = 0; frame < 2; frame += 1) await new Promise(requestAnimationFrame);  // scrolled to by then: no motion is asked for
  const one = document.activeElement;
  if (!one || one === document.body || one === document.documentElement) return null;
  const walk = one.dataset.walk;
  const box = one.getBoundingClientRect();
  const left = Math.max(box.left, 0), right = Math.min(box.right, innerWidth);
  const top = Math.max(box.top, 0), bottom = Math.min(box.bottom, innerHeight);
  let hidden = 0;
  for (const across of [0.1, 0.5, 0.9]) {
    for (const down of [0.1, 0.5, 0.9]) {
      const found = document.elementFromPoint(left + across * (right - left), top + down * (bottom - top));
      const over = found && found.closest('.kept, .to-send');
      if (over && !over.contains(one)) hidden += 1;
    }
  }
  return {
    walk: walk === undefined ? null : Number(walk),
    what: one.outerHTML.slice(0, 140),
    changed: walk === undefined || window.looks(one) !== window.before[walk],
    onScreen: right > left && bottom > top,
    hidden,
  };
}"""


# Whether what stays at the head and the foot of the screen has its room there.
MADE_ROOM = (
    "(({ style }) => style.scrollPaddingTop && style.scrollPaddingBottom)(document.documentElement)"
)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The demo garden served from a store, so that its forms are there."""
    place = tmp_path_factory.mktemp("demo")
    path = Path(api.write_demo(place / "file", TODAY))
    kept(str(place / "data"), path).close()
    with running(create_app(place / "data", today=lambda: TODAY)) as (home, _):
        yield home


@pytest.fixture(scope="module")
def nothing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A store with no garden in it yet."""
    place = tmp_path_factory.mktemp("new")
    api.open_store(place / "data", create=True).close()
    with running(create_app(place / "data", today=lambda: TODAY)) as (home, _):
        yield home


def walk(page: Any, key: str = "Tab") -> tuple[list[dict[str, Any]], int]:
    """Everything the key comes to, in order, until it leaves the page; and how many things there are to reach."""
    count = page.evaluate(MARK)
    steps: list[dict[str, Any]] = []
    stays = 0
    for _ in range(LONGEST):
        page.keyboard.press(key)
        here = page.evaluate(HERE)
        if here is None:
            break
        if steps and here["what"] == steps[-1]["what"] and here["walk"] == steps[-1]["walk"]:
            stays += 1
            assert stays < STAYS, f"the focus is caught in {here['what']}"
            continue
        stays = 0
        if steps and here["walk"] is not None and here["walk"] == steps[0]["walk"]:
            break  # round again
        steps.append(here)
    else:
        pytest.fail("the walk does not end")
    return steps, count


def check(page: Any, key: str = "Tab") -> None:
    """Everything is reached once, is seen to have the focus, and nothing lies over it."""
    steps, count = walk(page, key)
    reached = [one["walk"] for one in steps if one["walk"] is not None]
    missed = sorted(set(range(count)) - set(reached))
    told = page.evaluate(
        "all => all.map(walk => document.querySelector(`[data-walk='${walk}']`).outerHTML.slice(0, 140))",
        missed,
    )
    assert told == []
    assert len(reached) == len(set(reached))
    order = reached if key == "Tab" else reached[::-1]
    assert order == sorted(order), "the order of the focus is not that of the page"
    assert [one["what"] for one in steps if not one["changed"]] == []
    assert [one["what"] for one in steps if not one["onScreen"]] == []
    # A table taller than the screen can only be seen in part.
    assert [(one["hidden"], one["what"]) for one in steps if one["hidden"] > HIDDEN] == []


@pytest.mark.parametrize(("place", "width"), [*((place, 390) for place in PAGES), (TREE, 1200)])
def test_everything_on_a_page_is_reached_and_seen(
    browser: Any, address: str, place: str, width: int
) -> None:
    page = page_of(browser, width)
    page.goto(address + place)
    check(page)
    page.close()


@pytest.mark.parametrize("place", [f"{TREE}/record", "/map"])
def test_all_that_can_be_opened_is_reached_too_and_back_again(
    browser: Any, address: str, place: str
) -> None:
    page = page_of(browser)
    page.goto(address + place)
    unfold(page)
    check(page)
    page.evaluate("document.activeElement.blur()")
    page.goto(address + place)
    check(page, "Shift+Tab")
    page.close()


def test_before_there_is_a_garden(browser: Any, nothing: str) -> None:
    page = page_of(browser)
    page.goto(nothing + "/begin")
    check(page)
    page.close()


@pytest.mark.parametrize(
    ("place", "width"), [("/", 390), ("/map", 390), (f"{TREE}/record", 390), (TREE, 1200)]
)
def test_nothing_with_the_focus_lies_under_what_stays_on_the_screen(
    browser: Any, address: str, place: str, width: int
) -> None:
    """A page kept for want of signal says so at its head, and records that wait stand at its foot."""
    context = context_of(browser, width, 700)
    item = json.dumps(json.dumps(WAITING))
    context.add_init_script(f"localStorage.setItem('bearwell-waiting:{WAITING['id']}', {item})")
    page = context.new_page()

    def as_kept(route: Any) -> None:
        answer = route.fetch()
        then = f'<html data-kept="{TODAY}T08:00:00Z" '
        route.fulfill(response=answer, body=answer.text().replace("<html ", then, 1))

    page.route(address + place, as_kept)
    for key in ("Tab", "Shift+Tab"):
        page.goto(address + place)
        page.locator(".kept").wait_for()
        page.locator(".to-send").wait_for()  # it looks into the device's database first
        until(lambda: page.evaluate(MADE_ROOM), "room for what stays on the screen")
        check(page, key)
    context.close()


@pytest.mark.parametrize("place", PAGES)
def test_the_first_stop_leads_past_the_menu(browser: Any, address: str, place: str) -> None:
    page = page_of(browser)
    page.goto(address + place)
    page.keyboard.press("Tab")
    skip = page.locator(".skip")
    assert skip.evaluate("one => one === document.activeElement")
    assert skip.bounding_box()["x"] >= 0
    page.keyboard.press("Enter")
    until(
        lambda: page.evaluate("document.activeElement.id") == "main", "the focus at the main part"
    )
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")
    page.close()


def to(page: Any, wanted: str) -> None:
    """Step on until the focus is on what this selects."""
    for _ in range(LONGEST):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
    pytest.fail(f"no step leads to {wanted}")


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_job_is_done_and_undone_without_a_pointer(
    browser: Any, address: str, scripts: bool
) -> None:
    page = page_of(browser, java_script_enabled=scripts)
    page.goto(address + "/")
    jobs = page.locator(".act").count()
    assert jobs
    to(page, ".card form[data-label] button")
    page.keyboard.press("Enter")
    page.wait_for_url("**told=*")
    page.locator(".told").wait_for()
    page.keyboard.press("Tab")  # the page begins where it says what was noted
    assert page.evaluate("document.activeElement.matches('.told button')")
    page.keyboard.press("Enter")
    page.get_by_text("Undone").first.wait_for()

    page.goto(address + "/")
    assert page.locator(".act").count() == jobs
    page.close()


def test_a_tree_is_moved_kept_and_brought_back_without_a_pointer(
    browser: Any, address: str
) -> None:
    page = page_of(browser, 1200, 900)
    page.goto(address + "/map")
    east = page.locator('.map-tree[data-tree="anna-steps"]').get_attribute("data-east")
    to(page, '.map-tree[data-tree="anna-steps"]')
    page.keyboard.press("Shift+ArrowRight")
    to(page, ".moved button[type=submit]")
    page.keyboard.press("Enter")
    page.wait_for_url("**told=*")
    shape = page.locator('.map-tree[data-tree="anna-steps"]')
    page.locator(".told").wait_for()
    assert float(shape.get_attribute("data-east")) == pytest.approx(float(east) + 1)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.matches('.told button')")
    page.keyboard.press("Enter")
    page.get_by_text("Undone").first.wait_for()
    assert shape.get_attribute("data-east") == east
    page.close()
