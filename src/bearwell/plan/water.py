"""Watering advice for one tree from the garden's plan: how much, how, by when, and whether to wait."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

from bearwell.knowledge import Fact
from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import View
from bearwell.plan.watering import WEEK, Round, TreeWatering, Wait
from bearwell.reasons import Because, Phrase, Value, amount, computed, from_fact, in_a_row, phrase
from bearwell.said import said
from bearwell.season.water import AHEAD

_HOSE_MINUTES = 5.0  # to open and close the drippers of a tree, common practice, no source
LONG_RUN = (
    16 * 60
)  # minutes of drippers past which more of them are worth a word, common practice, no source
_MOST_PARTS, _REACH_OF_PARTS = 4, 8  # parts of a long run that are named, and the days they lie in
SLACK = 2  # days either side of its best on which a round in the ground serves as well


def water_advice(view: View, watering: TreeWatering | None) -> list[Advice]:
    """The next watering of a tree, or that it waits, for rain, for a rule or for want of water."""
    if watering is None or watering.state.daily_use <= 0:
        return []
    pot = view.tree.pot is not None
    horizon = int(view.constant("watering horizon of a pot" if pot else "watering horizon").number)
    last = view.today + timedelta(days=horizon)
    for one in watering.rounds:
        if one.day <= last:
            return [_round(view, watering, one)]
    if watering.wait is not None:
        return [_waiting(view, watering, watering.wait)]
    due = watering.closed is not None and watering.closed[0] <= last
    first = watering.rounds[0] if watering.rounds else None
    cut = watering.denied_on if watering.denied > 0 else None
    if cut is not None and (first is None or cut < first.day) and (due or cut <= last):
        return [_scarce(view, watering, cut)]
    if not due:
        return []
    return [_closed(view, watering) if first is None else _round(view, watering, first)]


# ---------------------------------------------------------------- a round


def _advice(
    view: View,
    watering: TreeWatering,
    window: Window,
    headline: Phrase,
    one: Round | None,
    why: str,
) -> Advice:
    """An advice on the water of a tree, with a round or without."""
    state, drip = watering.state, watering.drip
    litres = None if one is None else tidy(one.litres)
    run = None if litres is None or drip is None else round(watering.minutes(litres))
    by_hand = 0.0 if litres is None else 3 + watering.minutes(litres)
    left = max(0.0, (state.ready - state.deficit) / state.daily_use)
    return Advice(
        id=view.advice_id("water", "root-zone" if one else why, window.best),
        tree=view.tree.id,
        kind="water",
        window=window,
        headline=headline,
        quantity=None
        if litres is None
        else amount(
            litres, "L", 0.0 if state.rain_doubt else tidy(0.7 * litres), tidy(1.3 * litres)
        ),
        display=None if litres is None else how_much(watering, litres),
        steps=_steps(watering) if one else (),
        cautions=view.cautions("water", *_cases(watering)),
        minutes=by_hand if run is None else _HOSE_MINUTES,
        because=(*state.because, *_why_round(view, watering, one)),
        changes=phrase("Rain, a hot spell, or your own finger in the soil"),
        details={
            "deficit_l": round(state.deficit, 1),
            "ready_l": round(state.ready, 1),
            "use_l_d": round(state.daily_use, 2),
            "days_left": round(left, 1),
            "why": why,
            "cans": None if litres is None else round(watering.cans(litres), 1),
            "run_min": run,
            "rounds": [
                {"date": each.day.isoformat(), "l": tidy(each.litres)} for each in watering.rounds
            ],
            "phase": watering.phase.name,
            "may_use": watering.phase.share,
            "feel_first": state.rain_doubt is not None,
        },
        remarks=tuple(_remarks(view, watering, one)),
    )


def _round(view: View, watering: TreeWatering, one: Round) -> Advice:
    window = _window(view, watering, one)
    return _advice(view, watering, window, _headline(watering, one), one, one.why)


def _window(view: View, watering: TreeWatering, one: Round) -> Window:
    """The unbroken run of open days around a round on which it serves as well; a freeze leaves one day."""
    if one.why == "freeze":
        return Window(one.day, one.day, one.day)
    slack = 1 if view.tree.pot is not None else SLACK
    back = min((one.day - view.today).days, SLACK)
    earliest = one.day - timedelta(days=_open_run(watering, one.day, back, -1))
    latest = one.day + timedelta(days=_open_run(watering, one.day, slack, 1))
    return Window(earliest, one.day, latest)


def _open_run(watering: TreeWatering, day: date, most: int, way: int) -> int:
    """How many days in a row before (-1) or after (1) a day are open, up to a number."""
    for far in range(1, most + 1):
        if not watering.open_on(day + timedelta(days=way * far)):
            return far - 1
    return most


def tidy(litres: float) -> float:
    """Litres as a grower measures them: to a tenth below ten, to whole ones, to fives above a hundred."""
    if litres < 10:
        return round(litres, 1)
    return float(round(litres)) if litres < 100 else float(5 * round(litres / 5))


def _headline(watering: TreeWatering, one: Round) -> Phrase:
    if watering.state.rain_doubt is not None:
        return phrase(
            "Feel the soil a hand deep: water before the freeze only if it is dry"
            if one.why == "freeze"
            else "Feel the soil a hand deep: water only if it is dry"
        )
    if one.why == "freeze":
        return phrase("Water dry soil before the freeze")
    if watering.view.tree.pot is not None:
        return phrase("Water the pot")
    if deep(watering):
        return phrase("Water, deep and slowly")
    return phrase("Water, a little")


def how_much(watering: TreeWatering, litres: float) -> Phrase:
    """Litres, and as the grower gives them: minutes of the drippers or watering cans.

    Where rain is unknown in a wet season they are the most, and only for soil that is found dry.
    """
    doubtful = watering.state.rain_doubt is not None
    given = _as_given(watering, litres)
    return phrase("at most {given}", given=given) if doubtful else given


def _as_given(watering: TreeWatering, litres: float) -> Phrase:
    drip, can = watering.drip, watering.view.garden.watering.can
    if drip is not None:
        minutes = watering.minutes(litres)
        run = (
            amount(round(minutes / 60, 1), "h") if minutes >= 90 else amount(round(minutes), "min")
        )
        return phrase(
            "{litres} in all: its dripper of {flow} for {run}"
            if drip.emitters == 1
            else "{litres} in all: its {drippers} drippers of {flow} for {run}",
            litres=amount(litres, "L"),
            drippers=drip.emitters,
            flow=amount(drip.flow, "L/h"),
            run=run,
        )
    cans = watering.cans(litres)
    if cans < 0.75:
        return phrase("{litres} in all", litres=amount(litres, "L"))
    count = max(round(cans), 1)
    return phrase(
        "{litres} in all: 1 can of {can}"
        if count == 1
        else "{litres} in all: {count} cans of {can}",
        litres=amount(litres, "L"),
        count=count,
        can=amount(can, "L"),
    )


def deep(watering: TreeWatering) -> bool:
    """Whether its soil and roots are watered deep and seldom rather than little and often."""
    view, zone = watering.view, watering.state.zone
    return zone.tabled_share * zone.total >= 1000 * view.constant("deep watering from").number


def _steps(watering: TreeWatering) -> tuple[Phrase, ...]:
    feel = phrase("First put a finger or a trowel in: if it is still moist a hand deep, wait.")
    if watering.state.rain_doubt is not None:
        return (feel, _manner(watering))
    return (_manner(watering), feel)


def _manner(watering: TreeWatering) -> Phrase:
    """How the water is put on."""
    if watering.view.tree.pot is not None:
        return phrase("Until a little runs out below; empty the saucer.")
    if watering.drip is not None:
        return phrase(
            "Run the drippers in one go; look that none is blocked and that nothing runs off."
        )
    if deep(watering):
        how = "From the drip line inwards, off the trunk, in one slow go; then leave it until the next round."
    else:
        how = "From the drip line inwards, off the trunk; its roots hold little at a time."
    return phrase(how)


def _cases(watering: TreeWatering) -> list[str]:
    """Which narrower cautions of watering hold: pots, drippers, salt, scarce water, weeks that may freeze."""
    view = watering.view
    cases = ["pot"] if view.tree.pot is not None else []
    if watering.drip is not None:
        cases.append("drip")
    salt = watering.leaching
    if salt is not None and salt.too_salty:
        cases.append("salt")
    if view.garden.no_watering or view.garden.watering.most_a_week is not None:
        cases.append("rules")
    climate = view.site.climate
    if climate is not None:
        day = min(view.today.timetuple().tm_yday, len(climate.tmin)) - 1
        if climate.tmin[day] < view.constant("frosty weeks").number:
            cases.append("frost")
    return cases


# ---------------------------------------------------------------- why


def reasons(watering: TreeWatering) -> tuple[Because, ...]:
    """Everything a tree's watering rests on, whether or not a round is due."""
    view = watering.view
    phase = watering.phase.because
    return (
        *watering.state.because,
        *_why_manner(view, watering),
        *(() if phase is None else (phase,)),
        *_why_litres(view, watering),
    )


