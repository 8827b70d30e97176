"""Whether a tree bears evenly, what this crop does to the next, and ten years three ways."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache, cached_property
from itertools import groupby, permutations
from math import hypot
from typing import Any
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from bearwell.garden import Harvest, missing_years
from bearwell.plan.habit import EIGHT_OF_TEN, Habit, habit_of, swings_back, why_habit, why_last_crop
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.science.alternation import (
    Strength,
    crops_under_policy,
    return_crop,
    strength_of_intensity,
    strength_of_records,
)
from bearwell.science.bearing import (
    EXACT_YEARS,
    bearing_intensity,
    bienniality,
    detrended_chance_share,
    detrended_intensity,
)
from bearwell.science.cropload import young_tree_share
from bearwell.science.fruitsize import load_of_crop_mass
from bearwell.season.cycle import Stage

Floats = NDArray[np.float64]
SHUFFLES = 4000
LEAST_SHARE = 0.1  # of a full crop, below which a young tree's year says nothing of its even crop
POLICIES = ("keep all", "plan", "strip")
QUANTILES = (0.1, 0.25, 0.5, 0.75, 0.9)
SETTLES = 8  # years after which it does not matter that a tree was begun even
FEWEST = 3  # years in a row without which no swing can be told


@dataclass(frozen=True)
class Swing:
    """How a run of yields swings: the indices, what chance would give, and the verdict in words."""

    intensity: float
    bienniality: float
    by_chance: float
    detrended: float
    p_value: float
    verdict: str


@cache
def _orders(years: int) -> NDArray[np.int64]:
    """Orders of the years to hold a record against: every one of up to seven, else seeded shuffles."""
    if years <= EXACT_YEARS:
        return np.array(list(permutations(range(years))), dtype=np.int64)
    rng = np.random.default_rng(years)
    return np.array([rng.permutation(years) for _ in range(SHUFFLES)], dtype=np.int64)


def swing_of(yields: list[float]) -> Swing:
    """The swing of three yields or more, oldest first, not all zero.

    A year that is missing is NaN: the pairs of years round it do not count, and the other years are
    shuffled among the years that are known. Three in a row have to be.
    """
    values = np.array(yields)
    known = np.flatnonzero(np.isfinite(values))
    orders = _orders(known.size)
    crops = np.full((len(orders), values.size), np.nan)
    crops[:, known] = values[known][orders]
    both = crops[:, 1:] + crops[:, :-1]
    change = np.abs(np.diff(crops, axis=1))
    pairs = np.isfinite(both[0])
    shares = np.divide(change, both, out=np.zeros_like(change), where=both > 0)[:, pairs]
    by_chance = float(shares.mean())
    if known.size == values.size:
        intensity, turns = float(bearing_intensity(values)), float(bienniality(values))
        detrended = float(detrended_intensity(values))
        p_value = float(detrended_chance_share(values, orders))
    else:
        intensity, turns, detrended, p_value = _with_gaps(values, crops, pairs)
    if p_value <= 0.05 and intensity > by_chance:
        verdict = "alternates: more than the same yields in any order would"
    elif p_value <= 0.2 and intensity > by_chance:
        verdict = "may alternate; not yet beyond doubt"
    elif known.size < 6 and intensity > by_chance:
        verdict = "swings, but the record is too short to tell it from chance"
    else:
        verdict = "no sign of alternation beyond chance"
    return Swing(
        intensity,
        turns,
        by_chance,
        detrended,
        p_value,
        verdict,
    )


def _with_gaps(values: Floats, crops: Floats, pairs: NDArray[np.bool_]) -> tuple[float, ...]:
    """The same figures where years are missing, from the pairs and turns that no gap breaks."""
    runs = [run for run in _runs(values) if run.size > 1]
    swings = sum(bearing_intensity(run) * (run.size - 1) for run in runs)
    turned = [(bienniality(run), run.size - 2) for run in runs if run.size >= FEWEST]
    known = np.isfinite(values)
    year = np.arange(values.size) - np.flatnonzero(known).mean()
    slope = (crops[:, known] @ year[known]) / np.sum(year[known] ** 2)  # least squares
    change = np.abs(np.diff(crops - slope[:, None] * year, axis=1))[:, pairs].mean(axis=1)
    line = float(np.polyfit(year[known], values[known], 1)[0])
    true = float(np.abs(np.diff(values - line * year))[pairs].mean())
    mean = float(values[known].mean())
    return (
        swings / sum(run.size - 1 for run in runs),
        sum(share * weight for share, weight in turned) / sum(weight for _, weight in turned),
        true / mean / 2.0,
        float(np.mean(change >= true - 1e-9 * float(values[known].max()))),
    )


def _runs(values: Floats) -> list[Floats]:
    """The runs of years that no gap breaks."""
    gaps = np.flatnonzero(~np.isfinite(values))
    return [part[np.isfinite(part)] for part in np.split(values, gaps)]


def longest_run(yields: list[float]) -> int:
    """Years in the longest run that no gap breaks."""
    return max((run.size for run in _runs(np.array(yields))), default=0)


def latest_run(harvests: tuple[Harvest, ...]) -> list[Harvest]:
    """The crops of the last unbroken run of years, oldest first."""
    ordered = sorted(harvests, key=lambda one: one.year)
    runs = [
        [one for _, one in group]
        for _, group in groupby(enumerate(ordered), key=lambda pair: pair[1].year - pair[0])
    ]
    return runs[-1] if runs else []


def crop_share(view: View, year: int) -> float:
    """The share of a full crop that the tree's years allow in a year, 0 to 1."""
    species = view.species
    years = max(view.tree.years_here(date(year, 1, 1)), 0.0) + 1.0
    return float(
        young_tree_share(
            years, species["fruitless_years"].number, species["full_bearing_years"].number + 1.0
        )
    )


