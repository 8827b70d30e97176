"""What to change after a season: proposals worked out from what was advised and what was recorded.

Each carries its reasons. Nothing is called undone: where nothing is written down, the proposal is to write.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import comb
from typing import Final

from bearwell.plan.advice import SURENESS
from bearwell.plan.cropload import current_plan
from bearwell.plan.lookback import Line, Matched
from bearwell.plan.reviewed import ColdLook, CropLook, DateLook, NitrogenLook
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.season.cold import said_colder
from bearwell.season.cycle import Stage
from bearwell.season.waterspan import WaterSpan

# Ours, no source: what is worth telling.
DAYS_WORTH: Final = 3  # days before or after a window
SHORT_WORTH: Final = 1.0  # g of nitrogen
LACK_WORTH: Final = 0.1  # share of what the leaves asked for
NAMED: Final = 5  # rounds or nights named in a chain
HOLDS: Final = 0.8  # share of cases a range is to hold
DOUBT: Final = 0.05  # chance below which so many misses are not put down to luck


@dataclass(frozen=True)
class Change:
    """A proposal: what was found, what to do about it, and why."""

    key: str
    tree: str
    headline: Phrase
    proposal: Phrase
    because: tuple[Because, ...]

    @property
    def confidence(self) -> str:
        """The weakest confidence in the chain of reasons."""
        ranks = [
            SURENESS.index(link.confidence) for link in self.because if link.confidence in SURENESS
        ]
        return SURENESS[max(ranks, default=0)]


@dataclass(frozen=True)
class Findings:
    """Everything that was found of one tree over a span, as the proposals need it."""

    view: View
    since: date
    until: date
    matched: Matched
    nitrogen: NitrogenLook
    dates: tuple[DateLook, ...]
    earlier: tuple[DateLook, ...]
    unseen: tuple[Stage, ...]
    crops: tuple[CropLook, ...]
    water: WaterSpan | None
    waterings: int
    cold: ColdLook | None


def changes_of(found: Findings) -> list[Change]:
    """What to change for one tree, in the order in which it weighs."""
    return [
        *_feeding(found),
        *_off_days(found),
        *_swing(found),
        *_crops(found),
        *_water(found),
        *_cold(found),
        *_dates(found),
        *_left_out(found.view.tree.id, found.matched.lines),
        *_unwritten(found),
    ]


# ---------------------------------------------------------------- feeding


def _feeding(found: Findings) -> list[Change]:
    tree, nitrogen = found.view.tree.id, found.nitrogen
    if nitrogen.unweighed:
        why = recorded(
            "Of {feedings} feedings written down {unweighed} name no product of the shelf or no amount",
            nitrogen.unweighed,
            feedings=nitrogen.feedings,
            unweighed=nitrogen.unweighed,
        )
        return [
            Change(
                "feed without amount",
                tree,
                phrase("Feedings without an amount: {unweighed}", unweighed=nitrogen.unweighed),
                phrase("Write the product and the grams or cups with each: the plan counts what it was given."),
                (why, *_sums(nitrogen)),
            )
        ]  # fmt: skip
    rounds = [line for line in found.matched.lines if line.advised_nitrogen is not None]
    if nitrogen.short >= SHORT_WORTH and not nitrogen.feedings:
        return [
            Change(
                "feed not recorded",
                tree,
                phrase("No feeding is written down, where {advised} of nitrogen was advised",
                       advised=nitrogen.advised),
                phrase("If it was fed, write down the day and the amount, even roughly. If it was not, the next "
                       "rounds need no making up: they start from what the year asks for."),
                (*_sums(nitrogen), *_rounds(rounds)),
            )
        ]  # fmt: skip
    if nitrogen.short >= SHORT_WORTH:
        less = nitrogen.advised.value - nitrogen.given
        return [
            Change(
                "feed short",
                tree,
                phrase("Feeding fell short by {less} of nitrogen, by what is written down", less=amount(less, "g")),
                phrase("Give the rounds named below in full next time. If one of them was given, write it down."),
                (*_sums(nitrogen), *_rounds(rounds)),
            )
        ]  # fmt: skip
    if nitrogen.over >= SHORT_WORTH:
        more = nitrogen.given - nitrogen.advised.value
        links = list(_sums(nitrogen))
        if nitrogen.beside > 0:
            links.append(
                recorded(
                    "{beside} of it was given where the plan asked for none",
                    nitrogen.beside,
                    "g",
                    beside=amount(nitrogen.beside, "g"),
                )
            )
        return [
            Change(
                "feed over",
                tree,
                phrase("Feeding went beyond the plan by {more} of nitrogen", more=amount(more, "g")),
                phrase("Give less: what roots cannot take is washed out. If the tree asked for it, let a leaf test say so."),
                tuple(links),
            )
        ]  # fmt: skip
    return []


def _sums(nitrogen: NitrogenLook) -> tuple[Because, ...]:
    return (
        computed(
            "Its year needs {need} of nitrogen that comes free, as the plan saw it when the span began",
            nitrogen.need.value,
            "g",
            need=nitrogen.need,
        ),
        computed(
            "The rounds of the span come to {advised} of nitrogen by the labels",
            nitrogen.advised.value,
            "g",
            advised=nitrogen.advised,
        ),
        recorded(
            "What is written down as given comes to {given} by the labels, of which the need counts {counted}",
            nitrogen.given,
            "g",
            given=amount(nitrogen.given, "g"),
            counted=amount(nitrogen.counted, "g"),
        ),
    )


def _rounds(lines: Sequence[Line]) -> list[Because]:
    """The rounds that nothing is written down of, or that got less than their range."""
    links = []
    for line in lines:
        wanted = line.advised_nitrogen
        if wanted is None or line.repeat:
            continue
        values = {"day": line.advice.window.best, "wanted": amount(wanted[0], "g")}
        given = sum(act.nitrogen or 0.0 for act in line.acts)
        if line.decision is not None and line.decision.what == "skip":
            text = "The round of {day}, {wanted} of nitrogen, was left out: {reason}"
            links.append(
                recorded(text, wanted[0], "g", reason=line.decision.reason or "-", **values)
            )
        elif not line.acts and line.verdict != "still open":
            text = "Of the round best on {day}, {wanted} of nitrogen, nothing is written down"
            links.append(recorded(text, wanted[0], "g", **values))
        elif line.acts and given < wanted[1]:
            text = "The round best on {day} was to give {wanted} of nitrogen, and {given} is written down"
            links.append(recorded(text, given, "g", given=amount(given, "g"), **values))
    return links[:NAMED]


# ---------------------------------------------------------------- days

_LATE: Final = {
    "thin": ("Thinning came {days} late", "Thin in the days below: after them it still helps what hangs, but no "
             "longer next year's bloom. A count at the natural drop tells in time."),
    "prune": ("A cut came {days} late", "Cut in the days below, or put the advice off with your reason: the plan "
              "then tells what the later day costs."),
    "feed": ("A feeding came {days} late", "Feed in the days below. If those days never suit you, a slow product "
             "asks for fewer of them."),
    "harvest": ("Picking went on {days} longer than its days", "Write down the last picking of each year: the plan "
                "learns how long this tree holds its fruit."),
}  # fmt: skip
_EARLY: Final = {
    "thin": ("Thinning came {days} early", "Wait for the natural drop: what falls by itself need not be taken off."),
    "prune": ("A cut came {days} early", "Cut in the days below: earlier the cold or the flowers may be in the way."),
    "feed": ("A feeding came {days} early", "Feed in the days below: before them roots take up little of it."),
    "harvest": ("Picking began {days} before its days", "Write down the first picking of each year: the plan learns "
                "when this tree is ripe."),
}  # fmt: skip


def _off_days(found: Findings) -> list[Change]:
    """The job of each sort that was furthest off its days."""
    changes = []
    for kind in _LATE:
        lines = [line for line in found.matched.lines if line.advice.kind == kind and line.acts]
        worst = max(lines, key=lambda line: abs(line.days_off), default=None)
        if worst is None or abs(worst.days_off) < DAYS_WORTH:
            continue
        headline, proposal = (_LATE if worst.days_off > 0 else _EARLY)[kind]
        window, day = worst.advice.window, min(act.day for act in worst.acts)
        why = recorded(
            "It is written down for {day}; its days were {earliest} to {latest}, best {best}, as told on {told}",
            worst.days_off,
            "d",
            day=day,
            earliest=window.earliest,
            latest=window.latest,
            best=window.best,
            told=worst.told,
        )
        changes.append(
            Change(
                f"{kind} late" if worst.days_off > 0 else f"{kind} early",
                found.view.tree.id,
                phrase(headline, days=amount(abs(worst.days_off), "d")),
                phrase(proposal),
                (why, *worst.advice.because[-2:]),
            )
        )
    return changes


# ---------------------------------------------------------------- crop


def _swing(found: Findings) -> list[Change]:
    """The year after a heavy crop, of a tree that swings."""
    plan = current_plan(found.view)
    if plan is None or not plan.bears:
        return []
    outlook = plan.outlook
    last = outlook.last
    if last is None or last[2] != "on" or outlook.next_state != "off":
        return []
    year, load, _ = last
    why = recorded(
        "The crop of {year} was {load} times an even one by number",
        load,
        "1",
        year=str(year),
        load=f"{load:.2g}",
    )
    coming = computed(
        "so the crop of {next} is put at {share} of an even one",
        float(outlook.expected.mass(1.0).value),
        "1",
        next=str(outlook.year),
        share=amount(outlook.expected.mass(1.0).value, "1"),
    )
    thins = (
        phrase("Thin the next heavy crop harder and earlier, before its buds are made; in the light year leave what "
               "comes, and feed and cut less.")
        if plan.thins
        else phrase("In a heavy year pick early and cut fruiting wood; in the light year that follows leave what "
                    "comes, and feed and cut less.")
    )  # fmt: skip
    return [
        Change(
            "off year ahead",
            found.view.tree.id,
            phrase("After a heavy crop a light year is to be expected"),
            thins,
            (*outlook.because[:2], why, coming),
        )
    ]


def _crops(found: Findings) -> list[Change]:
    changes = []
    for crop in found.crops:
        if crop.within is False and crop.first is not None and crop.picked is not None:
            changes.append(_crop_missed(found, crop, crop.picked.mass, crop.first.crop))
        mass = crop.fruit_mass
        if mass is not None and crop.usual.low is not None and mass < crop.usual.low:
            fact = found.view.species["fruit_mass"]
            changes.append(
                Change(
                    "small fruit",
                    found.view.tree.id,
                    phrase("The fruit of {year} was small: {mass} each", year=str(crop.year), mass=amount(mass, "g")),
                    phrase("Keep fewer fruit, or look at its water while they swelled: both make them small."),
                    (
                        recorded("{crop} in {fruit} fruit were picked", mass, "g",
                                 crop=amount(crop.picked.mass if crop.picked else 0.0, "g"),
                                 fruit=(crop.picked.fruit or 0) if crop.picked else 0),
                        from_fact("A fruit of {kind} weighs about {value}", fact, kind=found.view.species.name),
                    ),
                )
            )  # fmt: skip
    return changes


def _crop_missed(found: Findings, crop: CropLook, picked: float, put: Quantity) -> Change:
    first = crop.first
    told = found.since if first is None else first.told
    links = [
        computed(
            "On {told} the crop of {year} was put at {crop}",
            put.value,
            "g",
            told=told,
            year=str(crop.year),
            crop=put,
        ),
        recorded("Written down as picked: {picked}", picked, "g", picked=amount(picked, "g")),
    ]
    if crop.last is not None:
        links.insert(
            1,
            computed(
                "On {told}, the last time before picking, at {crop}",
                crop.last.crop.value,
                "g",
                told=crop.last.told,
                crop=crop.last.crop,
            ),
        )
    more = picked > put.value
    return Change(
        "crop beyond forecast" if more else "crop below forecast",
        found.view.tree.id,
        phrase("The crop of {year} was heavier than its range", year=str(crop.year))
        if more
        else phrase("The crop of {year} was lighter than its range", year=str(crop.year)),
        phrase(
            "Count the fruit after the natural drop: a count narrows the range more than anything else."
        ),
        tuple(links),
    )


# ---------------------------------------------------------------- water and cold


def _water(found: Findings) -> list[Change]:
    water = found.water
    if water is None or not water.asked or water.lacking < LACK_WORTH * water.asked:
        return []
    links = (
        computed(
            "Its leaves asked for {asked}; {rain} of rain counted on its ground",
            water.asked,
            "L",
            asked=amount(water.asked, "L"),
            rain=amount(water.rain, "L"),
        ),
        recorded(
            "Waterings written down: {count}, {given} in all",
            water.given,
            "L",
            count=found.waterings,
            given=amount(water.given, "L"),
        ),
        computed(
            "so by the account it was short on {days}, and its leaves went without {lacking}",
            water.lacking,
            "L",
            days=amount(water.short_days, "d"),
            lacking=amount(water.lacking, "L"),
        ),
    )
    if not found.waterings:
        return [
            Change(
                "water not recorded",
                found.view.tree.id,
                phrase("It went short of water, or its waterings were not written down"),
                phrase("Write waterings down, one touch each; or dig a hand deep in the next dry weeks and see whether "
                       "the account is right."),
                links,
            )
        ]  # fmt: skip
    return [
        Change(
            "water short",
            found.view.tree.id,
            phrase("It went short of water on {days}", days=amount(water.short_days, "d")),
            phrase("Water sooner in the dry weeks, and more at once where the ground takes it: its page of water says when."),
            links,
        )
    ]  # fmt: skip


def _cold(found: Findings) -> list[Change]:
    cold = found.cold
    if cold is None or not cold.hurts or cold.looked:
        return []
    links = (
        Because(
            phrase("The night to {day} fell to about {low} at the tree", day=cold.day, low=amount(cold.lowest, "degC")),
            round(cold.lowest, 1), "degC", "weather", "", "computed",
        ),
        *said_colder(found.view.site)[1],
        *cold.limit.because,
    )  # fmt: skip
    if cold.protected:
        return [
            Change(
                "cold outcome not recorded",
                found.view.tree.id,
                phrase("How it came through the night to {day} is not written down", day=cold.day),
                phrase("After the next cold night look at it and write down what you see, also that it is whole: only so "
                       "does its protection prove itself."),
                links,
            )
        ]  # fmt: skip
    return [
        Change(
            "cold not recorded",
            found.view.tree.id,
            phrase("The night to {day} may have hurt it, and nothing is written down of it", day=cold.day),
            phrase("If it was hurt, have its cover ready before such a night; if it came through whole, write that down: its "
                   "place may be warmer than the record says."),
            links,
        )
    ]  # fmt: skip


# ---------------------------------------------------------------- dates

_MISSED: Final = {
    "full bloom": "Full bloom lay outside its range",
    "bloom start": "First flowers lay outside their range",
    "bloom end": "The end of bloom lay outside its range",
    "leaf out": "Leaf out lay outside its range",
    "leaf fall": "Leaf fall lay outside its range",
    "natural drop end": "The end of the natural drop lay outside its range",
    "harvest start": "The first picking lay outside its range",
    "harvest end": "The last picking lay outside its range",
}


def _dates(found: Findings) -> list[Change]:
    changes = []
    before = {one.event: one for one in found.earlier if one.wave == 1}
    for one in found.dates:
        if one.within:
            continue
        links = [_date_link(one)]
        last = before.get(one.event)
        again = last is not None and not last.within and (last.off > 0) == (one.off > 0)
        if last is not None and again:
            links.insert(0, _date_link(last))
        changes.append(
            Change(
                "date missed again" if again else "date missed",
                found.view.tree.id,
                phrase(_MISSED[one.event]),
                phrase("Two years running on the same side: go on writing the date down, each year counts for more than the "
                       "table. If the record is of another place, say how much colder or warmer yours is.")
                if again
                else phrase("Write the date down each year: two or three of them narrow the range to this tree's own."),
                tuple(links),
            )
        )  # fmt: skip
    if found.unseen:
        links = [
            computed(
                "{event} was forecast for {day}, between {low} and {high}, and no date is written down",
                event=stage.event.capitalize(),
                day=stage.date,
                low=stage.low,
                high=stage.high,
            )
            for stage in found.unseen
        ]
        changes.append(
            Change(
                "date not recorded",
                found.view.tree.id,
                phrase("No date is written down of its bloom or first picking")
                if len(found.unseen) > 1
                else phrase("A date is missing that would teach the plan"),
                phrase("Touch the stage on the day you see it: nothing else makes the days of its work as sure."),
                tuple(links),
            )
        )  # fmt: skip
    return changes


def _date_link(one: DateLook) -> Because:
    if one.off >= 0:
        text = "{event}: forecast on {told} for {day}, between {low} and {high}; seen on {seen}, {off} later"
    else:
        text = "{event}: forecast on {told} for {day}, between {low} and {high}; seen on {seen}, {off} earlier"
    return recorded(
        text,
        one.off,
        "d",
        event=one.event.capitalize(),
        told=one.told,
        day=one.forecast,
        low=one.low,
        high=one.high,
        seen=one.seen,
        off=amount(abs(one.off), "d"),
    )


# ---------------------------------------------------------------- decisions and gaps

_TOLD_BY: Final = {
    "feed": "Tell the plan for good: a bag kept for other trees (kept_for), days without feeding ([[no_feeding]]), or a "
            "leaf test that says it has enough.",
    "prune": "Tell the plan for good: the shape and the size you want (shape, wanted_height, wanted_spread).",
    "thin": "Tell the plan for good: count what hangs, or write the crops down, and it asks for no more than the tree needs.",
    "water": "Tell the plan for good: the water there is in a week ([watering]), or days without it ([[no_watering]]).",
    "protect": "Tell the plan for good: the shelter it stands under, or how much warmer your spot is than the station.",
    "harvest": "Write down when you picked: the plan learns this tree's own days.",
    "inspect": "A look that serves you nothing may stay undone: it moves nothing else.",
    "measure": "A measure you cannot take may stay undone: the plan goes on with a wider range.",
}  # fmt: skip


def _left_out(tree: str, lines: Sequence[Line]) -> list[Change]:
    """Advice of one sort left out or put off twice or more for the same reason."""
    said: dict[tuple[str, str], list[Line]] = {}
    for line in lines:
        decision = line.decision
        if decision is not None and decision.what in ("skip", "postpone") and decision.reason:
            key = (line.advice.kind, decision.reason.strip().casefold())
            said.setdefault(key, []).append(line)
    changes = []
    for (kind, _), some in said.items():
        if len(some) < 2:
            continue
        links = [
            recorded(
                "Advised for {best}, decided on {day}: {reason}",
                best=line.advice.window.best,
                day=line.decision.day or line.advice.window.best,
                reason=line.decision.reason,
            )
            for line in some
            if line.decision is not None
        ]
        first = some[0].decision
        changes.append(
            Change(
                f"{kind} left out again",
                tree,
                phrase(
                    "Left out or put off {count} times with the same reason: {reason}",
                    count=len(some),
                    reason="" if first is None else first.reason,
                ),
                phrase(_TOLD_BY[kind]),
                tuple(links[:NAMED]),
            )
        )
    return changes


def _unwritten(found: Findings) -> list[Change]:
    """Cuts and thinning that were advised and of which nothing is written down."""
    lines = [
        line
        for line in found.matched.lines
        if line.advice.kind in ("prune", "thin") and line.verdict in ("not recorded", "put off")
    ]
    if not lines:
        return []
    links = []
    for line in lines[:NAMED]:
        text = (
            "A cut was advised for {earliest} to {latest}, best {best}"
            if line.advice.kind == "prune"
            else "Taking fruit off was advised for {earliest} to {latest}, best {best}"
        )
        window = line.advice.window
        links.append(
            computed(
                text, earliest=window.earliest, latest=window.latest, best=window.best
            )
        )  # fmt: skip
    return [
        Change(
            "work not recorded",
            found.view.tree.id,
            phrase("Of {count} cuts or thinnings advised nothing is written down", count=len(lines))
            if len(lines) > 1
            else phrase("Of one cut or thinning advised nothing is written down"),
            phrase("If it was done, write the day down: the size, the wood and the crop that the plan counts on follow from it."),
            tuple(links),
        )
    ]  # fmt: skip


# ---------------------------------------------------------------- the garden


@dataclass(frozen=True)
class Honesty:
    """How many dates lay in ranges that are to hold eight in ten, and the mean miss [d].

    ``chance`` is how often so few would by luck alone, were every date its own; dates of one year are not.
    """

    dates: int
    within: int
    mean_off: float
    mean_size: float
    chance: float


def honesty_of(dates: Sequence[DateLook]) -> Honesty | None:
    """Whether the ranges of a span were honest; None without a date."""
    if not dates:
        return None
    count, within = len(dates), sum(one.within for one in dates)
    chance = sum(
        comb(count, k) * HOLDS**k * (1 - HOLDS) ** (count - k) for k in range(within + 1)
    )
    return Honesty(
        count,
        within,
        sum(one.off for one in dates) / count,
        sum(abs(one.off) for one in dates) / count,
        chance,
    )


def garden_changes(honesty: Honesty | None) -> list[Change]:
    """What the whole garden says: whether its ranges were too narrow."""
    if honesty is None or honesty.chance >= DOUBT:
        return []
    links = (
        recorded(
            "Of {dates} dates seen {within} lay in their range, which is to hold eight in ten",
            honesty.within,
            dates=honesty.dates,
            within=honesty.within,
        ),
        computed(
            "By luck alone so few would come in {chance} of gardens; trees of one year miss together, so one odd year "
            "proves little",
            honesty.chance,
            "1",
            chance=amount(honesty.chance, "1"),
        ),
    )
    if abs(honesty.mean_off) >= DAYS_WORTH:
        text = (
            "Seen on average {off} later than forecast"
            if honesty.mean_off > 0
            else "Seen on average {off} earlier than forecast"
        )
        off = abs(honesty.mean_off)
        links = (*links, computed(text, honesty.mean_off, "d", off=amount(off, "d")))
    return [
        Change(
            "ranges too narrow",
            "",
            phrase("The ranges of dates were too narrow here"),
            phrase("Take them wider than they say for now. Dates written down each year, and daily weather of your own spot, "
                   "mend them."),
            links,
        )
    ]  # fmt: skip
