"""How many fruit hang, by each way of counting, with the range of the count and how to narrow it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import ceil, prod, sqrt
from statistics import NormalDist

import numpy as np

from bearwell.garden import Count
from bearwell.garden.counts import Path
from bearwell.knowledge import Knowledge
from bearwell.plan.view import View
from bearwell.reasons import Because, recorded
from bearwell.said import listed, said
from bearwell.science.cropload import canopy_surface
from bearwell.science.sampling import (
    branch_path_estimate,
    branch_probabilities_by_girth,
    frame_count_estimate,
    most_when_none_seen,
    part_count_error,
    paths_needed,
)
from bearwell.season.cycle import Stage
from bearwell.season.size import Size


@dataclass(frozen=True)
class Estimate:
    """How many fruit hang, with a range; ``more`` is how many further walks or frames make it good."""

    fruit: float
    low: float
    high: float
    because: Because
    error: float = 0.0
    way: str = "whole"
    more: int = 0
    halves: tuple[tuple[str, int], ...] = ()


# Sides of a tree by their usual names; a grower may call them otherwise.
SIDES = {
    "north": said("north"),
    "south": said("south"),
    "east": said("east"),
    "west": said("west"),
}


def chance_of(path: Path) -> float:
    """The chance of a walk: as written, or from the girths at its forks, the branch taken first."""
    if path.probability is not None:
        return path.probability
    return prod(float(branch_probabilities_by_girth(fork)[0]) for fork in path.forks)


def estimate_of(count: Count, size: Size | None, book: Knowledge) -> Estimate:
    """The fruit a count stands for; a count by frames needs the size of the tree."""
    if count.paths:
        return _by_paths(count, book)
    if count.frames:
        return _by_frames(count, size, book)
    if count.halves:
        fruit = float(sum(count.halves.values()))
        sides = listed(
            (
                said("{count} on the {side} side", count=number, side=SIDES.get(side, side))
                for side, number in count.halves.items()
            ),
            "{one} and {other}",
        )
        why = recorded("You counted {sides} on {day}", sides=sides, day=count.date)
        found = _whole(fruit, why, book, "halves")
        return Estimate(
            found.fruit,
            found.low,
            found.high,
            why,
            found.error,
            "halves",
            halves=tuple(count.halves.items()),
        )
    if count.part is not None and count.part < 1:
        return _by_part(count, count.part, book)
    why = recorded("You counted {fruit} fruit on {day}", fruit=count.fruit or 0, day=count.date)
    return _whole(float(count.fruit or 0), why, book, "whole")


def _wide(book: Knowledge) -> float:
    """Half the width of a range in standard errors, where the error is known beforehand."""
    return NormalDist().inv_cdf((1 + book.constant("sure of a count").number) / 2)


def _whole(fruit: float, why: Because, book: Knowledge, way: str) -> Estimate:
    error = book.constant("whole count error").number * fruit
    half = _wide(book) * error
    return Estimate(fruit, max(fruit - half, 0.0), fruit + half, why, error, way)


def _none_met(chances: list[float], count: Count, book: Knowledge, way: str) -> Estimate:
    """An empty count: not a proof of an empty tree, so with the most that may hang unseen."""
    most = most_when_none_seen(
        chances, book.constant("count spread").number, book.constant("sure of a count").number
    )
    why = recorded(
        "None of {count} walks on {day} met a fruit; that leaves room for up to {most} on the tree"
        if way == "walks"
        else "None of {count} frames on {day} met a fruit; that leaves room for up to {most} on the tree",
        most,
        "count",
        count=len(chances),
        day=count.date,
        most=ceil(most),
    )
    more = max(
        paths_needed(
            book.constant("count spread").number, book.constant("count worth having").number
        )
        - len(chances),
        0,
    )
    return Estimate(0.0, 0.0, most, why, most / _wide(book), way, more)


# What is said of branch walks, by whether there are several, and so few that their error is a published one.
_WALKED = {
    (False, False): "{count} branch walk on {day} stands for {fruit} fruit, give or take {error}",
    (True, False): "{count} branch walks on {day} stand for {fruit} fruit, give or take {error}",
    (False, True): (
        "{count} branch walk on {day} stands for {fruit} fruit, give or take {error}; with so few walks the error "
        "is taken from published counts"
    ),
    (True, True): (
        "{count} branch walks on {day} stand for {fruit} fruit, give or take {error}; with so few walks the error "
        "is taken from published counts"
    ),
}


def _by_paths(count: Count, book: Knowledge) -> Estimate:
    chances = [chance_of(path) for path in count.paths]
    fruit = [path.fruit for path in count.paths]
    if not any(fruit):
        return _none_met(chances, count, book, "walks")
    sure = book.constant("sure of a count").number
    found = branch_path_estimate(chances, fruit, sure)
    walks, whole = len(chances), found.estimate
    error, low, high, few = found.standard_error, found.low, found.high, False
    if walks < book.constant("paths to know the error").number:
        error = book.constant("count spread").number * whole / sqrt(walks)
        seen = float(max(fruit))
        low, high = max(whole - _wide(book) * error, min(seen, whole)), whole + _wide(book) * error
        few = True
    why = recorded(
        _WALKED[walks > 1, few],
        whole,
        "count",
        count=walks,
        day=count.date,
        fruit=round(whole),
        error=round(error),
    )
    return Estimate(whole, low, high, why, error, "walks", _more(whole, error, walks, book))


def _more(whole: float, error: float, units: int, book: Knowledge) -> int:
    """How many more walks or frames bring the error down to what is worth having."""
    if whole <= 0:
        return 0
    variation = error / whole * sqrt(units)
    wanted = book.constant("count worth having").number
    return max(paths_needed(variation, wanted) - units, 0)


def _by_frames(count: Count, size: Size | None, book: Knowledge) -> Estimate:
    area = count.sides[0] * count.sides[1]
    places, sure = len(count.frames), book.constant("sure of a count").number
    if size is None:
        fruit = float(sum(count.frames))
        why = recorded(
            "{count} frames on {day}, on a tree without a size", count=places, day=count.date
        )
        return Estimate(fruit, fruit, fruit, why, 0.0, "frames")
    surface = max(canopy_surface(size.height, size.skirt, *size.spread), area)
    if not any(count.frames):
        return _none_met([area / surface] * places, count, book, "frames")
    found = frame_count_estimate(np.array(count.frames, dtype=float), area, surface, sure)
    error, low, high, few = found.standard_error, found.low, found.high, False
    if places < book.constant("paths to know the error").number:
        error = book.constant("count spread").number * found.estimate / sqrt(places)
        half = _wide(book) * error
        low, high = max(found.estimate - half, float(sum(count.frames))), found.estimate + half
        low = min(low, found.estimate)
        few = True
    why = recorded(
        "{count} frames of {area} on {day}, over a canopy surface of {surface}, stand for {fruit} fruit, give "
        "or take {error}; with so few frames the error is taken from published counts"
        if few
        else "{count} frames of {area} on {day}, over a canopy surface of {surface}, stand for {fruit} fruit, "
        "give or take {error}",
        found.estimate,
        "count",
        count=places,
        area=_area(area),
        day=count.date,
        surface=_area(surface),
        fruit=round(found.estimate),
        error=round(error),
    )
    more = _more(found.estimate, error, places, book)
    return Estimate(found.estimate, low, high, why, error, "frames", more)


def _area(value: float) -> str:
    return said("{area:.3g} m²", area=value)


def _by_part(count: Count, part: float, book: Knowledge) -> Estimate:
    seen = float(count.fruit or 0)
    whole = seen / part
    relative = part_count_error(
        part,
        book.constant("section spread").number,
        book.constant("sections of a canopy").number,
    )
    error = whole * (relative**2 + book.constant("whole count error").number ** 2) ** 0.5
    half = _wide(book) * error
    why = recorded(
        "You counted {seen} fruit on {part} of the tree on {day}, which stands for {fruit}, give or take {error}",
        whole,
        "count",
        seen=count.fruit or 0,
        part=said("{percent:.0f} %", percent=100 * part),
        day=count.date,
        fruit=round(whole),
        error=round(error),
    )
    return Estimate(whole, max(whole - half, seen), whole + half, why, error, "part")


def fruit_now(view: View, count: Count) -> Estimate:
    """The fruit a count says the tree carries."""
    return estimate_of(count, view.size, view.book)


def latest_count(view: View, bloom: Stage, end: Stage | None) -> Count | None:
    """The last count of the crop that came from this bloom."""
    last = min(view.today, end.date if end else view.today)
    counts = [one for one in view.tree.counts if bloom.date < one.date <= last]
    return max(counts, key=lambda one: one.date, default=None)


def counted_after(view: View, job: str, begin: date) -> bool:
    """Whether fruit was counted after the last such work since a day."""
    done = [
        work.date for work in view.tree.done if work.job == job and begin <= work.date <= view.today
    ]
    return bool(done) and any(max(done) < one.date <= view.today for one in view.tree.counts)
