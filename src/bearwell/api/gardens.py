"""Use cases on a garden: open it, check it, its worklist, its trees' years."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from bearwell.api.weather import Learned, gather, how_read, learn
from bearwell.errors import BadFile, BadInput, BearwellError, Problem
from bearwell.garden import Garden, Tree, load_garden
from bearwell.garden.counts import Pick
from bearwell.garden.file import GardenFile
from bearwell.knowledge import Knowledge, knowledge
from bearwell.plan.advice import Advice
from bearwell.plan.decisions import Decision, honour
from bearwell.plan.schedule import Schedule, feeding_schedule
from bearwell.plan.view import View, beside_trees
from bearwell.plan.watering import GardenWatering, garden_watering
from bearwell.plan.worklist import Worklist, merge, plan_tree
from bearwell.said import said
from bearwell.season.cycle import Cycle, Stage
from bearwell.season.site import SiteSeason
from bearwell.season.size import Size
from bearwell.store.places import is_store
from bearwell.weather.normals import Climate, Normals, climate, monthly_normals
from bearwell.weather.series import DailySeries, fill_gaps

if TYPE_CHECKING:
    from bearwell.store.keeping import Store

STALE_AFTER = 10


@dataclass
class LoadedGarden:
    """A garden with its weather on one day. Everything derived is worked out once and kept.

    ``weather_files`` are its own daily files by name, as far as they are files on this machine. From the
    store it comes with what was decided about advice, and with each picking by its day.
    ``kept`` holds what use cases beside this module have worked out, by name.
    """

    path: Path
    garden: Garden
    book: Knowledge
    site: SiteSeason
    problems: tuple[Problem, ...]
    nights: Learned | None = None
    decisions: tuple[Decision, ...] = ()
    picks: tuple[Pick, ...] = ()
    name: str = ""
    weather_files: Mapping[str, Path] = field(default_factory=dict, repr=False)
    _views: dict[str, View] = field(default_factory=dict, repr=False)
    _advice: dict[str, list[Advice]] = field(default_factory=dict, repr=False)
    kept: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    @property
    def today(self) -> date:
        """The day everything is worked out for."""
        return self.site.today

    @cached_property
    def schedule(self) -> Schedule:
        """The feeding of the whole garden: every tree draws on one shelf.

        A tree that cannot be planned is left out and told among the problems.
        """
        views = []
        for tree in self.garden.trees:
            try:
                views.append(self.view(tree))
            except BearwellError as error:
                self.trouble(tree, error)
        try:
            return feeding_schedule(views)
        except BearwellError:
            return feeding_schedule([view for view in views if self._feeds(view)])

    @cached_property
    def watering(self) -> GardenWatering:
        """The watering of the whole garden over two weeks: every tree draws on the water there is.

        A tree that cannot be planned is left out and told among the problems.
        """
        views = []
        for tree in self.garden.trees:
            try:
                if self.view(tree).water is not None:
                    views.append(self.view(tree))
            except BearwellError as error:
                self.trouble(tree, error)
        return garden_watering(views)

    def _feeds(self, view: View) -> bool:
        """Whether the feeding of a tree can be planned for itself."""
        try:
            feeding_schedule([view])
        except BearwellError as error:
            self.trouble(view.tree, error)
            return False
        return True

    def trouble(self, tree: Tree, error: BearwellError) -> None:
        """Tell once that a tree cannot be planned; the others go on."""
        problem = Problem(
            self.name,
            said("tree '{id}' cannot be planned: {message}", id=tree.id, message=error.message),
            error.hint,
        )
        if problem not in self.problems:
            self.problems = (*self.problems, problem)

    def view(self, tree: Tree) -> View:
        """What the planners see of a tree."""
        if tree.id not in self._views:
            species = self.book.kind(tree.kind)
            cycle = Cycle(tree, species, self.site, self.book)
            self._views[tree.id] = View(
                self.garden, tree, species, cycle, self.site, self.book, self.today
            )
        return self._views[tree.id]

    def advice(self, tree: Tree) -> list[Advice]:
        """Everything planned for a tree over the coming year, with the grower's decisions kept to."""
        if tree.id not in self._advice:
            self._advice[tree.id] = honour(self._planned(tree), self.decisions, self.today)
        return self._advice[tree.id]

    def _planned(self, tree: Tree) -> list[Advice]:
        try:
            if tree.id in self.schedule.trees:
                return plan_tree(
                    self.view(tree),
                    self.schedule.trees[tree.id],
                    self.watering.trees.get(tree.id),
                )
        except BearwellError as error:
            self.trouble(tree, error)
        return []


