"""Every caution of the table is shown by some advice or tonight: one nobody asks for protects nobody."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from bearwell import api
from bearwell.knowledge import knowledge

# Cases no planner shows yet, as (job, case), each with the reason; empty is the aim.
NOT_YET: dict[tuple[str, str], str] = {}

gardens: Any = import_module("gardens")

TREES = [
    ("navel", ""),
    ("calamondin", "45 L"),
    ("fig", ""),
    ("apple", ""),
    ("peach", ""),
    ("hass", ""),
]
# Drippers, a week's water that suffices, and a rule, so that what to mind with them is shown.
WATER = """
[watering]
most_a_week = "9000 L"
drip = { emitters = 4, flow = "4 L/h" }
"""
# An evening whose dew point tells when water over the leaves could start.
EVENING = """
[cold]
evenings = [{{ date = {day}, t0 = "2 degC", td = "-6 degC", wind = "0.5 m/s", sky = "clear" }}]
"""
SETTINGS = [
    ("mild", date(2026, 11, 25)),
    ("cold", date(2026, 4, 20)),
    ("mild", date(2026, 8, 10)),
]


def _table(kind: str, pot: str, today: date) -> str:
    """A tree tall enough for ladders, or in a pot."""
    count = f"counts = [{{ date = {today - timedelta(days=2)}, fruit = 900 }}]\n"
    count += 'cut_more = { share = "55 %", reason = "in the way" }\n'
    text: str = gardens.tree(kind, today=today, pot=pot, more=count)
    if kind == "apple":
        text += (
            "shortages = ["
            + ", ".join(f'{{ date = {today}, nutrient = "{one}" }}' for one in ("B", "Mg"))
            + "]\n"
        )
    low = kind == "hass"  # low enough to cover, so that what to mind with covers and lamps is shown
    return text.replace('height = "2.8 m"', f'height = "{2.4 if low else 3.4} m"').replace(
        'id = "one"', f'id = "{kind}"'
    )


def _shown(folder: Path, place: str, today: date) -> set[tuple[str, str]]:
    """Job and text of every caution shown on a day with a dry past and a freezing week ahead."""
    series = gardens.weather_of(place, today + timedelta(days=7))
    rain, tmin = np.array(series.rain), np.array(series.tmin)
    rain[-70:], tmin[-7:] = 0.0, -6.0
    trees = "".join(_table(kind, pot, today) for kind, pot in TREES)
    shelf = gardens.SHELF.replace(
        'id = "meal"', 'id = "meal"\nkept_for = ["apple", "fig", "navel"]'
    )
    loaded: api.LoadedGarden = gardens.opened(
        folder,
        trees,
        today=today,
        head=shelf + WATER + EVENING.format(day=today),
        site='soil = "loam"\nirrigation_water_ec = "6 dS/m"\nsoil_test = { ph = 5.0 }',
        weather=replace(series, rain=rain, tmin=tmin),
    )
    advised = {
        (one.kind, text)
        for tree in loaded.garden.trees
        for one in loaded.advice(tree)
        for text in one.cautions
    }
    return advised | {("protect", text) for text in api.tonight(loaded).plan.cautions}


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> set[tuple[str, str]]:
    found: set[tuple[str, str]] = set()
    for place, day in SETTINGS:
        found |= _shown(tmp_path_factory.mktemp("cautions"), place, day)
    return found


def test_every_caution_is_shown_by_some_advice(shown: set[tuple[str, str]]) -> None:
    silent = {
        key: (row["job"].text, row["when"].text if "when" in row else "")
        for key, row in knowledge().table("cautions").items()
        if (row["job"].text, row["text"].text) not in shown
    }

    assert {key: case for key, case in silent.items() if case not in NOT_YET} == {}
    assert set(NOT_YET) <= set(silent.values()), "shown now: take it off the list"
