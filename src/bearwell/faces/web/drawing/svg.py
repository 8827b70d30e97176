"""Small means for writing SVG: escaped text, plain numbers, an axis of days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from markupsafe import Markup, escape


@dataclass(frozen=True)
class Days:
    """An axis that lays days out over a width."""

    first: date
    last: date
    left: float
    right: float

    def x(self, day: date) -> float:
        """Where a day begins; days outside are held at the ends."""
        share = (day - self.first).days / max((self.last - self.first).days, 1)
        return self.left + min(max(share, 0.0), 1.0) * (self.right - self.left)

    def every(self) -> list[date]:
        """Each day of the axis."""
        return [
            self.first + timedelta(days=after) for after in range((self.last - self.first).days + 1)
        ]

    def meets(self, begin: date, end: date) -> bool:
        """Whether any day of a span is on the axis."""
        return begin <= self.last and end >= self.first

    def months(self) -> list[date]:
        """The first of each month on the axis."""
        found, day = [], self.first.replace(day=1)
        while day <= self.last:
            if day >= self.first:
                found.append(day)
            day = day.replace(year=day.year + day.month // 12, month=day.month % 12 + 1)
        return found


def num(value: float) -> str:
    """A coordinate with at most one decimal."""
    return f"{value:.1f}".rstrip("0").rstrip(".")


def tag(name: str, content: str | Markup = "", **attributes: str | float | None) -> Markup:
    """An element with escaped attributes; ``class_`` and the like lose their last underscore."""
    written = "".join(
        f' {_attribute(key)}="{num(value) if isinstance(value, int | float) else escape(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return Markup(f"<{name}{written}>{escape(content)}</{name}>")  # noqa: S704 every part is escaped


@cache
def _attribute(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def joined(parts: list[Markup]) -> Markup:
    """Elements one after the other."""
    return Markup("".join(parts))  # noqa: S704 every part is markup already
