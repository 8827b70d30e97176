"""Stores for tests: a small garden taken in, and stamps that need no clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any
from uuid import UUID

from bearwell import api
from gardens import SHELF, TODAY, tree, write_garden

_NUMBERS = count(1)
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
JPEG = b"\xff\xd8\xff\xe0" + b"a photo of a tree" * 10


def stamp(at: datetime = NOON, by: str = "", number: int | None = None) -> api.Stamp:
    """A stamp with an id of its own."""
    return api.Stamp(str(UUID(int=next(_NUMBERS) if number is None else number)), at, by)


def two_trees() -> str:
    """A clementine with records, and an apple."""
    rows = (
        'harvests = [{ year = 2024, mass = "12 kg" }, { year = 2025, mass = "9.5 kg", fruit = 110 }]\n'
        'observed = [{ event = "full bloom", date = 2026-04-12 }]\n'
        'done = [{ date = 2026-03-01, job = "feed", product = "balanced", amount = "500 g" }]\n'
    )
    return tree("clementine", more=rows) + tree("apple").replace('"one"', '"two"')


def write(folder: Path, trees: str = "", **rest: Any) -> Path:
    """A garden file with a shelf and two trees."""
    folder.mkdir(parents=True, exist_ok=True)
    return write_garden(folder, trees or two_trees(), head=rest.pop("head", SHELF), **rest)


def kept(where: str, file: Path, today: date = TODAY) -> api.Store:
    """A new store with a garden file taken in."""
    store = api.open_store(where, create=True)
    api.import_garden(store, stamp(), today, path=file)
    return store


def opened(store: api.Store, today: date = TODAY) -> api.LoadedGarden:
    """The garden of a store."""
    return api.open_garden(store, today)


def on_hand(store: api.Store, product: str = "balanced") -> float | None:
    """What the plan takes to be in a bag [g]."""
    return next(bag for bag in opened(store).garden.products if bag.id == product).on_hand


def days_ago(days: int) -> date:
    """A day before the tests' today."""
    return TODAY - timedelta(days=days)
