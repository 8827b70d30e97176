"""Reckoners of cold: night, night-minimum, bud-damage, freeze-risk, shelter."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from typing import Any, Final

import numpy as np

from bearwell.errors import BadInput
from bearwell.garden.nights import read_nights
from bearwell.knowledge import Fact, knowledge
from bearwell.quantities import convert
from bearwell.reasons import Because, amount, computed, from_fact
from bearwell.reckon.model import (
    Answer,
    Option,
    Reckoner,
    existing_file,
    measured,
    measures,
    number,
)
from bearwell.reckon.sky import cited
from bearwell.said import said
from bearwell.science import frost, risk, shelter
from bearwell.season.buds import bud_kinds, bud_rows

_PERIODS: Final = (10, 20, 50)
_FEWEST_WINTERS: Final = 5
_FEWEST_NIGHTS: Final = 5
_EIGHT_IN_TEN: Final = 1.2816


def _cautions(*cases: str) -> tuple[str, ...]:
    rows = knowledge().table("cautions").values()
    return tuple(
        row["text"].text
        for row in rows
        if row["job"].text == "protect" and ("when" not in row or row["when"].text in cases)
    )


def _meant_degf(*values: float) -> tuple[str, ...]:
    """A caution where every temperature read as degC is one at which no frost is near: degF may be meant."""
    limit = knowledge().constant("no frost is near").number
    if min(values) <= limit:
        return ()
    low, high = min(values), max(values)
    sentence = "{low:g} to {high:g} °C is far above freezing: is degF meant? Then the unit has to be written; as degF it is {least:.1f}, {most:.1f} °C."
    if low == high:
        sentence = "{low:g} °C is far above freezing: is degF meant? Then the unit has to be written; as degF it is {least:.1f} °C."
    least, most = convert(low, "degF", "degC"), convert(high, "degF", "degC")
    return (said(sentence, low=low, high=high, least=least, most=most),)


# ---------------------------------------------------------------- night


def _night(given: Mapping[str, Any]) -> Answer:
    start, low, hours = given["start_temperature"], given["minimum"], given["hours"]
    if low > start:
        raise BadInput(
            said(
                "the minimum {low:g} degC is above the evening's {start:g} degC",
                low=low,
                start=start,
            ),
            "start two hours after sunset; the lowest comes at sunrise",
        )
    whole = [float(hour) for hour in range(1, int(hours) + 1)]
    at = [*whole, hours] if not whole or hours > whole[-1] else whole
    curve = [round(float(air), 2) for air in frost.night_temperature_sqrt(start, low, hours, at)]
    results: dict[str, Any] = {"curve_c": curve, "hours_below": None, "degree_hours_below": None}
    links = [
        cited(
            "A clear still night falls with the square root of the hours: start + (minimum − start) × √(t/h)",
            round((low - start) / sqrt(hours), 4),
            "degC",
            "snyder-2005",
            "chapter 5, temperature trend",
        ),
        computed(
            "The curve is told at each full hour from two hours after sunset, and at sunrise",
            round(hours, 2),
            "h",
        ),
    ]
    limit = given.get("threshold")
    if limit is not None:
        results["hours_below"] = round(frost.hours_below_sqrt(start, low, hours, limit), 3)
        depth = frost.degree_hours_below_sqrt(start, low, hours, limit)
        results["degree_hours_below"] = round(depth, 3)
        links.append(
            computed(
                "Below {limit} for hours × [1 − ((start − limit)/(start − minimum))²]",
                results["hours_below"],
                "h",
                limit=amount(limit, "degC"),
            )
        )
    return (
        results,
        tuple(links),
        (
            "For clear nights with little wind. Wind or cloud make another curve; add about an hour after sunrise.",
        ),
    )


# ---------------------------------------------------------------- night-minimum


def _night_minimum(given: Mapping[str, Any]) -> Answer:
    nights = read_nights(given["records"])
    air, damp = given["temperature"], given["dew_point"]
    if damp > air:
        raise BadInput(
            said("the dew point {dew:g} degC is above the air's {air:g} degC", dew=damp, air=air),
            "were the two readings exchanged?",
        )
    if len(nights) < _FEWEST_NIGHTS:
        raise BadInput(
            said("{count} nights are too few for a rule", count=len(nights)),
            said("at least {least}, ten are better", least=_FEWEST_NIGHTS),
        )
    t0, td, tmin = ([getattr(one, key) for one in nights] for key in ("t0", "td", "tmin"))
    fit = frost.minimum_forecast_fit_fao(t0, td, tmin)
    forecast = float(frost.minimum_forecast_fao(air, damp, *fit))
    misses = np.asarray(tmin) - frost.minimum_forecast_fao(t0, td, *fit)
    error = float(np.sqrt(np.mean(misses**2)))
    results = {
        "predicted_c": round(forecast, 3),
        "slope_t": round(fit.air_slope, 6),
        "slope_td": round(fit.dew_slope, 6),
        "intercept": round(fit.intercept, 5),
        "rmse_c": round(error, 3),
    }
    links = (
        cited(
            "Two steps, as the handbook does it: a line of the minimum on the air temperature, then a line of "
            "what it misses on the dew point",
            results["slope_t"],
            "1",
            "snyder-2005",
            "chapter 5, minimum temperature forecast",
        ),
        computed(
            "Over its own {count} nights it misses by {error}; a new night it will miss by more",
            round(error, 3),
            "K",
            count=len(nights),
            error=amount(round(error, 2), "K"),
        ),
    )
    notes = [
        *_meant_degf(*tmin),
        "For clear calm nights at the place the nights were read at, from readings two hours after sunset.",
    ]
    if not min(t0) <= air <= max(t0) or not min(td) <= damp <= max(td):
        notes.append("This evening lies outside the nights of the file: the rule is stretched.")
    if forecast > air:
        notes.append(
            "By this rule the night would not cool at all: the file does not fit this evening."
        )
    return results, links, tuple(notes)


# ---------------------------------------------------------------- bud-damage


def _bud_damage(given: Mapping[str, Any]) -> Answer:
    book = knowledge()
    kind = book.kind(given["kind"])
    rows = bud_rows(kind, book)
    if not rows:
        raise BadInput(
            said("no bud stages were measured for {kind}", kind=kind.name),
            said("known: {listed}", listed=", ".join(bud_kinds(book))),
        )
    wanted = given["stage"].strip().lower().replace("-", " ")
    plain = {row.stage.replace("-", " "): row for row in rows}
    if wanted not in plain:
        raise BadInput(
            said("'{stage}' is no stage of {kind}", stage=given["stage"], kind=kind.name),
            said("stages: {listed}", listed=", ".join(row.stage for row in rows)),
        )
    row = plain[wanted]
    if row.t90 is None:
        raise BadInput(
            said(
                "for '{stage}' of {kind} only the cold that kills a tenth is known: {kills:.1f} degC",
                stage=said(row.stage),
                kind=kind.name,
                kills=row.t10.number,
            ),
            "the share killed needs a second point",
        )
    air = given["temperature"]
    share = float(frost.damage_fraction(row.t10.number, row.t90.number, air))
    links = (
        from_fact("A tenth of the buds is killed in half an hour at {value}", row.t10),
        from_fact("nine tenths at {value}", row.t90),
        cited(
            "A straight line through both, from none to all",
            round(share, 4),
            "1",
            "snyder-2005-risk",
            "damage estimator",
        ),
    )
    notes = (
        *_meant_degf(air),
        "Buds on a clear night are colder than a sheltered thermometer, and kinds, years and dryness differ by a "
        "degree or two.",
        "Apple, pear and peach crop in full from a tenth or so of their flowers; cherry needs more than half.",
    )
    return {"fraction": round(share, 4)}, links, notes


# ---------------------------------------------------------------- freeze-risk


def _freeze_risk(given: Mapping[str, Any]) -> Answer:
    minima = given["minima"]
    if len(minima) < _FEWEST_WINTERS:
        raise BadInput(
            said("{count} winters are too few for odds", count=len(minima)),
            "the coldest night of five winters or more",
        )
    location, scale = risk.gumbel_minima_moments(minima)
    results: dict[str, Any] = {"location": round(location, 4), "scale": round(scale, 4)}
    for years in _PERIODS:
        results[f"t{years}_c"] = round(risk.gumbel_quantile(location, scale, years), 2)
    for years in _PERIODS:
        reach = _EIGHT_IN_TEN * risk.gumbel_quantile_error_moments(scale, years, len(minima))
        best = risk.gumbel_quantile(location, scale, years)
        results[f"t{years}_low_c"] = round(best - reach, 2)
        results[f"t{years}_high_c"] = round(best + reach, 2)
    links = [
        cited(
            "Gumbel distribution of yearly minima, fitted by moments",
            results["scale"],
            "K",
            "gumbel-1958",
            "extreme value type I, method of moments",
        ),
        computed(
            "With few winters the rare values are wide guesses: in eight cases of ten the night of ten years lies "
            "between {low} and {high}. The coldest counted is {coldest} in {count} winters",
            min(minima),
            "degC",
            low=amount(results["t10_low_c"], "degC"),
            high=amount(results["t10_high_c"], "degC"),
            coldest=amount(min(minima), "degC"),
            count=len(minima),
        ),
    ]
    results["probability"] = None
    if given.get("below") is not None:
        chance = risk.gumbel_probability(location, scale, given["below"])
        results["probability"] = round(chance, 4)
        counted = sum(value <= given["below"] for value in minima) / len(minima)
        links.append(
            computed(
                "Counted: {share} % of the winters were as cold",
                round(counted, 4),
                "1",
                share=round(100 * counted),
            )
        )
        over = risk.risk_over_years(chance, 10)
        links.append(
            computed(
                "In ten winters the chance of at least one such is {share} %",
                round(over, 4),
                "1",
                share=round(100 * over),
            )
        )
    return (
        results,
        tuple(links),
        (
            *_meant_degf(*minima),
            "The past of this record stands for the years to come; a warming climate is not reckoned with.",
        ),
    )


# ---------------------------------------------------------------- shelter


def _cover(text: str) -> str:
    return knowledge().item_key("covers", text)


def _shelter(given: Mapping[str, Any]) -> Answer:
    named, stated = given.get("cover"), given.get("u")
    if (named is None) == (stated is None):
        raise BadInput(
            "shelter needs --cover or --u, one of them", "--cover 'single glass' or --u 6"
        )
    links: list[Because] = []
    row: dict[str, Fact] = {}
    if named is not None:
        row = knowledge().item("covers", named)
        if "heat_transfer" not in row:
            raise BadInput(
                said("'{cover}' closes no room", cover=named), "give --u for what you build"
            )
        transmittance = row["heat_transfer"].number
        links.append(
            from_fact("{cover} lets {value} through", row["heat_transfer"], cover=said(named))
        )
    else:
        transmittance = float(stated)  # type: ignore[arg-type]
    area, air, changes, lift = (
        given[key] for key in ("cover_area", "volume", "air_changes", "lift")
    )
    watts = shelter.heat_loss(area, transmittance, air, changes, lift)
    through = area * transmittance * lift
    links += [
        cited(
            "Through the cover: area × heat transfer × lift",
            round(through, 1),
            "W",
            "asabe-ep406",
            "heat loss of greenhouses",
        ),
        computed(
            "With the air: 0.335 × changes an hour × volume × lift", round(watts - through, 1), "W"
        ),
    ]
    if row:
        ends = [
            shelter.heat_loss(area, end, air, changes, lift)
            for end in (row["heat_transfer"].least, row["heat_transfer"].most)
        ]
        links.append(
            computed(
                "By the range of the cover between {low} and {high}",
                round(watts, 1),
                "W",
                low=amount(round(ends[0]), "W"),
                high=amount(round(ends[1]), "W"),
            )
        )
        if "lift" in row:
            links.append(
                from_fact(
                    "Without any heat such a cover is about {value} warmer on a still clear night; the watts are "
                    "for the whole lift asked for",
                    row["lift"],
                )
            )
    return {"watts": round(watts, 2)}, tuple(links), _cautions("heat", "cover")


_AIR = "air_temperature"
RECKONERS = (
    Reckoner(
        "night",
        "The air hour by hour through a clear still night, and how long it stays below a limit.",
        (
            Option("start-temperature", measured(_AIR), "degC", "air two hours after sunset"),
            Option("minimum", measured(_AIR), "degC", "lowest expected, at sunrise"),
            Option("hours", number(0.5, 24, "hours of the night"), "h", "from then to sunrise"),
            Option("threshold", measured(_AIR), "degC", "limit that counts", required=False),
        ),
        _night,
        ("curve_c", "hours_below", "degree_hours_below"),
        "--start-temperature 4 --minimum=-4 --hours 12 --threshold=-2.2",
    ),
    Reckoner(
        "night-minimum",
        "Tonight's minimum from this evening's readings, by a rule fitted to nights of your own.",
        (
            Option(
                "records",
                existing_file,
                "file",
                "CSV of clear calm nights: t0,td,tmin (two hours after sunset, then the lowest)",
            ),
            Option("temperature", measured(_AIR), "degC", "air two hours after sunset"),
            Option("dew-point", measured(_AIR), "degC", "dew point at the same time"),
        ),
        _night_minimum,
        ("predicted_c", "slope_t", "slope_td", "intercept", "rmse_c"),
        "--records nights.csv --temperature 3.2 --dew-point=-4.2",
    ),
    Reckoner(
        "bud-damage",
        "Share of flower buds a night kills, by kind and stage.",
        (
            Option("kind", str, "kind", "kind of tree, such as apple"),
            Option("stage", str, "text", "stage of the buds, such as full bloom"),
            Option("temperature", measured(_AIR), "degC", "lowest of the night at the buds"),
        ),
        _bud_damage,
        ("fraction",),
        "--kind apple --stage 'full bloom' --temperature=-3",
    ),
    Reckoner(
        "freeze-risk",
        "Odds of hard nights from the coldest night of each winter.",
        (
            Option(
                "minima",
                measures(_AIR),
                "degC",
                "coldest night of each winter, commas between; a unit at the end stands for all",
            ),
            Option(
                "below",
                measured(_AIR),
                "degC",
                "temperature whose yearly chance is wanted",
                required=False,
            ),
        ),
        _freeze_risk,
        (
            "location",
            "scale",
            *(f"t{years}_c" for years in _PERIODS),
            *(f"t{years}_{end}_c" for years in _PERIODS for end in ("low", "high")),
            "probability",
        ),
        "--minima=-2.1,-3.4,-1.0,-5.6,-4.2 --below=-4",
    ),
    Reckoner(
        "shelter",
        "Heat that keeps a shelter warmer than the night outside.",
        (
            Option("cover-area", measured("cover_area"), "m2", "area of the cover"),
            Option("volume", measured("room"), "m3", "air inside"),
            Option("cover", _cover, "text", "what it is covered with; or give --u", required=False),
            Option(
                "u",
                number(0.1, 50, "heat transfer"),
                "W m-2 K-1",
                "heat transfer of the cover, instead of its name",
                required=False,
            ),
            Option("air-changes", number(0, 60, "air changes"), "1", "changes of air an hour"),
            Option("lift", measured("temperature_difference"), "K", "how much warmer than outside"),
        ),
        _shelter,
        ("watts",),
        "--cover-area 35.34 --volume 21.21 --u 6.2 --air-changes 1 --lift 5",
    ),
)
