"""Leaf tests: graded by one named set, never by a mixture, with what is wrong with the sample said aloud."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.api import knowledge
from bearwell.errors import BadInput
from bearwell.faces.words import Words
from bearwell.garden.model import LeafTest
from bearwell.plan.leaftest import (
    GRADES,
    LIMITS,
    NAMES,
    Judged,
    days_outside,
    grade_of,
    judge_leaf_test,
    sets_for,
)

BOOK = knowledge()
SPRING = "spring flush, from shoots without fruit"
MIDDLE = "middle leaves of this year's shoots"
JULY = date(2026, 7, 20)


@dataclass(frozen=True)
class Leaves:
    date: date = JULY
    leaf: str = SPRING
    values: Mapping[str, float] = field(default_factory=dict)


def judge(kind: str, set_name: str, test: Leaves, *, southern: bool = False) -> dict[str, Judged]:
    found = judge_leaf_test(test, BOOK.kind(kind), set_name, BOOK, southern=southern)
    return {one.nutrient: one for one in found}


def said(one: Judged) -> str:
    return " | ".join(Words().phrase(text) for text in one.caveats)


# ---------------------------------------------------------------- grades against the printed tables


@pytest.mark.parametrize(
    ("kind", "set_name", "leaf", "nutrient", "value", "grade", "where"),
    [
        ("orange-any", "Israel citrus", SPRING, "n", 1.8, "low", "J. Plant Nutr. Soil Sci. 2013"),
        ("orange-any", "Israel citrus", SPRING, "n", 2.3, "optimum", "J. Plant Nutr. Soil Sci. 2013"),
        ("orange-any", "Israel citrus", SPRING, "n", 2.4, "high", "J. Plant Nutr. Soil Sci. 2013"),
        ("grapefruit", "Israel citrus", SPRING, "k", 0.40, "optimum", "J. Plant Nutr. Soil Sci. 2013"),
        ("orange-any", "Israel citrus", SPRING, "k", 0.40, "low", "J. Plant Nutr. Soil Sci. 2013"),
        ("apple", "Washington tree fruit", MIDDLE, "n", 1.6, "low", "WSU table 4: 1.7 to 2.5"),
        ("apple", "Washington tree fruit", MIDDLE, "n", 2.5, "optimum", "WSU table 4: 1.7 to 2.5"),
        ("peach", "Washington tree fruit", MIDDLE, "n", 2.5, "low", "WSU table 4: 2.7 to 3.5"),
        ("sweet-cherry", "Washington tree fruit", MIDDLE, "zn", 51, "high", "WSU table 4: 12 to 50"),
        ("peach", "California peach and nectarine", MIDDLE, "n", 2.6, "optimum", "UC: 2.6 to 3.0"),
        ("peach", "California peach and nectarine", MIDDLE, "n", 3.1, "high", "UC: 2.6 to 3.0"),
        ("apple", "Ontario apple", MIDDLE, "k", 1.1, "low", "Ontario: 1.2 to 2.0"),
        ("olive", "California olive", MIDDLE, "n", 1.0, "deficient", "UCCE: deficient at 1.1"),
        ("olive", "California olive", MIDDLE, "n", 1.2, "low", "UCCE: 1.3 to 1.7"),
        ("olive", "California olive", MIDDLE, "n", 1.8, "excess", "UCCE: above 1.7 hurts the oil"),
        ("apple", "Michigan apple and pear", MIDDLE, "n", 2.8, "excess", "MSU, re-hosted: above 2.7"),
        ("lemon", "California citrus", SPRING, "n", 2.3, "optimum", "Western Farm Press: 2.2 to 2.4"),
        ("navel", "California citrus", SPRING, "n", 2.3, "low", "Western Farm Press: 2.4 to 2.6"),
    ],
)  # fmt: skip
def test_a_figure_is_graded_as_the_printed_table_has_it(
    kind: str, set_name: str, leaf: str, nutrient: str, value: float, grade: str, where: str
) -> None:
    kind = "navel" if kind == "orange-any" else kind
    found = judge(kind, set_name, Leaves(leaf=leaf, values={nutrient: value}))

    assert found[nutrient.capitalize()].grade == grade, where


def test_florida_limits_as_recalled() -> None:
    """From memory of SL253: deficient under 2.2, optimum 2.5 to 2.7, excess over 3.0 percent nitrogen."""
    values = (2.1, 2.3, 2.45, 2.6, 2.75, 3.0, 3.1)
    found = [
        judge("valencia", "Florida citrus", Leaves(values={"N": v}))["N"].grade for v in values
    ]

    assert found == ["deficient", "low", "low", "optimum", "high", "high", "excess"]


def test_misprinted_rows_are_left_out() -> None:
    """WSU prints leaf sulfur of apple and pear ten times too low; those two rows are not in the table."""
    found = judge("apple", "Washington tree fruit", Leaves(leaf="x", values={"s": 0.15}))["S"]

    assert found.grade is None
    assert "says nothing of sulfur" in said(found)
    assert (
        judge("peach", "Washington tree fruit", Leaves(values={"s": 0.3}))["S"].grade == "optimum"
    )


# ---------------------------------------------------------------- sets stay apart


def test_the_sets_disagree_and_that_is_said() -> None:
    """Optimum nitrogen of orange: 2.5 to 2.7 in Florida, 2.4 to 2.6 in California, 1.9 to 2.3 in Israel."""
    found = judge("navel", "Florida citrus", Leaves(values={"n": 2.4}))["N"]

    assert found.grade == "low"
    assert "California citrus would call it optimum" in said(found)
    assert "Israel citrus would call it high" in said(found)


def test_every_reason_comes_from_the_set_that_was_named() -> None:
    found = judge("navel", "Israel citrus", Leaves(values={"n": 2.2, "k": 0.9, "zn": 20}))

    sources = {link.source for one in found.values() for link in one.because}
    assert sources <= {"records", "israel-leaf-norms", "ucce-avocado-leaves"}
    assert found["Zn"].grade is None


def test_sets_nearest_to_the_kind_come_first() -> None:
    assert sets_for(BOOK.kind("navel"), BOOK)[0] == "Israel citrus"
    assert sets_for(BOOK.kind("hass"), BOOK) == ("California avocado",)
    assert sets_for(BOOK.kind("fig"), BOOK) == ()


@pytest.mark.parametrize(
    ("kind", "set_name"), [("navel", "Ontario apple"), ("lemon", "Israel citrus"), ("apple", "x")]
)
def test_a_set_that_does_not_serve_the_kind_is_refused(kind: str, set_name: str) -> None:
    with pytest.raises(BadInput, match="no set of leaf norms"):
        judge(kind, set_name, Leaves(values={"n": 2.0}))


# ---------------------------------------------------------------- the sample


def test_the_right_leaf_in_the_right_month_has_no_caveat_of_sampling() -> None:
    """UGA: July and August, 4 to 6 months old, from twigs without fruit."""
    found = judge("satsuma", "Florida citrus", Leaves(values={"n": 2.6}))["N"]

    assert "picked" not in said(found)
    assert "this was" not in said(found)


def test_the_wrong_leaf_is_graded_with_the_caveat_and_the_way_it_misleads() -> None:
    """UCCE Ventura: nitrogen and potassium fall as a leaf ages, calcium and magnesium rise."""
    test = Leaves(leaf="leaves from fruiting shoots", values={"n": 2.1, "ca": 5.2, "zn": 40})
    found = judge("hass", "California avocado", test)

    assert found["N"].grade == "excess"
    assert "this was leaves from fruiting shoots" in said(found["N"])
    assert "nitrogen falls as a leaf ages: an older leaf reads too low" in said(found["N"])
    assert "calcium rises as a leaf ages: an older leaf reads too high" in said(found["Ca"])
    assert "ages" not in said(found["Zn"])
    assert "ucce-avocado-leaves" in {link.source for link in found["N"].because}


@pytest.mark.parametrize(
    ("day", "southern", "words"),
    [
        (date(2026, 7, 1), False, ""),
        (date(2026, 8, 31), False, ""),
        (date(2026, 9, 10), False, "picked 10 days after"),
        (date(2026, 6, 21), False, "picked 10 days before"),
        (date(2026, 1, 20), True, ""),
        (date(2026, 7, 20), True, "picked"),
    ],
)
def test_the_month_is_checked_and_half_a_year_later_in_the_south(
    day: date, southern: bool, words: str
) -> None:
    found = judge("navel", "Florida citrus", Leaves(day, values={"n": 2.6}), southern=southern)

    assert (words in said(found["N"])) if words else ("picked" not in said(found["N"]))


@given(
    day=st.dates(date(2023, 1, 1), date(2027, 12, 31)),
    first=st.integers(1, 365),
    length=st.integers(0, 300),
)
def test_days_outside_a_window(day: date, first: int, length: int) -> None:
    last = (first + length - 1) % 365 + 1
    off = days_outside(day, first, last)

    assert abs(off) <= (365 - length) / 2 + 1
    inside = (day.timetuple().tm_yday - first) % 365 <= length
    assert (off == 0) == inside
    if off and day.month != 12 and day.month != 1:
        there = day - timedelta(days=off)
        assert days_outside(there, first, last) == 0 or there.year != day.year


def test_a_set_that_does_not_say_when_says_so() -> None:
    assert "was not seen" in said(judge("navel", "Israel citrus", Leaves(values={"n": 2.0}))["N"])


def test_recalled_limits_carry_their_doubt_and_iron_its_own() -> None:
    found = judge("navel", "Florida citrus", Leaves(values={"fe": 80, "n": 2.6}))

    assert "recalled" in said(found["N"])
    assert "iron in a leaf may be there and idle" in said(found["Fe"])
    assert "recalled" not in said(judge("navel", "Israel citrus", Leaves(values={"n": 2.0}))["N"])


def test_the_garden_files_own_leaf_test_is_judged() -> None:
    test = LeafTest.model_validate({"date": JULY, "n": "2.3 %", "zn": "17 ppm"})
    found = judge_leaf_test(test, BOOK.kind("clementine"), "Florida citrus", BOOK)

    assert [(one.nutrient, one.shown, one.grade) for one in found] == [
        ("N", "2.3 %", "low"), ("Zn", "17 mg/kg", "deficient"),
    ]  # fmt: skip


# ---------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("values", "complaint"),
    [
        ({"n": 25}, "cannot be in a leaf"),
        ({"zn": 0.0}, "cannot be in a leaf"),
        ({"n": float("nan")}, "cannot be in a leaf"),
        ({"xx": 1}, "no nutrient"),
        ({}, "no figure"),
    ],
)
def test_what_cannot_be_is_refused(values: dict[str, float], complaint: str) -> None:
    with pytest.raises(BadInput, match=complaint):
        judge("navel", "Florida citrus", Leaves(values=values))


# ---------------------------------------------------------------- laws and tables

LIMIT_SETS = st.lists(st.floats(0.01, 10), min_size=4, max_size=4).map(
    lambda found: dict(zip(LIMITS, sorted(found), strict=True))
)


@given(
    limits=LIMIT_SETS, a=st.floats(0, 12), b=st.floats(0, 12), kept=st.sets(st.sampled_from(LIMITS))
)
def test_more_is_never_graded_lower(
    limits: dict[str, float], a: float, b: float, kept: set[str]
) -> None:
    some = {name: limits[name] for name in LIMITS if name in kept}
    low, high = sorted((a, b))

    assert GRADES.index(grade_of(low, some)) <= GRADES.index(grade_of(high, some))


def test_the_limits_of_every_norm_rise_and_its_set_and_group_are_known() -> None:
    sets = BOOK.table("leafsets")
    seen = set()
    for key, row in BOOK.table("leafnorms").items():
        numbers = [row[name].number for name in LIMITS if name in row]
        assert numbers, key
        assert numbers == sorted(numbers), key
        name, group, nutrient = key.split(", ")
        assert name in sets, key
        assert group in BOOK.species, key
        assert nutrient in NAMES, key
        seen.add(name)
    for key, row in sets.items():
        assert all(group.strip() in BOOK.species for group in row["groups"].text.split(",")), key
    assert seen == set(sets), "every set has norms"
