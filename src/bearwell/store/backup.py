"""One file that holds everything: the whole history, undone entries too, with every kept file and photo.

It is a zip archive: ``backup.json`` says what is in it, ``entries.jsonl`` has one entry a line as the
database held it, ``files/`` the kept files under the fingerprints of their content. The same file comes from
a folder and from a database server, and can be restored into either.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy import Connection

from bearwell import __version__
from bearwell.errors import BadInput, BearwellError
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.database import Database, migrate, read_entries
from bearwell.store.entries import from_json
from bearwell.store.files import FINGERPRINT, LARGEST_FILE, Files, fingerprint_of
from bearwell.store.fold import fold
from bearwell.store.places import BACKUPS, user_folder
from bearwell.store.schema import ENTRY, HEAD, REVISIONS
from bearwell.wholefile import whole_file

FORM: Final = 1
_ABOUT: Final = "backup.json"
_ENTRIES: Final = "entries.jsonl"
_NO_CLOCK: Final = (1980, 1, 1, 0, 0, 0)  # equal stores give equal backups, byte for byte
_LARGEST_HISTORY: Final = 2 * 1024**3


@dataclass(frozen=True)
class BackedUp:
    """What a backup holds."""

    file: Path
    entries: int
    files: int


def _rows(connection: Connection) -> Iterator[dict[str, Any]]:
    """Every entry as the database holds it, whatever form it is in."""
    found = connection.execute(sa.text(f"SELECT * FROM {ENTRY.name} ORDER BY seq"))  # noqa: S608
    for row in found.mappings():
        yield dict(row)


def _fingerprints(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """The files that entries name."""
    named = [
        from_json(row["payload"])["sha256"] for row in rows if row["kind"] in (say.FILE, say.PHOTO)
    ]
    return sorted(set(named))


def _member(name: str, kind: int) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _NO_CLOCK)
    info.compress_type = kind
    info.external_attr = 0o600 << 16
    return info


def write_backup(
    connection: Connection, files: Files | None, target: Path, form: str = HEAD
) -> BackedUp:
    """Write everything that one moment of the store holds into one file, whole or not at all."""
    rows = list(_rows(connection))
    lines = "".join(json.dumps(row, default=str, ensure_ascii=True) + "\n" for row in rows)
    content = lines.encode("ascii")
    named = _fingerprints(rows) if files is not None else []
    about = {
        "bearwell backup": FORM,
        "form": form,
        "written by": __version__,
        "entries": len(rows),
        "entries sha256": sha256(content).hexdigest(),
        "files": named if files is not None else None,
    }
    with whole_file(target) as part, zipfile.ZipFile(part, "w") as archive:
        archive.writestr(_member(_ABOUT, zipfile.ZIP_DEFLATED), json.dumps(about, indent=1))
        archive.writestr(_member(_ENTRIES, zipfile.ZIP_DEFLATED), content)
        for name in named:
            if files is not None:
                kept = files.get(name)
                archive.writestr(_member(f"files/{name}", zipfile.ZIP_DEFLATED), kept)
    return BackedUp(target, len(rows), len(named))


def back_up(database: Database, target: Path) -> BackedUp:
    """Write a backup; a file that is no backup of ours is not written over."""
    if target.is_dir():
        raise BadInput(
            said("{path}: is a folder", path=target),
            said("name a file in it, such as {file}", file=f"{target}/bearwell.zip"),
        )
    if target.exists() and not is_backup(target):
        raise BadInput(
            said("{path}: is another file, not a backup", path=target), "name a new file"
        )
    if not target.absolute().parent.is_dir():
        raise BadInput(said("{path}: there is no such folder", path=target.parent), "make it first")
    with database.reading() as connection:
        return write_backup(connection, database.files, target)


def spare(folder: Path | None, why: str) -> Path:
    """A new name for a backup made unasked, in the data folder, or the user's where there is none."""
    place = (folder or user_folder()) / BACKUPS
    place.mkdir(parents=True, exist_ok=True)
    number = 1
    while (place / f"{why}-{number}.zip").exists():
        number += 1
    return place / f"{why}-{number}.zip"


def before_migration(connection: Connection, form: str, folder: Path | None) -> BackedUp:
    """Back the history up ahead of a step to a newer form; kept files are not touched by it."""
    return write_backup(connection, None, spare(folder, f"before-form-{HEAD}"), form)


@dataclass(frozen=True)
class Backup:
    """A backup that was read and found whole."""

    file: Path
    form: str
    rows: tuple[dict[str, Any], ...]
    files: tuple[str, ...]
    complete: bool

    def content(self, fingerprint: str) -> bytes:
        """A kept file, checked against its fingerprint."""
        with zipfile.ZipFile(self.file) as archive:
            return _file_of(archive, fingerprint, self.file)


