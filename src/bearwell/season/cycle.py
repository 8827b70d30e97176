"""The year of one tree: its stages with dates, ranges and what each date rests on.

Order of trust: what was seen this season; else the tree's own past dates, shrunk towards the prior by how
many there are; else heat, where heat has earned it; else the table's rule read off the usual temperature
curve of the place; else, where no weather is known at all, the calendar prior, the table's own day. The
evidence (constants of the planning table) is that heat sums improve on the mean date where winters are cold
and often do worse where they are mild, so in a mild place heat has to prove itself on the tree's own
records first.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from math import hypot, sqrt

import numpy as np

from bearwell.garden import Tree
from bearwell.knowledge import Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.said import said
from bearwell.season.bloom import HeatProof, HeatRule, first_reached, prove_heat
from bearwell.season.site import CITRUS_BASE, Floats, SiteSeason, season_of

# What a date rests on before the tree's own records: no weather at all, or the usual year of the place.
CALENDAR = "calendar prior"
USUAL_HEAT = "heat sum of the usual year"
USUAL_WARMTH = "warmth of the usual year"


@dataclass(frozen=True)
class Stage:
    """One event of a tree's year. ``low`` to ``high`` holds it in eight years of ten."""

    event: str
    season: int
    date: dt.date
    low: dt.date
    high: dt.date
    basis: str
    because: tuple[Because, ...] = ()
    wave: int = 1
    spread: float = 0.0
    seen: bool = False


@dataclass(frozen=True)
class _Guess:
    """A date as an offset into its season with a standard deviation [d], and why."""

    offset: float
    spread: float
    basis: str
    because: tuple[Because, ...]
    seen: bool = False