def year_share(view: View, year: int, grows: bool | None = None) -> float:
    """The share of its own full-grown even crop that the tree bears evenly in a year.

    The share its years allow, unless its records fit a tree that has stopped growing better; ``grows``
    says which, where that is known already.
    """
    share = crop_share(view, year)
    if share <= 0:
        return 0.0
    still = _still_grows(view) if grows is None else grows
    return max(share, LEAST_SHARE) if still else 1.0


def _still_grows(view: View) -> bool:
    """Whether its records are at least as even against the growth of its kind as they are as they stand."""
    told = [
        (one.mass, share)
        for one in view.tree.harvests
        if (share := crop_share(view, one.year)) >= LEAST_SHARE
    ]
    if len(told) <= FEWEST:
        return True
    mass, shares = np.array(told).T

    def scatter(crops: Floats) -> float:
        return float(np.std(crops)) / max(float(np.mean(crops)), 1e-9)

    return scatter(mass / shares) <= scatter(mass)


@dataclass(frozen=True)
class Forecast:
    """A crop to come as a distribution: number of fruit relative to an even crop."""

    draws: Floats

    def mass(self, even: float) -> Quantity:
        """The crop [g] when an even one is ``even``: its middle with eight years of ten."""
        low, middle, high = np.quantile(self.draws, (0.1, 0.5, 0.9))
        return Quantity(even * float(middle), "g", even * float(low), even * float(high))

    @property
    def heavy(self) -> float:
        """Chance of more than an even crop."""
        return float(np.mean(self.draws > 1.0))


