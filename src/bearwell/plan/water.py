"""Watering from the balance of rain and use: how much, and by when."""

from __future__ import annotations

from datetime import timedelta

from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import View
from bearwell.reasons import Because, amount, computed, from_fact, phrase
from bearwell.season.water import WaterState


def _round_of_water(view: View, state: WaterState) -> tuple[float, tuple[Because, ...]]:
    """Litres for one watering, and why."""
    efficiency = view.constant("irrigation efficiency")
    litres = state.deficit / efficiency.number
    links = [
        computed(
            "Over {days} days it has lost {deficit} more than it got; it can lose {ready} of {total} "
            "before it is short",
            state.deficit,
            "L",
            days=state.days_counted,
            deficit=amount(state.deficit, "L"),
            ready=amount(state.ready, "L"),
            total=amount(state.total, "L"),
        ),
        from_fact("About {value} of what is given stays in the root zone", efficiency),
    ]
    if view.tree.pot is not None:
        leach = view.constant("leaching share")
        litres = min(litres, state.ready / efficiency.number) * (1 + leach.number)
        links.append(from_fact("A pot gets {value} more so that salts leave with it", leach))
        return litres, tuple(links)
    deepest = view.constant("deepest watering")
    most = deepest.number * 1000 * view.size.area
    if litres > most:
        litres = most
        links.append(
            from_fact("At most {value} at once on its shadow, or it runs past the roots", deepest)
        )
    return litres, tuple(links)


def _cases(view: View) -> list[str]:
    """Which narrower cautions of watering hold: for pots, and in weeks that may freeze."""
    cases = ["pot"] if view.tree.pot is not None else []
    climate = view.site.climate
    if climate is not None:
        day = min(view.today.timetuple().tm_yday, len(climate.tmin)) - 1
        if climate.tmin[day] < view.constant("frosty weeks").number:
            cases.append("frost")
    return cases


def plan_water(view: View) -> list[Advice]:
    """A watering when the root zone nears the point where the tree runs short."""
    state = view.water
    if state is None or state.daily_use <= 0:
        return []
    days_left = max(0.0, (state.ready - state.deficit) / state.daily_use)
    horizon = 3 if view.tree.pot is not None else 7
    if days_left > horizon:
        return []
    litres, why_litres = _round_of_water(view, state)
    links = [*state.because, *why_litres]
    remarks = []
    if state.unknown_rain:
        remarks.append(
            phrase(
                "Rain is unknown on {days} of these days and counted as none",
                days=state.unknown_rain,
            )
        )
    if state.usual_days > 3:
        remarks.append(
            phrase(
                "{days} of these days stand on the usual weather, not on this year's: feel the soil first",
                days=state.usual_days,
            )
        )
    if view.tree.last_done("water", view.today) is None:
        remarks.append(phrase("It counts no watering: none is written down for this tree"))
    shelter = view.garden.shelter(view.tree.shelter)
    if shelter is not None and shelter.shape != "wall":
        remarks.append(
            phrase(
                "Under the closed {shelter} no rain reaches it: feel the soil", shelter=shelter.id
            )
        )
    lacking = state.deficit / view.constant("irrigation efficiency").number
    if view.tree.pot is None and lacking > 1.3 * litres:
        remarks.append(
            phrase(
                "It lacks some {lacking} in all: give this now and again every week until rain",
                lacking=amount(float(round(lacking)), "L"),
            )
        )
    latest = view.today + timedelta(days=round(min(days_left, horizon)))
    litres = round(litres, 1) if litres < 10 else float(round(litres))
    low, high = round(litres * 0.7, 1), round(litres * 1.3, 1)
    return [
        Advice(
            id=view.advice_id("water", "root-zone", view.today),
            tree=view.tree.id,
            kind="water",
            window=Window(view.today, min(view.today + timedelta(days=1), latest), latest),
            headline=phrase("Water the pot" if view.tree.pot else "Water, deep and slowly"),
            quantity=amount(litres, "L", low, high),
            display=phrase("{litres} in all", litres=amount(litres, "L")),
            steps=(
                phrase("Until a little runs out below; empty the saucer.")
                if view.tree.pot
                else phrase(
                    "From the drip line inwards, off the trunk, in one slow go; then leave it until the next "
                    "round."
                ),
                phrase(
                    "First put a finger or a trowel in: if it is still moist a hand deep, wait."
                ),
            ),
            cautions=view.cautions("water", *_cases(view)),
            minutes=5 if view.tree.pot else 15,
            because=tuple(links),
            changes=phrase("Rain, a hot spell, or your own finger in the soil"),
            details={
                "deficit_l": round(state.deficit, 1),
                "ready_l": round(state.ready, 1),
                "use_l_d": round(state.daily_use, 2),
                "days_left": round(days_left, 1),
            },
            remarks=tuple(remarks),
        )
    ]
