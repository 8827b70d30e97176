"""What each day is worth for a cut of one tree: every reason a factor, from the cycle and its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Window
from bearwell.plan.frost import hurt_chance
from bearwell.plan.view import View
from bearwell.said import said
from bearwell.science.dayscore import chance_passed, worth
from bearwell.season.cycle import Stage
from bearwell.season.site import Floats

BACK, AHEAD = 60, 540  # days that are scored, before and after today

# What each factor says, in the order they are shown.
FACTOR_WORDS = {
    "crop": said("the crop is off"),
    "bloom": said("clear of bloom, with time to recover"),
    "bare": said("bare of leaves"),
    "late winter": said("late in winter rather than early"),
    "in leaf": said("in leaf, with time for wounds to close"),
    "frost": said("new shoots harden before frost"),
    "dry": said("dry enough for wounds"),
    "heat": said("not so hot that bared bark burns"),
}


@dataclass(frozen=True)
class DayScores:
    """Every scored day with its factors and their product."""

    first: date
    factors: dict[str, Floats]
    score: Floats
    closed: Floats

    def index(self, day: date) -> int:
        """The place of a day, held at the ends."""
        return min(max((day - self.first).days, 0), len(self.score) - 1)

    def at(self, day: date) -> float:
        """The score of a day."""
        return float(self.score[self.index(day)])

    def day(self, index: int) -> date:
        """The day at a place."""
        return self.first + timedelta(days=index)

    def best_in(self, window: Window) -> date:
        """The best day of a window, the first of equals."""
        begin, end = self.index(window.earliest), self.index(window.latest)
        return self.day(begin + int(np.argmax(np.round(self.score[begin : end + 1], 3))))

    def nearest(self, window: Window, least: float) -> date:
        """The day of a window nearest its best with at least a score; its highest where none has it."""
        begin, end = self.index(window.earliest), self.index(window.latest)
        good = np.flatnonzero(self.score[begin : end + 1] >= least) + begin
        if not len(good):
            return self.best_in(window)
        usual = self.index(window.best)
        return self.day(int(good[np.argmin(np.abs(good - usual))]))

    def of_window(self, window: Window) -> Floats:
        """The scores of the days of a window."""
        days = range((window.latest - window.earliest).days + 1)
        return np.array([self.at(window.earliest + timedelta(days=step)) for step in days])

    def least_factor(self, day: date) -> tuple[str, float]:
        """The reason that speaks most against a day, and its factor."""
        at = self.index(day)
        name = min(self.factors, key=lambda one: float(self.factors[one][at]))
        return name, float(self.factors[name][at])

    def chance_closed(self, day: date) -> float:
        """Chance that the window has closed by a day, bloom being early."""
        return float(self.closed[self.index(day)])


def day_scores(view: View, *, light: bool = False) -> DayScores:
    """The score of every day for the main cut of this tree, or for a light one."""
    first = view.today - timedelta(days=BACK)
    days = np.arange(BACK + AHEAD + 1, dtype=np.float64)
    factors: dict[str, Floats] = {}
    season = view.species["prune_season"].text
    sheds = not view.species.keeps_leaves
    if season == "when bare" and not sheds:
        factors["crop"] = _load_factor(view, first, days)
    elif not (sheds and season != "summer only"):
        worst = "light cut under the crop" if light else "worth of a day before picking"
        factors["crop"] = worth(_crop_off(view, first, days), view.constant(worst).number)
    closed = _closing(view, first, days, light=light)
    if season != "summer only" and view.species["prune_recovery"].number > 0:
        factors["bloom"] = worth(1.0 - closed, view.constant("worth of a day in bloom").number)
    else:
        closed = np.zeros(len(days))  # bloom does not end such a window
    if sheds and season != "summer only":
        bare, late = _bare(view, first, days)
        factors["bare"] = worth(bare, view.constant("worth of a day in leaf").number)
        factors["late winter"] = worth(late, view.constant("worth of early winter").number)
    elif season == "summer only":
        leafy = _leafy(view, first, days)
        factors["in leaf"] = worth(leafy, view.constant("worth of a day out of leaf").number)
    if not sheds:
        frost = _frost_free(view, first, days)
        if frost is not None:
            allowed = view.garden.pruning.late_rounds == "after harvest"
            least = 1.0 if allowed else view.constant("worth of a day before frost").number
            factors["frost"] = worth(frost, least)
    factors |= _sky(view, first, days)
    score = np.ones(len(days))
    for one in factors.values():
        score = score * one
    return DayScores(first, factors, score, closed)


def _since(stage: Stage, first: date, days: Floats, moved: float = 0.0) -> Floats:
    """Chance, day by day, that a stage moved by some days has come."""
    return chance_passed(days - (stage.date - first).days - moved, stage.spread)


def _crop_off(view: View, first: date, days: Floats) -> Floats:
    """Chance that no crop of a first wave hangs, from first flowers to the end of picking.

    A crop that hangs on past the next bloom counts from the end of that bloom: such a tree is never bare.
    """
    free = np.ones(len(days))
    for end in view.cycle.every("harvest end"):
        bloom = view.cycle.of("bloom start", end.season) or view.cycle.of("full bloom", end.season)
        if end.wave > 1 or bloom is None or not _bears(view, end.date):
            continue
        following = _a_year_later(view, "bloom end", end.season)
        if following is not None and following.date < end.date:
            bloom = following
        hangs = _since(bloom, first, days) * (1.0 - _since(end, first, days))
        free = free * (1.0 - hangs)
    return free


def _a_year_later(view: View, event: str, season: int) -> Stage | None:
    """A stage of the next season; beyond the seasons known, this one's, a year on."""
    found, own = view.cycle.of(event, season + 1), view.cycle.of(event, season)
    if found is not None or own is None:
        return found
    return replace(own, season=season + 1, date=own.date + timedelta(days=365))


