"""What the grower decides about an advice is kept to by the worklist, until it is undone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.plan.advice import Advice, Window
from bearwell.plan.decisions import Decision, honour
from bearwell.reasons import phrase
from gardens import TODAY
from stores import kept, on_hand, opened, stamp, write


@pytest.fixture
def store(empty_place: str, tmp_path: Path) -> Iterator[api.Store]:
    with kept(empty_place, write(tmp_path / "file")) as made:
        yield made


def open_round(store: api.Store) -> Advice:
    """A feeding that is due and has days left."""
    found = api.worklist(opened(store), days=120).advice
    return next(
        one
        for one in found
        if one.kind == "feed" and "doses" in one.details and one.window.latest > TODAY
    )


def now(store: api.Store, advice: Advice) -> list[Advice]:
    return [one for one in api.worklist(opened(store), days=120).advice if one.id == advice.id]


def test_a_skipped_advice_is_held_back_with_its_reason(store: api.Store):
    advice = open_round(store)
    done = api.record_skip(store, stamp(), TODAY, advice=advice, reason="leaves too dark")
    (held,) = now(store, advice)
    assert held.standing == "blocked"
    assert held.remarks[-1].values == {"day": TODAY, "reason": "leaves too dark"}
    assert held in api.worklist(opened(store), days=120).sections()["blocked"]
    api.undo(store, stamp(), TODAY, record=done.id)

    assert now(store, advice) == [advice]


def test_a_skip_needs_a_reason(store: api.Store):
    with pytest.raises(BadInput, match="a reason is needed"):
        api.record_skip(store, stamp(), TODAY, advice=open_round(store), reason="  ")


def test_a_postponed_advice_moves_its_best_day_and_says_so(store: api.Store):
    advice = open_round(store)
    api.record_postpone(
        store, stamp(), TODAY, advice=advice, until=advice.window.latest, reason="rain"
    )
    (later,) = now(store, advice)

    assert later.window == replace(advice.window, best=advice.window.latest)
    assert later.remarks[-1].values["day"] == advice.window.latest


def test_an_advice_is_not_put_off_beyond_its_days(store: api.Store):
    advice = open_round(store)
    mark = store.mark()

    with pytest.raises(BadInput, match="outside the days of this work"):
        api.record_postpone(
            store, stamp(), TODAY, advice=advice, until=advice.window.latest + timedelta(days=1)
        )
    assert store.mark() == mark


def test_done_as_advised_closes_the_advice_and_empties_the_bags(store: api.Store):
    advice = open_round(store)
    before = {dose["product"]: on_hand(store, dose["product"]) for dose in advice.details["doses"]}
    done = api.record_as_advised(store, stamp(), TODAY, advice=advice, day=TODAY)
    assert now(store, advice) == []
    for dose in advice.details["doses"]:
        assert on_hand(store, dose["product"]) == pytest.approx(before[dose["product"]] - dose["g"])
    api.undo(store, stamp(), TODAY, record=done.id)

    assert now(store, advice) == [advice]


def test_done_differently_closes_the_advice_with_what_was_done(store: api.Store):
    advice = open_round(store)
    api.record_done(
        store,
        stamp(),
        TODAY,
        tree=advice.tree,
        job="feed",
        day=TODAY,
        product="meal",
        amount="90 g",
        note="less",
        advice=advice,
    )
    last = opened(store).garden.tree(advice.tree).last_done("feed", TODAY)

    assert now(store, advice) == []
    assert last is not None and (last.product, last.amount, last.note) == ("meal", 90, "less")


def test_an_advice_is_found_by_its_id_only(store: api.Store):
    advice = open_round(store)

    assert api.find_advice(opened(store), advice.id) == advice
    with pytest.raises(BadInput, match="no advice"):
        api.find_advice(opened(store), "one/feed/round-99/2026-11")


# ---------------------------------------------------------------- the same job again


def job(advice_id: str, best: date, spread: int = 10) -> Advice:
    window = Window(best - timedelta(days=spread), best, best + timedelta(days=spread))
    return Advice(advice_id, "one", "prune", window, phrase("Cut"))


def decided(what: str, advice: Advice, **rest: object) -> Decision:
    window = advice.window
    return Decision(advice.id, what, TODAY, window.earliest, window.best, window.latest, **rest)  # type: ignore[arg-type]


def test_the_same_job_is_known_when_its_month_has_changed():
    before, after = (
        job("one/prune/winter/2027-01", date(2027, 1, 30)),
        job("one/prune/winter/2027-02", date(2027, 2, 3)),
    )

    assert honour([after], [decided("close", before)], TODAY) == []


def test_the_same_job_of_a_later_time_is_not_the_one_decided_upon():
    before, after = (
        job("one/water/root-zone/2026-11", date(2026, 11, 3), 2),
        job("one/water/root-zone/2026-11", date(2026, 11, 20), 2),
    )
    next_year = job("one/prune/winter/2028-01", date(2028, 1, 30))

    assert honour([after], [decided("close", before)], TODAY) == [after]
    assert honour(
        [next_year], [decided("close", job("one/prune/winter/2027-01", date(2027, 1, 30)))], TODAY
    ) == [next_year]


def test_another_job_is_left_alone():
    one, other = (
        job("one/prune/winter/2027-01", date(2027, 1, 30)),
        job("one/prune/shape/2027-01", date(2027, 1, 30)),
    )

    assert honour([one, other], [decided("close", one)], TODAY) == [other]


def test_a_day_that_no_longer_serves_is_moved_into_the_window_and_said():
    advice = job("one/prune/winter/2027-01", date(2027, 1, 30))
    moved = replace(advice, window=Window(date(2027, 2, 5), date(2027, 2, 10), date(2027, 2, 20)))
    (later,) = honour([moved], [decided("postpone", advice, until=date(2027, 2, 1))], TODAY)

    assert later.window.best == date(2027, 2, 5)
    assert "have moved" in later.remarks[0].text