def notes(watering: TreeWatering) -> tuple[Phrase, ...]:
    """What is doubtful, waited for or held back."""
    found = _remarks(watering.view, watering, None)
    if watering.wait is not None:
        text = "{rain} of rain are forecast by {day}: worth waiting for"
        found.insert(
            0, phrase(text, rain=amount(watering.wait.rain, "mm"), day=watering.wait.until)
        )
    if watering.closed is not None and not watering.rounds:
        found.insert(0, _because_of_rule(watering, _DUE))
    return tuple(found)


def _why_round(view: View, watering: TreeWatering, one: Round | None) -> list[Because]:
    state, pot = watering.state, view.tree.pot is not None
    links = [
        computed(
            "Over {days} days it has lost {deficit} more than it got; it can lose {ready} of {total} before it is "
            "short",
            state.deficit,
            "L",
            days=state.days_counted,
            deficit=amount(state.deficit, "L"),
            ready=amount(state.ready, "L"),
            total=amount(state.total, "L"),
        )
    ]
    links += _why_manner(view, watering)
    if one is None:
        return links if watering.phase.because is None else [*links, watering.phase.because]
    if one.why == "freeze":
        links.append(
            from_fact(
                "The coming night may freeze and more than {value} of what it can lose is gone: moist soil holds "
                "and gives off more warmth than dry",
                view.constant("dry before a freeze"),
            )
        )
    elif not pot and one.net >= 0.99 * 1000 * view.constant("deepest watering").number:
        links.append(
            in_millimetres(
                "At most {value} at once on its ground; more is slow to sink in",
                view.constant("deepest watering"),
            )
        )
    if watering.phase.because is not None:
        links.append(watering.phase.because)
    links += _why_litres(view, watering)
    return links


