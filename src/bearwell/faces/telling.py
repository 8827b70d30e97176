"""What a record says, in plain words: the same for the terminal, the pages and their JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bearwell.api import Told

MANY = 8  # entries of one action that are still told one by one
_LISTS = {"record": "{key}", "row": "{key}", "strike": "{key} struck out"}


def entry_twin(told: Told) -> dict[str, Any]:
    """One entry of the history as JSON."""
    one = told.entry
    return {
        "number": one.seq,
        "record": one.action,
        "subject": one.subject,
        "named": one.named,
        "what": one.kind,
        "key": one.key,
        "day": one.day.isoformat() if one.day else None,
        "recorded_at": one.recorded_at,
        "by": one.by,
        "content": one.payload,
        "undoes": one.undoes or None,
        "undone_by": told.undone_by or None,
    }


def in_words(told: Told) -> str:
    """An entry in plain words."""
    one = told.entry
    who = " ".join(part for part in (one.subject, one.named) if part != ".")
    day = f" on {one.day}" if one.day else ""
    if one.kind == "undo":
        return f"{who}: undid {one.undoes[:8]}"
    what = _LISTS.get(one.kind, one.kind).format(key=one.key)
    said = ", ".join(
        f"{key} {_value(value)}" for key, value in one.payload.items() if key != "date"
    )
    return plain(f"{who}: {what}{day}" + (f": {said}" if said else ""))


def only_places(action: Sequence[Told]) -> bool:
    """Whether all that was recorded in one go is where trees stand, as when they were moved on the map."""
    return all(
        told.entry.kind == "state" and told.entry.day and set(told.entry.payload) == {"place"}
        for told in action
    )


def action_in_words(action: Sequence[Told]) -> list[str]:
    """Everything that was recorded in one go, oldest first; a whole garden file in one line."""
    if len(action) > MANY and not only_places(action):
        return [f"a garden file: {len(action)} entries"]
    return [in_words(told) for told in reversed(action)]


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} {_value(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    return str(value)


def plain(text: str) -> str:
    """Text without signs that would steer a terminal."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)
