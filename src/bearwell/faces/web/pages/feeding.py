"""The pages of feeding: a tree's feeding year with its drawing, the shelf, and the sheet to carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from bearwell.api import (
    NUTRIENT_NAMES,
    FeedingYear,
    LoadedGarden,
    Shelf,
    feeding_sheet,
    feeding_year,
)
from bearwell.errors import BadInput
from bearwell.faces.feeding import (
    FLOWS,
    ROUTE_LEADS,
    ROUTE_WORDS,
    Account,
    Shown,
    account,
    brought,
    dose_words,
    largest_need,
    percent,
    rounds_shown,
    shares,
    told,
    why_this_route,
)
from bearwell.faces.language import N_, _, _p
from bearwell.faces.shelf import Sheet, days_asked, sheet, unserved, unused_because
from bearwell.faces.twins_feeding import feeding_twin
from bearwell.faces.web.drawing.ledger import (
    Gift,
    Line,
    Panel,
    ledger_drawing,
    nice_top,
    range_bar,
)
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.web.pages.tree import place
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, convert
from bearwell.said import said

OFTEN = 3  # doses from which a note that all of them carry is said once, under the table


def planned_year(opened: LoadedGarden, tree_id: str) -> FeedingYear:
    """The feeding year of a tree; says so where the tree cannot be planned."""
    tree = opened.garden.tree(tree_id)
    if tree.id not in opened.schedule.trees:
        raise BadInput(
            said("the feeding of '{tree}' cannot be planned", tree=tree.id),
            "see the notes on the garden",
        )
    return feeding_year(opened, tree.id)


def tree_twin(opened: LoadedGarden, year: FeedingYear, words: Words) -> dict[str, Any]:
    """A tree's feeding year as JSON."""
    rounds = rounds_shown(opened, year, words)
    return feeding_twin(year, rounds, account(opened, year), opened.today, words)


def rows(rounds: Sequence[Shown]) -> list[list[Shown]]:
    """The rounds as rows of a table: those that one gift carries in a row stand in one."""
    found: list[list[Shown]] = []
    for one in rounds:
        before = found[-1][-1] if found else None
        carried = one.standing == "carried" and before is not None and before.standing == "carried"
        if before is not None and carried and before.placed.carried_by == one.placed.carried_by:
            found[-1].append(one)
        else:
            found.append([one])
    return found


def said_once(rounds: Sequence[Shown]) -> tuple[list[str], list[Shown]]:
    """Notes that every dose of the year carries, and the rounds without them."""
    dosed = [one for one in rounds if one.counted is not None]
    if len(dosed) < OFTEN:
        return [], list(rounds)
    common = [note for note in dosed[0].notes if all(note in one.notes for one in dosed)]
    bare = [
        replace(one, notes=tuple(note for note in one.notes if note not in common))
        for one in rounds
    ]
    return common, bare


def tree_shown(opened: LoadedGarden, year: FeedingYear, words: Words) -> dict[str, Any]:
    """What the page of a tree's feeding year shows."""
    tree, need = year.tree, year.need
    rounds, kept = rounds_shown(opened, year, words), account(opened, year)
    evergreen = opened.view(tree).species.keeps_leaves
    sentences = told(year, kept, evergreen, words)
    drawn, marks, days = panels(year, kept, words), gifts(year, rounds, words), blooms(opened, year)
    described = _(
        "Three panels from {first} to {last}: nitrogen asked for and set free, taken up and washed out, and how "
        "full the bank is. {told} The table below says the same month by month.",
        first=words.day(kept.first),
        last=words.day(kept.last),
        told=" ".join(sentences),
    )
    drawings = [
        ledger_drawing(
            drawn, marks, days, kept.first, kept.last, opened.today, words,
            narrow=narrow, name=tree.called, described=described,
        )
        for narrow in (False, True)
    ]  # fmt: skip
    every_dose, bare = said_once(rounds)
    top = largest_need(year)
    bars = {
        route.name: range_bar(
            route.nitrogen.value if route.nitrogen.low is None else route.nitrogen.low,
            route.nitrogen.value,
            route.nitrogen.high or route.nitrogen.value,
            top,
        )
        for route in need.routes
    }
    places = 2 if need.nitrogen.value < 30 or words.units == "us" else 1

    def small(grams: float) -> str:
        shown = convert(grams, "g", "oz") if words.units == "us" else grams
        return words.number(shown, places) if round(shown, places) else "0"

    return {
        "tree": tree,
        "year": year,
        "rows": rows(bare),
        "every_dose": every_dose,
        "kept": kept,
        "told": sentences,
        "drawing": readable(drawings, readings(year, kept, marks, opened.today, words)),
        "bars": bars,
        "why": why_this_route(year),
        "why_rounds": opened.schedule.trees[tree.id].because,
        "totals": brought(rounds, opened.today),
        "place": place(tree, words),
        "small": small,
        "percent": percent,
        "flows": FLOWS,
        "nutrient_words": NUTRIENT_NAMES,
        "route_words": ROUTE_WORDS,
        "route_leads": ROUTE_LEADS,
        "Quantity": Quantity,
    }


# ---------------------------------------------------------------- the shelf and the sheet


