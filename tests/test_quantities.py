"""Measures as people type them: decimal points and commas, what can be read in two ways, lists of numbers."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.errors import BadInput
from bearwell.faces.language import in_one_way, speaking
from bearwell.garden.values import grade_of
from bearwell.quantities import family_of, parse, plain_number, pointed
from bearwell.reckon.model import measures, number, numbers, years


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("3,5 kg", 3500.0),
        ("3.5 kg", 3500.0),
        ("0,75 kg", 750.0),
        ("7,25g", 7.25),
        ("0,500 kg", 500.0),
        ("1,2345 kg", 1234.5),
        ("1,5e3 g", 1500.0),
        ("7 lb 3,5 oz", 3274.37),
    ],
)
def test_a_decimal_comma_is_read_where_it_can_be_nothing_else(text: str, grams: float) -> None:
    assert parse(text, "mass") == pytest.approx(grams, abs=0.1)
    assert family_of(text) == "mass"


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("1,500 g", "'1,500' can be read in two ways", "write 1500 or 1.5"),
        ("12,345 g", "'12,345' can be read in two ways", "write 12345 or 12.345"),
        ("10,000 g", "'10,000' can be read in two ways", "write 10000 or 10"),
        ("1.500,25 g", "'1.500,25' has both a point and a comma", "write 1500.25"),
        ("1,500.25 g", "'1,500.25' has both a point and a comma", "write 1500.25"),
        ("1,234,567 g", "'1,234,567' has more than one comma", "write 1234567"),
        (",5 kg", "',5 kg' is not a number with a unit", 'such as "2 g"'),
    ],
)
def test_a_comma_that_can_be_read_in_two_ways_is_asked_about(
    text: str, message: str, hint: str
) -> None:
    with pytest.raises(BadInput) as refused:
        parse(text, "mass")
    assert (refused.value.message, refused.value.hint[: len(hint)]) == (message, hint)


@given(st.integers(0, 9999), st.text("0123456789", min_size=1, max_size=6))
def test_a_comma_reads_as_a_point_or_is_refused(whole: int, part: str) -> None:
    """The same number by both marks, but for three figures after a whole one."""
    text = f"{whole},{part}"
    if len(part) == 3 and whole:
        with pytest.raises(BadInput):
            pointed(text)
    else:
        assert plain_number(text) == float(f"{whole}.{part}")


def test_plain_numbers_and_lists_take_a_decimal_comma() -> None:
    assert number(0, 14, "pH")("6,5") == 6.5
    assert numbers("12,30,8") == [12, 30, 8]
    assert numbers("12,5; 30; 8,25") == [12.5, 30, 8.25]
    assert measures("air_temperature")("-2,5; -3 degC") == [-2.5, -3]
    assert measures("air_temperature")("-2,-3 degC") == [-2, -3]
    first, missing, last = years("12,5; ; 8")
    assert (first, last) == (12.5, 8)
    assert math.isnan(missing)
    assert grade_of("7,5-3-3") == (7.5, 3, 3)
    with pytest.raises(ValueError, match="could not convert"):
        plain_number("six")


# ---------------------------------------------------------------- a point among those who write a comma

# Unicode CLDR, numbers of pt-PT and es: a comma before the decimals, and a point or a space between thousands.
POINTED = [
    ("1.500 g", "1.500", "1500 or 1,5"),
    ("12.345", "12.345", "12345 or 12,345"),
    ("2.000 L", "2.000", "2000 or 2"),
]


@pytest.mark.parametrize("language", ["pt", "es"])
@pytest.mark.parametrize(("typed", "number", "ways"), POINTED)
def test_a_point_with_three_digits_is_asked_about_where_decimals_take_a_comma(
    language: str, typed: str, number: str, ways: str
) -> None:
    with speaking(language), pytest.raises(BadInput) as told:
        in_one_way(typed)
    assert told.value.message == f"'{number}' can be read in two ways"
    assert told.value.hint == f"write {ways}"
    assert in_one_way(typed) == typed, "in English it is what it says"


@pytest.mark.parametrize(
    "typed",
    [
        "0.750 kg",
        "1.5 kg",
        "1.25 kg",
        "1500 g",
        "1,5 kg",
        "1.2345 m",
        "1.500,5 g",
        "12.05.2026",
        "",
        "aa",
    ],
)
def test_what_can_be_only_one_thing_is_left_as_it_is(typed: str) -> None:
    with speaking("pt"):
        assert in_one_way(typed) == typed
