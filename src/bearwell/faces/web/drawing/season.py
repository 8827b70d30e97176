"""How the advice of a past season went: a bar a job, and a tree's windows beside what was done in them."""

from __future__ import annotations

from datetime import date, timedelta

from markupsafe import Markup

from bearwell.api import TreeSeason
from bearwell.faces.language import N_, _
from bearwell.faces.season import JobCount, act_words
from bearwell.faces.web.drawing.svg import joined, tag
from bearwell.faces.web.drawing.year import Bar, Mark, Row
from bearwell.faces.words import Words

_JOB_ROWS = {
    "prune": N_("Cutting"),
    "thin": N_("Thinning"),
    "feed": N_("Feeding"),
    "harvest": N_("Picking"),
}
_HELD = ("held-back", "asked-again")


def share_bar(count: JobCount, said: str) -> Markup:
    """The advice of one job as parts of a bar: as advised, differently, decided against, not known, aside."""
    whole, at, parts = len(count.lines), 0.0, [tag("title", said)]
    for tone, number in count.shares:
        wide = 240.0 * number / whole
        if number:
            parts.append(tag("rect", x=at, y=0.0, width=wide, height=14.0, class_=tone))
        at += wide
    return tag(
        "svg", joined(parts), viewBox="0 0 240 14", class_="share-bar", role="img",
        preserveAspectRatio="none",
    )  # fmt: skip


def season_rows(one: TreeSeason, words: Words) -> list[Row]:
    """A row a job: the days that were advised, and what was recorded; rows without anything are left out."""
    rows = []
    for job, title in _JOB_ROWS.items():
        lines = [line for line in one.lines if line.advice.kind == job]
        bars = tuple(
            Bar(
                line.advice.window.earliest,
                line.advice.window.latest,
                words.phrase(line.advice.headline),
                "held" if line.verdict in _HELD else "window",
                best=line.advice.window.best,
            )
            for line in lines
        )
        acts = [act for line in lines for act in line.acts]
        acts += [act for act in one.unasked if act.job == job]
        marks = tuple(Mark(act.day, act_words(act, words)) for act in acts)
        rows.append(Row(job, _(title), bars, marks))
    rows.append(
        Row(
            "protect",
            _("Protecting"),
            (),
            tuple(Mark(act.day, act_words(act, words)) for act in one.protections),
        )
    )
    rows.append(
        Row(
            "done",
            _("Watering"),
            (),
            tuple(Mark(act.day, act_words(act, words)) for act in one.waterings),
        )
    )
    return [row for row in rows if row.bars or row.marks]


def drawn_span(since: date, until: date) -> tuple[date, date]:
    """The days that are drawn: whole months, with room for the word of today at the end."""
    after = (until + timedelta(days=32)).replace(day=1)
    return since.replace(day=1), after - timedelta(days=1)
