"""What to change after dates that missed their forecast, and whether the ranges of a garden were honest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb
from typing import Final

from bearwell.plan.change import (
    DAYS_WORTH,
    DOUBT,
    HOLDS,
    Change,
    Findings,
)
from bearwell.plan.reviewed import DateLook
from bearwell.reasons import Because, amount, computed, phrase, recorded
from bearwell.said import said

# ---------------------------------------------------------------- dates

_EVENTS: Final = {
    "full bloom": said("Full bloom"),
    "bloom start": said("First flowers"),
    "bloom end": said("End of bloom"),
    "leaf out": said("Leaf out"),
    "leaf fall": said("Leaf fall"),
    "natural drop end": said("End of the natural drop"),
    "harvest start": said("First picking"),
    "harvest end": said("Last picking"),
}
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


def date_changes(found: Findings) -> list[Change]:
    """Dates that missed their range, and dates that nobody wrote down."""
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
                "date-missed-again" if again else "date-missed",
                found.view.tree.id,
                phrase(_MISSED[one.event]),
                phrase("Two years running on the same side: go on writing the date down, each year counts for more "
                       "than the table. If the record is of another place, say how much colder or warmer yours is.")
                if again
                else phrase("Write the date down each year: two or three of them narrow the range to this tree's own."),
                tuple(links),
            )
        )  # fmt: skip
    if found.unseen:
        links = [
            computed(
                "{event} was forecast for {day}, between {low} and {high}, and no date is written down",
                event=_EVENTS[stage.event],
                day=stage.date,
                low=stage.low,
                high=stage.high,
            )
            for stage in found.unseen
        ]
        changes.append(
            Change(
                "date-not-recorded",
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
        event=_EVENTS[one.event],
        told=one.told,
        day=one.forecast,
        low=one.low,
        high=one.high,
        seen=one.seen,
        off=amount(abs(one.off), "d"),
    )


# ---------------------------------------------------------------- the garden


@dataclass(frozen=True)
class Honesty:
    """How many dates lay in ranges that are to hold eight in ten, and the mean miss [d].

    ``chance`` is how often so few would by luck alone, and ``chance_wide`` so many, were every date its own;
    dates of one year are not.
    """

    dates: int
    within: int
    mean_off: float
    mean_size: float
    chance: float
    chance_wide: float


def honesty_of(dates: Sequence[DateLook]) -> Honesty | None:
    """Whether the ranges of a span were honest; None without a date."""
    if not dates:
        return None
    count, within = len(dates), sum(one.within for one in dates)
    luck = [comb(count, k) * HOLDS**k * (1 - HOLDS) ** (count - k) for k in range(count + 1)]
    return Honesty(
        count,
        within,
        sum(one.off for one in dates) / count,
        sum(abs(one.off) for one in dates) / count,
        sum(luck[: within + 1]),
        sum(luck[within:]),
    )


def garden_changes(honesty: Honesty | None) -> list[Change]:
    """What the whole garden says: whether its ranges were too narrow, or wider than they need be."""
    if honesty is None or min(honesty.chance, honesty.chance_wide) >= DOUBT:
        return []
    narrow = honesty.chance < DOUBT
    links: list[Because] = [
        recorded(
            "Of {dates} dates seen {within} lay in their range, which is to hold eight in ten",
            honesty.within,
            dates=honesty.dates,
            within=honesty.within,
        )
    ]
    chance = honesty.chance if narrow else honesty.chance_wide
    text = (
        "By luck alone so few would come in {chance} of gardens; but trees of one year miss together, so one odd "
        "year proves little"
        if narrow
        else "By luck alone so many would come in {chance} of gardens; but trees of one year hit together, so one "
        "even year proves little"
    )
    links.append(computed(text, chance, "1", chance=amount(chance, "1")))
    if abs(honesty.mean_off) >= DAYS_WORTH:
        text = (
            "Seen on average {off} later than forecast"
            if honesty.mean_off > 0
            else "Seen on average {off} earlier than forecast"
        )
        off = amount(abs(honesty.mean_off), "d")
        links.append(computed(text, honesty.mean_off, "d", off=off))
    if narrow:
        headline = phrase("The ranges of dates were too narrow here")
        proposal = phrase(
            "Take them wider than they say for now. Dates written down each year, and daily weather of your own "
            "spot, mend them."
        )
    else:
        headline = phrase("The ranges of dates were wider than they need be")
        proposal = phrase(
            "Go on writing dates down: each year of a tree's own dates narrows its ranges."
        )
    key = "ranges-too-narrow" if narrow else "ranges-too-wide"
    return [Change(key, "", headline, proposal, tuple(links))]
