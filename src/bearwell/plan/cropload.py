"""The crop of a tree as a whole: what hangs, what it may keep, what to take off and what that buys."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from math import ceil

import numpy as np

from bearwell.errors import BadInput
from bearwell.garden import Count, Harvest
from bearwell.plan.advice import Window
from bearwell.plan.bearing import LEAST_SHARE, Outlook, current_crop, outlook_of, year_share
from bearwell.plan.cropmeasures import Measures
from bearwell.plan.croptargets import Target, girth_doubt, no_rule, targets_of
from bearwell.plan.fruitcount import Estimate, fruit_now, latest_count
from bearwell.plan.limbs import LimbLoad, Limbs, limbs_of, under_load
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.science.bearing import expected_intensity_normal
from bearwell.science.fruitsize import (
    diameter_of_mass,
    fruit_mass_at_load,
    orange_diameter,
    ripening_delay,
)
from bearwell.season.cycle import Stage

PROVEN_BY = 5  # last crops that prove what a tree bears


@dataclass(frozen=True)
class Pass:
    """One round of thinning: when, how many come off and how many are left after it."""

    number: int
    window: Window
    remove: int
    leave: int


@dataclass(frozen=True)
class LimbShare:
    """What one main limb keeps and loses."""

    number: int
    share: float
    keep: int
    remove: int


@dataclass(frozen=True)
class Side:
    """A crop with all of it kept, or thinned: fruit, its size, its day, and the limbs under it."""

    fruit: float
    size: Quantity
    width: Quantity | None
    crop: Quantity
    ripe: date
    breaks: float
    limbs: tuple[LimbLoad, ...]


@dataclass(frozen=True)
class Gain:
    """What thinning buys: the crop as it hangs beside the crop as it should be."""

    kept: Side
    thinned: Side
    because: tuple[Because, ...]


def share_at(view: View, bloom: date) -> float:
    """The share of a full crop that the tree's years allow at a bloom, 0 to 1."""
    return Measures(view.species, view.book, view.tree.years_here(bloom)).share


def measures_of(view: View, bloom: date) -> Measures:
    """What the rules look at, without its records and the cold."""
    size = view.size
    return Measures(
        view.species,
        view.book,
        view.tree.years_here(bloom),
        view.tree.age(bloom) * 365.25,
        size.girth,
        size.volume,
        sum(size.spread) / 2,
        None if view.tree.pot is None else view.tree.pot.volume,
        view.tree.limbs,
        why_size=size.because,
        proven=_proven(view),
    )


def last_crops(view: View) -> list[Harvest]:
    """Its last crops on record, oldest first."""
    return sorted(view.tree.harvests, key=lambda one: one.year)[-PROVEN_BY:]


def _proven(view: View) -> float | None:
    """What it has borne a year on the mean of its last crops [g], where two or more are written down."""
    last = last_crops(view)
    return sum(one.mass for one in last) / len(last) if len(last) > 1 else None


