"""One advice: what to do for one tree, how much, by when, why and how sure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Literal

from bearwell.garden.model import Job
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase

Standing = Literal["due", "coming", "later", "blocked", "missed"]

# From surest to least sure; an advice is as sure as the weakest link of its chain.
SURENESS = ("read", "computed", "secondhand", "memory", "judgement")


def weakest_of(because: Iterable[Because]) -> str:
    """The weakest confidence in a chain of reasons; the surest where none of them states one."""
    ranks = [SURENESS.index(link.confidence) for link in because if link.confidence in SURENESS]
    return SURENESS[max(ranks, default=0)]


@dataclass(frozen=True)
class Window:
    """The days on which something serves, and the best of them."""

    earliest: date
    best: date
    latest: date

    def holds(self, day: date) -> bool:
        """Whether a day lies in it."""
        return self.earliest <= day <= self.latest


@dataclass(frozen=True)
class Advice:
    """What a planner says. Quantities are canonical; faces turn phrases into the garden's units."""

    id: str
    tree: str
    kind: Job
    window: Window
    headline: Phrase
    quantity: Quantity | None = None
    display: Phrase | None = None
    steps: tuple[Phrase, ...] = ()
    cautions: tuple[str, ...] = ()
    minutes: float = 5.0
    because: tuple[Because, ...] = ()
    changes: Phrase | None = None
    details: dict[str, Any] = field(default_factory=dict)
    standing: Standing = "due"
    remarks: tuple[Phrase, ...] = ()

    @property
    def confidence(self) -> str:
        """The weakest confidence in the chain of reasons."""
        return weakest_of(self.because)

    def standing_on(self, today: date) -> Advice:
        """The same advice with its standing on a day; a blocked one stays blocked."""
        if self.standing == "blocked":
            return self
        if today > self.window.latest:
            return replace(self, standing="missed")
        return replace(self, standing="due" if today >= self.window.earliest else "coming")

    def remarked(self, remark: Phrase) -> Advice:
        """The same advice with one more remark, such as a clash."""
        return replace(self, remarks=(*self.remarks, remark))
