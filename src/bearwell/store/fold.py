"""From the history to the garden as it stands: a fold over the entries that hold.

Nothing here knows the keys of a garden but three: a bag's ``on_hand`` falls by the doses recorded since it
was weighed, pickings recorded for one year add up to that year's harvest, and trees and bags are told apart
by ``id``. Everything else is carried as it was typed, whatever keys the garden file learns.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from bearwell.errors import BadInput, Problem
from bearwell.garden.counts import Pick
from bearwell.plan.decisions import Decision
from bearwell.quantities import convert, parse
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.entries import ADVICE, ROOT, Entry, live

Subject = tuple[str, str]
PRODUCT: Final = "product"
TREE: Final = "tree"
ON_HAND: Final = "on_hand"
DONE: Final = "done"
HARVESTS: Final = "harvests"
_UNIT: Final = re.compile(r"^\s*[+\-−]?[\d.]+(?:[eE][+-]?\d+)?\s*([A-Za-z]\w*)\s*$")


@dataclass(slots=True)
class Row:
    """A row of a list and the entries it came from."""

    ids: list[str]
    values: dict[str, Any]
    recorded: bool


@dataclass(slots=True)
class Table:
    """A tree, a bag, the site: its keys, when they were measured, and its lists."""

    plain: dict[str, Any] = field(default_factory=dict)
    measured: dict[str, date] = field(default_factory=dict)
    rows: dict[str, list[Row]] = field(default_factory=dict)

    def lists(self) -> dict[str, list[Row]]:
        """Its lists as they are shown: pickings of one year together."""
        return {
            key: _by_year(rows) if key == HARVESTS else rows
            for key, rows in self.rows.items()
            if rows
        }

    def value(self) -> dict[str, Any]:
        """As a garden file would hold it."""
        return self.plain | {
            key: [row.values for row in rows] for key, rows in self.lists().items()
        }


@dataclass(frozen=True, slots=True)
class Kept:
    """A file kept whole."""

    name: str
    sha256: str
    size: int


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo and what it shows."""

    action: str
    subject: str
    named: str
    day: date | None
    sha256: str
    size: int
    media: str
    name: str
    note: str


@dataclass
class Folded:
    """The garden as it stands, as a garden file would hold it, and what stands beside it."""

    raw: dict[str, Any] = field(default_factory=dict)
    tables: dict[Subject, Table] = field(default_factory=dict)
    files: dict[str, Kept] = field(default_factory=dict)
    photos: list[Photo] = field(default_factory=list)
    decisions: tuple[Decision, ...] = ()
    short: dict[str, float] = field(default_factory=dict)
    picks: tuple[Pick, ...] = ()

    def problems(self, where: str) -> list[Problem]:
        """What the records say that cannot all be so."""
        return [
            Problem(
                where,
                said(
                    "product '{product}': the feedings recorded since it was weighed come to {over:.0f} g "
                    "more than was on hand",
                    product=product,
                    over=over,
                ),
                "weigh the bag again",
                severity="warning",
            )
            for product, over in self.short.items()
        ]


@dataclass(frozen=True, slots=True)
class _Weighed:
    at: int
    day: date | None


@dataclass(frozen=True, slots=True)
class _Dose:
    at: int
    day: date | None
    product: str
    amount: str


