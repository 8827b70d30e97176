"""What the models cannot see about watering: drippers that make no sense, rules that close every day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from bearwell.errors import BadInput, Severity
from bearwell.garden.lines import Place
from bearwell.garden.water import WEEKDAYS, NoWatering
from bearwell.quantities import parse
from bearwell.said import said

Told = tuple[str, str, Place, Severity]
# One dripper that gives more than this in an hour is a hose: its litres are counted, and it is asked about.
HOSE = 60.0


def watering_problems(raw: Mapping[str, Any], today: date) -> Iterator[Told]:
    """Every doubt about watering in a raw garden file: message, hint, place and how grave."""
    watering = raw.get("watering")
    if isinstance(watering, dict):
        yield from _drip(said("watering"), watering.get("drip"), ("watering", "drip"))
    for number, tree in enumerate(_rows(raw, "tree")):
        if "drip" not in tree:
            continue
        title = said("tree '{named}'", named=tree.get("id", number + 1))
        at: Place = ("tree", number, "drip")
        yield from _drip(title, tree["drip"], at)
    for number, rule in enumerate(_rows(raw, "no_watering")):
        yield from _rule(rule, ("no_watering", number), today)


def _rows(raw: Mapping[str, Any], table: str) -> list[Mapping[str, Any]]:
    rows = raw.get(table)
    return [row if isinstance(row, dict) else {} for row in rows] if isinstance(rows, list) else []


def _drip(title: str, drip: object, at: Place) -> Iterator[Told]:
    if not isinstance(drip, dict):
        return
    try:
        flow = parse(drip.get("flow"), "flow")
    except BadInput:
        return  # told by the model
    if flow > HOSE:
        yield (
            said("{title}: a dripper of {flow:g} L an hour is a hose", title=title, flow=flow),
            "most drippers give 1 to 8 L an hour, as printed on them; for all together divide by their number",
            (*at, "flow"),
            "warning",
        )


def _rule(rule: Mapping[str, Any], at: Place, today: date) -> Iterator[Told]:
    first, last, days = rule.get("from"), rule.get("to"), rule.get("weekdays", list(WEEKDAYS))
    if days == []:
        yield (
            "a rule that holds on no day of the week does nothing",
            'such as ["monday"]',
            at,
            "warning",
        )
        return
    if not (isinstance(first, str) and isinstance(last, str) and isinstance(days, list)):
        return
    known = tuple(day for day in days if day in WEEKDAYS)
    closed = NoWatering.model_construct(start=first, end=last, weekdays=known)
    if not closed.leaves_a_day(today):
        yield (
            said(
                "the watering rule from {first} to {last} leaves no day of the year open",
                first=first,
                last=last,
            ),
            "check its days: nothing will be watered",
            at,
            "warning",
        )
