"""Keeps the garden open between requests and opens it again when a file or the date has changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from bearwell.api import LoadedGarden, open_garden
from bearwell.errors import BadFile, BearwellError, Problem
from bearwell.faces.clock import bare, now_in, today_in, zone_at, zone_of

if TYPE_CHECKING:
    from bearwell.api import Store

Stamp = tuple[int, int] | None


class Spoiled(Exception):
    """The garden cannot be read at present: every problem, in the order to mend them."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(f"{len(problems)} problems")
        self.problems = tuple(problems)


class Keeper:
    """One garden with its weather, as of now: from a garden file, or from the store when it is given one."""

    def __init__(
        self,
        path: Path,
        weather: Sequence[Path] = (),
        today: Callable[[], date] | None = None,
        store: Store | None = None,
        *,
        read_only: bool = False,
    ) -> None:
        self.path = path
        self.store = store
        self.may_record = store is not None and not read_only
        self.weather = tuple(weather)
        self._today = today
        self._zone: ZoneInfo | None = None
        self._watched: tuple[Path, ...] = ()
        self._state: tuple[object, ...] | None = None
        self._garden: LoadedGarden | Spoiled | None = None
        self._lock = Lock()

    def garden(self) -> LoadedGarden:
        """The garden as its files stand today; raises Spoiled when it cannot be read."""
        with self._lock:
            try:
                kept = self._current()
            except BearwellError as error:  # the store cannot be reached
                raise Spoiled([Problem(str(self.path), error.message, error.hint)]) from None
        if isinstance(kept, Spoiled):
            raise Spoiled(kept.problems)
        return kept

    def _current(self) -> LoadedGarden | Spoiled:
        state = self._now()
        if self._garden is None or state != self._state:
            self._peek()
            self._state = self._now()
            self._garden = self._open()
        return self._garden

    def state(self) -> tuple[object, ...]:
        """What changes whenever the garden may say something else."""
        with self._lock:
            return self._state or ()

    def today(self) -> date:
        """The date at the site."""
        if self._today is not None:
            return self._today()
        return today_in(self._zone)

    def now(self) -> datetime:
        """The time at the site, with its zone."""
        return now_in(self._zone)

    def _now(self) -> tuple[object, ...]:
        mark = self.store.mark() if self.store else None
        return self.today(), mark, *(_stamp(file) for file in self._watched)

    def _open(self) -> LoadedGarden | Spoiled:
        try:
            return open_garden(self.store or self.path, self.today(), self.weather)
        except BadFile as error:
            return Spoiled(error.problems)
        except BearwellError as error:
            return Spoiled([Problem(str(self.path), error.message, error.hint)])

    def _peek(self) -> None:
        """What to watch and whose clock to use, from the bare file, so that a bad one is watched too."""
        if self.store is not None:
            self._zone, self._watched = zone_at(self.store), self.weather
            return
        raw = bare(self.path)
        self._zone = zone_of(raw)
        daily = _table(raw, "weather").get("daily", [])
        named = [name for name in daily if isinstance(name, str)] if isinstance(daily, list) else []
        thermometer = _table(raw, "weather").get("thermometer")
        if isinstance(thermometer, str):
            named.append(thermometer)
        nights = _table(raw, "cold").get("nights")
        if isinstance(nights, str):
            named.append(nights)
        kinds = self.path.parent / "kinds"
        fetched = self.path.parent / "online-weather"
        self._watched = (
            self.path,
            *(self.path.parent / name for name in named),
            *self.weather,
            kinds,
            *(sorted(kinds.glob("*.toml")) if kinds.is_dir() else ()),
            fetched,
            *(sorted(fetched.glob("*.json")) if fetched.is_dir() else ()),
        )


def _table(raw: dict[str, Any], name: str) -> dict[str, Any]:
    found = raw.get(name)
    return found if isinstance(found, dict) else {}


def _stamp(file: Path) -> Stamp:
    try:
        found = file.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size
