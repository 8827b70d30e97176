"""What to change in feeding and in the days of work, and what decisions and gaps in the records say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bearwell.plan.change import (
    DAYS_WORTH,
    NAMED,
    SHORT_WORTH,
    Change,
    Findings,
)
from bearwell.plan.lookback import Line
from bearwell.plan.reviewed import NitrogenLook
from bearwell.reasons import Because, Value, amount, computed, phrase, recorded

# ---------------------------------------------------------------- feeding


def feeding_changes(found: Findings) -> list[Change]:
    """Feeding beside the plan: short of it, beyond it, or not to be judged from what is written down."""
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
                "feed-without-amount",
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
                "feed-not-recorded",
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
                "feed-short",
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
                "feed-over",
                tree,
                phrase("Feeding went beyond the plan by {more} of nitrogen", more=amount(more, "g")),
                phrase("Give less: what roots cannot take is washed out. If the tree asked for it, let a leaf test say "
                       "so."),
                tuple(links),
            )
        ]  # fmt: skip
    return []


def _sums(nitrogen: NitrogenLook) -> tuple[Because, ...]:
    text = (
        "Its year needs {need} of nitrogen by the labels, as the plan saw it when the span began"
        if nitrogen.by_label
        else "Its year needs {need} of nitrogen that comes free, as the plan saw it when the span began"
    )
    return (
        computed(
            text,
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
        values: dict[str, Value] = {
            "day": line.advice.window.best,
            "wanted": amount(wanted[0], "g"),
        }
        given = sum(act.nitrogen or 0.0 for act in line.acts)
        if line.decision is not None and line.decision.what == "skip":
            text = "The round of {day}, {wanted} of nitrogen, was left out: {reason}"
            links.append(
                recorded(text, wanted[0], "g", reason=line.decision.reason or "-", **values)
            )
        elif not line.acts and line.verdict != "still-open":
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


def off_day_changes(found: Findings) -> list[Change]:
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
                f"{kind}-late" if worst.days_off > 0 else f"{kind}-early",
                found.view.tree.id,
                phrase(headline, days=amount(abs(worst.days_off), "d")),
                phrase(proposal),
                (why, *worst.advice.because[-2:]),
            )
        )
    return changes


# ---------------------------------------------------------------- decisions and gaps

_TOLD_BY: Final = {
    "feed": "Tell the plan for good: a bag kept for other trees (kept_for), days without feeding ([[no_feeding]]), or "
            "a leaf test that says it has enough.",
    "prune": "Tell the plan for good: the shape and the size you want (shape, wanted_height, wanted_spread).",
    "thin": "Tell the plan for good: count what hangs, or write the crops down, and it asks for no more than the tree "
            "needs.",
    "water": "Tell the plan for good: the water there is in a week ([watering]), or days without it ([[no_watering]]).",
    "protect": "Tell the plan for good: the shelter it stands under, or how much warmer your spot is than the station.",
    "harvest": "Write down when you picked: the plan learns this tree's own days.",
    "inspect": "A look that serves you nothing may stay undone: it moves nothing else.",
    "measure": "A measure you cannot take may stay undone: the plan goes on with a wider range.",
}  # fmt: skip


def left_out_changes(tree: str, lines: Sequence[Line]) -> list[Change]:
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
                f"{kind}-left-out-again",
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


def unwritten_changes(found: Findings) -> list[Change]:
    """Cuts and thinning that were advised and of which nothing is written down."""
    lines = [
        line
        for line in found.matched.lines
        if line.advice.kind in ("prune", "thin") and line.verdict in ("not-recorded", "put-off")
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
            "work-not-recorded",
            found.view.tree.id,
            phrase("Of {count} cuts or thinnings advised nothing is written down", count=len(lines))
            if len(lines) > 1
            else phrase("Of one cut or thinning advised nothing is written down"),
            phrase("If it was done, write the day down: the size, the wood and the crop that the plan counts on follow "
                   "from it."),
            tuple(links),
        )
    ]  # fmt: skip
