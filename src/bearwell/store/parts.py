"""From a garden file's content to entries: all of it the first time, what has changed afterwards."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Literal

from bearwell.garden.values import read_date
from bearwell.store import entries as say
from bearwell.store.entries import ROOT, Draft
from bearwell.store.fold import Folded, Row, Table

Form = Literal["table", "named", "rows", "value"]


def form_of(value: object) -> Form:
    """How a value at the head of a garden file is taken apart."""
    if isinstance(value, dict):
        return "table"
    if not is_rows(value):
        return "value"
    ids = [row.get("id") for row in value]  # type: ignore[attr-defined]
    unique = all(isinstance(one, str) and one for one in ids) and len(set(ids)) == len(ids)
    return "named" if unique else "rows"


def is_rows(value: object) -> bool:
    """Whether a value is a list of tables, each of which can be recorded by itself."""
    return isinstance(value, list) and bool(value) and all(isinstance(row, dict) for row in value)


def _day_of(row: Mapping[str, Any]) -> date | None:
    return read_date(row.get("date"))


def taken_apart(raw: Mapping[str, Any]) -> Iterator[Draft]:
    """Everything a garden file says, as entries."""
    for key, value in raw.items():
        form = form_of(value)
        if form == "table":
            yield from _table(key, "", value)
        elif form == "named":
            for row in value:
                yield from _table(key, row["id"], row)
        elif form == "rows":
            yield from _rows(ROOT, "", key, value)
        else:
            yield Draft(ROOT, "", say.STATE, {key: value})


def _table(subject: str, named: str, table: Mapping[str, Any]) -> Iterator[Draft]:
    plain = {key: value for key, value in table.items() if not is_rows(value)}
    yield Draft(subject, named, say.DESCRIBE, plain)
    for key, value in table.items():
        if is_rows(value):
            yield from _rows(subject, named, key, value)


def _rows(subject: str, named: str, key: str, rows: Sequence[Mapping[str, Any]]) -> Iterator[Draft]:
    for row in rows:
        yield Draft(subject, named, say.ROW, row, key, _day_of(row))


def changes(folded: Folded, raw: Mapping[str, Any]) -> Iterator[Draft]:
    """What has to be said so that the garden becomes what a file says."""
    old = folded.raw
    for key, value in old.items():
        if key not in raw or form_of(raw[key]) != form_of(value):
            yield from _away(folded, key)
    for key, value in raw.items():
        if key not in old or form_of(old[key]) != form_of(value):
            yield from taken_apart({key: value})
        elif old[key] != value or _kinds_differ(old[key], value):
            yield from _changed(folded, key, value)


def _kinds_differ(one: object, other: object) -> bool:
    """Whether equal values are typed differently: 1 and 1.0, 1 and true."""
    return repr(one) != repr(other)


def _away(folded: Folded, key: str) -> Iterator[Draft]:
    form = form_of(folded.raw[key])
    if form in ("table", "named"):
        for subject, named in folded.tables:
            if subject == key:
                yield Draft(key, named, say.REMOVE)
    else:
        yield Draft(ROOT, "", say.WITHDRAW, {"keys": [key]})


def _changed(folded: Folded, key: str, value: Any) -> Iterator[Draft]:
    form = form_of(value)
    if form == "table":
        yield from _table_changed(key, "", folded.tables[key, ""], value)
    elif form == "rows":
        yield from _rows_changed(ROOT, "", key, folded.tables[ROOT, ""].lists()[key], value)
    elif form == "value":
        yield Draft(ROOT, "", say.STATE, {key: value})
    else:
        before = [row["id"] for row in folded.raw[key]]
        after = [row["id"] for row in value]
        for named in before:
            if named not in after:
                yield Draft(key, named, say.REMOVE)
        for row in value:
            if row["id"] in before:
                yield from _table_changed(key, row["id"], folded.tables[key, row["id"]], row)
            else:
                yield from _table(key, row["id"], row)
        kept = [named for named in before if named in after]
        if kept + [named for named in after if named not in before] != after:
            yield Draft(key, "", say.ORDER, {"ids": after})


def _table_changed(
    subject: str, named: str, table: Table, new: Mapping[str, Any]
) -> Iterator[Draft]:
    lists = table.lists()
    gone = [key for key in table.value() if key not in new or is_rows(new[key]) != (key in lists)]
    if gone:
        yield Draft(subject, named, say.WITHDRAW, {"keys": gone})
    stated = {
        key: value
        for key, value in new.items()
        if not is_rows(value)
        and (
            key in gone
            or key not in table.plain
            or table.plain[key] != value
            or _kinds_differ(table.plain[key], value)
        )
    }
    if stated:
        yield Draft(subject, named, say.STATE, stated)
    for key, value in new.items():
        if is_rows(value):
            known = [] if key in gone else lists.get(key, [])
            yield from _rows_changed(subject, named, key, known, value)


def _rows_changed(
    subject: str, named: str, key: str, old: Sequence[Row], new: Sequence[Mapping[str, Any]]
) -> Iterator[Draft]:
    """Rows struck out and added; where the order would not come out, all of them anew."""
    kept: list[Row] = []
    for row in old:
        at = len(kept)
        if at < len(new) and repr(row.values) == repr(new[at]):
            kept.append(row)
    for row in old:
        if not any(row is one for one in kept):
            for each in row.ids:
                yield Draft(subject, named, say.STRIKE, {}, key, replaces=each)
    yield from _rows(subject, named, key, new[len(kept) :])
