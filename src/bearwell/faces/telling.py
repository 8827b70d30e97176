"""What a record says, in plain words: the same for the terminal, the pages and their JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from bearwell.faces.language import N_, _, _n

if TYPE_CHECKING:
    from bearwell.api import Told

MANY = 8  # entries of one action that are still told one by one
# What an entry does, where its key alone does not say it; and what it is about.
_KINDS = {
    "describe": N_("describe"),
    "state": N_("state"),
    "withdraw": N_("withdraw"),
    "strike": N_("{key} struck out"),
    "remove": N_("remove"),
    "order": N_("order"),
    "file": N_("file"),
    "photo": N_("photo"),
    "skip": N_("skip"),
    "postpone": N_("postpone"),
    "close": N_("close"),
}
_SUBJECTS = {
    "advice": N_("advice"),
    "files": N_("files"),
    "garden": N_("garden"),
    "product": N_("product"),
    "shelter": N_("shelter"),
    "site": N_("site"),
    "tree": N_("tree"),
}


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
    subject = _(_SUBJECTS[one.subject]) if one.subject in _SUBJECTS else one.subject
    who = " ".join(part for part in (subject, one.named) if part != ".")
    if one.kind == "undo":
        return _("{who}: undid {record}", who=who, record=one.undoes[:8])
    what = _(_KINDS[one.kind], key=one.key) if one.kind in _KINDS else one.key
    content = ", ".join(
        f"{key} {_value(value)}" for key, value in one.payload.items() if key != "date"
    )
    values = {"who": who, "what": what, "day": one.day, "content": content}
    if one.day and content:
        return plain(_("{who}: {what} on {day}: {content}", **values))
    if one.day:
        return plain(_("{who}: {what} on {day}", **values))
    if content:
        return plain(_("{who}: {what}: {content}", **values))
    return plain(_("{who}: {what}", **values))


def only_places(action: Sequence[Told]) -> bool:
    """Whether all that was recorded in one go is where trees stand, as when they were moved on the map."""
    return all(
        told.entry.kind == "state" and told.entry.day and set(told.entry.payload) == {"place"}
        for told in action
    )


def action_in_words(action: Sequence[Told]) -> list[str]:
    """Everything that was recorded in one go, oldest first; a whole garden file in one line."""
    if len(action) > MANY and not only_places(action):
        count = len(action)
        return [_n("a garden file: {number} entry", "a garden file: {number} entries", count)]
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
