"""The watering of the whole garden for two weeks: every tree's next rounds, rules kept, scarce water shared.

Each day of the coming two weeks is gone through for every tree: does it run short before the next day on
which it may be watered, is rain due that will do instead, is dry soil about to freeze. Where there is less
water in a week than all of them want, those that bear thirst least come first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bearwell.garden.water import Drip, NoWatering
from bearwell.plan.view import View
from bearwell.science.soilwater import irrigation_for_tree
from bearwell.season.salt import Leaching, leaching
from bearwell.season.thirst import Phase, phase_on
from bearwell.season.water import AHEAD, WaterState, drip_of

Floats = NDArray[np.float64]
WEEK = 7
# Whom scarce water goes to first.
FIRST = ("pot", "never short now", "young", "at an ordinary time", "may go short")


@dataclass(frozen=True)
class Round:
    """One watering: litres to give, what of it stays [mm on the tree's ground], and why on that day.

    ``why`` is "short", "freeze" or "rule" (brought forward before closed days).
    """

    day: date
    litres: float
    net: float
    why: str


@dataclass(frozen=True)
class Wait:
    """Rain that is waited for: how much until when [mm], and the last day of the wait."""

    rain: float
    until: date


@dataclass(frozen=True, eq=False)
class TreeWatering:
    """The coming two weeks of one tree, with the account they lead to.

    ``depletion`` is what is missing each evening, ``short`` from where it is short [mm on its ground].
    ``denied`` are litres it would get in these two weeks if water were no matter and does not get,
    ``denied_on`` the first day a round of it is cut for want of water; ``closed`` days it was due but a rule
    forbade it, with the rule.
    """

    view: View
    state: WaterState
    phase: Phase
    rank: int
    rounds: tuple[Round, ...]
    depletion: Floats
    short: Floats
    wait: Wait | None = None
    denied: float = 0.0
    denied_on: date | None = None
    closed: tuple[date, NoWatering] | None = None

    def open_on(self, day: date) -> bool:
        """Whether no rule forbids watering it on a day."""
        return _rule_of(self.view, day) is None

    @property
    def drip(self) -> Drip | None:
        """Its drippers, if it has any."""
        return drip_of(self.view.tree, self.view.garden)

    @property
    def efficiency(self) -> float:
        """Share of what is given that stays with the roots."""
        return efficiency_of(self.view)

    @cached_property
    def leaching(self) -> Leaching | None:
        """What the salt of the water asks for."""
        return leaching(
            self.view.species, self.view.book, self.view.garden.site.irrigation_water_ec
        )

    @property
    def litres(self) -> float:
        """Litres of all rounds."""
        return sum(one.litres for one in self.rounds)

    def minutes(self, litres: float) -> float:
        """Minutes its drippers run for so many litres, or the cans take."""
        if self.drip is not None:
            return litres / self.drip.litres_per_minute
        return self.cans(litres) * self.view.constant("time for a can").number

    def cans(self, litres: float) -> float:
        """Watering cans for so many litres."""
        return litres / self.view.garden.watering.can


@dataclass(frozen=True)
class GardenWatering:
    """Every tree's watering; ``unplanned`` are trees whose weather is not known."""

    today: date
    trees: dict[str, TreeWatering] = field(default_factory=dict)
    unplanned: tuple[str, ...] = ()
    budget: float | None = None

    @property
    def days(self) -> tuple[date, ...]:
        """The days looked ahead, today first."""
        return tuple(self.today + timedelta(days=ahead) for ahead in range(AHEAD))

    @property
    def litres(self) -> float:
        """Litres for the whole garden."""
        return sum(one.litres for one in self.trees.values())

    @property
    def denied(self) -> float:
        """Litres wanted and not there."""
        return sum(one.denied for one in self.trees.values())


def efficiency_of(view: View) -> float:
    """The grower's own figure, or that of drippers or of cans."""
    own = view.garden.watering.efficiency
    if own is not None:
        return own
    dripped = drip_of(view.tree, view.garden) is not None
    return view.constant("efficiency of drippers" if dripped else "irrigation efficiency").number


def _rule_of(view: View, day: date) -> NoWatering | None:
    """The rule that forbids watering a tree on a day, if any does."""
    pot = view.tree.pot is not None
    return next((rule for rule in view.garden.no_watering if rule.covers(day, pot=pot)), None)


def garden_watering(views: Sequence[View]) -> GardenWatering:
    """The watering of all these trees over the coming two weeks."""
    walks, unplanned = [], []
    for view in views:
        state = view.water
        if state is None:
            unplanned.append(view.tree.id)
        else:
            walks.append(_Walk(view, state))
    if not views:
        return GardenWatering(date.min)
    budget = views[0].garden.watering.most_a_week
    in_full = [0.0 if budget is None else walk.litres_in_full() for walk in walks]
    for begin in range(0, AHEAD, WEEK):
        days = range(begin, min(begin + WEEK, AHEAD))
        wanted = [walk.tried(days) for walk in walks]
        allowed = _shared(walks, wanted, budget)
        for walk, rounds, given in zip(walks, wanted, allowed, strict=True):
            walk.walk(days, given)
            walk.note_cuts(rounds, given)
    for walk, wish in zip(walks, in_full, strict=True):
        walk.note_denied(wish)
    found = {walk.view.tree.id: walk.result() for walk in walks}
    return GardenWatering(views[0].today, found, tuple(unplanned), budget)


def _shared(
    walks: Sequence[_Walk], wanted: Sequence[Sequence[Round]], budget: float | None
) -> list[list[Round]]:
    """The rounds of a week that the water suffices for, those first that bear thirst least."""
    if budget is None or sum(one.litres for some in wanted for one in some) <= budget:
        return [list(some) for some in wanted]
    queue = [
        (walk.rank, one.day, number, one)
        for number, (walk, some) in enumerate(zip(walks, wanted, strict=True))
        for one in some
    ]
    left = budget
    given: list[list[Round]] = [[] for _ in walks]
    for _, _, number, one in sorted(queue, key=lambda each: each[:3]):
        share = min(left / one.litres, 1.0) if one.litres else 1.0
        least = walks[number].view.constant("a part worth giving").number
        if share < 1 and share < least:
            continue
        part = replace(one, litres=one.litres * share, net=one.net * share)
        given[number].append(part)
        left -= part.litres
    return [sorted(some, key=lambda one: one.day) for some in given]


class _Walk:
    """One tree on its way through the coming days."""

    def __init__(self, view: View, state: WaterState) -> None:
        self.view, self.state = view, state
        self.phase = phase_on(view.species, view.cycle, view.book, view.today)
        self.rank = self._rank()
        self.now = state.morning
        self.rounds: list[Round] = []
        self.depletion: list[float] = []
        self.wait: Wait | None = None
        self.closed: tuple[date, NoWatering] | None = None
        self.denied = 0.0
        self.denied_on: date | None = None
        self.last_round: date | None = None
        given = view.tree.last_done("water", view.today)
        if given is not None and view.tree.pot is None:
            self.last_round = given.date
        self.pot = view.tree.pot is not None
        self.saving = view.garden.watering.save or view.garden.watering.most_a_week is not None
        self.net_share = self._net_share()
        self.frosts = _frosts(view)
        self.horizon = int(view.constant("days worth waiting").number)
        self.forecast = view.site.demand(
            state.days.start, view.today + timedelta(days=AHEAD), view.garden.watering.wind_height
        ).measured

    def _rank(self) -> int:
        view = self.view
        if view.tree.pot is not None:
            return FIRST.index("pot")
        if not self.phase.never_short:
            return FIRST.index("may go short")
        if self.phase.because is not None:
            return FIRST.index("never short now")
        young = 365.25 * view.years_here < view.constant("young tree").number
        return FIRST.index("young" if young else "at an ordinary time")

    def _net_share(self) -> float:
        """Litres that stay of each litre given: losses and what should drain are taken off."""
        view, kept = self.view, efficiency_of(self.view)
        salt = leaching(view.species, view.book, view.garden.site.irrigation_water_ec)
        share = 0.0 if salt is None else salt.share
        if self.pot:
            share = max(share, view.constant("leaching share").number)
        elif float(self.state.days.drainage[: self.state.today].sum()) > self.state.zone.total / 2:
            share = 0.0  # rain has washed the salts down
        return kept * (1 - share)

    # ------------------------------------------------------------------ a stretch of days

    def tried(self, days: range) -> list[Round]:
        """The rounds it would want on these days, if water were no matter; leaves the walk where it was."""
        kept = self.now, self.last_round, self.wait, self.closed
        found = []
        for ahead in days:
            one = self._wanted(ahead)
            if one is not None:
                found.append(one)
                self.last_round = one.day
            self._step(ahead, 0.0 if one is None else one.net)
        self.now, self.last_round, wait, closed = kept
        self.wait, self.closed = wait or self.wait, closed or self.closed
        return found

    def litres_in_full(self) -> float:
        """Litres of all its rounds if water were no matter; leaves the walk as it was."""
        kept = self.wait, self.closed
        found = self.tried(range(AHEAD))
        self.wait, self.closed = kept
        return sum(one.litres for one in found)

    def note_cuts(self, wanted: Sequence[Round], given: Sequence[Round]) -> None:
        """Keep the first day on which a round was cut or left out for want of water."""
        got = {one.day: one.litres for one in given}
        cut = [one.day for one in wanted if got.get(one.day, 0.0) < one.litres]
        if cut and self.denied_on is None:
            self.denied_on = min(cut)

    def note_denied(self, wish: float) -> None:
        """Keep how far its rounds fall short of what it would get if water were no matter."""
        if self.denied_on is not None:
            self.denied = max(wish - sum(one.litres for one in self.rounds), 0.0)

    def walk(self, days: range, rounds: Sequence[Round]) -> None:
        """Go through these days with these rounds."""
        by_day = {one.day: one for one in rounds}
        for ahead in days:
            one = by_day.get(self.view.today + timedelta(days=ahead))
            if one is not None:
                self.rounds.append(one)
                self.last_round = one.day
            self._step(ahead, 0.0 if one is None else one.net)
            self.depletion.append(self.now[0])

    def result(self) -> TreeWatering:
        """What the walk came to."""
        short = np.array([self.state.short_at(self.state.today + ahead) for ahead in range(AHEAD)])
        return TreeWatering(
            self.view, self.state, self.phase, self.rank, tuple(self.rounds), np.array(self.depletion), short,
            self.wait, self.denied, self.denied_on, self.closed,
        )  # fmt: skip

    def _step(self, ahead: int, gift: float) -> None:
        self.now = self.state.step(self.state.today + ahead, self.now, gift)[:3]

    # ------------------------------------------------------------------ one day

    def _wanted(self, ahead: int) -> Round | None:
        """The round of a day, or None where none is due, a rule forbids it or rain is worth waiting for."""
        day = self.view.today + timedelta(days=ahead)
        missing = self.now[0]
        level = self._level(ahead)
        rule = _rule_of(self.view, day)
        if rule is not None:
            if (
                missing + self.state.asked(self.state.today + ahead) >= level
                and self.closed is None
            ):
                self.closed = (day, rule)
            return None
        freeze = self._before_freeze(ahead, missing)
        if freeze is not None:
            return freeze
        if day in self.frosts or self._too_soon(day):
            return None
        open_again = next(
            (k for k in range(1, WEEK + 1) if _rule_of(self.view, day + timedelta(days=k)) is None),
            WEEK,
        )
        coming = range(ahead, min(ahead + open_again, AHEAD))
        asked = sum(self.state.asked(self.state.today + k) for k in coming)
        rain = sum(float(self.state.days.rain[self.state.today + k]) for k in coming)
        if missing + asked - rain < level or missing <= 0:
            return None
        if self._waits(ahead, missing):
            return None
        return self._round(
            day, ahead, missing, "rule" if open_again > 1 and missing < level else "short"
        )

    def _level(self, ahead: int) -> float:
        """What may be missing before it is watered [mm]: more where it may go short and water is saved."""
        short = self.state.short_at(self.state.today + ahead)
        if self.saving and not self.phase.never_short and not self.pot:
            total = self.state.zone.total
            return total - self.phase.share * (total - short)
        return short

    def _too_soon(self, day: date) -> bool:
        gap = timedelta(days=self.view.constant("days between rounds").number)
        return not self.pot and self.last_round is not None and day - self.last_round < gap

    def _before_freeze(self, ahead: int, missing: float) -> Round | None:
        """Dry soil is watered the day before the first freezing night, where leaves or a pot are at stake."""
        view, day = self.view, self.view.today + timedelta(days=ahead)
        first = day + timedelta(days=1) in self.frosts and day not in self.frosts
        if not first or not (view.species.keeps_leaves or self.pot):
            return None
        ready = self.state.short_at(self.state.today + ahead)
        if missing < view.constant("dry before a freeze").number * ready:
            return None
        most = view.constant("watering before a freeze").number * 1000
        return self._gift(day, missing if self.pot else min(missing, most), "freeze")

    def _waits(self, ahead: int, missing: float) -> bool:
        """Whether rain in the forecast is worth waiting for: it brings enough, and soon enough."""
        if self.pot:
            return False
        view, today = self.view, self.state.today
        most = view.constant("deepest watering").number * 1000
        enough = view.constant("rain worth waiting for").number * min(missing, most)
        ease = view.constant("ease while waiting").number
        state, fallen = self.now, 0.0
        for k in range(ahead, min(ahead + self.horizon + 1, AHEAD)):
            index = today + k
            if not self.forecast[index]:
                return False
            fallen += float(self.state.days.rain[index])
            done = self.state.step(index, state)
            if fallen >= enough:
                if self.wait is None:
                    self.wait = Wait(fallen, view.today + timedelta(days=k))
                return True
            if done.stress < ease:
                return False
            state = done[:3]
        return False

    def _round(self, day: date, ahead: int, missing: float, why: str) -> Round:
        """A round that fills what is missing, less the rain of the coming days, and no more than sinks in."""
        if self.pot:
            # A pot's diary is seldom whole: no more than it can lose before it is short is counted.
            ready = self.state.short_at(self.state.today + ahead)
            return self._gift(day, min(missing, ready), why)
        soon = range(ahead, min(ahead + self.horizon, AHEAD))
        rain = sum(
            float(self.state.days.rain[self.state.today + k])
            for k in soon
            if self.forecast[self.state.today + k]
        )
        wanted = max(missing - rain, 0.0)
        if self.saving and not self.phase.never_short:
            wanted = max(missing - self.state.short_at(self.state.today + ahead), wanted / 2)
        return self._gift(
            day, min(wanted, self.view.constant("deepest watering").number * 1000), why
        )

    def _gift(self, day: date, net: float, why: str) -> Round:
        litres = irrigation_for_tree(net, self.state.zone.area, 0.0, self.net_share)
        return Round(day, litres, net, why)


def _frosts(view: View) -> frozenset[date]:
    """The forecast days whose morning freezes at the tree."""
    series, limit = view.site.series, view.constant("freezing night").number
    if series is None:
        return frozenset()
    found = set()
    for ahead in range(AHEAD + 1):
        day = view.today + timedelta(days=ahead)
        if day in series and not series.filled[series.index(day)]:
            low = float(series.tmin[series.index(day)]) - view.site.colder.value
            if low <= limit:
                found.add(day)
    return frozenset(found)
