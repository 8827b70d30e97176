"""The year's feeding of a whole garden: rounds on open days, each a blend of the bags that are left.

All trees draw on one shelf, so rounds are filled in the order of their days: what an early round takes a
late one no longer finds, and what runs out becomes the shopping list.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from bearwell.garden import Done, NoFeeding, Product
from bearwell.plan.advice import Window
from bearwell.plan.area import most_at_once, split_rounds, usual_band
from bearwell.plan.blend import Bag, Blend, Range, Want, best_blend
from bearwell.plan.need import Need, yearly_need
from bearwell.plan.rounds import Round, feeding_rounds
from bearwell.plan.shelf import CONTROLLED, TreeShelf, shelf_of
from bearwell.plan.shopping import Purchase, shopping, together
from bearwell.plan.view import LOOK_BACK, View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, computed, from_fact, phrase, recorded
from bearwell.said import said

REACH = timedelta(days=42)
SLACK = timedelta(days=10)
MONTH = 30.4
_CUTS = 12  # tries to keep whole measures under an area cap


@dataclass(frozen=True)
class Placed:
    """A round where rules and weather let it stand, and what is given there."""

    round: Round
    window: Window
    nitrogen: Quantity
    rule: NoFeeding | None = None
    blocked: bool = False
    carried_by: date | None = None
    months: int = 1
    given: Done | None = None
    want: Want | None = None
    blend: Blend | None = None
    bags: tuple[Bag, ...] = ()
    bought: bool = False
    remarks: tuple[Phrase, ...] = ()


@dataclass(frozen=True)
class TreeSchedule:
    """One tree's need and its rounds."""

    view: View
    need: Need
    rounds: tuple[Placed, ...]
    because: tuple[Because, ...]


@dataclass(frozen=True)
class Schedule:
    """Every tree's rounds of the coming year, and what has to be bought for them."""

    trees: dict[str, TreeSchedule]
    shopping: tuple[Purchase, ...]
    used: dict[str, float]


def feeding_schedule(views: Sequence[View]) -> Schedule:
    """Place and fill every round of every tree, in the order of their days."""
    planned = {view.tree.id: _rounds_of(view) for view in views}
    left = {
        product.id: product.on_hand
        for view in views[:1]
        for product in view.garden.products
        if product.on_hand is not None
    }
    doses: list[tuple[str, float]] = []
    filled: dict[str, dict[int, Placed]] = {key: {} for key in planned}
    order = sorted(
        (
            (placed.window.best, key, index)
            for key, one in planned.items()
            for index, placed in enumerate(one.rounds)
        ),
    )
    for _, key, index in order:
        one = planned[key]
        placed = _filled(one, index, left)
        filled[key][index] = placed
        if (
            placed.blend is None
            or placed.given is not None
            or placed.window.latest < one.view.today
        ):
            continue
        for bag, mass in placed.blend.doses:
            doses.append((bag, mass))
            if bag in left:
                left[bag] = max(0.0, left[bag] - mass)
    trees = {
        key: replace(one, rounds=tuple(filled[key][n] for n in range(len(one.rounds))))
        for key, one in planned.items()
    }
    return Schedule(trees, tuple(_shopping(views, doses)), together(doses))


def _shopping(views: Sequence[View], doses: list[tuple[str, float]]) -> list[Purchase]:
    products = views[0].garden.products if views else ()
    prices = {
        one.id: one.price / one.pack if one.price is not None and one.pack else None
        for one in products
    }
    stock = {one.id: one.on_hand for one in products}
    return shopping(together(doses), stock, {one.id: one.pack for one in products}, prices)


# ---------------------------------------------------------------- where rounds stand


def _rounds_of(view: View) -> TreeSchedule:
    """The rounds of a tree before any bag is opened, worked out once."""
    return replace(view.once("rounds", lambda: _tree_rounds(view)), view=view)


