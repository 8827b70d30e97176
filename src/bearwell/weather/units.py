"""Which unit an unlabelled column is in: decided by what makes a believable record, and told."""

from __future__ import annotations

import numpy as np

from bearwell.quantities import convert, kinds
from bearwell.said import listed, said
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.rules import rule
from bearwell.weather.text import Findings

CANDIDATES = ("degC", "degF", "tenths", "kelvin")
SPOKEN = {
    "degC": "degC",
    "degF": "degF",
    "tenths": "tenths of a degC",
    "kelvin": said("kelvin"),
    "mm": "mm",
    "cm": "cm",
    "in": said("inches"),
}
# Exact by definition: 0 degC is 273.15 K (SI brochure); a kWh is 3.6 MJ.
_ICE = 273.15
_MJ_OF_KWH = 3.6
# A knot is 1852 m in an hour.
_M_S_OF_KNOT = 1852.0 / 3600.0


def spoken(name: str, unit: str, written: bool, documented: str) -> str:
    """A unit as the report says it, with where it is known from."""
    if not unit:
        return "nothing was read"
    tenths = {"rain": "tenths of a mm", "wind": "tenths of a m/s"}
    called = tenths.get(name, SPOKEN["tenths"]) if unit == "tenths" else SPOKEN.get(unit, unit)
    sentence = "{unit}, told by its numbers"
    if written or documented:
        sentence = "{unit}, as written" if written else "{unit}, as its archive documents"
    return said(sentence, unit=said(called))


def canonical(values: FloatArray, unit: str) -> FloatArray:
    """A column in the unit the program keeps it in."""
    if unit == "tenths":
        return values / 10.0
    if unit == "kelvin":
        return values - _ICE
    if unit == "s":
        return values / 3600.0
    if unit == "min":
        return values / 60.0
    if unit in ("kWh", "Wh"):
        return values * (_MJ_OF_KWH if unit == "kWh" else _MJ_OF_KWH / 1000.0)
    if unit == "degF":
        zero = convert(0.0, "degF", "degC")
        return values * (convert(1.0, "degF", "degC") - zero) + zero
    if unit == "knots":
        return values * _M_S_OF_KNOT
    if unit in ("in", "cm"):
        return values * convert(1.0, unit, "mm")
    if unit in ("km/h", "mph"):
        return values * convert(1.0, unit, "m s-1")
    return values


def whole(values: FloatArray) -> bool:
    """Whether every known value is a whole number."""
    known = values[np.isfinite(values)]
    return bool(np.all(known == np.round(known)))


def objection(unit: str, tmin: FloatArray, tmax: FloatArray, month: IntArray) -> str:
    """Why these numbers cannot be ``unit`` where fruit trees grow; "" if they can."""
    both = np.concatenate([tmin, tmax])
    integers = whole(both)
    if unit == "tenths" and not integers:
        return "they have decimals"
    kind = kinds()["air_temperature"]
    low, high = canonical(tmin, unit), canonical(tmax, unit)
    known = canonical(both[np.isfinite(both)], unit)
    if known.size == 0:
        return ""
    bottom, top = np.quantile(known, [rule("units.tail"), 1.0 - rule("units.tail")])
    if bottom < kind.low or top > kind.high:
        return said("they would run from {low:.0f} to {high:.0f} degC", low=bottom, high=top)
    swing = high - low
    swing = swing[np.isfinite(swing)]
    if swing.size:
        middle = float(np.median(swing))
        if not rule("units.swing_low") <= abs(middle) <= rule("units.swing_high"):
            return said("day and night would differ by {apart:.1f} K", apart=abs(middle))
    seen = np.isfinite(tmin) | np.isfinite(tmax)
    mean = float(known.mean())
    if int(seen.sum()) >= rule("units.days") and len(np.unique(month[seen])) == 12:
        if top - bottom < rule("units.range_low"):
            return said("the whole year would span {apart:.0f} K", apart=top - bottom)
        lowest, highest = rule("units.mean_low"), rule("units.mean_high")
    else:
        lowest = rule("units.part_low_whole" if integers else "units.part_low")
        highest = rule("units.part_high")
    return "" if lowest <= mean <= highest else said("the mean would be {mean:.0f} degC", mean=mean)


def _either(units: list[str]) -> str:
    return listed((said(SPOKEN[unit]) for unit in units), "{one} or {other}")