class _Folding:
    """The fold under way."""

    def __init__(self) -> None:
        self.done = Folded()
        self.order: list[str] = []
        self.listed: dict[str, list[str]] = {}
        self.weighed: dict[str, _Weighed] = {}
        self.doses: dict[str, _Dose] = {}
        self.picks: dict[str, Pick] = {}
        self.decided: list[Decision] = []

    def table(self, subject: Subject) -> Table:
        if subject not in self.done.tables:
            self.done.tables[subject] = Table()
            if subject[0] != ROOT:
                self.known(subject[0])
        return self.done.tables[subject]

    def known(self, key: str) -> None:
        """The order of the file's keys is the order in which they were first said."""
        if key not in self.order:
            self.order.append(key)

    def add(self, at: int, entry: Entry) -> None:
        subject = (entry.subject, entry.named)
        if entry.kind in (say.DESCRIBE, say.STATE):
            self.state(at, entry, subject)
        elif entry.kind in (say.ROW, say.RECORD):
            self.row(at, entry, subject)
        elif entry.kind == say.STRIKE:
            self.strike(entry, subject)
        elif entry.kind == say.WITHDRAW:
            table = self.table(subject)
            for key in entry.payload["keys"]:
                table.plain.pop(key, None)
                table.measured.pop(key, None)
                table.rows.pop(key, None)
        elif entry.kind == say.REMOVE:
            self.done.tables.pop(subject, None)
            if entry.subject == say.FILES:
                self.done.files.pop(entry.named, None)
            order = self.listed.get(entry.subject, [])
            order[:] = [name for name in order if name != entry.named]
        elif entry.kind == say.ORDER:
            self.listed[entry.subject] = list(entry.payload["ids"])
        else:
            self.beside(entry)

    def state(self, at: int, entry: Entry, subject: Subject) -> None:
        table = self.table(subject)
        if entry.kind == say.DESCRIBE:
            table.plain, table.measured = {}, {}
        for key, value in entry.payload.items():
            known = table.measured.get(key)
            if known is not None and entry.day is not None and entry.day < known:
                continue  # an older measure, written down late
            table.plain[key] = value
            table.measured.pop(key, None)
            if entry.day is not None:
                table.measured[key] = entry.day
            if subject[0] == ROOT:
                self.known(key)
            if (subject[0], key) == (PRODUCT, ON_HAND):
                self.weighed[subject[1]] = _Weighed(at, entry.day)

    def row(self, at: int, entry: Entry, subject: Subject) -> None:
        values, recorded = dict(entry.payload), entry.kind == say.RECORD
        self.table(subject).rows.setdefault(entry.key, []).append(Row([entry.id], values, recorded))
        if subject[0] == ROOT:
            self.known(entry.key)
        if recorded and entry.key == DONE and "product" in values and "amount" in values:
            self.doses[entry.id] = _Dose(
                at, entry.day, str(values["product"]), str(values["amount"])
            )

        if recorded and entry.key == HARVESTS and entry.day is not None:
            self.pick(entry, values)

    def pick(self, entry: Entry, values: Mapping[str, Any]) -> None:
        """A picking of a year's crop, which the year itself no longer tells apart."""
        try:
            mass, year = parse(values["mass"], "mass"), int(values["year"])
            sound = parse(values["sound"], "share") if "sound" in values else None
        except (BadInput, KeyError, ValueError):
            return  # told where the garden is read
        fruit = values.get("fruit")
        self.picks[entry.id] = Pick(
            entry.named,
            entry.day or date.min,
            year,
            mass,
            fruit if isinstance(fruit, int) else None,
            sound,
            str(values.get("note", "")),
        )

    def strike(self, entry: Entry, subject: Subject) -> None:
        rows = self.table(subject).rows.get(entry.key, [])
        rows[:] = [row for row in rows if entry.replaces not in row.ids]
        self.doses.pop(entry.replaces, None)
        self.picks.pop(entry.replaces, None)

    def beside(self, entry: Entry) -> None:
        """Files, photos and what was decided about an advice."""
        said = entry.payload
        if entry.kind == say.FILE:
            self.done.files[entry.named] = Kept(entry.named, said["sha256"], said["size"])
        elif entry.kind == say.PHOTO:
            self.done.photos.append(
                Photo(
                    entry.action, entry.subject, entry.named, entry.day, said["sha256"], said["size"],
                    said["media"], said["name"], said["note"],
                )
            )  # fmt: skip
        elif entry.subject == ADVICE:
            self.decided.append(Decision(entry.named, entry.kind, entry.day, **said))

    def finish(self) -> Folded:
        self.stock()
        tables, root = self.done.tables, self.done.tables.get((ROOT, ""), Table())
        whole = root.value()
        for key in self.order:
            if (key, "") in tables:
                self.done.raw[key] = tables[key, ""].value()
                continue
            named = [name for subject, name in tables if subject == key]
            if named:
                place = {name: at for at, name in enumerate(self.listed.get(key, ()))}
                named.sort(key=lambda name: place.get(name, len(place)))
                self.done.raw[key] = [tables[key, name].value() for name in named]
            elif key in whole:
                self.done.raw[key] = whole[key]
        latest = {one.advice: one for one in self.decided}
        self.done.decisions = tuple(latest.values())
        trees = self.done.tables
        self.done.picks = tuple(
            sorted(
                (one for one in self.picks.values() if (TREE, one.tree) in trees),
                key=lambda one: (one.day, one.tree),
            )
        )
        return self.done

    def stock(self) -> None:
        """What is left in each bag after the doses recorded since it was weighed."""
        used: dict[str, float] = {}
        for dose in self.doses.values():
            weighed = self.weighed.get(dose.product)
            if weighed is None or not _since(dose, weighed):
                continue
            try:
                used[dose.product] = used.get(dose.product, 0.0) + parse(dose.amount, "mass")
            except BadInput:
                continue  # a volume, for a watering: no mass left the bag
        for product, mass in used.items():
            table = self.done.tables.get((PRODUCT, product))
            if table is None or ON_HAND not in table.plain or not mass:
                continue
            typed = str(table.plain[ON_HAND])
            left = parse(typed, "mass") - mass
            if left < -0.5:
                self.done.short[product] = -left
            table.plain[ON_HAND] = in_unit_of(typed, max(left, 0.0))


