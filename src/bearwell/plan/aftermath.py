"""The morning after a cold night and the weeks that follow: uncover, look, and do not cut yet."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.fit import place_lift
from bearwell.plan.view import View
from bearwell.reasons import Because, amount, computed, from_fact, phrase
from bearwell.said import listed
from bearwell.season.cold import Limit, cold_limits, said_colder

_HARD = ("wood", "leaves")


def after_a_night(
    view: View, day: date, hurt: list[Limit], *, forecast: bool, why: tuple[Because, ...] = ()
) -> list[Advice]:
    """Looks after a night that is likely to hurt: what shows within days, and wood only after new growth."""
    first = view.constant("first look after")
    fruit = view.constant("fruit looked at after")
    organs = listed(limit.organ for limit in hurt)
    show = day + timedelta(days=round(first.number))
    last = day + timedelta(days=round(fruit.most if _has_fruit(hurt) else first.most) + 3)
    steps = (
        phrase("Look for dark, water-soaked leaves, and brown hearts in flowers cut across."),
        phrase(
            "Where it carries fruit cut one outer and one inner: glassy or drying flesh was frozen. Pick sound ripe "
            "fruit soon, and frozen fruit for juice within days."
        ),
        phrase("Do not cut, feed or strip anything yet: the tree shows later what is dead."),
    )
    likely = "hurt is likely, by the record: {organs}"
    if forecast:
        likely = "hurt is likely, if the night was as cold as forecast: {organs}"
    found = [
        Advice(
            id=f"{view.advice_id('inspect', 'after-frost', day)}-{day.day:02d}",
            tree=view.tree.id,
            kind="inspect",
            window=Window(day, min(show, last), last),
            headline=phrase("See what the night to {day} did", day=day),
            display=phrase(likely, organs=organs),
            steps=steps,
            cautions=view.cautions("inspect"),
            minutes=5,
            because=(*why, from_fact("It shows after about {value}", first), *_limit_links(hurt)),
            changes=phrase(
                "A night milder than forecast by your thermometer: then there is nothing to see"
            ),
            details={"night": day.isoformat(), "organs": [limit.organ for limit in hurt]},
        )
    ]
    if any(limit.organ in _HARD for limit in hurt):
        found.append(_wood(view, day, why))
    return found


def _has_fruit(hurt: list[Limit]) -> bool:
    return any(limit.organ in ("fruit", "young fruit") for limit in hurt)


def _limit_links(hurt: list[Limit]) -> tuple[Because, ...]:
    return tuple(
        computed(
            "{organ} stood {limit} that day",
            round(limit.temperature, 1),
            "degC",
            organ=limit.organ.capitalize(),
            limit=amount(limit.temperature, "degC", limit.low, limit.high),
        )
        for limit in hurt
    )


def _wood(view: View, day: date, why: tuple[Because, ...]) -> Advice:
    """Cut what is dead only when the new growth is full and firm."""
    wait = view.constant("wood looked at after")
    growth = view.cycle.next_after("bloom start" if view.species.keeps_leaves else "leaf out", day)
    soft = timedelta(days=round(view.constant("soft growth lasts").number))
    firm = day + timedelta(days=round(wait.least))
    if growth is not None:
        firm = max(growth.date + soft, firm)
    latest = max(day + timedelta(days=round(wait.most)), firm + timedelta(days=30))
    best = min(max(firm, day + timedelta(days=round(wait.number))), latest)
    return Advice(
        id=f"{view.advice_id('inspect', 'frost-wood', day)}-{day.day:02d}",
        tree=view.tree.id,
        kind="inspect",
        window=Window(firm, best, latest),
        headline=phrase("Find what wood the frost of {day} killed", day=day),
        display=phrase("not before the new growth is full and firm"),
        steps=(
            phrase("Scratch the bark from the tips inward: green under it lives."),
            phrase(
                "Only now cut dead wood back to live wood; on a grafted tree look below the union too."
            ),
            phrase(
                "Less leaf needs less water and feed this year. Shade or whiten bark laid bare to the sun."
            ),
        ),
        cautions=view.cautions("inspect"),
        minutes=10,
        because=(
            *why,
            from_fact(
                "Dead wood goes on dying back for months; what is cut early is cut twice or too far: wait "
                "about {value}",
                wait,
            ),
        ),
        changes=phrase("Growth on every branch before that: then nothing was killed"),
        details={"night": day.isoformat()},
    )


def after_recorded_nights(view: View) -> list[Advice]:
    """The same after the worst measured night of the last weeks, where it is likely to have hurt."""
    series = view.site.series
    if series is None:
        return []
    back = timedelta(days=round(view.constant("hurt night is recalled").number))
    first, last = max(series.start, view.today - back), min(series.end, view.today)
    if first > last:
        return []
    part = series.between(first, last)
    if not np.isfinite(part.tmin).any():
        return []
    index = int(np.nanargmin(part.tmin))
    day = part.day(index)
    colder, why_colder = said_colder(view.site)
    lift, why_lift = place_lift(view)
    low = float(part.tmin[index]) - colder + lift
    if low > warmest_that_hurts(view):
        return []
    limits = cold_limits(view.tree, view.species, view.cycle, view.site, view.book, day)
    hurt = [
        limit for limit in limits if low <= limit.temperature and limit.organ != "roots in the pot"
    ]
    if not hurt:
        return []
    why = (
        computed(
            "The night to {day} fell to {low} at the station",
            float(part.tmin[index]),
            "degC",
            day=day,
            low=amount(float(part.tmin[index]), "degC"),
        ),
        *why_colder,
        *why_lift,
        computed("so to about {low} at the tree", round(low, 1), "degC", low=amount(low, "degC")),
    )
    return after_a_night(view, day, hurt, forecast=False, why=why)


def warmest_that_hurts(view: View) -> float:
    """The warmest night that could hurt any organ of a kind [degC]."""
    species = view.species
    names = ("cold_flush", "cold_flower", "cold_fruit", "cold_leaf_tender", "cold_wood")
    rows = [fact.number for name in names if (fact := species.get(name)) is not None]
    return max(rows, default=0.0) + species["cold_young"].number