@dataclass(frozen=True)
class Outlook:
    """A tree's bearing: what its records say and what is to come.

    ``even`` is a full-grown even crop [g], ``loads`` its years relative to it by number. ``hanging`` is the
    crop that hangs or comes next, in ``year``.
    """

    view: View
    even: float
    loads: dict[int, float]
    habit: Habit
    strength: Strength
    prior: float
    year: int
    hanging: Floats
    basis: str
    because: tuple[Because, ...]

    # ------------------------------------------------------------------ what was

    @cached_property
    def swing(self) -> Swing | None:
        """How its last unbroken run of years swings; nothing where it is too short or bore nothing."""
        run = [one.mass for one in latest_run(self.view.tree.harvests)]
        return swing_of(run) if len(run) >= FEWEST and any(run) else None

    @property
    def missing(self) -> tuple[int, ...]:
        """Years between its records that nobody wrote down."""
        return missing_years(self.view.tree.harvests)

    def state(self, load: float) -> str:
        """on, off or even."""
        if load >= self.view.constant("on year").number:
            return "on"
        return "off" if load <= self.view.constant("off year").number else "even"

    @property
    def last(self) -> tuple[int, float, str] | None:
        """The last crop on record: its year, its load and its state."""
        if not self.loads:
            return None
        year = max(self.loads)
        return year, self.loads[year], self.state(self.loads[year])

    def halves(self) -> dict[str, tuple[int, str]]:
        """The last state of each half of the tree that was picked or counted apart: year and state."""
        found: dict[str, tuple[int, str]] = {}
        for harvest in sorted(self.view.tree.harvests, key=lambda one: one.year):
            if harvest.halves:
                even = self.even * max(year_share(self.view, harvest.year), LEAST_SHARE) / 2
                for side, mass in harvest.halves.items():
                    found[side] = (harvest.year, self.state(self._number(mass / even)))
        return found

    # ------------------------------------------------------------------ what comes

    def even_in(self, year: int) -> float:
        """An even crop of a year [g], with the growth of a young tree."""
        return self.even * year_share(self.view, year)

    def _number(self, relative: float) -> float:
        return load_of_crop_mass(relative, self.view.constant("size elasticity").number)

    def mass_of(self, load: Floats) -> Floats:
        """Crop relative to an even one by mass, from its number relative to an even one."""
        elasticity = self.view.constant("size elasticity").number
        most = self.view.constant("most a light crop enlarges").number
        with np.errstate(divide="ignore"):
            size = np.minimum(np.where(load > 0, load, 1e-9) ** -elasticity, most)
        return np.asarray(load * size)

    @cached_property
    def expected(self) -> Forecast:
        """The crop that hangs or comes next, by mass, with all of it kept."""
        return Forecast(self.mass_of(self.hanging))

    @property
    def next_state(self) -> str:
        """The state to expect of the crop that hangs or comes next."""
        return self.state(float(np.median(self.hanging)))

    def after(self, keep_at: float) -> dict[str, Forecast]:
        """The crop of the year after, by mass, under each way to treat this one."""
        noise = self.view.constant("weather scatter of crops").number
        rng = self._rng(2)
        weather = np.exp(noise * rng.standard_normal(self.hanging.size) - noise**2 / 2)
        swing, most = self._swings(), self.view.constant("bloom after no crop").number
        kept = {
            "keep all": self.hanging,
            "plan": np.minimum(self.hanging, keep_at),
            "strip": np.zeros_like(self.hanging),
        }
        return {
            name: Forecast(self.mass_of(return_crop(load, swing, most) * weather))
            for name, load in kept.items()
        }

    def years_ahead(self, keep_at: float) -> LongView:
        """Ten years under each way to treat the tree; costs some milliseconds."""
        count = round(self.view.constant("years looked ahead").number)
        noise = self.view.constant("weather scatter of crops").number
        most = self.view.constant("bloom after no crop").number
        shocks = self._rng(3).standard_normal((self.hanging.size, count - 1))
        years = tuple(range(self.year, self.year + count))
        even = np.array([self.even_in(year) for year in years])
        found: dict[str, Future] = {}
        # What is not known of its even crop shifts all the years of a future together.
        weight = self.view.constant("crops a table counts for").number + len(self.loads)
        one_crop = noise * (1 - self.view.constant("size elasticity").number)
        doubt = np.exp(
            one_crop / weight**0.5 * self._rng(4).standard_normal((self.hanging.size, 1))
        )
        thinned = self.view.constant("scatter of a thinned crop").number
        landing = np.exp(thinned * self._rng(5).standard_normal((self.hanging.size, count)))
        for policy in POLICIES:
            kept = crops_under_policy(
                self.hanging / keep_at, self._swings(), most, noise, shocks, policy
            )
            mass = self.mass_of(kept * keep_at) * even * doubt
            if policy == "plan":
                mass = (
                    mass * landing
                )  # a count, a thinning and a year's fruit size are none of them exact
            found[policy] = _future(mass)
        return LongView(years, even, found)

    def _rng(self, what: int) -> np.random.Generator:
        return np.random.default_rng([crc32(self.view.tree.id.encode()), what])

    def _swings(self) -> Floats:
        """The tree's swing back as it may be, one for each future."""
        return swings_back(self.view, self.habit, self._rng(1), self.hanging.size)


@dataclass(frozen=True)
class Future:
    """Years under one way to treat a tree: quantiles by year [g], the sum, and how it swings."""

    quantiles: Floats
    mean: Floats
    total: Quantity
    intensity: float
    empty: float


