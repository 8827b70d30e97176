"""What is carried and hung up: the week's sheet, the year's poster, tags for the trees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any
from urllib.parse import quote, urlencode

import segno
from markupsafe import Markup

from bearwell.api import Advice, LoadedGarden, Tree, minutes_of, tree_year, worklist
from bearwell.errors import BadInput
from bearwell.faces.addresses import in_language
from bearwell.faces.groups import Group, gather
from bearwell.faces.language import N_, _, say
from bearwell.faces.shelf import Total, days_asked
from bearwell.faces.web.drawing.poster import Job, Line, Stretch
from bearwell.faces.web.drawing.svg import tag
from bearwell.faces.web.pages.feeding import sheet_of
from bearwell.faces.web.pages.week import ROUND
from bearwell.faces.words import JOB_WORDS, Words
from bearwell.quantities import Quantity
from bearwell.said import said

__all__ = ["WeekSheet", "poster_lines", "tag_sheet", "week_sheet"]


# ---------------------------------------------------------------- the week


@dataclass(frozen=True)
class Stop:
    """A tree on the walk with its jobs, most pressing first."""

    tree: Tree
    place: str
    jobs: tuple[Advice, ...]


@dataclass(frozen=True)
class WeekSheet:
    """The jobs of the coming days in walking order, what to carry, what to look at, what to mind."""

    today: date
    days: int
    stops: tuple[Stop, ...]
    carry: tuple[Total, ...]
    looks: tuple[Group, ...]
    held: tuple[Advice, ...]
    missed: tuple[Advice, ...]
    cautions: tuple[tuple[str, tuple[str, ...]], ...]
    minutes: float
    minutes_looking: float

    @property
    def last(self) -> date:
        """The last day of the sheet."""
        return self.today + timedelta(days=self.days)

    @property
    def jobs(self) -> int:
        """How many jobs it holds."""
        return sum(len(stop.jobs) for stop in self.stops)


def week_sheet(opened: LoadedGarden, days: int, words: Words) -> WeekSheet:
    """The sheet of the coming days. Trees stand in walking order: that of the garden file."""
    listed = worklist(opened, days_asked(days))
    open_now = listed.standing("due", "coming")
    work = [one for one in open_now if one.kind not in ROUND or one.quantity is not None]
    looking = [one for one in open_now if one.kind in ROUND and one.quantity is None]
    stops = []
    for tree in opened.garden.trees:
        jobs = tuple(one for one in work if one.tree == tree.id)
        if jobs:
            stops.append(Stop(tree, _where(tree, words), jobs))
    return WeekSheet(
        opened.today,
        days,
        tuple(stops),
        sheet_of(opened, days, words).totals,
        gather(looking),
        tuple(listed.standing("blocked")),
        tuple(listed.standing("missed")),
        _cautions([*work, *looking]),
        minutes_of(work),
        minutes_of(looking),
    )


def _where(tree: Tree, words: Words) -> str:
    """Where to find it, in a few words; nothing for a tree in the open ground."""
    pot = ""
    if tree.pot is not None:
        pot = _("pot of {volume}", volume=words.quantity(Quantity(tree.pot.volume, "L")))
    return ", ".join(part for part in (pot, tree.shelter or "") if part)


def _cautions(advice: Sequence[Advice]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every caution once: under the first job that carries it."""
    told: set[str] = set()
    found: dict[str, list[str]] = {}
    for one in advice:
        for text in one.cautions:
            if text not in told:
                told.add(text)
                found.setdefault(one.kind, []).append(say(text))
    return tuple((kind, tuple(texts)) for kind, texts in found.items())


# ---------------------------------------------------------------- the poster


def poster_span(today: date) -> tuple[date, date]:
    """Twelve months from the first of this one."""
    first = today.replace(day=1)
    return first, first.replace(year=first.year + 1) - timedelta(days=1)


def poster_lines(opened: LoadedGarden, words: Words) -> list[Line]:
    """A line a tree: its stages above, its jobs below, over the coming twelve months."""
    first, last = poster_span(opened.today)
    return [
        Line(
            tree.id,
            tree.called,
            say(opened.book.kind(tree.kind).name),
            tuple(_stretches(opened, tree, first, last)),
            tuple(_jobs(opened, tree, words, first, last)),
        )
        for tree in opened.garden.trees
        if tree.id in opened.schedule.trees
    ]


