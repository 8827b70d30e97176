"""Tonight for the whole garden: every tree's danger, one evening walk, and the morning after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import pi

from bearwell.garden import Evening
from bearwell.plan.cold import Harm, Spell, TreeNight, harms, spells_of, tree_nights
from bearwell.plan.measures import Measure, caution_cases, pot_mass
from bearwell.plan.nights import Rule, SiteNight, evening_rule, nights_of_site, reading_of
from bearwell.plan.view import View
from bearwell.reasons import Because, Phrase, amount, from_fact, phrase
from bearwell.said import said
from bearwell.science.humidity import atmospheric_pressure_fao56
from bearwell.science.waterfrost import air_temperature_at_wet_bulb, sprinkler_flow
from bearwell.season.hardiness import Hardness, hardness

WET_BULBS = (0.0, -1.0, -2.0, -3.0)  # degC, limits a grower may keep to
_CIRCLE = pi  # area of a circle of radius 1


@dataclass(frozen=True)
class TreeTonight:
    """One tree tonight: the night at it, what it may do, and the spell it belongs to if it is to be kept."""

    view: View
    night: TreeNight
    harms: tuple[Harm, ...]
    hard: Hardness
    spell: Spell | None

    @property
    def worst(self) -> Harm:
        """The organ likeliest to be hurt."""
        return self.harms[0]


@dataclass(frozen=True)
class Stop:
    """A place of the evening walk and what is done there; ``trees`` are their ids.

    ``cautions`` belong to its tasks and were told at no stop before it.
    """

    key: str
    title: str
    trees: tuple[str, ...]
    tasks: tuple[Task, ...]
    cautions: tuple[str, ...] = ()

    @property
    def minutes(self) -> float:
        """Minutes of work at it."""
        return sum(task.minutes for task in self.tasks)


@dataclass(frozen=True)
class Task:
    """One thing to tick off; ``key`` stays the same from one loading of the page to the next."""

    key: str
    text: Phrase
    minutes: float
    when: str
    tree: str | None = None
    because: tuple[Because, ...] = ()


@dataclass(frozen=True)
class WaterRule:
    """When water may start at tonight's dew point, and how much of it the night takes.

    ``starts`` are pairs of the wet bulb kept to and the air at which to start [degC]. ``rate`` is
    millimetres an hour, None beyond the table; ``flow`` litres an hour for what one jet wets.
    """

    dew_point: float
    starts: tuple[tuple[float, float], ...]
    rate: float | None
    flow: float | None
    windy: bool
    because: tuple[Because, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tonight:
    """The night to the day after ``today``; ``night`` is None where nothing is forecast or read.

    ``cautions`` are all that are told: at the stops, with the water, and those ``beside`` them.
    """

    today: date
    night: SiteNight | None
    reading: Evening | None
    rule: Rule | None
    trees: tuple[TreeTonight, ...]
    stops: tuple[Stop, ...]
    morning: tuple[Phrase, ...]
    later: tuple[tuple[date, tuple[str, ...]], ...]
    water: WaterRule | None
    cautions: tuple[str, ...]

    @property
    def beside(self) -> tuple[str, ...]:
        """The cautions that are told neither at a stop nor with the water."""
        told = {text for stop in self.stops for text in stop.cautions}
        told |= set(self.water.cautions if self.water is not None else ())
        return tuple(text for text in self.cautions if text not in told)

    @property
    def minutes(self) -> float:
        """Minutes of the whole walk."""
        return sum(stop.minutes for stop in self.stops)


def plan_tonight(views: Sequence[View], today: date, reading: Evening | None = None) -> Tonight:
    """Tonight for trees given in walking order. ``reading`` stands in for the garden file's own."""
    if not views:
        return Tonight(today, None, reading, None, (), (), (), (), None, ())
    first = views[0]
    read = reading or reading_of(first.garden, today)
    nights = nights_of_site(first.garden, first.site, first.book, today, read)
    night = next((one for one in nights if (one.day - today).days == 1), None)
    trees: list[TreeTonight] = []
    later: dict[date, list[str]] = {}
    for view in views:
        spells = spells_of(view, read)
        for spell in spells:
            begins = spell.coming[0].day
            if (begins - today).days > 1:
                later.setdefault(begins, []).append(view.tree.id)
        if night is not None:
            mine = next((s for s in spells if s.coming[0].day == night.day), None)
            trees.append(_tree_tonight(view, night, mine, read))
    kept = [one for one in trees if one.spell is not None]
    stops = _with_cautions(_walk(kept), {one.view.tree.id: one.view for one in kept})
    water = None if night is None else _water(first, night)
    rule = evening_rule(first.garden.cold.listed, first.book)
    return Tonight(
        today,
        night,
        read,
        rule,
        tuple(sorted(trees, key=lambda one: -one.worst.chance)),
        stops,
        _morning(stops),
        tuple((day, tuple(ids)) for day, ids in sorted(later.items())),
        water,
        _cautions(kept, stops, water),
    )