@dataclass(frozen=True)
class LongView:
    """The years ahead under each way to treat a tree."""

    years: tuple[int, ...]
    even: Floats
    policies: dict[str, Future]


def _future(mass: Floats) -> Future:
    change, both = np.abs(np.diff(mass, axis=1)), mass[:, 1:] + mass[:, :-1]
    swing = np.divide(change, both, out=np.zeros_like(change), where=both > 0)
    low, middle, high = np.quantile(mass.sum(axis=1), (0.1, 0.5, 0.9))
    return Future(
        np.quantile(mass, QUANTILES, axis=0),
        mass.mean(axis=0),
        Quantity(float(middle), "g", float(low), float(high)),
        float(swing.mean()),
        float(np.mean(mass <= 0.25 * np.median(mass, axis=1, keepdims=True))),
    )


# ---------------------------------------------------------------------- building it


def current_crop(view: View) -> tuple[Stage | None, int]:
    """The bloom of the crop that hangs, or of the next one when none does, and its harvest year."""
    picked = {one.year for one in view.tree.harvests}
    for bloom in view.cycle.every("full bloom"):
        start = view.cycle.of("harvest start", bloom.season)
        end = view.cycle.of("harvest end", bloom.season)
        if bloom.wave != 1 or start is None or end is None or end.date < view.today:
            continue
        year = middle_of_picking(start, end).year
        if year not in picked:
            return bloom, year
    return None, view.today.year + 1


def middle_of_picking(start: Stage, end: Stage) -> date:
    """The middle day between the first and the last of a picking; its year is the one a crop counts for."""
    return start.date + (end.date - start.date) / 2


def even_crop(view: View, grown: float) -> float:
    """A full-grown even crop of the tree [g].

    Its records over the share its years allow, with one more crop's worth of what the rules let it carry.
    """
    weight = view.constant("crops a table counts for").number
    grows = _still_grows(view)
    shares = [year_share(view, one.year, grows) for one in view.tree.harvests]
    told = [
        (one.mass, share)
        for one, share in zip(view.tree.harvests, shares, strict=True)
        if share >= LEAST_SHARE
    ]
    return (weight * grown + sum(mass / share for mass, share in told)) / (weight + len(told))


def outlook_of(view: View, grown: float, count: tuple[float, float] | None = None) -> Outlook:
    """The outlook of a tree.

    ``grown`` is what the rules let it carry full-grown [g]; ``count`` is the number of fruit that hangs
    with its standard error, where it was counted.
    """
    even = even_crop(view, grown)
    loads = _loads(view, even)
    strength, prior, why = _strength(view, loads)
    year = current_crop(view)[1]
    draws = round(view.constant("futures tried").number)
    rng = np.random.default_rng([crc32(view.tree.id.encode()), 0])
    habit = habit_of(view, loads)
    swings = swings_back(view, habit, rng, draws)
    hanging, basis, link = _hanging(view, even, loads, year, count, swings, rng)
    return Outlook(
        view,
        even,
        loads,
        habit,
        strength,
        prior,
        year,
        hanging,
        basis,
        (*why, why_habit(habit), *_why_even(view, even), link),
    )


def _loads(view: View, even: float) -> dict[int, float]:
    """Each recorded crop by number, relative to an even one of its year."""
    elasticity = view.constant("size elasticity").number
    found, grows = {}, _still_grows(view)
    for one in sorted(view.tree.harvests, key=lambda one: one.year):
        share = year_share(view, one.year, grows)
        if share >= LEAST_SHARE:
            found[one.year] = load_of_crop_mass(one.mass / (even * share), elasticity)
    return found