# Beginning and end of what is drawn as a stretch, what it is called, and how it is drawn.
_STRETCHES = (
    ("leaf out", "leaf fall", N_("in leaf"), "leaf"),
    ("bloom end", "harvest start", N_("fruit grows"), "fruit"),
    ("bloom start", "bloom end", N_("bloom"), "bloom"),
    ("harvest start", "harvest end", N_("pick"), "pick"),
)


def _stretches(opened: LoadedGarden, tree: Tree, first: date, last: date) -> list[Stretch]:
    found = []
    stages = {(one.event, one.season, one.wave): one for one in tree_year(opened, tree.id).stages}
    for begin, end, name, look in _STRETCHES:
        for (event, season, wave), start in stages.items():
            if event != begin:
                continue
            stop = stages.get((end, season, wave))
            if look == "fruit" and stop is None:
                continue
            until = start.date if stop is None else stop.date
            if start.date <= last and until >= first:
                sure = start.seen and (stop is None or stop.seen)
                found.append(Stretch(start.date, until, _(name), look, sure))
    return _joined(sorted(found, key=lambda one: (one.start, one.name)))


def _joined(found: Sequence[Stretch]) -> list[Stretch]:
    """Stretches of one name that run into each other, such as the picking of several waves, as one."""
    kept: dict[str, list[Stretch]] = {}
    for one in found:
        same = kept.setdefault(one.name, [])
        if same and one.start <= same[-1].end:
            before = same.pop()
            one = replace(before, end=max(before.end, one.end), seen=before.seen and one.seen)
        same.append(one)
    return sorted((one for same in kept.values() for one in same), key=lambda one: one.start)


_POSTER_JOBS = ("prune", "thin", "feed", "measure")


def _jobs(opened: LoadedGarden, tree: Tree, words: Words, first: date, last: date) -> list[Job]:
    found = []
    for one in opened.advice(tree):
        window = one.window
        counts = one.kind != "measure" or one.quantity is not None
        ahead = window.latest >= opened.today and window.earliest <= last
        if one.kind not in _POSTER_JOBS or not counts or not ahead or window.latest < first:
            continue
        held = one.standing == "blocked"
        found.append(
            Job(window.earliest, window.best, window.latest, _job_name(one, words), one.kind, held)
        )
    return sorted(found, key=lambda job: (job.first, job.name))


def _job_name(one: Advice, words: Words) -> str:
    """A job in two or three words."""
    if one.standing == "blocked":
        return _("no feed")
    if "corrects" in one.details:
        return _("mend {nutrient}", nutrient=one.details["corrects"])
    if one.kind == "feed":
        given = one.quantity
        if given is None:
            return _("feed")
        return _("feed {mass}", mass=words.quantity(Quantity(given.value, given.unit)))
    if one.kind == "prune":
        if "fit" in one.id.split("/"):
            return _("trim to fit")
        return _("main cut") if one.details.get("heavy") else _("light cut")
    return _("count") if one.kind == "measure" else _(JOB_WORDS[one.kind]).lower()


# ---------------------------------------------------------------- tags

_QUIET = 4  # modules of white round a code, ISO/IEC 18004
# Labels on a sheet of A4: across, down; how much of a code may be lost.
FORMATS = {"small": (3, 8, "m"), "large": (2, 4, "q")}


@dataclass(frozen=True)
class Tag:
    """What stands on the tag of a tree."""

    tree: str
    name: str
    kind: str
    botanical: str
    rootstock: str
    planted: date
    planted_on: str
    address: str
    level: str


@dataclass(frozen=True)
class TagSheet:
    """Tags and how they lie on sheets of A4."""

    garden: str
    base: str
    size: str
    across: int
    down: int
    skip: int
    tags: tuple[Tag, ...]