def _tree_rounds(view: View) -> TreeSchedule:
    need = yearly_need(view)
    rounds, why = feeding_rounds(view, need)
    start, why_start = _settled(view)
    shelf = shelf_of(view)
    rounds = split_rounds(view, rounds, _printed(need, shelf))
    wet, why_wet = _wet_days(view)
    placed: list[Placed] = []
    for one in rounds:
        share = _share(need, one.share)
        here = _place(view, shelf, one, share, wet)
        if here.window.latest < start:
            continue
        if here.window.earliest < start:
            here = replace(here, window=_from(here.window, start))
        placed.append(here)
    placed = _one_year(view, _with_records(view, placed))
    placed = _pots_make_up(view, placed)
    links = [*why, *why_start, *why_wet]
    return TreeSchedule(view, need, tuple(_carry(view, need, shelf, placed)), tuple(links))


def _printed(need: Need, shelf: TreeShelf) -> float:
    """The year's nitrogen as labels print it [g], by the feed on the shelf that frees least of its own."""
    if need.followed == "table":
        return need.nitrogen.value
    freed = [shelf.freed_in_a_year(one) for one in shelf.products if one.grade[0] > 0]
    return need.nitrogen.value / min(freed, default=1.0)


def _share(need: Need, share: float) -> Quantity:
    year = need.nitrogen
    low, high = (
        year.value if year.low is None else year.low,
        year.value if year.high is None else year.high,
    )
    return Quantity(year.value * share, "g", low * share, high * share)


def _from(window: Window, start: date) -> Window:
    return Window(start, max(window.best, start), max(window.latest, start))


def _settled(view: View) -> tuple[date, tuple[Because, ...]]:
    """When a newly planted tree may first be fed: settled in, and growing."""
    fact = view.constant("feeding settles in")
    start = view.tree.planted + timedelta(days=round(fact.number))
    if start < view.today - timedelta(days=LOOK_BACK):
        return start, ()
    links = [from_fact("A new tree is fed only after {value}, once it grows", fact)]
    wakes = view.cycle.next_after(
        "leaf out" if not view.species.keeps_leaves else "bloom start", start
    )
    usual = view.site.usual_mean
    if usual is not None and wakes is not None:
        day = min(max(view.site.northern_day(start) - 1, 0), len(usual) - 1)
        if usual[day] < view.constant("hardening base").number:
            begin = wakes.date - timedelta(days=30 if view.species.keeps_leaves else 0)
            start = max(start, begin)
            links.append(
                computed(
                    "It was planted into the cold months, so feeding waits until {day}", day=start
                )
            )
    return start, tuple(links)


def _wet_days(view: View) -> tuple[frozenset[date], tuple[Because, ...]]:
    """Days of the forecast too near heavy rain to feed on."""
    series, rules = view.site.series, view.garden.feeding
    if series is None or series.end <= view.today or rules.rain_days == 0:
        return frozenset(), ()
    ahead = series.between(view.today + timedelta(days=1), series.end)
    wet: set[date] = set()
    for index, rain in enumerate(ahead.rain):
        if rain >= rules.heavy_rain:
            day = ahead.start + timedelta(days=index)
            wet |= {day - timedelta(days=back) for back in range(rules.rain_days + 1)}
    if not wet:
        return frozenset(), ()
    why = recorded(
        "Heavy rain, {rain} or more, is forecast: no feeding within {days} days before it",
        rain=Quantity(rules.heavy_rain, "mm"),
        days=rules.rain_days,
    )
    return frozenset(wet), (why,)


def _place(
    view: View, shelf: TreeShelf, one: Round, share: Quantity, wet: frozenset[date]
) -> Placed:
    """A round on open days: the open part of its window, else the nearest open days within reach."""
    rule = shelf.closed(one.window.best)
    runs = shelf.open_runs(one.window.earliest, one.window.latest, wet)
    held = [run for run in runs if run.holds(one.window.best)]
    long = [run for run in runs if (run.latest - run.earliest).days >= 4]
    if held or long:
        run = held[0] if held else min(long, key=lambda run: _apart(run, one.window.best))
        best = min(max(one.window.best, run.earliest), run.latest)
        return Placed(one, Window(run.earliest, best, run.latest), share, rule)
    if view.tree.pot is None:
        around = shelf.open_runs(one.window.earliest - REACH, one.window.latest + REACH, wet)
        near = [run for run in around if _apart(run, one.window.best) <= REACH]
        if near:
            run = min(near, key=lambda run: _apart(run, one.window.best))
            best = min(max(one.window.best, run.earliest), run.latest)
            first = max(run.earliest, best - timedelta(days=14))
            last = min(run.latest, best + timedelta(days=21))
            return Placed(one, Window(first, best, last), share, rule)
    return Placed(one, one.window, share, rule, blocked=True)


