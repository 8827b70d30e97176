"""Between garden files and the store: taking a file in, and leaving with everything."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import tempfile
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any, Final

from bearwell.errors import BadInput, BearwellError
from bearwell.garden.file import named_files
from bearwell.knowledge import Knowledge
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.entries import FILES, Draft, Stamp, to_json
from bearwell.store.files import ENDINGS, LARGEST_FILE
from bearwell.store.fold import DONE, ON_HAND, PRODUCT, Folded, Photo
from bearwell.store.keeping import Recorded, Store
from bearwell.store.parts import changes, taken_apart
from bearwell.store.reading import KINDS_FOLDER
from bearwell.store.written import toml_text
from bearwell.wholefile import sync_folder

GARDEN_FILE: Final = "garden.toml"
RECORDS: Final = "records.csv"
# What a spreadsheet would take for a formula at the head of a cell.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
_HEAD: Final = """\
# Written by bearwell from the records: the garden as it stands. Whatever was undone, and every earlier measure, is
# in records.csv beside this file.

"""


@dataclass(frozen=True)
class Parcel:
    """A garden file as it is to be taken in: what it says, and the files it names."""

    raw: Mapping[str, Any]
    files: Mapping[str, bytes]
    renamed: tuple[tuple[str, str], ...] = ()


def read_parcel(path: Path) -> Parcel:
    """A garden file with the files it names and own kinds, which the caller has found in order.

    A file outside the folder of the garden file gets a name inside it, as it will be kept here.
    """
    raw = tomllib.loads(path.read_text("utf-8-sig"))
    files: dict[str, bytes] = {}
    renamed = []
    for at, name in named_files(raw):
        content = _content(path.parent / name)
        inside = _inside(name, files, content)
        if inside != name:
            renamed.append((name, inside))
        files[inside] = content
        holder: Any = raw
        for key in at[:-1]:
            holder = holder[key]
        holder[at[-1]] = inside
    folder = path.parent / KINDS_FOLDER
    for file in sorted(folder.glob("*.toml")) if folder.is_dir() else ():
        files[KINDS_FOLDER + file.name] = _content(file)
    return Parcel(raw, files, tuple(renamed))


def _content(file: Path) -> bytes:
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise BadInput(
                said("{path}: is too large to keep", path=file),
                "cut it to one station, or pack it with gzip",
            )
        return file.read_bytes()
    except OSError as error:
        raise BadInput(
            said(
                "{path}: cannot be read: {reason}",
                path=file,
                reason=(error.strerror or str(error)).lower(),
            )
        ) from None


def _inside(name: str, taken: Mapping[str, bytes], content: bytes) -> str:
    """A name for a weather file that stays within a folder, and is not that of another file."""
    plain = PurePosixPath(name.replace("\\", "/"))
    odd = plain.is_absolute() or ".." in plain.parts or ":" in name or name.startswith("~")
    inside = f"weather/{plain.name}" if odd or "\\" in name else name
    if inside.startswith(KINDS_FOLDER) or inside in (GARDEN_FILE, RECORDS):
        inside = f"weather/{plain.name}"
    stem, dot, ending = inside.rpartition(".")
    number = 2
    while taken.get(inside, content) != content:
        inside = f"{stem}-{number}{dot}{ending}" if dot else f"{ending}-{number}"
        number += 1
    return inside


def take_in(
    store: Store, stamp: Stamp, parcel: Parcel, book: Knowledge, today: date, *, update: bool
) -> Recorded:
    """Take a garden file into the store: the first one whole, with ``update`` what has changed since.

    Nothing is taken away without a trace: what the file no longer says stays in the history.
    """
    kept = {name: store.database.files.put(content) for name, content in parcel.files.items()}

    def decide(folded: Folded) -> Iterator[Draft]:
        if folded.raw and not update:
            raise BadInput(
                said("{where}: holds a garden already", where=store.where),
                "say --update to record what has changed, or name another --data",
            )
        for name in folded.files:
            if name not in kept:
                yield Draft(FILES, name, say.REMOVE)
        for name, fingerprint in kept.items():
            known = folded.files.get(name)
            if known is None or known.sha256 != fingerprint:
                size = len(parcel.files[name])
                yield Draft(FILES, name, say.FILE, {"sha256": fingerprint, "size": size})
        if not folded.raw:
            yield from taken_apart(parcel.raw)
            return
        struck = False
        for draft in changes(folded, parcel.raw):
            struck = struck or (draft.kind == say.STRIKE and draft.key == DONE)
            yield draft
        if struck:
            # A dose that no longer counts would fill the bag again: the file's own figure holds.
            yield from _weights(parcel.raw)

    return store.record_from(stamp, decide, book, today)


def _weights(raw: Mapping[str, Any]) -> Iterator[Draft]:
    for bag in raw.get(PRODUCT, ()):
        if ON_HAND in bag:
            yield Draft(PRODUCT, bag["id"], say.STATE, {ON_HAND: bag[ON_HAND]})


def keep_weather(
    store: Store, stamp: Stamp, name: str, content: bytes, book: Knowledge, today: date
) -> Recorded:
    """Keep a daily weather file, in place of an older one of its name, and read it from now on."""
    inside = _inside(name, {}, content)
    fingerprint = store.database.files.put(content)

    def decide(folded: Folded) -> Iterator[Draft]:
        weather = folded.raw.get("weather", {})
        named = list(weather.get("daily", ()))
        # Given by its bare name it stands for the file of that name, wherever that is kept.
        same = [one for one in named if PurePosixPath(one).name == inside]
        place = same[0] if len(same) == 1 else inside
        yield Draft(FILES, place, say.FILE, {"sha256": fingerprint, "size": len(content)})
        if place not in named:
            kind = say.STATE if "weather" in folded.raw else say.DESCRIBE
            yield Draft("weather", "", kind, {"daily": [*named, place]})

    return store.record_from(stamp, decide, book, today)


# ---------------------------------------------------------------- leaving


@dataclass(frozen=True)
class Exported:
    """What was written, and where."""

    folder: Path
    files: tuple[str, ...]


def export(store: Store, out: Path) -> Exported:
    """Write everything into a new folder, which appears whole or not at all.

    It holds the garden file, the weather files as they came, own kinds, photos, and ``records.csv`` with
    every entry there ever was. Raises BadInput when the folder is there and is not empty.
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise BadInput(
            said("{path}: is there already", path=out), "name a new folder: nothing is written over"
        )
    folded = store.folded()
    if not folded.raw:
        raise BadInput(
            said("{where}: no garden is kept here yet", where=store.where),
            "bearwell import begins one",
        )
    parent = out.absolute().parent
    written = []
    try:
        parent.mkdir(parents=True, exist_ok=True)
        part = Path(tempfile.mkdtemp(dir=parent, prefix=f".{out.name[:40]}."))
    except OSError as error:
        raise BadInput(
            said(
                "{path}: cannot be made: {reason}",
                path=out,
                reason=(error.strerror or str(error)).lower(),
            ),
            "name another folder",
        ) from None
    try:
        for name, content in _contents(store, folded):
            place = part / name
            place.parent.mkdir(parents=True, exist_ok=True)
            with place.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            written.append(name)
        part.chmod(0o755)
        if out.exists():
            out.rmdir()
        part.replace(out)
        sync_folder(parent)
    except OSError as error:
        raise BearwellError(
            said(
                "{place}: cannot be written: {reason}",
                place=out,
                reason=(error.strerror or str(error)).lower(),
            ),
            "nothing was written; is the disk full?",
        ) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Exported(out, tuple(written))


