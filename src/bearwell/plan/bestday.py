"""The best day of a window by score, off the frost, with the doubts that remain."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from bearwell.plan.advice import Window
from bearwell.plan.frost import off_the_frost
from bearwell.plan.view import View
from bearwell.plan.windows import FACTOR_WORDS, DayScores
from bearwell.reasons import Because, Phrase, computed, phrase
from bearwell.said import listed, said


@dataclass(frozen=True)
class Scored:
    """A window with its best day by score, why, and what is doubtful about it.

    ``doubtful`` says that frost makes even its best day a poor one, so that only a light cut is made.
    """

    window: Window
    because: tuple[Because, ...]
    remarks: tuple[Phrase, ...]
    doubtful: bool


def best_by_score(view: View, window: Window, scores: DayScores) -> Scored:
    """The window off the frost, its best day moved where another scores clearly better, and its doubts."""
    clear, whole = view.constant("clearly better"), window
    window, why_frost = off_the_frost(view, window, scores.of_window(window))
    if window.latest < whole.latest:
        window = replace(window, best=window.earliest)  # what lies behind it is winter, not spring
    highest = scores.at(scores.best_in(window))
    best = scores.nearest(window, clear.number * highest)
    chance = scores.chance_closed(best)
    links = [
        *why_frost,
        computed(
            "In this window {best} scores best or nearly so: {reasons}",
            round(scores.at(best), 3),
            "1",
            best=best,
            reasons=listed(
                said(
                    "{reason} {percent:.0f} %",
                    reason=FACTOR_WORDS[name],
                    percent=100 * float(values[scores.index(best)]),
                )
                for name, values in scores.factors.items()
            ),
        ),
    ]
    if chance >= view.constant("quite likely").number:
        links.append(
            computed(
                "Bloom may come early: by then the window has closed in {years} years of a hundred",
                round(chance, 3),
                "1",
                years=round(100 * chance),
            )
        )
    if scores.at(best) >= view.constant("doubtful day").number:
        return Scored(replace(window, best=best), tuple(links), (), False)
    cold = scores.least_factor(best)[0] == "frost"
    return Scored(replace(window, best=best), tuple(links), (_doubt(scores, best),), cold)


def _doubt(scores: DayScores, best: date) -> Phrase:
    """What is said of a best day that is not worth much."""
    name, factor = scores.least_factor(best)
    return phrase(
        "A doubtful day: even the best of this window is worth {worth} % of a good one; against it speaks most: "
        "{reason}, {part} %. Take off little, or leave it uncut this time",
        worth=round(100 * scores.at(best)),
        reason=FACTOR_WORDS[name],
        part=round(100 * factor),
    )
