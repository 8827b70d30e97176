"""The nitrogen of one tree, day by day: what is freed, washed out, taken up, spent and kept in reserve.

A mixing tank of soil or medium, a tree with a bank, and a demand that follows the stages of its year. Every
gram is accounted for on every day. It is a model of contrasts - evergreen and deciduous, pot and ground,
winter fed and not - more than of grams, and the pages say so where they show it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.garden import Garden, Tree
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.science.ledgerflow import NitrogenDays, nitrogen_days, uptake_factor_root_temperature
from bearwell.science.mineralization import daily_release
from bearwell.science.soilwater import soil_water_balance, total_available_water
from bearwell.season.cycle import Cycle
from bearwell.season.site import Floats, SiteSeason
from bearwell.season.size import Size
from bearwell.season.water import crop_coefficients, rooted_area, soil_contents

YEAR = timedelta(days=365)


@dataclass(frozen=True)
class Given:
    """Nitrogen given on a day [g] as a release class."""

    date: date
    nitrogen: float
    release: str


@dataclass(frozen=True)
class Demand:
    """Nitrogen a tree spends in a year [g]: on growth, new leaves among it, and on fruit.

    ``leaves`` is what is in the leaves it sheds in a year; ``held`` what the whole tree holds.
    """

    growth: float
    fruit: float
    leaves: float
    held: float

    @property
    def total(self) -> float:
        """Growth and fruit."""
        return self.growth + self.fruit


@dataclass(frozen=True, eq=False)
class Ledger:
    """Daily flows and pools of nitrogen [g], each of shape (days,), from ``start`` on."""

    start: date
    given: Floats
    humus: Floats
    wanted: Floats
    returned: Floats
    flow: NitrogenDays
    bank_full: float

    @property
    def days(self) -> int:
        """How many days."""
        return len(self.given)

    def index(self, day: date) -> int:
        """Where a day stands, kept within the span."""
        return min(max((day - self.start).days, 0), self.days - 1)

    def bank_on(self, day: date) -> float:
        """How full the bank is in the evening of a day, as a share of what it can hold."""
        return float(self.flow.bank[self.index(day)] / self.bank_full) if self.bank_full else 0.0

    def sums(self, first: date, last: date) -> dict[str, float]:
        """Totals of the flows between two days, both included [g]."""
        part = slice(self.index(first), self.index(last) + 1)
        rows = {
            "given": self.given,
            "humus": self.humus,
            "wanted": self.wanted,
            "freed": self.flow.freed,
            "leached": self.flow.leached,
            "uptake": self.flow.uptake,
            "drawn": self.flow.drawn,
            "growth": self.flow.growth,
            "short": self.flow.short,
        }
        return {name: float(values[part].sum()) for name, values in rows.items()}

    def reserve_share(self, first: date, last: date) -> float:
        """The share of what growth spends between two days that was in the tree on the first of them.

        What roots bring mixes with what the tree held and has drawn back; growth spends the mixture.
        """
        start, stop = self.index(first), self.index(last)
        own = held = float(self.flow.bank[start])
        from_own = spent = 0.0
        for day in range(start + 1, stop + 1):
            own += float(self.returned[day])
            held += float(self.returned[day] + self.flow.uptake[day])
            growth = float(self.flow.growth[day])
            taken = growth * own / held if held > 0 else 0.0
            own, held = own - taken, held - growth
            from_own, spent = from_own + taken, spent + growth
        return from_own / spent if spent else 0.0

    def imbalance(self) -> float:
        """The largest gap on any day after the first between what came, went and stayed [g]."""
        flow = self.flow
        held = np.diff(flow.held) - (self.given - flow.freed)[1:]
        soil = np.diff(flow.soil) - (flow.freed + self.humus - flow.leached - flow.uptake)[1:]
        bank = np.diff(flow.bank) - (self.returned + flow.uptake - flow.growth)[1:]
        return float(max(np.abs(row).max() for row in (held, soil, bank)))


def yearly_demand(
    species: Species, size: Size, crop: float, growing: float, book: Knowledge
) -> Demand:
    """What a tree spends in a year, from its canopy [m3], its crop [g] and the share it grows by."""
    tissue = tissue_of(species, book)
    held = 1000 * tissue["dry"].number * tissue["n"].number * size.volume
    in_leaves = (
        1000 * tissue["leaf_dry"].number * book.constant("leaf nitrogen").number * size.volume
    )
    years = book.constant("leaf life of an evergreen").number if species.keeps_leaves else 1.0
    shed = min(in_leaves, held) / years
    return Demand(held * growing + shed, crop / 1000 * species["removal_n"].number, shed, held)


def tissue_of(species: Species, book: Knowledge) -> dict[str, Fact]:
    """The row of tissues that serves a kind."""
    return _of_group(species, book.table("tissues"))


def _of_group(species: Species, table: dict[str, dict[str, Fact]]) -> dict[str, Fact]:
    """The row of the nearest group of a kind, else of its leaf habit."""
    for key in reversed(species.lineage):
        if key in table:
            return table[key]
    return table["evergreen" if species.keeps_leaves else "deciduous"]


class LedgerInputs:
    """Everything the ledger needs but the rounds, worked out once: weather, water, stages, demand."""

    def __init__(
        self,
        tree: Tree,
        species: Species,
        cycle: Cycle,
        size: Size,
        site: SiteSeason,
        garden: Garden,
        book: Knowledge,
        demand: Demand,
        first: date,
        last: date,
    ) -> None:
        self.tree, self.species, self.cycle, self.book = tree, species, cycle, book
        self.demand, self.first = demand, first
        self.days = (last - first).days + 1
        weather = site.span(first, last, replay=True)
        mean = np.nan_to_num((weather.low + weather.high) / 2, nan=15.0)
        self.temperature = _trailing(mean, 21)
        et0 = np.nan_to_num(weather.reference_evapotranspiration(site.site.latitude), nan=0.0)
        use = et0 * crop_coefficients(species, cycle, site, first, self.days)
        rain = np.nan_to_num(weather.rain, nan=0.0)
        self.drainage, self.storage = self._water(garden, size, use, rain)
        self.wanted, efficiency = self._stages()
        self.reach = np.clip(
            book.constant("daily uptake").number * efficiency * self._warmth(), 0, 1
        )
        self.returned = self._returned()
        self.humus = self._humus(garden, size)
        self.bank_full = demand.held * book.constant("bank share").number

    def _water(self, garden: Garden, size: Size, use: Floats, rain: Floats) -> tuple[Floats, float]:
        """Daily drainage below the roots and the water the root zone keeps [mm]."""
        rooted = rooted_area(self.tree, size, self.book)
        lost = use * size.area / rooted
        pot = self.tree.pot
        if pot is not None:
            # A pot is kept moist: rain beyond its need drains, and the leaching share of every watering.
            share = self.book.constant("leaching share").number
            holds = self.book.item("containers", pot.medium)["available_water"].number
            return np.maximum(rain - lost, 0) + share * lost, 2 * holds * pot.volume / rooted
        contents, _ = soil_contents(garden, self.book)
        depth = self.species["root_depth"].number
        total = float(total_available_water(*contents, depth))
        share = self.species["depletion"].number
        balance = soil_water_balance(0.0, rain, 0.0, lost, total, share)
        return np.asarray(balance.drainage), 1000 * contents[0] * depth

    def _warmth(self) -> Floats:
        """How freely roots work by their temperature, 0 to 1."""
        kind = "" if self.species.keeps_leaves else "deciduous "
        low = self.book.constant(f"{kind}roots idle below").number
        full = self.book.constant(f"{kind}roots full above").number
        return np.asarray(uptake_factor_root_temperature(self.temperature, low, full))

    def _stages(self) -> tuple[Floats, Floats]:
        """Demand by day [g] and efficiency of uptake by day [1], from the stages of uptake.toml.

        Stages count from full bloom; fruit is spent from the end of set to picking.
        """
        table = self.book.table("uptake")
        groups = {row["group"].text for row in table.values()}
        group = next(
            (key for key in reversed(self.species.lineage) if key in groups),
            "evergreen" if self.species.keeps_leaves else "deciduous",
        )
        wanted, efficiency = np.zeros(self.days), np.zeros(self.days)
        picking = self._by_season("harvest end")
        ripening = self._by_season("harvest start")
        for season, bloom in self._by_season("full bloom").items():
            for row in table.values():
                if row["group"].text != group:
                    continue
                begin = bloom + timedelta(days=round(row["start"].number))
                end = begin + timedelta(days=round(row["length"].number))
                wanted += self._spread(row["demand"].number * self.demand.growth, begin, end)
                a, b = self._clip(begin, end)
                efficiency[a:b] = np.maximum(efficiency[a:b], row["efficiency"].number)
            picked = picking.get(season, bloom + timedelta(days=200))
            ripe = min(ripening.get(season, picked), picked - timedelta(days=1))
            wanted += self._spread(0.85 * self.demand.fruit, bloom, ripe)
            wanted += self._spread(0.15 * self.demand.fruit, ripe, picked)
        return wanted, efficiency

    def _returned(self) -> Floats:
        """What the tree draws back from ageing leaves each day [g]."""
        back = self.demand.leaves * self.book.constant("withdrawn before leaf drop").number
        row = np.zeros(self.days)
        if self.species.keeps_leaves:
            # Most old leaves go round the spring flush, the rest all year.
            for bloom in self._every("full bloom"):
                begin, end = bloom - timedelta(days=30), bloom + timedelta(days=60)
                row += self._spread(0.6 * back, begin, end)
                row += self._spread(0.4 * back, end, begin + YEAR)
        else:
            for fall in self._every("leaf fall"):
                row += self._spread(back, fall - timedelta(days=40), fall)
        return row

    def _humus(self, garden: Garden, size: Size) -> Floats:
        """What the soil itself frees each day, with its warmth [g]."""
        if self.tree.pot is not None:
            return np.zeros(self.days)
        test = garden.site.soil_test
        organic = test.organic_matter if test is not None else None
        share = self.book.constant("organic matter supposed").number if organic is None else organic
        rate = self.book.constant("humus nitrogen").number * share * 100
        warmth = np.maximum(self.temperature - 5.0, 0)
        if not warmth.any():
            return np.zeros(self.days)
        yearly = rate * rooted_area(self.tree, size, self.book)
        return np.asarray(yearly * warmth / warmth.sum() * self.days / 365)

    def _spread(self, amount: float, first: date, last: date) -> Floats:
        """An amount laid evenly on the days between two dates, the part inside the span [g d-1]."""
        row = np.zeros(self.days)
        length = (last - first).days
        if length > 0:
            a, b = self._clip(first, last)
            row[a:b] = amount / length
        return row

    def _clip(self, first: date, last: date) -> tuple[int, int]:
        """Two dates as indices kept within the span."""
        a, b = (first - self.first).days, (last - self.first).days
        return min(max(a, 0), self.days), min(max(b, 0), self.days)

    def _by_season(self, event: str) -> dict[int, date]:
        """The first wave of an event by season: those forecast, and the same days of years around them."""
        known = {
            stage.season: stage.date
            for stage in self.cycle.every_stage
            if stage.event == event and stage.wave == 1
        }
        if not known:
            return {}
        first, last = min(known), max(known)
        around = {first - 2: known[first] - 2 * YEAR, first - 1: known[first] - YEAR}
        return {**around, **known, last + 1: known[last] + YEAR}

    def _every(self, event: str) -> list[date]:
        """The days of an event over the span."""
        return sorted(self._by_season(event).values())


def run_ledger(inputs: LedgerInputs, given: Sequence[Given], bank_at_start: float = 0.6) -> Ledger:
    """The ledger of a span for these gifts; ``bank_at_start`` is the share the bank starts with."""
    put, release = np.zeros(inputs.days), np.zeros(inputs.days)
    for one in given:
        at = (one.date - inputs.first).days
        if 0 <= at < inputs.days:
            row = inputs.book.item("releases", one.release)
            put[at] += one.nitrogen
            release[at:] += one.nitrogen * _freed(row, inputs.temperature[at:])
    flow = nitrogen_days(
        0.0,
        0.0,
        bank_at_start * inputs.bank_full,
        given=put,
        release=release,
        humus=inputs.humus,
        drainage=inputs.drainage,
        storage=inputs.storage,
        reach=inputs.reach,
        wanted=inputs.wanted,
        returned=inputs.returned,
        bank_full=inputs.bank_full,
        refill_days=inputs.book.constant("bank refill").number,
    )
    return Ledger(
        inputs.first, put, inputs.humus, inputs.wanted, inputs.returned, flow, inputs.bank_full
    )


def _freed(release: dict[str, Fact], temperature: Floats) -> Floats:
    """The share of a gift that is freed on each day after it, from its release class."""
    pools = ("fast_share", "fast_half_life", "slow_share", "slow_half_life", "q10")
    return np.asarray(daily_release(temperature, *(release[name].number for name in pools)))


def _trailing(values: Floats, days: int) -> Floats:
    """The mean of each day and those before it: soil follows air slowly."""
    padded = np.concatenate([np.full(days - 1, values[0]), values])
    return np.convolve(padded, np.ones(days) / days, mode="valid")
