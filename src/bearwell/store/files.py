"""Files kept whole, found again by the fingerprint of their content: weather tables, own kinds, photos."""

from __future__ import annotations

import re
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from bearwell.errors import BadInput, BearwellError
from bearwell.said import said
from bearwell.wholefile import write_whole

if TYPE_CHECKING:
    from sqlalchemy import Engine

LARGEST_FILE: Final = 64 * 1024 * 1024
LARGEST_PHOTO: Final = 25 * 1024 * 1024
FINGERPRINT: Final = re.compile(r"[0-9a-f]{64}")
# How the formats that phones and cameras write begin.
_BEGINNINGS: Final = (
    (0, b"\xff\xd8\xff", "image/jpeg", ".jpg"),
    (0, b"\x89PNG\r\n\x1a\n", "image/png", ".png"),
    (8, b"WEBP", "image/webp", ".webp"),
    (4, b"ftypheic", "image/heic", ".heic"),
    (4, b"ftypheix", "image/heic", ".heic"),
    (4, b"ftypmif1", "image/heif", ".heif"),
    (4, b"ftypavif", "image/avif", ".avif"),
)
ENDINGS: Final = {media: ending for _, _, media, ending in _BEGINNINGS}


class Files(Protocol):
    """Where files are kept."""

    def put(self, content: bytes) -> str:
        """Keep a content and return its fingerprint."""

    def get(self, fingerprint: str) -> bytes:
        """The content with this fingerprint; raises BearwellError when it is gone or damaged."""


def fingerprint_of(content: bytes) -> str:
    """The fingerprint of a content."""
    return sha256(content).hexdigest()


def _checked(content: bytes | None, fingerprint: str, where: str) -> bytes:
    if content is None:
        raise BearwellError(
            said(
                "{where}: a kept file is missing: {fingerprint}",
                where=where,
                fingerprint=fingerprint[:12],
            ),
            "restore it from a backup",
        )
    if fingerprint_of(content) != fingerprint:
        raise BearwellError(
            said(
                "{where}: a kept file is damaged: {fingerprint}",
                where=where,
                fingerprint=fingerprint[:12],
            ),
            "restore it from a backup",
        )
    return content


class FolderFiles:
    """Files in a folder, each under its fingerprint; written beside and moved into place."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, fingerprint: str) -> Path:
        """Where a content lies."""
        return self.folder / fingerprint[:2] / fingerprint

    def put(self, content: bytes) -> str:
        """Keep a content and return its fingerprint."""
        fingerprint = fingerprint_of(content)
        place = self.path(fingerprint)
        if not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            write_whole(place, content)
        return fingerprint

    def get(self, fingerprint: str) -> bytes:
        """The content with this fingerprint."""
        place = self.path(fingerprint)
        found = place.read_bytes() if place.is_file() else None
        return _checked(found, fingerprint, str(self.folder))


class TableFiles:
    """Files in a table of the database, for a store that has no folder."""

    def __init__(self, engine: Engine, where: str) -> None:
        self.engine, self.where = engine, where

    def put(self, content: bytes) -> str:
        """Keep a content and return its fingerprint."""
        from sqlalchemy import insert, select
        from sqlalchemy.exc import IntegrityError

        from bearwell.store.schema import CONTENT

        fingerprint = fingerprint_of(content)
        known = select(CONTENT.c.sha256).where(CONTENT.c.sha256 == fingerprint)
        with self.engine.connect() as connection:
            if connection.scalar(known) is not None:
                return fingerprint
        # Someone else may have kept the same content in between.
        with suppress(IntegrityError), self.engine.begin() as connection:
            connection.execute(insert(CONTENT).values(sha256=fingerprint, content=content))
        return fingerprint

    def get(self, fingerprint: str) -> bytes:
        """The content with this fingerprint."""
        from sqlalchemy import select

        from bearwell.store.schema import CONTENT

        with self.engine.connect() as connection:
            found = connection.scalar(
                select(CONTENT.c.content).where(CONTENT.c.sha256 == fingerprint)
            )
        return _checked(None if found is None else bytes(found), fingerprint, self.where)


def picture_kind(content: bytes, name: str) -> str:
    """The media type of a photo; BadInput with the reason when it is none that we keep."""
    if not content:
        raise BadInput(
            said("photo '{name}' is empty", name=name), "take it again, or send it again"
        )
    if len(content) > LARGEST_PHOTO:
        size, most = len(content) / 1024**2, LARGEST_PHOTO / 1024**2
        raise BadInput(
            said(
                "photo '{name}' is too large: {size:.0f} MB, at most {most:.0f} MB",
                name=name,
                size=size,
                most=most,
            ),
            "send a smaller copy",
        )
    for at, mark, media, _ in _BEGINNINGS:
        if content[at : at + len(mark)] == mark:
            return media
    raise BadInput(
        said("'{name}' is not a photo that is kept here", name=name),
        "JPEG, PNG, WebP, HEIC or AVIF",
    )
