"""Winters: the drawings of a record, and a tree's odds in words."""

from __future__ import annotations

from datetime import date, timedelta
from math import log10
from typing import Any

from markupsafe import Markup

from bearwell.api import Chance, LoadedGarden, Outlook, winter
from bearwell.faces.language import _
from bearwell.faces.web.drawing.ledger import range_bar
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.web.drawing.winters import (
    Low,
    Return,
    hardening_drawing,
    winters_drawing,
)
from bearwell.faces.web.pages.tonight import degrees
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

_BANDED = 10  # the return period whose range is drawn
_RAREST = 1e-3  # left end of the scale of odds
_LEAST_TOLD = 0.0005  # a yearly chance below one in two thousand is told as hardly ever


def shown(opened: LoadedGarden, words: Words) -> dict[str, Any]:
    """Everything the page shows."""
    seen = winter(opened)
    drawn = {
        name: readable(
            [draw(opened, seen, words, narrow=narrow) for narrow in (False, True)], readings
        )
        for name, draw, readings in (
            ("winters", _winters, winter_readings(seen, words)),
            ("hardening", _hardening, hardening_readings(seen, opened.today, words)),
        )
    }
    return {
        "seen": seen,
        "drawn": drawn,
        "bars": {one.view.tree.id: _bar(one.lost.chance) for one in seen.trees if one.lost},
        "odds": odds,
        "Quantity": Quantity,
        "trees": {tree.id: tree for tree in opened.garden.trees},
    }


def odds(chance: Chance) -> str:
    """A yearly chance as people say it, seldom to often: one in 17 (one in 180 to one in 5)."""
    if chance.best is None:
        return _(
            "{counted} of {winters} winters (by so few, {low} to {high} a year)",
            counted=chance.counted,
            winters=chance.winters,
            low=_percent(chance.low),
            high=_percent(chance.high),
        )
    if chance.best < _LEAST_TOLD and chance.high < 0.01:
        return _("hardly ever by this record")
    told, often, seldom = (one_in(one) for one in (chance.best, chance.high, chance.low))
    if often == seldom:
        return told if told == often else f"{told} ({often})"
    return _("{value} ({low} to {high})", value=told, low=seldom, high=often)


def one_in(chance: float) -> str:
    """One winter in so many; beyond a thousand hardly any."""
    if chance >= 0.95:
        return _("every winter")
    if chance >= 0.4:
        return _("{number} winters in ten", number=round(10 * chance))
    if chance < 1e-3:
        return _("hardly ever")
    years = 1 / chance
    return _("one in {years}", years=f"{round(years) if years < 20 else round(years, -1):.0f}")


def _percent(chance: float) -> str:
    return f"{100 * chance:.0f} %"


def _bar(chance: Chance) -> Markup:
    """On a scale from one winter in a thousand to every winter, in equal steps for equal factors."""
    best = chance.counted / chance.winters if chance.best is None else chance.best
    low, middle, high = (
        1 + log10(max(one, _RAREST)) / -log10(_RAREST) for one in (chance.low, best, chance.high)
    )
    return range_bar(low, middle, high, 1.0)


def winter_readings(seen: Outlook, words: Words) -> Readings:
    """What each winter of the drawing says."""
    found = Readings(
        _(
            "Point at a winter, touch it, or go through the winters with the arrow keys, to read it."
        ),
        max(len(seen.winters) - 1, 0),
    )
    for one in seen.winters:
        found.add(
            _("Winter {begun}/{ended}: {air} in its coldest night."), begun=str(one.label - 1),
            ended=f"{one.label % 100:02d}", air=words.quantity(Quantity(one.coldest, "degC")),
        )  # fmt: skip
    return found


def hardening_readings(seen: Outlook, today: date, words: Words) -> Readings:
    """What each day of the course of hardening says."""
    course = seen.hardening
    found = Readings(
        _("Point at a day, touch it, or go through the days with the arrow keys, to read it."),
        0 if course is None else min(max((today - course.start).days, 0), len(course.state) - 1),
    )
    if course is None:
        return found
    for place, (state, ceiling) in enumerate(zip(course.state, course.ceiling, strict=True)):
        found.add(
            _("{day}: hardened to {state}; {ceiling} can still be reached."),
            day=words.day(course.start + timedelta(days=place)),
            state=_percent(float(state)),
            ceiling=_percent(float(ceiling)),
        )
    return found


def _winters(opened: LoadedGarden, seen: Outlook, words: Words, *, narrow: bool) -> Markup:  # noqa: ARG001
    if not seen.winters:
        return Markup("")

    def degree(air: float) -> str:
        return words.quantity(Quantity(air, "degC"))

    def named(years: int, air: float) -> str:
        if narrow:
            return _("1 in {years}", years=years)
        return _("1 in {years}: {air}", years=years, air=degree(air))

    lows = [Low(one.label, one.coldest, degree(one.coldest)) for one in seen.winters]
    returns = [
        Return(
            one.temperature,
            one.low,
            one.high,
            named(one.years, one.temperature),
            one.years == _BANDED,
        )
        for one in seen.levels
    ]
    values = [one.air for one in lows] + [one.air for one in returns]
    values += [one.low for one in returns if one.banded] + [0.0]
    text = "; ".join(f"{one.label}: {one.said}" for one in lows)
    return winters_drawing(
        lows, returns, degrees(min(values), max(values), words), narrow=narrow, described=text
    )


def _hardening(opened: LoadedGarden, seen: Outlook, words: Words, *, narrow: bool) -> Markup:  # noqa: ARG001
    course = seen.hardening
    if course is None:
        return Markup("")
    state = [float(value) for value in course.state]
    text = _(
        "From none in late summer to {most} % at most, then back as it warms; days ahead run on the usual weather.",
        most=round(100 * max(state)),
    )
    return hardening_drawing(
        course.start,
        state,
        [float(value) for value in course.ceiling],
        opened.today,
        narrow=narrow,
        described=text,
    )
