"""Use cases of pruning: a tree's cuts with what they rest on, and the sheet of the coming weeks."""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.api.gardens import LoadedGarden
from bearwell.api.walking import open_within, walked
from bearwell.garden import Tree
from bearwell.plan.advice import Advice
from bearwell.plan.pruneyear import PruningYear, Sketch, sketch_of
from bearwell.plan.pruneyear import pruning_year as planned
from bearwell.science.shapes import width_share

__all__ = ["CutLine", "PruningYear", "Sketch", "pruning_sheet", "pruning_year", "width_share"]


@dataclass(frozen=True)
class CutLine:
    """One cut on a pruning sheet, with what is drawn of it."""

    tree: Tree
    cut: Advice
    sketch: Sketch


def pruning_year(opened: LoadedGarden, tree_id: str) -> PruningYear:
    """The pruning of a tree; BadInput for an unknown one."""
    tree = opened.garden.tree(tree_id)
    return planned(opened.view(tree), opened.advice(tree))


def pruning_sheet(opened: LoadedGarden, days: int = 42) -> tuple[CutLine, ...]:
    """The cuts that can be made in the coming days, in walking order."""

    def cuts(tree: Tree) -> list[Advice]:
        return [
            one
            for one in sorted(opened.advice(tree), key=lambda one: one.window.best)
            if one.kind == "prune" and open_within(one.window, opened.today, days)
        ]

    return tuple(
        CutLine(tree, one, sketch_of(opened.view(tree), one)) for tree, one in walked(opened, cuts)
    )
