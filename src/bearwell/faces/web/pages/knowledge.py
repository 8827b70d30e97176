"""What is known of a kind, and the bibliography."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bearwell.api import Fact, Knowledge, Species
from bearwell.faces.language import Np_, _, _p, say
from bearwell.faces.words import Words, in_order
from bearwell.quantities import Quantity

_CHAPTERS = (
    (Np_("chapter", "Its year"), ("habit", "bloom", "natural_drop", "harvest", "leaf_", "chill")),
    (Np_("chapter", "Cutting"), ("bearing_wood", "renewal", "prune")),
    (Np_("chapter", "Feeding"), ("feeding", "removal", "ph_")),
    (Np_("chapter", "Crop"), ("fruit", "leaves_per", "crop_", "thin", "full_", "alternation")),
    (Np_("chapter", "Size"), ("grown", "years_to")),
    (Np_("chapter", "Cold"), ("cold",)),
    (Np_("chapter", "Water"), ("kc_", "root_", "depletion")),
)


_REST = Np_("chapter", "More")


@dataclass(frozen=True)
class Shown:
    """One fact as a row of the page."""

    fact: Fact
    meaning: str
    text: str
    inherited: str


def chapters(species: Species, book: Knowledge, words: Words) -> list[tuple[str, list[Shown]]]:
    """Every fact of a kind under a few headings, none left out."""
    rows: dict[str, list[Shown]] = {title: [] for title in (*dict(_CHAPTERS), _REST)}
    for name, fact in species.facts.items():
        rows[_chapter(name)].append(_shown(fact, species, book, words))
    return [(_p("chapter", title), found) for title, found in rows.items() if found]


def kind_twin(species: Species, book: Knowledge, words: Words) -> dict[str, Any]:
    """A kind as JSON."""
    return {
        "kind": species.key,
        "name": say(species.name),
        "botanical": species.botanical,
        "also": list(species.also),
        "lineage": list(species.lineage),
        "facts": [
            {
                "fact": row.fact.name,
                "meaning": row.meaning,
                "value": row.fact.value,
                "unit": row.fact.unit,
                "low": row.fact.low,
                "high": row.fact.high,
                "display": row.text,
                "source": row.fact.source,
                "locator": row.fact.locator,
                "confidence": row.fact.confidence,
                "note": say(row.fact.note),
                "stated_by": row.fact.stated_by,
            }
            for _title, found in chapters(species, book, words)
            for row in found
        ],
    }


def kinds(book: Knowledge) -> list[tuple[str, Sequence[Species]]]:
    """Every kind that can be planted, under its first letter."""
    named = {one.key: in_order(say(one.name)) for one in book.species.values() if not one.abstract}
    ordered = sorted((book.species[key] for key in named), key=lambda one: named[one.key])
    letters = sorted({name[:1].upper() for name in named.values()})
    return [
        (letter, [one for one in ordered if named[one.key][:1].upper() == letter])
        for letter in letters
    ]


def _chapter(name: str) -> str:
    return next((title for title, begins in _CHAPTERS if name.startswith(begins)), _REST)


def _shown(fact: Fact, species: Species, book: Knowledge, words: Words) -> Shown:
    meaning = str(book.schema.get(fact.name, {}).get("meaning", fact.name.replace("_", " ")))
    inherited = "" if fact.stated_by == species.key else fact.stated_by
    return Shown(fact, say(meaning), _text(fact, meaning, words), inherited)


def _text(fact: Fact, meaning: str, words: Words) -> str:
    if isinstance(fact.value, str):
        return say(fact.value)
    if "day of the year" in meaning.lower():
        days = [
            date(2023, 1, 1) + timedelta(days=day - 1)
            for day in (fact.number, fact.least, fact.most)
        ]
        best, low, high = (words.short_day(day) for day in days)
        if low == high:
            return best
        return _("{value} ({low} to {high})", value=best, low=low, high=high)
    return words.quantity(Quantity(fact.number, fact.unit, fact.low, fact.high), with_range=True)
