"""Use cases on leaves: the key of symptoms."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import cache

from bearwell.api.gardens import LoadedGarden
from bearwell.knowledge import Knowledge, knowledge
from bearwell.plan.advice import Advice
from bearwell.plan.correct import would_mend as plan_would_mend
from bearwell.plan.diagnose import Answers, Diagnosis, LeafKey
from bearwell.plan.leaftest import sets_for


@cache
def _own_key() -> LeafKey:
    return LeafKey(knowledge())


def leaf_key(book: Knowledge | None = None) -> LeafKey:
    """The questions of the leaf key with their signs, and the causes behind them."""
    return _own_key() if book is None or book is knowledge() else LeafKey(book)


def leaf_norms(opened: LoadedGarden, tree_id: str) -> tuple[str, ...]:
    """The named sets of leaf norms that serve a tree's kind, those made for the nearest group first."""
    return sets_for(opened.book.kind(opened.garden.tree(tree_id).kind), opened.book)


def would_mend(opened: LoadedGarden, tree_id: str, nutrient: str) -> Advice | None:
    """The dated job that a shortage seen on a tree today would make; None where its rounds mend it."""
    view = opened.view(opened.garden.tree(tree_id))
    planned = plan_would_mend(view, nutrient)
    return None if planned is None else planned.standing_on(opened.today)


def diagnose(
    signs: Iterable[str],
    *,
    kind: str | None = None,
    in_pot: bool | None = None,
    day: date | None = None,
    southern: bool = False,
    book: Knowledge | None = None,
) -> list[Diagnosis]:
    """What the signs on a tree's leaves may mean, best first.

    ``signs`` are keys of the leaf key. The kind, the place, and the day with the hemisphere sharpen the
    answer and may stay unsaid. Raises BadInput for an unknown sign or kind, two answers where one is
    asked, or nothing seen; an empty list says that no cause of the key fits.
    """
    known = book or knowledge()
    species = known.kind(kind) if kind else None
    return leaf_key(book).diagnose(Answers(frozenset(signs), species, in_pot, day, southern))
