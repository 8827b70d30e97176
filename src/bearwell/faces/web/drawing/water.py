"""The water of a tree as a drawing: what fell and was given above, what the roots still hold below."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from markupsafe import Markup

from bearwell.api import WaterDay
from bearwell.faces.language import N_, _
from bearwell.faces.web.drawing.ledger import nice_top
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.web.drawing.year import month_lines
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

_NARROW_PAST = 45  # days of the past that a phone shows
_FEW = 75  # days up to which weeks are written rather than months


def water_drawing(
    days: Sequence[WaterDay],
    total: float,
    known: date | None,
    words: Words,
    *,
    narrow: bool,
    name: str,
) -> Markup:
    """The account as one SVG element with title and description; ``known`` is the last forecast day."""
    ahead = sum(one.ahead for one in days)
    shown = list(days)[-(ahead + _NARROW_PAST) :] if narrow else list(days)
    today = next(one.day for one in shown if one.ahead)
    width = 360.0 if narrow else 860.0
    axis = Days(shown[0].day, shown[-1].day + timedelta(days=1), 2.0, width - 4)
    top, upper, gap, tall = 38.0, 66.0, 30.0, 150.0 if narrow else 170.0
    falls = top + 22 + upper  # the base of the bars
    head = falls + gap
    base = head + tall
    half = (axis.x(shown[0].day + timedelta(days=1)) - axis.left) / 2
    ident = f"water-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("The water of {name}", name=name), id=f"{ident}-title"),
        tag("desc", _described(shown, total, words), id=f"{ident}-desc"),
        tag(
            "rect",
            x=axis.x(today),
            y=top,
            width=axis.right - axis.x(today),
            height=base - top,
            class_="ahead",
        ),
    ]
    if len(shown) <= _FEW:
        parts += _weeks(axis, top, base, words, axis.x(today), narrow=narrow)
    else:
        parts += month_lines(axis, top, base + 14, axis.x(today), narrow=narrow)
    parts += _bars(shown, axis, falls, upper, words)
    parts += _store(shown, axis, head, tall, total, words)
    if known is not None and known < shown[-1].day and not narrow:
        x = axis.x(known + timedelta(days=1))
        parts.append(tag("line", x1=x, x2=x, y1=top, y2=base, class_="known"))
    line = axis.x(today)
    parts.append(tag("line", x1=line, x2=line, y1=top - 4, y2=base, class_="today"))
    parts.append(
        tag(
            "text",
            _("today"),
            x=min(line, width - 20),
            y=top - 8,
            class_="today-name",
            text_anchor="middle",
        )
    )
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {base + 18:g}",
        class_=f"year-drawing water-drawing {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at((axis.x(one.day) + half for one in shown), top, base, len(days) - len(shown)),
    )


def _weeks(
    axis: Days, top: float, base: float, words: Words, line: float, *, narrow: bool
) -> list[Markup]:
    """A line and a date for each Monday, every second one on a phone."""
    parts = []
    day = axis.first + timedelta(days=(7 - axis.first.weekday()) % 7)
    count = 0
    while day <= axis.last:
        x = axis.x(day)
        parts.append(tag("line", x1=x, x2=x, y1=top - 2, y2=base, class_="month"))
        if (not narrow or count % 2 == 0) and x < axis.right - 24:
            parts.append(tag("text", words.short_day(day), x=x + 2, y=11.0, class_="month-name"))
        day += timedelta(days=7)
        count += 1
    del line
    return parts


def _bars(
    days: Sequence[WaterDay], axis: Days, base: float, tall: float, words: Words
) -> list[Markup]:
    """Rain and waterings as bars side by side over one scale."""
    top = nice_top(max((max(one.rain, one.given, one.supposed) for one in days), default=0.0))
    wide = axis.x(axis.first + timedelta(days=1)) - axis.left
    thick = max(min(wide * 0.42, 9.0), 1.0)
    parts = [
        tag("line", x1=0.0, x2=axis.right, y1=base, y2=base, class_="base"),
        tag("line", x1=0.0, x2=axis.right, y1=base - tall, y2=base - tall, class_="level"),
        tag("text", words.quantity(Quantity(top, "mm")), x=2.0, y=base - tall + 11, class_="scale"),
        *_key(2.0, base - tall - 8, (("rain", _("rain")), ("given", _("given")), ("planned", _("planned")))
             + ((("supposed", _("supposed")),) if any(one.supposed for one in days) else ())),
    ]  # fmt: skip
    for one in days:
        left = axis.x(one.day) + wide / 2
        if one.rain > 0:
            high = tall * min(one.rain / top, 1.0)
            told = tag("title", _falls(N_("{day}: {depth} of rain"), one.day, one.rain, words))
            parts.append(
                tag(
                    "rect",
                    told,
                    x=left - thick,
                    y=base - high,
                    width=thick,
                    height=high,
                    class_="rain",
                )
            )
        if one.supposed > 0:
            high = tall * min(one.supposed / top, 1.0)
            told = tag(
                "title",
                _(
                    "{day}: supposed, as it was short and nothing is written down",
                    day=words.day(one.day),
                ),
            )
            parts.append(
                tag(
                    "rect",
                    told,
                    x=left,
                    y=base - high,
                    width=max(thick, 2.0),
                    height=high,
                    class_="supposed",
                )
            )
        if one.given > 0:
            high = tall * min(one.given / top, 1.0)
            tone = "planned" if one.ahead else "given"
            text = N_("{day}: {depth} planned") if one.ahead else N_("{day}: {depth} given")
            told = tag("title", _falls(text, one.day, one.given, words))
            parts.append(
                tag(
                    "rect",
                    told,
                    x=left,
                    y=base - high,
                    width=max(thick, 2.0),
                    height=high,
                    class_=tone,
                )
            )
    return parts


def _falls(text: str, day: date, depth: float, words: Words) -> str:
    """What fell or was given on a day [mm]."""
    return _(text, day=words.day(day), depth=words.quantity(Quantity(depth, "mm")))


def _key(x: float, y: float, entries: Sequence[tuple[str, str]]) -> list[Markup]:
    parts = []
    for tone, said in entries:
        parts.append(tag("rect", x=x, y=y - 8, width=10.0, height=9.0, class_=tone))
        parts.append(tag("text", said, x=x + 15, y=y, class_="row-name"))
        x += 15 + 6.6 * len(said) + 16
    return parts


def _store(
    days: Sequence[WaterDay], axis: Days, head: float, tall: float, total: float, words: Words
) -> list[Markup]:
    """What the roots hold, from full at the top to empty, with the line below which the tree is short."""
    base = head + tall

    def y(missing: float) -> float:
        return head + tall * min(max(missing / total, 0.0), 1.0)

    half = (axis.x(axis.first + timedelta(days=1)) - axis.left) / 2
    curve = [(axis.x(one.day) + half, y(one.missing)) for one in days]
    first, last = curve[0], curve[-1]
    outline = [(axis.left, first[1]), *curve, (axis.right, last[1])]
    area = [(axis.left, base), *outline, (axis.right, base)]
    short = [(axis.x(one.day) + half, y(one.short)) for one in days]
    short = [(axis.left, short[0][1]), *short, (axis.right, short[-1][1])]
    parts = [
        tag("rect", x=axis.left, y=head, width=axis.right - axis.left, height=tall, class_="earth"),
        tag("polygon", points=_points(area), class_="held-water"),
        tag("polyline", points=_points(outline), class_="surface"),
        tag("polyline", points=_points(short), class_="short-line"),
        tag(
            "text",
            _("full: {depth}", depth=words.quantity(Quantity(total, "mm"))),
            x=5.0,
            y=head - 5,
            class_="row-name",
        ),
        tag(
            "text",
            _("short below this line"),
            x=5.0,
            y=min(short[0][1] + 13, base - 4),
            class_="short-name",
        ),
        tag("line", x1=0.0, x2=axis.right, y1=base, y2=base, class_="base"),
    ]
    for one in days:
        if one.ahead and one.given > 0:
            x, top = axis.x(one.day) + half, y(one.missing)
            told = tag("title", _("{day}: water", day=words.day(one.day)))
            parts.append(tag("circle", told, cx=x, cy=top, r=4.0, class_="refill"))
    return parts


def _points(pairs: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{num(x)},{num(y)}" for x, y in pairs)


def _described(days: Sequence[WaterDay], total: float, words: Words) -> str:
    now = next(one for one in days if one.ahead)
    rain = sum(one.rain for one in days if not one.ahead)
    rounds = [words.day(one.day) for one in days if one.ahead and one.given > 0]
    planned = _("No watering is planned.")
    if rounds:
        planned = _("Waterings are planned on {days}.", days=", ".join(rounds))
    fallen, whole, missing, short = (
        words.quantity(Quantity(round(value), "mm"))
        for value in (rain, total, now.missing, now.short)
    )
    return _(
        "From {first} to {last}. Above: rain, {rain} so far, and waterings. Below: what the roots hold of {total}; "
        "tonight {missing} are missing, and the tree is short from {short}. {planned} The table below says the same.",
        first=words.day(days[0].day),
        last=words.day(days[-1].day),
        rain=fallen,
        total=whole,
        missing=missing,
        short=short,
        planned=planned,
    )