def _contents(store: Store, folded: Folded) -> Iterator[tuple[str, bytes]]:
    """Every file of an export with its content."""
    files = store.database.files
    yield GARDEN_FILE, (_HEAD + toml_text(folded.raw)).encode()
    for name, kept in sorted(folded.files.items()):
        yield _within(name), files.get(kept.sha256)
    yield RECORDS, records_csv(store).encode()
    for photo in folded.photos:
        yield f"photos/{_photo_name(photo)}", files.get(photo.sha256)


def _within(name: str) -> str:
    """A file's name, when it stays within a folder: a backup may have been written by anyone."""
    plain = PurePosixPath(name)
    if not name or plain.is_absolute() or ".." in plain.parts or "\\" in name or ":" in name:
        raise BearwellError(
            said("a kept file has a name that leads out of its folder: {name!r}", name=name),
            "nothing was written",
        )
    return name


def _photo_name(photo: Photo) -> str:
    day = photo.day.isoformat() if photo.day else "undated"
    what = re.sub(r"[^\w.-]", "-", photo.named or photo.subject).lstrip(".")
    return f"{day}-{what}-{photo.action[:8]}{ENDINGS[photo.media]}"


_COLUMNS: Final = (
    "number", "record", "subject", "named", "what", "key", "day", "recorded_at", "by", "holds", "undoes", "content",
)  # fmt: skip


def records_csv(store: Store) -> str:
    """Every entry there ever was as a table, oldest first, safe to open in a spreadsheet."""
    out = io.StringIO(newline="")
    table = csv.writer(out)
    table.writerow(_COLUMNS)
    for told in reversed(store.history()):
        one = told.entry
        table.writerow(
            guarded(cell)
            for cell in (
                str(one.seq), one.action, one.subject, one.named, one.kind, one.key,
                one.day.isoformat() if one.day else "", one.recorded_at, one.by,
                "yes" if told.holds else "no", one.undoes, to_json(one.payload),
            )
        )  # fmt: skip
    return out.getvalue()


def guarded(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell.startswith(_FORMULA) else cell


__all__ = [
    "Exported", "Parcel", "export", "guarded", "keep_weather", "read_parcel", "take_in",
]  # fmt: skip