def _apart(run: Window, day: date) -> timedelta:
    """How far a day lies from a stretch of days."""
    return max(run.earliest - day, day - run.latest, timedelta(0))


def _with_records(view: View, placed: list[Placed]) -> list[Placed]:
    """Each record of feeding at the round it belongs to: the one whose days hold it, else the nearest.

    A record counts once, and a round takes one.
    """
    names = _by_id(view)
    given: dict[int, Done] = {}
    for work in sorted(view.tree.done, key=lambda one: one.date):
        product = names.get(work.product or "")
        feeds = product is None or product.grade[0] > 0
        if work.job != "feed" or work.corrects or not feeds or work.date > view.today:
            continue
        near = [
            (not one.window.holds(work.date), abs(one.window.best - work.date), index)
            for index, one in enumerate(placed)
            if index not in given
            and one.window.earliest - SLACK <= work.date <= one.window.latest + SLACK
        ]
        if near:
            given[min(near)[2]] = work
    return [replace(one, given=given.get(index)) for index, one in enumerate(placed)]


def _one_year(view: View, placed: list[Placed]) -> list[Placed]:
    """No more than a year of rounds from today on: each number once."""
    kept, seen = [], set()
    for one in placed:
        if one.given is None and one.window.latest >= view.today:
            if one.round.key in seen:
                continue
            seen.add(one.round.key)
        kept.append(one)
    return kept


def _pots_make_up(view: View, placed: list[Placed]) -> list[Placed]:
    """A pot's open months carry what closed months cannot, up to half as much again."""
    if view.tree.pot is None or not any(one.blocked for one in placed):
        return placed
    year = [one for one in placed if one.window.best >= view.today][: placed[0].round.of]
    still_open = sum(not one.blocked for one in year)
    more = min(1.5, len(year) / still_open) if still_open else 1.0
    remark = phrase("Closed months of its year are made up by the open ones: {more} times a month's share",
                    more=said("{times:.2g}", times=more))  # fmt: skip
    return [
        one
        if one.blocked
        else replace(one, nitrogen=_times(one.nitrogen, more), remarks=(*one.remarks, remark))
        for one in placed
    ]


def _carry(view: View, need: Need, shelf: TreeShelf, placed: list[Placed]) -> list[Placed]:
    """Where only controlled-release bags serve a pot, one gift stands for the months it lasts.

    A gift that is on record stands for no more months than its nitrogen covers.
    """
    if view.tree.pot is None or not shelf.products:
        return placed
    if any(product.release != CONTROLLED and product.grade[0] > 0 for product in shelf.products):
        return placed
    duration = view.book.item("releases", CONTROLLED)["duration"].number
    longest = max(1, int(duration / MONTH))
    carried: list[Placed] = []
    until: date | None = None
    source = date.min
    for one in placed:
        day = one.given.date if one.given is not None else one.window.best
        if until is not None and day < until:
            carried.append(replace(one, carried_by=source))
            continue
        if one.blocked or (one.given is None and one.window.latest < view.today):
            carried.append(one)  # what nobody gave stands for nothing
            continue
        months = _months_covered(view, need, shelf, one, longest)
        source, until = day, day + timedelta(days=round(months * MONTH) - 10)
        carried.append(replace(one, months=months, nitrogen=_times(one.nitrogen, months)))
    return carried


def _months_covered(view: View, need: Need, shelf: TreeShelf, placed: Placed, longest: int) -> int:
    """Months a gift stands for: all it lasts when planned, what its nitrogen covers when on record."""
    done = placed.given
    product = None if done is None else _by_id(view).get(done.product or "")
    if done is None or done.amount is None or product is None or not placed.nitrogen.value:
        return longest
    share = product.grade[0] / 100
    if need.followed != "table":
        share *= shelf.freed_in_a_year(product)
    return min(longest, max(1, round(done.amount * share / placed.nitrogen.value)))


def _by_id(view: View) -> dict[str, Product]:
    return {product.id: product for product in view.garden.products}


def _times(quantity: Quantity, factor: float) -> Quantity:
    low = 0.0 if quantity.low is None else quantity.low
    high = quantity.value if quantity.high is None else quantity.high
    return Quantity(quantity.value * factor, quantity.unit, low * factor, high * factor)


