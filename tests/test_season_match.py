"""Advice of a past span matched with records: whatever there is, each of both is accounted for once."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell import api
from bearwell.garden.model import Done
from bearwell.plan.advice import Advice, Window
from bearwell.plan.changes_dates import garden_changes, honesty_of
from bearwell.plan.decisions import Decision
from bearwell.plan.lookback import Act, matched
from bearwell.plan.morning import Morning
from bearwell.plan.reviewed import DateLook
from bearwell.quantities import Quantity
from bearwell.reasons import phrase
from gardens import TODAY, tree
from stores import kept, opened, stamp, write

START, UNTIL = date(2026, 1, 1), date(2026, 12, 31)
JOBS = ("feed", "prune", "thin", "harvest", "inspect", "measure", "water", "protect")


def advice(kind: str = "feed", what: str = "round-1", best: date = date(2026, 4, 1), *, reach: int = 14,
           months: int = 1, n_g: float = 40.0) -> Advice:  # fmt: skip
    """An advice round a best day."""
    feeds = kind == "feed"
    return Advice(
        id=f"one/{kind}/{what}/{best:%Y-%m}",
        tree="one",
        kind=kind,  # type: ignore[arg-type]
        window=Window(best - timedelta(days=reach), best, best + timedelta(days=reach)),
        headline=phrase("Do it"),
        quantity=Quantity(800, "g", 600, 1200) if feeds else None,
        details={"n_g": n_g, "months": months} if feeds else {"inspection": what},
    )


def act(day: date, job: str = "feed", nitrogen: float | None = 40.0, look: str = "") -> Act:
    """A record of a day."""
    row = Done.model_construct(date=day, job=job, product=None, amount=None, look=look or None, corrects=None, note="")  # fmt: skip
    return Act("one", job, day, (row,), nitrogen if job == "feed" else None)


def morning(day: date, *some: Advice) -> Morning:
    """A plan of a day that says these."""
    return Morning(day, some, (), {}, {}, Quantity(100, "g"), False, {})


days = st.dates(START, UNTIL)
some_advice = st.builds(
    advice, st.sampled_from(JOBS[:6]), st.sampled_from(["round-1", "round-2", "gnawing"]), days,
    reach=st.integers(0, 60), months=st.sampled_from([1, 4]),
)  # fmt: skip
some_acts = st.builds(
    act, days, st.sampled_from(JOBS), st.sampled_from([None, 0.0, 20.0, 40.0]), st.sampled_from(["", "gnawing"])
)  # fmt: skip


@given(st.lists(st.tuples(days, st.lists(some_advice, max_size=5)), min_size=1, max_size=4,
                unique_by=lambda one: one[0]), st.lists(some_acts, max_size=12))  # fmt: skip
def test_each_record_stands_once_and_no_advice_twice(told: list, acts: list[Act]):
    mornings = [morning(day, *some) for day, some in sorted(told, key=lambda one: one[0])]
    found = matched(mornings, acts, [], UNTIL)

    stand = [one for line in found.lines for one in line.acts]
    stand += [*found.unasked, *found.beside]
    assert sorted(map(id, stand)) == sorted(map(id, acts))
    said = [line.advice for line in found.lines]
    assert all(any(one is each for m in mornings for each in m.advice) for one in said)
    assert len({id(one) for one in said}) == len(said)
    for line in found.lines:
        assert all(one.job == line.advice.kind for one in line.acts)


@given(st.lists(some_advice, max_size=8))
def test_every_advice_that_was_best_in_the_span_is_told_once(some: list[Advice]):
    """Advice of one id is one job; all of it is told when the plan was asked once."""
    found = matched([morning(START, *some)], [], [], UNTIL)

    assert {one.id for one in some if one.window.latest >= START} == {
        line.advice.id for line in found.lines
    } | {one.id for one in some if _like(one, [line.advice for line in found.lines])}
    assert {line.verdict for line in found.lines} <= {"not-recorded", "asked-again", "still-open"}


def _like(one: Advice, others: list[Advice]) -> bool:
    stem = one.id.rpartition("/")[0]
    return any(
        stem == each.id.rpartition("/")[0] and abs((one.window.best - each.window.best).days) <= 120
        for each in others
    )


def test_done_within_its_days_and_range_is_as_advised():
    (line,) = matched([morning(START, advice())], [act(date(2026, 4, 10))], [], UNTIL).lines

    assert (line.verdict, line.days_off, line.amount_off) == ("as-advised", 0, False)


@pytest.mark.parametrize(
    ("day", "nitrogen", "off", "amount"),
    [
        (date(2026, 4, 20), 40.0, 5, False),
        (date(2026, 3, 10), 40.0, -8, False),
        (date(2026, 4, 1), 20.0, 0, True),
        (date(2026, 4, 1), 70.0, 0, True),
    ],
)
def test_other_days_or_amounts_are_told(day: date, nitrogen: float, off: int, amount: bool):
    (line,) = matched([morning(START, advice())], [act(day, nitrogen=nitrogen)], [], UNTIL).lines

    assert (line.verdict, line.days_off, line.amount_off) == ("differently", off, amount)


def test_a_feeding_without_an_amount_is_no_other_amount():
    (line,) = matched([morning(START, advice())], [act(date(2026, 4, 1), nitrogen=None)], [], UNTIL).lines  # fmt: skip

    assert line.verdict == "as-advised"


def test_a_record_goes_to_the_nearest_of_two_rounds():
    first, second = advice(best=date(2026, 4, 1)), advice(what="round-2", best=date(2026, 5, 1))
    found = matched([morning(START, first, second)], [act(date(2026, 4, 28))], [], UNTIL)

    assert [bool(line.acts) for line in found.lines] == [False, True]


def test_an_advice_is_taken_from_the_plan_nearest_before_its_best_day():
    early, late = advice(best=date(2026, 4, 1)), advice(best=date(2026, 4, 8), n_g=60)
    found = matched([morning(START, early), morning(date(2026, 3, 1), late)], [], [], UNTIL)

    (line,) = found.lines
    assert line.told == date(2026, 3, 1)
    assert line.advice == late


def test_work_done_before_the_plan_that_would_have_told_it_is_found():
    """Done early, the advice has gone from the later plan; the plan before knew of it."""
    told = [morning(START, advice(best=date(2026, 4, 1), reach=30)), morning(date(2026, 3, 20))]
    (line,) = matched(told, [act(date(2026, 3, 10))], [], UNTIL).lines

    assert (line.verdict, line.told) == ("as-advised", START)


def test_a_gift_for_months_is_asked_again_until_it_is_on_record():
    rounds = [advice(what=f"round-{n}", best=date(2026, n, 10), months=4) for n in range(1, 8)]
    found = matched([morning(START, *rounds)], [act(date(2026, 3, 12))], [], UNTIL)

    verdicts = [line.verdict for line in found.lines]
    assert verdicts == [
        "not-recorded", "asked-again", "as-advised", "not-recorded", "asked-again", "asked-again", "asked-again",
    ]  # fmt: skip
    assert [line.repeat for line in found.lines] == [False, True, True, False, True, True, True]


def decision(what: str, one: Advice, reason: str = "", day: date = date(2026, 4, 2)) -> Decision:
    """A decision about an advice."""
    window = one.window
    return Decision(one.id, what, day, window.earliest, window.best, window.latest, reason)


@pytest.mark.parametrize(
    ("what", "verdict"), [("skip", "left-out"), ("postpone", "put-off"), ("close", "no-day")]
)
def test_a_decision_without_a_record_is_told_as_it_was_made(what: str, verdict: str):
    one = advice()
    (line,) = matched([morning(START, one)], [], [decision(what, one, "rain")], UNTIL).lines

    assert line.verdict == verdict
    assert line.decision is not None


def test_a_crop_that_was_weighed_was_picked_though_no_day_says_so():
    one = advice("harvest", "crop-1", date(2026, 9, 1))

    assert matched([morning(START, one)], [], [], UNTIL, frozenset({2026})).lines[0].verdict == "no-day"  # fmt: skip
    assert matched([morning(START, one)], [], [], UNTIL, frozenset({2025})).lines[0].verdict == "not-recorded"  # fmt: skip


# ---------------------------------------------------------------- honest ranges


def look(off: int) -> DateLook:
    day = date(2026, 4, 1)
    reach = timedelta(days=5)
    return DateLook("full bloom", 2026, 1, START, day, day - reach, day + reach, day + timedelta(days=off), "kind")  # fmt: skip


def test_ranges_that_hold_eight_in_ten_need_no_change():
    honesty = honesty_of([look(0)] * 8 + [look(9)] * 2)

    assert honesty is not None
    assert (honesty.within, honesty.dates) == (8, 10)
    # Of ten dates eight or fewer lie within with 0.6242, eight or more with 0.6778 (binomial, p = 0.8).
    assert honesty.chance == pytest.approx(0.6242, abs=5e-5)
    assert honesty.chance_wide == pytest.approx(0.6778, abs=5e-5)
    assert garden_changes(honesty) == []


@pytest.mark.parametrize(
    ("hits", "misses", "key"), [(4, 6, "ranges-too-narrow"), (20, 0, "ranges-too-wide")]
)
def test_ranges_that_do_not_are_told(hits: int, misses: int, key: str):
    honesty = honesty_of([look(0)] * hits + [look(9)] * misses)

    assert [change.key for change in garden_changes(honesty)] == [key]


def test_no_dates_say_nothing():
    assert honesty_of([]) is None
    assert garden_changes(None) == []


# ---------------------------------------------------------------- from a store


@pytest.fixture
def store(empty_place: str, tmp_path: Path) -> Iterator[api.Store]:
    with kept(empty_place, write(tmp_path / "file", tree("clementine"))) as made:
        yield made


def test_work_recorded_as_advised_is_seen_as_advised(store: api.Store):
    feeding = next(
        one
        for one in api.worklist(opened(store), days=366).advice
        if one.kind == "feed" and "doses" in one.details and one.window.earliest > TODAY
    )
    day = feeding.window.best
    garden = api.open_garden(store, day)
    due = next(one for one in api.planned(garden) if one.id == feeding.id)
    api.record_as_advised(store, stamp(), day, advice=due, day=day)
    later = api.look_back(api.open_garden(store, day + timedelta(days=60)))
    (line,) = [line for line in later.lines if line.acts]

    assert line.verdict == "as-advised"
    assert line.advice.id.rpartition("/")[0] == due.id.rpartition("/")[0]
    assert line.decision is not None
    assert line.decision.what == "close"
    assert not later.trees[0].unasked


def test_advice_left_out_again_and_again_is_told_with_its_reason(store: api.Store):
    day, skipped = TODAY, 0
    for _step in range(12):
        garden = api.open_garden(store, day)
        for one in api.worklist(garden, days=14).advice:
            if one.kind == "feed" and one.standing == "due" and skipped < 2:
                api.record_skip(store, stamp(), day, advice=one, reason="Too dark already")
                skipped += 1
        day += timedelta(days=28)
    assert skipped == 2
    (one,) = api.look_back(api.open_garden(store, day)).trees
    left = [line for line in one.lines if line.verdict == "left-out"]
    change = next(each for each in one.changes if each.key == "feed-left-out-again")

    assert len(left) == 2
    assert change.headline.values["reason"] == "Too dark already"
    assert len(change.because) == 2


def test_each_picking_stands_on_its_day_and_adds_up(store: api.Store):
    days = (date(2026, 11, 5), date(2026, 11, 19))
    for day, mass in zip(days, ("4 kg", "2.5 kg"), strict=True):
        api.record_harvest(store, stamp(), TODAY, tree="one", day=day, mass=mass)
    gone = api.record_harvest(store, stamp(), TODAY, tree="one", day=days[0], mass="9 kg")
    api.undo(store, stamp(), TODAY, record=gone.id)
    garden = opened(store)

    assert [(pick.day, pick.mass) for pick in garden.picks] == [(days[0], 4000), (days[1], 2500)]
    (one,) = api.look_back(garden).trees
    acts = [act for line in one.lines for act in line.acts if act.job == "harvest"]
    assert [(act.day, act.mass) for act in acts] == [(days[0], 4000), (days[1], 2500)]
    assert not [act for act in one.unasked if act.job == "harvest"]


def test_a_store_just_begun_has_nothing_to_say_and_says_it(empty_place: str, tmp_path: Path):
    with kept(empty_place, write(tmp_path / "file", tree("apple", years=0.02))) as young:
        found = api.look_back(opened(young))

    assert [one.tree.id for one in found.trees] == ["one"]
    assert found.trees[0].records == 0
    assert {line.verdict for line in found.lines} <= {"still-open", "not-recorded", "held-back"}
