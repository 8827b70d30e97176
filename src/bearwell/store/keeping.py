"""The store as the use cases see it: opened, read as a garden, recorded into, undone."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Final

import sqlalchemy as sa
from sqlalchemy import Connection

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.garden.lines import titled
from bearwell.knowledge import Knowledge
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.backup import before_migration
from bearwell.store.database import Database, add_entries, read_entries
from bearwell.store.entries import Draft, Entry, Stamp, live, to_json, undone
from bearwell.store.fold import Folded, fold
from bearwell.store.places import is_store, is_url
from bearwell.store.reading import StoredGarden, errors_of, stored_garden
from bearwell.store.schema import ENTRY

TREE: Final = "tree"
_FEW: Final = 5  # trees looked at by themselves; for more of them the whole garden is
# What can be stated of one tree without looking at another.
_ALONE: Final = (
    say.STATE, say.WITHDRAW, say.ROW, say.RECORD, say.STRIKE, say.PHOTO, say.SKIP, say.POSTPONE, say.CLOSE, say.UNDO,
)  # fmt: skip


@dataclass(frozen=True)
class Recorded:
    """What came of recording: under which id, whether it was there already, and what is doubtful."""

    id: str
    repeated: bool = False
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Told:
    """One entry of the history and whether it holds."""

    entry: Entry
    undone_by: str = ""

    @property
    def holds(self) -> bool:
        """Whether it was not undone."""
        return not self.undone_by


@dataclass(frozen=True)
class Said:
    """What was recorded in one go: its first entries, oldest first, and how many there are in all."""

    id: str
    count: int
    entries: tuple[Told, ...]


class Store:
    """A grower's records, open. Close it, or use it in a ``with``."""

    def __init__(self, where: str | Path, database: Database, folder: Path | None) -> None:
        self.place = str(where)
        self.database = database
        self.folder = folder
        self._seen: tuple[tuple[int, int, str], Folded] | None = None

    @property
    def where(self) -> str:
        """What messages call it; never with a password."""
        return self.database.where

    @property
    def path(self) -> Path:
        """A path that stands for it: its folder, or a name where it has none."""
        return self.folder or Path(self.where)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self.database.close()

    def mark(self) -> tuple[int, int, str]:
        """What changes whenever something was recorded."""
        with self.database.reading() as connection:
            return _mark(connection)

    def folded(self) -> Folded:
        """The garden as it stands and what stands beside it."""
        with self.database.reading() as connection:
            mark = _mark(connection)
            if self._seen is None or self._seen[0] != mark:
                self._seen = mark, fold(read_entries(connection))
            return self._seen[1]

    def garden(self, book: Knowledge, today: date) -> StoredGarden:
        """Everything that a plan is made from; raises BadFile when the records do not make a garden."""
        folded = self.folded()
        if not folded.raw:
            raise BadInput(
                said("{where}: no garden is kept here yet", where=self.where),
                "bearwell import GARDEN.toml --data ... begins one",
            )
        return stored_garden(folded, self.database.files, self.where, self.path, book, today)

    def garden_id(self) -> str:
        """The id of the garden that is kept here: that of its first record, so it never changes.

        It goes with the records into a backup and back; empty while no garden is kept. A garden file taken
        in anew begins another garden.
        """
        with self.database.reading() as connection:
            asked = sa.select(ENTRY.c.garden).order_by(ENTRY.c.seq).limit(1)
            return str(connection.scalar(asked) or "")

    def timezone(self) -> str:
        """The time zone the garden names; empty where it names none."""
        about_site = sa.or_(ENTRY.c.subject == "site", ENTRY.c.kind == say.UNDO)
        with self.database.reading() as connection:
            site = fold(read_entries(connection, about_site)).raw.get("site")
        found = site.get("timezone", "") if isinstance(site, dict) else ""
        return found if isinstance(found, str) else ""

    def history(self, subject: str = "", named: str = "") -> list[Told]:
        """What was recorded, newest first: of everything, or of one tree, bag or site."""
        with self.database.reading() as connection:
            every = read_entries(connection)
        dead = undone(every)
        wanted: set[str] = set()
        told = []
        for entry in every:
            about = _about(entry, subject, named)
            if about or (entry.kind == say.UNDO and entry.undoes in wanted):
                wanted.add(entry.action)
                told.append(Told(entry, dead.get(entry.action, "")))
        return told[::-1]

    def recent(
        self, subject: str = "", named: str = "", *, last: int = 60, most: int = 9
    ) -> list[Said]:
        """The ``last`` things recorded, newest first, of each no more than ``most`` entries.

        Of everything, or of one tree, bag or site. It reads no more than it tells, however long the history.
        """
        about = _about_row(subject, named)
        newest = sa.func.max(ENTRY.c.seq)
        asked = (
            sa.select(ENTRY.c.action, sa.func.count(), newest)
            .where(about)
            .group_by(ENTRY.c.action)
            .order_by(newest.desc())
            .limit(last)
        )
        with self.database.reading() as connection:
            counts = {str(row[0]): int(row[1]) for row in connection.execute(asked)}
            dead = undone(read_entries(connection, ENTRY.c.kind == say.UNDO))
            few = [action for action, count in counts.items() if count <= most]
            found = read_entries(connection, about, ENTRY.c.action.in_(few))
            for action in counts.keys() - set(few):
                found += read_entries(connection, about, ENTRY.c.action == action, limit=most)
        entries: dict[str, list[Told]] = {action: [] for action in counts}
        for entry in found:
            entries[entry.action].append(Told(entry, dead.get(entry.action, "")))
        return [Said(action, count, tuple(entries[action])) for action, count in counts.items()]

    def said(self, record: str) -> Said | None:
        """What was recorded under this id, whole; nothing where there is none."""
        with self.database.reading() as connection:
            dead = undone(read_entries(connection, ENTRY.c.kind == say.UNDO))
            found = read_entries(connection, ENTRY.c.action == record)
        entries = tuple(Told(entry, dead.get(record, "")) for entry in found)
        return Said(record, len(entries), entries) if entries else None

    def knows(self, record: str) -> bool:
        """Whether something was recorded under this id already."""
        with self.database.reading() as connection:
            asked = sa.select(ENTRY.c.seq).where(ENTRY.c.action == record).limit(1)
            return connection.scalar(asked) is not None

    def action(self, beginning: str) -> str:
        """The id of the action that begins so; BadInput when none does, or several."""
        text = beginning.strip().lower()
        with self.database.reading() as connection:
            # Ids hold no wildcards: only letters, figures and hyphens are let through.
            plain = "".join(sign for sign in text if sign.isalnum() or sign == "-")
            asked = sa.select(ENTRY.c.action).where(ENTRY.c.action.like(f"{plain}%")).distinct()
            found = [str(one) for one in connection.scalars(asked.limit(5))]
        if not plain or plain != text or not found:
            raise BadInput(
                said("no record '{id}'", id=beginning),
                "bearwell history lists the ids",
            )
        if len(found) > 1:
            raise BadInput(
                said("several records begin with '{beginning}'", beginning=beginning),
                "give more letters of the id",
            )
        return found[0]

    def record(
        self, stamp: Stamp, drafts: Sequence[Draft], book: Knowledge, today: date
    ) -> Recorded:
        """Record something in one go; what would make the garden wrong is refused and nothing is kept.

        Sent a second time under the same id it changes nothing.
        """
        return self.record_from(stamp, lambda _: list(drafts), book, today)

    def record_from(
        self,
        stamp: Stamp,
        decide: Callable[[Folded], Iterable[Draft]],
        book: Knowledge,
        today: date,
        *,
        trees: Sequence[str] | None = None,
    ) -> Recorded:
        """The same, where what is written depends on what stands there when the turn to write has come.

        ``trees`` are those that ``decide`` looks at; None shows it the whole garden.
        """
        with self.database.writing() as connection:
            if _known(connection, stamp):
                return Recorded(stamp.id, repeated=True)
            seen = None if trees is None else set(trees)
            before = _relevant(connection, seen)
            drafts = list(decide(fold(before)))
            needed = _trees_alone(drafts)
            if needed != seen and seen is not None:
                before = _relevant(connection, needed)
            doubts = self._check(before, drafts, book, today)
            garden = before[0].garden if before else stamp.id
            add_entries(connection, stamp, garden, drafts)
        return Recorded(stamp.id, problems=tuple(doubts))

    def undo(self, stamp: Stamp, action: str, book: Knowledge, today: date) -> Recorded:
        """Undo what was recorded in one go; undoing an undo brings it back."""
        with self.database.writing() as connection:
            if _known(connection, stamp):
                return Recorded(stamp.id, repeated=True)
            target = read_entries(connection, ENTRY.c.action == action)
            if not target:
                raise BadInput(
                    said("no record '{id}'", id=action), "bearwell history lists the ids"
                )
            undos = read_entries(connection, ENTRY.c.kind == say.UNDO)
            if action in undone(undos):
                raise BadInput("this was undone already", "undo the undoing to bring it back")
            first = target[0]
            draft = Draft(first.subject, first.named, say.UNDO, {}, undoes=action)
            effects = target if first.kind != say.UNDO else _undone_by(connection, target)
            self._check_undo(connection, draft, effects)
            before = _relevant(connection, _trees_alone([draft, *effects]))
            doubts = self._check(before, [draft], book, today)
            add_entries(connection, stamp, first.garden, [draft])
        return Recorded(stamp.id, problems=tuple(doubts))

    def _check_undo(self, connection: Connection, draft: Draft, effects: Sequence[Entry]) -> None:
        """Refuse to undo the description of something about which more was recorded since."""
        for entry in effects:
            if entry.kind != say.DESCRIBE:
                continue
            others = read_entries(
                connection,
                sa.or_(
                    ENTRY.c.kind == say.UNDO,
                    sa.and_(ENTRY.c.subject == entry.subject, ENTRY.c.named == entry.named),
                ),
            )
            later = [
                one for one in live(others) if one.action != entry.action and one.seq > entry.seq
            ]
            if later and draft.undoes == entry.action:
                raise BadInput(
                    said(
                        "{title} cannot be undone: more was recorded about it since",
                        title=titled(entry.subject, entry.named),
                    ),
                    "undo that first; bearwell history lists it",
                )

    def _check(
        self,
        before: Sequence[Entry],
        drafts: Sequence[Draft],
        book: Knowledge,
        today: date,
    ) -> list[Problem]:
        """Refuse what would make the garden wrong where it was not; what is newly doubtful comes back."""
        last = before[-1].seq if before else 0
        written = [_as_entry(draft, last + 1 + at) for at, draft in enumerate(drafts)]
        where, files = self.where, self.database.files
        old, new = fold(before), fold([*before, *written])
        if old.raw and not new.raw:
            raise BadInput(
                "undoing this would leave no garden",
                "bearwell import --update changes what it says",
            )
        errors, doubts = errors_of(new, files, where, self.path, book, today)
        if errors or doubts:
            # Of a part of the garden some complaints are only that the rest is not there.
            known_errors, known_doubts = errors_of(old, files, where, self.path, book, today)
            errors = [one for one in errors if one not in known_errors or not before]
            doubts = [one for one in doubts if one not in known_doubts]
        if errors:
            raise BadFile(errors)
        return doubts


