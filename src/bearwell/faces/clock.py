"""The only look at the clock: what day it is where the garden is, what time it is, and waiting."""

from __future__ import annotations

import time
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from bearwell.api import Store


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


def now_here() -> datetime:
    """The moment, in universal time to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def wait(seconds: float) -> None:
    """Wait."""
    time.sleep(seconds)


def zone_named(name: str) -> ZoneInfo | None:
    """The time zone of a name; nothing where it is none."""
    return zone_of({"site": {"timezone": name}}) if name else None


def zone_at(place: Path | Store) -> ZoneInfo | None:
    """The time zone of a garden file or of the store."""
    if isinstance(place, Path):
        return zone_of(bare(place))
    return zone_named(place.timezone())


def today_at(place: Path | Store | None) -> date:
    """The date at the site of a garden file or of the store."""
    return today_in(None if place is None else zone_at(place))


def now_in(zone: ZoneInfo | None) -> datetime:
    """The time in a time zone, or on this machine."""
    return datetime.now(zone) if zone else datetime.now().astimezone()
