"""A feeding year on a shared shelf: open days, heavy rain, closed seasons, stock, slow gifts in a pot.

The rules checked here are the project's own promises or common practice; no published figure is used.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell import api
from bearwell.plan.rounds import Round
from bearwell.plan.schedule import Placed, TreeSchedule
from bearwell.weather.series import DailySeries
from gardens import SHELF, TODAY, opened, tree, weather_of

RULE = '[[no_feeding]]\nfrom = "{}"\nto = "{}"\nnutrients = ["N"]\nreason = "a rule of the test"\n'
PRILLS = """
[[product]]
id = "prills"
name = "prills"
label = "15-8-12"
release = "controlled release"
on_hand = "2 kg"
"""


def schedule_of(loaded: api.LoadedGarden, tree_id: str = "one") -> TreeSchedule:
    return loaded.schedule.trees[tree_id]


def ahead(scheduled: TreeSchedule, today: date = TODAY) -> list[Placed]:
    return [one for one in scheduled.rounds if one.window.latest >= today]


def with_rain(on: date, mm: float) -> DailySeries:
    """The test weather with a forecast of ten days, dry but for one."""
    series = weather_of("mild", TODAY + timedelta(days=10))
    rain = np.array(series.rain)
    rain[-10:] = 0.0
    rain[(on - series.start).days] = mm
    return replace(series, rain=rain)


class TestClosedDays:
    @pytest.mark.parametrize("window", [("06-01", "09-30"), ("11-15", "02-15")])
    def test_no_round_is_put_on_a_closed_day(self, window: tuple[str, str], tmp_path: Path):
        rule = RULE.format(*window)
        loaded = opened(tmp_path, tree("satsuma"), head=SHELF + rule)
        closed = loaded.garden.no_feeding[0]

        placed = [one for one in ahead(schedule_of(loaded)) if not one.blocked]

        assert placed
        assert all(
            not closed.covers(one.window.earliest + timedelta(days=n))
            for one in placed
            for n in range((one.window.latest - one.window.earliest).days + 1)
        )

    def test_a_year_closed_throughout_blocks_every_round_and_gives_nothing(self, tmp_path: Path):
        loaded = opened(tmp_path, tree("satsuma"), head=SHELF + RULE.format("01-01", "12-31"))

        rounds = ahead(schedule_of(loaded))

        assert rounds
        assert all(one.blocked and one.blend is None for one in rounds)
        assert loaded.schedule.used == {}

    def test_open_months_of_a_pot_make_up_for_closed_ones_within_limits(self, tmp_path: Path):
        free = opened(tmp_path, tree("lemon", pot="45 L"), head=SHELF)
        month = schedule_of(free).rounds[0].nitrogen.value
        (tmp_path / "closed").mkdir()
        shut = opened(
            tmp_path / "closed",
            tree("lemon", pot="45 L"),
            head=SHELF + RULE.format("06-01", "09-30"),
        )

        rounds = ahead(schedule_of(shut))[:12]
        given = [one.nitrogen.value for one in rounds if not one.blocked]

        assert len(given) == 8
        assert given == pytest.approx([1.5 * month] * 8)


class TestRain:
    def test_a_round_keeps_clear_of_heavy_rain_ahead(self, tmp_path: Path):
        flood = TODAY + timedelta(days=8)
        shut = {flood - timedelta(days=n) for n in range(3)}
        dry = opened(tmp_path, tree("lemon", pot="45 L"), head=SHELF, weather=with_rain(flood, 0))
        usual = ahead(schedule_of(dry))[1].window
        (tmp_path / "wet").mkdir()
        wet = opened(
            tmp_path / "wet",
            tree("lemon", pot="45 L"),
            head=SHELF,
            weather=with_rain(flood, 60.0),
        )

        placed = ahead(schedule_of(wet))[1].window

        assert any(usual.holds(day) for day in shut), "else the rain would be in nobody's way"
        assert not any(placed.holds(day) for day in shut)
        assert any("Heavy rain" in one.statement.text for one in schedule_of(wet).because)

    @pytest.mark.parametrize(
        "own", ['heavy_rain = "80 mm"', "rain_days = 0"], ids=["heavier", "not at all"]
    )
    def test_the_grower_says_what_heavy_is(self, own: str, tmp_path: Path):
        loaded = opened(
            tmp_path,
            tree("lemon", pot="45 L"),
            head=f"[feeding]\n{own}\n{SHELF}",
            weather=with_rain(TODAY + timedelta(days=6), 60.0),
        )

        assert not any("Heavy rain" in one.statement.text for one in schedule_of(loaded).because)


class TestOneShelf:
    def test_what_trees_are_given_is_stock_or_shopping(self, tmp_path: Path):
        """Grams in every dose add up to what leaves the shelf and what must be bought."""
        trees = "".join(
            tree(kind).replace('id = "one"', f'id = "{kind}"')
            for kind in ("satsuma", "lemon", "hass")
        )
        loaded = opened(tmp_path, trees, head=SHELF.replace('"40 kg"', '"3 kg"'))
        schedule = loaded.schedule
        doses: dict[str, float] = {}
        for scheduled in schedule.trees.values():
            for placed in ahead(scheduled):
                for key, mass in placed.blend.doses if placed.blend else ():
                    doses[key] = doses.get(key, 0.0) + mass

        assert doses == pytest.approx(schedule.used)
        stock = {one.id: one.on_hand or 0.0 for one in loaded.garden.products}
        short = {key: mass - stock[key] for key, mass in doses.items() if mass > stock[key]}
        assert {one.product: one.short for one in schedule.shopping} == pytest.approx(short)

    def test_a_bag_kept_for_pots_stays_out_of_the_ground(self, tmp_path: Path):
        kept = SHELF.replace('id = "meal"', 'id = "meal"\nkept_for = ["pot"]')
        trees = tree("satsuma") + tree("lemon", pot="45 L").replace('"one"', '"pot"')
        loaded = opened(tmp_path, trees, head=kept)

        used = {
            key: {bag for one in ahead(scheduled) if one.blend for bag, _ in one.blend.doses}
            for key, scheduled in loaded.schedule.trees.items()
        }

        assert "meal" not in used["one"]
        assert used["pot"] == {"meal"}


class TestSlowGiftsInAPot:
    """Where only controlled release serves a pot, one gift stands for the months it lasts."""

    def rounds(self, folder: Path, done: str = "") -> tuple[Placed, ...]:
        more = f"done = [{done}]" if done else ""
        loaded = opened(folder, tree("calamondin", pot="45 L", more=more), head=PRILLS)
        return schedule_of(loaded).rounds

    def test_a_planned_gift_stands_for_several_months(self, tmp_path: Path):
        rounds = self.rounds(tmp_path)
        gifts = [one for one in rounds if one.months > 1]

        assert gifts
        assert all(one.months >= 3 for one in gifts)
        for gift in gifts:
            carried = [one for one in rounds if one.carried_by == gift.window.best]
            assert abs(len(carried) + 1 - gift.months) <= 1 or gift is gifts[-1]
            assert not any(one.blend for one in carried)

    def test_what_was_never_given_stands_for_nothing(self, tmp_path: Path):
        """Months after the last record the pot is due, and no missed round hides it."""
        later = date(2027, 4, 15)
        done = '{ date = 2026-10-20, job = "feed", product = "prills", amount = "20 g" }'
        pot = tree("calamondin", pot="45 L", more=f"done = [{done}]", today=later)
        loaded = opened(tmp_path, pot, head=PRILLS, today=later)

        rounds = schedule_of(loaded).rounds
        first = ahead(schedule_of(loaded), later)[0]
        carriers = {one.carried_by for one in rounds if one.carried_by}

        assert first.blend is not None
        assert first.window.earliest <= later
        assert carriers <= {date(2026, 10, 20), *(one.window.best for one in rounds if one.blend)}

    def test_a_small_gift_on_record_stands_for_no_more_than_it_covers(self, tmp_path: Path):
        day = TODAY - timedelta(days=40)
        rounds = {}
        for name, grams in (("small", 4), ("full", 400)):
            (tmp_path / name).mkdir()
            done = f'{{ date = {day}, job = "feed", product = "prills", amount = "{grams} g" }}'
            rounds[name] = self.rounds(tmp_path / name, done)
        small, full = rounds["small"], rounds["full"]

        assert [one.months for one in small if one.given] == [1]
        assert [one for one in small if one.carried_by == day] == []
        assert max(one.months for one in full if one.given) >= 3
        assert len([one for one in full if one.carried_by == day]) >= 2


@pytest.mark.parametrize("day", [date(2026, 11, 3), date(2026, 11, 10), date(2026, 11, 24)])
def test_a_record_belongs_to_the_round_of_its_month(day: date, tmp_path: Path) -> None:
    """An earlier month that was missed does not take it."""
    done = f'done = [{{ date = {day}, job = "feed", product = "balanced", amount = "30 g" }}]'
    loaded = opened(tmp_path, tree("lemon", pot="45 L", more=done), head=SHELF)

    given = [one.window.best for one in schedule_of(loaded).rounds if one.given]

    assert given == [date(2026, 11, 10)]


def test_a_leaf_test_of_the_wrong_month_or_leaf_moves_nothing(tmp_path: Path) -> None:
    """Florida norms are for leaves of July and August, spring flush, from shoots without fruit."""
    doses = {}
    for name, row in {
        "none": "",
        "right": 'date = 2026-08-10, n = "2.0 %"',
        "winter": 'date = 2026-01-10, n = "2.0 %"',
        "leaf": 'date = 2026-08-10, leaf = "from fruiting shoots", n = "2.0 %"',
        "other": 'date = 2026-08-10, norms = "California avocado", n = "2.0 %"',
    }.items():
        (tmp_path / name).mkdir()
        norms = "" if "norms" in row else ', norms = "Florida citrus"'
        more = f"leaf_tests = [{{ {row}{norms} }}]" if row else ""
        loaded = opened(tmp_path / name, tree("navel", more=more), head=SHELF)
        doses[name] = schedule_of(loaded).need.nitrogen.value

    assert doses["right"] > 1.2 * doses["none"]
    assert doses["winter"] == doses["leaf"] == doses["other"] == doses["none"]


def test_a_year_holds_each_round_once(tmp_path: Path) -> None:
    rounds = ahead(schedule_of(opened(tmp_path, tree("lemon", pot="45 L"), head=SHELF)))

    assert sorted(one.round.number for one in rounds) == list(range(1, 13))


def test_rounds_are_numbered_within_their_year(tmp_path: Path) -> None:
    rounds: list[Round] = [one.round for one in schedule_of(opened(tmp_path, tree("lemon"))).rounds]

    assert all(1 <= one.number <= one.of for one in rounds)
