"""Measures that cannot go together: a girth that is a diameter, a crown too large for its shelter."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from bearwell.errors import Problem, Severity
from bearwell.garden.model import Garden, Shelter, Tree
from bearwell.garden.values import Model
from bearwell.knowledge import Fact, Knowledge
from bearwell.said import said

Row = TypeVar("Row", bound=Model)
# Stands in for a day of planting that cannot be read: no measure is held against the age.
_SOME_DAY: Final = {"planted": date(2000, 1, 1)}
_MEASURES: Final = frozenset(
    {"height", "spread", "skirt", "trunk_girth", "wanted_height", "wanted_spread", "shelter"}
)
Told = tuple[str, str, str, Severity]
"""Key it stands on, message, hint, severity."""


def doubtful_sizes(
    name: str,
    garden: Garden | Mapping[str, Any],
    book: Knowledge,
    line: Callable[..., int | None],
) -> list[Problem]:
    """Every measure of a garden that contradicts another; ``line`` finds the line of a key.

    Of a garden that could not be read its raw rows are looked at, each as far as it reads; where a row does
    not, it is told that its measures wait.
    """
    trees, shelters = _rows(garden)
    found = []
    for number, tree in trees:
        if isinstance(tree, str):
            found.append(
                Problem(
                    name,
                    said(
                        "tree '{tree}': its measures are held against each other once it can be read",
                        tree=tree,
                    ),
                    "mend what is told of it, and check again",
                    line("tree", number),
                    "note",
                )
            )
            continue
        told = [*_girth(tree, book), *_spread(tree, book), *_wanted(tree, book)]
        shelter = next((one for one in shelters if one.id == tree.shelter), None)
        if shelter is not None and shelter.shape != "wall":
            told += _under(tree, shelter, book)
        found += [
            Problem(
                name,
                said("tree '{tree}': {text}", tree=tree.id, text=text),
                hint,
                line("tree", number, key),
                severity,
            )
            for key, text, hint, severity in told
        ]
    return found


def _rows(
    garden: Garden | Mapping[str, Any],
) -> tuple[list[tuple[int, Tree | str]], Sequence[Shelter]]:
    """Trees with their numbers and shelters; the name alone of a tree with measures that cannot be read."""
    if isinstance(garden, Garden):
        return list(enumerate(garden.trees)), garden.shelters
    trees: list[tuple[int, Tree | str]] = []
    for number, row in _tables(garden, "tree"):
        read = as_far_as_it_reads(Tree, row, _SOME_DAY)
        if read is not None:
            trees.append((number, read))
        elif _MEASURES & row.keys():
            trees.append((number, str(row.get("id", number + 1))))
    read_shelters = [as_far_as_it_reads(Shelter, row) for _, row in _tables(garden, "shelter")]
    return trees, [one for one in read_shelters if one is not None]


def _tables(raw: Mapping[str, Any], name: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    rows = raw.get(name)
    for number, row in enumerate(rows if isinstance(rows, list) else ()):
        if isinstance(row, dict):
            yield number, row


def as_far_as_it_reads(
    model: type[Row], row: Mapping[str, Any], instead: Mapping[str, Any] | None = None
) -> Row | None:
    """A row without the keys that cannot be read; ``instead`` stands in for some of them.

    None where what is left makes no row: a key it needs is missing.
    """
    kept = {**(instead or {}), **row}
    while True:
        try:
            return model.model_validate(kept)
        except ValidationError as error:
            bad = {detail["loc"][0] for detail in error.errors() if detail["loc"]} & kept.keys()
            if not bad:
                return None
            for key in bad:
                wrong = kept.pop(str(key))
                spare = (instead or {}).get(str(key))
                if spare is not None and spare != wrong:
                    kept[str(key)] = spare


def _length(metres: float) -> str:
    if metres >= 1:
        return said("{length:g} m", length=round(metres, 2))
    return said("{length:.0f} cm", length=100 * metres)


def _span(least: float, most: float) -> str:
    return said("{least} to {most}", least=_length(least), most=_length(most))


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
    by, measure, row = pairs[0]
    usual = _span(row.least * measure, row.most * measure)
    if all(tree.trunk_girth < row.least * measure for _, measure, row in pairs):
        yield (
            "trunk_girth",
            said(
                "a trunk_girth of {girth} is small for a spread of {length}, where {usual} is usual"
                if by == "spread"
                else "a trunk_girth of {girth} is small for a height of {length}, where {usual} is usual",
                girth=girth,
                length=_length(measure),
                usual=usual,
            ),
            "is it the diameter? girth is measured round the trunk with a string: 3.14 times the diameter",
            "warning",
        )
    elif all(tree.trunk_girth > row.most * measure for _, measure, row in pairs):
        yield (
            "trunk_girth",
            said(
                "a trunk_girth of {girth} is large for a spread of {length}, where {usual} is usual"
                if by == "spread"
                else "a trunk_girth of {girth} is large for a height of {length}, where {usual} is usual",
                girth=girth,
                length=_length(measure),
                usual=usual,
            ),
            "check the unit: girth is mostly written in cm",
            "warning",
        )


def _spread(tree: Tree, book: Knowledge) -> Iterator[Told]:
    """A spread that no tree of this kind or height has: most often another unit or a lost point."""
    if tree.spread is None:
        return
    kind = book.find(tree.kind)
    shape = tree.shape or (kind["canopy_shape"].text if kind else "")
    # Of a hedge or an espalier the length is its grower's choice.
    spread = min(tree.spread) if shape in ("hedge", "espalier") else max(tree.spread)
    over, ratio = book.constant("spread over grown"), book.constant("spread by height")
    hint = "check the unit and the point: a spread is measured from edge to edge of the crown"
    grown = None if kind is None else kind.get("grown_spread")
    if grown is not None and spread > over.most * grown.most:
        yield (
            "spread",
            said(
                "a spread of {length} is far beyond that of a grown tree of its kind, {usual}",
                length=_length(spread),
                usual=_span(grown.least, grown.most),
            ),
            hint,
            "warning",
        )
    elif tree.height is not None and not (
        ratio.least * tree.height <= spread <= ratio.most * tree.height
    ):
        wide = spread > ratio.most * tree.height
        yield (
            "spread",
            said(
                "a spread of {spread} is wide for a height of {height}, where {usual} is usual"
                if wide
                else "a spread of {spread} is narrow for a height of {height}, where {usual} is usual",
                spread=_length(spread),
                height=_length(tree.height),
                usual=_span(ratio.least * tree.height, ratio.most * tree.height),
            ),
            hint,
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
            said(
                "a wanted_height of {height} is not above its lowest foliage, supposed at {supposed}",
                height=_length(height),
                supposed=supposed,
            ),
            "measure its skirt; until then it is not cut towards that height",
            "warning",
        )
    if height is not None and skirt is not None and height <= skirt:
        yield (
            "wanted_height",
            said(
                "a wanted_height of {height} is not above its skirt of {skirt}",
                height=_length(height),
                skirt=_length(skirt),
            ),
            "it would leave no leaves",
            "error",
        )
    elif height is not None and tree.height is not None and height > tree.height:
        yield (
            "wanted_height",
            said(
                "a wanted_height of {height} is above its present height of {present}",
                height=_length(height),
                present=_length(tree.height),
            ),
            "nothing is taken off for it until it has grown so high",
            "warning",
        )
    if tree.wanted_spread is not None and tree.spread is not None:
        pairs = list(zip(tree.wanted_spread, tree.spread, strict=True))
        if any(wanted > now for wanted, now in pairs):
            wanted, now = next(pair for pair in pairs if pair[0] > pair[1])
            yield (
                "wanted_spread",
                said(
                    "a wanted_spread of {spread} is wider than its present {present}",
                    spread=_length(wanted),
                    present=_length(now),
                ),
                "nothing is taken off for it until it has grown so wide",
                "warning",
            )


def _under(tree: Tree, shelter: Shelter, book: Knowledge) -> Iterator[Told]:
    """A crown that cannot stand under its shelter."""
    if shelter.height is not None:
        yield from _too_low(tree, shelter, shelter.height, book)
    sides = [side for side in (shelter.length, shelter.width) if side is not None]
    if tree.spread is not None and len(sides) == 2:
        wide, narrow = max(tree.spread), min(tree.spread)
        if wide > max(sides) or narrow > min(sides):
            yield (
                "spread",
                said(
                    "its spread of {wide} by {narrow} is wider than shelter '{shelter}', {longer} by {shorter}",
                    wide=_length(wide),
                    narrow=_length(narrow),
                    shelter=shelter.id,
                    longer=_length(max(sides)),
                    shorter=_length(min(sides)),
                ),
                "check both measures; the plan says what must come off to fit",
                "warning",
            )


def _too_low(tree: Tree, shelter: Shelter, high: float, book: Knowledge) -> Iterator[Told]:
    """A cover that ends on the clear trunk, or far down the crown."""
    supposed = None if tree.height is None else book.constant("skirt share").number * tree.height
    lowest, part = tree.skirt or supposed, book.constant("cover by height")
    if lowest is not None and high <= lowest:
        yield (
            "skirt" if tree.skirt else "shelter",
            said(
                "its skirt of {lowest} is above shelter '{shelter}', {height} high: the cover ends on the trunk"
                if tree.skirt
                else "its lowest foliage, supposed at {lowest}, is above shelter '{shelter}', {height} high: "
                "the cover ends on the trunk",
                lowest=_length(lowest),
                shelter=shelter.id,
                height=_length(high),
            ),
            "no cut fits it in there: raise the cover, or check both measures",
            "warning",
        )
    elif tree.height is not None and high < part.number * tree.height:
        yield (
            "shelter",
            said(
                "shelter '{shelter}', {high} high, is less than {percent:.0f} % of its height of {height}",
                shelter=shelter.id,
                high=_length(high),
                percent=100 * part.number,
                height=_length(tree.height),
            ),
            "most of the crown stands through the cover: raise it, or check both measures",
            "warning",
        )
