"""The year as a ring: a clock's sense, January at the top, nothing laid over itself. Geometry, no source."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise
from math import atan2, hypot, pi
from xml.etree import ElementTree

import pytest

from bearwell.faces.web.drawing.ring import ring_drawing, turn
from bearwell.faces.web.drawing.year import Bar, Mark, Row
from bearwell.faces.words import Words

TODAY = date(2026, 11, 26)
SVG = "{http://www.w3.org/2000/svg}"


def drawn(*rows: Row) -> ElementTree.Element:
    text = ring_drawing(rows, TODAY, Words("metric", TODAY), name="a & b <c>")
    return ElementTree.fromstring(text)


def day_at(x: float, y: float) -> float:
    """The day of the year at a point of the drawing, counted clockwise from the top."""
    return (atan2(x - 180, 180 - y) % (2 * pi)) / (2 * pi) * 365


def corners(part: ElementTree.Element) -> list[tuple[float, float]]:
    pairs = re.findall(r"(?:M|1 \d |0 \d |L)(-?[\d.]+) (-?[\d.]+)(?=A|L|Z)", part.get("d", ""))
    return [(float(x), float(y)) for x, y in pairs]


@pytest.mark.parametrize("today", [date(2026, 1, 1), date(2026, 3, 31), date(2024, 2, 29), TODAY])
def test_a_turn_is_less_than_a_year_and_holds_the_month_before(today: date) -> None:
    first, last = turn(today)
    assert first.day == 1
    assert 28 <= (today - first).days <= 62
    assert first.timetuple().tm_yday != last.timetuple().tm_yday
    assert (last - first).days <= 365


def test_a_span_lies_at_its_days() -> None:
    bar = Bar(date(2027, 4, 1), date(2027, 5, 31), "bloom")
    (path,) = drawn(Row("bloom", "Bloom", (bar,))).iter("path")
    points = corners(path)
    assert day_at(*points[0]) == pytest.approx(90, abs=0.5)
    assert day_at(*points[1]) == pytest.approx(150, abs=0.5)


def test_a_mark_of_january_stands_at_the_top_and_one_of_july_below() -> None:
    marks = (Mark(date(2027, 1, 1), "cut"), Mark(date(2027, 7, 2), "fed"))
    top, below = (
        one for one in drawn(Row("done", "Work", (), marks)).iter("circle") if one.get("class") == "mark"
    )  # fmt: skip
    assert float(top.get("cy")) < 180 < float(below.get("cy"))
    assert float(top.get("cx")) == pytest.approx(180, abs=0.1)
    assert float(below.get("cx")) == pytest.approx(180, abs=2)


def test_what_lies_outside_the_turn_is_cut_off_or_left_out() -> None:
    first, last = turn(TODAY)
    rows = (
        Row("fruit", "Fruit", (Bar(first - timedelta(days=90), last + timedelta(days=90), "grows"),)),
        Row("bloom", "Bloom", (Bar(date(2020, 4, 1), date(2020, 5, 1), "long ago"),)),
        Row("done", "Work", (), (Mark(date(2020, 4, 1), "long ago"),)),
    )  # fmt: skip
    image = drawn(*rows)
    (path,) = image.iter("path")
    begins, ends = (day_at(*point) for point in corners(path)[:2])
    assert begins == pytest.approx(first.timetuple().tm_yday - 1, abs=0.5)
    assert ends == pytest.approx(last.timetuple().tm_yday - 1, abs=0.5)
    assert not [one for one in image.iter("circle") if one.get("class") == "mark"]


def test_every_row_has_a_circle_of_its_own_however_many() -> None:
    rows = [Row(str(number), "Row", (Bar(TODAY, TODAY + timedelta(days=30), "x"),)) for number in range(9)]  # fmt: skip
    radii = [
        hypot(corners(path)[0][0] - 180, corners(path)[0][1] - 180) for path in drawn(*rows).iter("path")
    ]  # fmt: skip
    assert len(radii) == 9
    assert all(outer - inner > 8 for outer, inner in pairwise(radii))
    assert radii[-1] > 40


def test_names_are_escaped() -> None:
    assert drawn(Row("x", "<b>&", ())).findtext("title") == "The year of a & b <c> as a ring"
