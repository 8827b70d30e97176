"""Where trees stand, recorded: as many as were moved, in one go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Final

from bearwell.errors import BadFile, BadInput, Overtaken, Problem
from bearwell.knowledge import knowledge
from bearwell.quantities import parse
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.entries import Draft, Stamp

if TYPE_CHECKING:
    from bearwell.store.fold import Folded
    from bearwell.store.keeping import Recorded, Store

Spot = tuple[float, float]  # m east and north of the corner of the garden
TREE: Final = "tree"
SAME: Final = 0.005  # m: places nearer to each other than this are one place


def record_places(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    places: Mapping[str, tuple[str, str]],
    before: Mapping[str, Spot | None],
) -> Recorded:
    """Record where trees stand, as typed with their units east and north; all of them or none.

    ``before`` is where each stood when it was moved, None where it had no place. Raises Overtaken where one
    of them has been moved or taken away since, and BadFile with every place that cannot be.
    """
    if not places:
        raise BadInput("no tree was moved", "move a tree, then keep its place")
    problems = [problem for tree, place in places.items() for problem in _problems(tree, *place)]
    if problems:
        raise BadFile(problems)

    def decide(folded: Folded) -> Iterator[Draft]:
        for tree, (east, north) in places.items():
            found = folded.tables.get((TREE, tree))
            if found is None:
                raise Overtaken(
                    said("no tree '{tree}' stands in this garden any more", tree=tree),
                    "look at the map anew",
                )
            stood = _spot(found.plain.get("place"))
            if not _same(stood, before.get(tree)):
                raise Overtaken(
                    said("tree '{tree}' was moved by somebody else meanwhile", tree=tree),
                    "look at the map anew, then move it again",
                )
            stated = {"place": {"east": east, "north": north}}
            yield Draft(TREE, tree, say.STATE, stated, "", today)

    return store.record_from(stamp, decide, knowledge(), today)


def _problems(tree: str, east: str, north: str) -> Iterator[Problem]:
    for name, text in (("east", east), ("north", north)):
        try:
            parse(text, "map_distance")
        except BadInput as error:
            yield Problem(f"{tree}, {name}", error.message, error.hint)


def _spot(stated: object) -> Spot | None:
    """Where something is said to stand; None where nothing is said that can be read."""
    if not isinstance(stated, Mapping):
        return None
    try:
        east, north = (parse(stated.get(key), "map_distance") for key in ("east", "north"))
    except BadInput:
        return None
    return east, north


def _same(one: Spot | None, other: Spot | None) -> bool:
    if one is None or other is None:
        return one is other
    return all(abs(a - b) < SAME for a, b in zip(one, other, strict=True))
