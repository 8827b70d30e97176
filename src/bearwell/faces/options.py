"""What several commands take: a garden or the store, a day, JSON; and how a record is stamped."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar
from uuid import uuid4

import click

from bearwell.errors import BadInput
from bearwell.faces.clock import now_in, zone_at
from bearwell.faces.language import in_one_way
from bearwell.said import said

if TYPE_CHECKING:
    from bearwell.api import Stamp, Store

WEATHER_HELP = "Another daily weather file; may be given more than once."
DATA_HELP = "Your store: its data folder, or the address of a database."


Value = TypeVar("Value")


class _Typed(click.ParamType[Value]):
    """Something typed that is read by itself, whatever option it is for."""

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,  # noqa: ARG002
        ctx: click.Context | None,  # noqa: ARG002
    ) -> Value:
        """Read it, or refuse it in words."""
        return self.read(value)

    def read(self, value: Any) -> Value:
        """What was typed, as it is meant; raises BadInput where it cannot be."""
        raise NotImplementedError


class Day(_Typed[date]):
    """A date typed as 2026-04-14."""

    name = "YYYY-MM-DD"

    def read(self, value: Any) -> date:
        """The date."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise BadInput(
                said("'{text}' is not a date", text=value), "write it as 2026-04-14"
            ) from None


class Measure(_Typed[str]):
    """A measure as typed, where its point means the same to who speaks the language spoken now."""

    name = "text"

    def read(self, value: Any) -> str:
        """The measure as it stands."""
        return in_one_way(str(value))


def today_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """--today."""
    return click.option(
        "--today", type=Day(), default=None, help="Work things out for this day instead of today."
    )(command)


def json_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """--json."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON instead of tables.")(
        command
    )


def data_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """--data."""
    return click.option("--data", metavar="DIR|URL", default=None, help=DATA_HELP)(command)


def garden_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """A garden file, or --data in its place."""
    return click.argument("garden", required=False)(data_option(command))


def where_of(garden: str | None, data: str | None, *, begin: bool = False) -> str | Path | None:
    """The garden file or store that was named; the user's own store where none was, if there is one.

    With ``begin`` a folder that is empty, or not there yet, becomes a store with no garden in it.
    """
    from bearwell import api

    if garden is not None and data is not None:
        raise BadInput("a garden file and --data were both named", "one of the two")
    if data is not None:
        if not api.is_store(data) and begin and _empty(Path(data)):
            api.open_store(data, create=True).close()
        if not api.is_store(data):
            raise BadInput(
                said("{place}: no garden is kept here yet", place=data),
                said("bearwell import GARDEN.toml --data {place} begins one", place=data),
            )
        return data
    if garden is not None:
        return garden if api.is_store(garden) else Path(garden)
    own = api.user_folder()
    return str(own) if api.is_store(own) else None


def _empty(folder: Path) -> bool:
    """Whether a folder has nothing in it but a passphrase, or is not there."""
    from bearwell.faces.door import FILE

    if not folder.exists():
        return True
    return folder.is_dir() and all(one.name == FILE for one in folder.iterdir())


@contextmanager
def place_of(garden: str | None, data: str | None) -> Iterator[Path | Store]:
    """What a command is to read: the garden file, or the store, open."""
    from bearwell import api

    where = where_of(garden, data)
    if where is None:
        raise BadInput("no GARDEN was named", "name a garden file, or --data with your store")
    if isinstance(where, Path):
        yield where
        return
    with api.open_store(where) as store:
        yield store


@contextmanager
def store_of(data: str | None, *, create: bool = False) -> Iterator[Store]:
    """The store that was named, or the user's own, open."""
    from bearwell import api

    with api.open_store(data or str(api.user_folder()), create=create) as store:
        yield store


def name_of(place: Path | Store) -> str:
    """What a place is called; a database address is never shown with its password."""
    return str(place) if isinstance(place, Path) else place.where


def stamped(store: Store, record_id: str | None = None, by: str = "") -> Stamp:
    """The stamp of a record made here and now."""
    from bearwell import api

    return api.Stamp(record_id or str(uuid4()), now_in(zone_at(store)), by)
