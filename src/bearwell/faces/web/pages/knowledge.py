"""What is known of a kind, and the bibliography."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bearwell.api import Fact, Knowledge, Species
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

_CHAPTERS = (
    ("Its year", ("habit", "bloom", "natural_drop", "harvest", "leaf_", "chill")),
    ("Cutting", ("bearing_wood", "renewal", "prune")),
    ("Feeding", ("feeding", "removal", "ph_")),
    ("Crop", ("fruit", "leaves_per", "crop_", "thin", "full_", "alternation")),
    ("Size", ("grown", "years_to")),
    ("Cold", ("cold",)),
    ("Water", ("kc_", "root_", "depletion")),
)


@dataclass(frozen=True)
class Shown:
    """One fact as a row of the page."""

    fact: Fact
    meaning: str
    text: str
    inherited: str


def chapters(species: Species, book: Knowledge, words: Words) -> list[tuple[str, list[Shown]]]:
    """Every fact of a kind under a few headings, none left out."""
    rows: dict[str, list[Shown]] = {title: [] for title in (*dict(_CHAPTERS), "More")}
    for name, fact in species.facts.items():
        rows[_chapter(name)].append(_shown(fact, species, book, words))
    return [(title, found) for title, found in rows.items() if found]


def kind_twin(species: Species, book: Knowledge, words: Words) -> dict[str, Any]:
    """A kind as JSON."""
    return {
        "kind": species.key,
        "name": species.name,
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
                "note": row.fact.note,
                "stated_by": row.fact.stated_by,
            }
            for _, found in chapters(species, book, words)
            for row in found
        ],
    }


def kinds(book: Knowledge) -> list[tuple[str, Sequence[Species]]]:
    """Every kind that can be planted, under its first letter."""
    named = sorted(
        (one for one in book.species.values() if not one.abstract), key=lambda one: one.name.lower()
    )
    letters = sorted({one.name[:1].upper() for one in named})
    return [
        (letter, [one for one in named if one.name[:1].upper() == letter]) for letter in letters
    ]


def _chapter(name: str) -> str:
    return next((title for title, begins in _CHAPTERS if name.startswith(begins)), "More")


def _shown(fact: Fact, species: Species, book: Knowledge, words: Words) -> Shown:
    meaning = str(book.schema.get(fact.name, {}).get("meaning", fact.name.replace("_", " ")))
    inherited = "" if fact.stated_by == species.key else fact.stated_by
    return Shown(fact, meaning, _text(fact, meaning, words), inherited)


def _text(fact: Fact, meaning: str, words: Words) -> str:
    if isinstance(fact.value, str):
        return fact.value
    if "day of the year" in meaning.lower():
        days = [
            date(2023, 1, 1) + timedelta(days=day - 1)
            for day in (fact.number, fact.least, fact.most)
        ]
        best, low, high = (words.short_day(day) for day in days)
        return best if low == high else f"{best} ({low} to {high})"
    return words.quantity(Quantity(fact.number, fact.unit, fact.low, fact.high), with_range=True)
