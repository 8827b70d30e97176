"""A cap on nitrogen on a square metre at once: wider rings, rounds in parts, and what is left out.

The county limit of 1 lb of nitrogen on 1000 ft2 is printed (Orange County code, section 15-804). That doses by
age pass it under a small canopy is arithmetic on it: 0.467 lb under a canopy of 10 ft is 5.94 lb on 1000 ft2.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from math import pi
from pathlib import Path

import pytest

from bearwell import api
from bearwell.plan.area import area_links, band_for, usual_band, widest_band
from bearwell.plan.schedule import Placed
from bearwell.quantities import convert
from gardens import TODAY, opened, tree

CAP = '[feeding]\narea_cap = "{}"\n'
BAG = """
[[product]]
id = "grains"
name = "mineral grains"
label = "20-5-10"
release = "granular mineral"
pack = "25 kg"
on_hand = "50 kg"
"""
OLD = (
    'planted = 2012-03-01\nheight = "3 m"\nspread = "3 m"\nskirt = "0.4 m"\ntrunk_girth = "40 cm"\n'
)


def garden(
    folder: Path, cap: str | None, kind: str = "satsuma", extra: str = OLD
) -> api.LoadedGarden:
    folder.mkdir(exist_ok=True)
    head = BAG + (CAP.format(cap) if cap else "")
    return opened(folder, f'[[tree]]\nid = "one"\nkind = "{kind}"\n{extra}', head=head)


def rounds(loaded: api.LoadedGarden, today: date = TODAY) -> list[Placed]:
    return [
        one
        for one in loaded.schedule.trees["one"].rounds
        if one.window.latest >= today and one.blend is not None
    ]


def printed(one: Placed) -> float:
    assert one.blend is not None
    return sum(mass * 0.20 for _, mass in one.blend.doses)


def test_the_county_limit_in_grams():
    assert convert(1.0, "lb/1000ft2", "g m-2") == pytest.approx(4.882, abs=5e-4)


def test_a_dose_by_age_under_a_small_canopy_passes_the_limit_sixfold():
    """Derived from the printed limit: 0.467 lb on the shadow of a 10 ft canopy, 5.94 lb on 1000 ft2."""
    rate = convert(0.467, "lb", "g") / (pi * convert(5.0, "ft", "m") ** 2)

    assert convert(rate, "g m-2", "lb/1000ft2") == pytest.approx(5.94, abs=0.01)


def test_a_dose_over_good_practice_widens_the_ring_and_says_so(tmp_path: Path):
    view = garden(tmp_path, None).view(garden(tmp_path, None).garden.tree("one"))
    usual, limit = usual_band(view), view.constant("most nitrogen on the ground").number

    small = band_for(view, 0.9 * limit * usual.area)
    large = band_for(view, 1.4 * limit * usual.area)
    huge = band_for(view, 50 * limit * usual.area)

    assert small == usual
    assert large.widened
    assert large.area == pytest.approx(1.4 * usual.area)
    assert huge == widest_band(view)
    assert area_links(view, 0.9 * limit * usual.area) == ()
    assert "area_cap" in area_links(view, 50 * limit * usual.area)[0].statement.text


@pytest.mark.parametrize("cap", ["1 lb/1000ft2", "3 g/m2", "0.5 lb/1000ft2"])
def test_no_round_passes_a_stated_cap(cap: str, tmp_path: Path):
    loaded = garden(tmp_path, cap)
    view = loaded.view(loaded.garden.tree("one"))
    most = loaded.garden.feeding.area_cap

    placed = rounds(loaded)

    assert most is not None
    assert placed
    for one in placed:
        assert printed(one) <= most * band_for(view, printed(one)).area * (1 + 1e-6)


def test_a_round_goes_out_in_parts_that_add_up_to_it(tmp_path: Path):
    free, capped = garden(tmp_path / "free", None), garden(tmp_path / "capped", "2 g/m2")
    whole, parts = rounds(free), rounds(capped)

    most = {one.round.number: one.round.parts for one in parts}
    assert max(most.values()) > 1
    number = max(most, key=lambda key: most[key])
    mine = [one for one in parts if one.round.number == number][: most[number]]
    share = next(one for one in whole if one.round.number == number).nitrogen.value
    assert sum(one.nitrogen.value for one in mine) == pytest.approx(share)
    gaps = [b.window.best - a.window.best for a, b in pairwise(mine)]
    assert all(gap >= timedelta(days=20) for gap in gaps)


def test_a_cap_that_the_year_cannot_keep_leaves_rounds_short_and_says_by_how_much(tmp_path: Path):
    loaded = garden(tmp_path, "0.3 g/m2")

    said = [text.text for one in rounds(loaded) for text in one.remarks]

    assert any("short of its share" in text for text in said)
    assert (
        sum(one.blend.n for one in rounds(loaded) if one.blend)
        < loaded.schedule.trees["one"].need.nitrogen.value
    )


def test_parts_have_their_own_ids_and_headlines(tmp_path: Path):
    loaded = garden(tmp_path, "2 g/m2")
    fed = [one for one in loaded.advice(loaded.garden.tree("one")) if one.kind == "feed"]

    assert len({one.id for one in fed}) == len(fed)
    assert any(one.details.get("parts", 1) > 1 and "part" in one.headline.text for one in fed)


def test_a_pot_knows_no_area_cap(tmp_path: Path):
    loaded = opened(tmp_path, tree("lemon", pot="45 L"), head=BAG + CAP.format("0.1 g/m2"))

    assert all(one.round.parts == 1 for one in loaded.schedule.trees["one"].rounds)


def test_a_bare_number_for_the_cap_is_refused_with_its_line(tmp_path: Path):
    path = tmp_path / "garden.toml"
    path.write_text(
        'bearwell = 1\n[garden]\nname = "x"\n[site]\nlatitude = 41.0\nlongitude = -8.0\n[feeding]\narea_cap = 5\n',
        "utf-8",
    )

    problems = api.check_garden(path, TODAY)

    assert any(one.line == 8 and "unit" in f"{one.message} {one.hint}" for one in problems)
