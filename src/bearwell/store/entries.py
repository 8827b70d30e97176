"""One entry of the history, how its content is written down, and which entries still hold."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, Final
from uuid import UUID, uuid5

from bearwell.errors import BadInput
from bearwell.said import said

# What an entry can say. The first three describe, the next two list, the rest stand beside the garden.
DESCRIBE: Final = "describe"  # a tree, a bag, the site: everything of it that is not a list
STATE: Final = "state"  # some of its keys anew; with a day when it was measured on one
WITHDRAW: Final = "withdraw"  # some of its keys no longer said
ROW: Final = "row"  # a row of a list as a file had it
RECORD: Final = "record"  # a row of a list recorded as it happened: moves stock, adds to a harvest
STRIKE: Final = "strike"  # a row struck out
REMOVE: Final = "remove"  # a tree or bag that is gone, with its rows
ORDER: Final = "order"  # the order in which trees or bags are listed
FILE: Final = "file"  # a file kept whole: weather, kinds of the grower's own
PHOTO: Final = "photo"
SKIP: Final = "skip"
POSTPONE: Final = "postpone"
CLOSE: Final = "close"  # an advice carried out
UNDO: Final = "undo"
KINDS: Final = (
    DESCRIBE, STATE, WITHDRAW, ROW, RECORD, STRIKE, REMOVE, ORDER, FILE, PHOTO, SKIP, POSTPONE, CLOSE, UNDO,
)  # fmt: skip

ROOT: Final = "."  # the garden file itself, outside any table
ADVICE: Final = "advice"
FILES: Final = "files"


@dataclass(frozen=True, slots=True)
class Stamp:
    """Who records, when, and under which id: made by the face, as nothing below looks at a clock.

    The id is a UUID made where the record is made. Sent again, it is the same record and not a second one.
    """

    id: str
    at: datetime
    by: str = ""

    def __post_init__(self) -> None:
        try:
            plain = str(UUID(self.id))
        except ValueError:
            raise BadInput(
                said("'{id}' is not a record id", id=self.id),
                "a UUID, made where the record is made",
            ) from None
        object.__setattr__(self, "id", plain)
        if self.at.tzinfo is None:
            raise BadInput("the time of a record has no zone", "such as 2026-04-14T09:30:00+01:00")


@dataclass(frozen=True, slots=True)
class Draft:
    """What an entry will say, before it is stamped and numbered."""

    subject: str
    named: str
    kind: str
    payload: Mapping[str, Any] = field(default_factory=dict)
    key: str = ""
    day: date | None = None
    replaces: str = ""
    undoes: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the history. ``seq`` orders it; clocks may jump, so ``recorded_at`` is only told.

    ``action`` joins the entries that were recorded in one go, and is what an undo names in ``undoes``.
    ``replaces`` names the entry whose row this one strikes out.
    """

    seq: int
    id: str
    action: str
    garden: str
    subject: str
    named: str
    kind: str
    key: str
    day: date | None
    recorded_at: str
    by: str
    payload: Mapping[str, Any]
    replaces: str
    undoes: str


def entry_id(action: str, number: int) -> str:
    """The id of an entry of an action: the action's own for the first, derived from it for the others."""
    return action if number == 0 else str(uuid5(UUID(action), str(number)))


def live(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that hold, in order: what was undone is left out, what was undone and redone is back.

    An undo only ever names an earlier action, so one pass from the newest back settles all of them.
    """
    dead: set[str] = set()
    kept = []
    for entry in reversed(entries):
        if entry.action in dead:
            continue
        if entry.kind == UNDO:
            dead.add(entry.undoes)
        else:
            kept.append(entry)
    kept.reverse()
    return kept


def undone(entries: Sequence[Entry]) -> dict[str, str]:
    """Which actions do not hold at present, and the action that undid each."""
    dead: dict[str, str] = {}
    for entry in reversed(entries):
        if entry.kind == UNDO and entry.action not in dead:
            dead.setdefault(entry.undoes, entry.action)
    return dead


_MARK: Final = "$"
_AS: Final = (("$date", date), ("$moment", datetime), ("$time", time))


def _marked(value: Any) -> Any:
    """A value of a TOML document as one that JSON knows: dates carry a mark, so that they come back."""
    if isinstance(value, datetime):
        return {"$moment": value.isoformat()}
    if isinstance(value, date):
        return {"$date": value.isoformat()}
    if isinstance(value, time):
        return {"$time": value.isoformat()}
    if isinstance(value, Mapping):
        return {
            (_MARK + key if key.startswith(_MARK) else key): _marked(one)
            for key, one in value.items()
        }
    if isinstance(value, list | tuple):
        return [_marked(one) for one in value]
    return value


def _unmarked(found: dict[str, Any]) -> Any:
    if len(found) == 1:
        for mark, kind in _AS:
            if mark in found:
                return kind.fromisoformat(found[mark])
    if any(key.startswith(_MARK) for key in found):
        return {(key[1:] if key.startswith(_MARK) else key): one for key, one in found.items()}
    return found


def to_json(payload: Mapping[str, Any]) -> str:
    """The content of an entry as JSON in plain letters, as typed; :func:`from_json` gives it back."""
    return json.dumps(_marked(payload), separators=(",", ":"), ensure_ascii=True)


def from_json(text: str) -> Any:
    """The content of an entry as it was given."""
    return json.loads(text, object_hook=_unmarked)


def subjects_of(entries: Iterable[Entry | Draft]) -> set[tuple[str, str]]:
    """What entries are about."""
    return {(entry.subject, entry.named) for entry in entries}
