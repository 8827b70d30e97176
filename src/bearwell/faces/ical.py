"""Writes iCalendar text: properties, escaping and folding as RFC 5545 has them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime

LONGEST = 75  # octets of a line without its end, RFC 5545 3.1
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_BREAKS = re.compile(r"\r\n|\r|\n|\x85|\u2028|\u2029")


def escaped(text: str) -> str:
    """A TEXT value: RFC 5545 3.3.11. Control characters, which it may not hold, are dropped."""
    plain = _CONTROLS.sub("", _BREAKS.sub("\n", text))
    for sign in ("\\", ";", ","):
        plain = plain.replace(sign, "\\" + sign)
    return plain.replace("\n", "\\n")


def folded(line: str) -> str:
    """A content line broken so that no line passes 75 octets and no character is torn, with its CRLF."""
    parts: list[str] = []
    part, room = "", LONGEST
    for sign in line:
        size = len(sign.encode())
        if size > room:
            parts.append(part)
            part, room = " ", LONGEST - 1
        part += sign
        room -= size
    return "\r\n".join([*parts, part]) + "\r\n"


def unfolded(text: str) -> list[str]:
    """The content lines of iCalendar text."""
    return re.sub(r"\r?\n[ \t]", "", text).splitlines()


def text(name: str, value: str) -> str:
    """A property whose value is TEXT."""
    return f"{name}:{escaped(value)}"


def day(name: str, value: date) -> str:
    """A property whose value is a day."""
    return f"{name};VALUE=DATE:{value:%Y%m%d}"


def moment(name: str, value: datetime) -> str:
    """A property whose value is a moment in universal time."""
    return f"{name}:{value.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def block(name: str, lines: Iterable[str]) -> list[str]:
    """A component with its lines."""
    return [f"BEGIN:{name}", *lines, f"END:{name}"]


def document(lines: Iterable[str]) -> str:
    """Content lines as a whole text."""
    return "".join(folded(line) for line in lines)
