"""The tables of feeding against what is published, and their own sums."""

from __future__ import annotations

from itertools import groupby, pairwise
from math import isclose

import pytest

from bearwell.api import knowledge
from bearwell.knowledge import Fact
from bearwell.quantities import convert

BOOK = knowledge()


def released(release: str, days: float, warmth: float) -> float:
    """Share released in two pools, as the head of releases.toml writes it."""
    row = BOOK.item("releases", release)
    pace = row["q10"].number ** ((warmth - 20) / 10)
    return sum(
        row[f"{pool}_share"].number * (1 - 2 ** (-days * pace / row[f"{pool}_half_life"].number))
        for pool in ("fast", "slow")
    )


# ---------------------------------------------------------------- release


@pytest.mark.parametrize(
    ("release", "days", "warmth", "low", "high", "where"),
    [
        ("quick organic meal", 14, 17.5, 0.47, 0.60, "Hartz and Johnstone 2006, first 2 weeks"),
        ("quick organic meal", 56, 17.5, 0.60, 0.66, "Hartz and Johnstone 2006, 8 weeks"),
        ("quick organic meal", 84, 23, 0.60, 0.90, "Lazicki 2020, quick meals, 84 days"),
        ("granular organic", 84, 23, 0.35, 0.55, "Lazicki 2020, granular, 84 days"),
        ("plant compost", 84, 23, 0.0, 0.05, "Lazicki 2020, yard trimmings, 84 days"),
        ("composted manure", 84, 25, 0.07, 0.16, "Hartz 2000, manure and its compost, 12 weeks"),
        ("composted manure", 168, 25, 0.06, 0.15, "Hartz 2000, the same, 24 weeks"),
        ("plant compost", 168, 25, 0.0, 0.03, "Hartz 2000, plant compost 2 % in 24 weeks"),
        ("controlled release", 255, 21.1, 0.90, 0.95, "vendors' charts: 90 to 95 % in the label's time"),
    ],
)  # fmt: skip
def test_release_lies_within_the_published_spread(
    release: str, days: float, warmth: float, low: float, high: float, where: str
) -> None:
    assert low <= released(release, days, warmth) <= high, where


def test_cold_slows_meals_as_little_as_measured() -> None:
    """Hartz and Johnstone 2006: 8 weeks gave 56 % at 10 and 66 % at 25 degC."""
    cold, warm = (released("quick organic meal", 56, warmth) for warmth in (10, 25))

    assert cold == pytest.approx(0.56, abs=0.02)
    assert warm == pytest.approx(0.66, abs=0.02)


def test_the_pools_agree_with_the_first_season() -> None:
    """Each class releases about its first-season share in 12 weeks of warm soil, 20 degC."""
    for release, row in BOOK.table("releases").items():
        share = released(release, 84, 20)
        season = row["first_season"]
        assert season.least - 0.05 <= share <= season.most + 0.05, release
        assert row["fast_share"].number + row["slow_share"].number <= 1


def test_a_coated_product_gives_more_in_its_first_half() -> None:
    """Blythe, Merhaut and others 2006: high for the first 10 to 20 weeks of 47, then falling."""
    half, whole = (released("controlled release", days, 20) for days in (47 * 7 / 2, 47 * 7))

    assert half > 2 * (whole - half)


# ---------------------------------------------------------------- the year of nitrogen


def test_each_habits_year_is_whole() -> None:
    rows = sorted(BOOK.table("uptake").values(), key=lambda r: (r["group"].text, r["order"].number))
    for group, found in groupby(rows, key=lambda row: row["group"].text):
        stages = list(found)
        assert sum(row["length"].number for row in stages) == 365, group
        assert isclose(sum(row["demand"].number for row in stages), 1, abs_tol=1e-9), group
        for one, after in pairwise(stages):
            assert one["start"].number + one["length"].number == after["start"].number, group


def stage(group: str, name: str) -> dict[str, Fact]:
    return BOOK.item("uptake", f"{group}, {name}")


def test_citrus_takes_40_to_50_percent_from_before_bloom_to_flowering() -> None:
    """WA Grower production calendar; efficiency at bloom and set, Martinez-Alcantara."""
    early = ("buds and spring flush", "bloom and set")
    share = sum(stage("evergreen", name)["demand"].number for name in early)

    assert 0.40 <= share <= 0.50
    assert stage("evergreen", "bloom and set")["efficiency"].number == 0.28
    assert stage("evergreen", "end of set")["efficiency"].number == 0.72