def _stage_of(view: View, event: str, season: int) -> Stage | None:
    """A stage of a season; of the first beyond those known, the last known one's, a year on."""
    return view.cycle.of(event, season) or _a_year_later(view, event, season - 1)


def _bears(view: View, day: date) -> bool:
    return view.tree.years_here(day) >= view.species["fruitless_years"].number


def _closing(view: View, first: date, days: Floats, *, light: bool) -> Floats:
    """Chance that a day lies between bloom less the recovery and the end of bloom."""
    recovery = (
        view.constant("buds about to open").number
        if light
        else max(
            view.species["prune_recovery"].number, view.constant("least rest before bloom").number
        )
    )
    if not view.species.keeps_leaves:
        recovery = view.constant("done before buds wake").number
    closed = np.zeros(len(days))
    starts = view.cycle.every("bloom start")
    if starts:
        later = _a_year_later(view, "bloom start", starts[-1].season)
        starts += [] if later is None else [later]
    for start in starts:
        end, wakes = (_stage_of(view, event, start.season) for event in ("bloom end", "leaf out"))
        if end is None:
            continue
        opens = min((start, wakes), key=lambda one: one.date) if wakes else start
        inside = _since(opens, first, days, -recovery) * (1.0 - _since(end, first, days))
        closed = np.maximum(closed, inside)
    return closed


def _bare(view: View, first: date, days: Floats) -> tuple[Floats, Floats]:
    """Chance that the tree is bare, and how far its bare time has gone towards the best days."""
    bare, late = np.zeros(len(days)), np.zeros(len(days))
    best = view.constant("best before buds wake").number
    for fall in view.cycle.every_stage:
        if fall.event != "leaf fall":
            continue
        wakes = [one for one in view.cycle.every("leaf out") if one.date > fall.date]
        if not wakes:
            continue
        out = min(wakes, key=lambda one: one.date)
        inside = _since(fall, first, days) * (1.0 - _since(out, first, days))
        bare = np.maximum(bare, inside)
        begin, end = (fall.date - first).days, (out.date - first).days - best
        late = np.maximum(late, inside * np.clip((days - begin) / max(end - begin, 1.0), 0.0, 1.0))
    return bare, late


def _leafy(view: View, first: date, days: Floats) -> Floats:
    """Chance that it is in leaf with the weeks that a wound needs still ahead."""
    before = view.constant("summer cut before leaf fall").number
    leafy = np.zeros(len(days))
    for out in view.cycle.every("leaf out"):
        fall = view.cycle.of("leaf fall", out.season)
        if fall is not None:
            open_still = 1.0 - _since(fall, first, days, -before)
            leafy = np.maximum(leafy, _since(out, first, days) * open_still)
    return leafy


def _frost_free(view: View, first: date, days: Floats) -> Floats | None:
    """Chance that no hurtful night comes in the weeks that new shoots need."""
    hurt = hurt_chance(view, first, len(days))
    return None if hurt is None else np.asarray(1.0 - hurt)


def _sky(view: View, first: date, days: Floats) -> dict[str, Floats]:
    """Factors of usual warmth, and of usual rain for kinds that take disease through wet wounds."""
    climate = view.site.climate
    if climate is None:
        return {}
    dates = np.datetime64(first) + days.astype(np.int64)
    number = (dates - dates.astype("datetime64[Y]")).astype(np.int64) + 1  # day of the year
    found: dict[str, Floats] = {}
    if view.species.get("wound_disease") is not None and np.isfinite(climate.rain).all():
        fact = view.constant("wet weeks")
        middle, wet = (float(np.quantile(climate.rain, at)) for at in (0.5, fact.number))
        rain = np.asarray(climate.rain)[number - 1]
        dry = np.clip((wet - rain) / max(wet - middle, 1e-9), 0.0, 1.0)
        found["dry"] = worth(dry, view.constant("worth of a wet day").number)
    warm = view.constant("sunburn warmth")
    high = np.asarray(climate.tmax)[number - 1]
    if np.isfinite(high).all():
        cool = np.clip((warm.most - high) / (warm.most - warm.least), 0.0, 1.0)
        found["heat"] = worth(cool, view.constant("worth of a hot day").number)
    return found


def fruit_load(view: View, days: list[date]) -> Floats:
    """Fruit an ever-bearing tree carries on each day, a full first wave being one."""
    load = np.zeros(len(days))
    begins = timedelta(days=round(view.constant("fruit begins to weigh").number))
    later = view.constant("load of a later wave").number
    for bloom in view.cycle.every("full bloom"):
        end = view.cycle.of("harvest end", bloom.season, bloom.wave)
        start = view.cycle.of("harvest start", bloom.season, bloom.wave)
        if end is None or start is None:
            continue
        weight = 1.0 if bloom.wave == 1 else later
        for index, day in enumerate(days):
            if bloom.date + begins <= day <= end.date:
                picking = max(1, (end.date - start.date).days)
                left = 1.0 if day < start.date else 1 - (day - start.date).days / picking
                load[index] += weight * left
    return load


def _load_factor(view: View, first: date, days: Floats) -> Floats:
    """How bare an ever-bearing tree is, from its fullest day to its barest."""
    dates = [first + timedelta(days=int(n)) for n in days]
    load = fruit_load(view, dates)
    span = float(load.max() - load.min())
    return np.ones(len(days)) if span == 0 else np.asarray(1.0 - (load - load.min()) / span)