def decide_temperature(
    tmin: FloatArray,
    tmax: FloatArray,
    month: IntArray,
    findings: Findings,
    *,
    documented: str = "",
) -> str:
    """The unit of unlabelled temperatures, noted; raises BadFile when none or several would do.

    ``documented`` is what the archive the file comes from says it writes; it holds unless the
    numbers speak against it.
    """
    if documented:
        against = objection(documented, tmin, tmax, month)
        few = int((np.isfinite(tmin) | np.isfinite(tmax)).sum()) < rule("doubt.stuck")
        if not against or (few and "decimals" not in against and "run from" not in against):
            findings.note(
                said(
                    "temperatures were read as {unit}, as this archive writes",
                    unit=said(SPOKEN[documented]),
                )
            )
            return documented
    objections = {unit: objection(unit, tmin, tmax, month) for unit in CANDIDATES}
    left = [unit for unit, why in objections.items() if not why]
    if len(left) == 1:
        unit = left[0]
        others = listed(
            (
                said("as {unit} {why}", unit=said(SPOKEN[other]), why=said(objections[other]))
                for other in ("degC", "degF")
                if other != unit
            ),
            "{one}; {other}",
        )
        findings.note(
            said(
                "no unit is written for the temperatures; they were read as {unit} ({others})",
                unit=said(SPOKEN[unit]),
                others=others,
            ),
            'to be sure, write it in the heading, such as "tmin_c" or "tmin_f"',
        )
        return unit
    message = (
        said("the temperatures have no unit and could be {units}", units=_either(left))
        if left
        else "the temperatures make sense neither as degC, degF, tenths of a degC nor kelvin"
    )
    return findings.refuse(
        message, 'write the unit in the heading, such as "tmin_c" or "tmin_f"', line=1
    )


def doubt_label(
    unit: str, tmin: FloatArray, tmax: FloatArray, month: IntArray, findings: Findings
) -> None:
    """Refuse a heading whose unit cannot be, where the numbers make sense in another; of few days, warn."""
    against = objection(unit, tmin, tmax, month)
    if not against:
        return
    better = [one for one in CANDIDATES if one != unit and not objection(one, tmin, tmax, month)]
    if better:
        message = said(
            "the heading says {unit}, but so {against}; they look like {likely}",
            unit=said(SPOKEN[unit]),
            against=said(against),
            likely=_either(better),
        )
        days = int((np.isfinite(tmin) | np.isfinite(tmax)).sum())
        if days < rule("units.few"):
            findings.warn(message, "correct the unit in the heading", line=1)
            return
        findings.refuse(message, "correct the unit in the heading: the file was not used", line=1)


def decide_rain(
    rain: FloatArray, temperature: str, findings: Findings, *, documented: str = ""
) -> str:
    """The unit of unlabelled rain, from the temperatures beside it and its own size; noted."""
    wet = rain[np.isfinite(rain) & (rain > 0)]
    if wet.size == 0:
        return "mm"
    size = float(wet.mean())
    if documented == "tenths" and temperature in ("", "tenths") and whole(rain):
        unit, why = "tenths", "as this archive writes"
    elif temperature == "tenths" and whole(rain):
        unit, why = "tenths", "like the temperatures"
    elif temperature == "degF":
        inches = size < rule("units.inch_wet_day")
        unit = "in" if inches else "mm"
        why = said("as a mean wet day brings {size:.2g}", size=size)
    elif not temperature and size < rule("units.inch_wet_day"):
        findings.refuse(
            "the rain has no unit and could be mm or inches",
            'write it in the heading, such as "rain_mm" or "rain_in"',
            line=1,
        )
    elif not temperature and whole(rain) and size > rule("units.tenths_wet_day"):
        findings.refuse(
            "the rain has no unit and could be mm or tenths of mm",
            'write it in the heading, such as "rain_mm" or "rain [tenths]"',
            line=1,
        )
    else:
        unit, why = "mm", said("as a mean wet day brings {size:.2g}", size=size)
    spoken = "tenths of a mm" if unit == "tenths" else SPOKEN[unit]
    findings.note(
        said(
            "no unit is written for the rain; it was read as {unit}, {why}",
            unit=said(spoken),
            why=said(why),
        )
    )
    return unit
