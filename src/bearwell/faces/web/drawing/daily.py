"""What each day is worth, drawn: the score as a hill, each of its reasons as a band below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup

from bearwell.faces.language import Np_, _, _p
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.web.drawing.year import month_lines
from bearwell.faces.words import Words

_STEP = 3  # days from one drawn point to the next
WOOD = {"old": Np_("wood", "old"), "bearing": Np_("wood", "bearing"), "new": Np_("wood", "new")}


@dataclass(frozen=True)
class Band:
    """One reason: its name and its factor of each day from the first drawn one."""

    name: str
    values: Sequence[float]


@dataclass(frozen=True)
class Span:
    """The window of a cut with its best day."""

    earliest: date
    best: date
    latest: date
    label: str


def score_drawing(
    bands: Sequence[Band],
    spans: Sequence[Span],
    first: date,
    last: date,
    today: date,
    words: Words,
    *,
    narrow: bool,
    name: str,
    described: str,
) -> Markup:
    """The first band as a hill, the others as bands, the windows over all of them."""
    width, left = (360.0, 2.0) if narrow else (860.0, 250.0)
    hill, row, top = (70.0, 34.0, 36.0) if narrow else (84.0, 26.0, 38.0)
    rows = bands[1:]
    height = top + hill + row * len(rows) + 10
    days = Days(first, last, left, width - 4)
    ident = f"days-{'narrow' if narrow else 'wide'}"
    parts = [
        tag(
            "title", _("What each day is worth for cutting {name}", name=name), id=f"{ident}-title"
        ),
        tag("desc", described, id=f"{ident}-desc"),
        *month_lines(days, top, height, days.x(today), narrow=narrow),
    ]
    parts += [
        _window(span, days, top, height, words)
        for span in spans
        if days.meets(span.earliest, span.latest)
    ]
    parts.append(
        tag("text", bands[0].name, x=2.0, y=top + (12 if narrow else hill / 2), class_="row-name")
    )
    base = top + hill
    parts.append(tag("polygon", points=_area(bands[0], days, base, hill - 16), class_="hill"))
    parts.append(tag("line", x1=days.left, x2=days.right, y1=base, y2=base, class_="row-rule"))
    for number, band in enumerate(rows):
        upper = base + number * row
        floor = upper + row - 3
        label = upper + (14 if narrow else row / 2 + 4)
        parts.append(tag("text", band.name, x=2.0, y=label, class_="row-name"))
        tall = row - (20 if narrow else 7)
        parts.append(tag("polygon", points=_area(band, days, floor, tall), class_="factor"))
        parts.append(
            tag("line", x1=days.left, x2=days.right, y1=floor, y2=floor, class_="row-rule")
        )
    line = days.x(today)
    parts.append(tag("line", x1=line, x2=line, y1=top - 4, y2=height - 4, class_="today"))
    parts.append(
        tag("text", _("today"), x=line, y=top - 7, class_="today-name",
            text_anchor="start" if line < days.left + 14 else "middle")
    )  # fmt: skip
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing days {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at(map(days.x, days.every()), top, height - 10),
    )


def _area(band: Band, days: Days, base: float, tall: float) -> str:
    points = [f"{num(days.left)},{num(base)}"]
    count = len(band.values)
    for place in [*range(0, count, _STEP), count - 1]:
        day = days.first + timedelta(days=place)
        points.append(f"{num(days.x(day))},{num(base - tall * band.values[place])}")
    return " ".join([*points, f"{num(days.right)},{num(base)}"])


def _window(span: Span, days: Days, top: float, height: float, words: Words) -> Markup:
    left, right, best = days.x(span.earliest), days.x(span.latest), days.x(span.best)
    told = _(
        "{what}: {span}, best {best}",
        what=span.label,
        span=words.span(span.earliest, span.latest),
        best=words.day(span.best),
    )
    parts = [
        tag("title", told),
        tag("rect", x=left, y=top, width=max(right - left, 2.0), height=height - top - 8,
            class_="cut-window"),
    ]  # fmt: skip
    if days.meets(span.best, span.best):
        parts.append(tag("line", x1=best, x2=best, y1=top - 2, y2=height - 8, class_="best"))
    return tag("g", joined(parts))


@dataclass(frozen=True)
class Stack:
    """One year's parts of a whole, from the foot up, with a word for each."""

    name: str
    parts: tuple[tuple[str, float], ...]


def stacked_bars(stacks: Sequence[Stack], ident: str, title: str, described: str) -> Markup:
    """Parts of a whole year by year, as upright bars of one height."""
    step, tall, base = 52.0, 104.0, 112.0
    width = step * len(stacks) + 6
    parts = [tag("title", title, id=f"{ident}-title"), tag("desc", described, id=f"{ident}-desc")]
    for place, stack in enumerate(stacks):
        left, upper = 4 + step * place + 6, base
        for tone, share in stack.parts:
            if share <= 0.001:
                continue
            high = tall * share
            upper -= high
            said = tag("title", f"{stack.name}: {_p('wood', WOOD[tone])} {100 * share:.0f} %")
            parts.append(
                tag(
                    "rect",
                    said,
                    x=left,
                    y=upper,
                    width=step - 12,
                    height=high,
                    class_=f"wood {tone}",
                )
            )
            if high > 15:
                parts.append(
                    tag("text", f"{100 * share:.0f} %", x=left + (step - 12) / 2, y=upper + high / 2 + 4,
                        text_anchor="middle", class_=f"on-{tone}")
                )  # fmt: skip
        parts.append(
            tag("text", stack.name, x=left + (step - 12) / 2, y=base + 15, text_anchor="middle")
        )
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {num(width)} {num(base + 22)}",
        class_="wood-drawing",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )
