"""Behaviour of the pruning plan that any grower would expect, and measures that contradict each other."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.api import PruningYear, pruning_year
from bearwell.errors import BadFile
from bearwell.knowledge import knowledge
from bearwell.plan.fit import fit_of
from bearwell.plan.windows import day_scores
from bearwell.science.shapes import canopy_volume
from bearwell.season.growth import years_ahead
from gardens import TODAY, opened, tree, write_garden

HOOP = '[[shelter]]\nid = "hoop"\nshape = "{shape}"\nlength = "{length}"\nwidth = "3.4 m"\nheight = "2.9 m"\n'
KINDS = sorted(
    one.key for one in knowledge().species.values() if not one.abstract and len(one.lineage) <= 2
)


def hoop(shape: str = "hoop", length: str = "5 m") -> str:
    return HOOP.format(shape=shape, length=length)


def year_of(folder: Path, trees: str, **rest: object) -> PruningYear:
    return pruning_year(opened(folder, trees, **rest), "one")


def late_orange(picked: str, bloom: str) -> str:
    seen = ", ".join(
        f'{{ event = "full bloom", date = {year}-{bloom} }}, '
        f'{{ event = "harvest end", date = {year}-{picked} }}'
        for year in range(2021, 2027)
    )
    return f"observed = [{seen}]\n"


class TestHowMuch:
    """Common practice, no source: a quarter to a third of the canopy a year at most."""

    @pytest.mark.parametrize("kind", KINDS)
    def test_no_cut_takes_more_than_a_third(self, kind: str, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree(kind))

        assert year.cuts
        assert all(one.details["share"] <= 1 / 3 for one in year.cuts)

    @pytest.mark.parametrize("kind", KINDS)
    def test_what_is_left_is_the_rest_of_the_volume(self, kind: str, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree(kind))

        assert year.after_volume == pytest.approx((1 - year.share.share) * year.size.volume)

    def test_more_is_taken_only_where_the_grower_says_why(self, tmp_path: Path) -> None:
        more = 'cut_more = { share = "50 %", reason = "outgrown its place" }\n'
        usual, allowed = (
            year_of(folder, tree("satsuma", more=text))
            for folder, text in ((tmp_path / "a", ""), (tmp_path / "b", more))
            if not folder.mkdir()
        )

        assert usual.share.share == pytest.approx(0.25)
        assert allowed.share.share == pytest.approx(0.5)
        assert allowed.cut is not None
        said = [link.statement.values for link in allowed.cut.because]
        assert any(values.get("reason") == "outgrown its place" for values in said)
        assert any("More than a year's share" in text for text in allowed.cut.cautions)
        assert usual.cut is not None
        assert not any("More than a year's share" in text for text in usual.cut.cautions)

    @pytest.mark.parametrize("reason", ["", "big"])
    def test_a_reason_must_be_said_in_words(self, reason: str, tmp_path: Path) -> None:
        more = f'cut_more = {{ share = "50 %", reason = "{reason}" }}\n'
        with pytest.raises(BadFile, match="needs its reason"):
            opened(tmp_path, tree("satsuma", more=more))


class TestWhen:
    @pytest.mark.parametrize("weeks", [3, 6, 9])
    def test_a_late_winter_orange_is_not_cut_hard_shortly_before_bloom(
        self, weeks: int, tmp_path: Path
    ) -> None:
        bloom = date(2024, 5, 1)
        picked = bloom - timedelta(weeks=weeks)
        more = late_orange(f"{picked:%m-%d}", f"{bloom:%m-%d}")
        year = year_of(tmp_path, tree("navel", more=more))

        assert not any(one.details["heavy"] for one in year.cuts)
        assert all(one.details["share"] <= 0.12 for one in year.cuts)

    @pytest.mark.parametrize("kind", ["apricot", "sweet-cherry"])
    @pytest.mark.parametrize("place", ["mild", "cold"])
    def test_apricot_and_cherry_are_cut_in_summer_only(
        self, kind: str, place: str, tmp_path: Path
    ) -> None:
        """UC Master Gardeners of Napa County, 4 December 2020: summer, because of disease."""
        loaded = opened(tmp_path, tree(kind), place=place)
        year = pruning_year(loaded, "one")
        scores = year.scores

        assert year.cuts
        for one in year.cuts:
            assert 6 <= one.window.earliest.month <= one.window.latest.month <= 9
        assert all(scores.at(date(2027, month, 15)) < 0.1 for month in (1, 2, 3, 12))

    def test_both_sides_of_the_dispute_are_told_and_the_setting_moves_the_day(
        self, tmp_path: Path
    ) -> None:
        found = {}
        for choice in ("after frost", "after harvest"):
            folder = tmp_path / choice
            folder.mkdir()
            head = f'[pruning]\nlate_rounds = "{choice}"\n'
            more = late_orange("12-01", "05-10")
            year = year_of(folder, tree("satsuma", more=more), head=head, place="cold")
            cut = next(one for one in year.cuts if one.details["heavy"] and one.window.best > TODAY)
            found[choice] = cut
            sources = {link.source for link in cut.because}
            assert {"torrance-2017", "zekri-hs1267", "krajewski-rabe-clementine"} <= sources

        waits, soon = found["after frost"].window, found["after harvest"].window
        assert waits.latest == soon.latest
        assert soon.earliest + timedelta(days=30) < waits.earliest  # its frosty weeks are left out
        assert soon.best + timedelta(days=30) < waits.best
        chosen = [
            link for link in found["after harvest"].because if "You chose" in link.statement.text
        ]
        assert [link.source for link in chosen] == ["records"]

    def test_a_summer_round_leaves_its_shoots_time_to_harden(self, tmp_path: Path) -> None:
        """A late orange in a cold place has no summer round in autumn."""
        loaded = opened(tmp_path, tree("navel"), place="cold")
        year = pruning_year(loaded, "one")

        assert not any(one.window.best.month in (10, 11, 12) for one in year.cuts)
        assert year.cut is not None or year.uncut is not None

    def test_the_chance_that_bloom_closes_the_window_grows_with_the_days(
        self, tmp_path: Path
    ) -> None:
        loaded = opened(tmp_path, tree("satsuma"))
        year = pruning_year(loaded, "one")
        cut = year.cut
        assert cut is not None
        chances = [
            year.scores.chance_closed(cut.window.best + timedelta(days=step))
            for step in range((cut.window.latest - cut.window.best).days + 1)
        ]

        assert chances == sorted(chances)
        assert chances[0] < 0.1 < chances[-1] <= 0.6
        assert year.closes is not None
        assert cut.window.best < year.closes <= cut.window.latest

    @pytest.mark.parametrize("kind", KINDS)
    def test_every_factor_of_a_day_lies_between_nothing_and_one(
        self, kind: str, tmp_path: Path
    ) -> None:
        loaded = opened(tmp_path, tree(kind))
        for light in (False, True):
            scores = day_scores(loaded.view(loaded.garden.tree("one")), light=light)
            assert scores.factors
            for values in (*scores.factors.values(), scores.score, scores.closed):
                assert values.min() >= 0.0
                assert values.max() <= 1.0 + 1e-12

    def test_a_bare_tree_is_best_cut_late_in_winter(self, tmp_path: Path) -> None:
        loaded = opened(tmp_path, tree("apple"))
        scores = day_scores(loaded.view(loaded.garden.tree("one")))

        assert (
            scores.at(date(2027, 3, 1)) > scores.at(date(2027, 1, 1)) > scores.at(date(2027, 7, 1))
        )


class TestUnderAHoop:
    @pytest.mark.parametrize("kind", ["satsuma", "lemon", "hass", "peach", "fig"])
    @pytest.mark.parametrize("shape", ["hoop", "gable", "box"])
    def test_a_tree_is_never_left_taller_than_its_cover_allows(
        self, kind: str, shape: str, tmp_path: Path
    ) -> None:
        more = 'shelter = "hoop"\n'
        loaded = opened(tmp_path, tree(kind, more=more), head=hoop(shape))
        view = loaded.view(loaded.garden.tree("one"))
        year, fit = pruning_year(loaded, "one"), fit_of(view)
        assert fit is not None
        grown = years_ahead(view.tree, view.species, view.book, view.size, TODAY, 1, year.after)[
            0
        ].size

        if year.reduction is None or year.reduction.years[0].after == year.reduction.aim.wanted:
            assert grown.height <= 2.9 - fit.wanted_room + 0.02
        assert year.after.height <= 2.9

    def test_a_tree_too_large_for_a_year_is_brought_down_over_years(self, tmp_path: Path) -> None:
        big = tree("satsuma", years=20, more='shelter = "hoop"\n').replace(
            'height = "2.8 m"\nspread = ["2.8 m", "2.6 m"]',
            'height = "3.8 m"\nspread = ["3.2 m", "3.2 m"]',
        )
        year = year_of(tmp_path, big, head=hoop())
        plan = year.reduction
        assert plan is not None
        assert plan.reached
        assert len(plan.years) > 1
        assert all(one.share <= plan.most + 1e-9 for one in plan.years)
        assert plan.years[-1].after == pytest.approx(plan.aim.wanted, abs=1e-6)
        assert plan.aim.by == "the cover"

    def test_it_says_before_winter_what_must_come_off(self, tmp_path: Path) -> None:
        more = 'shelter = "hoop"\n'
        year = year_of(tmp_path, tree("satsuma", more=more), head=hoop(), today=date(2026, 8, 20))
        trim = [one for one in year.cuts if "/fit/" in one.id]

        assert trim
        assert trim[0].details["share"] <= 0.12
        assert trim[0].window.latest.month <= 12

    def test_neighbours_that_crowd_are_counted(self, tmp_path: Path) -> None:
        two = tree("satsuma", more='shelter = "hoop"\n') + tree(
            "satsuma", more='shelter = "hoop"\n'
        ).replace('id = "one"', 'id = "two"')
        loaded = opened(tmp_path, two, head=hoop(length="5 m"))
        fit = fit_of(loaded.view(loaded.garden.tree("one")))
        assert fit is not None

        assert fit.neighbours == ("two",)
        assert fit.crowded < 1
        assert fit.fits_at is not None
        assert 2 * fit.fits_at.spread_along + 3 * fit.wanted_room <= 5.0 + 1e-6

    def test_a_wall_says_what_stands_above_it(self, tmp_path: Path) -> None:
        head = '[[shelter]]\nid = "hoop"\nshape = "wall"\nheight = "2 m"\ncover = "wall only"\n'
        year = year_of(tmp_path, tree("satsuma", more='shelter = "hoop"\n'), head=head)

        assert year.fit is not None
        assert year.fit.above_wall == pytest.approx(0.8)
        assert year.reduction is None


class TestWantedSize:
    def test_the_years_lead_to_the_wanted_size(self, tmp_path: Path) -> None:
        more = 'wanted_height = "2.2 m"\nwanted_spread = "2.2 m"\n'
        year = year_of(tmp_path, tree("olive", years=30, more=more))
        plan = year.reduction
        assert plan is not None

        assert plan.reached
        assert plan.years[-1].after.height == pytest.approx(2.2)
        assert all(one.share <= plan.most + 1e-9 for one in plan.years)
        assert year.after == pytest.approx(plan.years[0].after)

    def test_what_cannot_be_reached_is_said(self, tmp_path: Path) -> None:
        more = 'wanted_height = "1.2 m"\nwanted_spread = "1 m"\n'
        year = year_of(tmp_path, tree("satsuma", years=6, more=more))

        assert year.reduction is not None
        assert not year.reduction.reached
        assert year.cut is not None
        assert any("grows back too fast" in link.statement.text for link in year.cut.because)

    def test_a_tree_as_small_as_wanted_is_only_thinned(self, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree("satsuma", more='wanted_height = "2.8 m"\n'))

        assert year.reduction is None
        assert year.share.share <= 0.12


class TestGrowth:
    def volumes(self, folder: Path, *, stock: str = "", years: float = 6) -> list[float]:
        folder.mkdir()
        more = f'rootstock = "{stock}"\n' if stock else ""
        return [one.volume for one in year_of(folder, tree("navel", years=years, more=more)).ahead]

    def test_it_grows_from_year_to_year_and_more_on_a_stronger_stock(self, tmp_path: Path) -> None:
        weak = self.volumes(tmp_path / "weak", stock="flying dragon")
        strong = self.volumes(tmp_path / "strong", stock="rough lemon")

        assert weak == sorted(weak)
        assert all(one < other for one, other in zip(weak, strong, strict=True))

    def test_an_old_tree_grows_less_than_a_young_one_of_its_size(self, tmp_path: Path) -> None:
        young = self.volumes(tmp_path / "young", years=5)
        old = self.volumes(tmp_path / "old", years=25)

        assert all(one < other for one, other in zip(old, young, strict=True))

    def test_the_range_holds_what_is_expected(self, tmp_path: Path) -> None:
        for one in year_of(tmp_path, tree("navel")).ahead:
            assert one.volume_low <= one.volume <= one.volume_high

    def test_a_pot_holds_growth_back(self, tmp_path: Path) -> None:
        ground, pot = (
            year_of(folder, tree("calamondin", pot=litres))
            for folder, litres in ((tmp_path / "a", "400 L"), (tmp_path / "b", "20 L"))
            if not folder.mkdir()
        )

        assert pot.ahead[-1].volume < ground.ahead[-1].volume

    def test_a_pot_that_carries_no_more_lets_a_tree_come_down(self, tmp_path: Path) -> None:
        more = 'wanted_height = "0.9 m"\nwanted_spread = "0.8 m"\n'
        plan = year_of(tmp_path, tree("calamondin", pot="15 L", more=more)).reduction
        assert plan is not None

        assert plan.reached
        assert all(one.grown.height <= 1.2 for one in plan.years)


class TestWoodAndCuts:
    @pytest.mark.parametrize("kind", KINDS)
    def test_the_account_of_wood_adds_up(self, kind: str, tmp_path: Path) -> None:
        wood = year_of(tmp_path, tree(kind)).wood
        for row in (*wood.renewed, *wood.left):
            assert row.new + row.bearing + row.old == pytest.approx(1.0)
        assert wood.renewed[-1].old <= wood.left[-1].old + 1e-9

    def test_thick_cuts_are_fewer_than_thin_ones(self, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree("satsuma"))
        counts = [one.cuts.value for one in year.headings]

        assert counts == sorted(counts, reverse=True)
        assert len(counts) >= 2
        assert all(
            one.cuts.low is not None
            and one.cuts.high is not None
            and one.cuts.low <= one.cuts.value <= one.cuts.high
            for one in year.headings
        )

    def test_a_cut_lets_light_in(self, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree("navel"))

        assert year.light.now.value < year.light.after.value < 1

    @pytest.mark.parametrize("kind", ["bluecrop", "emerald"])
    def test_blueberries_are_cut_cane_by_cane(self, kind: str, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree(kind))
        assert year.cut is not None

        assert not year.headings
        assert any("oldest, out at the ground" in step.text for step in year.cut.steps)
        assert not any("below the union" in step.text for step in year.cut.steps)

    def test_the_steps_begin_with_dead_wood_then_disease_then_suckers(self, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree("satsuma"))
        assert year.cut is not None
        first = [step.text for step in year.cut.steps[:4]]

        words = ("dead", "diseased", "below the union", "Crossing")
        assert all(word in text for word, text in zip(words, first, strict=True))


class TestShape:
    def test_a_shape_of_the_garden_file_counts(self, tmp_path: Path) -> None:
        year = year_of(tmp_path, tree("satsuma", more='shape = "pyramid"\n'))
        size = year.size

        assert size.form.name == "cone"
        assert size.volume == pytest.approx(canopy_volume(size.canopy, size.skirt, size.form))

    def test_a_kind_has_its_own(self, tmp_path: Path) -> None:
        shapes = {}
        for kind in ("peach", "satsuma", "bluecrop", "fig"):
            folder = tmp_path / kind
            folder.mkdir()
            shapes[kind] = year_of(folder, tree(kind)).size.form.name

        assert shapes == {
            "peach": "vase",
            "satsuma": "spheroid",
            "bluecrop": "multi-stem",
            "fig": "multi-stem",
        }


class TestBadMeasures:
    def told(self, folder: Path, trees: str, head: str = "") -> list[tuple[str, int | None, str]]:
        path = write_garden(folder, trees, head=head)
        lines = path.read_text("utf-8").splitlines()
        found = []
        for one in api.check_garden(path, TODAY):
            key = lines[one.line - 1].split(" = ")[0] if one.line else ""
            if one.severity != "note":
                assert one.hint
                found.append((one.severity, one.line, f"{key}: {one.message}"))
        return found

    def test_a_diameter_for_a_girth_is_doubted_on_its_line(self, tmp_path: Path) -> None:
        text = tree("satsuma").replace('trunk_girth = "36 cm"', 'trunk_girth = "11 cm"')
        ((severity, _, said),) = self.told(tmp_path, text)

        assert severity == "warning"
        assert said.startswith("trunk_girth: ")
        assert "11 cm is small for a spread of 2.7 m, where 15 cm to 1.08 m is usual" in said

    def test_a_girth_in_millimetres_is_doubted(self, tmp_path: Path) -> None:
        text = tree("satsuma").replace('trunk_girth = "36 cm"', 'trunk_girth = "1.9 m"')
        ((severity, _, said),) = self.told(tmp_path, text)

        assert (severity, "is large" in said) == ("warning", True)

    def test_a_bush_of_many_stems_has_no_girth_to_doubt(self, tmp_path: Path) -> None:
        text = tree("fig").replace('trunk_girth = "36 cm"', 'trunk_girth = "11 cm"')

        assert self.told(tmp_path, text) == []

    def test_a_spread_wider_than_the_shelter_is_doubted(self, tmp_path: Path) -> None:
        text = tree("satsuma", more='shelter = "hoop"\n').replace(
            'spread = ["2.8 m", "2.6 m"]', 'spread = ["5.5 m", "4 m"]'
        )
        ((severity, _, said),) = self.told(tmp_path, text, hoop())

        assert severity == "warning"
        assert said.startswith("spread: ")
        assert "wider than shelter 'hoop', 5 m by 3.4 m" in said

    def test_a_cover_below_the_skirt_is_doubted(self, tmp_path: Path) -> None:
        head = hoop().replace('height = "2.9 m"', 'height = "0.4 m"')
        told = self.told(tmp_path, tree("satsuma", more='shelter = "hoop"\n'), head)

        assert [said.split(":")[0] for _, _, said in told] == ["skirt"]

    @pytest.mark.parametrize(
        ("more", "severity", "words"),
        [
            ('wanted_height = "3.4 m"\n', "warning", "is above its present height of 2.8 m"),
            ('wanted_spread = "3 m"\n', "warning", "is wider than its present 2.8 m"),
        ],
    )
    def test_a_wanted_size_above_the_present_one_is_doubted(
        self, more: str, severity: str, words: str, tmp_path: Path
    ) -> None:
        ((found, _, said),) = self.told(tmp_path, tree("satsuma", more=more))

        assert found == severity
        assert words in said

    def test_a_wanted_height_below_the_skirt_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(BadFile, match=r"garden.toml:\d+: .*not above its skirt of 40 cm"):
            opened(tmp_path, tree("satsuma", more='wanted_height = "0.3 m"\n'))

    def test_an_unknown_shape_names_those_that_are_known(self, tmp_path: Path) -> None:
        with pytest.raises(BadFile, match="'blob' is not a shape of canopy we know") as refused:
            opened(tmp_path, tree("satsuma", more='shape = "blob"\n'))

        assert "spheroid" in refused.value.hint
