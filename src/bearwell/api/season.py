"""Use cases of looking back: a past season of a garden, what was advised and recorded, and what to change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from hashlib import sha256

from bearwell.api.gardens import LoadedGarden, normals_of, usual_weather
from bearwell.errors import BadInput, BearwellError, Problem
from bearwell.garden import Garden, Tree
from bearwell.garden.cold import Cold
from bearwell.plan.bearing import middle_of_picking
from bearwell.plan.change import Change, Findings
from bearwell.plan.changes import changes_of
from bearwell.plan.changes_dates import Honesty, garden_changes, honesty_of
from bearwell.plan.decisions import Decision
from bearwell.plan.lookback import Act, Line, acts_of, matched
from bearwell.plan.morning import STEP, Morning, morning_of
from bearwell.plan.reviewed import (
    ColdLook,
    CropLook,
    DateLook,
    NitrogenLook,
    WorkLook,
    cold_look,
    crop_looks,
    date_looks,
    nitrogen_look,
    unseen,
    work_look,
)
from bearwell.plan.schedule import feeding_schedule
from bearwell.plan.view import View
from bearwell.said import said
from bearwell.season.cycle import Cycle, Stage
from bearwell.season.site import SiteSeason
from bearwell.season.waterspan import WaterSpan, water_span
from bearwell.weather.series import DailySeries

SHORTEST, LONGEST = 7, 400  # days of a span
YEAR = timedelta(days=365)


@dataclass(frozen=True)
class TreeSeason:
    """A tree's past season: every advice with its records, its accounts, and what to change.

    ``waterings`` and ``protections`` are records of those jobs; ``looks`` are lines of looking round and
    measuring, kept apart from the work. ``planned`` is when the plan first spoke of the tree in the span.
    """

    tree: Tree
    kind: str
    planned: date
    lines: tuple[Line, ...]
    looks: tuple[Line, ...]
    unasked: tuple[Act, ...]
    waterings: tuple[Act, ...]
    protections: tuple[Act, ...]
    nitrogen: NitrogenLook
    dates: tuple[DateLook, ...]
    unseen: tuple[Stage, ...]
    crops: tuple[CropLook, ...]
    water: WaterSpan | None
    cold: ColdLook | None
    work: WorkLook
    changes: tuple[Change, ...]

    @property
    def records(self) -> int:
        """Records of work in the span."""
        acts = [act for line in (*self.lines, *self.looks) for act in line.acts]
        return sum(
            len(act.rows)
            for act in (*acts, *self.unasked, *self.waterings, *self.protections)
        )  # fmt: skip


@dataclass(frozen=True)
class Choice:
    """A span that can be looked back on: the last year, or a season from midwinter to midwinter."""

    key: str
    since: date
    until: date


@dataclass(frozen=True)
class GardenSeason:
    """A past span of a garden.

    ``left_out`` are trees that were not here yet or cannot be planned; ``waiting`` are those not yet looked
    back on.
    """

    garden: str
    today: date
    since: date
    until: date
    trees: tuple[TreeSeason, ...]
    left_out: tuple[Tree, ...]
    honesty: Honesty | None
    changes: tuple[Change, ...]
    choices: tuple[Choice, ...]
    waiting: tuple[Tree, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """The work of every tree."""
        return tuple(line for one in self.trees for line in one.lines)


def season_choices(opened: LoadedGarden) -> tuple[Choice, ...]:
    """The spans a page offers: the last year, this season so far, and the two before it."""
    site, today = opened.site, opened.today
    year = Choice("year", today - YEAR, today)
    found = [year]
    for back in (0, 1, 2):
        first = site.start(site.season - back)
        last = min(site.start(site.season - back + 1) - timedelta(days=1), today)
        if (last - first).days >= SHORTEST:
            found.append(Choice("season", first, last))
    return tuple(found)


def look_back(
    opened: LoadedGarden,
    since: date | None = None,
    until: date | None = None,
    tree: str | None = None,
    at_most: int | None = None,
) -> GardenSeason:
    """What was planned, done and picked between two days, by default the last year, for every tree or one.

    The plan is asked again as it would have spoken then, every eight weeks: from the records and the weather
    before that morning. Sizes, the shelf and the site are those of today, with as much on the shelf as was
    needed. With ``at_most`` it stops after so many mornings that were never asked before and tells which
    trees are ``waiting``: asked once more it goes on from there. BadInput for a span that is to come, shorter
    than a week or longer than 400 days.
    """
    first, last = _span(opened, since, until)
    chosen = [opened.garden.tree(tree)] if tree else list(opened.garden.trees)
    spans: dict[tuple[date, date], _Rebuilt] = opened.kept.setdefault("seasons", {})
    rebuilt = spans.get((first, last))
    if rebuilt is None:
        while len(spans) >= _SPANS_KEPT:
            spans.pop(next(iter(spans)), None)
        rebuilt = spans.setdefault((first, last), _Rebuilt(opened, first, last))
    kept, before = rebuilt.seasons, rebuilt.asked
    for one in chosen:
        if at_most is not None and rebuilt.asked - before >= at_most:
            break
        if one.id not in kept:
            kept[one.id] = rebuilt.season(one)
    seen = [one for one in chosen if one.id in kept]
    trees = tuple(found for one in seen if (found := kept[one.id]) is not None)
    honesty = honesty_of([one for each in trees for one in each.dates])
    return GardenSeason(
        opened.garden.about.name,
        opened.today,
        first,
        last,
        trees,
        tuple(one for one in seen if kept[one.id] is None),
        honesty,
        tuple(garden_changes(honesty)) if tree is None else (),
        season_choices(opened),
        tuple(one for one in chosen if one.id not in kept),
    )


def _span(opened: LoadedGarden, since: date | None, until: date | None) -> tuple[date, date]:
    last = until or opened.today
    if last > opened.today:
        raise BadInput(
            said("{day} is still to come", day=last),
            said("a day up to {today}", today=opened.today),
        )
    try:
        first = since or last - YEAR
    except OverflowError:
        raise BadInput(
            said("{day} is too long ago", day=last), "a day of this garden's own years"
        ) from None
    days = (last - first).days
    if not SHORTEST <= days <= LONGEST:
        raise BadInput(
            said("{first} to {last} cannot be looked back on", first=first, last=last),
            said(
                "from {shortest} to {longest} days, the first day before the last",
                shortest=SHORTEST,
                longest=LONGEST,
            ),
        )
    if first.year < _EARLIEST:
        raise BadInput(
            said("{day} is too long ago", day=first), said("from {year} on", year=_EARLIEST)
        )
    return first, last


_EARLIEST = 1900
_SPANS_KEPT = 8


class _Rebuilt:
    """A garden as it stood on mornings of a span, with the seasons it came to and how many it had to ask."""

    def __init__(self, opened: LoadedGarden, since: date, until: date) -> None:
        self.opened, self.since, self.until = opened, since, until
        self.products = {one.id: one for one in opened.garden.products}
        self.shelf = tuple(
            one.model_copy(update={"on_hand": None}) for one in opened.garden.products
        )
        self.sites: dict[date, SiteSeason] = {}
        self.prints: dict[date, str] = {}
        self.seasons: dict[str, TreeSeason | None] = {}
        self.asked = 0
        self.decisions = [one for one in opened.decisions if one.day is None or one.day <= until]

    @cached_property
    def print(self) -> str:
        """A fingerprint of everything of the garden that a morning rests on beside its tree's records."""
        undated = {
            one.id: as_it_stood(one, date.min).model_copy(update={"harvests": ()})
            for one in self.opened.garden.trees
        }
        garden = self.opened.garden.model_copy(
            update={"trees": tuple(undated.values()), "products": self.shelf, "cold": Cold()}
        )
        return _mark(
            garden.model_dump_json(), str(self.opened.site.site), str(self.opened.site.learned)
        )

    def days(self, tree: Tree) -> list[date]:
        """The mornings on which the plan is asked for a tree.

        The first of the span, then every eight weeks, on the same days whatever the span, and the day after a
        count, as it changes what is to be thinned.
        """
        first = max(self.since, tree.planted + _DAY)
        if first > self.until:
            return []
        grid = first.toordinal() // STEP.days + 1
        fixed = range(grid * STEP.days, self.until.toordinal() + 1, STEP.days)
        counted = [one.date + _DAY for one in tree.counts if first < one.date < self.until]
        return sorted({first, *map(date.fromordinal, fixed), *counted})

    def series(self, day: date) -> DailySeries | None:
        """The weather up to a morning."""
        whole = self.opened.site.series
        if whole is None or whole.start >= day:
            return None
        return whole.between(whole.start, day - _DAY)

    def site(self, day: date) -> SiteSeason:
        """The site on a morning: the weather up to it, and the usual weather by the record up to it."""
        if day not in self.sites:
            whole, series = self.opened.site, self.series(day)
            usual = usual_weather(series, normals_of(self.opened.garden), southern=whole.southern)
            self.sites[day] = SiteSeason(whole.site, day, series, usual, whole.learned)
        return self.sites[day]

    def view(self, tree: Tree, day: date, *, weighed: bool = False) -> View:
        """A tree on a morning, with the records before it; ``weighed`` keeps crops still being picked."""
        site, book = self.site(day), self.opened.book
        species = book.kind(tree.kind)
        before = as_it_stood(tree, day)
        cycle = Cycle(before, species, site, book)
        before = before.model_copy(
            update={
                "harvests": tuple(
                    one for one in tree.harvests if weighed or _picked(one.year, cycle, day)
                )
            }
        )
        trees = tuple(
            before if one.id == tree.id else one
            for one in self.opened.garden.trees
            if one.planted < day or one.id == tree.id
        )
        garden: Garden = self.opened.garden.model_copy(
            update={"trees": trees, "products": self.shelf, "cold": Cold()}
        )
        return View(garden, before, species, cycle, site, book, day)

    def morning(self, tree: Tree, day: date) -> Morning:
        """What was planned and forecast for a tree on a morning; worked out once for as long as it holds."""
        before, kind = as_it_stood(tree, day), self.opened.book.kind(tree.kind)
        key = _mark(
            self.print, before.model_dump_json(), repr(kind), day.isoformat(), self._weather(day)
        )
        known = _mornings.get(key)
        if known is None:
            self.asked += 1
            view = self.view(tree, day)
            if len(_mornings) >= _KEPT_AT_MOST:
                _mornings.clear()
            known = morning_of(view, feeding_schedule([view]).trees[tree.id])
            _mornings[key] = known
        return known

    def _weather(self, day: date) -> str:
        if day not in self.prints:
            series = self.series(day)
            parts = [] if series is None else [series.tmin, series.tmax, series.rain]
            start = "" if series is None else series.start.isoformat()
            self.prints[day] = _mark(start, *(part.tobytes() for part in parts))
        return self.prints[day]

    def season(self, tree: Tree) -> TreeSeason | None:
        """The season of a tree; None for one that came later or cannot be planned, which is told."""
        days = self.days(tree)
        if not days:
            return None
        try:
            return self._season(tree, days)
        except BearwellError as error:
            problem = Problem(
                self.opened.name,
                said(
                    "the season of tree '{tree}' cannot be looked back on: {why}",
                    tree=tree.id,
                    why=error.message,
                ),
                error.hint,
                severity="warning",
            )
            if problem not in self.opened.problems:
                self.opened.problems = (*self.opened.problems, problem)
            return None

    def _season(self, tree: Tree, days: Sequence[date]) -> TreeSeason:
        told = [self.morning(tree, day) for day in days]
        after = self.view(tree, self.until + _DAY, weighed=self.until == self.opened.today)
        since, until = self.since, self.until
        acts = acts_of(tree, self.products, since, until, self.opened.picks)
        weighed = frozenset(one.year for one in after.tree.harvests)
        decisions = [one for one in self.decisions if _in_span(one, since)]
        found = matched(told, acts, decisions, until, weighed)
        waterings = tuple(act for act in found.beside if act.job == "water")
        lines = tuple(line for line in found.lines if line.advice.kind not in _LOOKS)
        looks = tuple(line for line in found.lines if line.advice.kind in _LOOKS)
        nitrogen = nitrogen_look(told[0], lines, found.unasked, self.products)
        dates = date_looks(told[0], tree.observed, since, until)
        missing = unseen(told[0], after, until)
        earlier: list[DateLook] = []
        if tree.planted < since - YEAR:
            before = self.morning(tree, since - YEAR)
            earlier = date_looks(before, tree.observed, since - YEAR, since - _DAY)
        crops = tuple(crop_looks(told, after, acts, since, until))
        first = max(since, tree.planted)
        water = water_span(
            after.tree, after.species, after.cycle, after.size, after.site, after.garden, after.book, first, until,
        )  # fmt: skip
        cold = cold_look(after, acts, since, until)
        findings = Findings(
            after, since, until, found, nitrogen, tuple(dates), tuple(earlier), tuple(missing), crops,
            water, len(waterings), cold,
        )  # fmt: skip
        return TreeSeason(
            tree,
            after.species.name,
            days[0],
            lines,
            looks,
            found.unasked,
            waterings,
            tuple(act for act in found.beside if act.job != "water"),
            nitrogen,
            tuple(dates),
            tuple(missing),
            crops,
            water,
            cold,
            work_look((*lines, *looks)),
            tuple(changes_of(findings)),
        )


