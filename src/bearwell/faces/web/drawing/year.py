"""A tree's year as bars on an axis of days, wide for a screen and narrow for a phone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.words import Words

_BAR = 14.0


@dataclass(frozen=True)
class Bar:
    """A span of days: solid from start to end, lighter from low and to high, a tick at the best day."""

    start: date
    end: date
    label: str
    tone: str = "full"
    low: date | None = None
    high: date | None = None
    best: date | None = None
    basis: str = ""

    @property
    def least(self) -> date:
        """The first day it may touch."""
        return min(self.start, self.low or self.start)

    @property
    def most(self) -> date:
        """The last day it may touch."""
        return max(self.end, self.high or self.end)


@dataclass(frozen=True)
class Mark:
    """One day with something on it."""

    day: date
    label: str


@dataclass(frozen=True)
class Row:
    """A labelled row of the drawing."""

    key: str
    title: str
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()


def year_drawing(
    rows: Sequence[Row],
    first: date,
    last: date,
    today: date,
    words: Words,
    *,
    narrow: bool,
    name: str,
) -> Markup:
    """The year of a tree called ``name`` as one SVG element, with title and description."""
    width, left = (360.0, 2.0) if narrow else (860.0, 170.0)
    row_height, top = (42.0, 34.0) if narrow else (32.0, 38.0)
    height = top + row_height * len(rows) + 8
    days = Days(first, last, left, width - 4)
    ident = f"year-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("The year of {name}", name=name), id=f"{ident}-title"),
        tag("desc", _described(rows, first, last, words), id=f"{ident}-desc"),
        *month_lines(days, top, height, days.x(today), narrow=narrow),
    ]
    for number, row in enumerate(rows):
        upper = top + number * row_height
        middle = upper + (30 if narrow else row_height / 2)
        label_y = upper + 15 if narrow else middle + 4.5
        title = row.title if narrow else row.title.split(":")[0]
        parts.append(tag("line", x1=0.0, x2=width, y1=upper, y2=upper, class_="row-rule"))
        parts.append(tag("text", title, x=2.0, y=label_y, class_="row-name"))
        drawn = [
            _bar(bar, days, middle, words) for bar in row.bars if days.meets(bar.least, bar.most)
        ]
        drawn += [
            _mark(mark, days, middle, words) for mark in row.marks if days.meets(mark.day, mark.day)
        ]
        parts.append(tag("g", joined(drawn), class_=f"row {row.key}"))
    if days.first <= today <= days.last:
        line = days.x(today)
        parts.append(tag("line", x1=line, x2=line, y1=top - 4, y2=height - 4, class_="today"))
        parts.append(tag("text", _("today"), x=min(line, width - 20), y=top - (7 if narrow else 8),
                         class_="today-name", text_anchor="middle"))  # fmt: skip
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at(map(days.x, days.every()), top, height - 8),
    )


def month_lines(
    days: Days, top: float, height: float, line: float, *, narrow: bool
) -> list[Markup]:
    """A line and a name for each month, January with its year, which steps aside for the word at ``line``."""
    parts = []
    months, words = days.months(), Words()
    for place, month in enumerate(months):
        x = days.x(month)
        end = days.x(months[place + 1]) if place + 1 < len(months) else days.right
        january = " january" if month.month == 1 else ""
        parts.append(tag("line", x1=x, x2=x, y1=top - 2, y2=height - 6, class_=f"month{january}"))
        text = words.short_month(month)
        text = text[:1].upper() if narrow else text
        parts.append(
            tag("text", text, x=(x + end) / 2, y=11.0, class_="month-name", text_anchor="middle")
        )
        if month.month == 1:
            beside, anchor = x + 3, "start"
            if -32 < x - line < 22:  # the year's name steps aside for the word at today's line
                beside, anchor = (line + 20, "start") if x >= line else (line - 20, "end")
            name = tag(
                "text", str(month.year), x=beside, y=top - 7, class_="year-name", text_anchor=anchor
            )
            parts.append(name)
    return parts


def _bar(bar: Bar, days: Days, middle: float, words: Words) -> Markup:
    thick = _BAR if bar.tone != "thin" else _BAR / 2.8
    upper = middle - thick / 2
    begin, end = days.x(bar.start), days.x(bar.end)
    least, most = days.x(bar.least), days.x(bar.most)
    parts = [tag("title", f"{bar.label}: {words.span(bar.start, bar.end)}{_range(bar, words)}")]
    if least < begin or most > end:
        parts.append(_box(least, most, middle - thick / 2 + 2, thick - 4, "reach"))
    parts.append(_box(begin, end, upper, thick, bar.tone))
    if bar.best is not None and days.meets(bar.best, bar.best):
        x = days.x(bar.best)
        parts.append(tag("line", x1=x, x2=x, y1=upper - 3, y2=upper + thick + 3, class_="best"))
    return tag("g", joined(parts))


def _box(left: float, right: float, upper: float, height: float, tone: str) -> Markup:
    wide = max(right - left, 2.0)
    return tag(
        "rect", x=left, y=upper, width=wide, height=height, rx=min(2.5, wide / 2), class_=tone
    )


def _mark(mark: Mark, days: Days, middle: float, words: Words) -> Markup:
    x, reach = days.x(mark.day), _BAR / 2
    corners = ((x - reach, middle), (x, middle - reach), (x + reach, middle), (x, middle + reach))
    points = " ".join(f"{num(left)},{num(upper)}" for left, upper in corners)
    return tag(
        "polygon",
        tag("title", f"{mark.label}: {words.day(mark.day)}"),
        points=points,
        class_="mark",
    )


def _range(bar: Bar, words: Words) -> str:
    if bar.low is None and bar.high is None:
        return f", {_('best {day}', day=words.day(bar.best))}" if bar.best else ""
    return f" ({_('may lie between {span}', span=words.span(bar.least, bar.most))})"


def _described(rows: Sequence[Row], first: date, last: date, words: Words) -> str:
    return _(
        "From {first} to {last}, a row each for: {names}. The table below says the same.",
        first=words.day(first),
        last=words.day(last),
        names=", ".join(row.title.split(":")[0].lower() for row in rows),
    )
