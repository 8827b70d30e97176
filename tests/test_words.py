"""How numbers, dates and lengths of work are written in both systems of units."""

from __future__ import annotations

import json
from datetime import date

import pytest

from bearwell.faces.groups import gather
from bearwell.faces.twins import written
from bearwell.faces.words import Words
from bearwell.plan.advice import Advice, Window
from bearwell.quantities import Quantity, units
from bearwell.reasons import phrase

TODAY = date(2026, 11, 25)
METRIC, US = Words("metric", TODAY), Words("us", TODAY)


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (227, "d", "227 days", "227 days"),
        (1, "d", "1 day", "1 day"),
        (1, "h", "1 hour", "1 hour"),
        (6.5, "h", "6.5 hours", "6.5 hours"),
        (250, "degC d", "250 °C days", "450 °F days"),
        (5000, "degC h", "5 000 °C hours", "9,000 °F hours"),
        (48.82427638, "g m-2", "49 g a square metre", "10 lb on 1000 sq ft"),
        (16.01846337, "kg m-3", "16 kg a cubic metre", "1 lb a cubic foot"),
        (1116.1229577, "g/m", "1 116 g a metre", "1 oz an inch"),
        (7.489151707, "g/L", "7.5 g a litre", "1 oz a gallon"),
        (2, "g/kg", "2 g a kg", "4 lb a ton"),
        (4, "fruit cm-2", "4 fruit a cm²", "26 fruit a sq in"),
        (2, "fruit cm-1", "2 fruit a cm", "5.1 fruit an inch"),
        (4.4704, "m s-1", "4.5 m/s", "10 mph"),
        (45, "CP", "45 chill portions", "45 chill portions"),
        (12500, "count", "12 500", "12,500"),
        (1_234_000, "g", "1 234 kg", "2,721 lb"),
        (200, "g", "200 g", "7.1 oz"),
        (0.5, "m", "50 cm", "19.7 in"),
        (2, "m", "2 m", "6.6 ft"),
        (6.4516, "cm2", "6.5 cm²", "1 sq in"),
        (3, "L", "3 L", "3.2 qt"),
        (40, "L", "40 L", "10.6 gal"),
        (5, "mm d-1", "5 mm a day", "0.20 in a day"),
        (-2.5, "degC", "−2.5 °C", "28 °F"),
        (2.5, "K", "2.5 °C", "4.5 °F"),
        (0.24, "m3/m3", "24 % by volume", "24 % by volume"),
        (0.25, "1", "25 %", "25 %"),
    ],
)  # fmt: skip
def test_quantities_in_both_systems(value: float, unit: str, metric: str, us: str):
    """The figures are the definitions of the units (NIST SP 811, appendix B) applied to round numbers."""
    assert METRIC.quantity(Quantity(value, unit)) == metric
    assert US.quantity(Quantity(value, unit)) == us


METRIC_ONLY = ("°C", " kg", " g ", "metre", "litre", " cm", " m²", " m³", " L", " mm", "m/s")


@pytest.mark.parametrize(
    "unit",
    ["g", "kg", "m", "m2", "m3", "cm2", "L", "L d-1", "mm", "mm d-1", "degC", "K", "degC d", "degC h", "g m-2",
     "g/m", "g/L", "g/kg", "kg m-3", "fruit cm-2", "fruit cm-1", "m s-1"],
)  # fmt: skip
def test_no_metric_unit_is_shown_to_a_grower_used_to_us_units(unit: str):
    assert unit in units()
    for value in (0.3, 3.0, 300.0):
        shown = US.quantity(Quantity(value, unit))
        assert not [sign for sign in METRIC_ONLY if sign in f"{shown} "], shown


