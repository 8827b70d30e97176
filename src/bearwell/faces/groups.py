"""Advice that says the same for several trees, gathered into one entry."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bearwell.api import Advice, Window, minutes_of
from bearwell.reasons import Phrase


@dataclass(frozen=True)
class Group:
    """An advice shown as one entry: the same for several trees, or for one."""

    lead: Advice
    members: tuple[Advice, ...]

    @property
    def trees(self) -> list[str]:
        """The trees it holds for."""
        return [one.tree for one in self.members]

    @property
    def minutes(self) -> float:
        """Work on all of them."""
        return minutes_of(self.members)

    @property
    def window(self) -> Window:
        """From the first best day to the day on which the first of them closes."""
        return Window(
            min(one.window.earliest for one in self.members),
            min(one.window.best for one in self.members),
            min(one.window.latest for one in self.members),
        )


def gather(advice: Iterable[Advice]) -> tuple[Group, ...]:
    """Equal advice for several trees as one entry, in the order of what closes first."""
    found: dict[tuple[object, ...], list[Advice]] = {}
    for one in advice:
        same = (one.kind, _said(one.headline), *(_said(step) for step in one.steps))
        found.setdefault(same, []).append(one)
    groups = [Group(members[0], tuple(members)) for members in found.values()]
    return tuple(sorted(groups, key=lambda group: (group.window.latest, group.window.best)))


def _said(phrase: Phrase) -> tuple[object, ...]:
    return phrase.text, tuple(sorted((key, str(value)) for key, value in phrase.values.items()))