def in_millimetres(text: str, fact: Fact, **values: Value) -> Because:
    """A link that rests on a depth of water: told in millimetres, as rain is."""
    low, high = (None if end is None else 1000 * end for end in (fact.low, fact.high))
    depth = amount(1000 * fact.number, "mm", low, high)
    link = from_fact(text, fact, **values)
    told = phrase(text, **{**link.statement.values, "value": depth})
    return replace(link, statement=told, value=depth.value, unit="mm", low=low, high=high)


def _why_manner(view: View, watering: TreeWatering) -> list[Because]:
    if view.tree.pot is not None:
        return []
    row, zone, state = view.constant("deep watering from"), watering.state.zone, watering.state
    ready = zone.tabled_share * zone.total
    every = ready * zone.area / state.daily_use if state.daily_use else 0.0
    return [
        in_millimetres(
            "Roots of {depth} in {soil} hold {ready} before the tree is short, no less than {value}: so deep and "
            "seldom, about every {every} in this weather"
            if deep(watering)
            else "Roots of {depth} in {soil} hold {ready} before the tree is short, less than {value}: so little and "
            "often, about every {every} in this weather",
            row,
            depth=amount(zone.depth, "m"),
            soil=said(zone.texture),
            ready=amount(ready, "mm"),
            every=amount(max(float(round(every)), 1.0), "d"),
        )
    ]  # fmt: skip


