"""Mends a shortage that a leaf test or the leaves show: a dated spray or a dressing, and its dose.

Nitrogen, phosphorus and potassium are mended by the rounds themselves (:mod:`bearwell.plan.need`). For
the rest a table says what helps which trees, how strong and when; where no source prints a dose, the label
or the laboratory gives it and the plan says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from bearwell.knowledge import Fact
from bearwell.plan.advice import Advice, Window
from bearwell.plan.area import usual_band
from bearwell.plan.leaftest import NAMES
from bearwell.plan.shortages import Shortage, shortages
from bearwell.plan.view import View
from bearwell.quantities import Quantity
from bearwell.reasons import (
    Because,
    Phrase,
    Value,
    amount,
    computed,
    from_fact,
    phrase,
    recorded,
)

BY_ROUNDS = frozenset({"N", "P", "K"})
NO_ROW_DAYS = timedelta(days=60)
LITRE = 1.0
Row = Mapping[str, Fact]


@dataclass(frozen=True)
class _Dose:
    """How much material a correction takes at one time, in what, and why."""

    quantity: Quantity | None
    display: Phrase
    step: Phrase
    because: tuple[Because, ...] = ()


def plan_corrections(view: View) -> list[Advice]:
    """A dated job for each shortage that the rounds do not mend."""
    found = [one for one in shortages(view) if one.nutrient not in BY_ROUNDS]
    planned = [_correction(view, one) for one in found]
    return [one for one in planned if one is not None]


def would_mend(view: View, nutrient: str) -> Advice | None:
    """The job that a shortage seen today would make, for a nutrient that the rounds do not mend."""
    if nutrient in BY_ROUNDS or nutrient not in NAMES:
        return None
    why = recorded("Were {nutrient} short, as its leaves may say", nutrient=NAMES[nutrient])
    return _correction(view, Shortage(nutrient, "seen", view.today, (why,)))


def correction_for(view: View, nutrient: str) -> Row | None:
    """The row of the table made for the nearest group of this tree, or nothing."""
    near = {
        key: depth for depth, key in enumerate(("any", view.species.habit, *view.species.lineage))
    }
    if view.species.keeps_leaves is False:
        near.setdefault("deciduous", 1)
    best: tuple[int, Row] | None = None
    for row in view.book.table("corrections").values():
        if row["nutrient"].text != nutrient:
            continue
        for group in row["groups"].text.split(","):
            depth = near.get(group.strip())
            if depth is not None and (best is None or depth > best[0]):
                best = (depth, row)
    return best[1] if best else None


def _correction(view: View, short: Shortage) -> Advice | None:
    row = correction_for(view, short.nutrient)
    if row is None:
        return _without_dose(view, short)
    done = sorted(
        work.date
        for work in view.tree.done
        if work.job == "feed" and work.corrects == short.nutrient and work.date <= view.today
    )
    given = [day for day in done if day >= short.since]
    times = round(row["times"].number)
    if len(given) >= times:
        return None
    window = _window(view, row, done[-1] if done else None)
    if window is None:
        return _without_dose(view, short)
    dose = _dose(view, row)
    spray = row["way"].text == "spray"
    steps = [dose.step, phrase(row["how"].text)]
    if times > 1:
        steps.append(
            phrase(
                "{times} times in all, {apart} apart; {given} done. Stop when the next leaves are green.",
                times=times,
                apart=amount(row["apart"].number, "d"),
                given=len(given),
            )
        )
    cases = ["spray"] if spray else ["ground" if view.tree.pot is None else "pot"]
    cases += ["trace"] if short.nutrient in {"Fe", "Mn", "Zn", "Cu", "B", "Mo"} else []
    cases += ["boron"] if short.nutrient == "B" else []
    links = [
        *short.because,
        from_fact(
            "{value} is what helps {kind} that lack {nutrient}",
            row["material"],
            kind=view.species.name,
            nutrient=short.name,
        ),
        *dose.because,
        from_fact("It serves about {value} after {event}", row["offset"], event=row["anchor"].text),
    ]
    remarks = [one for one in (short.remark,) if one is not None]
    if "doubt" in row:
        links.append(from_fact("{value}", row["doubt"]))
        remarks.append(phrase(row["doubt"].text))
    return Advice(
        id=view.advice_id("feed", f"correct-{short.nutrient.lower()}", window.best),
        tree=view.tree.id,
        kind="feed",
        window=window,
        headline=phrase("Mend the shortage of {nutrient}", nutrient=short.name),
        quantity=dose.quantity,
        display=dose.display,
        steps=tuple(steps),
        cautions=view.cautions("feed", *cases),
        minutes=20 if spray else 10,
        because=tuple(links),
        changes=phrase("A new leaf test, or green new leaves"),
        details={
            "corrects": short.nutrient,
            "shows": short.grade,
            "since": short.since.isoformat(),
            "material": row["material"].text,
            "way": row["way"].text,
            "times": times,
            "given": len(given),
        },
        remarks=tuple(remarks),
    )


def _window(view: View, row: Row, last: date | None) -> Window | None:
    """The next days on which a correction serves, not before it may be repeated."""
    spread = timedelta(days=round(row["spread"].number))
    ready = view.today if last is None else last + timedelta(days=round(row["apart"].number))
    for stage in sorted(view.cycle.every_stage, key=lambda one: one.date):
        if stage.event != row["anchor"].text or stage.wave != 1:
            continue
        best = stage.date + timedelta(days=round(row["offset"].number))
        season = timedelta(days=round((row["times"].number - 1) * row["apart"].number))
        latest = best + spread + min(season, timedelta(days=120))
        if latest < max(view.today, ready):
            continue
        earliest = max(best - spread, ready)
        return Window(earliest, min(max(best, earliest), latest), latest)
    return None


def _dose(view: View, row: Row) -> _Dose:
    material = row["material"].text
    if "strength" in row:
        return _spray(view, row["strength"], view.constant("spray on a canopy"), material)
    if "per_area" in row:
        return _on_the_ground(view, row["per_area"], material)
    if "per_trunk" in row and view.size.trunk_diameter is not None:
        return _by_trunk(view, row["per_trunk"], view.size.trunk_diameter, material)
    by_label = phrase("{material}, as its label says", material=material)
    return _Dose(None, by_label, phrase("Use {material} as its label says.", material=material))


def _spray(view: View, strength: Fact, wetting: Fact, material: str) -> _Dose:
    """A spray for a canopy, mixed in no smaller a batch than a kitchen scale can weigh for."""
    litres = max(wetting.number * view.size.volume, LITRE / 2)
    least = view.constant("least a kitchen scale weighs")
    batch = max(litres, least.number / strength.number)
    mass = strength.number * batch
    values: dict[str, Value] = {
        "mass": amount(mass, "g"),
        "material": material,
        "batch": amount(batch, "L"),
        "water": amount(litres, "L"),
        "each": amount(strength.number, "g"),
    }
    links = [
        from_fact("The spray holds {value}", strength),
        from_fact(
            "A canopy of {volume} is wetted by {water} ({value})",
            wetting,
            volume=amount(view.size.volume, "m3"),
            water=amount(litres, "L"),
        ),
    ]
    display = "{mass} of {material} in {batch} of water"
    if batch > litres:
        display = "{mass} of {material} in {batch} of water, of which it takes about {water}"
        links.append(from_fact("A kitchen scale weighs no less than {value}", least))
    return _Dose(
        amount(mass, "g", strength.least * batch, strength.most * batch),
        Phrase(display, values),
        Phrase(
            "Dissolve {each} of {material} in each litre of water: {mass} in {batch}. This canopy takes "
            "about {water}.",
            values,
        ),
        tuple(links),
    )


def _on_the_ground(view: View, rate: Fact, material: str) -> _Dose:
    pot = view.tree.pot
    area = view.size.area if pot is not None else usual_band(view).area
    mass = rate.number * area
    return _Dose(
        amount(mass, "g", rate.least * area, rate.most * area),
        phrase("{mass} of {material}", mass=amount(mass, "g"), material=material),
        phrase(
            "Give {mass} of {material} over {area}.",
            mass=amount(mass, "g"),
            material=material,
            area=amount(area, "m2"),
        ),
        (from_fact("On {area} of ground {value}", rate, area=amount(area, "m2")),),
    )


def _by_trunk(view: View, rate: Fact, diameter: float, material: str) -> _Dose:
    mass = rate.number * diameter
    return _Dose(
        amount(mass, "g", rate.least * diameter, rate.most * diameter),
        phrase("{mass} of {material}", mass=amount(mass, "g"), material=material),
        phrase(
            "Give {mass} of {material} over {area}.",
            mass=amount(mass, "g"),
            material=material,
            area=amount(usual_band(view).area, "m2"),
        ),
        (
            from_fact(
                "By a trunk {diameter} thick, at {value}", rate, diameter=amount(diameter, "m")
            ),
        ),
    )


def _without_dose(view: View, short: Shortage) -> Advice | None:
    """Where no source prints a dose for this kind: who can give one."""
    given = [
        work for work in view.tree.done
        if work.job == "feed" and work.corrects == short.nutrient and short.since <= work.date <= view.today
    ]  # fmt: skip
    if given:
        return None
    window = Window(view.today, view.today + timedelta(days=14), view.today + NO_ROW_DAYS)
    return Advice(
        id=view.advice_id("feed", f"correct-{short.nutrient.lower()}", short.since),
        tree=view.tree.id,
        kind="feed",
        window=window,
        headline=phrase("{nutrient} is short: ask what dose helps {kind}", nutrient=short.name.capitalize(),
                        kind=view.species.name),
        steps=(
            phrase("Ask the laboratory that read the leaves, or your extension service, for material, dose and day."),
            phrase("See first that roots are neither cold, wet nor dry, and that the ground's pH suits the tree."),
        ),
        cautions=view.cautions("feed"),
        minutes=10,
        because=(
            *short.because,
            computed("No source at hand prints a dose of {nutrient} for {kind}", nutrient=short.name,
                     kind=view.species.name),
        ),
        changes=phrase("A dose from the laboratory, noted as done with corrects"),
        details={"corrects": short.nutrient, "shows": short.grade, "since": short.since.isoformat()},
        remarks=tuple(one for one in (short.remark,) if one is not None),
    )  # fmt: skip
