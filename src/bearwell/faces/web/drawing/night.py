"""A night hour by hour: the air, how sure it is, and the limits of trees as level lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import joined, num, tag

_GAP = 14.0  # between the labels of limits


@dataclass(frozen=True)
class Hour:
    """One point of the night: hours since its start, clock time, the air and its low and high [degC]."""

    hour: float
    clock: str
    air: float
    low: float
    high: float


@dataclass(frozen=True)
class Level:
    """A limit as a level line with its name [degC]."""

    air: float
    label: str


@dataclass(frozen=True)
class _Frame:
    """Where hours and temperatures lie on the paper."""

    hours: float
    top: float
    bottom: float
    left: float
    right: float
    upper: float
    lower: float

    def x(self, hour: float) -> float:
        return self.left + (self.right - self.left) * hour / (self.hours or 1.0)

    def y(self, air: float) -> float:
        share = (self.top - air) / ((self.top - self.bottom) or 1.0)
        return self.upper + (self.lower - self.upper) * share


def night_drawing(
    hours: Sequence[Hour],
    levels: Sequence[Level],
    degrees: Sequence[tuple[float, str]],
    *,
    narrow: bool,
    described: str,
) -> Markup:
    """A night as one SVG element; ``degrees`` are the level lines of the scale with their words.

    ``hours`` may be told in parts of an hour; whole ones are named on the clock.
    """
    width, height = (360.0, 300.0) if narrow else (860.0, 340.0)
    right = width - 24.0
    values = [*(one.low for one in hours), *(one.high for one in hours)]
    values += [level.air for level in levels]
    top, bottom = max(values) + 0.5, min(values) - 0.5
    frame = _Frame(hours[-1].hour, top, bottom, 40.0, right, 14.0, height - 26)
    ident = f"night-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("The night hour by hour"), id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
        *_scale(degrees, frame, width),
        *_clock(
            [one for one in hours if one.hour % 1 == 0 or one is hours[-1]], frame, narrow=narrow
        ),
        _band(hours, frame),
        *_limits(levels, frame),
        tag(
            "polyline",
            points=" ".join(f"{num(frame.x(h.hour))},{num(frame.y(h.air))}" for h in hours),
            class_="air",
        ),
    ]
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing night-drawing {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at((frame.x(one.hour) for one in hours), frame.upper, frame.lower),
    )


def _scale(degrees: Sequence[tuple[float, str]], frame: _Frame, width: float) -> list[Markup]:
    parts = []
    for air, word in degrees:
        if not frame.bottom <= air <= frame.top:
            continue
        y = frame.y(air)
        parts.append(
            tag("line", x1=frame.left, x2=width - 2, y1=y, y2=y,
                class_="degree zero" if word.startswith(("0 ", "32 ")) else "degree")
        )  # fmt: skip
        parts.append(
            tag("text", word, x=frame.left - 5, y=y + 4, class_="scale", text_anchor="end")
        )
    return parts


def _clock(hours: Sequence[Hour], frame: _Frame, *, narrow: bool) -> list[Markup]:
    parts = []
    every = 3 if narrow else 2
    for place, one in enumerate(hours):
        last = place == len(hours) - 1
        if not last and (place % every or hours[-1].hour - one.hour < every * 0.75):
            continue
        x = frame.x(one.hour)
        anchor = "end" if last else "start" if place == 0 else "middle"
        parts.append(tag("line", x1=x, x2=x, y1=frame.lower, y2=frame.lower + 5, class_="degree"))
        parts.append(
            tag("text", one.clock, x=x, y=frame.lower + 19, class_="scale", text_anchor=anchor)
        )
    return parts


def _band(hours: Sequence[Hour], frame: _Frame) -> Markup:
    points = [(frame.x(one.hour), frame.y(one.high)) for one in hours]
    points += [(frame.x(one.hour), frame.y(one.low)) for one in reversed(hours)]
    return tag(
        "polygon", points=" ".join(f"{num(x)},{num(y)}" for x, y in points), class_="sure-band"
    )


def _limits(levels: Sequence[Level], frame: _Frame) -> list[Markup]:
    """Level lines with their numbers, the numbers set apart where lines lie close."""
    parts = []
    ordered = sorted(levels, key=lambda one: -one.air)
    lines = [frame.y(one.air) for one in ordered]
    for level, line, beside in zip(ordered, lines, _set_apart(lines, frame), strict=True):
        parts.append(tag("line", x1=frame.left, x2=frame.right, y1=line, y2=line, class_="limit"))
        parts.append(tag("text", level.label, x=frame.right + 6, y=beside + 4, class_="limit-name"))
    return parts


def _set_apart(lines: Sequence[float], frame: _Frame) -> list[float]:
    """Where the numbers of lines stand, from above: apart, beside their lines, none below the scale."""
    places: list[float] = []
    for line in lines:
        places.append(max(line, places[-1] + _GAP) if places else line)
    lowest = frame.lower - 6.0
    for number in reversed(range(len(places))):
        places[number] = min(places[number], lowest)
        lowest = places[number] - _GAP
    return places
