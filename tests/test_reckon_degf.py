"""Reckoners of frost ask whether degF was meant, and name the figure that is none."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.knowledge import knowledge
from bearwell.plan.measures import pot_mass
from gardens import opened, tree

ASKS = "is degF meant"
NIGHTS = (
    (42.4, 33.8, 32.5),
    (39.0, 28.0, 29.1),
    (40.3, 25.9, 28.6),
    (44.1, 30.2, 31.8),
    (38.8, 27.1, 28.0),
)


def cautions(name: str, **given: str) -> list[str]:
    return [one for one in api.reckon(name, **given).cautions if ASKS in one]


@pytest.mark.parametrize(
    ("minima", "asked"),
    [
        ("25,22,27,20,24", True),
        ("25,22,27,20,24 degF", False),
        ("-2.1,-3.4,-1,-5.6,-4.2", False),
        ("3,2,14,12,13", False),
    ],
)
def test_winters_far_above_freezing_are_asked_about(minima: str, *, asked: bool) -> None:
    assert bool(cautions("freeze-risk", minima=minima)) == asked


@pytest.mark.parametrize(
    ("air", "asked"), [("28", True), ("28 degF", False), ("-3", False), ("4", False)]
)
def test_a_warm_night_at_the_buds_is_asked_about(air: str, *, asked: bool) -> None:
    given = {"kind": "apple", "stage": "full bloom", "temperature": air}
    assert bool(cautions("bud-damage", **given)) == asked


@pytest.mark.parametrize(("head", "asked"), [("t0,td,tmin", True), ("t0_f,td_f,tmin_f", False)])
def test_nights_in_degf_under_bare_headings_are_asked_about(
    tmp_path: Path, head: str, *, asked: bool
) -> None:
    file = tmp_path / "nights.csv"
    file.write_text("\n".join([head, *(",".join(map(str, one)) for one in NIGHTS)]) + "\n")
    given = {"records": str(file), "temperature": "4", "dew_point": "-3"}
    assert bool(cautions("night-minimum", **given)) == asked


def test_a_figure_that_is_no_number_is_named() -> None:
    with pytest.raises(BadInput, match="'x' is not a number"):
        api.reckon("freeze-risk", minima="-3,x")


def test_a_wet_pot_of_loam_is_the_heaviest(tmp_path: Path) -> None:
    """Loam is heavier than bark and peat in the same pot (common practice, no source)."""
    masses = {}
    for medium in knowledge().table("containers"):
        text = tree("lemon", pot="40 L").replace("bark and peat", medium)
        folder = tmp_path / medium.replace(" ", "-")
        folder.mkdir()
        loaded = opened(folder, text, today=date(2026, 1, 10))
        masses[medium] = pot_mass(loaded.view(loaded.garden.trees[0]))
    assert max(masses, key=lambda one: masses[one]) == "loam-based"
    assert masses["loam-based"] > 1.4 * masses["bark and peat"]
    water = 40_000 * 0.28  # g of water a tree can take: the pot weighs more than that alone
    assert all(mass > water for mass in masses.values())
