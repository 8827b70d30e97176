"""The order in which a garden is walked, for every sheet that is carried along."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date, timedelta
from typing import TypeVar

from bearwell.api.gardens import LoadedGarden
from bearwell.garden import Tree
from bearwell.plan.advice import Window

Found = TypeVar("Found")


def open_within(window: Window, today: date, days: int) -> bool:
    """Whether a window can be used in the coming days."""
    return window.earliest <= today + timedelta(days=days) and window.latest >= today


def walked(
    opened: LoadedGarden, found: Callable[[Tree], Iterable[Found]]
) -> Iterator[tuple[Tree, Found]]:
    """What is found at each tree, in walking order: the order the garden file lists the trees."""
    for tree in opened.garden.trees:
        for one in found(tree):
            yield tree, one
