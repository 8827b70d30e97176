"""The database under the store: opened, brought to the newest form, read, and added to."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy import Connection, Engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from bearwell.errors import BadInput, BearwellError
from bearwell.said import said
from bearwell.store.entries import Draft, Entry, Stamp, entry_id, from_json, to_json
from bearwell.store.files import Files, FolderFiles, TableFiles
from bearwell.store.places import DATABASE, KEPT_FILES, is_url
from bearwell.store.schema import ENTRY, HEAD, REVISIONS, VERSION_TABLE

PATIENCE: Final = 15.0  # seconds that a writer waits for another
# Any number will do, as long as every writer to the same database takes the same.
_TURN: Final = 7_210_365
COLUMNS: Final = tuple(ENTRY.columns)


def engine_for(where: str | Path, *, read_only: bool) -> Engine:
    """An engine for a data folder or a database address, with our manners set on every connection."""
    if is_url(where):
        return _postgresql(str(where))
    return _sqlite(Path(where) / DATABASE, read_only=read_only)


def _sqlite(file: Path, *, read_only: bool) -> Engine:
    address = f"file:{quote(str(file.absolute()))}"
    if read_only:
        # In a folder that cannot be written to there is nobody else either, so nothing needs a lock.
        frozen = not os.access(file.parent, os.W_OK) and not Path(f"{file}-wal").exists()
        address += "?mode=ro" + ("&immutable=1" if frozen else "")

    def connect() -> sqlite3.Connection:
        made = sqlite3.connect(
            address, uri=True, timeout=PATIENCE, check_same_thread=False, isolation_level=None
        )
        if not read_only:
            made.execute("PRAGMA journal_mode=WAL")
            made.execute("PRAGMA synchronous=FULL")
        return made

    engine = sa.create_engine("sqlite://", creator=connect, poolclass=sa.QueuePool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A writer takes its turn at once, so that what it reads first still holds when it writes.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _postgresql(url: str) -> Engine:
    made = sa.make_url(url)
    if made.get_backend_name() != "postgresql":
        raise BadInput(
            said(
                "{name} is not a database that bearwell keeps records in",
                name=made.get_backend_name(),
            ),
            "a folder, or an address such as postgresql://user@host/name",
        )
    try:
        return sa.create_engine(
            made.set(drivername="postgresql+psycopg"), isolation_level="REPEATABLE READ"
        )
    except ModuleNotFoundError:
        raise BearwellError(
            "PostgreSQL needs the package psycopg", 'pip install "bearwell[postgresql]"'
        ) from None


def named_plainly(where: str | Path) -> str:
    """How a store is called in messages: never with a password."""
    if is_url(where):
        return sa.make_url(str(where)).render_as_string(hide_password=True)
    return str(where)


@contextmanager
def told_plainly(where: str) -> Iterator[None]:
    """Turn what a database driver complains of into a refusal a grower can act on."""
    try:
        yield
    except DBAPIError as error:
        reason = str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else "no reason"
        low = reason.lower()
        hint = "nothing was recorded"
        if "disk" in low or "full" in low or "no space" in low:
            hint = "nothing was recorded; make room on the disk"
        elif "locked" in low or "busy" in low or "timeout" in low:
            hint = "another program is writing; nothing was recorded, try again"
        elif "not a database" in low or "malformed" in low:
            hint = "restore it from a backup: bearwell restore"
        elif "readonly" in low or "read-only" in low:
            hint = "nothing was recorded: the folder or file may not be written to"
        elif "connect" in low or "resolve" in low:
            hint = "is the server running, and are address, name and password right?"
        raise BearwellError(f"{where}: {reason}", hint) from None
    except SQLAlchemyError as error:
        raise BearwellError(f"{where}: {str(error).splitlines()[0]}") from None


def revision_of(connection: Connection) -> str | None:
    """Which form the tables have; nothing where there are none."""
    if not sa.inspect(connection).has_table(VERSION_TABLE):
        return None
    found = connection.execute(sa.text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()  # noqa: S608
    return None if found is None else str(found)


def migrate(connection: Connection, to: str = HEAD) -> None:
    """Take the tables to a form, inside the transaction under way."""
    from alembic import command
    from alembic.config import Config

    settings = Config()
    settings.set_main_option("script_location", "bearwell.store:migrations")
    settings.attributes["connection"] = connection
    command.upgrade(settings, to)


class Database:
    """The history in its database. Reading sees one moment; writers take turns."""

    def __init__(self, where: str | Path, *, read_only: bool = False) -> None:
        self.where = named_plainly(where)
        self.read_only = read_only
        self.engine = engine_for(where, read_only=read_only)
        self.files: Files = (
            TableFiles(self.engine, self.where)
            if is_url(where)
            else FolderFiles(Path(where) / KEPT_FILES)
        )

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A moment of the history."""
        with told_plainly(self.where), self.engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A turn to write: all of it is kept, or nothing."""
        if self.read_only:
            raise BadInput(
                said("{where} was opened read only", where=self.where),
                "leave out --read-only to record",
            )
        with told_plainly(self.where), self.engine.connect() as connection:
            if self.engine.dialect.name == "postgresql":
                # READ COMMITTED, so that after waiting for its turn a writer sees what came before it.
                connection = connection.execution_options(isolation_level="READ COMMITTED")
            connection = connection.execution_options(writes=True)
            with connection.begin():
                if self.engine.dialect.name == "postgresql":
                    connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_TURN)))
                yield connection

    def upgrade(self, *, create: bool, before: Callable[[Connection, str], object]) -> None:
        """Bring the tables to the newest form.

        ``before`` is called with the old form ahead of any change to a store that has one. A form from
        a newer program is refused and nothing is touched.
        """
        with self.reading() as connection:
            found = revision_of(connection)
        if found == HEAD:
            return
        self._refuse_newer(found)
        if found is None and not create:
            raise BadInput(
                said("{where}: no garden is kept here yet", where=self.where),
                "bearwell import GARDEN.toml --data ... begins one",
            )
        if self.read_only:
            raise BadInput(
                said("{where} is in an older form and was opened read only", where=self.where),
                "open it once without --read-only: it is backed up first",
            )
        with self.writing() as connection:
            found = revision_of(connection)  # another program may have been quicker
            if found == HEAD:
                return
            self._refuse_newer(found)
            if found is not None:
                before(connection, found)
            migrate(connection)

    def _refuse_newer(self, found: str | None) -> None:
        if found is not None and found not in REVISIONS:
            raise BearwellError(
                said(
                    "{where} was written by a newer bearwell (its form is {form}, this one knows up to "
                    "{newest}); nothing was touched",
                    where=self.where,
                    form=found,
                    newest=HEAD,
                ),
                "install the newer bearwell, or use the data it was backed up from",
            )


def read_entries(connection: Connection, *conditions: Any, limit: int | None = None) -> list[Entry]:
    """Entries in order, all of them or those that meet the conditions, or the first of them."""
    asked = sa.select(*COLUMNS).order_by(ENTRY.c.seq).limit(limit)
    if conditions:
        asked = asked.where(*conditions)
    return [
        Entry(
            row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8], row[9], row[10],
            from_json(row[11]), row[12], row[13],
        )
        for row in connection.execute(asked)
    ]  # fmt: skip


def add_entries(
    connection: Connection, stamp: Stamp, garden: str, drafts: Sequence[Draft]
) -> list[dict[str, Any]]:
    """Write drafts as the entries of one action."""
    rows = [
        {
            "id": entry_id(stamp.id, number),
            "action": stamp.id,
            "garden": garden,
            "subject": draft.subject,
            "named": draft.named,
            "kind": draft.kind,
            "key": draft.key,
            "day": draft.day,
            "recorded_at": stamp.at.isoformat(timespec="seconds"),
            "by": stamp.by,
            "payload": to_json(draft.payload),
            "replaces": draft.replaces,
            "undoes": draft.undoes,
        }
        for number, draft in enumerate(drafts)
    ]
    if rows:
        connection.execute(sa.insert(ENTRY), rows)
    return rows


__all__ = ["Database", "add_entries", "migrate", "read_entries", "revision_of"]
