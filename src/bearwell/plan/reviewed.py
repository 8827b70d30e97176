"""The accounts of a past span of one tree: nitrogen, dates, crop, water, cold and minutes of work.

Each sets what was forecast or advised beside what was recorded. What was not recorded is left open, as None
or by a count of what is missing, and never taken for nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist
from typing import Final

import numpy as np

from bearwell.garden import Harvest, Product
from bearwell.garden.model import Observed
from bearwell.plan.aftermath import warmest_that_hurts
from bearwell.plan.bearing import middle_of_picking
from bearwell.plan.fit import place_lift
from bearwell.plan.lookback import Act, Line
from bearwell.plan.morning import CropForecast, Morning
from bearwell.plan.view import View
from bearwell.plan.worklist import minutes_of
from bearwell.quantities import Quantity
from bearwell.season.cold import Limit, cold_limits, said_colder
from bearwell.season.cycle import STANDARD_INTERVAL, Stage

# A forecast made fewer days before the event is no forecast. Ours, no source.
LEAD: Final = timedelta(days=14)
# A date further from a forecast is of another season. Ours, no source.
_OF_ONE_SEASON: Final = timedelta(days=120)
# Days before a night on which a protection was for it, and after it on which a look may tell of harm. Ours.
_BEFORE: Final = timedelta(days=2)
_AFTER: Final = timedelta(days=60)


@dataclass(frozen=True)
class NitrogenLook:
    """Nitrogen of a span [g]: the year's need, what rounds advised, and what is written down as given.

    ``advised`` has the range of its rounds, and like ``given`` is what labels print; ``counted`` is what of
    it the need counts: all where it goes ``by_label``, else what comes free within a year. ``unweighed``
    feedings name no product or amount and count nothing, so that with any of them ``given`` is a least.
    ``beside`` of it was given unasked.
    """

    need: Quantity
    by_label: bool
    advised: Quantity
    given: float
    counted: float
    feedings: int
    unweighed: int
    beside: float

    @property
    def short(self) -> float:
        """How far what is written down falls below the range of what was advised [g]."""
        return max((self.advised.low or 0.0) - self.given, 0.0)

    @property
    def over(self) -> float:
        """How far it passes that range [g]."""
        return max(self.given - (self.advised.high or 0.0), 0.0)


def nitrogen_look(
    morning: Morning, lines: Sequence[Line], unasked: Sequence[Act], products: Mapping[str, Product]
) -> NitrogenLook:
    """The nitrogen of a span, from its feeding rounds and every record of feeding.

    A round that was asked again counts once, and one that is still open not yet.
    """
    rounds = [
        one
        for line in lines
        if not line.repeat
        and line.verdict != "still-open"
        and (one := line.advised_nitrogen) is not None
    ]
    asked = [act for line in lines for act in line.acts if act.job == "feed"]
    beside = [act for act in unasked if act.job == "feed"]
    value, low, high = (sum(one[at] for one in rounds) for at in range(3))
    return NitrogenLook(
        morning.need,
        morning.by_label,
        Quantity(value, "g", low, high),
        sum(act.nitrogen or 0.0 for act in (*asked, *beside)),
        sum(_counted(act, morning, products) for act in (*asked, *beside)),
        len(asked) + len(beside),
        sum(act.nitrogen is None for act in (*asked, *beside)),
        sum(act.nitrogen or 0.0 for act in beside),
    )


def _counted(act: Act, morning: Morning, products: Mapping[str, Product]) -> float:
    """What of a feeding's nitrogen the need counts [g]; nothing where an amount is missing."""
    if act.nitrogen is None:
        return 0.0
    total = 0.0
    for row in act.rows:
        product = products.get(row.product or "")
        if product is not None and row.amount is not None:
            share = morning.counts.get(product.id, 1.0)
            total += row.amount * product.grade[0] / 100 * share
    return total


# ---------------------------------------------------------------- dates