def _file_of(archive: zipfile.ZipFile, fingerprint: str, file: Path) -> bytes:
    name = f"files/{fingerprint}"
    if archive.getinfo(name).file_size > LARGEST_FILE:
        raise _damaged(file, said("{name} is too large", name=name))
    content = archive.read(name)
    if fingerprint_of(content) != fingerprint:
        raise _damaged(file, said("{name} does not match its fingerprint", name=name))
    return content


def _damaged(file: Path, why: str) -> BadInput:
    return BadInput(
        said("{file}: the backup is damaged: {why}", file=file, why=said(why)),
        "nothing was changed; take another",
    )


def is_backup(file: Path) -> bool:
    """Whether a file is a backup of ours, whole or not."""
    try:
        with zipfile.ZipFile(file) as archive:
            return _ABOUT in archive.namelist()
    except (OSError, zipfile.BadZipFile):
        return False


def read_backup(file: Path) -> Backup:
    """Read a backup and check all of it; refused when it is none, damaged, or from a newer bearwell."""
    if not file.is_file():
        raise BadInput(
            said("{path}: there is no such file", path=file), "give the path of a backup"
        )
    if not is_backup(file):
        raise BadInput(
            said("{file}: is not a backup of bearwell", file=file),
            "one is written by bearwell backup",
        )
    try:
        with zipfile.ZipFile(file) as archive:
            about = json.loads(archive.read(_ABOUT))
            if about["bearwell backup"] != FORM or about["form"] not in REVISIONS:
                raise BearwellError(
                    said(
                        "{file}: was written by a newer bearwell ({version})",
                        file=file,
                        version=about["written by"],
                    ),
                    "install it, or a newer one; nothing was changed",
                )
            if archive.getinfo(_ENTRIES).file_size > _LARGEST_HISTORY:
                raise _damaged(file, "its history is too large")
            content = archive.read(_ENTRIES)
            if sha256(content).hexdigest() != about["entries sha256"]:
                raise _damaged(file, "its history does not match its fingerprint")
            rows = tuple(json.loads(line) for line in content.splitlines())
            named = tuple(about["files"] or ())
            if not all(FINGERPRINT.fullmatch(name) for name in named):
                raise _damaged(file, "a file in it has no proper name")
            for name in named:
                _file_of(archive, name, file)
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, EOFError, OSError) as error:
        raise _damaged(file, str(error)) from None
    return Backup(file, about["form"], rows, named, about["files"] is not None)


def _at_head(backup: Backup) -> list[dict[str, Any]]:
    """The rows of a backup in the newest form: an older one goes through the steps in a spare database."""
    rows = list(backup.rows)
    if backup.form == HEAD:
        return rows
    engine = sa.create_engine("sqlite://")
    try:
        with engine.begin() as connection:
            migrate(connection, backup.form)
            old = sa.Table(ENTRY.name, sa.MetaData(), autoload_with=connection)
            if rows:
                connection.execute(sa.insert(old), [_typed(row) for row in rows])
            migrate(connection)
            return list(_rows(connection))
    finally:
        engine.dispose()


def _typed(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row of a backup with its day as a date."""
    day = row["day"]
    return {**row, "day": None if day is None else date.fromisoformat(str(day))}


@dataclass(frozen=True)
class Restored:
    """What a restore brought back, and where what it replaced was put."""

    entries: int
    files: int
    replaced: Path | None = None


def restore(database: Database, backup: Backup, folder: Path | None, *, replace: bool) -> Restored:
    """Bring a backup into a store that is empty, or in place of what it holds when told to.

    What is replaced is backed up first. All of it comes back, or nothing changes.
    """
    rows = [_typed(row) for row in _at_head(backup)]
    for name in backup.files:
        database.files.put(backup.content(name))
    aside = None
    with database.writing() as connection:
        if connection.scalar(sa.select(sa.func.count()).select_from(ENTRY)):
            if not replace:
                raise BadInput(
                    said("{where}: holds records already", where=database.where),
                    "restore into a new folder, or say --replace: what is there is backed up first",
                )
            aside = spare(folder, "before-restore")
            write_backup(connection, database.files, aside)
            connection.execute(sa.delete(ENTRY))
        if rows:
            connection.execute(sa.insert(ENTRY), rows)
        if connection.dialect.name == "postgresql":
            _count_on(connection)
        try:
            folded = fold(read_entries(connection))
        except (KeyError, ValueError, TypeError) as error:
            raise _damaged(
                backup.file, said("its history cannot be read: {error}", error=error)
            ) from None
        named = [one.sha256 for one in folded.files.values()]
        for fingerprint in [*named, *(photo.sha256 for photo in folded.photos)]:
            database.files.get(fingerprint)
    return Restored(len(rows), len(backup.files), aside)


def _count_on(connection: Connection) -> None:
    """Let the server count new entries on from the last one that came back."""
    counter = f"pg_get_serial_sequence('{ENTRY.name}', 'seq')"
    highest = f"(SELECT COALESCE(MAX(seq), 0) + 1 FROM {ENTRY.name})"  # noqa: S608
    connection.execute(sa.text(f"SELECT setval({counter}, {highest}, false)"))