def test_a_range_is_told_with_its_unit_once():
    known = Quantity(1500.0, "g", 1200.0, 2000.0)

    assert METRIC.quantity(known, with_range=True) == "1.5 kg (1.2 to 2 kg)"
    assert (
        METRIC.quantity(Quantity(900.0, "g", 800.0, 1100.0), with_range=True)
        == "900 g (800 g to 1.1 kg)"
    )
    assert METRIC.quantity(Quantity(1500, "CP", 1200, 1800), with_range=True) == "1 500 chill portions (1 200 to 1 800 chill portions)"  # fmt: skip
    assert METRIC.quantity(Quantity(5.0, "d", 5.0, 5.0), with_range=True) == "5 days"


def test_a_day_is_not_said_twice():
    text = "loses {loss} a day, for {time} days"
    said = phrase(text, loss=Quantity(4.0, "mm d-1"), time=Quantity(6.0, "d"))

    assert METRIC.phrase(said) == "loses 4 mm a day, for 6 days"
    assert US.phrase(said) == "loses 0.16 in a day, for 6 days"


@pytest.mark.parametrize(
    ("first", "last", "metric", "us"),
    [
        (date(2026, 10, 10), date(2026, 10, 24), "10 – 24 October", "October 10 – 24"),
        (date(2026, 11, 25), date(2026, 12, 9), "25 November – 9 December", "November 25 – December 9"),
        (date(2026, 12, 25), date(2027, 1, 8), "25 December – 8 January", "December 25 – January 8"),
        (date(2027, 7, 1), date(2027, 7, 9), "1 – 9 July 2027", "July 1 – 9, 2027"),
        (date(2027, 7, 1), date(2027, 8, 9), "1 July – 9 August 2027", "July 1 – August 9, 2027"),
        (date(2027, 12, 1), date(2028, 1, 9), "1 December 2027 – 9 January 2028", "December 1, 2027 – January 9, 2028"),
        (date(2026, 11, 25), date(2026, 11, 25), "25 November", "November 25"),
    ],
)  # fmt: skip
def test_spans(first: date, last: date, metric: str, us: str):
    assert METRIC.span(first, last) == metric
    assert US.span(first, last) == us


@pytest.mark.parametrize(
    ("day", "text"),
    [
        (date(2026, 4, 14), "14 April 2026"),
        (date(2026, 10, 14), "14 October"),
        (date(2027, 3, 14), "14 March"),
        (date(2027, 6, 14), "14 June 2027"),
    ],
)
def test_days_far_off_either_way_carry_their_year(day: date, text: str):
    assert METRIC.day(day) == text
    assert Words().day(day).endswith(str(day.year))


@pytest.mark.parametrize(
    ("minutes", "text"),
    [
        (0, "no work"),
        (0.2, "1 min"),
        (25, "25 min"),
        (60, "1 h"),
        (95, "1 h 40 min"),
        (128, "2 h 10 min"),
    ],
)
def test_lengths_of_work(minutes: float, text: str):
    assert METRIC.time(minutes) == text


def test_what_is_no_number_is_null_in_json():
    data = {"a": float("nan"), "b": [1.0, float("inf")], "c": {"d": (float("-inf"), 2)}, "e": TODAY}

    assert json.loads(written(data)) == {
        "a": None,
        "b": [1.0, None],
        "c": {"d": [None, 2]},
        "e": "2026-11-25",
    }
    assert "NaN" not in written(data, indent=2)


def test_equal_advice_for_several_trees_is_one_entry():
    def look(tree: str, title: str, last: int) -> Advice:
        window = Window(date(2026, 11, 1), date(2026, 11, 20), date(2026, 12, last))
        return Advice(f"{tree}/{title}", tree, "inspect", window, phrase(title), minutes=3)

    groups = gather(
        [look("a", "Look at buds", 20), look("b", "Look at bark", 9), look("c", "Look at buds", 15)]
    )

    assert [(group.lead.headline.text, group.trees) for group in groups] == [
        ("Look at bark", ["b"]),
        ("Look at buds", ["a", "c"]),
    ]
    assert groups[1].window.latest == date(2026, 12, 15)
    assert groups[1].minutes == 6
