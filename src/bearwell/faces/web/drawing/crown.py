"""A tree drawn to scale: from the side before and after a cut, and from above as it grows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, cos, pi

from markupsafe import Markup

from bearwell.faces.web.drawing.svg import joined, num, tag

Outline = Callable[[float], float]
"""Width over the full spread at a level of the crown from 0 to 1."""
_LEVELS = 28
_WORD = 42.0  # room for a length in words
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
    stems: bool,
    cover: Cover | None,
    measures: Sequence[tuple[float, str]],
    ruler: Callable[[float], str],
    ident: str,
    title: str,
    described: str,
) -> Markup:
    """Crowns over one another on one trunk.

    ``measures`` are heights in metres with their words; ``ruler`` says a length;
    ``stems`` rise from the ground in place of one trunk.
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
    for crown in crowns:
        shape = tag("polygon", tag("title", crown.label), points=_around(crown, at))
        parts.append(tag("g", shape, class_=f"crown {crown.tone}"))
    parts += _wood(crowns[-1], max(trunk / 2, 0.012 * top), stems, at)
    if cover is not None:
        line = " ".join(at(*one) for one in cover.points)
        parts.append(tag("polyline", tag("title", cover.label), points=line, class_="cover"))
    parts.append(tag("line", x1=_LEFT - 6, x2=full, y1=ground, y2=ground, class_="ground"))
    parts += _ruler(_LEFT, ground + 9, scale, ruler, width)
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {num(full)} {num(ground + _BASE)}",
        class_="tree-drawing",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )


def _around(crown: Crown, at: Callable[[float, float], str]) -> str:
    # Closer together near skirt and top, where an outline turns fastest.
    levels = [(1 - cos(pi * step / _LEVELS)) / 2 for step in range(_LEVELS + 1)]
    rise = crown.height - crown.skirt
    side = [(crown.width / 2 * crown.outline(u), crown.skirt + rise * u) for u in levels]
    return " ".join(at(x, y) for x, y in [*side, *((-x, y) for x, y in reversed(side))])


# Limbs as parts of the half width and of the crown's height.
_LIMBS = ((-0.8, 0.5), (-0.45, 0.74), (0.04, 0.88), (0.42, 0.7), (0.78, 0.46))


def _wood(
    crown: Crown, half: float, stems: bool, at: Callable[[float, float], str]
) -> list[Markup]:
    """The trunk with its limbs, or the stems of a bush, to the inside of a crown."""
    rise = crown.height - crown.skirt
    fork = 0.0 if stems else crown.skirt + 0.08 * rise
    parts = []
    for out, up in _LIMBS:
        reach = out * crown.width / 2 * crown.outline(up)
        end = crown.skirt + rise * up
        start = 0.12 * reach if stems else 0.0
        bend = at(0.55 * reach, fork + 0.35 * (end - fork))
        parts.append(tag("path", d=f"M{at(start, fork)} Q{bend} {at(reach, end)}", class_="limb"))
    if not stems:
        corners = [(-half * 1.25, 0.0), (-half * 0.8, fork), (half * 0.8, fork), (half * 1.25, 0.0)]
        parts.append(tag("polygon", points=" ".join(at(*one) for one in corners), class_="trunk"))
    return parts


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


def _ruler(
    left: float, y: float, scale: float, ruler: Callable[[float], str], width: float
) -> list[Markup]:
    """A metre, or half of one on a small drawing, marked below it."""
    metres = 1.0 if scale + _WORD <= width else 0.5
    right = left + scale * metres
    parts = [tag("line", x1=left, x2=right, y1=y, y2=y, class_="ruler")]
    parts += [tag("line", x1=x, x2=x, y1=y - 3, y2=y + 3, class_="ruler") for x in (left, right)]
    parts.append(tag("text", ruler(metres), x=right + 5, y=y + 4))
    return parts


@dataclass(frozen=True)
class Shadow:
    """A canopy from above: both spreads in metres, how it is drawn and a word for it."""

    along: float
    across: float
    tone: str
    label: str


def plan_view(
    shadows: Sequence[Shadow],
    square: bool,
    ruler: Callable[[float], str],
    ident: str,
    title: str,
    described: str,
) -> Markup:
    """Canopies over one another from above on a grid of metres; ``ruler`` says a length."""
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
    parts += _ruler(x0, y, scale, ruler, width)
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {num(width + 12)} {num(tall + 28)}",
        class_="tree-drawing plan",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )
