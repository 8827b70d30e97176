"""A cover too low for its tree, the spread on the way down, bushes of many stems, and the crop a cut costs."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from bearwell.api import PruningYear, pruning_year
from bearwell.plan.fit import fit_of
from bearwell.science import treegrowth
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import Form
from bearwell.science.underacover import least_clearance
from gardens import TODAY, opened, tree
from test_web import client_of

HOOP = '[[shelter]]\nid = "hoop"\nshape = "hoop"\nlength = "6.1 m"\nwidth = "3.05 m"\nheight = "2.13 m"\n'
UNDER = 'shelter = "hoop"\n'


def wide_satsuma(folder: Path) -> PruningYear:
    """A satsuma of 2.74 m under a hoop of 2.13 m, its spread as the hoop lets it."""
    text = tree("satsuma", years=11, more=UNDER).replace(
        'height = "2.8 m"\nspread = ["2.8 m", "2.6 m"]\nskirt = "0.4 m"\n',
        'height = "2.74 m"\nspread = ["2.74 m", "2.44 m"]\n',
    )
    return pruning_year(opened(folder, text, head=HOOP), "one")


class TestTooLowACover:
    def test_it_is_said_first_with_the_cover_it_would_need(self, tmp_path: Path) -> None:
        year = wide_satsuma(tmp_path)
        assert year.reduction is not None
        assert year.cut is not None
        warning = year.reduction.warning
        assert warning is not None

        assert warning.text.startswith("Raise the cover or move the tree: as it stands it needs")
        assert year.cut.remarks[0] == warning

    def test_the_cover_named_takes_the_tree_as_it_stands_and_no_lower_one_does(
        self, tmp_path: Path
    ) -> None:
        year = wide_satsuma(tmp_path)
        size, fit = year.size, year.fit
        assert fit is not None
        assert fit.needs is not None
        high, wide = fit.needs

        def room(height: float) -> float:
            return least_clearance(size.canopy, size.skirt, size.form, "hoop", wide, height, 0.0)

        assert high > 2.13
        assert room(high) == pytest.approx(fit.wanted_room, abs=1e-4)
        assert room(high - 0.02) < fit.wanted_room

    def test_the_size_aimed_at_is_no_flat_cake(self, tmp_path: Path) -> None:
        """Narrowing and lowering together keep more of the crown than lowering alone."""
        year = wide_satsuma(tmp_path)
        assert year.reduction is not None
        wanted = year.reduction.aim.wanted

        assert wanted.height > 1.6
        assert wanted.spread_across < 2.44

    def test_no_spread_grows_past_what_it_is_now_on_the_way(self, tmp_path: Path) -> None:
        year = wide_satsuma(tmp_path)
        assert year.reduction is not None
        assert len(year.reduction.years) > 1
        for one in year.reduction.years:
            assert one.after.spread_along <= 2.74 + 1e-9
            assert one.after.spread_across <= 2.44 + 1e-9

    def test_a_tree_that_fits_needs_no_other_cover(self, tmp_path: Path) -> None:
        head = HOOP.replace("2.13 m", "6 m").replace("3.05 m", "8 m")
        loaded = opened(tmp_path, tree("satsuma", more=UNDER), head=head)
        fit = fit_of(loaded.view(loaded.garden.tree("one")))
        assert fit is not None

        assert fit.needs is None
        assert pruning_year(loaded, "one").reduction is None

    def test_a_wanted_size_too_small_to_hold_is_said_first(self, tmp_path: Path) -> None:
        more = 'wanted_height = "1.2 m"\nwanted_spread = "1 m"\n'
        loaded = opened(tmp_path, tree("satsuma", years=6, more=more))
        year = pruning_year(loaded, "one")
        assert year.cut is not None

        assert "weaker stock" in year.cut.remarks[0].text

    def test_a_modest_wanted_size_is_not(self, tmp_path: Path) -> None:
        more = 'wanted_height = "2.5 m"\n'
        year = pruning_year(opened(tmp_path, tree("satsuma", more=more)), "one")
        assert year.reduction is not None

        assert year.reduction.warning is None


def test_what_is_small_enough_is_held_while_the_rest_comes_down() -> None:
    """Geometry: the spread that starts at the wanted one is there again after every cut."""
    size, wanted = CanopySize(2.74, 2.74, 2.44), CanopySize(1.5, 2.74, 2.44)
    habit = treegrowth.Habit(2.8, 10.0, 0.7, 1.0)
    plan = treegrowth.reduction_plan(size, 0.55, Form(), wanted, 0.25, 11.0, habit, 12)

    assert len(plan) > 2
    assert all(one.after[1:] == pytest.approx((2.74, 2.44)) for one in plan)
    assert all(one.share <= 0.25 + 1e-9 for one in plan)
    assert all(later.after.height < one.after.height for one, later in pairwise(plan))


class TestFig:
    def test_the_share_is_told_in_cuts(self, tmp_path: Path) -> None:
        year = pruning_year(opened(tmp_path, tree("fig")), "one")
        assert year.cut is not None

        assert len(year.headings) >= 2
        assert any("The share in cuts" in step.text for step in year.cut.steps)
        assert any("stems together" in link.statement.text for link in year.why_headings)

    def test_a_girth_of_one_stem_does_not_stand_for_all(self, tmp_path: Path) -> None:
        counts = []
        for girth in ("20 cm", "60 cm"):
            (tmp_path / girth).mkdir()
            text = tree("fig").replace('trunk_girth = "36 cm"', f'trunk_girth = "{girth}"')
            counts.append(pruning_year(opened(tmp_path / girth, text), "one").headings)

        assert counts[0] == counts[1]

    def test_its_new_wood_is_what_is_renewed(self, tmp_path: Path) -> None:
        wood = pruning_year(opened(tmp_path, tree("fig")), "one").wood

        assert wood.bears_from == 0
        assert [round(one.new, 6) for one in wood.renewed[1:]] == [wood.renewal] * 5
        assert all(one.new > 0 for one in wood.left)


@pytest.mark.parametrize("kind", ["satsuma", "hass", "olive", "apple", "fig"])
def test_the_crop_lost_is_told_with_room_above_and_below(kind: str, tmp_path: Path) -> None:
    lost = pruning_year(opened(tmp_path, tree(kind)), "one").crop_lost
    assert lost.low is not None
    assert lost.high is not None

    assert lost.low < lost.value < lost.high < 1


def test_the_page_tells_the_warning_before_the_drawings(tmp_path: Path) -> None:
    year = wide_satsuma(tmp_path)
    client = client_of(tmp_path / "garden.toml", today=lambda: TODAY)
    page = client.get("/tree/one/pruning").text

    assert year.reduction is not None
    assert page.index("Raise the cover or move the tree") < page.index('id="size"')
