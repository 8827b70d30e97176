"""The weather record as a strip of days for each year."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from markupsafe import Markup

from bearwell.api import STATES, YearOfRecord
from bearwell.faces.language import _, _n, _p
from bearwell.faces.weather import DAYS_WORDS
from bearwell.faces.web.drawing.svg import Days, joined, tag
from bearwell.faces.words import Words

_LABEL = 40.0
_TALL = {"measured": 8.0, "flagged": 12.0, "filled": 8.0, "forecast": 8.0, "usual": 1.5}
_LEAST = 1.6  # narrowest mark of a flagged day, so that it is seen
_HEAD = 16.0


def record_drawing(
    years: Sequence[YearOfRecord], today: date, words: Words, *, narrow: bool
) -> Markup:
    """A row of days for each year, the latest first: what stands behind every day of the plan."""
    if not years:
        return Markup("")
    width, step = (358.0, 15.0) if narrow else (900.0, 16.0)
    size = "narrow" if narrow else "wide"
    parts = [
        tag(
            "title", _("The weather record, a row of days for each year"), id=f"record-title-{size}"
        ),
        tag("desc", _told(years), id=f"record-desc-{size}"),
    ]
    axis = Days(date(2023, 1, 1), date(2023, 12, 31), _LABEL, width)
    for month in range(12):
        day = date(2023, month + 1, 15)
        letter = words.short_month(day)[:1].upper()
        parts.append(tag("text", letter, x=axis.x(day), y=10.0, text_anchor="middle"))
    for place, one in enumerate(reversed(years)):
        middle = _HEAD + step * (place + 0.5)
        parts.append(tag("text", str(one.year), x=0.0, y=middle + 4, class_="row-name"))
        parts.append(_row(one, middle, width, words))
        if one.year == today.year:
            days = Days(date(one.year, 1, 1), date(one.year, 12, 31), _LABEL, width)
            at = days.x(today)
            parts.append(
                tag("line", x1=at, x2=at, y1=middle - 7, y2=middle + 7, class_="record-today")
            )
    height = _HEAD + step * len(years) + 2
    return tag(
        "svg", joined(parts), viewBox=f"0 0 {width:g} {height:g}", class_=f"year-drawing record {size}",
        role="img", aria_labelledby=f"record-title-{size} record-desc-{size}",
    )  # fmt: skip


def _row(one: YearOfRecord, middle: float, width: float, words: Words) -> Markup:
    days = Days(date(one.year, 1, 1), date(one.year, 12, 31), _LABEL, width)
    unit = (width - _LABEL) / 365.0
    marks = []
    # What is flagged is drawn last, so that a single day is not hidden by its neighbours.
    for stretch in sorted(one.stretches, key=lambda each: each.state == "flagged"):
        tall = _TALL[stretch.state]
        left, long = days.x(stretch.first), max(stretch.days * unit, _LEAST)
        shape = tag(
            "rect", tag("title", f"{words.span(stretch.first, stretch.last)}: {_p('days', DAYS_WORDS[stretch.state])}"),
            x=min(left, width - long), y=middle - tall / 2, width=long, height=tall,
            class_=f"day-{stretch.state}",
        )  # fmt: skip
        marks.append(shape)
    return joined(marks)


def _told(years: Sequence[YearOfRecord]) -> str:
    return ". ".join(
        f"{one.year}: " + ", ".join(_days(one, state) for state in STATES if one.days[state])
        for one in reversed(years)
    )


def _days(one: YearOfRecord, state: str) -> str:
    number, told = one.days[state], _p("days", DAYS_WORDS[state])
    return _n("{number} days {state}", "{number} days {state}", number, state=told)
