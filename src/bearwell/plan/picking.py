"""The crop to be picked: one mass, that the list, the page, the feeding and the JSON all tell."""

from __future__ import annotations

from dataclasses import dataclass

from bearwell.plan.bearing import current_crop
from bearwell.plan.cropload import CropPlan, Side, current_plan, last_crops, share_at
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import Because, amount, computed, from_fact, recorded
from bearwell.season.cycle import Stage


@dataclass(frozen=True)
class Picking:
    """The crop of one bloom and that of its year [g], in several waves of an ever-bearing kind.

    ``basis`` is what it rests on: count, thinned, to be thinned, written down, last crop, last crops,
    kind or tables.
    """

    crop: Quantity
    year: Quantity
    basis: str
    because: tuple[Because, ...]


def picking_of(view: View, bloom: Stage) -> Picking:
    """What is to be picked of the crop of a bloom."""
    plan = current_plan(view)
    if plan is None:
        return by_tables(view, bloom)
    if bloom == plan.bloom:
        return picking(plan)
    if bloom.wave == 1 and bloom.date > plan.bloom.date:
        return _after(plan)
    year = current_crop(view)[1]
    if bloom.wave == 1:
        found = _written_down(view, bloom, year)
        return found or by_tables(view, bloom)
    return _by_outlook(plan)


def picking(plan: CropPlan) -> Picking:
    """What is to be picked of the crop that hangs or comes next."""
    if not plan.bears:
        none = Quantity(0.0, "g", 0.0, 0.0)
        return Picking(none, none, "too young", plan.keep.because)
    kept, thinned = plan.as_it_hangs, plan.as_thinned
    if kept is None or thinned is None or plan.estimate is None:
        return _by_outlook(plan)
    links: list[Because] = [
        plan.estimate.because,
        from_fact("A fruit weighs about {value}", plan.view.species["fruit_mass"]),
        *plan.why_size[:2],
    ]
    done = _thinned_since(plan)
    if plan.thins and plan.too_many and (done or not plan.closed):
        # What was not taken off, or not yet, may still hang: the range holds both.
        crop = Quantity(thinned.crop.value, "g", thinned.crop.low, kept.crop.high)
        links.append(_why_thinned(done, kept, thinned))
        links += _more_than_ever(plan, crop)
        return Picking(crop, crop, "thinned" if done else "to be thinned", tuple(links))
    links.append(
        computed(
            "so {fruit} fruit of {size} would be picked, {crop}",
            kept.crop.value,
            "g",
            fruit=round(kept.fruit),
            size=amount(kept.size.value, "g"),
            crop=amount(kept.crop.value, "g"),
        )
    )
    links += _more_than_ever(plan, kept.crop)
    return Picking(kept.crop, kept.crop, "count", tuple(links))


def _thinned_since(plan: CropPlan) -> bool:
    """Whether thinning was written down since the last count."""
    count, view = plan.count, plan.view
    return count is not None and any(
        work.job == "thin" and count.date <= work.date <= view.today for work in view.tree.done
    )


def _why_thinned(done: bool, kept: Side, thinned: Side) -> Because:
    text = (
        "You thinned since that count; down to {fruit} fruit the crop is {less}, with all of them {all}"
        if done
        else "Thinned to {fruit} fruit, as is advised, the crop is {less}; left alone {all}"
    )
    return computed(
        text,
        thinned.crop.value,
        "g",
        fruit=round(thinned.fruit),
        less=amount(thinned.crop.value, "g"),
        all=amount(kept.crop.value, "g"),
    )


def _more_than_ever(plan: CropPlan, crop: Quantity) -> list[Because]:
    most = max((harvest.mass for harvest in plan.view.tree.harvests), default=0.0)
    if not most or crop.value <= plan.view.constant("more than ever borne").number * most:
        return []
    return [
        recorded(
            "That is more than any crop you recorded, {most}: expect small fruit, or count again",
            most,
            "g",
            most=Quantity(most, "g"),
        )
    ]


