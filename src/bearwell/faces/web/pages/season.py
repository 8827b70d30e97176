"""The pages of a past season: the garden's, and one tree's with its drawing."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from markupsafe import Markup

from bearwell.api import Choice, GardenSeason, Knowledge
from bearwell.faces.language import _
from bearwell.faces.season import (
    CHANGE_WORDS,
    EVENT_WORDS,
    VERDICT_WORDS,
    JobCount,
    act_words,
    change_groups,
    crop_words,
    job_counts,
    off_words,
    sums_of,
    told,
)
from bearwell.faces.web.drawing.season import drawn_span, season_rows, share_bar
from bearwell.faces.web.drawing.year import year_drawing
from bearwell.faces.web.render import part
from bearwell.faces.words import JOB_WORDS, Words
from bearwell.quantities import Quantity

_FOLDED_AT_MOST = 40  # trees


def shown(season: GardenSeason, words: Words, below: str = "/season") -> dict[str, Any]:
    """Everything that either page shows; ``below`` is the address of the page."""
    counts = job_counts(season.trees)
    return {
        "season": season,
        "counts": [(one, share_bar(one, _count_words(one))) for one in counts],
        "groups": change_groups(season),
        "sums": sums_of(season.trees),
        "spans": [_span(one, season, words, below) for one in season.choices],
        "asked_for": f"since={season.since}&until={season.until}",
        "change_words": CHANGE_WORDS,
        "event_words": EVENT_WORDS,
        "verdict_words": VERDICT_WORDS,
        "told": told,
        "act_words": act_words,
        "crop_words": crop_words,
        "off_words": off_words,
        "Quantity": Quantity,
    }


def bodies(
    season: GardenSeason, words: Words, book: Knowledge, shown: dict[str, Any], *, alone: bool
) -> list[Markup]:
    """Each tree as a part of the page; none where there are more than one page should hold."""
    if len(season.trees) > _FOLDED_AT_MOST:
        return []
    asked = shown["asked_for"]
    return [
        part("season_tree.html", one, words, (asked, alone), book=book, alone=alone, **shown)
        for one in season.trees
    ]


def tree_shown(season: GardenSeason, words: Words) -> dict[str, Any]:
    """The drawing of a tree's season; nothing where it has none."""
    drawn: dict[str, Markup | None] = {"wide": None, "narrow": None}
    if season.trees:
        one = season.trees[0]
        rows = season_rows(one, words)
        first, last = drawn_span(season.since, season.until)
        if rows:
            for key in drawn:
                drawn[key] = year_drawing(
                    rows, first, last, season.today, words, narrow=key == "narrow", name=one.tree.called
                )  # fmt: skip
    return drawn


def _count_words(count: JobCount) -> str:
    return _(
        "{job}: {whole} advised, {done} as advised, {other} differently, {unknown} with nothing recorded",
        job=_(JOB_WORDS[count.job]),
        whole=len(count.lines),
        done=count.of("as-advised"),
        other=count.of("differently", "no-day"),
        unknown=count.of("not-recorded"),
    )


def _span(one: Choice, season: GardenSeason, words: Words, below: str) -> tuple[str, str, bool]:
    """The address of a span, its name, and whether it is the one shown."""
    asked = urlencode({"since": one.since.isoformat(), "until": one.until.isoformat()})
    name = _("The last year") if one.key == "year" else words.span(one.since, one.until)
    return f"{below}?{asked}", name, (one.since, one.until) == (season.since, season.until)
