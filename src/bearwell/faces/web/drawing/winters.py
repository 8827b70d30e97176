"""Winters drawn: the coldest night of each with levels of return, and hardening over a season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.web.drawing.year import month_lines


@dataclass(frozen=True)
class Low:
    """The coldest night of a winter [degC] with its words."""

    label: int
    air: float
    said: str


@dataclass(frozen=True)
class Return:
    """A night of a return period [degC] with its range and its name."""

    air: float
    low: float
    high: float
    label: str
    banded: bool = False


def winters_drawing(
    lows: Sequence[Low],
    returns: Sequence[Return],
    degrees: Sequence[tuple[float, str]],
    *,
    narrow: bool,
    described: str,
) -> Markup:
    """Coldest nights as drops from above with levels of return as lines across."""
    width, height = (360.0, 280.0) if narrow else (860.0, 330.0)
    left, right = 42.0, width - (76.0 if narrow else 120.0)
    values = [one.air for one in lows]
    values += [
        end for one in returns for end in ((one.low, one.high) if one.banded else (one.air,))
    ]
    values += [0.0]
    top, bottom = max(values) + 0.6, min(values) - 0.6
    upper, lower = 10.0, height - 26

    def y(air: float) -> float:
        return upper + (lower - upper) * (top - air) / (top - bottom)

    ident = f"winters-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("The coldest night of each winter"), id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
    ]
    for air, word in degrees:
        if bottom <= air <= top:
            zero = " zero" if word.startswith(("0 ", "32 ")) else ""
            parts.append(
                tag("line", x1=left, x2=right, y1=y(air), y2=y(air), class_=f"degree{zero}")
            )
            parts.append(
                tag("text", word, x=left - 5, y=y(air) + 4, class_="scale", text_anchor="end")
            )
    free = -20.0
    for one in sorted(returns, key=lambda one: -one.air):
        if one.banded:
            parts.append(
                tag("rect", x=left, y=y(one.high), width=right - left, height=y(one.low) - y(one.high),
                    class_="sure-band")
            )  # fmt: skip
        parts.append(tag("line", x1=left, x2=right, y1=y(one.air), y2=y(one.air), class_="limit"))
        free = max(y(one.air) + 4, free + 14)
        parts.append(tag("text", one.label, x=right + 6, y=free, class_="limit-name"))
    step = (right - left) / max(len(lows), 1)
    every = max(1, round((34 if narrow else 44) / step + 0.49))
    for place, low in enumerate(lows):
        x = left + step * (place + 0.5)
        parts.append(
            tag(
                "line",
                x1=x,
                x2=x,
                y1=y(min(top - 0.6, max(0.0, low.air))),
                y2=y(low.air),
                class_="drop",
            )
        )
        mark = tag("title", f"{low.label - 1}/{low.label % 100:02d}: {low.said}")
        parts.append(tag("circle", mark, cx=x, cy=y(low.air), r=4.0, class_="low"))
        if place % every == 0:
            parts.append(
                tag("text", str(low.label), x=x, y=lower + 18, class_="scale", text_anchor="middle")
            )
    across = (left + step * (place + 0.5) for place in range(len(lows)))
    return _svg(parts, width, height, ident, at(across, upper, lower), narrow=narrow)


def hardening_drawing(
    first: date,
    state: Sequence[float],
    ceiling: Sequence[float],
    today: date,
    *,
    narrow: bool,
    described: str,
) -> Markup:
    """Hardening of the season as a filled line below the most that can still be reached."""
    width, height = (360.0, 200.0) if narrow else (860.0, 220.0)
    last = date.fromordinal(first.toordinal() + len(state) - 1)
    days = Days(first, last, 46.0, width - 4)
    upper, lower = 38.0, height - 10
    ident = f"hardening-{'narrow' if narrow else 'wide'}"

    def y(share: float) -> float:
        return lower - (lower - upper) * share

    def line(values: Sequence[float]) -> list[tuple[float, float]]:
        return [
            (days.x(date.fromordinal(first.toordinal() + place)), y(values[place]))
            for place in range(0, len(values), 3)
        ]

    area = line(state)
    filled = [(area[0][0], lower), *area, (area[-1][0], lower)]
    x = days.x(today)
    parts = [
        tag("title", _("Hardening over the season"), id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
        *month_lines(days, upper, height, x, narrow=narrow),
        *(
            tag("text", word, x=41.0, y=y(share) + 4, class_="scale", text_anchor="end")
            for share, word in ((0.0, "0 %"), (0.5, "50 %"), (1.0, "100 %"))
        ),
        tag("polygon", points=_points(filled), class_="hardness"),
        tag("polyline", points=_points(line(ceiling)), class_="ceiling"),
        tag("line", x1=x, x2=x, y1=upper - 4, y2=lower, class_="today"),
        tag("text", _("today"), x=x, y=upper - 8, class_="today-name", text_anchor="middle"),
    ]
    where = at(map(days.x, days.every()), upper, lower)
    return _svg(parts, width, height, ident, where, narrow=narrow)


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{num(x)},{num(y)}" for x, y in points)


def _svg(
    parts: list[Markup],
    width: float,
    height: float,
    ident: str,
    where: Mapping[str, str],
    *,
    narrow: bool,
) -> Markup:
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing winter-drawing {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **where,
    )
