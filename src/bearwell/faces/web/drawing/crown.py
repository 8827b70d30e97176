"""A tree drawn to scale: from the side before and after a cut, and from above as it grows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

from markupsafe import Markup

from bearwell.faces.web.drawing.svg import joined, num, tag

Outline = Callable[[float], float]
"""Width over the full spread at a level of the crown from 0 to 1."""
_LEVELS = 28
_BASE, _LEFT = 24.0, 46.0  # below the ground for the ruler's words, left for the heights


@dataclass(frozen=True)
class Crown:
    """A canopy to draw: height, skirt and width in metres with its outline and a word for it."""

    height: float
    skirt: float
    width: float
    outline: Outline
    tone: str
    label: str


@dataclass(frozen=True)
class Cover:
    """A cover to draw: points of its section as distance from the middle and height, and a word for it."""

    points: tuple[tuple[float, float], ...]
    label: str


def side_view(
    crowns: Sequence[Crown],
    trunk: float,
    cover: Cover | None,
    measures: Sequence[tuple[float, str]],
    ruler: str,
    ident: str,
    title: str,
    described: str,
) -> Markup:
    """Crowns over one another on one trunk.

    ``measures`` are heights in metres with their words; ``ruler`` says one metre.
    """
    top = max([crown.height for crown in crowns] + [h for _, h in (cover.points if cover else ())])
    wide = max([c.width for c in crowns] + [2 * abs(x) for x, _ in (cover.points if cover else ())])
    scale = min(250.0 / (top * 1.06), 250.0 / (wide * 1.04))
    tall, width = top * scale * 1.06, max(wide * scale * 1.04, 150.0)
    middle, ground = _LEFT + width / 2, tall + 4
    full = _LEFT + width + 8

    def at(x: float, y: float) -> str:
        return f"{num(middle + x * scale)},{num(ground - y * scale)}"

    parts = [
        tag("title", title, id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
        *_heights(measures, ground, scale, full),
    ]
    foot = max(crowns[0].skirt + 0.25 * (crowns[0].height - crowns[0].skirt), 0.2)
    half = max(trunk / 2, 0.012 * top)
    corners = [(-half * 1.25, 0), (-half * 0.8, foot), (half * 0.8, foot), (half * 1.25, 0)]
    parts.append(tag("polygon", points=" ".join(at(*one) for one in corners), class_="trunk"))
    for crown in crowns:
        shape = tag("polygon", tag("title", crown.label), points=_around(crown, at))
        parts.append(tag("g", shape, class_=f"crown {crown.tone}"))
    if cover is not None:
        line = " ".join(at(*one) for one in cover.points)
        parts.append(tag("polyline", tag("title", cover.label), points=line, class_="cover"))
    parts.append(tag("line", x1=_LEFT - 6, x2=full, y1=ground, y2=ground, class_="ground"))
    parts += _ruler(middle - scale / 2, ground + 9, scale, ruler)
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {num(full)} {num(ground + _BASE)}",
        class_="tree-drawing",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )


def _around(crown: Crown, at: Callable[[float, float], str]) -> str:
    levels = [step / _LEVELS for step in range(_LEVELS + 1)]
    rise = crown.height - crown.skirt
    side = [(crown.width / 2 * crown.outline(u), crown.skirt + rise * u) for u in levels]
    return " ".join(at(x, y) for x, y in [*side, *((-x, y) for x, y in reversed(side))])


def _heights(
    measures: Sequence[tuple[float, str]], ground: float, scale: float, full: float
) -> list[Markup]:
    """A fine line and a word at each height; words that would touch step down."""
    parts, last = [], -99.0
    for height, said in sorted(measures, reverse=True):
        y = ground - height * scale
        word = max(y, last + 13)
        last = word
        parts.append(tag("line", x1=_LEFT - 6, x2=full, y1=y, y2=y, class_="level"))
        parts.append(tag("text", said, x=_LEFT - 9, y=word + 4, text_anchor="end"))
    return parts


def _ruler(left: float, y: float, scale: float, said: str) -> list[Markup]:
    """One metre, marked below the ground."""
    parts = [tag("line", x1=left, x2=left + scale, y1=y, y2=y, class_="ruler")]
    parts += [
        tag("line", x1=x, x2=x, y1=y - 3, y2=y + 3, class_="ruler") for x in (left, left + scale)
    ]
    parts.append(tag("text", said, x=left + scale + 5, y=y + 4))
    return parts


@dataclass(frozen=True)
class Shadow:
    """A canopy from above: both spreads in metres, how it is drawn and a word for it."""

    along: float
    across: float
    tone: str
    label: str


def plan_view(
    shadows: Sequence[Shadow], square: bool, ruler: str, ident: str, title: str, described: str
) -> Markup:
    """Canopies over one another from above on a grid of metres; ``ruler`` says one metre."""
    cells = ceil(max(max(one.along, one.across) for one in shadows) / 2 + 0.15) or 1
    reach = max(one.across for one in shadows) / 2 + 0.15
    scale = 240.0 / (2 * cells)
    rows = min(ceil(reach), cells)
    width, tall = 2 * cells * scale, 2 * rows * scale
    x0, y0 = 6.0, 6.0
    mid_x, mid_y = x0 + width / 2, y0 + tall / 2
    parts = [tag("title", title, id=f"{ident}-title"), tag("desc", described, id=f"{ident}-desc")]
    for step in range(2 * cells + 1):
        x = x0 + step * scale
        parts.append(tag("line", x1=x, x2=x, y1=y0, y2=y0 + tall, class_="grid"))
    for step in range(2 * rows + 1):
        y = y0 + step * scale
        parts.append(tag("line", x1=x0, x2=x0 + width, y1=y, y2=y, class_="grid"))
    for one in shadows:
        word = tag("title", one.label)
        half = (one.along * scale / 2, one.across * scale / 2)
        if square:
            shape = tag(
                "rect",
                word,
                x=mid_x - half[0],
                y=mid_y - half[1],
                width=2 * half[0],
                height=2 * half[1],
            )
        else:
            shape = tag("ellipse", word, cx=mid_x, cy=mid_y, rx=half[0], ry=half[1])
        parts.append(tag("g", shape, class_=f"crown {one.tone}"))
    parts.append(tag("circle", cx=mid_x, cy=mid_y, r=3.0, class_="trunk"))
    y = y0 + tall + 12
    parts += _ruler(x0, y, scale, ruler)
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {num(width + 12)} {num(tall + 28)}",
        class_="tree-drawing plan",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )
