"""Drawings that can be read point by point: what each point says, and where it lies on the paper.

One form for every drawing. The drawing itself carries ``at``: where its points lie across, which is the first
of them, and from where to where the mark reaches down. The frame round it carries the sentences. The script
``reading.js`` brings the two together for a pointer, a finger and the keyboard; without it nothing is lost,
as the table behind the drawing says the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup

from bearwell.faces.web.drawing.svg import joined, num, tag

_POINT, _PART = "\n", "\t"


@dataclass
class Readings:
    """What the points of a drawing say, in their order: a sentence each, its figures apart from its words.

    ``hint`` tells how to read it before a point is chosen, ``start`` is the point the keyboard begins at.
    """

    hint: str
    start: int = 0
    _sentences: dict[str, int] = field(default_factory=dict)
    _points: list[str] = field(default_factory=list)

    def add(self, sentence: str, **values: str) -> None:
        """One more point; ``sentence`` names its values in braces, in any order."""
        numbered = sentence.format(**{key: f"{{{at}}}" for at, key in enumerate(values)})
        number = self._sentences.setdefault(numbered, len(self._sentences))
        self._points.append(_PART.join([str(number), *map(_plain, values.values())]))

    def __len__(self) -> int:
        return len(self._points)

    def texts(self) -> list[str]:
        """Every point as the script tells it."""
        sentences = list(self._sentences)
        found = []
        for point in self._points:
            number, *values = point.split(_PART)
            found.append(sentences[int(number)].format(*values))
        return found

    def attributes(self) -> Mapping[str, str]:
        """What the frame carries."""
        return {
            "data_sentences": _POINT.join(self._sentences),
            "data_points": _POINT.join(self._points),
            "data_start": str(self.start),
            "data_hint": self.hint,
        }


def at(points: Iterable[float], upper: float, lower: float, first: int = 0) -> dict[str, str]:
    """What a drawing carries: where its points lie across, the first of them, how far the mark reaches."""
    return {
        "data_at": " ".join(num(x) for x in points),
        "data_first": str(first),
        "data_reach": f"{num(upper)} {num(lower)}",
    }


def readable(drawings: Sequence[Markup], readings: Readings) -> Markup:
    """The drawings of one thing, wide and narrow, in a frame from which they are read; nothing for none."""
    if not any(drawings):
        return Markup("")
    told = tag("p", class_="reading", aria_live="polite")
    return tag("div", joined([*drawings, told]), class_="drawing readable", **readings.attributes())


def _plain(value: str) -> str:
    """A value without the signs that part points and values."""
    return " ".join(value.split())