def _why_litres(view: View, watering: TreeWatering) -> list[Because]:
    links: list[Because] = []
    if view.garden.watering.efficiency is not None:
        links.append(
            Because(
                phrase(
                    "You reckon that {share} of what is given stays",
                    share=said("{percent:.0f} %", percent=100 * watering.efficiency),
                ),
                watering.efficiency, "1", "garden file", "watering", "read",
            )
        )  # fmt: skip
    else:
        name = "efficiency of drippers" if watering.drip else "irrigation efficiency"
        links.append(
            from_fact("About {value} of what is given stays in the root zone", view.constant(name))
        )
    salt = watering.leaching
    if view.tree.pot is not None:
        share = view.constant("leaching share")
        if salt is None or salt.share <= share.number:
            links.append(
                from_fact(
                    "{value} of what a pot gets should drain, so that salts leave with it", share
                )
            )
    elif salt is not None and float(watering.state.days.drainage[: watering.state.today].sum()) > (
        watering.state.zone.total / 2
    ):
        links.append(
            computed("Rain has soaked through since and washed salts down: none is added for them")
        )
        return links
    if salt is not None:
        links.append(salt.because)
    return links


def _remarks(view: View, watering: TreeWatering, one: Round | None) -> list[Phrase]:
    state = watering.state
    remarks = []
    if state.rain_doubt is not None:
        remarks.append(state.rain_doubt)
    elif state.unknown_rain:
        remarks.append(
            phrase(
                "Rain is unknown on {days} of these days and counted as none",
                days=state.unknown_rain,
            )
        )
    if state.usual_days > 3 and state.rain_doubt is None:
        remarks.append(
            phrase(
                "{days} of these days stand on the usual weather, not on this year's: feel the soil first",
                days=state.usual_days,
            )
        )
    if float(state.days.supposed.sum()) > 0:
        remarks.append(
            phrase(
                "Nothing is written down since: it is supposed to have been watered whenever it was short"
            )
        )
    elif view.tree.last_done("water", view.today) is None:
        remarks.append(phrase("It counts no watering: none is written down for this tree"))
    shelter = view.garden.shelter(view.tree.shelter)
    if shelter is not None and shelter.shape != "wall":
        remarks.append(
            phrase(
                "While the {shelter} is closed no rain reaches it: feel the soil",
                shelter=shelter.id,
            )
        )
    if one is not None and watering.closed is not None:
        if one.why == "rule":
            remarks.append(_because_of_rule(watering, _FORWARD))
        elif one.day > watering.closed[0]:
            remarks.append(_because_of_rule(watering, _OFF))
    if one is not None and watering.drip is not None and watering.minutes(one.litres) > LONG_RUN:
        remarks.append(_long_run(watering, one))
    if tidy(watering.denied) > 0:
        remarks.append(_short_of(watering))
    if watering.leaching is not None and watering.leaching.too_salty:
        remarks.append(
            phrase(
                "This water is too salty for {kind}: rain water or better serves",
                kind=view.species.name,
            )
        )
    return remarks


