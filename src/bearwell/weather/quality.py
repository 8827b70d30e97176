"""From columns of dated readings to one continuous record, with every doubt told by its line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from bearwell.quantities import kinds
from bearwell.said import listed, said
from bearwell.weather.curves import FloatArray, IntArray
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries, runs, unchanging
from bearwell.weather.text import Findings

_KIND = {
    "tmin": "air_temperature",
    "tmax": "air_temperature",
    "dew_point": "air_temperature",
    "rain": "rain",
    "wind": "wind_speed",
    "sunshine": "sunshine",
    "solar": "solar",
}
_PERCENT = (0.0, 100.0, "%")


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """Readings of one kind, in its canonical unit: ordinal day, value and line of each."""

    days: IntArray
    values: FloatArray
    lines: IntArray


def assemble(columns: dict[str, Column], filled: Column | None, findings: Findings) -> DailySeries:
    """One continuous record from dated columns, cut to the days on which anything was read.

    Repeated days: the first reading counts. Impossible values and nights warmer than their day are
    left out, and so are one-day spikes; stuck instruments and cloudbursts are told and kept, flagged.
    Raises BadFile when nothing is left.
    """
    known = [one.days[np.isfinite(one.values)] for one in columns.values()]
    every = np.concatenate(known) if known else np.zeros(0, dtype=np.int64)
    if every.size == 0:
        findings.refuse("the file holds no reading of temperature or rain")
    first, last = int(every.min()), int(every.max())
    span = last - first + 1
    if span > rule("doubt.span") * 366:
        findings.refuse(
            said(
                "the dates run from {first} to {last}",
                first=date.fromordinal(first),
                last=date.fromordinal(last),
            ),
            "look for a mistyped year",
        )
    table: dict[str, FloatArray] = {}
    line = np.zeros(span, dtype=np.int64)
    repeats = _Repeats()
    for name, column in columns.items():
        within = (column.days >= first) & (column.days <= last)
        place, values = column.days[within] - first, column.values[within]
        lines = column.lines[within]
        table[name] = repeats.place(name, place, values, lines, span)
        line[place[::-1]] = lines[::-1]
    repeats.tell(first, findings)
    for name, values in table.items():
        _bounds(name, values, line, first, findings)
    none = np.full(span, np.nan)
    tmin, tmax = table.pop("tmin", none.copy()), table.pop("tmax", none.copy())
    rain = table.pop("rain", none)
    _swapped(tmin, tmax, line, first, findings)
    for name, values in (("tmin", tmin), ("tmax", tmax)):
        _spikes(name, values, line, first, findings)
        _stuck(name, values, line, first, findings)
    _cloudbursts(rain, line, first, findings)
    lost = int((np.isnan(tmin) | np.isnan(tmax)).sum())
    if 0 < lost < span:
        findings.note(
            said(
                "{count} of {days} days lack a minimum or maximum temperature",
                count=lost,
                days=span,
            )
        )
    made = np.zeros(span, dtype=np.bool_)
    if filled is not None:
        inside = (filled.days >= first) & (filled.days <= last)
        made[filled.days[inside] - first] = filled.values[inside] == 1.0
    flags = {}
    for reason, ordinals in findings.marked.items():
        at = np.array(ordinals, dtype=np.int64) - first
        days = np.zeros(span, dtype=np.bool_)
        days[at[(at >= 0) & (at < span)]] = True
        if days.any():
            flags[reason] = days
    return DailySeries(
        start=date.fromordinal(first),
        tmin=tmin,
        tmax=tmax,
        rain=rain,
        extra=table,
        filled=made,
        sources=(findings.where,),
        problems=tuple(findings.problems()),
        flags=flags,
        reports=(findings.report(span),),
    )


class _Repeats:
    """Days given more than once, gathered over all columns."""

    def __init__(self) -> None:
        self.same: dict[int, int] = {}
        self.differing: dict[int, tuple[int, list[str]]] = {}

    def place(
        self, name: str, place: IntArray, values: FloatArray, lines: IntArray, span: int
    ) -> FloatArray:
        """Lay a column out by day; of repeated days the first known reading is kept."""
        laid = np.full(span, np.nan)
        known = np.isfinite(values)
        spots, kept = place[known], values[known]
        laid[spots[::-1]] = kept[::-1]
        counts = np.bincount(place, minlength=span)
        if counts.max(initial=0) > 1:
            seen: set[int] = set()
            for index in np.flatnonzero(counts[place] > 1).tolist():
                day = int(place[index])
                if day not in seen:
                    seen.add(day)
                elif np.isfinite(values[index]) and values[index] != laid[day]:
                    self.differing.setdefault(day, (int(lines[index]), []))[1].append(name)
                else:
                    self.same.setdefault(day, int(lines[index]))
        return laid

    def tell(self, first: int, findings: Findings) -> None:
        same = {day: line for day, line in self.same.items() if day not in self.differing}
        if same:
            day = min(same)
            findings.note(
                said(
                    "{count} days are given more than once with the same values, the first {day}"
                    if len(same) > 1
                    else "{day} is given more than once with the same values",
                    count=len(same),
                    day=date.fromordinal(first + day),
                ),
                line=same[day],
            )
        for day, (line, names) in sorted(self.differing.items()):
            findings.warn(
                said(
                    "{day} is given again with another {names}; the first was kept",
                    day=date.fromordinal(first + day),
                    names=listed(dict.fromkeys(names), "{one} and {other}"),
                ),
                "remove the wrong line",
                line=line,
                sort="days given again with other values",
            )
            findings.mark("given again with other values", [first + day])


def _bounds(name: str, values: FloatArray, line: IntArray, first: int, findings: Findings) -> None:
    kind = kinds()[_KIND[name]] if name in _KIND else None
    low, high, unit = (kind.low, kind.high, kind.unit) if kind else _PERCENT
    with np.errstate(invalid="ignore"):
        outside = np.flatnonzero((values < low) | (values > high))
    for place in outside.tolist():
        findings.warn(
            said(
                "{name} of {value:g} {unit} is not possible; it was left out",
                name=name,
                value=values[place],
                unit=unit,
            ),
            said("between {low:g} and {high:g} {unit} is expected", low=low, high=high, unit=unit),
            line=int(line[place]),
            sort=said("{name} that is not possible", name=name),
        )
    findings.mark(said("{name} not possible, left out", name=name), (outside + first).tolist())
    values[outside] = np.nan


def _swapped(
    tmin: FloatArray, tmax: FloatArray, line: IntArray, first: int, findings: Findings
) -> None:
    with np.errstate(invalid="ignore"):
        wrong = np.flatnonzero(tmin > tmax)
    both = int((np.isfinite(tmin) & np.isfinite(tmax)).sum())
    if both >= rule("gap.longest") and len(wrong) > rule("doubt.swapped_share") * both:
        findings.refuse(
            said(
                "the minimum is above the maximum on {count} of {both} days",
                count=len(wrong),
                both=both,
            ),
            "the two headings are exchanged",
            line=1,
        )
    for place in wrong.tolist():
        findings.warn(
            said(
                "on {day} the minimum {tmin:.4g} is above the maximum {tmax:.4g}; both were left out",
                day=date.fromordinal(first + place),
                tmin=tmin[place],
                tmax=tmax[place],
            ),
            "were they exchanged?",
            line=int(line[place]),
            sort="days with the minimum above the maximum",
        )
    findings.mark("minimum above maximum, both left out", (wrong + first).tolist())
    tmin[wrong] = np.nan
    tmax[wrong] = np.nan


def _spikes(name: str, values: FloatArray, line: IntArray, first: int, findings: Findings) -> None:
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    limit = rule("doubt.spike")
    with np.errstate(invalid="ignore"):
        spike = (np.minimum(np.abs(before), np.abs(after)) >= limit) & (before * after > 0)
    for place in (np.flatnonzero(spike) + 1).tolist():
        findings.warn(
            said(
                "{name} jumps to {value:.4g} degC for one day; it was left out",
                name=name,
                value=values[place],
            ),
            said(
                "its neighbours are {before:.4g} and {after:.4g}",
                before=values[place - 1],
                after=values[place + 1],
            ),
            line=int(line[place]),
            sort=said("one-day jumps of {name}", name=name),
        )
    jumped = np.flatnonzero(spike) + 1
    findings.mark(said("{name} jumps for one day, left out", name=name), (jumped + first).tolist())
    values[jumped] = np.nan


def _stuck(name: str, values: FloatArray, line: IntArray, first: int, findings: Findings) -> None:
    length = int(rule("doubt.stuck"))
    for begin, stop in runs(np.diff(values) == 0.0):
        if stop - begin + 1 >= length:
            findings.warn(
                said(
                    "{name} stays at {value:.4g} degC for {count} days from {day}; it was kept, but counts "
                    "for no odds and no learning",
                    name=name,
                    value=values[begin],
                    count=stop - begin + 1,
                    day=date.fromordinal(first + begin),
                ),
                "was the instrument stuck?",
                line=int(line[begin]),
                sort=said("stretches of unchanging {name}", name=name),
                kept=True,
            )
            findings.mark(unchanging(name), range(first + begin, first + stop + 1))


def _cloudbursts(rain: FloatArray, line: IntArray, first: int, findings: Findings) -> None:
    with np.errstate(invalid="ignore"):
        heavy = np.flatnonzero(rain > rule("doubt.rain"))
    for place in heavy.tolist():
        findings.warn(
            said(
                "rain of {rain:g} mm on {day} is more than falls in a day in most of the world; it "
                "was kept",
                rain=rain[place],
                day=date.fromordinal(first + place),
            ),
            "is it a mistyped figure, or the sum of many days?",
            line=int(line[place]),
            sort="days of unlikely rain",
            kept=True,
        )
    findings.mark("unlikely rain", (heavy + first).tolist())
