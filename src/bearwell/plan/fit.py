"""Whether a tree fits under its shelter, with its neighbours, and the size at which it does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bearwell.errors import BadInput
from bearwell.garden import Shelter, Tree
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.said import said
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import Cut, canopy_volume, scaled_canopy, width_share
from bearwell.science.underacover import HALVINGS, cover_height, fitting_scale, least_clearance
from bearwell.season.cold import shelter_lift
from bearwell.season.growth import years_ahead
from bearwell.season.size import Size, tree_size

if TYPE_CHECKING:
    from bearwell.plan.view import View

# Ways of making it fit, least change first among equals.
_WAYS: dict[str, Cut] = {
    "height": (True, False, False),
    "width": (False, True, True),
    "all round": (True, True, True),
}
NARROWER = (0.9, 0.8, 0.7, 0.6)  # widths at which the height that fits is tried, steps of a search
POINTS = 8  # points of a side at which the room is told

_SHAPES = {"hoop": said("hoop"), "gable": said("gable"), "box": said("box"), "wall": said("wall")}


@dataclass(frozen=True)
class Fit:
    """A tree and its shelter. ``room`` is the least room between leaves and cover now [m].

    ``fits_at`` is the largest canopy that fits, None where no cut does it; ``share`` what must come off for
    it now [1]; ``by_winter`` the canopy to cut to where a year's growth would not fit; ``points`` are
    distance from the middle, height of the cover and height of the canopy there [m]; ``needs`` is the height
    and width of a cover that would take the tree as it stands, where it has one too low or too narrow [m].
    """

    shelter: Shelter
    room: float | None
    wanted_room: float
    fits: bool
    share: float | None
    fits_at: CanopySize | None
    by_winter: CanopySize | None
    above_wall: float | None
    crowded: float
    neighbours: tuple[str, ...]
    points: tuple[tuple[float, float, float], ...]
    because: tuple[Because, ...]
    eaves: float = 0.0
    needs: tuple[float, float] | None = None


def fit_of(view: View) -> Fit | None:
    """How the tree stands under its shelter; nothing where it has none, or one without measures."""
    shelter = view.garden.shelter(view.tree.shelter)
    if shelter is None or shelter.height is None:
        return None
    if shelter.shape == "wall":
        return _against_wall(view, shelter, shelter.height)
    return _under(view, shelter, shelter.height)


@dataclass(frozen=True)
class Through:
    """A tree that stands through its shelter, so that it cannot be closed: by how much [m], and why."""

    tree: Tree
    by: float
    because: Because


def standing_through(view: View) -> Through | None:
    """The measured tree that stands furthest through this tree's shelter: itself, or one beside it."""
    shelter = view.garden.shelter(view.tree.shelter)
    if shelter is None or shelter.height is None or shelter.shape == "wall":
        return None
    worst: Through | None = None
    for tree in view.garden.trees:
        if tree.shelter != shelter.id:
            continue
        size = (
            view.size
            if tree.id == view.tree.id
            else tree_size(tree, view.book.kind(tree.kind), view.book, view.today)
        )
        if not size.measured:
            continue  # a supposed crown says nothing of whether it closes
        room = least_clearance(
            size.canopy, size.skirt, size.form, *_cover(view, shelter, shelter.height, size)
        )
        if room < 0 and (worst is None or -room > worst.by):
            why = computed(
                "{tree} stands {by} through the {shelter} of {high}, so it cannot be closed and counts as no "
                "warmer than outside",
                round(-room, 2),
                "m",
                tree=tree.called,
                by=amount(round(-room, 2), "m"),
                shelter=shelter.id,
                high=amount(shelter.height, "m"),
            )
            worst = Through(tree, -room, why)
    return worst


def place_lift(view: View) -> tuple[float, tuple[Because, ...]]:
    """How much warmer the tree's place is on a still clear night [K]: nothing where it cannot be closed."""
    if view.through is not None:
        return 0.0, (view.through.because,)
    return shelter_lift(view.tree, view.garden, view.book)


def _cover(
    view: View, shelter: Shelter, height: float, size: Size
) -> tuple[str, float, float, float]:
    """Shape, width, height and eaves of a shelter [m]; a width that is not given bounds nothing."""
    width = shelter.width or max(size.spread[1], shelter.length or 0.0) * 2
    return shelter.shape, width, height, view.constant("eaves of a gable").number * height


def _against_wall(view: View, shelter: Shelter, height: float) -> Fit:
    above = max(view.size.height - height, 0.0)
    why = computed(
        "A wall warms what stands below its top, {wall}; of this tree {above} stands above it",
        round(above, 2),
        "m",
        wall=amount(height, "m"),
        above=amount(above, "m") if above > 0 else said("nothing"),
    )
    return Fit(shelter, None, 0.0, True, 0.0, None, None, above, 1.0, (), (), (why,))


