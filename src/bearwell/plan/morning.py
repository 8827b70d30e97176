"""What the plan says of one tree on a morning, as far as it is worth keeping to be looked back on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from bearwell.plan.advice import Advice
from bearwell.plan.cropload import current_plan
from bearwell.plan.picking import picking_of
from bearwell.plan.schedule import TreeSchedule
from bearwell.plan.shelf import shelf_of
from bearwell.plan.view import View
from bearwell.plan.worklist import plan_tree
from bearwell.quantities import Quantity
from bearwell.season.cycle import Stage

# Jobs whose advice is matched with records. Water and cold follow the weather of each day, and are added up
# instead (see plan/reviewed.py).
JOBS_MATCHED: Final = ("feed", "prune", "thin", "harvest", "inspect", "measure")
# The plan is asked again after so many days: fewer than it tells looks beforehand. Ours, no source.
STEP: Final = timedelta(days=56)
# Advice that opens later than this is left to the mornings after. Ours, no source.
_AHEAD: Final = 2 * STEP
_REASONS_KEPT: Final = 2  # the last links of a chain: what the days rest on


@dataclass(frozen=True)
class CropForecast:
    """What a crop was put at on a day [g], and what that rested on."""

    told: date
    crop: Quantity
    basis: str


@dataclass(frozen=True)
class Morning:
    """What was planned and forecast on a day, from what was known before it.

    ``crops`` are forecast by the season of their bloom, ``even`` is an even crop by year [g]. ``need`` is the
    year's nitrogen [g]: what labels print where ``by_label``, else what comes free within a year; ``counts``
    is the share of a product's nitrogen that it counts.
    """

    day: date
    advice: tuple[Advice, ...]
    stages: tuple[Stage, ...]
    crops: Mapping[int, CropForecast]
    even: Mapping[int, float]
    need: Quantity
    by_label: bool
    counts: Mapping[str, float]


def morning_of(view: View, feeding: TreeSchedule) -> Morning:
    """The morning of a view. Advice keeps its days, amounts and last reasons, but not how to do it."""
    advice = tuple(
        replace(one, steps=(), cautions=(), remarks=(), because=one.because[-_REASONS_KEPT:])
        for one in plan_tree(view, feeding, None)
        if one.kind in JOBS_MATCHED
        and "missing" not in one.details  # a measure of its size is wanted on any day
        and one.window.earliest <= view.today + _AHEAD
    )
    crops = {
        bloom.season: CropForecast(view.today, found.year, found.basis)
        for bloom in view.cycle.every("full bloom")
        if bloom.wave == 1
        for found in (picking_of(view, bloom),)
    }
    plan = current_plan(view)
    even = {}
    if plan is not None and plan.bears:
        even = {
            year: plan.outlook.even_in(year)
            for year in range(view.today.year - 1, view.today.year + 3)
        }
    shelf, need = shelf_of(view), feeding.need
    by_label = need.followed == "table"
    counts = {
        product.id: 1.0 if by_label else shelf.freed_in_a_year(product)
        for product in view.garden.products
        if product.grade[0] > 0
    }
    return Morning(
        view.today, advice, view.cycle.stages, crops, even, need.nitrogen, by_label, counts
    )
