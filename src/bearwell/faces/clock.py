"""The only look at the clock: what day it is where the garden is, what time it is, and waiting."""

from __future__ import annotations

import time
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo


def bare(path: Path) -> dict[str, Any]:
    """A garden file as far as it can be read at all; empty where it cannot."""
    try:
        return tomllib.loads(path.read_text("utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return {}


def zone_of(raw: dict[str, Any]) -> ZoneInfo | None:
    """The time zone a garden file names; nothing, so this machine's own, where it names none."""
    site = raw.get("site")
    try:
        return ZoneInfo(str(site["timezone"])) if isinstance(site, dict) else None
    except (KeyError, ValueError, OSError):
        return None


def today_in(zone: ZoneInfo | None) -> date:
    """The date in a time zone, or on this machine."""
    return datetime.now(zone).date()


def today_at(garden: Path | None) -> date:
    """The date at the site of a garden file."""
    return today_in(zone_of(bare(garden)) if garden is not None else None)


def now_here() -> datetime:
    """The moment, in universal time to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def wait(seconds: float) -> None:
    """Wait."""
    time.sleep(seconds)