@dataclass(frozen=True)
class CropPlan:
    """The crop of one bloom; everything is worked out when first asked for."""

    view: View
    bloom: Stage
    drop: Stage
    start: Stage
    end: Stage | None

    # ------------------------------------------------------------------ what hangs

    @cached_property
    def count(self) -> Count | None:
        """The last count of this crop."""
        return latest_count(self.view, self.bloom, self.end)

    @cached_property
    def estimate(self) -> Estimate | None:
        """The fruit that count stands for."""
        return None if self.count is None else fruit_now(self.view, self.count)

    @property
    def bears(self) -> bool:
        """Whether the tree is old enough to be let carry any of it."""
        return (
            self.view.tree.years_here(self.bloom.date)
            >= self.view.species["fruitless_years"].number
        )

    @property
    def thins(self) -> bool:
        """Whether this kind of fruit is thinned by hand."""
        species, least = self.view.species, self.view.constant("smallest fruit thinned")
        return "thin_after_bloom" in species.facts and species["fruit_mass"].number >= least.number

    # ------------------------------------------------------------------ what it may keep

    @cached_property
    def _plain(self) -> list[Target]:
        return targets_of(measures_of(self.view, self.bloom.date))

    @cached_property
    def outlook(self) -> Outlook:
        """How the tree bears from year to year."""
        full = self.view.species["full_crop"].number
        lasting = [one for one in self._plain if one.rule not in ("age", "limb strength")]
        mass = self.view.species["fruit_mass"].number
        carried = min((one.fruit.value * mass for one in lasting), default=full)
        share = max(year_share(self.view, self.view.today.year), LEAST_SHARE)
        found = None
        if self.estimate is not None and current_crop(self.view)[0] == self.bloom:
            found = (self.estimate.fruit, self.estimate.error)
        return outlook_of(self.view, min(carried / share, full), found)

    @cached_property
    def targets(self) -> list[Target]:
        """Every rule, tightest first."""
        own, why_own = self._own()
        delay, why_delay = ripening_room(self.view, self.bloom, self.start)
        if own is None and delay is None:
            return self._plain
        base = measures_of(self.view, self.bloom.date)
        return targets_of(replace(base, own=own, why_own=why_own, delay=delay, why_delay=why_delay))

    @property
    def alternates(self) -> bool:
        """Whether its own records show on and off years, beyond the scatter of weather."""
        fewest = self.view.constant("crops to know a tree").number
        if len(self.view.tree.harvests) < fewest:
            return False
        swing, scatter = self.outlook.swing, self.view.constant("weather scatter of crops").number
        scatter *= 1 - self.view.constant("size elasticity").number  # of number, here of mass
        return (
            swing is not None
            and swing.p_value <= 0.2
            and swing.intensity > swing.by_chance
            and swing.detrended > expected_intensity_normal(scatter)
            and self.outlook.strength.strength >= self.view.constant("alternator").number
        )

    def _own(self) -> tuple[Quantity | None, tuple[Because, ...]]:
        """The even crop of a tree whose records say that it alternates."""
        if not self.alternates:
            return None, ()
        outlook = self.outlook
        even = outlook.even_in(outlook.year)
        links = (
            *outlook.because[:2],
            recorded(
                "Its crops over the years come to {even} a year: an alternating tree that is let carry more pays "
                "with the next",
                even,
                "g",
                even=amount(even, "g"),
            ),
        )
        return Quantity(even, "g", 0.8 * even, 1.2 * even), links

    @property
    def keep(self) -> Target:
        """The rule that holds."""
        return self.targets[0]

    @cached_property
    def doubt(self) -> Because | None:
        """A girth that does not go with the canopy."""
        return girth_doubt(measures_of(self.view, self.bloom.date), self._plain)

    @property
    def no_rule(self) -> tuple[Because, ...]:
        """What was measured and no rule speaks of."""
        return no_rule(measures_of(self.view, self.bloom.date))

    # ------------------------------------------------------------------ what to take off

    @property
    def excess(self) -> float:
        """Fruit beyond what it may keep; nothing where none was counted."""
        return 0.0 if self.estimate is None else self.estimate.fruit - self.keep.fruit.value

    @property
    def too_many(self) -> bool:
        """Whether the excess is worth the walk."""
        return self.excess > self.view.constant("share not thinned").number * self.keep.fruit.value

    @cached_property
    def window(self) -> Window:
        """When taking fruit off serves; of a tree too young to bear, while it has cost little."""
        if not self.bears:
            bloom = self.bloom.date
            return Window(
                bloom + timedelta(days=5),
                bloom + timedelta(days=25),
                self.drop.date + timedelta(days=30),
            )
        return self._thinning_window()

    @property
    def closed(self) -> bool:
        """Whether the time to take fruit off is over, or there is none for fruit of this kind."""
        return not self.comes_off or self.view.today > self.window.latest

    @property
    def comes_off(self) -> bool:
        """Whether there is a time to take fruit off: for kinds that are thinned and trees too young."""
        return not self.bears or "thin_after_bloom" in self.view.species.facts

    @property
    def phase(self) -> str:
        """Where the crop stands today: to come, growing or picking."""
        if self.view.today < self.bloom.date:
            return "to come"
        return "picking" if self.start.date <= self.view.today else "growing"

    def _thinning_window(self) -> Window:
        """From the first pass to where it is too late for size."""
        best = self.bloom.date + timedelta(days=round(self.view.species["thin_after_bloom"].number))
        helps = self.view.constant("thinning still helps size").number
        stops = self.view.constant("thinning stops before picking").number
        last = min(self.start.date - timedelta(days=stops), best + timedelta(days=helps))
        middle = max(best, self.drop.date)
        return Window(
            min(best, self.drop.date) - timedelta(days=7),
            middle,
            max(last, middle + timedelta(days=14)),
        )

    @cached_property
    def passes(self) -> tuple[Pass, ...]:
        """The rounds that are left: a rough one before the drop is over, the last one after it."""
        if self.estimate is None or not self.too_many or self.view.today > self.window.latest:
            return ()
        today, gap = (
            self.view.today,
            timedelta(days=round(self.view.constant("days between passes").number)),
        )
        fruit, keep, window = self.estimate.fruit, self.keep.fruit.value, self.window
        rough = min(self.view.constant("rough pass leaves").number * keep, (fruit + keep) / 2)
        begin = max(window.earliest, min(today, window.latest))
        last = max(window.best, begin + gap)
        if last > window.latest or fruit - rough < 1:
            whole = Window(window.earliest, max(window.best, begin), window.latest)
            return (Pass(1, whole, ceil(fruit - keep), round(keep)),)
        turn = last - timedelta(days=7)
        first = Window(window.earliest, max(begin, window.earliest), turn - timedelta(days=1))
        return (
            Pass(1, first, round(fruit - rough), round(rough)),
            Pass(2, Window(turn, last, window.latest), round(rough) - round(keep), round(keep)),
        )

    @cached_property
    def limbs(self) -> Limbs | None:
        """The main limbs, measured or supposed."""
        return limbs_of(measures_of(self.view, self.bloom.date))

    @property
    def by_limb(self) -> tuple[LimbShare, ...]:
        """What each measured limb keeps and loses, by its section."""
        if self.estimate is None or self.limbs is None or not self.limbs.measured:
            return ()
        keep, remove = self.keep.fruit.value, max(self.excess, 0.0)
        return tuple(
            LimbShare(number, share, round(share * keep), round(share * remove))
            for number, share in enumerate(self.limbs.shares, 1)
        )

    # ------------------------------------------------------------------ what it buys

    @property
    def keep_at(self) -> float:
        """What it may keep relative to its own even crop, for the years ahead; held near one."""
        return float(np.clip(self.keep.fruit.value / self.even_fruit, 0.8, 1.25))

    @property
    def even_fruit(self) -> float:
        """Fruit of an even crop of this year, against which size is reckoned."""
        outlook, mass = self.outlook, self.view.species["fruit_mass"].number
        even = max(outlook.even_in(outlook.year), LEAST_SHARE * outlook.even)
        return max(even / mass, 1.0)

    @cached_property
    def as_it_hangs(self) -> Side | None:
        """The crop with all of it kept; nothing where none was counted."""
        found = self.estimate
        return None if found is None else self._side(found.fruit, found.low, found.high)

    @cached_property
    def as_thinned(self) -> Side | None:
        """The crop with no more left than it may keep; nothing where none was counted."""
        found, keep = self.estimate, self.keep.fruit.value
        if found is None:
            return None
        return self._side(min(found.fruit, keep), min(found.low, keep), min(found.high, keep))

    @cached_property
    def gain(self) -> Gain | None:
        """The crop as it hangs beside the crop as it should be; nothing where none was counted or is kept."""
        kept, thinned = self.as_it_hangs, self.as_thinned
        if kept is None or thinned is None or self.keep.fruit.value < 1:
            return None
        links = list(self.why_size)
        if self.limbs is not None:
            links += self.limbs.because
        return Gain(kept, thinned, tuple(links))

    @property
    def why_size(self) -> tuple[Because, ...]:
        """How size and the ripe day go with the number of fruit."""
        view = self.view
        return (
            from_fact(
                "Fruit loses about {value} of its mass for each share of fruit more",
                view.constant("size elasticity"),
            ),
            from_fact(
                "and a light crop makes it at most {value} times as heavy",
                view.constant("most a light crop enlarges"),
            ),
            from_fact(
                "A crop twice as heavy ripens about {value} later",
                view.constant("later for a doubled crop"),
            ),
        )

    def _side(self, fruit: float, least: float, most: float) -> Side:
        view = self.view
        load = fruit / self.even_fruit
        size, few, many = (size_at(view, n / self.even_fruit) for n in (fruit, least, most))
        crop = Quantity(
            fruit * size.value, "g", least * (few.low or 0.0), most * (many.high or 0.0)
        )
        later = view.constant("later for a doubled crop").number
        ripe = self.start.date
        if not self.start.seen and fruit > 0:
            ripe += timedelta(days=round(ripening_delay(load, later)))
        loads: tuple[LimbLoad, ...] = ()
        if self.limbs is not None:
            loads = under_load(measures_of(view, self.bloom.date), self.limbs, crop.value)
        whole = float(1 - np.prod([1 - one.chance for one in loads])) if loads else 0.0
        return Side(fruit, size, width_of(view, size), crop, ripe, whole, loads)


