"""Writes what a garden file holds as TOML, laid out as a person would write it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from typing import Any, Final

_WIDE: Final = 100  # letters of a line before it is broken up
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(raw: Mapping[str, Any]) -> str:
    """The text of a TOML document with this content; reading it gives an equal content.

    Keys of a table stand first, small tables in one line, lists of tables one row a line, and larger
    tables under a heading of their own. Raises TypeError for a value that TOML has no form for.
    """
    lines = list(_body((), raw))
    while lines and not lines[0]:
        lines.pop(0)
    return "\n".join(lines) + "\n"


def _body(path: tuple[str, ...], table: Mapping[str, Any]) -> Iterator[str]:
    """A table's own keys, then the tables below it under their headings."""
    below = {key: value for key, value in table.items() if _stands_apart(path, key, value)}
    for key, value in table.items():
        if key not in below:
            yield from _pair(key, value)
    for key, value in below.items():
        here = (*path, key)
        title = ".".join(_key(part) for part in here)
        if isinstance(value, Mapping):
            if not value or any(not _stands_apart(here, k, v) for k, v in value.items()):
                yield from ("", f"[{title}]")
            yield from _body(here, value)
        else:
            for row in value:
                yield from ("", f"[[{title}]]")
                yield from _body(here, row)


def _stands_apart(path: tuple[str, ...], key: str, value: object) -> bool:
    """Whether a value gets a heading: every table at the head of the file, below it only a large one."""
    if isinstance(value, Mapping):
        return not path or len(f"{_key(key)} = {_value(value)}") > _WIDE
    return not path and _is_rows(value)


def _is_rows(value: object) -> bool:
    return (
        isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    )


def _pair(key: str, value: Any) -> Iterator[str]:
    line = f"{_key(key)} = {_value(value)}"
    long = isinstance(value, list) and (len(line) > _WIDE or (_is_rows(value) and len(value) > 1))
    if not long:
        yield line
        return
    yield f"{_key(key)} = ["
    for one in value:
        yield f"    {_value(one)},"
    yield "]"


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    """A text in quotes; the control signs that JSON lets stand are written out."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(one) for one in value)}]"
    raise TypeError(f"{type(value).__name__} has no form in TOML")
