"""A proposal of what to change after a season, and what it is worked out from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from bearwell.plan.advice import weakest_of
from bearwell.plan.lookback import Matched
from bearwell.plan.reviewed import ColdLook, CropLook, DateLook, NitrogenLook
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase
from bearwell.season.cycle import Stage
from bearwell.season.waterspan import WaterSpan

# Ours, no source: what is worth telling.
DAYS_WORTH: Final = 3  # days before or after a window
SHORT_WORTH: Final = 1.0  # g of nitrogen
LACK_WORTH: Final = 0.1  # share of what the leaves asked for
NAMED: Final = 5  # rounds or nights named in a chain
HOLDS: Final = 0.8  # share of cases a range is to hold
DOUBT: Final = 0.05  # chance below which so many misses are not put down to luck


@dataclass(frozen=True)
class Change:
    """A proposal: what was found, what to do about it, and why."""

    key: str
    tree: str
    headline: Phrase
    proposal: Phrase
    because: tuple[Because, ...]

    @property
    def confidence(self) -> str:
        """The weakest confidence in the chain of reasons."""
        return weakest_of(self.because)


@dataclass(frozen=True)
class Findings:
    """Everything that was found of one tree over a span, as the proposals need it."""

    view: View
    since: date
    until: date
    matched: Matched
    nitrogen: NitrogenLook
    dates: tuple[DateLook, ...]
    earlier: tuple[DateLook, ...]
    unseen: tuple[Stage, ...]
    crops: tuple[CropLook, ...]
    water: WaterSpan | None
    waterings: int
    cold: ColdLook | None
