"""The passphrase and the calendar keys of one garden: a file in its data folder, for its owner only."""

from __future__ import annotations

import json
import os
import secrets
import stat
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from hashlib import sha256
from hmac import compare_digest
from pathlib import Path
from typing import Any

from bearwell.errors import BadInput, BearwellError
from bearwell.said import Said, said
from bearwell.wholefile import write_whole

FILE = "door.json"
FORMAT = 1
SHORTEST, LONGEST = 10, 1000  # characters of a passphrase
KEY_BYTES = 32
MOST_KEYS = 50


@dataclass(frozen=True)
class Key:
    """A key for one calendar: what it is for, when it was made, and its fingerprint; never the key itself."""

    name: str
    made: str
    mark: str


@dataclass(frozen=True)
class Lock:
    """What opens a garden: the hash of its passphrase, empty where none is set, and its calendar keys."""

    passphrase: str = ""
    keys: tuple[Key, ...] = field(default=())

    @property
    def seal(self) -> str:
        """Changes with the passphrase: a session under another seal is no longer good."""
        return fingerprint(self.passphrase)

    def fits(self, text: str) -> bool:
        """Whether this is the passphrase; takes as long when it is not."""
        from argon2 import PasswordHasher
        from argon2.exceptions import InvalidHashError, VerificationError

        if not self.passphrase or len(text) > LONGEST:
            return False
        try:
            return PasswordHasher().verify(self.passphrase, _settled(text))
        except (VerificationError, InvalidHashError):
            return False

    def opens_calendar(self, key: str) -> bool:
        """Whether this is one of the calendar keys."""
        mark = fingerprint(key)
        return sum(compare_digest(one.mark, mark) for one in self.keys) > 0


def fingerprint(secret: str) -> str:
    """What is kept of a long random secret in its place."""
    return sha256(secret.encode("utf-8", "replace")).hexdigest()


def folder_of(place: str | Path) -> Path:
    """The folder that holds the door of a garden: a data folder, or the one its garden file stands in.

    A database address has no folder of its own: its door is in the folder the command is given in.
    """
    if "://" in str(place):
        return Path()
    path = Path(place)
    return path.parent if path.is_file() or path.suffix == ".toml" else path


def read_lock(folder: Path) -> Lock:
    """The lock in a data folder; an open one where there is no file. Refuses a file that others may read."""
    file = folder / FILE
    try:
        with file.open("rb") as opened:
            if os.name == "posix" and stat.S_IMODE(os.fstat(opened.fileno()).st_mode) & 0o077:
                raise BadInput(
                    said("{file} can be read by others on this machine", file=file),
                    f"chmod 600 {file}",
                )
            raw = json.load(opened)
    except FileNotFoundError:
        return Lock()
    except (OSError, ValueError) as error:
        raise BadInput(said("{file} cannot be read", file=file), _remedy(file)) from error
    try:
        return _lock(raw)
    except (KeyError, TypeError, ValueError) as error:
        raise BadInput(
            said("{file} is not as bearwell wrote it", file=file), _remedy(file)
        ) from error


def _remedy(file: Path) -> Said:
    return said(
        "move it away and set a new passphrase with: bearwell passphrase --data {folder}",
        folder=file.parent,
    )


def _lock(raw: Mapping[str, Any]) -> Lock:
    if raw["format"] != FORMAT:
        raise ValueError(raw["format"])
    keys = tuple(Key(str(one["name"]), str(one["made"]), str(one["mark"])) for one in raw["keys"])
    return Lock(str(raw["passphrase"]), keys)


def _write_lock(folder: Path, lock: Lock) -> None:
    write_private(
        folder / FILE,
        {
            "format": FORMAT,
            "passphrase": lock.passphrase,
            "keys": [{"name": one.name, "made": one.made, "mark": one.mark} for one in lock.keys],
        },
    )


def write_private(file: Path, data: Mapping[str, Any]) -> None:
    """Write JSON whole or not at all, readable by its owner only."""
    try:
        file.parent.mkdir(parents=True, mode=0o700, exist_ok=True)
        write_whole(file, json.dumps(data, indent=1).encode())
    except (OSError, BearwellError) as error:
        message = said("{file} cannot be written", file=file)
        raise BadInput(message, "may this user write there?") from error


def set_passphrase(folder: Path, text: str) -> None:
    """Keep a new passphrase, as a hash; ends every session that was open. Calendar keys stay."""
    from argon2 import PasswordHasher

    settled = _settled(text)
    if len(settled.strip()) < SHORTEST:
        raise BadInput(
            said("the passphrase is shorter than {number} letters", number=SHORTEST),
            "four words no one would guess",
        )
    if len(text) > LONGEST:
        raise BadInput(
            "the passphrase is too long", said("{number} letters at most", number=LONGEST)
        )
    lock = read_lock(folder)
    _write_lock(folder, replace(lock, passphrase=PasswordHasher().hash(settled)))


def _settled(text: str) -> str:
    """The same letters however a keyboard composes them."""
    return unicodedata.normalize("NFC", text)


def make_key(folder: Path, name: str, today: date) -> str:
    """Make a calendar key and give it, this once; one of the same name is replaced."""
    name = _named(name)
    lock = read_lock(folder)
    others = tuple(one for one in lock.keys if one.name != name)
    if len(others) >= MOST_KEYS:
        raise BadInput(
            said("there are {number} calendar keys", number=MOST_KEYS), "end one with --end NAME"
        )
    key = secrets.token_urlsafe(KEY_BYTES)
    kept = (*others, Key(name, today.isoformat(), fingerprint(key)))
    _write_lock(folder, replace(lock, keys=kept))
    return key


def end_key(folder: Path, name: str) -> None:
    """End a calendar key: calendars that use it get no more."""
    lock = read_lock(folder)
    left = tuple(one for one in lock.keys if one.name != name)
    if len(left) == len(lock.keys):
        known = ", ".join(one.name for one in lock.keys) or said("none")
        raise BadInput(
            said("there is no calendar key named '{name}'", name=name),
            said("there are: {names}", names=known),
        )
    _write_lock(folder, replace(lock, keys=left))


def _named(name: str) -> str:
    plain = name.strip()
    if not plain or len(plain) > 60 or not plain.isprintable():
        raise BadInput(said("'{name}' is no name for a key", name=name), "such as: phone")
    return plain
