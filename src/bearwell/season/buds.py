"""The stage of deciduous buds on a day, and the cold that kills a tenth and nine tenths of them then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import hypot

import numpy as np

from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.said import said
from bearwell.science.buds import critical_temperature_between_stages, expected_damage_normal
from bearwell.science.frost import damage_fraction
from bearwell.season.cycle import STANDARD_INTERVAL, Cycle, Stage

# Points of a standard normal error that stand for a fifth of it each.
FIFTHS = (-1.4, -0.532, 0.0, 0.532, 1.4)
_NEAR_BLOOM = timedelta(days=75)
_OPEN = ("first bloom", "full bloom")
_FRUIT = ("post bloom", "in the shuck", "green fruit")


@dataclass(frozen=True)
class BudRow:
    """One stage of the table: its day from full bloom with its range [d], T10 and T90 [degC]."""

    stage: str
    days: Fact
    t10: Fact
    t90: Fact | None


@dataclass(frozen=True)
class Buds:
    """Buds of a tree on a day: stage, cold that kills a tenth and nine tenths, as the dates may lie."""

    stage: str
    organ: str
    t10: float
    low: float
    high: float
    possible: tuple[tuple[float, float], ...]
    because: tuple[Because, ...]

    def expected_share(self, minimum: float, error: float) -> float:
        """Share of the buds that a night is expected to kill, over forecast error and stage dates."""
        if not self.possible:
            return 0.0
        killed = [
            expected_damage_normal(t10, t90, minimum, error) if t90 < t10 else 0.0
            for t10, t90 in self.possible
        ]
        return sum(killed) / len(FIFTHS)

    def shares(self, minimum: float) -> tuple[float, float]:
        """Least and most share that a minimum may kill, as the dates of the stages may lie."""
        killed = [
            float(damage_fraction(t10, t90, minimum)) for t10, t90 in self.possible if t90 < t10
        ]
        killed += [0.0] * (len(FIFTHS) - len(self.possible))
        return (min(killed), max(killed)) if killed else (0.0, 0.0)


def bud_rows(species: Species, book: Knowledge) -> tuple[BudRow, ...]:
    """The stages known for a kind or the nearest group it belongs to; none where nobody measured them."""
    found: dict[str, list[BudRow]] = {}
    for row in book.table("buds").values():
        if row["kind"].text in species.lineage:
            one = BudRow(row["stage"].text, row["days"], row["t10"], row.get("t90"))
            found.setdefault(row["kind"].text, []).append(one)
    for group in reversed(species.lineage):
        if group in found:
            return tuple(sorted(found[group], key=lambda one: one.days.number))
    return ()


def bud_kinds(book: Knowledge) -> list[str]:
    """Kinds whose stages are known."""
    return list(dict.fromkeys(row["kind"].text for row in book.table("buds").values()))


def buds_on(species: Species, cycle: Cycle, book: Knowledge, day: date) -> Buds | None:
    """The buds of a tree on a day; None for a kind without stages and outside their season."""
    rows = bud_rows(species, book)
    if not rows:
        return None
    blooms = [one for one in cycle.every_stage if one.event == "full bloom"]
    bloom = min(blooms, key=lambda one: abs(one.date - day), default=None)
    if bloom is None or abs(bloom.date - day) > _NEAR_BLOOM:
        return None
    return _between(rows, bloom, (day - bloom.date).days, species)


def _between(rows: tuple[BudRow, ...], bloom: Stage, at: int, species: Species) -> Buds | None:
    stage_days = np.array([row.days.number for row in rows])
    spacing = float(
        np.interp(at, stage_days, [(r.days.most - r.days.least) for r in rows])
        / (2 * STANDARD_INTERVAL)
    )
    spread = hypot(bloom.spread, spacing)
    if at > stage_days[-1] or at + STANDARD_INTERVAL * spread < stage_days[0]:
        return None
    offsets = [min(at + z * spread, stage_days[-1]) for z in FIFTHS]
    tenths = critical_temperature_between_stages(
        offsets, stage_days, [row.t10.number for row in rows]
    )
    known = [row for row in rows if row.t90 is not None]
    most = np.interp(
        offsets, [r.days.number for r in known], [r.t90.number for r in known if r.t90 is not None]
    )
    possible = tuple(
        (float(t10), float(t90)) for t10, t90 in zip(tenths, most, strict=True) if np.isfinite(t10)
    )
    if not possible:
        return None
    here = max(min(at, stage_days[-1]), stage_days[0])
    nearest = rows[int(np.argmin(np.abs(stage_days - here)))]
    t10 = float(np.interp(here, stage_days, [row.t10.number for row in rows]))
    low, high = min(t for t, _ in possible), max(t for t, _ in possible)
    return Buds(
        nearest.stage,
        _organ(nearest.stage),
        t10,
        min(low, t10),
        max(high, t10),
        possible,
        _links(species, bloom, nearest, t10, spread),
    )


def _organ(stage: str) -> str:
    if stage in _FRUIT:
        return "young fruit"
    return said("flowers") if stage in _OPEN else "flower buds"


def _links(
    species: Species, bloom: Stage, row: BudRow, t10: float, spread: float
) -> tuple[Because, ...]:
    links = [
        computed(
            "Full bloom of {kind} is seen on {day}; its stage then is good to about {spread}"
            if bloom.seen
            else "Full bloom of {kind} is expected on {day}; its stage then is good to about {spread}",
            bloom.date.isoformat(),
            kind=species.name,
            day=bloom.date,
            spread=amount(round(max(spread, 0.5)), "d"),
        ),
        from_fact(
            "Near the stage '{stage}', counted {value} from full bloom",
            row.days,
            stage=row.stage,
        ),
        from_fact("A tenth of them is killed in half an hour at {value}", row.t10),
    ]
    if row.t90 is not None:
        links.append(from_fact("and nine tenths at {value}", row.t90))
    links.append(
        computed(
            "Between the stages of those days a tenth is killed at {limit}",
            round(t10, 1),
            "degC",
            limit=amount(t10, "degC"),
        )
    )
    return tuple(links)
