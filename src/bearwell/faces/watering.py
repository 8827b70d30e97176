"""What the pages of water and their JSON twins show, worked out once for both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bearwell.api import (
    GardenWatering,
    LoadedGarden,
    Tree,
    TreeWatering,
    WaterDay,
    WaterRound,
    how_much,
    reasons,
    tidy,
    water_days,
    watered_deep,
    watering_notes,
)
from bearwell.faces.language import N_, _, _n, say
from bearwell.faces.twins import because_twin
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

WHY_WORDS = {
    "short": N_("before it is short"),
    "freeze": N_("dry soil before a freeze"),
    "rule": N_("before closed days"),
}
RANK_WORDS = (
    N_("pots first: they hold a day or two"),
    N_("never short now"),
    N_("young roots"),
    N_("at an ordinary time"),
    N_("may go short now"),
)


OFTEN_DAYS = 3  # days apart up to which rounds are told together


@dataclass(frozen=True)
class RoundShown:
    """A round in the grower's words."""

    day: date
    litres: float
    text: str
    cans: float
    run: float | None
    why: str


@dataclass(frozen=True)
class Stretch:
    """Days of the account added up: a week behind, a day ahead [mm]."""

    first: date
    last: date
    rain: float
    given: float
    used: float
    drained: float
    missing: float
    stress: float
    ahead: bool
    measured: bool


@dataclass(frozen=True)
class SheetTree:
    """One tree on the sheet of water."""

    tree: Tree
    watering: TreeWatering
    rounds: tuple[RoundShown, ...]
    turns: tuple[Turn, ...]
    litres: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class WaterSheet:
    """The coming two weeks for the whole garden, in walking order."""

    today: date
    last: date
    lines: tuple[SheetTree, ...]
    resting: tuple[SheetTree, ...]
    unplanned: tuple[Tree, ...]
    weeks: tuple[tuple[date, date, float], ...]
    litres: float
    denied: float
    budget: float | None
    can: float
    minutes: float


def rounds_shown(watering: TreeWatering, words: Words) -> tuple[RoundShown, ...]:
    """Every round of a tree."""
    return tuple(_round(watering, one, words) for one in watering.rounds)


def _round(watering: TreeWatering, one: WaterRound, words: Words) -> RoundShown:
    litres = tidy(one.litres)
    return RoundShown(
        one.day,
        litres,
        words.phrase(how_much(watering, litres)),
        watering.cans(litres),
        None if watering.drip is None else watering.minutes(litres),
        one.why,
    )


@dataclass(frozen=True)
class Turn:
    """Rounds that come day by day with much the same litres, told in one line."""

    first: date
    last: date
    text: str
    count: int
    why: str


def turns(rounds: Sequence[RoundShown], words: Words) -> tuple[Turn, ...]:
    """The rounds in lines: a pot watered every day or two is told once for the days it goes on."""
    runs: list[list[RoundShown]] = []
    for one in rounds:
        last = runs[-1] if runs else []
        gap = (one.day - last[-1].day).days if last else 0
        regular = len(last) < 2 or gap == (last[-1].day - last[-2].day).days
        if last and gap <= OFTEN_DAYS and regular and one.why == last[-1].why:
            last.append(one)
        else:
            runs.append([one])
    return tuple(_turn(run, words) for run in runs)


def _turn(run: Sequence[RoundShown], words: Words) -> Turn:
    first, last = run[0], run[-1]
    if len(run) == 1:
        return Turn(first.day, first.day, first.text, 1, first.why)
    gap = (run[1].day - run[0].day).days
    low, high = min(one.litres for one in run), max(one.litres for one in run)
    much = litres_words(words, low)
    if high > 1.1 * low:
        much = _("{low} to {high}", low=much, high=litres_words(words, high))
    told = _n("{much} every day", "{much} every {number} days", gap, much=much)
    return Turn(first.day, last.day, told, len(run), first.why)


def stretches(days: Sequence[WaterDay]) -> list[Stretch]:
    """The past by weeks that end yesterday, the days ahead one by one."""
    past, ahead = [one for one in days if not one.ahead], [one for one in days if one.ahead]
    begin = len(past) % 7
    parts = [past[:begin]] if begin else []
    parts += [past[at : at + 7] for at in range(begin, len(past), 7)]
    return [_stretch(part) for part in (*parts, *([one] for one in ahead))]


def _stretch(part: Sequence[WaterDay]) -> Stretch:
    return Stretch(
        part[0].day,
        part[-1].day,
        sum(one.rain for one in part),
        sum(one.given + one.supposed for one in part),
        sum(one.used for one in part),
        sum(one.drained for one in part),
        part[-1].missing,
        min(one.stress for one in part),
        part[0].ahead,
        all(one.measured for one in part),
    )