@dataclass(frozen=True)
class TreeYear:
    """One tree's stages and size, for the year page and `bearwell year`."""

    tree: Tree
    kind: str
    habit: str
    stages: tuple[Stage, ...]
    size: Size


def open_garden(
    place: str | Path | Store,
    today: date,
    weather: Sequence[str | Path] = (),
    before: LoadedGarden | None = None,
) -> LoadedGarden:
    """Read a garden with its weather: from a garden file, or from the store.

    The store is given open, or as its data folder or database address. ``weather`` names further daily
    files; where days overlap the garden's own files come first. ``before`` is an earlier opening: what it
    worked out goes on for every tree whose plan rests on nothing that has changed since.
    Raises BadFile or BadInput with what is wrong and where; nothing is half-opened.
    """
    book = knowledge()
    if isinstance(place, str | Path):
        if not is_store(place):
            read = load_garden(Path(place), book, today)
            return _gone_on(_loaded(read, today, weather), before)
        from bearwell.store.keeping import open_store

        with open_store(place) as store:
            return open_garden(store, today, weather, before)
    stored = place.garden(book, today)
    opened = _loaded(stored.read, today, weather)
    opened.decisions, opened.picks = stored.decisions, stored.picks
    opened.weather_files = stored.paths
    return _gone_on(opened, before)


def _gone_on(opened: LoadedGarden, before: LoadedGarden | None) -> LoadedGarden:
    """A garden with the views of an earlier opening, for trees that rest on nothing that has changed."""
    if (
        before is None
        or before.book != opened.book
        or not before.site.same_as(opened.site)
        or beside_trees(before.garden) != beside_trees(opened.garden)
    ):
        return opened
    old = {tree.id: tree for tree in before.garden.trees}
    # An unchanged tree stays the same object, so that views of several openings hold one garden, not many.
    trees = tuple(
        old[tree.id] if old.get(tree.id) == tree else tree for tree in opened.garden.trees
    )
    stood, stand = _under_shelters(before.garden.trees), _under_shelters(trees)
    opened.garden = opened.garden.model_copy(update={"trees": trees})
    opened.site, opened.book = before.site, before.book
    for tree in trees:
        view = before._views.get(tree.id)
        alone = tree.shelter is None or stood.get(tree.shelter) == stand[tree.shelter]
        if view is not None and view.tree is tree and alone:
            opened._views[tree.id] = view.in_garden(opened.garden)
    return opened


def _under_shelters(trees: Sequence[Tree]) -> dict[str, list[int]]:
    """The very trees under each shelter, in the order of the garden, by their identity."""
    found: dict[str, list[int]] = {}
    for tree in trees:
        if tree.shelter is not None:
            found.setdefault(tree.shelter, []).append(id(tree))
    return found


