"""Odds where only normals are given: of winters made up about them, the same each time, wide and labelled."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from bearwell import api
from bearwell.faces.web.app import create_app
from bearwell.faces.words import Words
from gardens import COLD, MILD, tree, write_garden

DAY = date(2026, 12, 26)


def normals(place: dict[str, tuple[float, ...]], shift: float = 0.0) -> str:
    low, high = (" ".join(f"{one + shift:.1f}" for one in place[name]) for name in ("tmin", "tmax"))
    return f'[weather.normals]\ntmin = "{low} degC"\ntmax = "{high} degC"\n'


def garden(folder: Path, head: str, *, southern: bool = False, day: date = DAY) -> Path:
    folder.mkdir(exist_ok=True)
    return write_garden(
        folder, tree("satsuma"), place=None, head=head, southern=southern, today=day
    )


def test_normals_alone_give_labelled_odds_for_winter_and_list(tmp_path: Path) -> None:
    path = garden(tmp_path, normals(COLD))
    loaded = api.open_garden(path, DAY)
    seen, words = api.winter(loaded), Words("metric")
    assert seen.winters == ()
    assert seen.made == 40
    assert seen.lacking is not None
    assert "made up about the monthly normals" in words.phrase(seen.lacking)
    assert seen.levels
    fruit = next(one for one in seen.trees[0].hurt if one.organ == "fruit")
    assert fruit.yearly > 0.5
    assert any("No winter is measured" in one.statement.text for one in fruit.because)
    advice = next(one for one in api.worklist(loaded).advice if one.kind == "protect")
    assert "made up from the normals" in words.phrase(advice.display)
    assert advice.details["made_up"] is True
    assert any("No winter is measured" in one.statement.text for one in advice.because)
    client = TestClient(create_app(path, today=lambda: DAY), base_url="http://127.0.0.1:8321")
    page, twin = client.get("/winter").text, client.get("/winter.json").json()
    assert "made up from the normals" in page
    assert "Each winter as a table" not in page
    assert twin["made_up_winters"] == 40
    assert twin["winters"] == []


def test_made_winters_are_the_same_each_time(tmp_path: Path) -> None:
    one, two = (api.winter(api.open_garden(garden(tmp_path, normals(MILD)), DAY)) for _ in range(2))
    assert one.levels == two.levels


def test_a_measured_winter_leaves_none_made_up(tmp_path: Path) -> None:
    path = write_garden(tmp_path, tree("satsuma"), place="cold", today=DAY)
    seen = api.winter(api.open_garden(path, DAY))
    assert seen.made == 0
    assert seen.winters


def test_without_weather_there_are_no_odds(tmp_path: Path) -> None:
    seen = api.winter(api.open_garden(garden(tmp_path, ""), DAY))
    assert (seen.made, seen.levels, seen.winters) == (0, (), ())


@settings(
    deadline=None, max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(shift=st.floats(-4, 6))
def test_colder_normals_make_colder_nights_and_ranges_hold_the_error(
    tmp_path: Path, shift: float
) -> None:
    base, moved = (
        api.winter(api.open_garden(garden(tmp_path / name, normals(COLD, by)), DAY)).levels
        for name, by in (("base", 0.0), ("moved", shift))
    )
    for one, other in zip(base, moved, strict=True):
        assert other.temperature - one.temperature == pytest.approx(shift, abs=0.15)
        assert other.high - other.low > 2 * 3.0  # K, more than the error of made winters either way
        assert other.low < other.temperature < other.high


def test_southern_winters_are_made_in_the_south(tmp_path: Path) -> None:
    turned = {key: values[6:] + values[:6] for key, values in COLD.items()}
    day = date(2026, 6, 26)
    seen = api.winter(
        api.open_garden(garden(tmp_path, normals(turned), southern=True, day=day), day)
    )
    assert seen.first is not None
    assert seen.first.middle.month in (4, 5, 6)
    assert np.isfinite([one.temperature for one in seen.levels]).all()
