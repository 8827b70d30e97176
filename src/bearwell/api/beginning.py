"""Use cases of the first minutes: a garden begun from a name and a place, and trees from a plain list."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

from bearwell.errors import BadInput
from bearwell.knowledge import Species, knowledge
from bearwell.said import listed, said
from bearwell.store.entries import Draft, Stamp
from bearwell.store.fold import Folded
from bearwell.store.parts import taken_apart

if TYPE_CHECKING:
    from bearwell.store.keeping import Recorded, Store

FORM: Final = 1  # of garden files
MOST_AT_ONCE: Final = 50
LONGEST_NAME: Final = 80  # letters
_MEASURES: Final = ("height", "spread", "trunk_girth")
_YEAR: Final = timedelta(days=365.25)


def begin_garden(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    name: str,
    latitude: float,
    longitude: float,
    elevation: str = "",
    timezone: str = "",
    units: str = "metric",
    normals: Mapping[str, str] | None = None,
) -> Recorded:
    """Begin a garden in an empty store from its name and place.

    ``elevation`` is typed with its unit; ``normals`` are the monthly means ``tmin``, ``tmax`` and ``rain``,
    each twelve numbers and a unit, where they are at hand. What would make the garden wrong is refused and
    nothing is kept; a store that holds a garden already is refused too.
    """
    named = name.strip()
    if not named:
        raise BadInput("the garden has no name", 'such as "behind the house"')
    if len(named) > LONGEST_NAME:
        raise BadInput(
            said("the name has {count} letters", count=len(named)),
            said("{most} at most", most=LONGEST_NAME),
        )
    site: dict[str, Any] = {"latitude": latitude, "longitude": longitude}
    if elevation:
        site["elevation"] = elevation
    if timezone:
        site["timezone"] = timezone
    raw: dict[str, Any] = {
        "bearwell": FORM,
        "garden": {"name": named, "units": units},
        "site": site,
    }
    given = {key: value for key, value in (normals or {}).items() if value}
    if given:
        raw["weather"] = {"normals": given}

    def decide(folded: Folded) -> Iterator[Draft]:
        if folded.raw:
            raise BadInput(
                said("{where}: holds a garden already", where=store.where),
                "name another --data to begin another",
            )
        return taken_apart(raw)

    return store.record_from(stamp, decide, knowledge(), today)


def plant_trees(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    kind: str,
    number: int = 1,
    name: str = "",
    year: int | None = None,
    in_pot: bool = False,
    pot: str = "",
    measures: Mapping[str, str] | None = None,
    wording: Callable[[str], str] = str,
) -> Recorded:
    """Record some trees of one kind that stand in the garden, in one go.

    ``kind`` is a key or any of its names. ``year`` is when they were planted; without it they are supposed to
    be of middling age for their kind. ``pot`` is what the pot holds, as "45 L"; without it a middling pot is
    supposed. Both are said in the note of the tree, which is the grower's from then on: ``wording`` says it
    in the grower's language. ``measures`` are height, spread and trunk_girth.
    """
    if not 1 <= number <= MOST_AT_ONCE:
        raise BadInput(
            said("{number} trees cannot be added", number=number),
            said("1 to {most} at once", most=MOST_AT_ONCE),
        )
    if len(name.strip()) > LONGEST_NAME:
        raise BadInput(
            said("the name has {count} letters", count=len(name.strip())),
            said("{most} at most", most=LONGEST_NAME),
        )
    species = knowledge().kind(kind)
    if species.abstract:
        raise BadInput(
            said("'{kind}' is a whole group of kinds", kind=kind), "choose one of its kinds"
        )
    table, supposed = _described(species, today, year)
    if in_pot:
        if not pot:
            pot = f"{knowledge().constant('pot supposed at first').number:g} L"
            supposed.append(said("the pot is supposed to hold {pot}", pot=pot))
        table["grows_in"] = {"container": pot}
    for key, value in (measures or {}).items():
        if key not in _MEASURES:
            raise BadInput(
                said("'{key}' is not a known measure", key=key),
                said("one of {listed}", listed=", ".join(_MEASURES)),
            )
        if value:
            table[key] = value
    if supposed:
        note = said(
            "{supposed}: state it once you know", supposed=listed(supposed, "{one}; {other}")
        )
        table["note"] = str(wording(note))

    def decide(folded: Folded) -> Iterator[Draft]:
        if not folded.raw:
            raise BadInput(
                said("{where}: no garden is kept here yet", where=store.where), "begin it first"
            )
        taken = {named for subject, named in folded.tables if subject == "tree"}
        rows = []
        for at in range(number):
            row = {"id": _free(species.key, taken, alone=number == 1), **table}
            if name.strip():
                row["name"] = name.strip() if number == 1 else f"{name.strip()} {at + 1}"
            taken.add(row["id"])
            rows.append(row)
        return taken_apart({"tree": rows})

    return store.record_from(stamp, decide, knowledge(), today)


def _described(species: Species, today: date, year: int | None) -> tuple[dict[str, Any], list[str]]:
    """The kind and the planting of a tree, and what was supposed."""
    if year is not None:
        if not date.min.year < year <= today.year:
            raise BadInput(
                said("{year} is not a year a tree was planted in", year=year),
                said("{most} at most", most=today.year),
            )
        return {"kind": species.key, "planted": date(year, 1, 1)}, []
    share = knowledge().constant("age supposed at first").number
    years = share * species["years_to_grown"].number
    planted = date((today - years * _YEAR).year, 1, 1)
    return {"kind": species.key, "planted": planted}, [
        said("planting in {year} is supposed", year=planted.year)
    ]


def _free(key: str, taken: set[str], *, alone: bool) -> str:
    """An id that no tree has."""
    if alone and key not in taken:
        return key
    number = 1
    while f"{key}-{number}" in taken:
        number += 1
    return f"{key}-{number}"


__all__ = ["begin_garden", "plant_trees"]
