"""The tables of the store as the newest migration leaves them."""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, Date, Integer, LargeBinary, MetaData, String, Table, Text

# The migrations of migrations/versions in order; the last is what this program reads and writes.
REVISIONS: Final = ("0001", "0002")
HEAD: Final = REVISIONS[-1]
VERSION_TABLE: Final = "bearwell_version"

metadata: Final = MetaData()

ENTRY: Final = Table(
    "bearwell_entry",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("id", String(36), nullable=False, unique=True),
    Column("action", String(36), nullable=False),
    Column("garden", String(36), nullable=False),
    Column("subject", Text, nullable=False),
    Column("named", Text, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("key", Text, nullable=False),
    Column("day", Date),
    Column("recorded_at", String(40), nullable=False),
    Column("by", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("replaces", String(36), nullable=False),
    Column("undoes", String(36), nullable=False),
    sqlite_autoincrement=True,
)

# Files by content, for a store that has no folder of its own: a database on another machine.
CONTENT: Final = Table(
    "bearwell_content",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)