def _tree_tonight(
    view: View, night: SiteNight, spell: Spell | None, reading: Evening | None
) -> TreeTonight:
    limits, nights, _ = tree_nights(view, reading)
    mine = next(one for one in nights if one.day == night.day)
    return TreeTonight(
        view, mine, harms(limits, mine), hardness(view.site, view.today, view.book), spell
    )


# ---------------------------------------------------------------------------- the walk


def _walk(kept: Sequence[TreeTonight]) -> tuple[Stop, ...]:
    """Daylight first; then pots, tenderest and lightest first; then the rest in the order of the file."""
    pots = [one for one in kept if one.view.tree.pot is not None]
    pots.sort(key=lambda one: (-one.worst.limit.temperature, pot_mass(one.view)))
    stops: list[Stop] = _by_day(kept)
    if pots:
        tasks = [task for one in pots for task in _tasks(one, _measures(one))]
        stops.append(
            Stop(
                "pots",
                said("Pots, tenderest first"),
                tuple(o.view.tree.id for o in pots),
                tuple(tasks),
            )
        )
    done: set[str] = set()
    rest = [one for one in kept if one.view.tree.pot is None]
    for one in rest:
        shelter = one.view.garden.shelter(one.view.tree.shelter)
        if shelter is None or shelter.shape == "wall":
            tree = one.view.tree
            if _measures(one):
                stops.append(Stop(tree.id, tree.called, (tree.id,), _tasks(one, _measures(one))))
        elif shelter.id not in done:
            done.add(shelter.id)
            under = [o for o in rest if o.view.tree.shelter == shelter.id]
            stops.append(_shelter_stop(shelter.id, under))
    return tuple(stops)


def _by_day(kept: Sequence[TreeTonight]) -> list[Stop]:
    """What is done in daylight for several trees alike: one round for each sort of work."""
    found: dict[str, list[tuple[TreeTonight, Measure]]] = {}
    for one in kept:
        for measure in one.spell.measures if one.spell is not None else ():
            if measure.when == "by day":
                found.setdefault(measure.key, []).append((one, measure))
    tasks = []
    for key, pairs in found.items():
        names = ", ".join(one.view.tree.called for one, _ in pairs)
        first = pairs[0][1]
        text = phrase("{what} {names}.", what=first.text, names=names)
        minutes = sum(measure.minutes for _, measure in pairs)
        tasks.append(Task(f"day:{key}", text, minutes, first.when, None, first.because))
    trees = {one.view.tree.id: None for pairs in found.values() for one, _ in pairs}
    return [Stop("day", said("In daylight"), tuple(trees), tuple(tasks))] if tasks else []


def _measures(one: TreeTonight) -> tuple[Measure, ...]:
    """What is done at the tree itself; what is done by day is gathered in a round of its own."""
    if one.spell is None:
        return ()
    return tuple(measure for measure in one.spell.measures if measure.when != "by day")


def _tasks(one: TreeTonight, measures: Sequence[Measure]) -> tuple[Task, ...]:
    tree = one.view.tree
    return tuple(
        Task(f"{tree.id}:{m.key}", m.text, m.minutes, m.when, tree.id, m.because) for m in measures
    )


def _shelter_stop(shelter: str, under: Sequence[TreeTonight]) -> Stop:
    """What is done for each tree in a shelter, then the shelter once, by the tree that lacks most."""
    tasks: list[Task] = []
    for one in under:
        tasks += _tasks(one, [m for m in _measures(one) if m.shelter is None])
    worst = max(under, key=lambda one: one.spell.lack.kelvin if one.spell else 0.0)
    for m in _measures(worst):
        if m.shelter is not None:
            sharing = worst.spell.sharing if worst.spell else 1
            whole = m.minutes * (sharing if m.key in ("close", "heat", "second cover") else 1)
            tasks.append(Task(f"{shelter}:{m.key}", m.text, whole, m.when, None, m.because))
    order = ("by day", "before sunset", "at nightfall")
    tasks.sort(key=lambda task: (not task.key.endswith(":cannot close"), order.index(task.when)))
    return Stop(shelter, shelter, tuple(o.view.tree.id for o in under), tuple(tasks))


