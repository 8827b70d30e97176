"""Merges the planners' advice into one list: ordered by what closes first, with clashes said aloud."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from operator import is_not

from bearwell.errors import Problem
from bearwell.plan.advice import Advice
from bearwell.plan.cold import plan_after_cold, plan_cold
from bearwell.plan.correct import plan_corrections
from bearwell.plan.feed import feed_advice
from bearwell.plan.harvest import plan_harvest
from bearwell.plan.prune import plan_prune
from bearwell.plan.schedule import TreeSchedule
from bearwell.plan.scout import plan_scout
from bearwell.plan.thinning import plan_crop
from bearwell.plan.view import View
from bearwell.plan.water import water_advice
from bearwell.plan.watering import TreeWatering
from bearwell.reasons import phrase

PLANNERS: dict[str, Callable[[View], list[Advice]]] = {
    "cold": plan_cold,
    "after cold": plan_after_cold,
    "harvest": plan_harvest,
    "crop": plan_crop,
    "prune": plan_prune,
    "scout": plan_scout,
    "correct": plan_corrections,
}

# Sections of a list, most pressing first: cold, what closes within its days, what is at its best, what is
# merely open, looking round, what is held back, what has passed.
SECTIONS = ("protect", "closing", "now", "open", "round", "blocked", "missed")

# How long a closed window is still told as missed.
TOLD_AFTER = 21
_FIRST = {
    "protect": 0,
    "harvest": 1,
    "thin": 2,
    "water": 3,
    "prune": 4,
    "feed": 5,
    "measure": 6,
    "inspect": 7,
}


@dataclass(frozen=True)
class Worklist:
    """What to do in the days from ``today``, most pressing first."""

    garden: str
    today: date
    days: int
    advice: tuple[Advice, ...]
    problems: tuple[Problem, ...]

    @property
    def last(self) -> date:
        """The last day of the list."""
        return self.today + timedelta(days=self.days)

    def sections(self) -> dict[str, list[Advice]]:
        """The advice by section, in order; empty sections left out."""
        found: dict[str, list[Advice]] = {key: [] for key in SECTIONS}
        for one in self.advice:
            found[section_of(one, self.last)].append(one)
        return {key: advice for key, advice in found.items() if advice}

    def standing(self, *standings: str) -> list[Advice]:
        """The advice that stands so."""
        return [one for one in self.advice if one.standing in standings]


def minutes_of(advice: Iterable[Advice]) -> float:
    """Minutes of work on all of them; what one look does for the whole garden counts once."""
    once: dict[str, float] = {}
    total = 0.0
    for one in advice:
        if one.details.get("per") == "garden":
            once[one.headline.text] = one.minutes
        else:
            total += one.minutes
    return total + sum(once.values())


def plan_tree(view: View, feeding: TreeSchedule, watering: TreeWatering | None) -> list[Advice]:
    """Everything the planners say for a tree over the year, with its standing today and its clashes.

    ``feeding`` is its part of the garden's feeding schedule: all trees share one shelf. ``watering`` is
    its part of the garden's watering: all share the water there is.
    """
    alone = view.once(
        "planned", lambda: [one for planner in PLANNERS.values() for one in planner(view)]
    )
    planned = [*alone, *water_advice(view, watering), *_fed(view, feeding)]
    return _clashes(view, [one.standing_on(view.today) for one in planned])


def _fed(view: View, feeding: TreeSchedule) -> Sequence[Advice]:
    """Its feeding, worked out once for the same rounds with the same blends."""
    rounds, advice = view.worked_out.get("fed", (None, ()))
    same = rounds is not None and len(rounds) == len(feeding.rounds)
    if not same or any(map(is_not, rounds, feeding.rounds)):
        advice = feed_advice(feeding)
        view.worked_out["fed"] = feeding.rounds, advice
    found: Sequence[Advice] = advice
    return found


def merge(
    garden: str, today: date, days: int, planned: Sequence[Advice], problems: Sequence[Problem]
) -> Worklist:
    """The part of the year's advice that belongs in the coming days."""
    last = today + timedelta(days=days)
    open_now = {(one.tree, one.kind) for one in planned if one.standing == "due"}
    kept = [
        one
        for one in planned
        # A missed round is not told where the next one is open already.
        if _belongs(one, today, last)
        and not (one.standing == "missed" and (one.tree, one.kind) in open_now)
    ]
    kept.sort(
        key=lambda one: (
            SECTIONS.index(section_of(one, last)),
            one.window.latest,
            _FIRST[one.kind],
            one.tree,
            one.id,
        )
    )
    return Worklist(garden, today, days, tuple(kept), tuple(problems))


def _belongs(one: Advice, today: date, last: date) -> bool:
    if one.standing == "missed":
        told = one.kind in ("feed", "prune", "thin") or one.kind == "measure"
        return told and today - one.window.latest <= timedelta(days=TOLD_AFTER)
    if one.kind == "inspect" and one.quantity is None:
        # Looking round is listed in its best days and when it closes, not all the weeks it would serve.
        near = today - timedelta(days=7) <= one.window.best <= last
        return one.window.latest >= today and (near or one.window.latest <= last)
    return one.window.earliest <= last and one.window.latest >= today


def section_of(one: Advice, last: date) -> str:
    """Where an advice belongs on a list that ends on ``last``: one of SECTIONS."""
    if one.standing in ("blocked", "missed"):
        return one.standing
    if one.kind == "protect":
        return "protect"
    if one.kind in ("inspect", "measure") and one.quantity is None:
        return "round"
    if one.window.latest <= last:
        return "closing"
    return "now" if one.window.best <= last else "open"


def _after_the_cut(one: Advice, cuts: Sequence[Advice], wait: timedelta) -> Advice:
    """A round that would meet the main cut goes after it where its days allow, else is told."""
    for cut in cuts:
        if not cut.window.best - wait <= one.window.best <= cut.window.best + wait:
            continue
        later = cut.window.best + wait
        if later <= one.window.latest:
            remark = phrase(
                "Two weeks after the main cut of {day}, as both push growth", day=cut.window.best
            )
            return replace(one, window=replace(one.window, best=later)).remarked(remark)
        return one.remarked(
            phrase(
                "Clash: the main cut is best on {day}. Cut first and feed two weeks later, or give half: "
                "both push growth at once",
                day=cut.window.best,
            )
        )
    return one


def _clashes(view: View, advice: list[Advice]) -> list[Advice]:
    """Jobs on one tree that get in each other's way within the same weeks."""
    wait = timedelta(days=round(view.constant("feed waits after a cut").number))
    cuts = [one for one in advice if one.kind == "prune" and one.details.get("heavy")]
    picks = [one for one in advice if one.kind == "harvest"]
    checked = []
    for one in advice:
        if one.kind == "feed" and one.standing != "blocked":
            one = _after_the_cut(one, cuts, wait)
        if (
            one.kind == "prune"
            and one.details.get("heavy")
            and view.species.habit != "ever-bearing"
        ):
            for pick in picks:
                if pick.window.earliest <= one.window.best <= pick.window.latest:
                    one = one.remarked(
                        phrase(
                            "Clash: fruit still hangs until about {day}; cut when it is bare",
                            day=pick.window.latest,
                        )
                    )
                    break
        if (
            one.kind == "water"
            and one.standing == "due"
            and any(other.kind == "protect" and other.standing == "due" for other in advice)
        ):
            one = one.remarked(
                phrase(
                    "Cold is near: if the soil is dry, water before it, not in it"
                    if one.details["feel_first"]
                    else "Cold is near: water today so that the soil is moist before it, not in it"
                )
            )
        checked.append(one)
    return checked
