"""Use cases of the crop: a tree's crop with what is to come, and counting on the spot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from bearwell.api.gardens import LoadedGarden
from bearwell.errors import BadInput
from bearwell.garden import Count, Tree
from bearwell.plan.bearing import Forecast, LongView, Outlook
from bearwell.plan.cropload import CropPlan, current_plan, plan_after
from bearwell.plan.fruitcount import Estimate, estimate_of
from bearwell.plan.picking import Picking, picking
from bearwell.said import said
from bearwell.science.sampling import branch_probabilities_by_girth, student_t_quantile

LISTED = 30  # degrees of freedom a page is given, to work out ranges by itself


@dataclass(frozen=True)
class CropYear:
    """A tree's crop: the plan for what hangs or comes next, the year after it, and ten years ahead.

    ``picking`` is what is to be picked of it, ``next`` the crop of the bloom that follows.
    """

    tree: Tree
    plan: CropPlan
    picking: Picking
    next: CropPlan | None
    outlook: Outlook
    after: dict[str, Forecast]
    ahead: LongView


def crop_year(opened: LoadedGarden, tree_id: str) -> CropYear:
    """The crop of a tree; BadInput for an unknown one, or one whose bloom cannot be dated."""
    tree = opened.garden.tree(tree_id)
    plan = current_plan(opened.view(tree))
    if plan is None:
        raise BadInput(
            said("the crop of '{id}' cannot be planned", id=tree.id),
            "its bloom, natural drop or picking has no date",
        )
    outlook, keep_at = plan.outlook, plan.keep_at
    return CropYear(
        tree,
        plan,
        picking(plan),
        plan_after(plan),
        outlook,
        outlook.after(keep_at),
        outlook.years_ahead(keep_at),
    )


@dataclass(frozen=True)
class Counted:
    """A count made on the spot: what it stands for, what the tree may keep, and whether that is plausible."""

    count: Count
    estimate: Estimate
    keep: float | None
    rule: str
    implausible: bool


def counted(opened: LoadedGarden, tree_id: str, count: Count) -> Counted:
    """What a count of a tree stands for, beside what it may keep."""
    view = opened.view(opened.garden.tree(tree_id))
    estimate = estimate_of(count, view.size, view.book)
    plan = current_plan(view)
    keep = None if plan is None or not plan.bears else plan.keep
    most = view.species["full_crop"].most / view.species["fruit_mass"].least
    return Counted(
        count,
        estimate,
        None if keep is None else keep.fruit.value,
        "" if keep is None else keep.rule,
        estimate.fruit > view.constant("absurd crop").number * most,
    )


def branch_taken(seed: int, walk: int, fork: int, girths: Sequence[float]) -> tuple[int, float]:
    """The branch to take at a fork, chosen by chance in proportion to its section, and its chance.

    The same seed, walk and fork give the same choice, so that a page can be asked twice.
    """
    if len(girths) < 2:
        raise BadInput("a fork has two branches or more", "the girth of each, such as 14, 9 and 6")
    chances = branch_probabilities_by_girth(list(girths))
    rng = np.random.default_rng([seed, walk, fork])
    taken = int(rng.choice(len(girths), p=chances))
    return taken, float(chances[taken])


def chance_of_walk(forks: Sequence[tuple[Sequence[float], int]]) -> float:
    """The chance of a walk from the girths at each fork and the branch that was taken."""
    return prod(float(branch_probabilities_by_girth(list(girths))[at]) for girths, at in forks)


@dataclass(frozen=True)
class CountConstants:
    """What a page needs to work out a running estimate by itself."""

    spread: float
    few: int
    wanted: float
    wide: float
    sure: float
    quantiles: tuple[float, ...]


def count_constants(opened: LoadedGarden) -> CountConstants:
    """Scatter of published counts, when to trust a count's own, and Student's t for its range."""
    book = opened.book
    sure = book.constant("sure of a count").number
    quantiles = tuple(round(student_t_quantile(sure, n), 4) for n in range(1, LISTED + 1))
    return CountConstants(
        book.constant("count spread").number,
        round(book.constant("paths to know the error").number),
        book.constant("count worth having").number,
        quantiles[-1],
        sure,
        quantiles,
    )
