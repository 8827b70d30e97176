"""Salt in the water a tree is given: what must drain so that its roots stay below the kind's limit."""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.errors import BadInput
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, amount, from_fact
from bearwell.said import said
from bearwell.science.salinity import leaching_requirement_ayers

# More than this cannot sensibly be made to drain: better water or a hardier kind.
MOST_LEACHING = 1 / 3


@dataclass(frozen=True)
class Leaching:
    """Share of what is given that should drain [1]; ``too_salty`` when no share would do."""

    share: float
    too_salty: bool
    because: Because


def salt_limit(species: Species, book: Knowledge) -> dict[str, Fact] | None:
    """The salt line of the kind, or of the nearest group it belongs to."""
    rows = list(book.table("salinity").values())
    for key in reversed(species.lineage):
        for row in rows:
            if row["kind"].text == key:
                return row
    return None


def leaching(species: Species, book: Knowledge, water_ec: float | None) -> Leaching | None:
    """What this water asks for under this kind; None where the water or the kind's limit is not known."""
    row = salt_limit(species, book)
    if not water_ec or row is None:
        return None
    try:
        share = leaching_requirement_ayers(water_ec, row["threshold"].number)
    except BadInput:
        share = 1.0
    salty = share > MOST_LEACHING
    text = (
        "Water of {ec} cannot keep the soil below {value}, where {kind} begins to lose crop"
        if salty
        else "Water of {ec}: {share} % of it has to drain to keep the soil below {value}, where {kind} begins to "
        "lose crop"
    )
    why = from_fact(
        text,
        row["threshold"],
        ec=amount(water_ec, "dS/m"),
        kind=species.name,
        share=said("{percent:.0f}", percent=100 * share),
    )
    return Leaching(min(share, MOST_LEACHING), salty, why)
