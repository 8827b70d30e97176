"""The store as a whole: a garden file taken in, everything taken out, a backup made and brought back."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from bearwell.api.gardens import open_garden
from bearwell.api.records import open_store
from bearwell.errors import Problem
from bearwell.knowledge import knowledge
from bearwell.said import said
from bearwell.store.entries import Stamp

if TYPE_CHECKING:
    from bearwell.store.backup import BackedUp, Restored
    from bearwell.store.exchange import Exported
    from bearwell.store.keeping import Recorded, Store


def import_garden(
    store: Store, stamp: Stamp, today: date, *, path: Path, update: bool = False
) -> Recorded:
    """Take a garden file with its weather and own kinds into the store; ``update`` records what has changed.

    A file with any error is refused with all of them, and the store stays as it is.
    """
    from bearwell.store.exchange import read_parcel, take_in

    opened = open_garden(path, today)
    parcel = read_parcel(path)
    done = take_in(store, stamp, parcel, knowledge(), today, update=update)
    notes = [
        Problem(
            str(path),
            said(
                "weather file {name} lies outside the garden's folder and is kept as {kept}",
                name=name,
                kept=inside,
            ),
            severity="note",
        )
        for name, inside in parcel.renamed
    ]
    told = dict.fromkeys([*notes, *opened.problems])
    return type(done)(done.id, done.repeated, tuple(told))


def import_weather(store: Store, stamp: Stamp, today: date, *, path: Path) -> Recorded:
    """Keep a daily weather file in the store and read it from now on, in place of one of the same name."""
    from bearwell.store.exchange import keep_weather
    from bearwell.weather.readers import read_daily

    series = read_daily(path)
    done = keep_weather(store, stamp, path.name, path.read_bytes(), knowledge(), today)
    return type(done)(done.id, done.repeated, (*done.problems, *series.problems))


def export_garden(store: Store, out: Path) -> Exported:
    """Write everything into a new folder: garden file, weather, own kinds, photos, all records."""
    from bearwell.store.exchange import export

    return export(store, out)


def back_up(store: Store, target: Path) -> BackedUp:
    """Write everything the store holds, undone entries too, into one file."""
    from bearwell.store.backup import back_up as write

    return write(store.database, target)


def restore(backup: Path, where: str | Path, *, replace: bool = False) -> Restored:
    """Bring a backup into an empty store; with ``replace`` in place of what is there, backed up first."""
    from bearwell.store.backup import read_backup
    from bearwell.store.backup import restore as bring_back

    found = read_backup(backup)
    with open_store(where, create=True) as store:
        return bring_back(store.database, found, store.folder, replace=replace)