def _strength(view: View, loads: dict[int, float]) -> tuple[Strength, float, tuple[Because, ...]]:
    scatter = view.constant("weather scatter of crops")
    fact, elasticity = view.species["alternation"], view.constant("size elasticity").number
    usual, low, high = (
        strength_of_intensity(min(one / (1 - elasticity), 1.0), scatter.number)
        for one in (fact.number, fact.least, fact.most)
    )
    between = hypot((high - low) / EIGHT_OF_TEN, view.constant("trees of a kind differ").number)
    run = range(min(loads), max(loads) + 1) if loads else range(0)
    series = np.array([loads.get(year, np.nan) for year in run])
    noise = scatter.number
    found = (
        strength_of_records(series, usual, between, noise)
        if len(run) > 1
        else Strength(usual, between, 0.0)
    )
    kind = from_fact(
        "{kind} swings by about {value} between neighbouring years, which makes the year after an excess fall "
        "short by {share} of it",
        fact,
        kind=view.species.name,
        share=amount(usual, "1"),
    )
    if found.weight == 0.0:
        few = recorded(
            "Of its own years one crop is written down, so its kind speaks for it"
            if len(loads) == 1
            else "Of its own years no two crops in a row are written down, so its kind speaks for it"
        )
        return (found, usual, (kind, few))
    own = recorded(
        "Its own years weigh {weight} of the answer: it falls short by {share}",
        found.strength,
        "1",
        weight=amount(found.weight, "1"),
        share=amount(found.strength, "1"),
    )
    return found, usual, (kind, own)


def _why_even(view: View, even: float) -> tuple[Because, ...]:
    told = len(view.tree.harvests)
    missing = missing_years(view.tree.harvests)
    links = [
        computed(
            "An even crop of the grown tree is put at {even}, from {count} of its own crops and the rules"
            if told
            else "An even crop of the grown tree is put at {even}, by the rules alone",
            even,
            "g",
            even=amount(even, "g"),
            count=told,
        )
    ]
    if missing:
        years = ", ".join(str(year) for year in missing)
        links.append(
            recorded(
                "{years} are not written down; the pairs of years round a gap are left out"
                if len(missing) > 1
                else "{years} is not written down; the pairs of years round a gap are left out",
                years=years,
            )
        )
    return tuple(links)


def _hanging(
    view: View,
    even: float,
    loads: dict[int, float],
    year: int,
    count: tuple[float, float] | None,
    swings: Floats,
    rng: np.random.Generator,
) -> tuple[Floats, str, Because]:
    """The crop that hangs or comes next by number relative to an even one, one for each future."""
    noise = view.constant("weather scatter of crops").number
    if count is not None:
        fruit, error = count
        whole = max(even * year_share(view, year) / view.species["fruit_mass"].number, 1.0)
        spread = min(error / fruit, 1.0) if fruit else 0.0
        drawn = np.exp(spread * rng.standard_normal(swings.size) - spread**2 / 2)
        unseen = np.abs(error * rng.standard_normal(swings.size)) if fruit == 0 else 0.0
        why = recorded(
            "{fruit} fruit hang by your count; an even crop is about {even}",
            fruit=round(fruit),
            even=round(whole),
        )
        return (fruit * drawn + unseen) / whole, "count", why
    past = {key: load for key, load in loads.items() if key < year}
    if not past:
        most = view.constant("bloom after no crop").number
        any_year: Floats = np.ones(swings.size)
        for _ in range(SETTLES):
            weather = np.exp(noise * rng.standard_normal(swings.size) - noise**2 / 2)
            any_year = return_crop(any_year, swings, most) * weather
        return (
            any_year,
            "kind",
            computed("No crop of its own says whether this is an on or an off year"),
        )
    last = max(past)
    most = view.constant("bloom after no crop").number
    # A bumper crop counts as a full one: beyond that it costs the next no more.
    load: Floats = np.full(swings.size, min(past[last], most))
    for _ in range(year - last):
        weather = np.exp(noise * rng.standard_normal(swings.size) - noise**2 / 2)
        load = return_crop(load, swings, most) * weather
    return load, "last crop", why_last_crop(last, past[last], year - last - 1)


def outlook_detail(outlook: Outlook) -> dict[str, Any]:
    """The outlook in plain figures, for details and JSON."""
    last = outlook.last
    swing = outlook.swing
    return {
        "even_crop_g": round(outlook.even_in(outlook.year)),
        "swing_back": round(outlook.strength.strength, 3),
        "swing": round(outlook.habit.swing, 3),
        "own_weight": round(outlook.strength.weight, 3),
        "last_year": None if last is None else last[0],
        "last_state": None if last is None else last[2],
        "year": outlook.year,
        "state": outlook.next_state,
        "intensity": None if swing is None else round(swing.intensity, 4),
        "p_value": None if swing is None else round(swing.p_value, 4),
        "verdict": "too few years in a row" if swing is None else swing.verdict,
    }