def shelf_shown(opened: LoadedGarden, listed: Shelf, words: Words) -> dict[str, Any]:
    """What the page of the shelf shows."""
    return {
        "listed": listed,
        "products": {one.id: one for one in opened.garden.products},
        "trees": {one.id: one for one in opened.garden.trees},
        "lacking": unserved(opened),
        "why_not": {
            one.product.id: unused_because(opened, one.product, words)
            for one in listed.products
            if not one.used
        },
        "Quantity": Quantity,
    }


def sheet_of(opened: LoadedGarden, days: int, words: Words) -> Sheet:
    """The sheet of the coming days."""
    return sheet(opened, feeding_sheet(opened, days_asked(days)), days, words)


# ---------------------------------------------------------------- the drawing


GIFT_WORDS = {
    "given": N_("Round noted: {what}"),
    "planned": N_("Round planned: {what}"),
    "held": N_("Round held back: {what}"),
}


def readings(
    year: FeedingYear, kept: Account, marks: Sequence[Gift], today: date, words: Words
) -> Readings:
    """What each day of the drawing says: the figures of the day itself, where the lines are means."""
    ledger, flow = year.ledger, year.ledger.flow
    bank, without = shares(ledger), shares(year.without_late)
    found = Readings(
        _(
            "Point at a day, touch it, or go through the days with the arrow keys, to read its figures."
        ),
        max((today - kept.first).days, 0),
    )

    def mass(grams: float) -> str:
        return words.quantity(Quantity(float(grams), "g"))

    given: dict[date, list[str]] = {}
    for mark in marks:
        given.setdefault(mark.day, []).append(_(GIFT_WORDS[mark.tone], what=mark.label))
    sentence = _(
        "{day}: asked for {wanted}, set free {freed}, taken up {uptake}, washed out {leached}; "
        "the bank is {bank} full."
    )
    if kept.late_rounds:
        sentence = _(
            "{day}: asked for {wanted}, set free {freed}, taken up {uptake}, washed out {leached}; "
            "the bank is {bank} full, without the late rounds {without}."
        )
    for at in range(ledger.index(kept.first), ledger.index(kept.last) + 1):
        day = ledger.start + timedelta(days=at)
        rounds = "; ".join(given.get(day, ()))
        found.add(
            f"{sentence} {{rounds}}." if rounds else sentence,
            day=words.day(day),
            wanted=mass(ledger.wanted[at]),
            freed=mass(flow.freed[at] + ledger.humus[at]),
            uptake=mass(flow.uptake[at]),
            leached=mass(flow.leached[at]),
            bank=percent(bank[at]),
            without=percent(without[at]),
            rounds=rounds,
        )
    return found


def panels(year: FeedingYear, kept: Account, words: Words) -> list[Panel]:
    """The three panels of the drawing."""
    ledger, bare = year.ledger, year.without_late
    part = slice(ledger.index(kept.first), ledger.index(kept.last) + 1)
    flow = ledger.flow
    supply = np.asarray(flow.freed + ledger.humus)[part]
    wanted, uptake, leached = ledger.wanted[part], flow.uptake[part], flow.leached[part]
    bank, without = shares(ledger)[part], shares(bare)[part]
    first = (
        Line("wanted", _("asked for"), wanted, filled=True),
        Line("supply", _("set free by feed and soil"), supply),
    )
    second = (
        Line("leached", _("washed out"), leached, filled=True),
        Line("uptake", _("taken up by roots"), uptake),
    )
    third: tuple[Line, ...] = (Line("bank", _("in the bank"), bank),)
    if kept.late_rounds:
        third = (*third, Line("without", _("without the late rounds"), without))
    top = max(1.0, float(bank.max(initial=0.0)), float(without.max(initial=0.0)))
    return [
        *(_daily(lines, words) for lines in (first, second)),
        Panel(third, top, _p("bank", "full"), level=1.0, every=3),
    ]


def _daily(lines: tuple[Line, ...], words: Words, every: int = 7) -> Panel:
    means = [
        float(line.values[start : start + every].mean())
        for line in lines
        for start in range(0, len(line.values), every)
    ]
    top = nice_top(max(means, default=0.0))
    named = _("{mass} a day", mass=words.quantity(Quantity(top, "g")))
    return Panel(lines, top, named, top, every)


def gifts(year: FeedingYear, rounds: Sequence[Shown], words: Words) -> list[Gift]:
    """The rounds as marks: those noted on their own day, those to come on their best."""
    marks = []
    for one in rounds:
        if one.standing == "blocked":
            marks.append(Gift(one.placed.window.best, "held", one.notes[0]))
        elif one.ahead:
            day = max(one.placed.window.best, words.today or one.placed.window.best)
            doses = [
                _("{mass} of {product}", mass=dose_words(x, words), product=x.product.name)
                for x in one.doses
            ]
            marks.append(Gift(day, "planned", words.listed(doses)))
    marks += [
        Gift(work.date, "given", work.product or _("noted"))
        for work in year.tree.done
        if work.job == "feed" and (words.today is None or work.date <= words.today)
    ]
    return sorted(marks, key=lambda one: one.day)


def blooms(opened: LoadedGarden, year: FeedingYear) -> list[date]:
    """The days of full bloom that the account may hold."""
    return [
        stage.date
        for stage in opened.view(year.tree).cycle.every_stage
        if stage.event == "full bloom" and stage.wave == 1
    ]
