"""Yearly figures as upright bars."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from bearwell.faces.language import _
from bearwell.faces.web.drawing.svg import joined, tag


def yearly_bars(values: Sequence[tuple[int, float, str]], title: str) -> Markup:
    """Bars of (year, value, value in words), oldest first; years without a figure stay open."""
    if not values:
        return Markup("")
    by_year = {year: (value, text) for year, value, text in values}
    years = range(min(by_year), max(by_year) + 1)
    step, tall, base = 62.0, 90.0, 116.0
    largest = max(value for value, _ in by_year.values()) or 1.0
    width = max(step * len(years) + 8, 200.0)
    parts = [
        tag("title", title, id="bars-title"),
        tag("desc", "; ".join(f"{year}: {text}" for year, _, text in values), id="bars-desc"),
        tag("line", x1=0.0, x2=width, y1=base, y2=base, class_="base"),
    ]
    for place, year in enumerate(years):
        middle = 4 + step * (place + 0.5)
        parts.append(tag("text", str(year), x=middle, y=base + 17, text_anchor="middle"))
        if year not in by_year:
            parts.append(
                tag(
                    "text",
                    _("no record"),
                    x=middle,
                    y=base - 6,
                    text_anchor="middle",
                    class_="none",
                )
            )
            continue
        value, text = by_year[year]
        height = tall * value / largest
        parts.append(
            tag("rect", x=middle - 17, y=base - height, width=34.0, height=height, class_="yield")
        )
        parts.append(tag("text", text, x=middle, y=base - height - 6, text_anchor="middle"))
    return tag("svg", joined(parts), viewBox=f"0 0 {width:g} {base + 24:g}", class_="bars", role="img",
               width=width, aria_labelledby="bars-title bars-desc")  # fmt: skip