@dataclass(frozen=True)
class DateLook:
    """A stage as it was forecast and as it was seen."""

    event: str
    season: int
    wave: int
    told: date
    forecast: date
    low: date
    high: date
    seen: date
    basis: str

    @property
    def off(self) -> int:
        """Days by which it came later than forecast, negative earlier."""
        return (self.seen - self.forecast).days

    @property
    def within(self) -> bool:
        """Whether it lay in the range that is to hold eight in ten."""
        return self.low <= self.seen <= self.high


def date_looks(
    told: Morning, seen_on: Sequence[Observed], since: date, until: date
) -> list[DateLook]:
    """Every stage seen between two days that was forecast a fortnight or more before, by season and event."""
    forecasts = [one for one in told.stages if not one.seen and one.date >= told.day]
    found: dict[tuple[str, int, int], DateLook] = {}
    for seen in sorted(seen_on, key=lambda one: one.date):
        if not (since <= seen.date <= until and seen.date >= told.day + LEAD):
            continue
        near = [
            (abs(one.date - seen.date), one)
            for one in forecasts
            if one.event == seen.event and abs(one.date - seen.date) <= _OF_ONE_SEASON
        ]
        if not near:
            continue
        one = min(near, key=lambda each: each[0])[1]
        key = (one.event, one.season, one.wave)
        if key not in found:
            found[key] = DateLook(
                one.event, one.season, one.wave, told.day, one.date, one.low, one.high, seen.date, one.basis,
            )  # fmt: skip
    return sorted(found.values(), key=lambda one: one.seen)


def unseen(told: Morning, afterwards: View, until: date) -> list[Stage]:
    """Full blooms and first pickings that were forecast, are past by their range, and nobody wrote down."""
    wanted = [
        one
        for one in told.stages
        if one.event in ("full bloom", "harvest start")
        and one.wave == 1
        and not one.seen
        and one.date >= told.day
        and one.high < until
    ]
    if afterwards.years_here < afterwards.species["fruitless_years"].number:
        wanted = [one for one in wanted if one.event == "full bloom"]
    seen = afterwards.tree.observed
    return [
        one
        for one in wanted
        if not any(
            each.event == one.event and abs(each.date - one.date) <= _OF_ONE_SEASON for each in seen
        )
    ]


# ---------------------------------------------------------------- crop


@dataclass(frozen=True)
class CropLook:
    """The crop of one year: what was forecast at first and last before picking, and what was picked [g].

    ``picked`` is None where nothing is written down. ``usual`` is the mass of a fruit of its kind [g].
    """

    year: int
    first: CropForecast | None
    last: CropForecast | None
    even: float | None
    picked: Harvest | None
    picks: tuple[Act, ...]
    usual: Quantity
    over: bool

    @property
    def within(self) -> bool | None:
        """Whether the crop lay in the range of the first forecast; None where either is not known."""
        if self.first is None or self.picked is None or not self.over:
            return None
        crop = self.first.crop
        return (crop.low or 0.0) <= self.picked.mass <= (crop.high or crop.value)

    @property
    def fruit_mass(self) -> float | None:
        """Mean mass of a fruit [g], where they were counted."""
        if self.picked is None or not self.picked.fruit:
            return None
        return self.picked.mass / self.picked.fruit


