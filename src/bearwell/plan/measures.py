"""What can be done for one tree before a cold night: which cover, which heat, and what each gives."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from bearwell.garden import Shelter
from bearwell.garden.model import Container
from bearwell.knowledge import Fact
from bearwell.plan.fit import Through
from bearwell.plan.nights import SiteNight, credited_lift
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase
from bearwell.said import said
from bearwell.science.enclosure import Enclosure, enclosure_box, enclosure_gable, enclosure_of
from bearwell.science.shelter import (
    heat_loss,
    heat_transfer_of_shelter,
    steady_lift,
    water_store_power,
)
from bearwell.season.cold import Limit

When = Literal["by day", "before sunset", "at nightfall"]
CLOTHS = (
    "frost cloth 17 g/m2",
    "frost cloth 40 g/m2",
    "frost cloth 60 g/m2",
    "frost cloth 100 g/m2",
)
CARRIED_AT_MOST = 4  # times the heaviest pot that is carried, for a trolley and two people
WATTS_STEP = 50.0  # W to which heat is told
_GRAMS = 1000.0  # g/kg


@dataclass(frozen=True)
class Measure:
    """One thing to do before a cold night. ``shelter`` is done once for all trees that stand in it."""

    key: str
    text: Phrase
    minutes: float
    when: When = "before sunset"
    shelter: str | None = None
    because: tuple[Because, ...] = ()


@dataclass(frozen=True)
class Lack:
    """How much warmer the tree has to be kept [K], and for which organ."""

    kelvin: float
    limit: Limit


@dataclass(frozen=True)
class HeatBalance:
    """What one degree costs under a cover [W/K], its measures, and what was assumed of them."""

    each: float
    room: Enclosure
    transmittance: Fact
    air_changes: float
    assumed: bool


_CASES = {
    "heat": ("heat", "second cover"),
    "cover": ("cover", "close", "second cover", "heat", "wrap pot"),
    "pot": ("move pot", "wrap pot"),
}


def caution_cases(keys: Iterable[str], view: View) -> tuple[str, ...]:
    """The cases whose cautions belong to measures: lamps where they are advised, pots where they move."""
    named = set(keys)
    cases = [case for case, measures in _CASES.items() if named & set(measures)]
    lineage = view.species.lineage if "pot" in cases else ()
    return (*cases, *lineage)


def lack_of(limits: list[Limit], lowest: float, margin: float) -> Lack | None:
    """What the tenderest organ lacks in a night, with the margin that limits are honest to."""
    if not limits:
        return None
    worst = max(limits, key=lambda limit: limit.temperature)
    return Lack(max(worst.temperature + margin - lowest, 0.0), worst)


def measures_for(
    view: View, night: SiteNight, lack: Lack, hurt: list[Limit], sharing: int = 1
) -> tuple[Measure, ...]:
    """Everything worth doing for a tree before a night, in the order of the day.

    ``sharing`` is how many trees stand in its shelter: closing it is done once for all of them.
    """
    found: list[Measure] = []
    if view.tree.pot is None and any(limit.organ == "fruit" for limit in hurt):
        text = phrase("Pick what is ripe before that night.")
        found.append(Measure("pick", text, 15, "by day"))
    if view.tree.pot is not None:
        found += _pot(view, view.tree.pot, lack)
    elif view.tree.shelter:
        found += _sheltered(view, night, lack, sharing)
    else:
        found += _in_the_open(view, night, lack)
    if view.tree.pot is None:
        found.append(_moist_ground(night))
    order = ("by day", "before sunset", "at nightfall")
    return tuple(sorted(found, key=lambda one: order.index(one.when)))


def _moist_ground(night: SiteNight) -> Measure:
    text = phrase(
        "Water dry soil by midday and leave it bare and firm: moist ground gives off most heat. Not in the freeze."
        if night.sort != "advection"
        else "Water dry soil before it: a dry root stands the wind worst."
    )
    return Measure("water", text, 5, "by day")


# ---------------------------------------------------------------------------- pots


def pot_mass(view: View) -> float:
    """What the wet pot weighs by its medium, about [g]; nothing for a tree in the ground."""
    pot = view.tree.pot
    return 0.0 if pot is None else pot.volume * _wet_mass(view, pot).number


def _wet_mass(view: View, pot: Container) -> Fact:
    return view.book.item("containers", pot.medium)["wet_mass"]


def _pot(view: View, pot: Container, lack: Lack) -> list[Measure]:
    mass, most = pot_mass(view), view.constant("heaviest pot carried")
    why = from_fact(
        "A wet pot of {medium} weighs about {value}: this one about {mass}",
        _wet_mass(view, pot),
        medium=said(pot.medium),
        mass=amount(mass, "g"),
    )
    water = Measure(
        "water pot", phrase("Water the pot before it: wet soil freezes slowly."), 3, "by day"
    )
    if mass > CARRIED_AT_MOST * most.number:
        text = phrase(
            "Too heavy to carry at about {mass}: push it with others against a wall, wrap the pot down to "
            "the ground, cover the top.",
            mass=amount(mass, "g"),
        )
        return [water, Measure("wrap pot", text, 15, because=(why,))]
    rows = {
        name: view.book.item("covers", name)["lift"] for name in ("wall only", "indoors unheated")
    }
    near = rows["wall only"]
    place = (
        "wall only" if lack.kelvin <= near.least + 1e-9 or lack.kelvin <= 0 else "indoors unheated"
    )
    lift = rows[place]
    links = [
        why,
        from_fact(
            "There it is about {value} warmer; a wall alone gives nothing after a dull day or in wind",
            lift,
        ),
    ]
    heavy = mass > most.number
    text = phrase(_CARRY[place, heavy], mass=amount(mass, "g"))
    return [water, Measure("move pot", text, 15 if heavy else 8, because=tuple(links))]


# How a pot is carried, by where to and whether it is too heavy for one.
_CARRY = {
    ("wall only", False): (
        "Carry the pot (about {mass}) under eaves against a wall that had sun; out again when it is above freezing."
    ),
    ("wall only", True): (
        "Carry the pot (about {mass}) with a second person or a trolley under eaves against a wall that had sun; "
        "out again when it is above freezing."
    ),
    ("indoors unheated", False): (
        "Carry the pot (about {mass}) into a porch, garage or cool room, near its window; out again when it is "
        "above freezing."
    ),
    ("indoors unheated", True): (
        "Carry the pot (about {mass}) with a second person or a trolley into a porch, garage or cool room, near "
        "its window; out again when it is above freezing."
    ),
}


# ---------------------------------------------------------------------------- under a shelter


def heat_balance(view: View, shelter: Shelter | None, cover: str) -> HeatBalance | None:
    """What a degree costs under a cover: by the shelter's measures, else a box just round the tree."""
    row = view.book.item("covers", cover)
    transmittance, changes = row.get("heat_transfer"), row.get("air_changes")
    if transmittance is None or changes is None:
        return None
    room, assumed = _room(view, shelter)
    if room is None:
        return None
    air = changes.number
    if shelter is not None and shelter.air_changes is not None:
        air = shelter.air_changes
    each = heat_transfer_of_shelter(room.cover, transmittance.number, room.air, air)
    return HeatBalance(each, room, transmittance, air, assumed)


