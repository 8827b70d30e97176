"""The garden of a store, checked the way a garden file is: planners see no difference."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from bearwell.errors import BadFile, Problem
from bearwell.garden.file import GardenFile, read_garden
from bearwell.knowledge import Knowledge
from bearwell.plan.decisions import Decision
from bearwell.store.files import Files, FolderFiles
from bearwell.store.fold import Folded

KINDS_FOLDER: Final = "kinds/"


@dataclass(frozen=True)
class StoredGarden:
    """A garden as it follows from the records, its weather files, and what was decided about advice."""

    read: GardenFile
    weather: Mapping[str, bytes]
    decisions: tuple[Decision, ...]
    paths: Mapping[str, Path]


def garden_of(
    folded: Folded, files: Files, where: str, folder: Path, book: Knowledge, today: date
) -> GardenFile:
    """The garden of a fold; raises BadFile with every error found."""
    raw = dict(folded.raw)
    own: list[tuple[str, Mapping[str, Any]]] = []
    problems: list[Problem] = []
    kinds = raw.pop("kind", {})
    if kinds:
        own.append((where, kinds))
    for name, kept in sorted(folded.files.items()):
        if not name.startswith(KINDS_FOLDER):
            continue
        try:
            own.append((name, tomllib.loads(files.get(kept.sha256).decode("utf-8-sig"))))
        except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            problems.append(Problem(name, f"cannot be read: {error}", "import it again"))
    problems += folded.problems(where)
    return read_garden(folder, raw, own, book, today, None, problems, where)


def errors_of(
    folded: Folded, files: Files, where: str, folder: Path, book: Knowledge, today: date
) -> tuple[list[Problem], list[Problem]]:
    """What is wrong with the garden of a fold: errors, and what is only doubtful."""
    try:
        found = list(garden_of(folded, files, where, folder, book, today).problems)
    except BadFile as error:
        found = error.problems
    errors = [problem for problem in found if problem.severity == "error"]
    return errors, [problem for problem in found if problem.severity != "error"]


def stored_garden(
    folded: Folded, files: Files, where: str, folder: Path, book: Knowledge, today: date
) -> StoredGarden:
    """Everything that a plan is made from."""
    read = garden_of(folded, files, where, folder, book, today)
    named = {
        name: folded.files[name].sha256
        for name in read.garden.weather.daily
        if name in folded.files
    }
    weather = {name: files.get(fingerprint) for name, fingerprint in named.items()}
    paths = {}
    if isinstance(files, FolderFiles):
        paths = {name: files.path(fingerprint) for name, fingerprint in named.items()}
    return StoredGarden(read, weather, folded.decisions, paths)
