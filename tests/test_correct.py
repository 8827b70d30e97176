"""Shortages that a leaf test or the leaves show: dated sprays and dressings with printed strengths.

Strengths and intervals are those of the sources named at each check; that old leaves do not green up again and
that a spray is for what lacks only is common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.plan.advice import Advice
from bearwell.plan.correct import correction_for, plan_corrections, would_mend
from bearwell.plan.need import other_nutrients, yearly_need
from bearwell.plan.shelf import TreeShelf
from bearwell.plan.shortages import leaf_verdict, shortages
from bearwell.plan.view import View
from bearwell.quantities import convert
from gardens import SHELF, TODAY, opened, tree

FLORIDA = 'leaf_tests = [{{ date = {day}, norms = "Florida citrus", leaf = "{leaf}", {figures} }}]'
LEAF = "spring flush, from shoots without fruit"
AUGUST = date(2026, 8, 5)


def view_of(folder: Path, kind: str, more: str = "", *, pot: str = "", head: str = "") -> View:
    loaded = opened(folder, tree(kind, more=more, pot=pot), head=head)
    return loaded.view(loaded.garden.tree("one"))


def leaf_test(figures: str, day: date = AUGUST, leaf: str = LEAF) -> str:
    return FLORIDA.format(day=day, leaf=leaf, figures=figures)


def jobs(view: View) -> dict[str, Advice]:
    return {one.details["corrects"]: one for one in plan_corrections(view)}


class TestWhatIsShort:
    def test_a_leaf_test_makes_a_dated_job_of_what_it_grades_low(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", leaf_test('zn = "14 ppm", mg = "0.4 %", n = "2.6 %"'))

        found = jobs(view)

        assert set(found) == {"Zn"}
        bloom = view.cycle.next_after("full bloom", TODAY)
        assert bloom is not None
        assert found["Zn"].window.holds(found["Zn"].window.best)
        assert abs((found["Zn"].window.best - bloom.date).days) <= 35

    def test_a_test_of_other_leaves_makes_no_job(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", leaf_test('zn = "14 ppm"', leaf="fruiting shoots"))

        verdict = leaf_verdict(view)

        assert verdict is not None
        assert verdict.unusable is not None
        assert plan_corrections(view) == []

    def test_a_shortage_seen_counts_and_says_that_leaves_mislead(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", 'shortages = [{ date = 2026-10-01, nutrient = "zn" }]')

        job = jobs(view)["Zn"]

        assert job.details["shows"] == "seen"
        assert any("leaf test" in one.text for one in job.remarks)

    def test_a_later_test_that_finds_enough_outweighs_the_eye(self, tmp_path: Path):
        more = 'shortages = [{ date = 2026-05-01, nutrient = "Zn" }]\n' + leaf_test('zn = "40 ppm"')

        assert plan_corrections(view_of(tmp_path, "satsuma", more)) == []

    def test_a_shortage_of_long_ago_is_not_told(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", 'shortages = [{ date = 2024-05-01, nutrient = "Zn" }]')

        assert shortages(view) == []

    def test_nitrogen_is_mended_by_the_rounds_not_by_a_job(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", leaf_test('n = "2.0 %"'))

        assert [one.nutrient for one in shortages(view)] == ["N"]
        assert plan_corrections(view) == []


class TestDoses:
    """Printed strengths, in our own arithmetic."""

    def test_zinc_is_sprayed_at_216_mg_a_litre(self, tmp_path: Path):
        """Swietlik and LaDuke 1991, abstract: 216 ppm of metallic zinc; 36 % zinc in the sulfate is from memory."""
        row = correction_for(view_of(tmp_path, "navel"), "Zn")

        assert row is not None
        assert row["strength"].number * 0.36 == pytest.approx(0.216, abs=0.002)

    def test_manganese_is_sprayed_at_168_mg_a_litre(self, tmp_path: Path):
        """Swietlik and LaDuke 1991, abstract; 32 % manganese in the sulfate is from memory."""
        row = correction_for(view_of(tmp_path, "navel"), "Mn")

        assert row is not None
        assert row["strength"].number * 0.32 == pytest.approx(0.168, abs=0.01)

    def test_epsom_salt_on_an_apple_is_two_kilograms_in_a_hundred_litres(self, tmp_path: Path):
        """British Columbia Tree Fruit Production Guide, magnesium, table 1."""
        row = correction_for(view_of(tmp_path, "apple"), "Mg")

        assert row is not None
        assert row["strength"].number == 2000 / 100
        assert (row["apart"].least, row["apart"].most) == (14, 21)

    def test_borax_on_an_apple_is_an_ounce_for_an_inch_of_trunk(self, tmp_path: Path):
        """University of Tennessee, apples, note 2: one ounce for each inch of trunk diameter."""
        view = view_of(tmp_path, "apple", 'shortages = [{ date = 2026-10-01, nutrient = "B" }]')

        job = jobs(view)["B"]

        inches = convert(view.size.trunk_diameter or 0.0, "m", "in")
        assert job.quantity is not None
        assert job.quantity.value == pytest.approx(convert(inches, "oz", "g"), rel=1e-6)
        assert any("poison" in one or "very little" in one for one in job.cautions)

    def test_spray_and_mass_follow_the_canopy(self, tmp_path: Path):
        view = view_of(tmp_path, "satsuma", leaf_test('zn = "14 ppm"'))

        job = jobs(view)["Zn"]

        litres = max(view.constant("spray on a canopy").number * view.size.volume, 1 / 0.6)
        assert job.quantity is not None
        assert job.quantity.value == pytest.approx(0.6 * litres)
        low, high = job.quantity.low, job.quantity.high
        assert low is not None
        assert high is not None
        assert low < job.quantity.value < high

    def test_a_kind_without_a_printed_dose_is_sent_to_the_laboratory(self, tmp_path: Path):
        view = view_of(tmp_path, "hass", 'shortages = [{ date = 2026-10-01, nutrient = "Zn" }]')

        job = jobs(view)["Zn"]

        assert job.quantity is None
        assert "ask" in job.headline.text


class TestRepeats:
    def done(self, *days: str) -> str:
        rows = ", ".join(f'{{ date = {day}, job = "feed", corrects = "Mg" }}' for day in days)
        return f'shortages = [{{ date = 2026-04-20, nutrient = "Mg" }}]\ndone = [{rows}]'

    def test_the_next_spray_waits_its_days(self, tmp_path: Path):
        today = date(2026, 5, 10)
        loaded = opened(
            tmp_path, tree("apple", today=today, more=self.done("2026-05-08")), today=today
        )
        view = loaded.view(loaded.garden.tree("one"))

        job = jobs(view)["Mg"]

        assert job.window.earliest >= date(2026, 5, 8) + timedelta(days=17)
        assert job.details["given"] == 1

    def test_once_all_are_given_the_job_is_gone(self, tmp_path: Path):
        more = self.done("2026-05-08", "2026-05-25", "2026-06-12")

        assert plan_corrections(view_of(tmp_path, "apple", more)) == []

    def test_a_correction_on_record_stands_for_no_round(self, tmp_path: Path):
        more = f'done = [{{ date = {TODAY - timedelta(days=3)}, job = "feed", corrects = "Zn" }}]'
        view = view_of(tmp_path, "satsuma", more, head=SHELF)
        loaded = opened(tmp_path, tree("satsuma", more=more), head=SHELF)

        assert view.tree.done[0].corrects == "Zn"
        assert all(one.given is None for one in loaded.schedule.trees["one"].rounds)


class TestPotashAndTheRest:
    def test_a_leaf_short_of_potassium_raises_potash_and_an_excess_stops_it(self, tmp_path: Path):
        plain = yearly_need(view_of(tmp_path, "satsuma")).k2o.value

        short = yearly_need(view_of(tmp_path, "satsuma", leaf_test('k = "0.9 %"'))).k2o.value
        shorter = yearly_need(view_of(tmp_path, "satsuma", leaf_test('k = "0.5 %"'))).k2o.value
        none = yearly_need(view_of(tmp_path, "satsuma", leaf_test('k = "2.6 %"'))).k2o.value

        assert plain < short < shorter
        assert none == 0

    def test_what_fruit_carries_off_of_the_rest(self, tmp_path: Path):
        """Bataglia and others 1977, abstract: of each tonne of citrus 526 g of Ca, 127 g of Mg, 0.9 g of Zn."""
        more = 'harvests = [{ year = 2026, mass = "100 kg" }, { year = 2025, mass = "100 kg" }]'
        view = view_of(tmp_path, "valencia", more)

        found = {one.nutrient: one.removed for one in other_nutrients(view)}

        calcium, magnesium, zinc = (found[key] for key in ("Ca", "Mg", "Zn"))
        assert calcium is not None
        assert magnesium is not None
        assert zinc is not None
        assert calcium.value / magnesium.value == pytest.approx(526 / 127, rel=1e-6)
        assert calcium.value / zinc.value == pytest.approx(526 / 0.9, rel=1e-6)
        assert 1 < calcium.value < 100


class TestSalt:
    def shelf(self, folder: Path, label: str, more: str = "") -> TreeShelf:
        product = f'[[product]]\nid = "x"\nname = "x"\nlabel = "{label}"\nrelease = "granular mineral"\n{more}\n'
        return TreeShelf(view_of(folder, "satsuma", head=product))

    @pytest.mark.parametrize(
        ("label", "index"),
        [("46-0-0", 74.4), ("21-0-0", 88.3), ("13-0-44", 69.5), ("0-0-50", 42.6)],
    )
    def test_a_material_known_by_its_label_has_its_printed_salt_index(
        self, label: str, index: float, tmp_path: Path
    ):
        """Mortvedt 2001, as quoted: sodium nitrate 100."""
        shelf = self.shelf(tmp_path, label)

        assert 100 * shelf.salt(shelf.products[0]) == pytest.approx(index)

    def test_a_named_material_counts_before_the_label(self, tmp_path: Path):
        shelf = self.shelf(tmp_path, "0-0-60", 'material = "potassium chloride"')

        assert 100 * shelf.salt(shelf.products[0]) == pytest.approx(116.2)

    def test_a_mixture_is_reckoned_from_its_label(self, tmp_path: Path):
        shelf = self.shelf(tmp_path, "10-10-10")

        assert shelf.salt_row(shelf.products[0]) is None
        assert shelf.salt(shelf.products[0]) == pytest.approx(0.2 * 1.7)

    def test_an_unknown_material_is_told_with_what_there_is(self, tmp_path: Path):
        loaded = opened(
            tmp_path,
            tree("satsuma"),
            head='[[product]]\nid = "x"\nname = "x"\nlabel = "21-0-0"\nrelease = "granular mineral"\n'
            'material = "amonium sulphate"\n',
        )

        assert any("salt index" in one.message and one.line for one in loaded.problems)


def test_the_leaf_key_tells_what_a_shortage_would_make_of_a_tree(tmp_path: Path):
    loaded = opened(tmp_path, tree("satsuma"))

    job = api.would_mend(loaded, "one", "Zn")

    assert job is not None
    assert job.display is not None
    assert api.would_mend(loaded, "one", "N") is None
    assert would_mend(loaded.view(loaded.garden.tree("one")), "Xx") is None
