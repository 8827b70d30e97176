"""Nitrogen on the ground a tree is fed on: a ring that widens, and rounds split where a cap is stated.

Doses by age are made for grown trees. Under a small canopy they pass what a local rule allows on a square
metre at once, so the ring goes out as far as roots do; where the grower states the cap of the place the round
is split as well, and what still does not fit is left out and said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil, pi, sqrt

from bearwell.plan.advice import Window
from bearwell.plan.rounds import Round
from bearwell.plan.view import View
from bearwell.reasons import Because, amount, from_fact, recorded
from bearwell.season.size import fed_ring


@dataclass(frozen=True)
class Band:
    """The ring a round is spread on: radii [m], area [m2], and whether it was widened for the dose."""

    inner: float
    outer: float
    area: float
    widened: bool = False


def cap_of(view: View) -> float:
    """The most nitrogen on a square metre at once: as the grower states it, else as good practice [g m-2]."""
    stated = view.garden.feeding.area_cap
    return view.constant("most nitrogen on the ground").number if stated is None else stated


def usual_band(view: View) -> Band:
    """The ring from off the trunk to past the drip line."""
    return Band(*fed_ring(view.size, view.book))


def widest_band(view: View) -> Band:
    """The ring as far out as it may be spread."""
    usual = usual_band(view)
    outer = sum(view.size.spread) / 4 * view.constant("widest fed band").number
    if outer <= usual.outer:
        return usual
    return Band(usual.inner, outer, pi * (outer**2 - usual.inner**2), widened=True)


def band_for(view: View, nitrogen: float) -> Band:
    """The ring for so much nitrogen [g]: the usual one, or as wide as the cap asks and roots allow."""
    usual, cap = usual_band(view), cap_of(view)
    if nitrogen <= cap * usual.area:
        return usual
    outer = min(sqrt(nitrogen / cap / pi + usual.inner**2), widest_band(view).outer)
    if outer <= usual.outer:
        return usual
    return Band(usual.inner, outer, pi * (outer**2 - usual.inner**2), widened=True)


def most_at_once(view: View) -> float | None:
    """The most nitrogen the stated cap lets a round bring [g]; None in a pot or where none is stated."""
    if view.tree.pot is not None or view.garden.feeding.area_cap is None:
        return None
    return view.garden.feeding.area_cap * widest_band(view).area


def split_rounds(view: View, rounds: Sequence[Round], printed: float) -> list[Round]:
    """Rounds in as many parts as a stated cap asks, evenly over the days to the next round.

    ``printed`` is the year's nitrogen as labels print it [g]. Parts lie some weeks apart, so a round takes no
    more of them than fit before the next one.
    """
    most = most_at_once(view)
    if most is None or len(rounds) == 0:
        return list(rounds)
    apart = view.constant("days between part rounds").number
    found = []
    for one, following in zip(rounds, [*rounds[1:], None], strict=True):
        gap = 365.25 / one.of
        if following is not None:
            gap = min(gap, (following.window.best - one.window.best).days)
        wanted = ceil(printed * one.share / most - 1e-9)
        parts = max(1, min(wanted, int(gap / apart)))
        found += [_part(one, number, parts, gap / parts) for number in range(1, parts + 1)]
    return found


def _part(one: Round, number: int, parts: int, step: float) -> Round:
    if parts == 1:
        return one
    best = one.window.best + timedelta(days=round((number - 1) * step))
    before, after = timedelta(days=int(step / 3)), timedelta(days=int(step / 2))
    earliest = max(one.window.earliest, best - before)
    return replace(
        one,
        window=Window(earliest, best, best + after),
        share=one.share / parts,
        part=number,
        parts=parts,
    )


# What is said of a dose on its ground, by whether the ring is widened and the dose is over the cap even so.
_PAST_THE_CAP = {
    (True, False): (
        "Under the canopy alone that is {usual}, so the ring goes out past it, as roots do: {rate} on {area}; "
        "some local rules allow {value} of N at once"
    ),
    (True, True): (
        "Under the canopy alone that is {usual}, so the ring goes out past it, as roots do: {rate} on {area}; "
        "some local rules allow {value} of N at once. If yours does, state it as area_cap and the plan splits "
        "the round"
    ),
    (False, False): (
        "On {area} of fed ground that is {rate}; some local rules allow {value} of N at once"
    ),
    (False, True): (
        "On {area} of fed ground that is {rate}; some local rules allow {value} of N at once. If yours does, "
        "state it as area_cap and the plan splits the round"
    ),
}


def area_links(view: View, nitrogen: float) -> tuple[Because, ...]:
    """What a dose of so much nitrogen [g] is on its ground, where the usual ring would pass the cap."""
    if view.tree.pot is not None:
        return ()
    usual, cap = usual_band(view), view.constant("most nitrogen on the ground")
    if nitrogen <= cap_of(view) * usual.area:
        return ()
    band = band_for(view, nitrogen)
    stated = view.garden.feeding.area_cap
    values = {
        "usual": amount(nitrogen / usual.area, "g m-2"),
        "rate": amount(nitrogen / band.area, "g m-2"),
        "area": amount(band.area, "m2"),
    }
    if stated is not None:
        text = (
            "Under the canopy alone that is {usual}, so the ring goes out past it, as roots do: {rate} on {area}. "
            "Your garden file allows {cap} of N at once"
            if band.widened
            else "On {area} of fed ground that is {rate}. Your garden file allows {cap} of N at once"
        )
        return (recorded(text, stated, "g m-2", cap=amount(stated, "g m-2"), **values),)
    over = nitrogen > cap.number * band.area
    return (from_fact(_PAST_THE_CAP[band.widened, over], cap, **values),)
