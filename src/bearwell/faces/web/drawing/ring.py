"""A tree's year as a ring: the months run clockwise from January at the top, a circle for each row."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from math import cos, pi, sin

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.svg import joined, num, tag
from bearwell.faces.web.drawing.year import Bar, Mark, Row
from bearwell.faces.words import Words

_SIZE, _MIDDLE = 360.0, 180.0
_RIM, _HUB = 154.0, 50.0  # where the outermost circle ends and the innermost may begin
_THICKEST, _GAP = 17.0, 3.0
_TURN = timedelta(days=364)  # one day less than a year, so that no end meets its own beginning


def turn(today: date) -> tuple[date, date]:
    """The days of one turn: from the first of last month, so that what is under way is seen whole."""
    first = (today.replace(day=1) - timedelta(days=1)).replace(day=1)
    return first, first + _TURN


def ring_drawing(rows: Sequence[Row], today: date, words: Words, *, name: str) -> Markup:
    """The year of a tree called ``name`` as one SVG element: the first row outermost."""
    first, last = turn(today)
    step = min(_THICKEST + _GAP, (_RIM - _HUB) / max(len(rows), 1))
    inner = _RIM - step * len(rows)
    described = _(
        "From {first} to {last}, clockwise, January at the top. From the rim inwards: {names}. The table says the "
        "same.",
        first=words.day(first),
        last=words.day(last),
        names=", ".join(row.title.split(":")[0].lower() for row in rows),
    )
    parts = [
        tag("title", _("The year of {name} as a ring", name=name), id="year-ring-title"),
        tag("desc", described, id="year-ring-desc"),
    ]
    for month in range(1, 13):
        begins, middle = _angle(date(2001, month, 1)), _angle(date(2001, month, 16))
        (x1, y1), (x2, y2) = _point(inner, begins), _point(_RIM + 6, begins)
        parts.append(tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_="month"))
        x, y = _point(_RIM + 14, middle)
        parts.append(
            tag("text", words.short_month(date(2001, month, 1)), x=x, y=y + 4, class_="month-name",
                text_anchor="middle")
        )  # fmt: skip
    for number, row in enumerate(rows):
        outer = _RIM - number * step
        parts.append(tag("circle", cx=_MIDDLE, cy=_MIDDLE, r=outer, class_="row-rule"))
        drawn = [
            part for bar in row.bars for part in _bar(bar, outer - _GAP / 2, step - _GAP, first, last, words)
        ]  # fmt: skip
        drawn += [
            _mark(mark, outer - step / 2, words) for mark in row.marks if first <= mark.day <= last
        ]
        parts.append(tag("g", joined(drawn), class_=f"row {row.key}"))
    parts.append(tag("circle", cx=_MIDDLE, cy=_MIDDLE, r=inner, class_="row-rule"))
    (x1, y1), (x2, y2) = _point(inner - 2, _angle(today)), _point(_RIM + 6, _angle(today))
    parts.append(tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_="today"))
    parts.append(tag("text", _("today"), x=_MIDDLE, y=_MIDDLE - 4, class_="today-name",
                     text_anchor="middle"))  # fmt: skip
    day = f"{today.day} {words.short_month(today)}"
    parts.append(tag("text", day, x=_MIDDLE, y=_MIDDLE + 12, class_="row-name",
                     text_anchor="middle"))  # fmt: skip
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {_SIZE:g} {_SIZE:g}",
        class_="year-drawing ring",
        role="img",
        aria_labelledby="year-ring-title year-ring-desc",
    )


def _angle(day: date) -> float:
    """Where a day stands on the ring [rad], clockwise from the top; a leap day lies with its neighbour."""
    return 2 * pi * min(day.timetuple().tm_yday - 1, 364) / 365


def _point(radius: float, angle: float) -> tuple[float, float]:
    return _MIDDLE + radius * sin(angle), _MIDDLE - radius * cos(angle)


def _bar(
    bar: Bar, outer: float, thick: float, first: date, last: date, words: Words
) -> list[Markup]:
    if bar.most < first or bar.least > last:
        return []
    said = tag("title", f"{bar.label}: {words.span(bar.start, bar.end)}")
    parts = [said]
    if bar.least < bar.start or bar.most > bar.end:
        parts += _sector(bar.least, bar.most, outer - 3, thick - 6, "reach", first, last)
    if bar.tone == "thin":
        parts += _sector(bar.start, bar.end, outer - thick * 0.32, thick * 0.36, "thin", first, last)  # fmt: skip
    else:
        parts += _sector(bar.start, bar.end, outer, thick, bar.tone, first, last)
    if bar.best is not None and first <= bar.best <= last:
        (x1, y1), (x2, y2) = _point(outer - thick, _angle(bar.best)), _point(outer, _angle(bar.best))  # fmt: skip
        parts.append(tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_="best"))
    return [tag("g", joined(parts))]


def _sector(
    begin: date, end: date, outer: float, thick: float, tone: str, first: date, last: date
) -> list[Markup]:
    """A piece of a circle between two days, as far as the turn goes."""
    begin, end = max(begin, first), min(end, last)
    if end < begin:
        return []
    span = 2 * pi * max((end - begin).days, 1.5) / 365
    from_, to, inner = _angle(begin), _angle(begin) + span, outer - thick
    large = int(span > pi)
    points = [
        " ".join(num(value) for value in _point(*place))
        for place in ((outer, from_), (outer, to), (inner, to), (inner, from_))
    ]
    far, near = num(outer), num(inner)
    path = (
        f"M{points[0]}A{far} {far} 0 {large} 1 {points[1]}"
        f"L{points[2]}A{near} {near} 0 {large} 0 {points[3]}Z"
    )
    return [tag("path", d=path, class_=tone)]


def _mark(mark: Mark, radius: float, words: Words) -> Markup:
    x, y = _point(radius, _angle(mark.day))
    return tag(
        "circle",
        tag("title", f"{mark.label}: {words.day(mark.day)}"),
        cx=x, cy=y, r=3.5, class_="mark",
    )  # fmt: skip