def _room(view: View, shelter: Shelter | None) -> tuple[Enclosure | None, bool]:
    if shelter is not None:
        if shelter.shape == "wall":
            return None, False
        if shelter.length and shelter.width and shelter.height:
            measures = (shelter.length, shelter.width, shelter.height)
            if shelter.shape == "gable":
                return enclosure_gable(*measures, view.constant("eaves of a gable").number), False
            return enclosure_of(shelter.shape, *measures), False
    off = view.constant("cover stands off").number
    along, across = (side + 2 * off for side in view.size.spread)
    return enclosure_box(along, across, view.size.height + off), True


def _sheltered(view: View, night: SiteNight, lack: Lack, sharing: int) -> list[Measure]:
    shelter = view.garden.shelter(view.tree.shelter)
    if shelter is None:
        return []
    if shelter.shape == "wall":
        return _by_the_wall(view, night, lack, shelter)
    if view.through is not None:
        return _cannot_close(view, night, lack, shelter, view.through)
    close = Measure(
        "close",
        phrase(
            "Close the {shelter} while the soil is still warm; open it next morning.",
            shelter=shelter.id,
        ),
        5 / max(sharing, 1),
        shelter=shelter.id,
    )
    found = [close]
    balance = heat_balance(view, shelter, shelter.cover)
    if balance is None:
        return found
    left = lack.kelvin
    store = _barrels(night, shelter, balance)
    if store is not None:
        measure, gives = store
        left = max(left - gives, 0.0)
        found.append(measure)
    if left > 0:
        found.append(_heat(view, left, balance, shelter, sharing))
    return found