def _about_row(subject: str, named: str) -> sa.ColumnElement[bool]:
    """The same as :func:`_about`, asked of the database."""
    if not subject:
        return sa.true()
    own = ENTRY.c.subject == subject
    if not named:
        return own
    own = sa.and_(own, ENTRY.c.named == named)
    if subject != TREE:
        return own
    decided = ENTRY.c.named.startswith(f"{named}/", autoescape=True)
    return sa.or_(own, sa.and_(ENTRY.c.subject == say.ADVICE, decided))


def _about(entry: Entry, subject: str, named: str) -> bool:
    """Whether an entry speaks of something, or of an advice for it when it is a tree."""
    if entry.subject == say.ADVICE and subject == TREE and named:
        return entry.named.split("/", 1)[0] == named
    return subject in ("", entry.subject) and named in ("", entry.named)


def _mark(connection: Connection) -> tuple[int, int, str]:
    asked = sa.select(ENTRY.c.seq, ENTRY.c.id).order_by(ENTRY.c.seq.desc()).limit(1)
    last = connection.execute(asked).first()
    first = connection.scalar(sa.select(sa.func.min(ENTRY.c.seq)))
    return (first or 0, last[0], last[1]) if last else (0, 0, "")


def _known(connection: Connection, stamp: Stamp) -> bool:
    asked = sa.select(ENTRY.c.seq).where(ENTRY.c.action == stamp.id).limit(1)
    return connection.scalar(asked) is not None


