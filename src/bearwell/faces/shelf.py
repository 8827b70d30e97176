"""The shelf and the feeding sheet made ready for every face."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from bearwell.api import (
    CUP_PARTS,
    Band,
    LoadedGarden,
    Placed,
    Product,
    SheetLine,
    Tree,
    Window,
    band_for,
    in_measures,
    shelf_of,
)
from bearwell.errors import BadInput
from bearwell.faces.feeding import Dose, dose_notes, doses_of, held_by
from bearwell.faces.language import _, say
from bearwell.faces.words import Words
from bearwell.quantities import Quantity
from bearwell.said import said

_SPOONS, _QUARTERS = max(CUP_PARTS), min(CUP_PARTS)


@dataclass(frozen=True)
class Unserved:
    """A tree with rounds that no bag on the shelf serves."""

    tree: Tree
    rounds: int


def unused_because(opened: LoadedGarden, product: Product, words: Words) -> str:
    """Why the coming year takes nothing of a product."""
    least = opened.book.constant("least release of a feed").number
    release = opened.book.item("releases", product.release)["first_season"].number
    if not any(product.grade):
        return _("Its label holds no nitrogen, phosphate or potash: it feeds no tree.")
    if release < least:
        first = words.quantity(Quantity(release, "1"))
        return _(
            "It frees only about {share} of its nitrogen in a season: a mulch, not a feed.",
            share=first,
        )
    shelves = [shelf_of(one.view) for one in opened.schedule.trees.values()]
    if not any(product in shelf.products for shelf in shelves):
        if product.kept_for:
            return _(
                "You keep it for {kinds}, and no tree here is that.",
                kinds=", ".join(product.kept_for),
            )
        return _("Every tree has bags you keep for it, and those come first.")
    if not product.grade[0]:
        return _("No round lacks what it holds: the bags with nitrogen bring enough of it.")
    return _("Other bags fit what the trees want better, or cost less.")


def unserved(opened: LoadedGarden) -> list[Unserved]:
    """Trees with rounds to come that no bag serves."""
    found = []
    for tree in opened.garden.trees:
        scheduled = opened.schedule.trees.get(tree.id)
        count = sum(
            1
            for one in (scheduled.rounds if scheduled else ())
            if not one.blocked
            and one.carried_by is None
            and one.given is None
            and one.window.latest >= opened.today
            and (one.blend is None or not one.blend.doses)
        )
        if count:
            found.append(Unserved(tree, count))
    return found


# ---------------------------------------------------------------- the sheet


@dataclass(frozen=True)
class Line:
    """A tree on the sheet: what it is given, where, and what to mind."""

    tree: Tree
    placed: Placed
    doses: tuple[Dose, ...]
    ring: Band | None
    notes: tuple[str, ...]
    opens_later: bool


@dataclass(frozen=True)
class Total:
    """What to carry of a product."""

    product: Product
    mass: float
    measures: str

    @property
    def lacking(self) -> float:
        """What the shelf is short of for these rounds [g]; nothing where the stock is not known."""
        stock = self.product.on_hand
        return 0.0 if stock is None else max(self.mass - stock, 0.0)


@dataclass(frozen=True)
class Held:
    """A round that would fall into these days but is held back."""

    tree: Tree
    window: Window
    reason: str


@dataclass(frozen=True)
class Sheet:
    """The rounds of the coming days in walking order, what to carry, what is held back."""

    days: int
    lines: tuple[Line, ...]
    totals: tuple[Total, ...]
    held: tuple[Held, ...]
    cautions: tuple[str, ...]
    minutes: float


def days_asked(days: int) -> int:
    """The days of a sheet, within reason."""
    if not 1 <= days <= 366:
        raise BadInput(said("{days} days cannot be put on a sheet", days=days), "between 1 and 366")
    return days


def filled(mass: float, cup: float | None) -> str:
    """A mass to fill in whole measures: quarter cups, and the spoons beside them."""
    plain = in_measures(mass, cup)
    if not cup or (plain and "spoon" not in plain):
        return say(plain)
    spoons = round(_SPOONS * mass / cup)
    quarters, rest = divmod(spoons, _SPOONS // _QUARTERS)
    if abs(_SPOONS * mass / cup - spoons) >= 0.02 or not quarters or not rest:
        return say(plain)
    cups = in_measures(quarters * cup / _QUARTERS, cup)
    return _(
        "{cups} and {spoons}", cups=say(cups), spoons=say(in_measures(rest * cup / _SPOONS, cup))
    )


def sheet(opened: LoadedGarden, found: tuple[SheetLine, ...], days: int, words: Words) -> Sheet:
    """The feeding sheet."""
    lines = tuple(_line(opened, one, words) for one in found)
    masses: dict[str, float] = {}
    for line in lines:
        for dose in line.doses:
            masses[dose.product.id] = masses.get(dose.product.id, 0.0) + dose.mass
    products = {one.id: one for one in opened.garden.products}
    totals = tuple(
        Total(products[key], mass, filled(mass, products[key].cup_mass))
        for key, mass in masses.items()
    )
    advice = {one.id: one for line in lines for one in opened.advice(line.tree)}
    own = [advice[key] for line in lines if (key := _advice_id(opened, line)) in advice]
    cautions = tuple(dict.fromkeys(say(text) for one in own for text in one.cautions))
    return Sheet(
        days, lines, totals, tuple(_held(opened, days)), cautions, sum(x.minutes for x in own)
    )


def _advice_id(opened: LoadedGarden, line: Line) -> str:
    one = line.placed.round
    return opened.view(line.tree).advice_id("feed", one.key, one.window.best)


def _line(opened: LoadedGarden, found: SheetLine, words: Words) -> Line:
    tree, placed, view = found.tree, found.placed, opened.view(found.tree)
    doses = doses_of(opened.garden.products, placed.blend.doses) if placed.blend else ()
    nitrogen = sum(dose.mass * dose.product.grade[0] / 100 for dose in doses)
    ring = None if tree.pot is not None else band_for(view, nitrogen)
    notes = dose_notes(placed, words)
    water, setback = (
        opened.garden.feeding.distance_to_water,
        opened.book.constant("water setback").number,
    )
    if ring is not None and water is not None and water < setback + ring.outer:
        metres = words.quantity(Quantity(setback, "m"))
        notes.append(_("Leave {length} towards the open water unfed", length=metres))
    return Line(
        tree,
        placed,
        doses,
        ring,
        tuple(notes),
        placed.window.earliest > opened.today,
    )


def _held(opened: LoadedGarden, days: int) -> list[Held]:
    last = opened.today + timedelta(days=days)
    found = []
    for tree in opened.garden.trees:
        scheduled = opened.schedule.trees.get(tree.id)
        for one in scheduled.rounds if scheduled else ():
            now = one.window.earliest <= last and one.window.latest >= opened.today
            if one.blocked and one.given is None and one.carried_by is None and now:
                found.append(Held(tree, one.window, held_by(one)))
    return found
