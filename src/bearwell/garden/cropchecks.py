"""Counts and crops of a garden file that cannot be, or hide something: read on the raw rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from bearwell.errors import BadInput, Severity
from bearwell.knowledge import Knowledge, Species
from bearwell.quantities import parse
from bearwell.said import said
from bearwell.science.sampling import branch_probabilities_by_girth


class Doubt(NamedTuple):
    """Something doubtful: what, a hint, where under the tree, how grave."""

    message: str
    hint: str
    at: tuple[str | int, ...]
    severity: Severity


def crop_doubts(tree: Mapping[str, Any], species: Species, book: Knowledge) -> Iterator[Doubt]:
    """What is doubtful about the counts, the crops and the limbs of one tree."""
    yield from _counts(tree, species, book)
    yield from _harvests(tree)
    yield from _limbs(tree)


def _rows(tree: Mapping[str, Any], key: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    rows = tree.get(key)
    for number, row in enumerate(rows if isinstance(rows, list) else ()):
        if isinstance(row, Mapping):
            yield number, row


def _counts(tree: Mapping[str, Any], species: Species, book: Knowledge) -> Iterator[Doubt]:
    most = species["full_crop"].most / species["fruit_mass"].least
    most *= book.constant("absurd crop").number
    for number, row in _rows(tree, "counts"):
        fruit = _fruit(row)
        if fruit is not None and fruit > most:
            yield Doubt(
                said(
                    "a count stands for {fruit:.0f} fruit, more than {most:.0f}, which no {kind} carries",
                    fruit=fruit,
                    most=most,
                    kind=species.name,
                ),
                "look at the number again, and at the chances of the walks",
                ("counts", number),
                "warning",
            )
        elif fruit == 0:
            yield Doubt(
                "a count of no fruit",
                "right for a bare tree: the plan then expects a good bloom next; else leave it out",
                ("counts", number),
                "note",
            )


def _fruit(row: Mapping[str, Any]) -> float | None:
    """The fruit a raw count stands for, where it can be told without the size of the tree."""
    if _number(row.get("fruit")):
        part = row.get("part")
        try:
            share = parse(part, "part") if part is not None else 1.0
        except BadInput:
            return None  # told by the models
        return float(row["fruit"]) / share
    halves = row.get("halves")
    if isinstance(halves, Mapping) and halves and all(_number(one) for one in halves.values()):
        return float(sum(halves.values()))
    paths = row.get("paths")
    whole = [_path(one) for one in paths] if isinstance(paths, list) else []
    known = [one for one in whole if one is not None]
    return sum(known) / len(known) if known and len(known) == len(whole) else None


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _path(path: object) -> float | None:
    if not isinstance(path, Mapping) or not _number(path.get("fruit")):
        return None
    chance, forks = path.get("probability"), path.get("forks")
    if isinstance(chance, int | float) and 0 < chance <= 1:
        return float(path["fruit"] / chance)
    try:
        found = 1.0
        for fork in forks or ():
            found *= float(branch_probabilities_by_girth([parse(one, "branch") for one in fork])[0])
    except (BadInput, TypeError):
        return None  # told by the models
    return float(path["fruit"] / found) if forks else None


def _harvests(tree: Mapping[str, Any]) -> Iterator[Doubt]:
    years = sorted({row["year"] for _, row in _rows(tree, "harvests") if _whole(row.get("year"))})
    gone = [year for one, two in pairwise(years) for year in range(one + 1, min(two, one + 50))]
    if gone:
        listed = ", ".join(str(year) for year in gone[:5]) + (" ..." if len(gone) > 5 else "")
        yield Doubt(
            said("no harvest is written down for {years}", years=listed),
            'a year without fruit is worth its line too: mass = "0 kg"',
            ("harvests",),
            "note",
        )


def _whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _limbs(tree: Mapping[str, Any]) -> Iterator[Doubt]:
    """Limbs that are thicker than their trunk."""
    limbs, trunk = tree.get("limbs"), tree.get("trunk_girth")
    if not isinstance(limbs, list) or trunk is None:
        return
    try:
        girths, around = [parse(one, "branch") for one in limbs], parse(trunk, "girth")
    except BadInput:
        return  # told by the models
    if girths and max(girths) > around:
        yield Doubt(
            "a limb is thicker than the trunk",
            "both are girths, measured round with a string: is trunk_girth a diameter?",
            ("limbs",),
            "warning",
        )