def _cannot_close(
    view: View, night: SiteNight, lack: Lack, shelter: Shelter, through: Through
) -> list[Measure]:
    """A shelter that a tree stands through keeps no warmth in: its trees are covered as in the open."""
    text = phrase(
        "The {shelter} cannot be closed: {tree} stands {by} through it. It counts as no warmer, and heat in it "
        "goes out at the gap.",
        shelter=shelter.id,
        tree=through.tree.called,
        by=amount(round(through.by, 2), "m"),
    )
    told = Measure("cannot close", text, 0, shelter=shelter.id, because=(through.because,))
    return [told, *_in_the_open(view, night, lack)]


def _by_the_wall(view: View, night: SiteNight, lack: Lack, shelter: Shelter) -> list[Measure]:
    """A wall closes nothing: what it lacks is covered as in the open."""
    if lack.kelvin <= 0:
        return [
            Measure(
                "wall",
                phrase(
                    "The {shelter} may suffice: read the thermometer beside it.", shelter=shelter.id
                ),
                2,
                "at nightfall",
            )
        ]
    return _in_the_open(view, night, lack)


def _heat_links(view: View, balance: HeatBalance) -> tuple[Because, ...]:
    ground = view.constant("heat of the ground")
    held = ground.number * balance.room.ground / balance.each
    return (
        computed(
            "No measures are given, so a box just round the tree: {cover} of cover, {air} of air"
            if balance.assumed
            else "By its measures: {cover} of cover, {air} of air",
            round(balance.room.cover, 1),
            "m2",
            cover=amount(balance.room.cover, "m2"),
            air=amount(balance.room.air, "m3"),
        ),
        from_fact("The cover lets {value} through", balance.transmittance),
        computed(
            "With {changes} changes of air an hour a degree costs {each}",
            round(balance.each, 1),
            "W",
            changes=said("{changes:g}", changes=balance.air_changes),
            each=amount(balance.each, "W"),
        ),
        from_fact(
            "Ground that gives off {value} would hold it {held} above the night by this sum; a clear sky takes "
            "more through film, so the lift of the cover above stands for it",
            ground,
            held=amount(held, "K"),
        ),
    )


def _heat(
    view: View, lack: float, balance: HeatBalance, shelter: Shelter | None, sharing: int
) -> Measure:
    """Lamps or a heater for what a cover does not give."""
    need = heat_loss(
        balance.room.cover,
        balance.transmittance.number,
        balance.room.air,
        balance.air_changes,
        lack,
    )
    told = max(round(need / WATTS_STEP), 1) * WATTS_STEP
    lamp, circuit = view.constant("lamp"), view.constant("warmest circuit")
    each = steady_lift(
        lamp.number,
        balance.room.cover,
        balance.transmittance.number,
        balance.room.air,
        balance.air_changes,
    )
    links = [
        *_heat_links(view, balance),
        from_fact(
            "{value} of lamps is worth about {each} there", lamp, each=amount(round(each, 1), "K")
        ),
    ]
    minutes, key = 10 / max(sharing, 1), shelter.id if shelter else None
    if shelter is not None and shelter.heater:
        gives = steady_lift(
            shelter.heater,
            balance.room.cover,
            balance.transmittance.number,
            balance.room.air,
            balance.air_changes,
        )
        text = phrase(
            "Switch on the heater of {heater} in the {shelter}: about {gives} more where {lack} is lacking, which "
            "suffices."
            if gives >= lack
            else "Switch on the heater of {heater} in the {shelter}: about {gives} more where {lack} is lacking, "
            "which does not suffice: {watts} would.",
            heater=amount(shelter.heater, "W"),
            shelter=shelter.id,
            gives=amount(round(gives, 1), "K"),
            lack=amount(round(lack, 1), "K"),
            watts=amount(told, "W"),
        )
        return Measure("heat", text, minutes, "at nightfall", key, tuple(links))
    links.append(from_fact("One circuit carries about {value} through a night", circuit))
    if told > circuit.number:
        text = phrase(
            "It lacks about {lack}: that would take some {watts}, more than one circuit carries ({most}). Cover "
            "the tree a second time inside, down to the ground, and lamps within that.",
            lack=amount(round(lack, 1), "K"),
            watts=amount(told, "W"),
            most=amount(circuit.number, "W"),
        )
        return Measure("second cover", text, minutes, "before sunset", key, tuple(links))
    text = phrase(
        "It lacks about {lack}: {watts} of lamps or a heater through the night, low, under the cover and clear "
        "of it.",
        lack=amount(round(lack, 1), "K"),
        watts=amount(told, "W"),
    )
    return Measure("heat", text, minutes, "at nightfall", key, tuple(links))