def notes_of(watering: TreeWatering, words: Words) -> tuple[str, ...]:
    """What is doubtful, waited for or held back, in words."""
    return tuple(words.phrase(one) for one in watering_notes(watering))


def sheet_of(opened: LoadedGarden, words: Words) -> WaterSheet:
    """The sheet of the whole garden."""
    plan: GardenWatering = opened.watering
    shown = [
        SheetTree(tree, found, rounds, turns(rounds, words), sum(tidy(one.litres) for one in found.rounds),
                  notes_of(found, words))
        for tree in opened.garden.trees
        if (found := plan.trees.get(tree.id)) is not None
        for rounds in (rounds_shown(found, words),)
    ]  # fmt: skip
    lines = tuple(one for one in shown if one.rounds or one.watering.denied > 0)
    weeks = []
    for begin in (0, 7):
        first = opened.today + timedelta(days=begin)
        last = first + timedelta(days=6)
        total = sum(
            r.litres for one in lines for r in one.watering.rounds if first <= r.day <= last
        )
        weeks.append((first, last, total))
    return WaterSheet(
        opened.today,
        opened.today + timedelta(days=13),
        lines,
        tuple(one for one in shown if one not in lines),
        tuple(tree for tree in opened.garden.trees if tree.id not in plan.trees),
        tuple(weeks),
        sum(one.watering.litres for one in lines),
        plan.denied,
        plan.budget,
        opened.garden.watering.can,
        sum(
            5.0 if one.watering.drip is not None else 3 + one.watering.minutes(r.litres)
            for one in lines
            for r in one.rounds
        ),
    )


# ---------------------------------------------------------------- twins


def _round_twin(one: RoundShown) -> dict[str, Any]:
    return {
        "date": one.day.isoformat(),
        "l": one.litres,
        "cans": round(one.cans, 1),
        "run_min": None if one.run is None else round(one.run),
        "text": one.text,
        "why": one.why,
    }


def water_twin(opened: LoadedGarden, watering: TreeWatering, words: Words) -> dict[str, Any]:
    """A tree's water as JSON; its days in millimetres on its ground."""
    state, tree = watering.state, watering.view.tree
    return {
        "tree": tree.id,
        "name": tree.called,
        "today": opened.today.isoformat(),
        "use_l_d": round(state.daily_use, 2),
        "deficit_l": round(state.deficit, 1),
        "ready_l": round(state.ready, 1),
        "total_l": round(state.total, 1),
        "ground_m2": round(state.zone.area, 3),
        "root_depth_m": None if state.zone.pot else round(state.zone.depth, 2),
        "manner": "pot" if state.zone.pot else "deep" if watered_deep(watering) else "often",
        "phase": say(watering.phase.name),
        "may_use": watering.phase.share,
        "rounds": [_round_twin(one) for one in rounds_shown(watering, words)],
        "litres": round(sum(tidy(one.litres) for one in watering.rounds), 1),
        "denied_l": round(watering.denied, 1),
        "notes": list(notes_of(watering, words)),
        "because": [because_twin(link, words) for link in reasons(watering)],
        "days": [
            {
                "date": one.day.isoformat(),
                "ahead": one.ahead,
                "measured": one.measured,
                "rain_mm": round(one.rain, 2),
                "given_mm": round(one.given, 2),
                "supposed_mm": round(one.supposed, 2),
                "et0_mm": round(one.reference, 2),
                "used_mm": round(one.used, 2),
                "drained_mm": round(one.drained, 2),
                "missing_mm": round(one.missing, 2),
                "short_mm": round(one.short, 2),
                "stress": round(one.stress, 3),
            }
            for one in water_days(opened, watering)
        ],
    }


def water_sheet_twin(listed: WaterSheet) -> dict[str, Any]:
    """The sheet of water as JSON."""
    return {
        "today": listed.today.isoformat(),
        "last": listed.last.isoformat(),
        "litres": round(listed.litres, 1),
        "denied_l": round(listed.denied, 1),
        "most_a_week_l": listed.budget,
        "weeks": [
            {"from": first.isoformat(), "to": last.isoformat(), "l": round(litres, 1)}
            for first, last, litres in listed.weeks
        ],
        "trees": [
            {
                "tree": one.tree.id,
                "name": one.tree.called,
                "litres": round(one.litres, 1),
                "use_l_d": round(one.watering.state.daily_use, 2),
                "rank": _(RANK_WORDS[one.watering.rank]),
                "denied_l": round(one.watering.denied, 1),
                "rounds": [_round_twin(each) for each in one.rounds],
                "notes": list(one.notes),
            }
            for one in (*listed.lines, *listed.resting)
        ],
        "unplanned": [tree.id for tree in listed.unplanned],
    }


def litres_words(words: Words, litres: float) -> str:
    """Litres in the garden's units."""
    return words.quantity(Quantity(litres, "L"))