def _morning(stops: Sequence[Stop]) -> tuple[Phrase, ...]:
    """The morning after, for what was done in the evening."""
    if not stops:
        return ()
    keys = {task.key.rsplit(":", 1)[1] for stop in stops for task in stop.tasks}
    found = [
        phrase(
            "Read the lowest of the night at leaf height and write it down with the evening's readings."
        )
    ]
    if "heat" in keys:
        found.append(phrase("Lamps and heaters off, cords in and dry."))
    if keys & {"close", "second cover"}:
        found.append(phrase("Open and vent the shelters as soon as the sun is on them."))
    if "cover" in keys:
        found.append(
            phrase("Lift covers once it is above freezing; dry them before the next night.")
        )
    if "move pot" in keys:
        found.append(phrase("Pots out again when it is above freezing, into shade if they froze."))
    found += [
        phrase("Where water ran, let it run until the ice has melted of itself."),
        phrase("Do not cut, feed or strip frozen wood or leaves: wait for the new growth."),
        phrase("Cut a few fruit and flowers across after two to five days to see what was hurt."),
    ]
    return tuple(found)


def _with_cautions(stops: Sequence[Stop], views: dict[str, View]) -> tuple[Stop, ...]:
    """The stops with the cautions of their tasks, each where it comes up first."""
    told: dict[str, None] = {}
    found = []
    for stop in stops:
        keys = [task.key.rsplit(":", 1)[1] for task in stop.tasks]
        here: dict[str, None] = {}
        for view in (views[tree] for tree in stop.trees):
            always = view.cautions("protect")
            for text in view.cautions("protect", *caution_cases(keys, view)):
                if text not in told and text not in always:
                    here[text] = None
        told |= here
        found.append(replace(stop, cautions=tuple(here)))
    return tuple(found)


def _cautions(
    kept: Sequence[TreeTonight], stops: Sequence[Stop], water: WaterRule | None
) -> tuple[str, ...]:
    """Every caution of the evening, once: those of the stops, of the water, and those of any cold night."""
    found = {text: None for stop in stops for text in stop.cautions}
    found |= dict.fromkeys(water.cautions if water is not None else ())
    for one in kept:
        found |= dict.fromkeys(one.view.cautions("protect", "frost"))
    return tuple(found)


# ---------------------------------------------------------------------------- water


def _water(view: View, night: SiteNight) -> WaterRule | None:
    """Start temperatures and rate of water; None where the dew point is not known or it does not freeze."""
    if night.dew_point is None or night.lowest >= 0:
        return None
    damp, book = night.dew_point, view.book
    pressure = float(atmospheric_pressure_fao56(max(view.site.site.elevation, -400.0)))
    starts = tuple(
        (wet, float(air_temperature_at_wet_bulb(wet, damp, pressure)))
        for wet in WET_BULBS
        if wet >= damp
    )
    wind = night.wind
    assumed = book.constant("calm wind").number if wind is None else wind
    windy = assumed >= book.constant("advection wind").number
    rows = [
        row
        for row in book.table("waterrates").values()
        if row["leaf"].number <= night.lowest and row["wind"].number >= assumed
    ]
    best = min(rows, key=lambda row: (-row["leaf"].number, row["wind"].number), default=None)
    across = book.constant("water wets across")
    links: list[Because] = []
    rate = flow = None
    if best is not None and not windy:
        rate = best["rate"].number
        flow = sprinkler_flow(rate, _CIRCLE * across.number**2)
        links = [
            from_fact(
                "At this leaf temperature and wind water over the leaves takes {value} an hour",
                best["rate"],
            ),
            from_fact(
                "A jet wets about {value} round it: {flow} an hour",
                across,
                flow=amount(round(flow), "L"),
            ),
        ]
    always = view.cautions("protect")
    cautions = tuple(t for t in view.cautions("protect", "sprinkler") if t not in always)
    return WaterRule(damp, starts, rate, flow, windy, tuple(links), cautions)
