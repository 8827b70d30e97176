"""How hardened a tree is: what this season's cool built up, warmth took away, and what is not regained."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from bearwell.knowledge import Knowledge
from bearwell.reasons import Because, computed, from_fact
from bearwell.science.hardening import hardening_course
from bearwell.season.site import Floats, SiteSeason, season_of


@dataclass(frozen=True)
class Hardness:
    """Hardening on a day, 0 to 1, the most that can still be reached this season, and why."""

    state: float
    ceiling: float
    because: tuple[Because, ...]
    known: bool = True


@dataclass(frozen=True, eq=False)
class HardeningSeason:
    """Hardening day by day from ``start`` on; ``measured`` tells which days rest on measured weather."""

    start: date
    state: Floats
    ceiling: Floats
    measured: Floats

    def day(self, index: int) -> date:
        """The date of an index."""
        return self.start + timedelta(days=index)


def season_begins(site: SiteSeason, day: date, book: Knowledge) -> date:
    """The last day on which hardening began anew, in late summer."""
    first = round(book.constant("hardening begins").number) - 1
    year = season_of(day, site.southern)
    begun = site.start(year) + timedelta(days=first)
    return begun if begun <= day else site.start(year - 1) + timedelta(days=first)


def _course(means: Floats, book: Knowledge) -> tuple[Floats, Floats]:
    base = book.constant("hardening base").number
    course = hardening_course(
        means,
        base,
        book.constant("hardening days").number,
        book.constant("coolness that hardens fully").number * base,
        book.constant("hardening loss").number,
        book.constant("hardening not regained").number,
    )
    return course.state, course.ceiling


def hardness(site: SiteSeason, day: date, book: Knowledge) -> Hardness:
    """How hardened a tree is on a day, from this season's weather; without weather it is taken as half."""
    unknown = book.constant("hardening unknown")
    first = season_begins(site, day, book)
    if site.series is None:
        why = from_fact("No daily weather: hardening is taken as {value}", unknown)
        return Hardness(unknown.number, 1.0, (why,), known=False)
    last = min(day, site.series.end)
    if max(site.series.start, first) >= last:
        why = from_fact("No recent weather: hardening is taken as {value}", unknown)
        return Hardness(unknown.number, 1.0, (why,), known=False)
    recent = site.series.between(first, last)
    states, ceilings = _course(np.asarray(recent.tmean), book)
    state, ceiling = float(states[-1]), float(ceilings[-1])
    links = [
        from_fact(
            "Weeks below {value} harden a tree and warm days undo it quickly; it stands at {share} %",
            book.constant("hardening base"),
            share=round(100 * state),
        )
    ]
    if ceiling < 1.0 - 1e-9:
        links.append(
            from_fact(
                "Warm spells since {since} cost it what it does not regain: it can reach {most} % this season",
                book.constant("hardening not regained"),
                since=recent.start,
                most=round(100 * ceiling),
            )
        )
    return Hardness(state, ceiling, tuple(links))


def hardening_season(site: SiteSeason, day: date, book: Knowledge) -> HardeningSeason | None:
    """Hardening over the season round a day: as the weather was, then as it usually goes on.

    None where there is neither daily weather nor a climate to go by.
    """
    first = season_begins(site, day, book)
    last = season_begins(site, first + timedelta(days=400), book) - timedelta(days=1)
    span = site.span(first, last)
    means = (span.low + span.high) / 2
    if not np.isfinite(means).any():
        return None
    states, ceilings = _course(means, book)
    return HardeningSeason(first, states, ceilings, span.known.astype(np.float64))


def wood_hardness(state: Hardness, ripened: float, book: Knowledge) -> Hardness:
    """Hardening of deciduous wood: short days alone bring it part of the way by the time it is bare.

    ``ripened`` is how far it is on its way from the end of its growth, 0, to leaf fall, 1.
    """
    bare = book.constant("wood hardened at leaf fall")
    floor = ripened * bare.number
    if state.state >= floor:
        return state
    why = from_fact(
        "Short days alone harden the wood of a deciduous tree to {value} by leaf fall: {share} % by now",
        bare,
        share=round(100 * floor),
    )
    return Hardness(floor, state.ceiling, (*state.because, why), state.known)


def told(state: Hardness) -> Because:
    """The state in one link, for a place with room for one."""
    return computed(
        "Hardened to {share} %; at most {most} % this season",
        round(state.state, 3),
        "1",
        share=round(100 * state.state),
        most=round(100 * state.ceiling),
    )