def crop_looks(
    mornings: Sequence[Morning], afterwards: View, acts: Sequence[Act], since: date, until: date
) -> list[CropLook]:
    """The crops whose picking had its middle between two days, as mornings before it had forecast them."""
    usual = afterwards.species["fruit_mass"]
    fruit = Quantity(usual.number, "g", usual.least, usual.most)
    picked = {one.year: one for one in afterwards.tree.harvests}
    looks = []
    for bloom in afterwards.cycle.every("full bloom"):
        start = afterwards.cycle.of("harvest start", bloom.season, bloom.wave)
        end = afterwards.cycle.of("harvest end", bloom.season, bloom.wave)
        if start is None or end is None or bloom.wave != 1:
            continue
        middle = middle_of_picking(start, end)
        young = (
            afterwards.tree.years_here(bloom.date) < afterwards.species["fruitless_years"].number
        )
        if not since <= middle <= until or (young and middle.year not in picked):
            continue
        before = [one for one in mornings if one.day < start.date]
        forecasts = [one.crops[bloom.season] for one in before if bloom.season in one.crops]
        mine = tuple(
            act for act in acts if act.job == "harvest" and start.low <= act.day <= end.high
        )
        looks.append(
            CropLook(
                middle.year,
                forecasts[0] if forecasts else None,
                forecasts[-1] if len(forecasts) > 1 else None,
                before[0].even.get(middle.year) if before else None,
                picked.get(middle.year),
                mine,
                fruit,
                end.date < until,
            )
        )
    return looks


# ---------------------------------------------------------------- cold


@dataclass(frozen=True)
class ColdLook:
    """The night of a span that came nearest to hurting a tree, or went furthest below what it stands.

    ``lowest`` is at the tree [degC]; ``chance`` that its limit lay above that, by the range of the limit.
    ``protected`` are records of protection for that night, ``looked`` what was noted in the weeks after.
    """

    day: date
    lowest: float
    limit: Limit
    chance: float
    protected: tuple[Act, ...]
    looked: tuple[Act, ...]

    @property
    def hurts(self) -> bool:
        """Whether it is more likely than not to have hurt that organ, unprotected."""
        return self.chance > 0.5


def cold_look(view: View, acts: Sequence[Act], since: date, until: date) -> ColdLook | None:
    """The most hurtful of the coldest nights of each month; None without a measured night that could hurt."""
    series = view.site.series
    first = max(since, view.tree.planted)
    if series is None or series.end < first or series.start > until or first > until:
        return None
    part = series.between(first, until)
    lows = part.measured("tmin")
    lift = place_lift(view)[0] - said_colder(view.site)[0]
    coldest: dict[tuple[int, int], tuple[float, date]] = {}
    for index in np.flatnonzero(np.isfinite(lows)).tolist():
        day, low = part.day(index), float(lows[index]) + lift
        month = (day.year, day.month)
        coldest[month] = min(coldest.get(month, (low, day)), (low, day))
    worst: tuple[float, date, float, Limit] | None = None
    for low, day in coldest.values():
        if low > warmest_that_hurts(view):
            continue
        limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, day)
        for limit in limits:
            if limit.organ == "roots in the pot":
                continue  # its medium cools more slowly than the air of one night
            margin = limit.temperature - low
            if worst is None or margin > worst[0]:
                worst = (margin, day, low, limit)
    if worst is None:
        return None
    _, day, low, limit = worst
    return ColdLook(
        day,
        low,
        limit,
        _chance(limit, low),
        tuple(a for a in acts if a.job == "protect" and day - _BEFORE <= a.day <= day),
        tuple(a for a in acts if a.job == "inspect" and day < a.day <= day + _AFTER),
    )


def _chance(limit: Limit, low: float) -> float:
    spread = (limit.high - limit.low) / (2 * STANDARD_INTERVAL)
    if spread <= 0:
        return 1.0 if low <= limit.temperature else 0.0
    return 1.0 - NormalDist(limit.temperature, spread).cdf(low)


# ---------------------------------------------------------------- work


@dataclass(frozen=True)
class WorkLook:
    """Minutes of work by the plan's own estimate: of all that was advised, and of what was done of it."""

    asked: float
    done: float


def work_look(lines: Sequence[Line]) -> WorkLook:
    """The minutes of a span; what a rule held back was no work, and one look at the garden counts once."""
    asked = [line.advice for line in lines if line.verdict != "held-back"]
    return WorkLook(minutes_of(asked), minutes_of(line.advice for line in lines if line.done))
