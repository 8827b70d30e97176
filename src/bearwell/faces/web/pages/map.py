"""The garden from above: what the page says of crowding, how a place is written, and keeping places."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from bearwell import api
from bearwell.api import Canopy, Crowd, GroundPlan, LoadedGarden
from bearwell.errors import BadInput
from bearwell.faces.language import _
from bearwell.faces.web.drawing.map import map_drawing
from bearwell.faces.web.pages.record import Kept, as_kept, stamp_of
from bearwell.faces.web.pages.typed import Form
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, convert

if TYPE_CHECKING:
    from bearwell.api import Store

MOST_FIELDS = 8000  # of the form of places: four for each tree
Typed = Mapping[str, tuple[str, str, str]]  # by tree: east, north, and where it stood


def map_shown(opened: LoadedGarden, plan: GroundPlan, words: Words) -> dict[str, Any]:
    """What the page shows."""
    waiting = [one for one in plan.shelters if one.place is None]
    return {
        "plan": plan,
        "drawing": map_drawing(plan, words, opened.garden.about.name),
        "ahead": words.quantity(Quantity(float(plan.years), "yr")),
        "crowds": [crowd_words(crowd, plan, words) for crowd in plan.crowds],
        "shelters": waiting,
        "supposed": any(one.supposed for one in plan.placed),
        "example": place_line(3.2, 1.5),
        "Quantity": Quantity,
        "length_unit": _unit(words),
        "example_places": [_written(metres, words) for metres in (3.2, 1.5)],
        "written": {one.tree.id: written_place(one, words) for one in plan.canopies},
    }


def crowd_words(crowd: Crowd, plan: GroundPlan, words: Words) -> str:
    """Two crowded trees in a sentence."""
    values = {
        "one": _name(crowd.one),
        "other": _name(crowd.other),
        "trunks": _length(crowd.trunks, words),
        "years": words.quantity(Quantity(float(plan.years), "yr")),
    }
    if crowd.trunks == 0:
        return _("{one} and {other} stand on the same spot: check their places", **values)
    if crowd.touching:
        return _(
            "{one} and {other} touch already: {trunks} from trunk to trunk, {overlap} of canopy in each other's way",
            overlap=_length(-crowd.apart, words),
            **values,
        )
    gap = _length(crowd.apart, words)
    if crowd.expected:
        return _(
            "{one} and {other} will touch within {years} if nobody cuts them back: {trunks} from trunk to trunk, "
            "{gap} between their canopies now",
            gap=gap,
            **values,
        )
    return _(
        "{one} and {other} may touch within {years} if both grow fast: {trunks} from trunk to trunk, {gap} between "
        "their canopies now",
        gap=gap,
        **values,
    )


def _name(canopy: Canopy) -> str:
    return canopy.tree.called


def _length(metres: float, words: Words) -> str:
    return words.quantity(Quantity(round(metres, 2), "m"))


def place_line(east: float, north: float) -> str:
    """The line of a garden file that says where something stands."""
    return f'place = {{ east = "{east:g} m", north = "{north:g} m" }}'


# ---------------------------------------------------------------- keeping


def written_place(canopy: Canopy, words: Words) -> tuple[str, str, str]:
    """Where a tree stands as the form has it: east and north with their unit, and the same in bare metres."""
    if canopy.east is None or canopy.north is None:
        return "", "", ""
    east, north = (_written(metres, words) for metres in (canopy.east, canopy.north))
    return east, north, f"{canopy.east:g} {canopy.north:g}"


def typed_places(form: Form) -> Typed:
    """What a form of places says of each tree; raises BadInput for one that was cut short."""
    trees, *columns = (
        [text.strip() for text in form.get(key, ())] for key in ("tree", "east", "north", "was")
    )
    if any(len(column) != len(trees) for column in columns):
        raise BadInput("the form of places came in part only", "send it from the page of the map")
    rows: list[tuple[str, str, str]] = list(zip(*columns, strict=True))
    return dict(zip(trees, rows, strict=True))


def keep_places(store: Store, opened: LoadedGarden, form: Form, at: datetime) -> list[Kept]:
    """Keep the places that a form states anew, all in one record."""
    stamp = stamp_of(form, at)
    if store.knows(stamp.id):
        return [Kept(stamp.id, repeated=True)]
    words = Words(opened.garden.about.units)
    places, before = {}, {}
    for tree, (east, north, was) in typed_places(form).items():
        stood = _read(was)
        shown = ("", "") if stood is None else tuple(_written(metres, words) for metres in stood)
        if (east, north) == shown:
            continue  # left as it was
        places[tree] = _with_unit(east, words), _with_unit(north, words)
        before[tree] = stood
    done = api.record_places(store, stamp, opened.today, places=places, before=before)
    return [as_kept(done)]


def _unit(words: Words) -> str:
    return "ft" if words.units == "us" else "m"


def _written(metres: float, words: Words) -> str:
    """A length east or north with its unit, to the centimetre."""
    unit = _unit(words)
    return f"{round(convert(metres, 'm', unit), 2):g} {unit}"


def _with_unit(text: str, words: Words) -> str:
    """A length as typed, with the garden's unit where none was written; a comma is a point."""
    plain = text.replace(",", ".")
    return f"{plain} {_unit(words)}" if plain[-1:].isdigit() else plain


def _read(was: str) -> tuple[float, float] | None:
    """Where a tree stood when the form was made [m], None where it had no place."""
    parts = was.split()
    try:
        return (float(parts[0]), float(parts[1])) if len(parts) == 2 else None
    except ValueError:
        return None