_DAY = timedelta(days=1)
_LOOKS = ("inspect", "measure")


# Mornings that were worked out before, by all that they rest on: what is recorded today changes none of them.
_KEPT_AT_MOST = 2000
_mornings: dict[str, Morning] = {}


def _mark(*parts: str | bytes) -> str:
    found = sha256()
    for part in parts:
        found.update(part.encode() if isinstance(part, str) else part)
        found.update(b"\0")
    return found.hexdigest()


def as_it_stood(tree: Tree, day: date) -> Tree:
    """A tree with what was recorded of it before the morning of a day; its crops have no day and stay."""
    dated = ("observed", "counts", "done", "leaf_tests", "shortages")
    return tree.model_copy(
        update={name: tuple(one for one in getattr(tree, name) if one.date < day) for name in dated}
    )


def _picked(year: int, cycle: Cycle, day: date) -> bool:
    """Whether the crop of a year was picked before a morning: by the end of its picking, where known."""
    for start in cycle.every("harvest start"):
        end = cycle.of("harvest end", start.season, start.wave)
        if start.wave == 1 and end is not None and middle_of_picking(start, end).year == year:
            return end.date < day
    return year < day.year


def _in_span(one: Decision, since: date) -> bool:
    return one.day is None or one.day >= since or one.latest >= since
