"""A tree's crops of past years and what may come, a panel for each way to treat it, wide and narrow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.ledger import nice_top
from bearwell.faces.web.drawing.reading import at
from bearwell.faces.web.drawing.svg import joined, num, tag
from bearwell.faces.words import Words


@dataclass(frozen=True)
class Fan:
    """One panel: its heading, and by year the low, lower, middle, upper and high crop."""

    key: str
    label: str
    bands: Mapping[int, Sequence[float]]


def bearing_drawing(
    past: Mapping[int, float],
    fans: Sequence[Fan],
    even: Mapping[int, float],
    *,
    narrow: bool,
    unit: str,
    name: str,
    described: str,
) -> Markup:
    """Crops of the past as bars and of the years ahead as fans, all on one scale."""
    years = sorted({*past, *(year for fan in fans for year in fan.bands)})
    first, last = years[0], years[-1]
    width, tall = (360.0, 84.0) if narrow else (860.0, 96.0)
    left, right, head, gap, foot = 48.0, 18.0, 24.0, 14.0, 22.0
    step = (width - left - right) / (last - first + 1)
    largest = max([*past.values(), *(max(band) for fan in fans for band in fan.bands.values())])
    top = nice_top(largest)
    height = len(fans) * (head + tall + gap) + foot
    ident = f"bearing-{'narrow' if narrow else 'wide'}"
    parts = [
        tag("title", _("Crops of {name}, past and to come", name=name), id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
    ]

    def x(year: int) -> float:
        return left + step * (year - first + 0.5)

    upper = 0.0
    for fan in fans:
        base = upper + head + tall

        def y(value: float, base: float = base) -> float:
            return base - tall * min(value / top, 1.0)

        parts += [
            tag("text", fan.label, x=0.0, y=upper + 15, class_="row-name"),
            tag(
                "text",
                f"{Words().bare(top)} {unit}",
                x=left - 5,
                y=y(top) + 4,
                text_anchor="end",
                class_="scale",
            ),
            tag("line", x1=left, x2=width, y1=y(top), y2=y(top), class_="row-rule"),
            tag("line", x1=left, x2=width, y1=base, y2=base, class_="base"),
        ]
        bar = min(0.62 * step, 34.0)
        parts += [
            tag("rect", x=x(year) - bar / 2, y=y(value), width=bar, height=base - y(value), class_="crop")
            for year, value in past.items()
        ]  # fmt: skip
        parts.append(_band(fan, 0, 4, x, y, "far"))
        parts.append(_band(fan, 1, 3, x, y, "near"))
        line = " ".join(f"{num(x(year))},{num(y(band[2]))}" for year, band in fan.bands.items())
        parts.append(tag("polyline", points=line, class_="middle"))
        parts += [
            tag("circle", cx=x(year), cy=y(band[2]), r=2.6, class_="middle-dot")
            for year, band in fan.bands.items()
        ]
        level = " ".join(f"{num(x(year))},{num(y(value))}" for year, value in even.items())
        parts.append(tag("polyline", points=level, class_="even"))
        upper = base + gap
    every = max(1, round((34.0 if narrow else 44.0) / step + 0.49))
    for year in range(first, last + 1):
        if (last - year) % every == 0:
            parts.append(
                tag(
                    "text", str(year), x=x(year), y=height - 6, text_anchor="middle", class_="scale"
                )
            )
    return tag(
        "svg",
        joined(parts),
        viewBox=f"0 0 {width:g} {height:g}",
        class_=f"year-drawing bearing {'narrow' if narrow else 'wide'}",
        role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
        **at(map(x, range(first, last + 1)), head, height - foot - gap),
    )


def _band(fan: Fan, low: int, high: int, x, y, key: str) -> Markup:  # type: ignore[no-untyped-def]
    """The span between two quantiles as one shape."""
    there = [(x(year), y(band[high])) for year, band in fan.bands.items()]
    back = [(x(year), y(band[low])) for year, band in reversed(list(fan.bands.items()))]
    points = " ".join(f"{num(across)},{num(down)}" for across, down in [*there, *back])
    return tag("polygon", points=points, class_=f"fan {fan.key.replace(' ', '-')} {key}")
