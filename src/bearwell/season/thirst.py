"""How short of water a tree may go today: by its kind and by what it is doing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, from_fact
from bearwell.said import large
from bearwell.season.cycle import Cycle

Row = dict[str, Fact]


@dataclass(frozen=True)
class Phase:
    """A part of a tree's year: what it does then, and the share of its full use it may be held to."""

    name: str
    share: float
    until: date | None
    because: Because | None

    @property
    def never_short(self) -> bool:
        """Whether it must not go short now."""
        return self.share >= 1


def phase_on(species: Species, cycle: Cycle, book: Knowledge, day: date) -> Phase:
    """The part of its year a tree is in, by the rows of water phases of the nearest kind or group."""
    rows = sorted(_rows(species, book), key=lambda row: row["order"].number)
    for row in rows:
        until = _holds(row, cycle, day)
        if until is not None:
            return _phase(row, until)
    return Phase("no part of the year in which it may go short", 1.0, None, None)


def _rows(species: Species, book: Knowledge) -> list[Row]:
    table = book.table("waterphases").values()
    for key in reversed(species.lineage):
        found = [row for row in table if row["kind"].text == key]
        if found:
            return found
    if species.keeps_leaves:
        return []
    return [row for row in table if row["kind"].text == "all"]


def _holds(row: Row, cycle: Cycle, day: date) -> date | None:
    """The last day of this part where it holds the day, else None."""
    before, after = (timedelta(days=row[name].number) for name in ("from_days", "to_days"))
    for stage in cycle.every_stage:
        if stage.event != row["from"].text or stage.wave != 1:
            continue
        begin = stage.date + before
        if begin > day:
            continue
        ends = [
            one.date + after
            for one in cycle.every_stage
            if one.event == row["to"].text and one.wave == 1 and one.date >= stage.date
        ]
        if ends and begin <= day <= min(ends):
            return min(ends)
    return None


def _phase(row: Row, until: date) -> Phase:
    share, name = row["share"], row["phase"].text
    text = "{phase}: {why}. It is not let go short"
    if share.number < 1:
        text = "{phase}: {why}; it may be held to {value} of its use"
    why = from_fact(text, share, phase=large(name), why=row["why"].text)
    return Phase(name, share.number, until, why)
