"""Who is signed in: random ids of which only fingerprints are kept, until they run out or are ended."""

from __future__ import annotations

import json
import secrets
import time
from pathlib import Path
from threading import Lock

from bearwell.errors import BadInput
from bearwell.faces import door
from bearwell.faces.web.limits import Clock

FILE = "sessions.json"
LIFETIME = 30 * 86_400  # s from signing in
MOST = 200  # sessions at once; beyond that the oldest ends


class Sessions:
    """The open sessions of one garden, all under the seal of the passphrase they were opened with.

    They outlive a restart in a file of fingerprints beside the lock; ``kept=False`` keeps them in memory.
    """

    def __init__(self, folder: Path, *, kept: bool = True, clock: Clock = time.time) -> None:
        self._file = folder / FILE if kept else None
        self._clock = clock
        self._lock = Lock()
        self._seal = ""
        self._ends: dict[str, int] = {}  # fingerprint of the id -> when it ends
        self._read()

    @property
    def count(self) -> int:
        """How many are open, whether run out or not."""
        return len(self._ends)

    def begin(self, seal: str) -> str:
        """A new session; gives its id, which is kept nowhere."""
        name = secrets.token_urlsafe(door.KEY_BYTES)
        now = int(self._clock())
        with self._lock:
            alive = self._ends if seal == self._seal else {}
            ends = {mark: end for mark, end in alive.items() if end > now}
            ends[door.fingerprint(name)] = now + LIFETIME
            self._ends = dict(list(ends.items())[-MOST:])
            self._seal = seal
            self._write()
        return name

    def good(self, name: str, seal: str) -> bool:
        """Whether this session is open under this seal."""
        end = self._ends.get(door.fingerprint(name))
        return end is not None and seal == self._seal and end > self._clock()

    def end(self, name: str) -> None:
        """End this session."""
        with self._lock:
            if self._ends.pop(door.fingerprint(name), None) is not None:
                self._write()

    def end_all(self) -> None:
        """End every session."""
        with self._lock:
            self._ends = {}
            self._write()

    def _read(self) -> None:
        """What was kept; a file that cannot be read stands for nobody signed in."""
        if self._file is None:
            return
        try:
            raw = json.loads(self._file.read_text("utf-8"))
            self._seal = str(raw["seal"])
            self._ends = {str(mark): int(end) for mark, end in raw["ends"].items()}
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            self._seal, self._ends = "", {}

    def _write(self) -> None:
        if self._file is None:
            return
        try:
            door.write_private(self._file, {"seal": self._seal, "ends": self._ends})
        except BadInput:
            self._file = None  # a folder that cannot be written to: they last as long as the server
