"""The garden from above, drawn in metres: canopies now and later, shelters, names, north and a scale."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, floor, radians, sin

from markupsafe import Markup

from bearwell.api import Canopy, GroundPlan, Shelter
from bearwell.faces.language import _, _n, _p
from bearwell.faces.web.drawing.svg import joined, num, tag
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, convert

WIDE = 1000.0  # units of the drawing, from west to east
_LETTER, _NAME = 7.4, 14.0  # width and height of a letter of a name
_MARGIN = 1.2  # m of ground beyond the outermost leaf
_SMALLEST = 8.0  # m, of a garden with little in it
_BARE = (10.0, 7.0)  # m, of a garden in which nothing has a place yet
_WALL, _STUB = 0.3, 1.0  # m, width and length drawn of a shelter where none is given
_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)  # m, of the grid and the scale


class Ground:
    """The drawn ground: from metres east and north to units of the drawing, north at the top."""

    def __init__(self, plan: GroundPlan) -> None:
        points = [box for one in plan.canopies if (box := _tree_box(one))]
        points += [box for one in plan.shelters if (box := _shelter_box(one))]
        west = floor(min((box[0] for box in points), default=0.0) - _MARGIN)
        south = floor(min((box[1] for box in points), default=0.0) - _MARGIN)
        east = ceil(max((box[2] for box in points), default=_BARE[0]) + _MARGIN)
        north = ceil(max((box[3] for box in points), default=_BARE[1]) + _MARGIN)
        self.west, self.south = float(west), float(south)
        self.east = max(float(east), self.west + _SMALLEST)
        self.north = max(float(north), self.south + _SMALLEST * 0.6)
        self.unit = WIDE / (self.east - self.west)
        self.tall = (self.north - self.south) * self.unit

    def x(self, east: float) -> float:
        """Across the drawing."""
        return (east - self.west) * self.unit

    def y(self, north: float) -> float:
        """Down the drawing."""
        return (self.north - north) * self.unit

    @property
    def step(self) -> float:
        """Metres between the lines of the grid."""
        wide = self.east - self.west
        return next((one for one in _STEPS if wide / one <= 14), _STEPS[-1])


def _tree_box(one: Canopy) -> tuple[float, float, float, float] | None:
    if one.east is None or one.north is None:
        return None
    reach = max(one.spread, one.later) / 2
    return one.east - reach, one.north - reach, one.east + reach, one.north + reach


def _shelter_box(one: Shelter) -> tuple[float, float, float, float] | None:
    if one.place is None:
        return None
    long, wide = (one.length or _STUB) / 2, (one.width or _WALL) / 2
    along, across = abs(sin(radians(one.lies))), abs(cos(radians(one.lies)))
    reach_east, reach_north = long * along + wide * across, long * across + wide * along
    east, north = one.place.east, one.place.north
    return east - reach_east, north - reach_north, east + reach_east, north + reach_north


def map_drawing(plan: GroundPlan, words: Words, garden: str) -> Markup:
    """The garden as one SVG element; trees without a place are in it, unseen, for the page to set down."""
    ground = Ground(plan)
    placed = plan.placed
    parts = [
        tag("title", _("{garden} from above", garden=garden), id="map-title"),
        tag("desc", _described(plan, words), id="map-desc"),
        tag("rect", x=0.0, y=0.0, width=WIDE, height=ground.tall, class_="ground"),
        *_grid(ground),
        *(_shelter(one, ground) for one in plan.shelters if one.place is not None),
        *(_later(one, ground) for one in placed),
    ]
    labels = _labels(placed, ground)
    numbers = {one.tree.id: number for number, one in enumerate(plan.canopies, 1)}
    parts += [_tree(one, ground, numbers[one.tree.id], labels.get(one.tree.id)) for one in placed]
    parts += [_tree(one, ground, numbers[one.tree.id], None) for one in plan.waiting]
    parts += [_north(), _scale(ground, words)]
    return tag(
        "svg", joined(parts), viewBox=f"0 0 {num(WIDE)} {num(ground.tall)}", class_="map-drawing", role="group",
        aria_labelledby="map-title map-desc", data_west=_plain(ground.west), data_north=_plain(ground.north),
        data_unit=f"{ground.unit:.4f}",
    )  # fmt: skip


def _plain(value: float) -> str:
    return f"{value:g}"


def _grid(ground: Ground) -> list[Markup]:
    parts, step = [], ground.step
    east = ceil(ground.west / step) * step
    while east < ground.east:
        x = ground.x(east)
        parts.append(tag("line", x1=x, x2=x, y1=0.0, y2=ground.tall, class_="grid"))
        east += step
    north = ceil(ground.south / step) * step
    while north < ground.north:
        y = ground.y(north)
        parts.append(tag("line", x1=0.0, x2=WIDE, y1=y, y2=y, class_="grid"))
        north += step
    return parts


def _shelter(one: Shelter, ground: Ground) -> Markup:
    if one.place is None:
        return Markup("")
    x, y = ground.x(one.place.east), ground.y(one.place.north)
    long = (one.length or _STUB) * ground.unit
    wide = (one.width or _WALL) * ground.unit
    return tag(
        "g",
        joined([
            tag("rect", tag("title", f"{one.id}: {_(one.shape)}"), x=-long / 2, y=-wide / 2, width=long, height=wide,
                transform=f"rotate({one.lies - 90:g})", class_=f"shelter {one.shape}"),
            tag("text", one.id.replace("-", " "), x=0.0, y=wide / 2 - 6 if wide > 40 else -wide / 2 - 6,
                class_="shelter-name", text_anchor="middle"),
        ]),
        transform=f"translate({num(x)} {num(y)})",
    )  # fmt: skip


def _later(one: Canopy, ground: Ground) -> Markup:
    """The canopy in some years, under all the others and left where the tree stands in the file."""
    if one.east is None or one.north is None:
        return Markup("")
    return tag("circle", cx=ground.x(one.east), cy=ground.y(one.north), r=one.later / 2 * ground.unit, class_="later",
               data_later=one.tree.id)  # fmt: skip


def _tree(
    one: Canopy, ground: Ground, number: int, label: tuple[float, float, str] | None
) -> Markup:
    seen = one.east is not None and one.north is not None
    x = ground.x(one.east) if one.east is not None else WIDE / 2
    y = ground.y(one.north) if one.north is not None else ground.tall / 2
    dx, dy, anchor = label or (0.0, 26.0, "middle")
    parts = [
        tag(
            "circle",
            r=one.spread / 2 * ground.unit,
            class_="canopy supposed" if one.supposed else "canopy",
        ),
        tag("circle", r=4.0, class_="trunk"),
        tag("text", str(number), y=0.0, class_="tree-number", text_anchor="middle"),
        tag("text", one.tree.called, x=dx, y=dy, class_="tree-name", text_anchor=anchor),
        tag("circle", r=max(one.spread / 2 * ground.unit, 26.0), class_="grip"),
    ]
    return tag(
        "g", joined(parts), class_="map-tree" if seen else "map-tree waiting",
        transform=f"translate({num(x)} {num(y)})", data_tree=one.tree.id, data_name=one.tree.called,
        data_spread=f"{one.spread:.2f}", data_later=f"{one.later:.2f}",
        data_east=f"{one.east:g}" if one.east is not None else None,
        data_north=f"{one.north:g}" if one.north is not None else None,
    )  # fmt: skip


def _labels(placed: Sequence[Canopy], ground: Ground) -> dict[str, tuple[float, float, str]]:
    """Where each name goes: below its trunk, else above, to the right or left, whichever lies free first."""
    taken = [
        (
            ground.x(one.east) - 7,
            ground.y(one.north) - 7,
            ground.x(one.east) + 7,
            ground.y(one.north) + 7,
        )
        for one in placed
        if one.east is not None and one.north is not None
    ]
    found: dict[str, tuple[float, float, str]] = {}
    for one in placed:
        if one.east is None or one.north is None:
            continue
        x, y = ground.x(one.east), ground.y(one.north)
        wide = len(one.tree.called) * _LETTER
        spots = [(0.0, 22.0, "middle"), (0.0, -12.0, "middle"), (11.0, 5.0, "start"), (-11.0, 5.0, "end"),
                 (0.0, 40.0, "middle"), (0.0, -30.0, "middle")]  # fmt: skip
        best = spots[0]
        for dx, dy, anchor in spots:
            left = x + dx - {"middle": wide / 2, "start": 0.0, "end": wide}[anchor]
            box = (left, y + dy - _NAME, left + wide, y + dy + 4)
            inside = box[0] >= 0 and box[2] <= WIDE and box[1] >= 0 and box[3] <= ground.tall
            if inside and not any(_meet(box, other) for other in taken):
                best = (dx, dy, anchor)
                break
        dx, dy, anchor = best
        left = x + dx - {"middle": wide / 2, "start": 0.0, "end": wide}[anchor]
        taken.append((left, y + dy - _NAME, left + wide, y + dy + 4))
        found[one.tree.id] = best
    return found


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _north() -> Markup:
    """An arrow to the north."""
    return tag(
        "g",
        joined([
            tag("path", d="M0 34V0M0 0L-7 13M0 0L7 13", class_="arrow"),
            tag("text", _p("compass", "N"), x=0.0, y=-5.0, class_="arrow-name", text_anchor="middle"),
        ]),
        transform=f"translate({num(WIDE - 30)} 30)",
        class_="north",
    )  # fmt: skip


def _scale(ground: Ground, words: Words) -> Markup:
    """A measured stroke with its length in the garden's units."""
    step = ground.step
    foot = convert(1.0, "ft", "m") if words.units == "us" else 1.0
    length = max(round(step / foot), 1) * foot
    long = length * ground.unit
    y = ground.tall - 14
    return tag(
        "g",
        joined([
            tag("path", d=f"M14 {num(y - 5)}V{num(y)}H{num(14 + long)}V{num(y - 5)}", class_="arrow"),
            tag("text", words.quantity(Quantity(length, "m")), x=14 + long / 2, y=y - 6, class_="arrow-name",
                text_anchor="middle"),
        ]),
        class_="scale-bar",
    )  # fmt: skip


def _described(plan: GroundPlan, words: Words) -> str:
    ahead = words.quantity(Quantity(float(plan.years), "yr"))
    return _n(
        "{number} tree seen from above, north at the top. Full rings are canopies now, broken rings in {years}. "
        "The table below says the same.",
        "{number} trees seen from above, north at the top. Full rings are canopies now, broken rings in {years}. "
        "The table below says the same.",
        len(plan.placed),
        years=ahead,
    )
