"""Joining several records of one place into one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from bearwell.errors import BadInput, Problem
from bearwell.said import listed, said
from bearwell.weather.curves import BoolArray, FloatArray
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries


def merge(records: Sequence[DailySeries]) -> DailySeries:
    """One record from several of the same place: earlier ones count, later ones fill them.

    Measured values count before filled ones. Days on which two records differ by more than
    ``doubt.overlap`` are reported, one warning for each pair and column. Raises BadInput for none.
    """
    if not records:
        raise BadInput("there is no weather record to join")
    joined = records[0]
    for later in records[1:]:
        joined = _joined(joined, later)
    return joined


def _joined(first: DailySeries, later: DailySeries) -> DailySeries:
    start, end = min(first.start, later.start), max(first.end, later.end)
    span = (end - start).days + 1
    laid = [_laid(series, start, span) for series in (first, later)]
    names = [*dict.fromkeys([*laid[0], *laid[1]])]
    none = np.full(span, np.nan)
    problems = []
    made: dict[str, FloatArray] = {}
    filled = np.zeros(span, dtype=np.bool_)
    marks = [_mark(series, start, span) for series in (first, later)]
    for name in names:
        one, two = laid[0].get(name, none), laid[1].get(name, none)
        known = np.isfinite(one) & np.isfinite(two)
        take = np.isnan(one) & np.isfinite(two)
        if name in ("tmin", "tmax"):
            real = known & ~marks[0] & ~marks[1]
            problems += _differ(name, one, two, real, start, first, later)
            take |= known & marks[0] & ~marks[1]
            filled |= np.where(take, marks[1], marks[0])
        made[name] = np.where(take, two, one)
    crossed = made["tmin"] > made["tmax"]
    if crossed.any():
        where = listed(later.sources) or said("weather")
        problems.append(
            Problem(
                where,
                said(
                    "on {count} days the minimum of one record is above the maximum of another; both "
                    "were left out",
                    count=int(crossed.sum()),
                ),
                severity="warning",
            )
        )
        for name in ("tmin", "tmax"):
            made[name] = np.where(crossed, np.nan, made[name])
    return replace(
        first,
        start=start,
        tmin=made.pop("tmin"),
        tmax=made.pop("tmax"),
        rain=made.pop("rain"),
        extra=made,
        filled=filled & ~crossed,
        flags=_flags(first, later, start, span),
        reports=(*first.reports, *later.reports),
        sources=(*first.sources, *later.sources),
        problems=(*first.problems, *later.problems, *problems),
    )


def _flags(first: DailySeries, later: DailySeries, start: date, span: int) -> dict[str, BoolArray]:
    """The flags of both; those of the later record only where the earlier has no reading."""
    joined: dict[str, BoolArray] = {}
    for series in (first, later):
        offset = (series.start - start).days
        for reason, days in series.flags.items():
            wide = np.zeros(span, dtype=np.bool_)
            wide[offset : offset + len(series)] = days
            if series is later:
                begin = (first.start - start).days
                wide[begin : begin + len(first)] &= ~(
                    np.isfinite(first.tmin) & np.isfinite(first.tmax)
                )
            joined[reason] = joined.get(reason, np.zeros(span, dtype=np.bool_)) | wide
    return {reason: days for reason, days in joined.items() if days.any()}


def _laid(series: DailySeries, start: date, span: int) -> dict[str, FloatArray]:
    offset = (series.start - start).days
    columns = {"tmin": series.tmin, "tmax": series.tmax, "rain": series.rain, **series.extra}
    laid = {}
    for name, values in columns.items():
        wide = np.full(span, np.nan)
        wide[offset : offset + len(series)] = values
        laid[name] = wide
    return laid


def _mark(series: DailySeries, start: date, span: int) -> BoolArray:
    wide = np.zeros(span, dtype=np.bool_)
    offset = (series.start - start).days
    wide[offset : offset + len(series)] = series.filled
    return wide


def _differ(
    name: str,
    one: FloatArray,
    two: FloatArray,
    known: BoolArray,
    start: date,
    first: DailySeries,
    later: DailySeries,
) -> list[Problem]:
    apart = np.zeros(len(one))
    apart[known] = two[known] - one[known]
    far = np.flatnonzero(np.abs(apart) > rule("doubt.overlap"))
    if far.size == 0:
        return []
    day = date.fromordinal(start.toordinal() + int(far[0]))
    worst = int(far[np.argmax(np.abs(apart[far]))])
    mean = float(apart[known].mean())
    return [
        Problem(
            listed(later.sources) or said("weather"),
            said(
                "{name} differs from {other} by more than {limit:g} K on {count} of {common} common days, "
                "first on {day} ({one:.4g} and {two:.4g}), by up to {most:.1f} K, on average {mean:+.1f} K; "
                "the earlier record was kept",
                name=name,
                other=listed(first.sources) or said("the earlier record"),
                limit=rule("doubt.overlap"),
                count=far.size,
                common=int(known.sum()),
                day=day,
                one=one[far[0]],
                two=two[far[0]],
                most=abs(apart[worst]),
                mean=mean,
            ),
            "are both of the same place and the same unit?",
            severity="warning",
        )
    ]
