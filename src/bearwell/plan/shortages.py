"""What a tree is short of: by its newest leaf test that can be trusted, and by what its leaves showed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bearwell.garden.model import LeafTest
from bearwell.plan.leaftest import (
    NAMES,
    Grade,
    Judged,
    judge_leaf_test,
    not_comparable,
    sets_for,
)
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, phrase, recorded
from bearwell.said import said

SHORT: frozenset[Grade] = frozenset({"deficient", "low"})
AMPLE: frozenset[Grade] = frozenset({"optimum", "high", "excess"})


@dataclass(frozen=True)
class LeafVerdict:
    """The newest leaf test, the set it is held against, and why it moves nothing where it cannot be."""

    test: LeafTest
    norms: str = ""
    judged: tuple[Judged, ...] = ()
    unusable: Phrase | None = None

    def grade(self, nutrient: str) -> Judged | None:
        """The graded figure of a nutrient; None where it was not measured or has no norm."""
        return next((one for one in self.judged if one.nutrient == nutrient and one.grade), None)


@dataclass(frozen=True)
class Shortage:
    """A nutrient a tree is short of, since when, and what says so."""

    nutrient: str
    grade: str
    since: date
    because: tuple[Because, ...]
    remark: Phrase | None = None

    @property
    def name(self) -> str:
        """The nutrient in words."""
        return NAMES[self.nutrient]


def leaf_verdict(view: View) -> LeafVerdict | None:
    """The newest leaf test of the last seasons, judged by the norms the grower named or the nearest."""
    past = [one for one in view.tree.leaf_tests if one.date <= view.today]
    test = max(past, key=lambda one: one.date, default=None)
    if test is None or (view.today - test.date).days > view.constant("shortage still told").most:
        return None
    fitting = sets_for(view.species, view.book)
    chosen = test.norms or (fitting[0] if fitting else None)
    if chosen is None:
        none = phrase("no set of leaf norms serves {kind}", kind=view.species.name)
        return LeafVerdict(test, unusable=none)
    if chosen not in fitting:
        other = phrase(
            "the norms {set} are not for {kind}", set=said(chosen), kind=view.species.name
        )
        return LeafVerdict(test, unusable=other)
    southern = view.site.southern
    grace = view.constant("leaf test off its weeks").number
    wrong = not_comparable(test, chosen, view.book, grace, southern=southern)
    if wrong is not None:
        return LeafVerdict(test, chosen, unusable=wrong)
    judged = judge_leaf_test(test, view.species, chosen, view.book, southern=southern)
    return LeafVerdict(test, chosen, tuple(judged))


def shortages(view: View) -> list[Shortage]:
    """What the tree is short of: every nutrient a usable test grades low, then what leaves showed.

    A shortage seen on the leaves after the test still counts, with the test's word beside it.
    """
    verdict = leaf_verdict(view)
    found: dict[str, Shortage] = {}
    for one in verdict.judged if verdict else ():
        if verdict and one.grade in SHORT:
            found[one.nutrient] = Shortage(
                one.nutrient, one.grade, verdict.test.date, one.because,
                one.caveats[0] if one.caveats else None,
            )  # fmt: skip
    for seen in sorted(view.tree.shortages, key=lambda one: one.date):
        age = (view.today - seen.date).days
        if seen.nutrient in found or not 0 <= age <= view.constant("shortage still told").number:
            continue
        tested = verdict.grade(seen.nutrient) if verdict else None
        if verdict and tested and tested.grade in AMPLE and verdict.test.date >= seen.date:
            continue
        why = recorded(
            "On {day} you judged from its leaves that {nutrient} is short",
            day=seen.date,
            nutrient=NAMES[seen.nutrient],
        )
        remark = phrase("Leaves alone mislead: a leaf test would make it sure")
        if tested and tested.grade in AMPLE:
            remark = phrase(
                "The leaf test before it graded {nutrient} {grade}: look for cold or wet roots and pests first",
                nutrient=NAMES[seen.nutrient],
                grade=str(tested.grade),
            )
        found[seen.nutrient] = Shortage(seen.nutrient, "seen", seen.date, (why,), remark)
    return list(found.values())