class Cycle:
    """The stages of one tree over last, this and next season."""

    def __init__(self, tree: Tree, species: Species, site: SiteSeason, book: Knowledge) -> None:
        self.tree, self.species, self.site, self.book = tree, species, site, book
        # Every stage of these seasons, also those before a young tree stood here: its leaves came with it.
        self.every_stage: tuple[Stage, ...] = tuple(
            sorted(self._all_stages(), key=lambda stage: (stage.date, stage.event))
        )
        self.stages = tuple(one for one in self.every_stage if one.date >= tree.planted)

    # ------------------------------------------------------------------ reading the result

    def of(self, event: str, season: int, wave: int = 1) -> Stage | None:
        """The stage of a season, if the tree has it."""
        for stage in self.stages:
            if stage.event == event and stage.season == season and stage.wave == wave:
                return stage
        return None

    def every(self, event: str) -> list[Stage]:
        """All stages of this sort, in order of date."""
        return [stage for stage in self.stages if stage.event == event]

    def next_after(self, event: str, day: date) -> Stage | None:
        """The first such stage on or after a day."""
        return next((stage for stage in self.every(event) if stage.date >= day), None)

    def last_before(self, event: str, day: date) -> Stage | None:
        """The last such stage before a day."""
        return next((stage for stage in reversed(self.every(event)) if stage.date < day), None)

    @property
    def leafing(self) -> list[date]:
        """The days of leaf out, before planting too."""
        return [stage.date for stage in self.every_stage if stage.event == "leaf out"]

    def fall_after(self, leaf: date) -> date:
        """The leaf fall that follows a leaf out."""
        falls = [one.date for one in self.every_stage if one.event == "leaf fall"]
        return min((day for day in falls if day > leaf), default=leaf + timedelta(days=230))

    # ------------------------------------------------------------------ building it

    def _constant(self, name: str) -> float:
        return self.book.constant(name).number

    def _all_stages(self) -> list[Stage]:
        now = self.site.season
        stages: list[Stage] = []
        self._prior = self._prior_bloom()
        for season in (now - 1, now, now + 1):
            stages += self._season_stages(season)
        return stages

    def _season_stages(self, season: int) -> list[Stage]:
        species = self.species
        bloom = self._bloom(season)
        length = species["bloom_length"].number
        ripe_days, ripe_because = self._ripening()
        found: list[Stage] = [self._stage("full bloom", season, bloom)]

        def follow(
            event: str, days: float, spread: float, why: Because, parent: _Guess = bloom
        ) -> _Guess:
            guess = _Guess(
                parent.offset + days,
                hypot(parent.spread, spread),
                said("counted from bloom ({basis})", basis=said(parent.basis)),
                (*parent.because[-2:], why),
            )
            guess = self._learn(event, season, guess)
            found.append(self._stage(event, season, guess))
            return guess

        fact = species["bloom_length"]
        why = from_fact(
            "Bloom of {kind} lasts about {value} from first flowers to petal fall",
            fact,
            kind=species.name,
        )
        before = self._constant("bloom before full")
        follow("bloom start", -before * length, 0.1 * length, why)
        follow("bloom end", (1 - before) * length, 0.15 * length, why)
        fact = species["natural_drop_end"]
        why = from_fact(
            "{kind} has dropped what it will drop about {value} after full bloom",
            fact,
            kind=species.name,
        )
        follow("natural drop end", fact.number, _spread(fact.least, fact.most), why)
        self._harvest(season, bloom, ripe_days, ripe_because, found)
        if species.habit == "ever-bearing":
            self._further_waves(season, bloom, ripe_days, ripe_because, found)
        if species.habit == "deciduous":
            fact = species["leaf_out_after_bloom"]
            why = from_fact(
                "Leaves of {kind} open about {days} after full bloom"
                if fact.number >= 0
                else "Leaves of {kind} open about {days} before full bloom",
                fact,
                kind=species.name,
                days=amount(abs(fact.number), "d"),
            )
            follow("leaf out", fact.number, _spread(fact.least, fact.most), why)
            found.append(self._leaf_fall(season))
        return found

    def _harvest(
        self, season: int, bloom: _Guess, days: float, why: tuple[Because, ...], found: list[Stage]
    ) -> None:
        """Picking: the tree's usual dates, moved by how early or late this bloom is."""
        ripe, hold = self.species["bloom_to_ripe"], self.species["harvest_hold"]
        usual_bloom = self._learn("full bloom", None, self._prior)
        narrowed = self._constant("narrower where heat is known") if why[1:] else 1.0
        start = _Guess(
            usual_bloom.offset + days,
            hypot(bloom.spread, narrowed * _spread(ripe.least, ripe.most)),
            said("counted from bloom ({basis})", basis=said(bloom.basis)),
            (*bloom.because[-1:], *why),
        )
        learned = self._learn("harvest start", None, start, "harvest year spread")
        follows = 1.0 if learned is start else self._constant("harvest follows bloom")
        moved = follows * (bloom.offset - usual_bloom.offset)
        start = replace(learned, offset=learned.offset + moved)
        start = self._seen("harvest start", season, start.offset) or start
        why_hold = from_fact("Picking, or keeping on the tree, goes on for about {value}", hold)
        end = _Guess(
            start.offset + hold.number,
            hypot(start.spread, _spread(hold.least, hold.most)),
            "counted from the first picking" if start.seen else start.basis,
            (*start.because[-1:], why_hold),
        )
        end = self._learn("harvest end", None, end, "harvest year spread")
        end = self._seen("harvest end", season, end.offset) or end
        if end.offset < start.offset + 2 and not start.seen:
            start = replace(start, offset=end.offset - hold.least)
        found.append(self._stage("harvest start", season, start))
        found.append(self._stage("harvest end", season, end))

    def _further_waves(
        self, season: int, bloom: _Guess, days: float, why: tuple[Because, ...], found: list[Stage]
    ) -> None:
        """Later waves of an ever-bearing tree, spread over the warm part of the year."""
        waves = int(self.species["blooms_per_year"].number)
        gap = self._constant("days of bloom waves") / waves
        fact = self.species["blooms_per_year"]
        for wave in range(2, waves + 1):
            later = _Guess(
                bloom.offset + gap * (wave - 1),
                hypot(bloom.spread, self._constant("spread of later waves")),
                said("later wave ({basis})", basis=said(bloom.basis)),
                (
                    from_fact(
                        "{kind} blooms in about {value} waves a year; the later ones are smaller and "
                        "less certain",
                        fact,
                        kind=self.species.name,
                    ),
                ),
            )
            ripe = _Guess(
                later.offset + days,
                hypot(later.spread, self._constant("spread of later waves")),
                later.basis,
                (*later.because, *why),
            )
            end = _Guess(
                ripe.offset + self.species["harvest_hold"].number,
                ripe.spread,
                ripe.basis,
                ripe.because,
            )
            for event, guess in (
                ("full bloom", later),
                ("harvest start", ripe),
                ("harvest end", end),
            ):
                found.append(self._stage(event, season, guess, wave))

    def _ripening(self) -> tuple[float, tuple[Because, ...]]:
        """Days from full bloom to ripe here, and why.

        For evergreens the table's range is read by the heat of the place, and bloom that comes later than
        the table's place has it ripens in fewer days, as autumn does part of the work.
        """
        fact = self.species["bloom_to_ripe"]
        base = from_fact(
            "{kind} ripens about {value} after full bloom", fact, kind=self.species.name
        )
        heat = self.site.growing_heat
        if heat is None or not self.species.keeps_leaves or fact.low is None or fact.high is None:
            return fact.number, (base,)
        hot = self._constant("heat of a hot citrus place")
        row = self.book.constant("heat of a cool citrus place")
        coolness = min(max((hot - heat) / (hot - row.number), 0.0), 1.0)
        reach = fact.high - fact.number if coolness >= 0.5 else fact.number - fact.low
        days = fact.number + (2 * coolness - 1) * reach * self._constant(
            "share of the ripening range"
        )
        later = self._prior.offset + 1 - self.species["bloom_day"].number
        if self.species["bloom_rule"].text != "falling warmth":
            most = self._constant("most a late bloom shortens")
            kept = 1 - self._constant("harvest follows bloom")
            days -= kept * min(max(later, -most), most)
        days = min(max(days, fact.low), fact.high)
        why = from_fact(
            "This place gathers {heat} above {base} in a usual year ({value} is a cool place) and blooms "
            "on its own day, so {days} is taken within that range",
            row,
            heat=amount(heat, "degC d"),
            base=amount(CITRUS_BASE, "degC"),
            days=amount(days, "d"),
        )
        return days, (base, why)

    def _leaf_fall(self, season: int) -> Stage:
        fact = self.species["leaf_fall_warmth"]
        usual = self.site.usual_mean
        spread = hypot(self._constant("leaf year spread"), self._constant("bloom garden spread"))
        offset, basis = self._constant("leaf fall without weather"), CALENDAR
        why = from_fact(
            "Leaves of {kind} fall when the month's mean sinks to about {value}",
            fact,
            kind=self.species.name,
        )
        if usual is not None:
            basis = USUAL_WARMTH
            hottest = int(np.argmax(usual))
            found = first_reached(-usual[hottest:], -fact.number)
            # A place that never cools that far keeps leaves until its coldest weeks.
            offset = (
                hottest + found
                if found is not None
                else self._constant("leaf fall where it stays warm")
            )
        guess = self._learn(
            "leaf fall", season, _Guess(offset, spread, basis, (why,)), "leaf year spread"
        )
        return self._stage("leaf fall", season, guess)

    # ------------------------------------------------------------------ bloom

    def _prior_bloom(self) -> _Guess:
        """When this kind usually blooms in this place, before the tree's own records."""
        species, usual = self.species, self.site.usual_mean
        garden_spread = self._constant("bloom garden spread")
        day = species["bloom_day"]
        table = _Guess(
            day.number - 1,
            max(garden_spread, _spread(day.least, day.most)),
            CALENDAR,
            (
                from_fact(
                    "{kind} blooms around {when} at middle latitudes; no weather to refine it",
                    day,
                    kind=species.name,
                    when=self.site.day(day.number - 1, self.site.season),
                ),
            ),
        )
        if usual is None:
            return table
        offset: float | None
        total = ""
        if species["bloom_rule"].text == "heat sum":
            basis, rule = USUAL_HEAT, HeatRule.of(species, self._mildness)
            offset = rule.reached(usual)
            fact = species["bloom_heat_sum"]
            text = (
                "{kind} reaches full bloom at a heat sum of about {value}, more after a mild winter; here {total} is "
                "taken, and the usual year has it then"
            )
            total = said("{total:.0f}", total=rule.total)
        else:
            basis, fact = USUAL_WARMTH, species["bloom_warmth"]
            offset = self._warmth_reached(usual, fact.number)
            text = "{kind} blooms when the month's mean reaches about {value} in this place"
        if offset is None:
            return replace(
                table,
                because=(
                    *table.because,
                    from_fact("The place never passes {value}, so the calendar is used", fact),
                ),
            )
        return _Guess(
            offset, garden_spread, basis, (from_fact(text, fact, kind=species.name, total=total),)
        )

    def _warmth_reached(self, usual: Floats, warmth: float) -> float | None:
        """The day of the season on which the usual curve passes the warmth of bloom, or None.

        Rising after the coldest day, or falling after the hottest. Where winters are warm the curve must
        also have risen by a least amount.
        """
        if self.species["bloom_rule"].text == "falling warmth":
            turn = int(np.argmax(usual))
            found = first_reached(-np.roll(usual, -turn)[:260], -warmth)
        else:
            turn = int(np.argmin(usual))
            level = max(warmth, float(usual[turn]) + self._constant("least rise to bloom"))
            found = first_reached(np.roll(usual, -turn)[:260], level)
        if not found:
            return None
        offset = float(turn + found)
        return offset - 366 if offset >= 366 and turn > 183 else offset

    def _bloom(self, season: int) -> _Guess:
        """Full bloom of a season: seen, learned, by heat, or the prior."""
        seen = self._seen("full bloom", season, self._prior.offset)
        if seen is not None:
            return seen
        begun = self._seen("bloom start", season, self._prior.offset)
        if begun is not None:
            length = self.species["bloom_length"]
            return _Guess(
                begun.offset + self._constant("bloom before full") * length.number,
                0.1 * length.number + 2,
                "first flowers seen",
                (
                    *begun.because,
                    from_fact("Full bloom follows within a bloom of about {value}", length),
                ),
            )
        year = self._constant("bloom year spread")
        guess = self._learn("full bloom", season, self._prior)
        if guess is self._prior:
            guess = replace(guess, spread=hypot(guess.spread, year))
        proved = self._heat_of_records(season)
        if proved is not None:
            return proved
        if self._winters_are_cold and self.species["bloom_rule"].text == "heat sum":
            return self._shift_by_heat(season, guess)
        return guess

    @property
    def _mildness(self) -> float:
        """How mild the usual winter is, 0 as at the cold benchmark sites to 1 as at the mild ones."""
        usual = self.site.usual_mean
        if usual is None:
            return 0.0
        cold, mild = (
            self._constant("cold benchmark winter"),
            self._constant("mild benchmark winter"),
        )
        return min(max((float(usual.min()) - cold) / (mild - cold), 0.0), 1.0)

    @property
    def _winters_are_cold(self) -> bool:
        coldest = self.site.mean_coldest_night
        return coldest is not None and coldest <= self._constant("cold winter night")

    def _shift_by_heat(self, season: int, guess: _Guess) -> _Guess:
        """Move the usual date by how early or late this season's heat is (cold-winter places)."""
        usual = self.site.usual_mean
        if usual is None or season < self.site.season:
            return guess
        rule = HeatRule.of(self.species, self._mildness)
        outcomes = [rule.reached(row) for row in self.site.possible_seasons(season)]
        days = [day for day in outcomes if day is not None]
        usually = rule.reached(usual)
        if len(days) < 3 or usually is None:
            return guess
        shift, rest = float(np.mean(days)) - usually, float(np.std(days))
        heat = self._constant("bloom heat spread")
        learned = guess.spread**2 - self._constant("bloom year spread") ** 2
        return _Guess(
            guess.offset + shift,
            sqrt(max(learned, 0.0) + heat**2 + rest**2),
            said("heat sum")
            if guess.basis == USUAL_HEAT
            else said("heat sum and {basis}", basis=said(guess.basis)),
            (
                *guess.because,
                computed(
                    "The heat so far, completed by each past year, moves it by {shift}",
                    shift,
                    "d",
                    shift=amount(shift, "d"),
                ),
            ),
        )

    def _heat_of_records(self, season: int) -> _Guess | None:
        """A heat sum fitted to the tree's own dates, if it beats their mean, each year left out in turn."""
        if season < self.site.season or self._proof is None:
            return None
        proof, count = self._proof
        outcomes = [proof.rule.reached(row) for row in self.site.possible_seasons(season)]
        dates = [proof.forecast(day) for day in outcomes if day is not None]
        if not dates:
            return None
        return _Guess(
            float(np.mean(dates)),
            hypot(proof.error, float(np.std(dates))),
            said("heat sum proved on {count} own records", count=count),
            (
                recorded(
                    "On this tree's own {count} dates this forecast misses by {error}, the mean date by "
                    "{mean} (each year forecast from the others, which also chose how: {method})",
                    proof.error,
                    "d",
                    count=count,
                    error=amount(proof.error, "d"),
                    mean=amount(proof.error_of_mean, "d"),
                    method=proof.method,
                ),
            ),
        )

    @cached_property
    def _proof(self) -> tuple[HeatProof, int] | None:
        """The heat rule of the tree's own dates and their number; None where it does not beat the mean."""
        least = self._constant("records to prove heat")
        records = self._records("full bloom", self._prior.offset)
        if len(records) < least:
            return None
        rows = {year: self.site.mean_of_season(year) for year, _ in records}
        usable = [
            (year, day)
            for year, day in records
            if np.isfinite(rows[year][: max(int(day), 0) + 1]).all()
        ]
        if len(usable) < least:
            return None
        days = np.array([day for _, day in usable])
        proof = prove_heat(np.array([rows[year] for year, _ in usable]), days)
        if not proof.helps or proof.error >= proof.error_of_mean:
            return None
        return proof, len(days)

    # ------------------------------------------------------------------ own records

    def _season_of_record(self, day: date, offset: float) -> int:
        """The season whose event of this offset lies nearest to the day."""
        near = season_of(day, self.site.southern)
        seasons = range(near - 2, near + 2)
        return min(seasons, key=lambda year: abs(self.site.offset(day, year) - offset))

    def _records(self, event: str, offset: float) -> list[tuple[int, float]]:
        """Own dates of an event as (season, offset), up to today.

        On an ever-bearing tree a date that lies nearer to a later wave is not a date of the first.
        """
        found = {}
        for seen in self.tree.observed:
            if seen.event == event and seen.date <= self.site.today:
                season = self._season_of_record(seen.date, offset)
                day = float(self.site.offset(seen.date, season))
                if abs(day - offset) <= self._reach_of_a_wave:
                    found[season] = day
        return sorted(found.items())

    @property
    def _reach_of_a_wave(self) -> float:
        """How far from its usual date the first wave's event may lie before it belongs to another [d]."""
        if self.species.habit != "ever-bearing":
            return 200.0
        waves = self.species["blooms_per_year"].number
        return max(self._constant("days of bloom waves") / waves / 2, 45.0)

    def _seen(self, event: str, season: int, offset: float) -> _Guess | None:
        for year, day in self._records(event, offset):
            if year == season:
                why = recorded(
                    "You saw {event} on {day}", event=said(event), day=self.site.day(day, year)
                )
                return _Guess(day, 0.0, said("seen"), (why,), seen=True)
        return None

    def _learn(
        self, event: str, season: int | None, prior: _Guess, year_spread: str = "bloom year spread"
    ) -> _Guess:
        """Shrink the tree's own dates towards the prior by how many there are.

        With a season, a date seen in it is the answer; with None the usual date is asked for. A prior
        without records comes back as it is.
        """
        seen = None if season is None else self._seen(event, season, prior.offset)
        if seen is not None:
            return seen
        records = [day for _, day in self._records(event, prior.offset)]
        if not records:
            return prior
        count, spread = len(records), self._constant(year_spread)
        within = spread**2 / count
        between = max(prior.spread, 1.0) ** 2
        weight = between / (between + within)
        mean = float(np.mean(records))
        return _Guess(
            prior.offset + weight * (mean - prior.offset),
            sqrt(between * within / (between + within) + spread**2),
            said(
                "own records ({count} season)" if count == 1 else "own records ({count} seasons)",
                count=count,
            ),
            (
                *prior.because,
                recorded(
                    "Your own dates of {count} season average {mean}; they weigh {weight} % against the prior"
                    if count == 1
                    else "Your own dates of {count} seasons average {mean}; they weigh {weight} % against the "
                    "prior",
                    weight,
                    "1",
                    count=count,
                    mean=self.site.day(mean, self.site.season),
                    weight=round(100 * weight),
                ),
            ),
        )

    def _stage(self, event: str, season: int, guess: _Guess, wave: int = 1) -> Stage:
        reach = self._constant("interval") * guess.spread
        day = self.site.day(guess.offset, season)
        return Stage(
            event,
            season,
            day,
            self.site.day(guess.offset - reach, season),
            self.site.day(guess.offset + reach, season),
            guess.basis,
            guess.because,
            wave,
            guess.spread,
            guess.seen,
        )


# Standard deviations either side that hold eight cases in ten, as the row "interval" of the planning table.
STANDARD_INTERVAL = 1.2816


def _spread(low: float, high: float) -> float:
    """The standard deviation of a range taken to hold eight cases in ten [same unit]."""
    return max(high - low, 0.0) / (2 * STANDARD_INTERVAL)