def size_at(view: View, load: float) -> Quantity:
    """Mass of one fruit [g] at a load relative to the number it should carry, with its range."""
    mass, most = view.species["fruit_mass"], view.constant("most a light crop enlarges")
    power = view.constant("size elasticity")
    value = fruit_mass_at_load(mass.number, load, power.number, most.number)
    ends = [
        fruit_mass_at_load(mass.number, load, e, m)
        for e in (power.least, power.most)
        for m in (most.least, most.most)
    ]
    # Half of the kind's own range is the cultivar and the place, which thinning does not move.
    width = (mass.most - mass.least) / 4 / mass.number
    return Quantity(value, "g", min(ends) * (1 - width), max(ends) * (1 + width))


def width_of(view: View, size: Quantity) -> Quantity | None:
    """How wide fruit of a mass is [m], where the tables know its shape."""
    form = view.species.get("fruit_form")
    ends = (size.value, size.low or size.value, size.high or size.value)
    try:
        if view.species.belongs_to("orange"):
            value, low, high = (orange_diameter(grams) for grams in ends)
            return Quantity(value, "m", low, high)
    except BadInput:
        pass  # an orange outside the sizes the equation was made on
    if form is None:
        return None
    value, low, high = (diameter_of_mass(grams, form.number) for grams in ends)
    return Quantity(value, "m", low, high)