def _loaded(read: GardenFile, today: date, weather: Sequence[str | Path]) -> LoadedGarden:
    """A garden that was read, with its weather."""
    problems = list(read.problems)
    normals = normals_of(read.garden)
    series, told = gather(read, [Path(one) for one in weather], today, normals)
    problems += told
    learned, told = learn(read, series)
    problems += told
    measured: DailySeries | None = None
    if series is not None:
        problems += _freshness(read, series, today)
        measured = (
            series.between(series.start, min(series.end, today))
            if series.start <= today
            else series
        )
        series = fill_gaps(series, normals)
        problems += [problem for problem in series.problems if problem not in problems]
    place = usual_weather(measured, normals, southern=read.garden.site.southern)
    if place is None:
        problems.append(
            Problem(
                read.name,
                "there is no daily weather of a year or more and there are no monthly normals",
                "dates rest on the calendar of the tables; add [weather] daily or normals",
                severity="warning",
            )
        )
    else:
        problems += _hemisphere(read, place)
    here, colder = read.garden.site, None if learned is None else learned.colder
    if colder is not None:
        here = here.model_copy(update={"colder_than_station": colder.value})
    site = SiteSeason(here, today, series, place, colder)
    beside = {name: read.folder / name for name in read.garden.weather.daily}
    return LoadedGarden(
        read.path, read.garden, read.knowledge, site, tuple(problems), nights=learned, name=read.name,
        weather_files=beside,
    )  # fmt: skip


def normals_of(garden: Garden) -> Normals | None:
    """The monthly normals that a grower typed, if any."""
    typed = garden.weather.normals
    return None if typed is None else monthly_normals(typed.tmin, typed.tmax, typed.rain)


# Common practice, no source: days of a record that give the usual weather of a place.
LONG_ENOUGH = 330


def usual_weather(
    measured: DailySeries | None, normals: Normals | None, *, southern: bool
) -> Climate | None:
    """The usual weather of a place by a record long enough, else by its normals; None with neither."""
    if measured is not None and (measured.end - measured.start).days >= LONG_ENOUGH:
        return climate(measured, southern=southern, normals=normals)
    return None if normals is None else climate(normals, southern=southern)


# Common practice, no source.
TROPICS = 15.0  # degrees of latitude within which the seasons may fall as they like
_SUMMER_HALF = slice(90, 273)  # April to September, as days of the year from 0
CONTRAST = 1.0  # degC by which one half of the year must be the colder to contradict a latitude


def _hemisphere(read: GardenFile, place: Climate) -> list[Problem]:
    """A warning where the weather's cold half-year belongs to the other hemisphere."""
    latitude = read.garden.site.latitude
    middle = np.asarray(place.tmean, dtype=np.float64)
    summer = middle[_SUMMER_HALF]
    winter = np.concatenate([middle[: _SUMMER_HALF.start], middle[_SUMMER_HALF.stop :]])
    if abs(latitude) <= TROPICS or not (np.isfinite(summer).any() and np.isfinite(winter).any()):
        return []
    warmer = float(np.nanmean(summer) - np.nanmean(winter))
    if abs(warmer) < CONTRAST or (warmer > 0) == (latitude > 0):
        return []
    return [
        Problem(
            read.name,
            said(
                "latitude {latitude:g} and the weather do not go together: April to September is the cold "
                "half of the year, as in the south"
                if warmer < 0
                else "latitude {latitude:g} and the weather do not go together: October to March is the cold "
                "half of the year, as in the north",
                latitude=latitude,
            ),
            "south of the equator latitude is negative; or is the weather of another place?",
            read.line("site", "latitude"),
            "warning",
        )
    ]


def _freshness(read: GardenFile, series: DailySeries, today: date) -> list[Problem]:
    behind = (today - series.end).days
    if behind <= 2:
        return []
    stale = behind > STALE_AFTER
    return [
        Problem(
            series.sources[0] if series.sources else read.name,
            said(
                "the weather ends on {day}, {behind} days before {today}",
                day=series.end,
                behind=behind,
                today=today,
            ),
            "add the newer days: no watering or forecast is planned without them"
            if stale
            else "add the newest days for tonight's cold and for watering",
            severity="warning",
        )
    ]