def _since(dose: _Dose, weighed: _Weighed) -> bool:
    """Whether a dose left the bag after it was weighed; a weight from a file has no day of its own."""
    if weighed.day is None or dose.day is None or dose.day == weighed.day:
        return dose.at > weighed.at
    return dose.day > weighed.day


def in_unit_of(typed: str, grams: float) -> str:
    """A mass in the unit that another was typed in, as far as it was one unit."""
    found = _UNIT.match(typed)
    unit = found[1] if found else "g"
    return f"{convert(grams, 'g', unit):.9g} {unit}"


def _by_year(rows: Sequence[Row]) -> list[Row]:
    """Pickings recorded for a year that is listed already are added to it."""
    found: dict[str, Row] = {}
    listed = []
    for row in rows:
        year = str(row.values.get("year")).strip()
        if row.recorded and year in found:
            first = found[year]
            first.values = _together(first.values, row.values)
            first.ids = [*first.ids, *row.ids]
            continue
        fresh = Row(row.ids, row.values, row.recorded)
        found[year] = fresh
        listed.append(fresh)
    return listed


def _together(first: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    total = {**first, **more, "year": first["year"]}
    typed = str(first["mass"])
    before, added = parse(typed, "mass"), parse(more["mass"], "mass")
    total["mass"] = in_unit_of(typed, before + added)
    for key in ("fruit", "sound"):  # of the whole only where it is known of each picking
        total.pop(key, None)
    if "sound" in first and "sound" in more and before + added > 0:
        kept = before * parse(first["sound"], "share") + added * parse(more["sound"], "share")
        total["sound"] = f"{100 * kept / (before + added):.6g} %"
    if notes := [str(one["note"]) for one in (first, more) if one.get("note")]:
        total["note"] = "; ".join(notes)
    if "fruit" in first and "fruit" in more:
        total["fruit"] = int(first["fruit"]) + int(more["fruit"])
    return total


def fold(history: Sequence[Entry]) -> Folded:
    """The garden that follows from a history, given in the order of its numbers."""
    folding = _Folding()
    for at, entry in enumerate(live(history)):
        folding.add(at, entry)
    return folding.finish()
