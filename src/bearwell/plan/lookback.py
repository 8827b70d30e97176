"""What was advised over a past span beside what was recorded in it, each of both accounted for once.

The plan is asked again on days of the span, each time with no more than was known in its morning. An advice
counts from the plan made nearest before its best day. A record that nobody advised stands for itself, and an
advice without a record is not called undone: nothing is written down of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final, Literal, get_args

from bearwell.garden import Product, Tree
from bearwell.garden.counts import Pick
from bearwell.garden.model import Done
from bearwell.plan.advice import Advice, Window
from bearwell.plan.decisions import SAME_JOB, Decision, stem
from bearwell.plan.morning import JOBS_MATCHED, Morning
from bearwell.plan.schedule import MONTH

Verdict = Literal[
    "as-advised",
    "differently",
    "no-day",
    "left-out",
    "put-off",
    "not-recorded",
    "asked-again",
    "held-back",
    "still-open",
]

# From what was done to what is not known of.
VERDICTS: Final[tuple[Verdict, ...]] = get_args(Verdict)
DONE: Final = ("as-advised", "differently", "no-day")

# Best days of one yearly job move by less than this from plan to plan; those of one feeding round by less
# than the other. Ours, no source.
_MOVES: Final = timedelta(days=120)
_ROUND_MOVES: Final = timedelta(days=45)
_YEARLY: Final = ("prune", "thin", "harvest", "measure")
# Jobs that go on: a second pass of them belongs to the first.
_IN_PASSES: Final = ("prune", "thin", "harvest")
# Days outside its window on which a crop may be picked; of other jobs SAME_JOB. Ours, no source.
_PICKED_WITHIN: Final = 60
# How far an amount may miss one that has no range of its own. Ours, no source.
NEAR: Final = 0.2


@dataclass(frozen=True)
class Act:
    """What was recorded of one job on one tree on one day; ``rows`` are the records of work it is made of.

    ``nitrogen`` is what a feeding gave [g]; None where a product or an amount is not written down. ``seen``
    is the stage that told of it, ``counted`` a count of fruit.
    """

    tree: str
    job: str
    day: date
    rows: tuple[Done, ...] = ()
    nitrogen: float | None = None
    seen: str = ""
    counted: bool = False
    picks: tuple[Pick, ...] = ()

    @property
    def look(self) -> str:
        """Which look it was, where it was one that has a name."""
        return next((row.look for row in self.rows if row.look), "")

    @property
    def corrects(self) -> str:
        """The nutrient it was to mend, in small letters."""
        return next((row.corrects.lower() for row in self.rows if row.corrects), "")

    @property
    def mass(self) -> float | None:
        """Everything that was given or picked [g]; None where an amount is missing."""
        if self.picks:
            return sum(pick.mass for pick in self.picks)
        amounts = [row.amount for row in self.rows]
        known = [one for one in amounts if one is not None]
        return sum(known) if known and len(known) == len(amounts) else None

    @property
    def sound(self) -> float | None:
        """The share of what was picked that was worth keeping [1]; None where it is not known of all."""
        told = [(pick.mass, pick.sound) for pick in self.picks if pick.sound is not None]
        mass = sum(pick.mass for pick in self.picks)
        if not told or len(told) < len(self.picks) or mass <= 0:
            return None
        return sum(one * share for one, share in told) / mass

    @property
    def notes(self) -> tuple[str, ...]:
        """What was noted with it."""
        rows, picks = [row.note for row in self.rows], [pick.note for pick in self.picks]
        return tuple(note for note in (*rows, *picks) if note)


@dataclass(frozen=True)
class Line:
    """One advice of the span, the morning on which it was told, and what is known of it.

    A ``repeat`` asks again for the gift of a round before it, which was not on record.
    """

    advice: Advice
    told: date
    verdict: Verdict
    acts: tuple[Act, ...] = ()
    decision: Decision | None = None
    repeat: bool = False

    @property
    def days_off(self) -> int:
        """Days by which it was done after its window, negative before it, 0 within."""
        if not self.acts:
            return 0
        return min((_outside(self.advice.window, one.day) for one in self.acts), key=abs)

    @property
    def done(self) -> bool:
        """Whether something says that it was done."""
        return self.verdict in DONE

    @property
    def advised_nitrogen(self) -> tuple[float, float, float] | None:
        """What a feeding round was to give, with its range [g]; None for other jobs."""
        return nitrogen_advised(self.advice)

    @property
    def amount_off(self) -> bool:
        """Whether another amount was given than advised, by what is written down."""
        wanted = self.advised_nitrogen
        given = [one.nitrogen for one in self.acts]
        if wanted is None or not given or None in given:
            return False
        total = sum(one for one in given if one is not None)
        return not wanted[1] <= total <= wanted[2]


@dataclass(frozen=True)
class Matched:
    """Every advice of a span with its records, and every record that no advice asked for."""

    lines: tuple[Line, ...]
    unasked: tuple[Act, ...]
    beside: tuple[Act, ...]  # water and protection, which are added up


# ---------------------------------------------------------------- what was recorded


def acts_of(
    tree: Tree,
    products: Mapping[str, Product],
    since: date,
    until: date,
    picks: Sequence[Pick] = (),
) -> list[Act]:
    """Everything recorded of a tree between two days, both included, in order of days.

    ``picks`` are its pickings by day, where the records keep them apart.
    """
    rows: dict[tuple[date, str, str], list[Done]] = {}
    for work in tree.done:
        if since <= work.date <= until:
            key = work.look or (work.corrects or "").lower()
            rows.setdefault((work.date, work.job, key), []).append(work)
    acts = [
        Act(tree.id, job, day, tuple(some), _nitrogen(some, products) if job == "feed" else None)
        for (day, job, _), some in rows.items()
    ]
    mine: dict[date, tuple[Pick, ...]] = {}
    for pick in picks:
        if pick.tree == tree.id and since <= pick.day <= until:
            mine[pick.day] = (*mine.get(pick.day, ()), pick)
    acts = [
        replace(act, picks=mine.pop(act.day, ())) if act.job == "harvest" else act for act in acts
    ]
    acts += [Act(tree.id, "harvest", day, picks=some) for day, some in mine.items()]
    picked = {act.day for act in acts if act.job == "harvest"}
    for seen in tree.observed:
        told = seen.event in ("harvest start", "harvest end")
        if told and since <= seen.date <= until and seen.date not in picked:
            acts.append(Act(tree.id, "harvest", seen.date, seen=seen.event))
    acts += [
        Act(tree.id, "measure", count.date, counted=True)
        for count in tree.counts
        if since <= count.date <= until
    ]
    return sorted(acts, key=lambda one: (one.day, one.job, one.look))


def _nitrogen(rows: Sequence[Done], products: Mapping[str, Product]) -> float | None:
    total = 0.0
    for row in rows:
        product = products.get(row.product or "")
        if product is None or row.amount is None:
            return None
        total += row.amount * product.grade[0] / 100
    return total


def nitrogen_advised(one: Advice) -> tuple[float, float, float] | None:
    """Nitrogen of a feeding round with its range [g]; None for another job, or a round held back."""
    value = one.details.get("n_g")
    if one.kind != "feed" or value is None or one.standing == "blocked":
        return None
    quantity, value = one.quantity, float(value)
    if quantity is None or not quantity.value or quantity.low is None or quantity.high is None:
        return value, (1 - NEAR) * value, (1 + NEAR) * value
    low, high = (value * end / quantity.value for end in (quantity.low, quantity.high))
    return value, min(low, (1 - NEAR) * value), max(high, (1 + NEAR) * value)


# ---------------------------------------------------------------- matching


def matched(
    told: Sequence[Morning],
    acts: Sequence[Act],
    decisions: Sequence[Decision],
    until: date,
    weighed: frozenset[int] = frozenset(),
) -> Matched:
    """Match the advice of a span with its records and with what was decided.

    ``told`` are the mornings on which the plan was asked, in order; ``weighed`` are the years whose crop is
    written down, as a crop has no day of its own.
    """
    planned = _planned(told, until)
    asked = [act for act in acts if act.job in JOBS_MATCHED]
    beside = tuple(act for act in acts if act.job not in JOBS_MATCHED)
    taken = _taken(planned, asked, decisions)
    for at, act in enumerate(asked):
        if any(at in mine for mine in taken.values()):
            continue
        ahead = _ahead_of_its_time(told, planned, act)
        if ahead is not None:
            planned.append(ahead)
            taken[len(planned) - 1] = [at]
    _join_passes(planned, asked, taken)
    used = {at for mine in taken.values() for at in mine}
    lines = [
        _line(day, one, tuple(asked[at] for at in sorted(taken.get(index, []))), decisions, until, weighed)
        for index, (day, one) in enumerate(planned)
    ]  # fmt: skip
    lines.sort(key=lambda line: (line.advice.window.best, line.advice.id))
    lines = _asked_again(lines)
    unasked = tuple(act for at, act in enumerate(asked) if at not in used)
    return Matched(tuple(lines), unasked, beside)


def _planned(told: Sequence[Morning], until: date) -> list[tuple[date, Advice]]:
    """Every advice once, from the plan that was made nearest before its best day."""
    found: list[tuple[date, Advice]] = []
    ends = [later.day for _, later in pairwise(told)] + [until + timedelta(days=1)]
    for morning, end in zip(told, ends, strict=True):
        for one in morning.advice:
            serves = one.window.best < end and one.window.latest >= morning.day
            known = any(same_job(one, other) for _, other in found)
            if serves and not known:
                found.append((morning.day, one))
    return found


def same_job(one: Advice, other: Advice) -> bool:
    """Whether two plans speak of the same job, though its days may have moved."""
    moves = _MOVES if one.kind in _YEARLY else _ROUND_MOVES
    apart = abs(one.window.best - other.window.best)
    return one.id == other.id or (stem(one.id) == stem(other.id) and apart <= moves)


def _fits(act: Act, one: Advice) -> bool:
    """Whether a record may be of an advice, by what it is."""
    if act.job != one.kind:
        return False
    what = stem(one.id).rpartition("/")[2]
    if act.job == "inspect":
        named = str(one.details.get("inspection", what)).replace(" ", "-")
        return bool(act.look) and act.look.replace(" ", "-") == named
    if act.job == "measure":
        return act.counted
    if act.job == "feed":
        mends = what.removeprefix("correct-") if what.startswith("correct-") else ""
        return act.corrects == mends and (bool(mends) or act.nitrogen != 0.0)
    return True


def _reach(act: Act) -> int:
    """Days outside a window on which a record may still be of its advice."""
    return _PICKED_WITHIN if act.job == "harvest" else SAME_JOB.days


def _outside(window: Window, day: date) -> int:
    """Days after a window, negative before it, 0 within."""
    if day > window.latest:
        return (day - window.latest).days
    return min((day - window.earliest).days, 0)


def _taken(
    planned: Sequence[tuple[date, Advice]], acts: Sequence[Act], decisions: Sequence[Decision]
) -> dict[int, list[int]]:
    """Which record goes with which advice: those closed by a record first, then the nearest of their days."""
    closes = [one for one in decisions if one.what == "close"]
    pairs = []
    for index, (_, one) in enumerate(planned):
        closed = {decision.day for decision in closes if decision.about(one)}
        for at, act in enumerate(acts):
            if not _fits(act, one):
                continue
            outside = abs(_outside(one.window, act.day))
            said = act.day in closed
            if said or outside <= _reach(act):
                apart = abs((act.day - one.window.best).days)
                pairs.append((not said, outside, apart, at, index))
    found: dict[int, list[int]] = {}
    used: set[int] = set()
    for *_, at, index in sorted(pairs):
        if at not in used and index not in found:
            found[index] = [at]
            used.add(at)
    return found


def _ahead_of_its_time(
    told: Sequence[Morning], planned: Sequence[tuple[date, Advice]], act: Act
) -> tuple[date, Advice] | None:
    """An advice of the plan before a record whose best day came later than the next plan."""
    before = [morning for morning in told if morning.day <= act.day]
    if not before:
        return None
    morning = before[-1]
    near = [
        (abs(_outside(one.window, act.day)), abs((act.day - one.window.best).days), one.id, one)
        for one in morning.advice
        if _fits(act, one)
        and abs(_outside(one.window, act.day)) <= _reach(act)
        and not any(same_job(one, other) for _, other in planned)
    ]
    return (morning.day, min(near, key=lambda each: each[:3])[3]) if near else None


def _join_passes(
    planned: Sequence[tuple[date, Advice]], acts: Sequence[Act], taken: dict[int, list[int]]
) -> None:
    """Further passes of a job that goes on belong to the advice of the first."""
    used = {at for mine in taken.values() for at in mine}
    for at, act in enumerate(acts):
        if at in used or act.job not in _IN_PASSES:
            continue
        near = [
            (abs(_outside(planned[index][1].window, act.day)), index)
            for index in taken
            if _fits(act, planned[index][1])
            and abs(_outside(planned[index][1].window, act.day)) <= _reach(act)
        ]
        if near:
            taken[min(near)[1]].append(at)


def _line(
    told: date,
    one: Advice,
    acts: tuple[Act, ...],
    decisions: Sequence[Decision],
    until: date,
    weighed: frozenset[int],
) -> Line:
    about = [decision for decision in decisions if decision.about(one)]
    about.sort(key=lambda decision: (decision.advice == one.id, decision.day or date.min))
    decision = about[-1] if about else None
    line = Line(one, told, "as-advised", acts, decision)
    if not acts:
        return replace(line, verdict=_without_record(one, decision, until, weighed))
    other = line.days_off or line.amount_off or one.standing == "blocked"
    return replace(line, verdict="differently") if other else line


def _without_record(
    one: Advice, decision: Decision | None, until: date, weighed: frozenset[int]
) -> Verdict:
    if decision is not None and decision.what == "skip":
        return "left-out"
    if decision is not None and decision.what == "close":
        return "no-day"
    if one.kind == "harvest" and picked_in(one.window) in weighed:
        return "no-day"
    if one.standing == "blocked":
        return "held-back"
    if one.window.latest >= until:
        return "still-open"
    return "put-off" if decision is not None else "not-recorded"


def _asked_again(lines: Sequence[Line]) -> list[Line]:
    """Mark rounds by which the plan asked again for a gift that stands for months and is not on record."""
    marked: list[Line] = []
    covered: date | None = None
    for line in lines:
        best, months = line.advice.window.best, int(line.advice.details.get("months", 1))
        if line.advised_nitrogen is not None and months > 1:
            repeat = covered is not None and best < covered
            if repeat:
                line = replace(
                    line, repeat=True, verdict=line.verdict if line.acts else "asked-again"
                )
            if line.acts:
                covered = None
            elif not repeat:
                covered = best + timedelta(days=round(months * MONTH))
        marked.append(line)
    return marked


def picked_in(window: Window) -> int:
    """The year that a crop picked on these days counts for: that of their middle."""
    return (window.best + (window.latest - window.best) / 2).year