def _long_run(watering: TreeWatering, one: Round) -> Phrase:
    """The open days from a long run on that it may be spread over, as many as it has parts."""
    parts = min(math.ceil(watering.minutes(one.litres) / LONG_RUN), _MOST_PARTS)
    coming = [one.day + timedelta(days=ahead) for ahead in range(_REACH_OF_PARTS)]
    days = [day for day in coming if watering.open_on(day)][:parts]
    if one.why == "freeze" or len(days) < 2:
        return phrase("That is a long run: with more drippers it sinks in as well")
    return phrase(
        "That is a long run: in {parts} parts on {days} and {last}, or with more drippers, it sinks in as well",
        parts=len(days),
        days=in_a_row(days[:-1]),
        last=days[-1],
    )


def _short_of(watering: TreeWatering) -> Phrase:
    """What scarce water leaves of all a tree would get in two weeks."""
    given, wish = tidy(watering.litres), tidy(watering.litres + watering.denied)
    if not given:
        return phrase(
            "Water is short: of the {wish} it wants in these two weeks it gets none",
            wish=amount(wish, "L"),
        )
    return phrase(
        "Water is short: of the {wish} it wants in these two weeks it gets {given}, {less} too little",
        wish=amount(wish, "L"),
        given=amount(given, "L"),
        less=amount(tidy(wish - given), "L"),
    )


_DUE, _FORWARD = "It is due on a closed day", "Brought forward"
_OFF, _BACK = "Put off", "Held back"
_RULED = {
    _DUE: "It is due on a closed day: {reason} forbids watering on {day}",
    _FORWARD: "Brought forward: {reason} forbids watering on {day}",
    _OFF: "Put off: {reason} forbids watering on {day}",
    _BACK: "Held back: {reason} forbids watering on {day}",
}


def _because_of_rule(watering: TreeWatering, what: str) -> Phrase:
    """What a rule does to a round: ``what`` as it is told, with the rule and its day where they are known."""
    if watering.closed is None:
        return phrase(what)
    day, rule = watering.closed
    return phrase(_RULED[what], reason=rule.reason, day=day)


# ---------------------------------------------------------------- waiting


def _waiting(view: View, watering: TreeWatering, wait: Wait) -> Advice:
    window = Window(view.today, view.today, wait.until)
    one = _advice(view, watering, window, phrase("Wait with watering: rain is due"), None, "wait")
    row = view.constant("rain worth waiting for")
    link = from_fact(
        "{rain} of rain are forecast by {day}; a watering waits where rain brings {value} or more of its round "
        "before the tree feels it",
        row,
        rain=amount(wait.rain, "mm"),
        day=wait.until,
    )
    remark = phrase("Look again after {day}: if it stays dry, water then", day=wait.until)
    return replace(one, because=(*one.because, link), remarks=(*one.remarks, remark))


def _closed(view: View, watering: TreeWatering) -> Advice:
    """Held back by a rule: until the next open day, or told on the day it is due where none is near."""
    due = watering.closed[0] if watering.closed is not None else view.today
    coming = [due + timedelta(days=ahead) for ahead in range(1, AHEAD)]
    day = next((each for each in coming if watering.open_on(each)), due)
    headline = phrase("Watering is forbidden on the day it is due")
    one = _advice(view, watering, Window(day, day, day), headline, None, "closed")
    remark = _because_of_rule(watering, _BACK)
    return replace(one, standing="blocked", remarks=(*one.remarks, remark))


def _scarce(view: View, watering: TreeWatering, cut: date) -> Advice:
    """No water left for a tree, from the open day on which it wanted some to the end of that week."""
    week = (cut - view.today).days // WEEK
    left = (view.today + timedelta(days=WEEK * (week + 1)) - cut).days - 1
    window = Window(cut, cut, cut + timedelta(days=_open_run(watering, cut, left, 1)))
    headline = "No water left for it this week" if week == 0 else "No water left for it next week"
    one = _advice(view, watering, window, phrase(headline), None, "scarce")
    return replace(one, standing="blocked")
