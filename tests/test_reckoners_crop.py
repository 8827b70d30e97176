"""The reckoners of the crop: branch-count, crop-target, limb, and the significance of bearing."""

from __future__ import annotations

from typing import Any

import pytest

from bearwell.api import reckon
from bearwell.errors import BadInput
from bearwell.knowledge import knowledge


def results(name: str, **options: Any) -> dict[str, Any]:
    return reckon(name, **options).results


def test_branch_count_of_a_small_tree():
    """Trunk to A (12) and B (6), A to A1 (5) and A2 (3); fruit 40, 20, 30: 96, 80 and 90 (arithmetic)."""
    found = results("branch-count", path=["0.4166667:40", "0.25:20", "0.3333333:30"])

    assert found["estimate"] == pytest.approx(88.67, abs=0.01)
    assert found["standard_error"] == pytest.approx(4.667, abs=0.005)  # root of 196/9
    assert found["low"] < found["estimate"] < found["high"]
    assert found["paths_for_10_pct"] == 49  # three walks that agree may be luck: published scatter


def test_walks_enough_to_know_their_own_scatter_go_by_it():
    """Four walks of 100, 80, 90 and 90: SE root(200/12), so one walk would do for a tenth (arithmetic)."""
    found = results("branch-count", path=["0.4:40", "0.25:20", "0.3:27", "0.2:18"])

    assert found["standard_error"] == pytest.approx(4.08, abs=0.01)
    assert found["paths_for_10_pct"] == 1


def test_the_error_of_published_walks_asks_for_the_published_number_of_walks():
    """At a coefficient of variation of 0.7 a tenth takes 49 walks: (0.7/0.1)^2."""
    found = results("branch-count", path=["0.25:13"])

    assert found["estimate"] == 52
    assert found["paths_for_10_pct"] == 49
    assert found["low"] >= 13


@pytest.mark.parametrize(
    ("load", "thick", "stress"),
    [("10 kg", "3 cm", 37.0), ("10 kg", "2.5 cm", 63.9), ("20 kg", "4 cm", 31.2)],
)
def test_limbs_bend_as_beams_do(load: str, thick: str, stress: float):
    """32 F L/(pi d^3) at 1 m (arithmetic)."""
    found = results("limb", diameter=thick, load=load, distance="1 m")

    assert found["stress_mpa"] == pytest.approx(stress, abs=0.05)
    assert not found["verdict"].startswith("carries")


@pytest.mark.parametrize(("thick", "safe"), [(2, 1.1), (3, 3.8), (4, 9.0), (5, 17.5)])
def test_what_a_limb_carries_at_a_metre(thick: int, safe: float):
    """At 14 MPa: 1.1, 3.8, 9.0 and 17.5 kg for 2, 3, 4 and 5 cm (arithmetic)."""
    found = results("limb", diameter=f"{thick} cm", load="0.5", distance="1")

    assert found["safe_load_kg"] == pytest.approx(safe, abs=0.08)
    assert found["verdict"] == "carries it"


def test_a_bare_load_is_kilograms_and_a_bare_age_years():
    assert results("limb", diameter="3 cm", load="10", distance="1") == results(
        "limb", diameter="0.03", load="10 kg", distance="1 m"
    )
    assert results("crop-target", kind="peach", age="8", girth="40 cm") == results(
        "crop-target", kind="peach", age="8 yr", girth="0.4"
    )


def test_crop_target_takes_the_tightest_rule():
    found = results(
        "crop-target",
        kind="satsuma",
        age="9 yr",
        girth="31 cm",
        height="2.4",
        spread=["2.6", "2.4"],
    )

    best = min(found["rules"], key=lambda one: one["fruit_best"])
    assert (found["rule"], found["fruit_best"]) == (best["rule"], best["fruit_best"])
    assert found["fruit_low"] <= found["fruit_best"] <= found["fruit_high"]
    assert found["mass_kg"] == pytest.approx(found["fruit_best"] * 0.135, rel=0.01)


def test_a_satsuma_of_twenty_to_twenty_five_leaves_a_fruit():
    """Okitsu trials: 20 to 25 leaves for each fruit on trifoliate stock; the rule divides by as many."""
    rules = {
        one["rule"]: one
        for one in results("crop-target", kind="satsuma", age="20", height="3", spread="3")["rules"]
    }
    leaves = rules["leaves per fruit"]

    assert 20 <= knowledge().kind("satsuma")["leaves_per_fruit"].number <= 25
    assert leaves["fruit_low"] * 30 == pytest.approx(leaves["fruit_high"] * 15, rel=0.01)


def test_a_graft_in_its_second_year_keeps_none():
    """LSU AgCenter 2015: commercial citrus keeps none in years 1 and 2."""
    found = results("crop-target", kind="satsuma", age="1.5 yr")

    assert (found["fruit_best"], found["rule"]) == (0, "age")


def test_a_diameter_given_for_a_girth_is_doubted():
    done = reckon("crop-target", kind="apple", age="9", girth="6 cm", height="2.8", spread="2.8")

    assert any("diameter" in one for one in done.cautions)


def test_the_p_value_is_exact_for_short_records():
    assert results("bearing", yields="10,0,10")["p_value"] == pytest.approx(1 / 3, abs=1e-3)
    assert results("bearing", yields="10,20,30,40,50")["p_value"] == 1
    assert results("bearing", yields="40,8,42,10,38,9,45,7")["p_value"] < 0.025


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("branch-count", {"path": "0.5"}, "not a walk"),
        ("branch-count", {"path": "1.4:3"}, "out of range"),
        ("branch-count", {"path": "0:3"}, "cannot happen"),
        ("branch-count", {"path": "-0.2:3"}, "out of range"),
        ("branch-count", {"path": "0.5:x"}, "not a number"),
        ("branch-count", {"path": "0.5:2.5"}, "whole fruit"),
        ("branch-count", {"path": "0.5:-2"}, "out of range"),
        ("crop-target", {"kind": "satsuma", "age": "5", "height": "2"}, "height and its spread"),
        ("crop-target", {"kind": "satsuma", "age": "-1"}, "not plausible"),
        ("crop-target", {"kind": "sat", "age": "5"}, "unknown kind"),
        ("limb", {"diameter": "0", "load": "1", "distance": "1"}, "not plausible"),
        ("limb", {"diameter": "3 m", "load": "1", "distance": "1"}, "not plausible"),
        ("limb", {"diameter": "3 cm", "load": "1", "distance": "0"}, "not plausible"),
    ],
)  # fmt: skip
def test_what_cannot_be_reckoned_is_refused(name: str, options: dict[str, str], message: str):
    with pytest.raises(BadInput, match=message):
        reckon(name, **options)
