"""What the grower decided about an advice, and how the plan keeps to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from bearwell.plan.advice import Advice, Window
from bearwell.reasons import phrase

# Weather moves a window from week to week: an advice whose best day lies within so many days of the one
# decided upon is the same job. Ours, no source.
SAME_JOB: Final = timedelta(days=21)


@dataclass(frozen=True)
class Decision:
    """One decision: an advice left undone (``skip``), put off (``postpone``) or carried out (``close``).

    The window is the advice's own when it was decided, so that the same job is known again.
    """

    advice: str
    what: str
    day: date | None
    earliest: date
    best: date
    latest: date
    reason: str = ""
    until: date | None = None

    def about(self, one: Advice) -> bool:
        """Whether an advice is the one that was decided upon, though its dates may have moved."""
        meets = one.window.earliest <= self.latest and self.earliest <= one.window.latest
        near = abs(one.window.best - self.best) <= SAME_JOB
        return meets and (one.id == self.advice or (near and stem(one.id) == stem(self.advice)))


def stem(advice_id: str) -> str:
    """An advice id without the month it was planned for."""
    return advice_id.rpartition("/")[0]


def honour(planned: Sequence[Advice], decisions: Sequence[Decision], today: date) -> list[Advice]:
    """The advice with every decision kept to: put off, held back with its reason, or closed."""
    kept = []
    for one in planned:
        # The latest word counts, and a decision on this very advice before one on its like.
        about = [decision for decision in decisions if decision.about(one)]
        about.sort(key=lambda decision: decision.advice == one.id)
        decided = _decided(one, about[-1], today) if about else one
        if decided is not None:
            kept.append(decided)
    return kept


def _decided(one: Advice, decision: Decision, today: date) -> Advice | None:
    if decision.what == "close":
        return None
    if decision.what == "skip":
        remark = phrase(
            "Left undone, as you decided on {day}: {reason}",
            day=decision.day or today,
            reason=decision.reason,
        )
        return replace(one, standing="blocked").remarked(remark)
    return _put_off(one, decision)


def _put_off(one: Advice, decision: Decision) -> Advice:
    wanted = decision.until or one.window.best
    day = min(max(wanted, one.window.earliest), one.window.latest)
    reason = decision.reason
    if day == wanted:
        text = "Put off by you to {day}: {reason}" if reason else "Put off by you to {day}"
    else:
        text = (
            "Put off by you to {wanted}: {reason}; its days have moved, so {day}"
            if reason
            else "Put off by you to {wanted}; its days have moved, so {day}"
        )
    remark = phrase(text, wanted=wanted, day=day, reason=reason)
    window = Window(one.window.earliest, day, one.window.latest)
    return replace(one, window=window).remarked(remark)