def test_deciduous_trees_take_little_before_their_leaves_are_out() -> None:
    """Muhammad 2020: no net uptake until leaves are 60 to 70 % out, 12 to 14 days after bloom."""
    early = ("dormant", "bud swell", "bloom and leaf opening")
    late = ("shoot growth", "fruit growth")

    most = max(stage("deciduous", name)["efficiency"].number for name in early)
    assert most < 0.3 * min(stage("deciduous", name)["efficiency"].number for name in late)


def test_reserves_carry_60_to_70_percent_of_spring_nitrogen_in_citrus() -> None:
    """IVIA 2011: 61 % with much nitrogen, 70 % with little."""
    share = BOOK.item("reserves", "evergreen")["spring_share"]

    assert (share.low, share.high) == (0.61, 0.70)
    assert BOOK.item("reserves", "deciduous")["spring_share"].number > share.number


def test_a_mature_orange_tree_adds_up() -> None:
    """Morgan 2006: 94 kg dry and 0.79 kg N, 13 % of dry mass and 38 % of nitrogen in leaves."""
    row = BOOK.item("tissues", "citrus")

    assert row["n"].number == pytest.approx(0.79 / 94, rel=0.01)
    assert row["leaf_dry"].number == pytest.approx(0.13 * row["dry"].number, rel=0.02)
    leaf_nitrogen = 0.38 * row["n"].number * row["dry"].number / row["leaf_dry"].number
    assert 0.022 <= leaf_nitrogen <= 0.028, "a citrus leaf holds 2.2 to 2.8 % nitrogen"


# ---------------------------------------------------------------- salt, lime, sulfur, acidity


def yields(item: str, ec: float) -> float:
    row = BOOK.item("salinity", item)
    lost = row["slope"].number * max(ec - row["threshold"].number, 0)
    return 100 * max(1 - lost, 0)


def test_salt_lines() -> None:
    """FAO 29 (orange: 100, 90, 75, 50, 0 % at 1.7, 2.3, 3.3, 4.8, 8.0 dS/m) and the plum equation."""
    orange = "orange, Maas and Hoffman 1977"
    at = (1.7, 2.3, 3.3, 4.8, 8.0)

    assert [yields(orange, ec) for ec in at] == pytest.approx([100, 90, 75, 50, 0], abs=1)
    assert yields("japanese-plum, mature Santa Rosa plum in the field", 4.0) == pytest.approx(56.6)
    assert all(row["kind"].text in BOOK.species for row in BOOK.table("salinity").values())


def test_lime_rises_with_acidity_and_clay() -> None:
    """Tables of limestone: 80 lb per 1000 square feet on loam from pH 5.5 to 6.5."""
    loam = BOOK.item("lime", "loam, pH 5.5")["limestone"]
    need = {
        (row["texture"].text, row["start_ph"].number): row["limestone"].number
        for row in BOOK.table("lime").values()
    }

    assert convert(loam.number, "g m-2", "lb/1000ft2") == pytest.approx(80)
    for (texture, ph), mass in need.items():
        assert mass < need.get((texture, ph - 0.5), float("inf"))
        if texture == "sand":
            assert mass < need["loam", ph] < need["clay loam", ph]


def test_sulfur_by_the_acre() -> None:
    """Michigan State by way of TerraLink: 840 lb an acre on sand from 7.0, which is 94.2 g/m2."""
    assert BOOK.item("sulfur", "sand, pH 7.0")["sulfur"].number == pytest.approx(94.2, abs=0.05)
    assert BOOK.item("sulfur", "clay, pH 7.0")["sulfur"].number == pytest.approx(
        convert(87.9, "lb/1000ft2", "g m-2"), rel=0.002
    )


def test_sulfur_that_free_lime_costs() -> None:
    """One sulfur makes two protons, which undo one CaCO3: 32.06 g for 100.09 g."""
    lime = 0.01 * 2_000_000 / 43.56
    given = BOOK.item("amendments", "sulfur for free lime")["figure"]

    assert convert(given.number, "g m-2", "lb/1000ft2") == pytest.approx(
        lime * 32.06 / 100.09, rel=0.002
    )


def test_acid_and_sweet_fertilizers() -> None:
    """Auburn ANR-174: ammonium sulfate costs 110 and calcium nitrate brings 20 lb of lime per 100 lb."""
    worth = {key: row["lime_equivalent"].number for key, row in BOOK.table("acidity").items()}

    assert worth["ammonium sulfate"] == pytest.approx(-1.10)
    assert worth["calcium nitrate"] == pytest.approx(0.20)
    assert all(
        (value < 0) == (key.startswith(("ammonium", "urea", "sulfur")))
        for key, value in worth.items()
    )


def test_every_medium_has_a_leachate_guide() -> None:
    for row in BOOK.table("containers").values():
        assert row["leachate_coated"].number < row["leachate_fed"].number
        assert row["leachate_fed"].most <= row["leachate_flush"].least
