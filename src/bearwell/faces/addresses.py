"""Addresses of pages as others reach them, and files that commands write."""

from __future__ import annotations

from collections.abc import Mapping
from ipaddress import ip_address
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

from bearwell.errors import BadInput
from bearwell.faces.language import ENGLISH, N_, spoken
from bearwell.faces.printing import SHEETS, USUAL_DAYS, unwritable
from bearwell.said import said

_HINT = N_("such as http://192.168.1.20:8321")


def base_address(typed: str) -> str:
    """An address to put before the pages, without its last stroke; nothing stays nothing."""
    text = typed.strip()
    if not text:
        return ""
    try:
        parts = urlsplit(text)
        port, host = parts.port, parts.hostname
    except ValueError:
        raise BadInput(said("'{typed}' is not an address", typed=typed), _HINT) from None
    odd = any(sign.isspace() or ord(sign) < 32 or ord(sign) > 126 for sign in text)
    if parts.scheme not in ("http", "https") or not host or odd or parts.query or parts.fragment:
        raise BadInput(said("'{typed}' is not the address of a page", typed=typed), _HINT)
    if parts.username is not None:
        raise BadInput("an address that others read holds no password", _HINT)
    named = f"[{host}]" if ":" in host else host
    door = f":{port}" if port is not None else ""
    return f"{parts.scheme}://{named}{door}{parts.path.rstrip('/')}"


def in_language(address: str) -> str:
    """An address of ours that answers in the language spoken, whoever asks; unasked it answers in English."""
    language = spoken.get()
    if language == ENGLISH:
        return address
    return f"{address}{'&' if '?' in address else '?'}language={language}"


def only_here(base: str) -> bool:
    """Whether an address leads nowhere but to this machine."""
    host = urlsplit(base).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def sheet_place(sheet: str, chosen: Mapping[str, Any]) -> str:
    """The page of a sheet with what was chosen for it."""
    days = chosen.get("days") or USUAL_DAYS.get(sheet, 7)
    place = SHEETS[sheet].format(**{**chosen, "days": days})
    if sheet != "tags":
        return place
    base = base_address(chosen.get("base_url") or "")
    if not base:
        raise BadInput("tags need --base-url: what their codes are to lead to", _HINT)
    return f"{place}&base={quote(base, safe='')}"


def earlier_calendar(path: Path | None) -> str:
    """The calendar that stands where a new one is to go; a file that is none is not written over."""
    if path is None or not path.exists():
        return ""
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        text = "unreadable"
    if text.strip() and not text.startswith("BEGIN:VCALENDAR"):
        raise BadInput(
            said("{file} is there and is no calendar", file=path),
            "name another file; nothing was written",
        )
    return text


def put_text(path: Path, text: str) -> None:
    """Write a text, whole or not at all, with its line ends as they are."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(text.encode("utf-8"))
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise unwritable(path, error) from None
