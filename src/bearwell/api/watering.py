"""Use cases of watering: a tree's account with the two weeks ahead, and the whole garden's rounds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bearwell.api.gardens import LoadedGarden
from bearwell.errors import BadInput
from bearwell.plan.watering import TreeWatering
from bearwell.said import said
from bearwell.season.water import AHEAD


@dataclass(frozen=True)
class WaterDay:
    """One day of a tree's account, millimetres on the ground its roots drink from.

    ``missing`` is what lacks in the evening, ``short`` from where the tree feels it, ``given`` what was
    written down or, ahead, what the plan gives; ``supposed`` what a pot must have had unwritten.
    ``measured`` is false where the usual weather stands in.
    """

    day: date
    ahead: bool
    measured: bool
    rain: float
    given: float
    reference: float
    used: float
    drained: float
    missing: float
    short: float
    stress: float
    supposed: float


def tree_watering(opened: LoadedGarden, tree_id: str) -> TreeWatering:
    """The watering of a tree; BadInput for an unknown one or where no weather is known."""
    tree = opened.garden.tree(tree_id)
    found = opened.watering.trees.get(tree.id)
    if found is None:
        raise BadInput(
            said("the watering of '{id}' cannot be planned", id=tree.id),
            "it needs daily weather or monthly normals; see the notes on the garden",
        )
    return found


def water_days(opened: LoadedGarden, watering: TreeWatering) -> tuple[WaterDay, ...]:
    """The account of a tree: the past as it was, the two weeks ahead with the rounds of the plan."""
    state, days = watering.state, watering.state.days
    planned = {one.day: one.net for one in watering.rounds}
    demand = opened.site.demand(
        days.start, days.day(len(days.et0) - 1), opened.garden.watering.wind_height
    )
    found = []
    now = state.morning
    for index in range(state.today + AHEAD):
        day, ahead = days.day(index), index >= state.today
        if ahead:
            given = planned.get(day, 0.0)
            step = state.step(index, now, given)
            now = step[:3]
            used, drained = step.transpiration + step.evaporation, step.drainage
            missing, stress = step.depletion, step.stress
        else:
            given, used = float(days.given[index]), float(days.used[index])
            drained, missing = float(days.drainage[index]), float(days.depletion[index])
            stress = float(days.stress[index])
        found.append(
            WaterDay(
                day, ahead, bool(demand.measured[index]), float(days.rain[index]), given,
                float(days.et0[index]), used, drained, missing, state.short_at(index), stress,
                float(days.supposed[index]),
            )
        )  # fmt: skip
    return tuple(found)