def _by_outlook(plan: CropPlan) -> Picking:
    """By its own years, else by its kind; without a record the range of the tables is in it too."""
    view, outlook = plan.view, plan.outlook
    year = outlook.expected.mass(outlook.even_in(outlook.year))
    links = outlook.because
    if outlook.last is not None and outlook.year - outlook.last[0] > 1 and not plan.alternates:
        found = _mean_of_last(view)
        if found is not None:
            return _waves(view, *found)
    if not outlook.loads:
        year, links = _wide_as_the_rules(plan, year), (*plan.keep.because, *links)
    return _waves(view, year, outlook.basis, links)


def _mean_of_last(view: View) -> tuple[Quantity, str, tuple[Because, ...]] | None:
    """Its last crops, where the one just before was not written down and so says nothing of this one."""
    masses = [one.mass for one in last_crops(view)]
    if len(masses) < 2:
        return None
    mean = sum(masses) / len(masses)
    link = recorded(
        "Its last {count} crops ran from {low} to {high}, {mean} on average",
        count=len(masses),
        low=Quantity(min(masses), "g"),
        high=Quantity(max(masses), "g"),
        mean=Quantity(mean, "g"),
    )
    return Quantity(mean, "g", min(masses), max(masses)), "last crops", (link,)


def _wide_as_the_rules(plan: CropPlan, year: Quantity) -> Quantity:
    keep, mass = plan.keep.fruit, plan.view.species["fruit_mass"].number
    # Crops fall short of what a tree could carry more often than they pass it.
    short = plan.view.constant("crop that falls short").number
    least = short * min((keep.low or 0.0) * mass, year.value)
    most = max((keep.high or keep.value) * mass, _high(year))
    return Quantity(year.value, "g", min(least, _low(year)), most)


def _waves(view: View, year: Quantity, basis: str, links: tuple[Because, ...]) -> Picking:
    """A year's crop, and its part in each wave of a kind that bears in several."""
    if view.species.habit != "ever-bearing":
        return Picking(year, year, basis, links)
    fact = view.species["blooms_per_year"]
    one = Quantity(
        year.value / fact.number, "g", _low(year) / fact.number, _high(year) / fact.number
    )
    why = from_fact("The year's crop comes in about {value} waves", fact)
    return Picking(one, year, basis, (*links, why))


def _after(plan: CropPlan) -> Picking:
    """The crop after the one that hangs, with that one treated as is advised."""
    outlook = plan.outlook
    way = "plan" if plan.thins and plan.too_many and not plan.closed else "keep all"
    forecast = outlook.after(plan.keep_at)[way if plan.bears else "strip"]
    year = forecast.mass(outlook.even_in(outlook.year + 1))
    if not outlook.loads:
        year = _wide_as_the_rules(plan, year) if plan.bears else year
    why = computed(
        "After the crop of {year} the next comes to {crop}",
        year.value,
        "g",
        year=str(outlook.year),
        crop=amount(year.value, "g"),
    )
    return _waves(plan.view, year, "last crop", (*outlook.because, why))


def _written_down(view: View, bloom: Stage, year: int) -> Picking | None:
    """An earlier crop that was weighed already."""
    done = [one for one in view.tree.harvests if bloom.date.year <= one.year < year]
    if not done:
        return None
    last = max(done, key=lambda one: one.year)
    crop = Quantity(last.mass, "g", last.mass, last.mass)
    why = recorded(
        "You wrote down {crop} for {year}", last.mass, "g", crop=crop, year=str(last.year)
    )
    return Picking(crop, crop, "written down", (why,))


def by_tables(view: View, bloom: Stage | None) -> Picking:
    """What a grown tree of its kind crops at its age, where nothing more is known."""
    full, share = view.species["full_crop"], share_at(view, bloom.date if bloom else view.today)
    short = view.constant("crop that falls short").number
    year = Quantity(full.number * share, "g", short * full.least * share, full.most * share)
    links = (
        from_fact("A grown tree crops about {value}", full),
        computed("At its age about {share} % of that", share, "1", share=round(100 * share)),
    )
    return _waves(view, year, "tables", links)


def expected_year(view: View) -> tuple[Quantity, tuple[Because, ...]]:
    """Mass of the year's crop [g] that the tree is fed for, with its reasons."""
    plan = current_plan(view)
    found = by_tables(view, None) if plan is None or not plan.bears else picking(plan)
    return found.year, found.because


def _low(crop: Quantity) -> float:
    return crop.value if crop.low is None else crop.low


def _high(crop: Quantity) -> float:
    return crop.value if crop.high is None else crop.high