def _under(view: View, shelter: Shelter, height: float) -> Fit:
    size, row = view.size, view.constant("room under a cover")
    cover = _cover(view, shelter, height, size)
    eaves = cover[-1]
    room = least_clearance(size.canopy, size.skirt, size.form, *cover)
    squeeze, neighbours = _crowding(view, shelter, row.number)
    narrowed = size.canopy._replace(spread_along=size.spread[0] * squeeze)
    fits_at = _largest(view, narrowed, cover, row.number)
    fits = room >= row.number and squeeze == 1.0
    share = None
    if fits_at is not None:
        share = max(1.0 - canopy_volume(fits_at, size.skirt, size.form) / size.volume, 0.0)
    links = [
        from_fact(
            "Under the {shape} of {high} it has {room} of room now, and leaves that touch the cover freeze: "
            "{value} is wanted"
            if room >= 0
            else "It stands {room} through the {shape} of {high}, and leaves that touch the cover freeze: {value} "
            "of room is wanted",
            row,
            shape=_SHAPES[shelter.shape],
            high=amount(height, "m"),
            room=amount(abs(round(room, 2)), "m"),
        ),
        computed("Taken to stand on the middle line of the shelter, its spread along it"),
    ]
    if shelter.width is None:
        links.append(
            computed("Its width is not given, so only its height is held against the tree")
        )
    if squeeze < 1.0:
        links.append(
            computed(
                "With {others} beside it the spreads along the shelter add up to more than its {length}, so "
                "each keeps {part} % of its spread",
                others=", ".join(neighbours),
                length=amount(shelter.length or 0.0, "m"),
                part=round(100 * squeeze),
            )
        )
    points = _points(view, cover)
    winter = None if fits_at is None else _before_growth(view, cover, squeeze, row.number)
    return Fit(
        shelter, room, row.number, fits, share, fits_at, winter, None, squeeze, neighbours, points,
        tuple(links), eaves, _cover_needed(view, cover, row.number),
    )  # fmt: skip


def _cover_needed(
    view: View, cover: tuple[str, float, float, float], room: float
) -> tuple[float, float] | None:
    """Height and width of a cover that takes the tree as it stands; None where this one does."""
    size, (shape, width, height, eaves) = view.size, cover

    def free(high: float, wide: float) -> bool:
        at = (shape, wide, high, eaves * high / height)
        return least_clearance(size.canopy, size.skirt, size.form, *at) >= room

    if free(height, width):
        return None
    highest = max(2.0 * (size.height + room), height)
    wide = width if free(highest, width) else size.spread[1] + 4.0 * room
    if not free(highest, wide):
        return None
    low, high = 0.0, highest
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if free(middle, wide) else (middle, high)
    return max(high, height), max(wide, width)


def _crowding(view: View, shelter: Shelter, room: float) -> tuple[float, tuple[str, ...]]:
    """The share of its spread along the shelter a tree may keep, and who stands beside it."""
    others = [
        tree for tree in view.garden.trees if tree.shelter == shelter.id and tree.id != view.tree.id
    ]
    if shelter.length is None:
        return 1.0, tuple(tree.called for tree in others)
    spreads = view.size.spread[0]
    for tree in others:
        spreads += tree_size(tree, view.book.kind(tree.kind), view.book, view.today).spread[0]
    free = shelter.length - room * (len(others) + 2)  # at both ends and between
    squeeze = min(1.0, max(free, 0.1) / spreads)
    return squeeze, tuple(tree.called for tree in others)


def _largest(
    view: View, canopy: CanopySize, cover: tuple[str, float, float, float], room: float
) -> CanopySize | None:
    """The canopy that fits and keeps most volume, by lowering, narrowing or both."""
    size, best = view.size, None
    ways = [(canopy, cut) for cut in _WAYS.values()]
    across = canopy.spread_across
    ways += [(canopy._replace(spread_across=across * one), _WAYS["height"]) for one in NARROWER]
    for begin, cut in ways:
        try:
            scale = fitting_scale(begin, size.skirt, size.form, *cover, room, cut)
        except BadInput:
            continue
        fitted = scaled_canopy(begin, size.skirt, cut, scale)
        held = canopy_volume(fitted, size.skirt, size.form)
        if held > 0 and (best is None or held > best[0] * (1 + 1e-9)):
            best = (held, fitted)
        if best is not None and best[1] == canopy:
            return canopy
    return None if best is None else best[1]


def _before_growth(
    view: View, cover: tuple[str, float, float, float], squeeze: float, room: float
) -> CanopySize | None:
    """The canopy to cut to, so that it still fits after a year's growth; nothing where it fits uncut."""
    size = view.size
    grown = _a_year_on(view, size.canopy)
    # The neighbours grow as well: what they leave along the shelter shrinks alike.
    part = min(1.0, squeeze * size.spread[0] / grown.spread_along) if squeeze < 1.0 else 1.0
    narrowed = grown._replace(spread_along=grown.spread_along * part)
    if part == 1.0 and least_clearance(grown, size.skirt, size.form, *cover) >= room:
        return None
    target = _largest(view, narrowed, cover, room)
    if target is None:
        return None
    ahead = _a_year_on(view, target)
    lowest = size.skirt + (target.height - size.skirt) / 2
    wanted = (
        max(target.height**2 / ahead.height, lowest),
        target.spread_along**2 / ahead.spread_along,
        target.spread_across**2 / ahead.spread_across,
    )
    return CanopySize(*(min(new, now) for new, now in zip(wanted, size.canopy, strict=True)))


def _a_year_on(view: View, start: CanopySize) -> CanopySize:
    return years_ahead(view.tree, view.species, view.book, view.size, view.today, 1, start)[0].size


def _points(
    view: View, cover: tuple[str, float, float, float]
) -> tuple[tuple[float, float, float], ...]:
    """Height of cover and canopy at distances from the middle, out to the canopy's edge."""
    size, (shape, width, height, eaves) = view.size, cover
    half = size.spread[1] / 2
    levels = [step / 100 for step in range(100, -1, -1)]
    found = []
    for step in range(POINTS + 1):
        out = min(half * step / POINTS, width / 2)
        level = next(
            (
                one
                for one in levels
                if half * width_share(size.form, one, size.skirt / size.height) >= out - 1e-9
            ),
            0.0,
        )
        top = size.skirt + (size.height - size.skirt) * level
        found.append(
            (round(out, 3), round(cover_height(shape, width, height, eaves, out), 3), round(top, 3))
        )
    return tuple(found)