def check_garden(
    place: str | Path | Store, today: date, weather: Sequence[str | Path] = ()
) -> list[Problem]:
    """Every problem of a garden and its weather, errors first; what was supposed comes last."""
    try:
        opened = open_garden(place, today, weather)
    except BadFile as error:
        waits = Problem(
            str(place) if isinstance(place, str | Path) else place.where,
            "weather files, supposed sizes and the plan are looked at only when no error is left",
            "mend what is told, and check again",
            severity="note",
        )
        return gravest_first([*error.problems, waits])
    except BearwellError as error:
        name = str(place) if isinstance(place, str | Path) else place.where
        return [Problem(name, error.message, error.hint)]
    for tree in opened.garden.trees:
        opened.advice(tree)
    return gravest_first([*opened.problems, *_supposed(opened), *how_read(opened.site.series)])


# What of a tree's size was supposed, most first: the note, and the note where its girth is not known.
_SUPPOSED = {
    frozenset({"height", "spread"}): (
        "tree '{id}': height and spread are supposed from its kind and age",
        "tree '{id}': height and spread are supposed from its kind and age; its trunk girth is not known",
    ),
    frozenset({"height"}): (
        "tree '{id}': height is supposed from its kind and age",
        "tree '{id}': height is supposed from its kind and age; its trunk girth is not known",
    ),
    frozenset({"spread"}): (
        "tree '{id}': spread is supposed from its kind and age",
        "tree '{id}': spread is supposed from its kind and age; its trunk girth is not known",
    ),
}


def _supposed(opened: LoadedGarden) -> list[Problem]:
    """A note for every tree whose size was not measured."""
    notes = []
    for tree in opened.garden.trees:
        try:
            size = opened.view(tree).size
        except BearwellError:
            continue  # told by its advice
        supposed = [one for one in _SUPPOSED if one <= set(size.supposed)]
        if supposed:
            sentence, without_girth = _SUPPOSED[supposed[0]]
            notes.append(
                Problem(
                    opened.name,
                    said(without_girth if size.girth is None else sentence, id=tree.id),
                    "measure it, and amounts will fit",
                    severity="note",
                )
            )
    return notes


def gravest_first(problems: Iterable[Problem]) -> list[Problem]:
    """Errors, then warnings, then notes, each by file and line."""
    ranks = ("error", "warning", "note")
    return sorted(problems, key=lambda one: (ranks.index(one.severity), one.where, one.line or 0))


def worklist(opened: LoadedGarden, days: int = 14, tree: str | None = None) -> Worklist:
    """What to do in the coming days, for every tree or for one."""
    if not 1 <= days <= 366:
        raise BadInput(said("{days} days cannot be listed", days=days), "between 1 and 366")
    work = planned(opened, tree)
    return merge(opened.garden.about.name, opened.today, days, work, opened.problems)


def planned(opened: LoadedGarden, tree: str | None = None) -> list[Advice]:
    """Everything planned over the coming year, for every tree in the order of the file or for one."""
    trees = [opened.garden.tree(tree)] if tree else list(opened.garden.trees)
    return [one for each in trees for one in opened.advice(each)]


def tree_year(opened: LoadedGarden, tree_id: str) -> TreeYear:
    """The stages of last, this and next season for a tree."""
    tree = opened.garden.tree(tree_id)
    view = opened.view(tree)
    return TreeYear(tree, view.species.name, view.species.habit, view.cycle.stages, view.size)


def years(opened: LoadedGarden, tree: str | None = None) -> list[TreeYear]:
    """The years of every tree, or of one. Of all, a tree that cannot be planned is told and left out."""
    if tree:
        return [tree_year(opened, tree)]
    found = []
    for one in opened.garden.trees:
        try:
            found.append(tree_year(opened, one.id))
        except BearwellError as error:
            opened.trouble(one, error)
    return found


def year_span(today: date) -> tuple[date, date]:
    """The days a year page draws: from six months back to a year ahead."""
    return today - timedelta(days=180), today + timedelta(days=366)