def tag_sheet(
    opened: LoadedGarden, base: str, size: str, skip: int, tree: str | None, words: Words
) -> TagSheet:
    """Tags of every tree, or of one, laid out on sheets after ``skip`` labels that are used already."""
    if size not in FORMATS:
        raise BadInput(
            said("there is no tag of size '{size}'", size=size),
            said("one of: {names}", names=", ".join(FORMATS)),
        )
    across, down, level = FORMATS[size]
    if not 0 <= skip < across * down:
        raise BadInput(
            said("{number} labels cannot be left out", number=skip),
            said("from 0 to {most}", most=across * down - 1),
        )
    trees = [opened.garden.tree(tree)] if tree else list(opened.garden.trees)
    tags = tuple(_tag(opened, one, base, level, words) for one in trees)
    return TagSheet(opened.garden.about.name, base, size, across, down, skip, tags)


def _tag(opened: LoadedGarden, tree: Tree, base: str, level: str, words: Words) -> Tag:
    address = f"{base}/tree/{quote(tree.id, safe='')}"
    species, rootstock = opened.book.kind(tree.kind), tree.rootstock or ""
    return Tag(
        tree.id,
        tree.called,
        say(species.name),
        species.botanical,
        rootstock,
        tree.planted,
        words.day(tree.planted),
        address,
        level,
    )


def code(address: str, level: str, name: str) -> Markup:
    """A QR code that leads to the page of a tree, black on white with its quiet zone."""
    return _code(address, level, _("Code that opens the page of {name}", name=name))


@lru_cache(maxsize=512)
def _code(address: str, level: str, title: str) -> Markup:
    """A QR code that leads to an address, with a title."""
    matrix = segno.make(address, error=level, micro=False, boost_error=True).matrix
    side = len(matrix) + 2 * _QUIET
    strokes = []
    for row, modules in enumerate(matrix):
        column = 0
        while column < len(modules):
            run = 0
            while column + run < len(modules) and modules[column + run]:
                run += 1
            if run:
                strokes.append(f"M{column + _QUIET} {row + _QUIET}h{run}v1h-{run}z")
            column += run or 1
    parts = [
        tag("title", title),
        tag("rect", width=float(side), height=float(side), fill="#fff"),
        tag("path", d="".join(strokes), fill="#000"),
    ]
    return tag(
        "svg", Markup("").join(parts), viewBox=f"0 0 {side} {side}", class_="code", role="img",
        shape_rendering="crispEdges",
    )  # fmt: skip


def sheets_of(found: TagSheet) -> list[list[Tag | None]]:
    """The tags sheet by sheet; nothing stands for a label that is used or left over."""
    labels: list[Tag | None] = [*([None] * found.skip), *found.tags]
    each = found.across * found.down
    return [labels[begin : begin + each] for begin in range(0, len(labels), each)]


def tags_address(found: TagSheet, tree: str | None, base: str) -> str:
    """The same tags as JSON."""
    asked = {"size": found.size, "skip": found.skip, "tree": tree or "", "base": base}
    return f"/tags.json?{urlencode({key: value for key, value in asked.items() if value != ''})}"


# ---------------------------------------------------------------- what there is to print


_PRINTED = (
    ("/sheet/week?days=7", N_("The week's sheet"), N_("All jobs of seven days in walking order, with boxes to tick.")),
    ("/sheet", N_("The feeding sheet"), N_("Rounds of three weeks: what to fill and carry, and where it goes.")),
    ("/sheet/pruning", N_("The pruning sheet"), N_("Cuts of six weeks, tree by tree, with what comes off.")),
    ("/season", N_("A season looked back on"), N_("What was advised, done and picked, and what to change.")),
    ("/poster", N_("The year's poster"), N_("Twelve months across, trees down: stages and jobs for the wall.")),
    ("/tags", N_("Tags for the trees"), N_("Labels with a code that opens the page of the tree.")),
    ("/map", N_("The garden from above"), N_("Who stands where, and whose canopies will touch.")),
)  # fmt: skip
_CALENDAR = (
    N_("The calendar"),
    N_("The work of the year in your phone's calendar, kept up to date."),
)


def feed(base: str) -> str:
    """The address of the calendar, which goes on speaking the language of the page that gave it."""
    return in_language(f"{base}/calendar.ics")


def paper_shown(base: str) -> list[dict[str, Any]]:
    """What there is to print and to subscribe to: address, name and a word on each."""
    rows = (*_PRINTED, (feed(base), *_CALENDAR))
    return [{"address": href, "name": _(name), "about": _(about)} for href, name, about in rows]