# ---------------------------------------------------------------- what is given


def _filled(one: TreeSchedule, index: int, left: dict[str, float]) -> Placed:
    """A round with its blend, worked out once for as much as is left of the tree's bags."""
    key, placed = ("filled", index), one.rounds[index]
    stock = tuple(left.get(product.id) for product in shelf_of(one.view).products)
    before, beside, filled = one.view.worked_out.get(key, (None, (), placed))
    if before is not placed or beside != stock:
        filled = _fill(one.view, one.need, placed, left)
        one.view.worked_out[key] = placed, stock, filled
    found: Placed = filled
    return found


def _fill(view: View, need: Need, placed: Placed, left: dict[str, float]) -> Placed:
    """The best blend for a round from what is left on the shelf; bought where the shelf falls short."""
    if placed.blocked or placed.carried_by is not None:
        return placed
    shelf = shelf_of(view)
    by_label = need.followed == "table"
    bags = shelf.bags(placed.window.best, placed.nitrogen.value, left, by_label=by_label)
    if not any(bag.n > 0 for bag in bags):
        return placed
    want = _want(view, need, placed)
    blend, bought = best_blend(want, bags), False
    if not blend.doses or any(code.startswith("stock") for code, _ in blend.relaxed):
        blend, bought = best_blend(want, bags, buy=True), True
    filled = replace(placed, want=want, blend=blend, bags=tuple(bags), bought=bought)
    return _within_cap(view, filled)


def _within_cap(view: View, placed: Placed) -> Placed:
    """The same round cut down to what a stated area cap lets its ground take at once, and what it then lacks.

    Blends are whole measures, so the wish is lowered until the dose keeps to the cap.
    """
    most, want, blend = most_at_once(view), placed.want, placed.blend
    if most is None or want is None or blend is None or not blend.doses:
        return placed
    names, before = _by_id(view), want.n.best
    printed = _printed_in(names, blend)
    for _ in range(_CUTS):
        if printed <= most * (1 + 1e-9):
            break
        share = min(most / printed, 0.95)
        lower = Range(0.0, want.n.best * share, want.n.best * share)
        want = replace(
            want, n=lower, p2o5=_lowered(want.p2o5, share), k2o=_lowered(want.k2o, share)
        )
        blend = best_blend(want, placed.bags, buy=placed.bought)
        printed = _printed_in(names, blend)
    if blend is placed.blend:
        return placed
    lacking = phrase(
        "The cap of your place on a square metre leaves this round {lacking} of N short of its share",
        lacking=Quantity(before - blend.n, "g"),
    )
    return replace(placed, want=want, blend=blend, remarks=(*placed.remarks, lacking))


def _printed_in(names: dict[str, Product], blend: Blend) -> float:
    return sum(mass * names[key].grade[0] / 100 for key, mass in blend.doses)


def _lowered(one: Range, share: float) -> Range:
    return Range(one.low * share, one.best * share, one.high)


def _want(view: View, need: Need, placed: Placed) -> Want:
    """What one round should bring: nitrogen in its range, the others beside it, quick salts limited."""
    n = placed.nitrogen
    part = n.value / need.nitrogen.value if need.nitrogen.value else 0.0
    # Whole measures need room: a tenth either way even where the need is stated without a range.
    low, high = (
        min(n.value if n.low is None else n.low, 0.9 * n.value),
        max(n.high or n.value, 1.1 * n.value),
    )
    pot = view.tree.pot
    if pot is not None:
        salts = view.constant("quick salts of a pot").number * pot.volume
    else:
        salts = view.constant("quick salts of the ground").number * usual_band(view).area
    return Want(
        Range(low, n.value, high),
        _beside(need.p2o5, part, n.value),
        _beside(need.k2o, part, n.value),
        least_dose=0.0 if pot is not None else view.constant("least dose").number,
        most_products=int(view.constant("most products in a dose").number),
        most_salt=salts,
    )


def _beside(year: Quantity, part: float, nitrogen: float) -> Range:
    """Phosphate or potash of a round: near its share, none is better than far too much."""
    best = year.value * part
    low = (year.low or 0.0) * part
    high = max((year.high or year.value) * part, nitrogen)
    return Range(min(low, best), min(best, high), high)
