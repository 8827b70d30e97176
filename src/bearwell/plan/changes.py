"""What to change after a season: proposals worked out from what was advised and what was recorded.

Each carries its reasons. Nothing is called undone: where nothing is written down, the proposal is to write.
"""

from __future__ import annotations

from bearwell.plan.change import (
    LACK_WORTH,
    Change,
    Findings,
)
from bearwell.plan.changes_dates import date_changes
from bearwell.plan.changes_done import (
    feeding_changes,
    left_out_changes,
    off_day_changes,
    unwritten_changes,
)
from bearwell.plan.cropload import current_plan
from bearwell.plan.reviewed import CropLook
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, phrase, recorded
from bearwell.said import said
from bearwell.season.cold import said_colder


def changes_of(found: Findings) -> list[Change]:
    """What to change for one tree, in the order in which it weighs."""
    return [
        *feeding_changes(found),
        *off_day_changes(found),
        *_swing(found),
        *_crops(found),
        *_water(found),
        *_cold(found),
        *date_changes(found),
        *left_out_changes(found.view.tree.id, found.matched.lines),
        *unwritten_changes(found),
    ]


# ---------------------------------------------------------------- crop


def _swing(found: Findings) -> list[Change]:
    """The year after a heavy crop, of a tree that swings."""
    plan = current_plan(found.view)
    if plan is None or not plan.bears:
        return []
    outlook = plan.outlook
    last = outlook.last
    if last is None or last[2] != "on" or outlook.next_state != "off":
        return []
    year, load, _ = last
    why = recorded(
        "The crop of {year} was {load} times an even one by number",
        load,
        "1",
        year=str(year),
        load=said("{times:.2g}", times=load),
    )
    coming = computed(
        "so the crop of {next} is put at {share} of an even one",
        float(outlook.expected.mass(1.0).value),
        "1",
        next=str(outlook.year),
        share=amount(outlook.expected.mass(1.0).value, "1"),
    )
    thins = (
        phrase("Thin the next heavy crop harder and earlier, before its buds are made; in the light year leave what "
               "comes, and feed and cut less.")
        if plan.thins
        else phrase("In a heavy year pick early and cut fruiting wood; in the light year that follows leave what "
                    "comes, and feed and cut less.")
    )  # fmt: skip
    return [
        Change(
            "off-year-ahead",
            found.view.tree.id,
            phrase("After a heavy crop a light year is to be expected"),
            thins,
            (*outlook.because[:2], why, coming),
        )
    ]


def _crops(found: Findings) -> list[Change]:
    changes = []
    for crop in found.crops:
        if crop.within is False and crop.first is not None and crop.picked is not None:
            changes.append(_crop_missed(found, crop, crop.picked.mass, crop.first.crop))
        mass = crop.fruit_mass
        if mass is not None and crop.usual.low is not None and mass < crop.usual.low:
            fact = found.view.species["fruit_mass"]
            changes.append(
                Change(
                    "small-fruit",
                    found.view.tree.id,
                    phrase("The fruit of {year} was small: {mass} each", year=str(crop.year), mass=amount(mass, "g")),
                    phrase("Keep fewer fruit, or look at its water while they swelled: both make them small."),
                    (
                        recorded("{crop} in {fruit} fruit were picked", mass, "g",
                                 crop=amount(crop.picked.mass if crop.picked else 0.0, "g"),
                                 fruit=(crop.picked.fruit or 0) if crop.picked else 0),
                        from_fact("A fruit of {kind} weighs about {value}", fact, kind=found.view.species.name),
                    ),
                )
            )  # fmt: skip
    return changes


def _crop_missed(found: Findings, crop: CropLook, picked: float, put: Quantity) -> Change:
    first = crop.first
    told = found.since if first is None else first.told
    links = [
        computed(
            "On {told} the crop of {year} was put at {crop}",
            put.value,
            "g",
            told=told,
            year=str(crop.year),
            crop=put,
        ),
        recorded("Written down as picked: {picked}", picked, "g", picked=amount(picked, "g")),
    ]
    if crop.last is not None:
        links.insert(
            1,
            computed(
                "On {told}, the last time before picking, at {crop}",
                crop.last.crop.value,
                "g",
                told=crop.last.told,
                crop=crop.last.crop,
            ),
        )
    more = picked > put.value
    return Change(
        "crop-beyond-forecast" if more else "crop-below-forecast",
        found.view.tree.id,
        phrase("The crop of {year} was heavier than its range", year=str(crop.year))
        if more
        else phrase("The crop of {year} was lighter than its range", year=str(crop.year)),
        phrase(
            "Count the fruit after the natural drop: a count narrows the range more than anything else."
        ),
        tuple(links),
    )


# ---------------------------------------------------------------- water and cold


def _water(found: Findings) -> list[Change]:
    water = found.water
    if water is None or not water.asked or water.lacking < LACK_WORTH * water.asked:
        return []
    links = (
        computed(
            "Its leaves asked for {asked}; {rain} of rain counted on its ground",
            water.asked,
            "L",
            asked=amount(water.asked, "L"),
            rain=amount(water.rain, "L"),
        ),
        recorded(
            "Waterings written down: {count}, {given} in all",
            water.given,
            "L",
            count=found.waterings,
            given=amount(water.given, "L"),
        )
        if found.waterings
        else recorded("No watering is written down"),
        computed(
            "so by the account it was short on {days}, and its leaves went without {lacking}",
            water.lacking,
            "L",
            days=amount(water.short_days, "d"),
            lacking=amount(water.lacking, "L"),
        ),
    )
    if not found.waterings:
        return [
            Change(
                "water-not-recorded",
                found.view.tree.id,
                phrase("It went short of water, or its waterings were not written down"),
                phrase("Write waterings down, one touch each; or dig a hand deep in the next dry weeks and see whether "
                       "the account is right."),
                links,
            )
        ]  # fmt: skip
    return [
        Change(
            "water-short",
            found.view.tree.id,
            phrase("It went short of water on {days}", days=amount(water.short_days, "d")),
            phrase("Water sooner in the dry weeks, and more at once where the ground takes it: its page of water says "
                   "when."),
            links,
        )
    ]  # fmt: skip


def _cold(found: Findings) -> list[Change]:
    cold = found.cold
    if cold is None or not cold.hurts or cold.looked:
        return []
    links = (
        Because(
            phrase("The night to {day} fell to about {low} at the tree", day=cold.day, low=amount(cold.lowest, "degC")),
            round(cold.lowest, 1), "degC", "weather", "", "computed",
        ),
        *said_colder(found.view.site)[1],
        *cold.limit.because,
    )  # fmt: skip
    if cold.protected:
        return [
            Change(
                "cold-outcome-not-recorded",
                found.view.tree.id,
                phrase("How it came through the night to {day} is not written down", day=cold.day),
                phrase("After the next cold night look at it and write down what you see, also that it is whole: only "
                       "so does its protection prove itself."),
                links,
            )
        ]  # fmt: skip
    return [
        Change(
            "cold-not-recorded",
            found.view.tree.id,
            phrase("The night to {day} may have hurt it, and nothing is written down of it", day=cold.day),
            phrase("If it was hurt, have its cover ready before such a night; if it came through whole, write that "
                   "down: its place may be warmer than the record says."),
            links,
        )
    ]  # fmt: skip
