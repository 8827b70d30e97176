"""Measures that cannot go together: a girth that is a diameter, a crown too large for its shelter."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bearwell.errors import Problem, Severity
from bearwell.garden.model import Garden, Shelter, Tree
from bearwell.knowledge import Fact, Knowledge

Told = tuple[str, str, str, Severity]
"""Key it stands on, message, hint, severity."""


def doubtful_sizes(
    name: str, garden: Garden, book: Knowledge, line: Callable[..., int | None]
) -> list[Problem]:
    """Every measure of a garden that contradicts another; ``line`` finds the line of a key."""
    found = []
    for number, tree in enumerate(garden.trees):
        told = [*_girth(tree, book), *_wanted(tree, book)]
        shelter = garden.shelter(tree.shelter)
        if shelter is not None and shelter.shape != "wall":
            told += _under(tree, shelter)
        found += [
            Problem(name, f"tree '{tree.id}': {text}", hint, line("tree", number, key), severity)
            for key, text, hint, severity in told
        ]
    return found


def _length(metres: float) -> str:
    return (
        f"{metres:.2f}".rstrip("0").rstrip(".") + " m" if metres >= 1 else f"{100 * metres:.0f} cm"
    )


def _girth(tree: Tree, book: Knowledge) -> Iterator[Told]:
    """A girth that no tree of this height and spread has: most often a diameter."""
    kind = book.find(tree.kind)
    shape = tree.shape or (kind["canopy_shape"].text if kind else "")
    if tree.trunk_girth is None or shape == "multi-stem":
        return
    pairs: list[tuple[str, float, Fact]] = []
    if tree.spread is not None:
        pairs.append(("spread", sum(tree.spread) / 2, book.constant("girth by spread")))
    if tree.height is not None:
        pairs.append(("height", tree.height, book.constant("girth by height")))
    if not pairs:
        return
    girth = _length(tree.trunk_girth)
    word, measure, row = pairs[0]
    usual = f"{_length(row.least * measure)} to {_length(row.most * measure)}"
    if all(tree.trunk_girth < row.least * measure for _, measure, row in pairs):
        yield (
            "trunk_girth",
            f"a trunk_girth of {girth} is small for a {word} of {_length(measure)}, where {usual} is usual",
            "is it the diameter? girth is measured round the trunk with a string: 3.14 times the diameter",
            "warning",
        )
    elif all(tree.trunk_girth > row.most * measure for _, measure, row in pairs):
        yield (
            "trunk_girth",
            f"a trunk_girth of {girth} is large for a {word} of {_length(measure)}, where {usual} is usual",
            "check the unit: girth is mostly written in cm",
            "warning",
        )


def _wanted(tree: Tree, book: Knowledge) -> Iterator[Told]:
    """A wanted size that is no reduction, or leaves no crown."""
    height, skirt = tree.wanted_height, tree.skirt
    share = book.constant("skirt share").number
    if height is not None and skirt is None and height <= share * (tree.height or 0.0):
        supposed = _length(share * (tree.height or 0.0))
        yield (
            "wanted_height",
            f"a wanted_height of {_length(height)} is not above its lowest foliage, supposed at {supposed}",
            "measure its skirt; until then it is not cut towards that height",
            "warning",
        )
    if height is not None and skirt is not None and height <= skirt:
        yield (
            "wanted_height",
            f"a wanted_height of {_length(height)} is not above its skirt of {_length(skirt)}",
            "it would leave no leaves",
            "error",
        )
    elif height is not None and tree.height is not None and height > tree.height:
        yield (
            "wanted_height",
            f"a wanted_height of {_length(height)} is above its present height of {_length(tree.height)}",
            "nothing is taken off for it until it has grown so high",
            "warning",
        )
    if tree.wanted_spread is not None and tree.spread is not None:
        pairs = list(zip(tree.wanted_spread, tree.spread, strict=True))
        if any(wanted > now for wanted, now in pairs):
            wanted, now = next(pair for pair in pairs if pair[0] > pair[1])
            yield (
                "wanted_spread",
                f"a wanted_spread of {_length(wanted)} is wider than its present {_length(now)}",
                "nothing is taken off for it until it has grown so wide",
                "warning",
            )


def _under(tree: Tree, shelter: Shelter) -> Iterator[Told]:
    """A crown that cannot stand under its shelter."""
    if shelter.height is not None and tree.skirt is not None and shelter.height <= tree.skirt:
        yield (
            "skirt",
            f"its skirt of {_length(tree.skirt)} is above shelter '{shelter.id}', {_length(shelter.height)} high",
            "no cut fits it in there: raise the cover, or check both measures",
            "warning",
        )
    sides = [side for side in (shelter.length, shelter.width) if side is not None]
    if tree.spread is not None and len(sides) == 2:
        wide, narrow = max(tree.spread), min(tree.spread)
        if wide > max(sides) or narrow > min(sides):
            yield (
                "spread",
                f"its spread of {_length(wide)} by {_length(narrow)} is wider than shelter '{shelter.id}', "
                f"{_length(max(sides))} by {_length(min(sides))}",
                "check both measures; the plan says what must come off to fit",
                "warning",
            )
