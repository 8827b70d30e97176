"""The shopping list: every dose is covered, no bag too many, what is missing is said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bearwell.errors import BadInput
from bearwell.plan.shopping import Purchase, shopping, together

ids = st.sampled_from(["balanced", "blood", "citrus", "potash"])
grams = st.floats(0.0, 5000.0)
packs = st.floats(100.0, 10_000.0)


def test_whole_bags_by_hand() -> None:
    """5.2 kg needed, 1 kg left, bags of 2 kg: 4.2 kg short makes three bags, 1.8 kg stays over."""
    (bought,) = shopping(
        {"citrus": 5200.0}, {"citrus": 1000.0}, {"citrus": 2000.0}, {"citrus": 0.006}
    )

    assert bought == Purchase(
        "citrus", 5200.0, 1000.0, 4200.0, 2000.0, 3, pytest.approx(1800.0), pytest.approx(36.0)
    )


def test_nothing_to_buy_where_the_shelf_covers_it() -> None:
    assert shopping({"citrus": 900.0}, {"citrus": 900.0}, {"citrus": 2000.0}) == []


def test_a_bag_that_fits_exactly_is_one_bag() -> None:
    """0.1 + 0.2 is a little more than 0.3 to a computer, and still one bag."""
    need = together([("meal", 0.1), ("meal", 0.2)])

    assert [one.bags for one in shopping(need, {}, {"meal": 0.3})] == [1]


def test_unknown_pack_and_price_are_left_open() -> None:
    no_pack, no_price = shopping(
        {"a": 500.0, "b": 500.0}, {"a": 100.0}, {"b": 400.0}, {"a": 0.01, "b": None}
    )

    assert (no_pack.short, no_pack.bags, no_pack.left, no_pack.cost) == (400.0, None, None, None)
    assert (no_price.on_hand, no_price.bags, no_price.cost) == (None, 2, None)


@settings(derandomize=True, deadline=None)
@given(
    doses=st.lists(st.tuples(ids, grams), max_size=12),
    stock=st.dictionaries(ids, st.none() | grams),
    sizes=st.dictionaries(ids, packs),
)
def test_every_dose_is_covered_and_one_bag_less_would_not_do(
    doses: list[tuple[str, float]], stock: dict[str, float | None], sizes: dict[str, float]
) -> None:
    need = together(doses)
    bought = {one.id: one for one in shopping(need, stock, dict(sizes))}

    assert math.isclose(sum(need.values()), math.fsum(mass for _, mass in doses), abs_tol=1e-6)
    for bag, mass in need.items():
        had = stock.get(bag) or 0.0
        if bag not in bought:
            assert had >= mass - 1e-5
        elif bag in sizes:
            count = bought[bag].bags
            assert count is not None
            assert had + count * sizes[bag] >= mass - 1e-5
            assert had + (count - 1) * sizes[bag] < mass
            assert bought[bag].left == pytest.approx(had + count * sizes[bag] - mass, abs=1e-5)
    assert list(bought) == sorted(bought)


@pytest.mark.parametrize(
    ("doses", "stock", "sizes"),
    [
        ({"a": -1.0}, {}, {}),
        ({"a": 1.0}, {"a": -5.0}, {}),
        ({"a": 1.0}, {}, {"a": 0.0}),
        ({"a": math.nan}, {}, {}),
    ],
)
def test_impossible_figures_are_refused(
    doses: dict[str, float], stock: dict[str, float | None], sizes: dict[str, float | None]
) -> None:
    with pytest.raises(BadInput, match="of 'a' is"):
        shopping(doses, stock, sizes)