# ---------------------------------------------------------------------- heat left to ripen


def ripening_room(
    view: View, bloom: Stage, start: Stage
) -> tuple[float | None, tuple[Because, ...]]:
    """Days between the ripe date of an even crop and the end of safe ripening, where there is one."""
    if start.seen:
        return None, ()
    fall = view.cycle.of("leaf fall", bloom.season)
    if fall is not None:
        room = (fall.date - start.date).days
        why = computed(
            "An even crop is ripe about {ripe} and the leaves that ripen it fall about {fall}",
            ripe=start.date,
            fall=fall.date,
        )
        return float(room), (why,)
    last = _last_safe_day(view, bloom, start)
    if last is None:
        return None, ()
    share = view.constant("night that ends ripening")
    why = from_fact(
        "An even crop is ripe about {ripe}; in {value} of the years on record a night had hurt fruit by {last}",
        share,
        ripe=start.date,
        last=last,
    )
    return float((last - start.date).days), (why,)


def _last_safe_day(view: View, bloom: Stage, start: Stage) -> date | None:
    """The day by which a fifth of past years had a night that hurts fruit."""
    series, limit = view.site.series, view.species.get("cold_fruit")
    if series is None or limit is None:
        return None
    threshold = limit.number + view.site.site.colder_than_station
    reach = (start.date - bloom.date).days + 90
    first_hurt: list[int] = []
    years = 0
    for back in range(1, 13):
        begin = (bloom.date - timedelta(days=round(365.25 * back)) - series.start).days + 60
        end = begin + reach - 60
        if begin < 0 or end > len(series):
            continue
        years += 1
        cold = np.flatnonzero(series.tmin[begin:end] < threshold)
        if cold.size:
            first_hurt.append(int(cold[0]) + 60)
    share = view.constant("night that ends ripening").number
    if years < 5 or len(first_hurt) < share * years:
        return None
    ordered = sorted(first_hurt)
    return bloom.date + timedelta(days=ordered[ceil(share * years) - 1])


# ---------------------------------------------------------------------- the crops of a tree


def crop_of(view: View, bloom: Stage) -> CropPlan | None:
    """The crop of a bloom, worked out once; nothing where its drop or its picking is not known."""
    return view.once(("crop", bloom.season, bloom.date), lambda: _plan_of(view, bloom))


def _plan_of(view: View, bloom: Stage) -> CropPlan | None:
    drop = view.cycle.of("natural drop end", bloom.season)
    start = view.cycle.of("harvest start", bloom.season)
    if drop is None or start is None:
        return None
    return CropPlan(view, bloom, drop, start, view.cycle.of("harvest end", bloom.season))


def current_plan(view: View) -> CropPlan | None:
    """The crop that hangs, or the next one."""
    bloom, _ = current_crop(view)
    if bloom is None:
        return None
    return crop_of(view, bloom)


def plan_after(plan: CropPlan) -> CropPlan | None:
    """The crop of the bloom that follows."""
    later = [
        one
        for one in plan.view.cycle.every("full bloom")
        if one.wave == 1 and one.date > plan.bloom.date
    ]
    return crop_of(plan.view, min(later, key=lambda one: one.date)) if later else None
