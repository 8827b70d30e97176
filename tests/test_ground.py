"""Sour and limy ground: when the plan speaks up, what it says, and that it agrees with the reckoner.

The tables behind the masses are checked against their sources in test_feeding_tables and
test_reckoners_feeding; that free lime is not fought with sulfur is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bearwell import api
from bearwell.plan.advice import Advice
from gardens import SHELF, opened, tree


def told(
    folder: Path, kind: str, ph: float | None, *, more: str = "", pot: str = ""
) -> list[Advice]:
    test = "" if ph is None else f"\nsoil_test = {{ ph = {ph} }}"
    loaded = opened(folder, tree(kind, pot=pot, more=more), site=f'soil = "loam"{test}')
    return [
        one
        for one in loaded.advice(loaded.garden.tree("one"))
        if one.details.get("inspection") == "soil pH"
    ]


@pytest.mark.parametrize(
    ("kind", "ph"),
    [("satsuma", 6.3), ("blueberry", 5.0), ("olive", 8.0), ("apple", 6.5), ("fig", None)],
)
def test_ground_that_suits_or_was_not_tested_is_left_alone(
    kind: str, ph: float | None, tmp_path: Path
) -> None:
    kind = "rabbiteye" if kind == "blueberry" else kind

    assert told(tmp_path, kind, ph) == []


def test_a_pot_has_no_ground(tmp_path: Path) -> None:
    assert told(tmp_path, "lemon", 5.0, pot="45 L") == []


def test_sour_ground_is_limed_as_the_reckoner_says(tmp_path: Path) -> None:
    (one,) = told(tmp_path, "satsuma", 5.0)
    area = next(step.values["area"] for step in one.steps if "area" in step.values)
    reckoned = api.reckon(
        "lime", start_ph="5", target_ph="6", texture="loam", area=f"{area.value} m2"
    )

    assert one.quantity is not None
    assert one.quantity.value == pytest.approx(reckoned.results["dose_g"], rel=1e-4)
    assert one.steps[0].values["material"] == "ground limestone"
    assert one.cautions


def test_a_blueberry_in_mild_ground_is_given_sulfur_in_doses(tmp_path: Path) -> None:
    (one,) = told(tmp_path, "rabbiteye", 6.3)

    assert one.steps[0].values["material"] == "elemental sulfur"
    assert one.steps[0].values["doses"] > 1


def test_free_lime_is_not_fought(tmp_path: Path) -> None:
    (one,) = told(tmp_path, "clementine", 8.3)
    words = " ".join(step.text for step in one.steps)

    assert one.quantity is None
    assert "leaf test" in words
    assert "chelate" in words
    assert not any("Scatter" in step.text for step in one.steps)


def test_a_recorded_look_is_not_asked_again(tmp_path: Path) -> None:
    done = 'done = [{ date = 2026-11-02, job = "inspect", look = "soil pH" }]'

    assert told(tmp_path, "satsuma", 5.0, more=done) == []


def test_a_label_known_to_sour_says_so_and_others_say_nothing(tmp_path: Path) -> None:
    """21-0-0 is ammonium sulfate: 110 of lime for 100 of it (Auburn ANR-174)."""
    sulfate = SHELF.replace('label = "12-0-0"', 'label = "21-0-0"').replace(
        '"quick organic meal"', '"granular mineral"'
    )
    loaded = opened(tmp_path, tree("rabbiteye"), head=sulfate)
    links = [
        link
        for one in loaded.advice(loaded.garden.tree("one"))
        if one.kind == "feed"
        for link in one.because
        if link.source == "auburn-anr-174"
    ]

    assert links
    assert {link.value for link in links} == {-1.1}
    assert all(link.statement.values["product"] == "feather meal" for link in links)


def test_a_pot_is_told_what_may_run_out_below(tmp_path: Path) -> None:
    loaded = opened(tmp_path, tree("lemon", pot="45 L"), head=SHELF)
    feed = next(one for one in loaded.advice(loaded.garden.tree("one")) if one.kind == "feed")
    shown = [step.values for step in feed.steps if "flush" in step.values]

    assert len(shown) == 1
    assert shown[0]["low"].value < shown[0]["high"].value < shown[0]["flush"].value
