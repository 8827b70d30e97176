"""A tree's account of nitrogen as three quiet panels on one axis of days, wide and narrow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from bearwell.faces.language import _
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.web.drawing.year import month_lines
from bearwell.faces.words import Words

_NICE = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


@dataclass(frozen=True, eq=False)
class Line:
    """One line of a panel, a value for each day; filled down to the base where that reads better."""

    key: str
    label: str
    values: NDArray[np.float64]
    filled: bool = False


@dataclass(frozen=True)
class Panel:
    """Lines over one scale from nothing to ``top``; ``named`` stands at the line of ``level``."""

    lines: tuple[Line, ...]
    top: float
    named: str
    level: float
    every: int = 7


@dataclass(frozen=True)
class Gift:
    """A round on its day: noted as given, planned, or held back."""

    day: date
    tone: str
    label: str


def nice_top(largest: float) -> float:
    """The next round figure at or above the largest value; 1 where there is nothing."""
    if largest <= 0:
        return 1.0
    scale = 10.0 ** math.floor(math.log10(largest))
    return next(step * scale for step in _NICE if step * scale >= largest * (1 - 1e-9))


def ledger_drawing(
    panels: Sequence[Panel],
    gifts: Sequence[Gift],
    blooms: Sequence[date],
    first: date,
    last: date,
    today: date,
    words: Words,
    *,
    narrow: bool,
    name: str,
    described: str,
) -> Markup:
    """The account of the tree called ``name`` as one SVG element, with title and description."""
    width, tall, letter = (360.0, 76.0, 6.2) if narrow else (860.0, 92.0, 6.8)
    days = Days(first, last, 2.0, width - 4)
    top, row, head, gap = 38.0, 42.0, 22.0, 12.0
    height = top + row + len(panels) * (head + tall + gap) + 16
    ident = f"ledger-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("The nitrogen of {name}", name=name), id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
        *month_lines(days, top, height - 14, days.x(today), narrow=narrow),
    ]
    ends = height - 16
    for bloom in blooms:
        if days.meets(bloom, bloom):
            x = days.x(bloom)
            parts.append(tag("line", x1=x, x2=x, y1=top + row, y2=ends, class_="bloom-day"))
            parts.append(
                tag("text", _("bloom"), x=min(max(x, 19.0), width - 21), y=height - 4,
                    class_="bloom-name", text_anchor="middle")
            )  # fmt: skip
    line = days.x(today)
    parts.append(tag("line", x1=line, x2=line, y1=top - 4, y2=ends, class_="today"))
    parts.append(
        tag("text", _("today"), x=line, y=top - 8, class_="today-name", text_anchor="middle")
    )
    parts += _gifts(gifts, days, top, words, letter)
    upper = top + row
    for panel in panels:
        parts.append(_panel(panel, days, upper, head, tall, letter))
        upper += head + tall + gap
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing ledger {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at(map(days.x, days.every()), top, ends),
    )


def _gifts(
    gifts: Sequence[Gift], days: Days, top: float, words: Words, letter: float
) -> list[Markup]:
    """The rounds as diamonds on a row of their own: filled when noted, open when planned."""
    middle, x, heading = top + 30, 2.0, _("Rounds:")
    parts = [
        tag("line", x1=0.0, x2=days.right, y1=top, y2=top, class_="row-rule"),
        tag("text", heading, x=x, y=top + 15, class_="row-name"),
    ]
    x += letter * (len(heading) + 2)
    tones = [one.tone for one in gifts]
    for tone, said in (
        ("given", _("noted")), ("planned", _("planned")), ("held", _("held back")),
    ):  # fmt: skip
        if tone in tones:
            parts.append(_diamond(x + 5, top + 11, tone))
            parts.append(tag("text", said, x=x + 15, y=top + 15, class_="gift-name"))
            x += 15 + letter * len(said) + 12
    for one in gifts:
        if days.meets(one.day, one.day):
            told = tag("title", f"{words.day(one.day)}: {one.label}")
            parts.append(_diamond(days.x(one.day), middle, one.tone, told))
    return parts


def _diamond(x: float, y: float, tone: str, inside: Markup | str = "") -> Markup:
    reach = 5.5
    corners = ((x - reach, y), (x, y - reach), (x + reach, y), (x, y + reach))
    points = " ".join(f"{num(left)},{num(upper)}" for left, upper in corners)
    return tag("polygon", inside, points=points, class_=f"gift {tone}")


def _panel(
    panel: Panel, days: Days, upper: float, head: float, tall: float, letter: float
) -> Markup:
    base = upper + head + tall
    parts = [
        tag("line", x1=0.0, x2=days.right, y1=upper, y2=upper, class_="row-rule"),
        tag("line", x1=0.0, x2=days.right, y1=base, y2=base, class_="base"),
    ]
    x = 2.0
    for line in panel.lines:
        shape = (
            tag("rect", x=x, y=upper + 8, width=16.0, height=7.0, class_=f"flow {line.key} area")
            if line.filled
            else tag("line", x1=x, x2=x + 16, y1=upper + 11.5, y2=upper + 11.5,
                     class_=f"flow {line.key}")
        )  # fmt: skip
        parts += [shape, tag("text", line.label, x=x + 21, y=upper + 15, class_="row-name")]
        x += 21 + letter * len(line.label) + 14
    for line in sorted(panel.lines, key=lambda one: not one.filled):
        parts.append(_line(line, panel, days, base, tall))
    level = base - tall * min(panel.level / panel.top, 1.0)
    parts.append(tag("line", x1=0.0, x2=days.right, y1=level, y2=level, class_="level"))
    parts.append(tag("text", panel.named, x=2.0, y=level + 11, class_="scale"))
    return tag("g", joined(parts))


def _line(line: Line, panel: Panel, days: Days, base: float, tall: float) -> Markup:
    """A polyline through the means of a few days each."""
    points = []
    for start in range(0, len(line.values), panel.every):
        part = line.values[start : start + panel.every]
        if len(part) < panel.every and start:
            break
        day = days.first + timedelta(days=start + len(part) // 2)
        share = min(float(part.mean()) / panel.top, 1.0)
        points.append((days.x(day), base - tall * share))
    if points:  # the line begins and ends where its days do
        end = days.x(days.first + timedelta(days=len(line.values) - 1))
        points = [(days.left, points[0][1]), *points, (end, points[-1][1])]
    if line.filled:
        points = [(points[0][0], base), *points, (points[-1][0], base)] if points else []
    written = " ".join(f"{num(x)},{num(y)}" for x, y in points)
    if line.filled:
        return tag("polygon", points=written, class_=f"flow {line.key} area")
    return tag("polyline", points=written, class_=f"flow {line.key}")


def range_bar(low: float, value: float, high: float, top: float) -> Markup:
    """A range on a scale from nothing to ``top``, with a mark at its value; said in words beside it."""
    width = 240.0
    a, b, c = (width * min(max(one, 0.0) / (top or 1.0), 1.0) for one in (low, value, high))
    parts = [
        tag("line", x1=0.0, x2=width, y1=9.0, y2=9.0, class_="base"),
        tag("rect", x=a, y=4.0, width=max(c - a, 2.0), height=10.0, rx=2.0, class_="reach"),
        tag("line", x1=b, x2=b, y1=1.0, y2=17.0, class_="best"),
    ]
    return tag(
        "svg",
        joined(parts),
        viewBox="0 0 240 18",
        class_="range-bar",
        aria_hidden="true",
        focusable="false",
    )