def _barrels(
    night: SiteNight, shelter: Shelter, balance: HeatBalance
) -> tuple[Measure, float] | None:
    """What a store of water gives back as it cools from the evening's air to no less than freezing."""
    if not shelter.water or night.evening is None or night.length <= 0:
        return None
    day = night.evening
    end = max(night.lowest, 0.0)
    if day <= end:
        return None
    power = water_store_power(shelter.water * _GRAMS, day, end, night.length)
    gives = power / balance.each
    text = phrase(
        "Leave the {water} of water uncovered in the {shelter}: cooling from {start} to {end} it gives about "
        "{power}, worth {gives}.",
        water=amount(shelter.water, "L"),
        shelter=shelter.id,
        start=amount(day, "degC"),
        end=amount(end, "degC"),
        power=amount(round(power), "W"),
        gives=amount(round(gives, 1), "K"),
    )
    why = computed(
        "A litre gives 1.16 Wh for each degree it cools, and 93 Wh more should it freeze",
        round(power),
        "W",
    )
    return Measure("barrels", text, 1, "before sunset", shelter.id, (why,)), gives


# ---------------------------------------------------------------------------- in the open


def young_trunk(view: View) -> bool:
    """Whether the trunk is young: counted from planting, as a new top on an old tree stands on old wood."""
    years = view.tree.years_planted(view.today)
    return years < view.constant("young tree years").number


def _in_the_open(view: View, night: SiteNight, lack: Lack) -> list[Measure]:
    found: list[Measure] = []
    tallest = view.constant("tallest tree to cover")
    if young_trunk(view):
        text = phrase("Bank clean soil round the young trunk; take it away when frost is over.")
        found.append(Measure("bank", text, 10))
    if view.size.height > tallest.number:
        text = phrase(
            "At {height} it is too tall to cover from the ground: keep the soil moist and bare, and let the "
            "top take its chance.",
            height=amount(view.size.height, "m"),
        )
        why = from_fact("A cloth goes on safely up to about {value}", tallest)
        return [*found, Measure("too tall", text, 0, because=(why,))]
    cloth, enough = _cloth(view, night, lack.kelvin)
    lift = view.book.item("covers", cloth)["lift"]
    gives = credited_lift(lift.number, night.sort, view.book)
    text = phrase(
        "Cover with {cloth} down to the ground, off the leaves where you can, edges weighed down: about {gives} "
        "(it can be nothing), which may suffice."
        if enough
        else "Cover with {cloth} down to the ground, off the leaves where you can, edges weighed down: about "
        "{gives} (it can be nothing), which falls short of the {lack} that is lacking: trunk and inner wood first.",
        cloth=said(cloth),
        gives=amount(round(gives, 1), "K"),
        lack=amount(round(lack.kelvin, 1), "K"),
    )
    why = from_fact(
        "Such a cloth gives about {value} on a still clear night, at times none or less than none",
        lift,
    )
    found.append(Measure("cover", text, 10, because=(why,)))
    if not enough and night.sort != "advection":
        balance = heat_balance(view, None, cloth)
        if balance is not None:
            found.append(_heat(view, lack.kelvin - max(gives, 0.0), balance, None, 1))
    return found


def _cloth(view: View, night: SiteNight, lack: float) -> tuple[str, bool]:
    """The lightest cloth whose honest lift is enough, else the heaviest; and whether it is enough."""
    for cloth in CLOTHS:
        lift = view.book.item("covers", cloth)["lift"].number
        if credited_lift(lift, night.sort, view.book) >= lack:
            return cloth, True
    return CLOTHS[-1], False
