"""The garden of a store, checked the way a garden file is: planners see no difference."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from bearwell.errors import BadFile, Problem
from bearwell.garden.counts import Pick
from bearwell.garden.file import GardenFile, named_files, read_garden
from bearwell.knowledge import Knowledge
from bearwell.plan.decisions import Decision
from bearwell.said import said
from bearwell.store.files import Files, FolderFiles
from bearwell.store.fold import Folded

KINDS_FOLDER: Final = "kinds/"


@dataclass(frozen=True)
class StoredGarden:
    """A garden as it follows from the records, the files it names, and what was decided about advice."""

    read: GardenFile
    decisions: tuple[Decision, ...]
    picks: tuple[Pick, ...]
    paths: Mapping[str, Path]


class _Contents(Mapping[str, bytes]):
    """The files of a store by name, each read when it is first asked for."""

    def __init__(self, files: Files, fingerprints: Mapping[str, str]) -> None:
        self._files, self._fingerprints = files, fingerprints

    def __getitem__(self, name: str) -> bytes:
        return self._files.get(self._fingerprints[name])

    def __iter__(self) -> Iterator[str]:
        return iter(self._fingerprints)

    def __len__(self) -> int:
        return len(self._fingerprints)

    def __contains__(self, name: object) -> bool:
        return name in self._fingerprints


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
            problems.append(
                Problem(name, said("cannot be read: {error}", error=error), "import it again")
            )
    problems += folded.problems(where)
    contents = _Contents(files, {name: kept.sha256 for name, kept in folded.files.items()})
    return read_garden(folder, raw, own, book, today, None, problems, where, contents)


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
    paths = {}
    if isinstance(files, FolderFiles):
        paths = {
            name: files.path(folded.files[name].sha256)
            for _, name in named_files(folded.raw)
            if name in folded.files
        }
    return StoredGarden(read, folded.decisions, folded.picks, paths)