def _undone_by(connection: Connection, target: Sequence[Entry]) -> list[Entry]:
    """What an undo had undone, through undos of undos, down to the entries themselves."""
    found = list(target)
    while found and found[0].kind == say.UNDO:
        found = read_entries(connection, ENTRY.c.action == found[0].undoes)
    return found


def _relevant(connection: Connection, trees: set[str] | None) -> list[Entry]:
    """The entries of the garden with these trees only; of everything when no trees are named."""
    if trees is None:
        return read_entries(connection)
    return read_entries(
        connection,
        sa.or_(
            # Each of these is looked up in an index; "not a tree" could not be.
            ENTRY.c.kind == say.UNDO,
            ENTRY.c.subject < TREE,
            ENTRY.c.subject > TREE,
            sa.and_(ENTRY.c.subject == TREE, ENTRY.c.named.in_(sorted(trees))),
        ),
    )


def _trees_alone(about: Sequence[Draft | Entry]) -> set[str] | None:
    """The trees that entries speak of, when looking at those few is enough; else None."""
    trees = {one.named for one in about if one.subject == TREE}
    alone = all(one.kind in _ALONE and one.subject != "kind" for one in about)
    return trees if alone and len(trees) <= _FEW else None


def _as_entry(draft: Draft, seq: int) -> Entry:
    """A draft as it would be read back."""
    return Entry(
        seq, f"?{seq}", "?", "", draft.subject, draft.named, draft.kind, draft.key, draft.day, "", "",
        say.from_json(to_json(draft.payload)), draft.replaces, draft.undoes,
    )  # fmt: skip


def open_store(where: str | Path, *, read_only: bool = False, create: bool = False) -> Store:
    """Open the store in a data folder or at a database address.

    A store in an older form is backed up and brought to the newest; one from a newer bearwell is refused
    untouched. ``create`` begins a new one where there is none. Raises BadInput where there is no store.
    """
    folder = None if is_url(where) else Path(where)
    if folder is not None and not is_store(folder):
        if not create:
            raise BadInput(
                said("{where}: no garden is kept here yet", where=folder),
                said("bearwell import GARDEN.toml --data {folder} begins one", folder=folder),
            )
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise BadInput(
                said(
                    "{path}: cannot be made: {reason}",
                    path=folder,
                    reason=(error.strerror or str(error)).lower(),
                ),
                "name a folder that you may write to",
            ) from None
    if folder is not None and not os.access(folder, os.W_OK):
        read_only = True  # what may not be written to can still be read
    database = Database(where, read_only=read_only)
    store = Store(where, database, folder)
    try:
        database.upgrade(
            create=create,
            before=lambda connection, form: before_migration(connection, form, folder),
        )
    except BaseException:
        store.close()
        raise
    return store


__all__ = ["Recorded", "Said", "Store", "Told", "is_store", "open_store"]
