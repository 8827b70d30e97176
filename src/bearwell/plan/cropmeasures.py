"""What the rules of crop load look at: the measures of a tree, and what stands in where one is missing."""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, from_fact
from bearwell.science.cropload import orange_trunk_girth, young_tree_share


@dataclass(frozen=True)
class Measures:
    """What the rules look at; a measure nobody took is left out, and its rules with it.

    ``years`` counts from planting or grafting to the bloom, ``age`` is the tree's own [d]; ``delay`` is
    how many days after its usual day an even crop may still ripen; ``own`` is its own even crop [g],
    ``proven`` what it has borne a year on the mean of its last crops [g].
    """

    species: Species
    book: Knowledge
    years: float
    age: float | None = None
    girth: float | None = None
    volume: float | None = None
    spread: float | None = None
    pot: float | None = None
    limbs: tuple[float, ...] = ()
    delay: float | None = None
    why_delay: tuple[Because, ...] = ()
    own: Quantity | None = None
    why_own: tuple[Because, ...] = ()
    why_size: tuple[Because, ...] = ()
    proven: float | None = None

    def constant(self, name: str) -> Fact:
        """A constant of the planning table."""
        return self.book.constant(name)

    @property
    def young(self) -> bool:
        """Whether it is in the years in which no fruit is kept."""
        return self.years < self.species["fruitless_years"].number

    @property
    def share(self) -> float:
        """The share of a full crop that its years allow, 0 to 1; the first crop kept is a year of bearing."""
        return float(
            young_tree_share(
                max(self.years, 0.0) + 1.0,
                self.species["fruitless_years"].number,
                self.species["full_bearing_years"].number + 1.0,
            )
        )


def supposed_girth(measures: Measures) -> tuple[float, Because] | None:
    """The girth of a young citrus trunk nobody measured, from its age."""
    holds = measures.constant("orange girth curve holds")
    if measures.girth is not None or measures.age is None or measures.pot is not None:
        return None
    if not measures.species.belongs_to("citrus") or measures.age > holds.number:
        return None
    girth = orange_trunk_girth(measures.age)
    why = from_fact(
        "Its girth was not measured; young orange trunks, followed up to {value}, are {girth} round at its age",
        holds,
        girth=amount(girth, "m"),
    )
    return girth, why
