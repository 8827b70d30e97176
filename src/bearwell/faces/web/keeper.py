"""Keeps the garden open between requests and opens it again when a file or the date has changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from bearwell.api import LoadedGarden, open_garden, write_demo
from bearwell.errors import BadFile, BadInput, BearwellError, Problem
from bearwell.faces.clock import bare, now_in, today_in, zone_at, zone_of
from bearwell.faces.web.render import garden_served, invented

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
        self._id = ""
        self._lock = Lock()
        self._own = path, store, self.may_record
        self._demo: TemporaryDirectory[str] | None = None

    def garden(self) -> LoadedGarden:
        """The garden as its files stand today; raises Spoiled when it cannot be read."""
        with self._lock:
            invented.set(self._demo is not None)
            try:
                kept = self._current()
            except BearwellError as error:  # the store cannot be reached
                raise Spoiled([Problem(str(self.path), error.message, error.hint)]) from None
            garden_served.set(self._id)
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

    @property
    def empty(self) -> bool:
        """Whether it is a store that may be recorded in and holds no garden yet."""
        return self.store is not None and self.may_record and not self.store.folded().raw

    def garden_id(self) -> str:
        """The id of the garden in the store as it is now; empty where there is no store or no garden yet."""
        return "" if self.store is None else self.store.garden_id()

    def look_at_demo(self) -> None:
        """Show the invented garden, read only, in place of a store that holds none yet, and keep nothing.

        Raises BadInput where there is a garden already.
        """
        if not self.empty:
            raise BadInput("there is a garden here already", "look at the demo with: bearwell demo")
        with self._lock:
            self._demo = TemporaryDirectory(prefix="bearwell-")
            self.path = write_demo(Path(self._demo.name) / "demo", self.today())
            self.store, self.may_record = None, False
            self._zone, self._state, self._garden = None, None, None

    def leave_demo(self) -> None:
        """Back from the invented garden to the empty store; nothing to do where it is not shown."""
        with self._lock:
            if self._demo is None:
                return
            self._demo.cleanup()
            self._demo = None
            self.path, self.store, self.may_record = self._own
            self._zone, self._state, self._garden = None, None, None

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
            kept = self._garden if isinstance(self._garden, LoadedGarden) else None
            return open_garden(self.store or self.path, self.today(), self.weather, kept)
        except BadFile as error:
            return Spoiled(error.problems)
        except BearwellError as error:
            return Spoiled([Problem(str(self.path), error.message, error.hint)])

    def _peek(self) -> None:
        """What to watch and whose clock to use, from the bare file, so that a bad one is watched too."""
        self._id = self.garden_id()
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
