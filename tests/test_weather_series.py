"""The daily record, its gap policy, and the joining of records."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from bearwell.errors import BadInput
from bearwell.weather import DailySeries, climate, fill_gaps, merge, monthly_normals
from bearwell.weather.rules import rules

NORMALS = monthly_normals(
    [5, 5, 6, 7, 9, 11, 13, 13, 12, 10, 7, 5],
    [14, 15, 16, 17, 19, 21, 22, 22, 22, 20, 17, 14],
    [120, 110, 80, 40, 15, 3, 0, 1, 6, 30, 70, 110],
)


def record(start: date, tmin: list[float], **others: object) -> DailySeries:
    low = np.array(tmin, dtype=float)
    given = {"tmax": low + 10.0, "rain": np.zeros(len(low)), "sources": ("mine.csv",)}
    return DailySeries(start, low, **{**given, **others})  # type: ignore[arg-type]


def years_of(first: int, last: int) -> DailySeries:
    """A wave of a record, whole years, coldest in mid-January."""
    start = date(first, 1, 1)
    days = (date(last + 1, 1, 1) - start).days
    frame = record(start, [0.0] * days)
    low = 8.0 - 6.0 * np.cos(2 * np.pi * (frame.day_of_year() - 15) / 365.25)
    return record(start, low.tolist())


def test_days_and_dates_across_a_leap_day() -> None:
    series = record(date(2024, 2, 27), [1, 2, 3, 4])
    assert series.end == date(2024, 3, 1)
    assert [str(day) for day in series.dates()] == [
        "2024-02-27",
        "2024-02-28",
        "2024-02-29",
        "2024-03-01",
    ]
    assert list(series.iter_dates())[2] == date(2024, 2, 29)
    assert series.day_of_year().tolist() == [58, 59, 60, 61]
    assert series.month().tolist() == [2, 2, 2, 3]
    assert series.index(date(2024, 2, 29)) == 2
    assert series.day(-1) == series.end
    assert series.tmean.tolist() == [6, 7, 8, 9]


def test_day_of_year_reaches_366_only_in_leap_years() -> None:
    assert record(date(2023, 12, 31), [1]).day_of_year().tolist() == [365]
    assert record(date(2024, 12, 31), [1]).day_of_year().tolist() == [366]
    assert record(date(1900, 12, 31), [1]).day_of_year().tolist() == [365]
    assert record(date(1969, 12, 30), [1, 2, 3]).year().tolist() == [1969, 1969, 1970]


def test_between_cuts_to_the_record_and_refuses_strangers() -> None:
    series = record(date(2024, 1, 1), list(range(10)))
    part = series.between(date(2023, 1, 1), date(2024, 1, 3))
    assert (part.start, part.end, part.tmin.tolist()) == (
        date(2024, 1, 1),
        date(2024, 1, 3),
        [0, 1, 2],
    )
    with pytest.raises(BadInput, match="2024-01-01 to 2024-01-10"):
        series.between(date(2025, 1, 1), date(2025, 2, 1))
    with pytest.raises(BadInput, match="outside the weather record"):
        series.index(date(2023, 12, 31))


def test_the_arrays_cannot_be_written_and_are_not_the_callers() -> None:
    mine = np.array([1.0, 2.0])
    series = DailySeries(date(2024, 1, 1), mine, mine + 5, mine * 0)
    mine[0] = 99.0
    assert series.tmin[0] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        series.tmin[0] = 3.0


def test_columns_of_unlike_length_and_unknown_extras_are_refused() -> None:
    with pytest.raises(BadInput, match="one length"):
        DailySeries(date(2024, 1, 1), np.zeros(2), np.zeros(3), np.zeros(2))
    with pytest.raises(BadInput, match="snow"):
        record(date(2024, 1, 1), [1], extra={"snow": np.zeros(1)})
    with pytest.raises(BadInput, match="at least one day"):
        record(date(2024, 1, 1), [])


def test_a_short_gap_is_a_straight_line_and_told() -> None:
    nan = float("nan")
    full = fill_gaps(record(date(2024, 3, 1), [2.0, nan, nan, nan, 6.0, 6.0]))
    assert full.tmin.tolist() == [2, 3, 4, 5, 6, 6]
    assert full.tmax.tolist() == [12, 13, 14, 15, 16, 16]
    assert full.filled.tolist() == [False, True, True, True, False, False]
    (told,) = full.problems
    assert told.severity == "warning"
    assert "2024-03-02 to 2024-03-04 (3 days)" in told.message
    assert "tmin and tmax" in told.message
    assert told.where == "mine.csv"


def test_a_longer_gap_in_a_short_record_needs_normals() -> None:
    nan = float("nan")
    series = record(date(2023, 1, 1), [2.0, nan, nan, nan, nan, 6.0])
    left = fill_gaps(series)
    assert np.isnan(left.tmin[1:5]).all()
    assert not left.filled.any()
    assert "left missing" in left.problems[0].message
    assert "normals" in left.problems[0].hint
    full = fill_gaps(series, NORMALS)
    assert full.tmin[1:5].tolist() == NORMALS.curve("tmin")[1:5].tolist()
    assert "monthly normals" in full.problems[0].message


def test_a_longer_gap_in_a_long_record_takes_the_records_own_mean() -> None:
    whole = years_of(2001, 2004)
    low = np.array(whole.tmin)
    gap = slice(whole.index(date(2003, 7, 1)), whole.index(date(2003, 8, 1)))
    low[gap] = np.nan
    full = fill_gaps(record(whole.start, low.tolist()), NORMALS)
    assert "the record's own mean" in full.problems[0].message
    assert np.abs(full.tmin[gap] - whole.tmin[gap]).max() < 0.1
    assert int(full.filled.sum()) == 31


def test_a_gap_at_the_end_has_no_second_neighbour() -> None:
    nan = float("nan")
    full = fill_gaps(record(date(2023, 1, 1), [2.0, 3.0, nan]), NORMALS)
    assert full.tmin[2] == pytest.approx(NORMALS.curve("tmin")[2])


def test_every_gap_is_told_once_with_its_dates() -> None:
    nan = float("nan")
    full = fill_gaps(record(date(2024, 1, 1), [1, nan, 1, nan, nan, 1, nan, 1]))
    assert [told.message.split(":")[0] for told in full.problems] == [
        "tmin and tmax missing on 2024-01-02",
        "tmin and tmax missing from 2024-01-04 to 2024-01-05 (2 days)",
        "tmin and tmax missing on 2024-01-07",
    ]


def test_rain_is_never_made_up_but_counted_in_one_note() -> None:
    nan = float("nan")
    rain = np.array([1.0, nan, nan, 3.0])
    full = fill_gaps(record(date(2024, 1, 1), [1, 2, 3, 4], rain=rain), NORMALS)
    assert np.isnan(full.rain[1:3]).all()
    assert not full.filled.any()
    (note,) = full.problems
    assert note.severity == "note"
    assert "2 of 4 days" in note.message


def test_a_filled_minimum_never_exceeds_a_measured_maximum() -> None:
    nan = float("nan")
    full = fill_gaps(
        record(date(2024, 1, 1), [8.0, nan, 8.0], tmax=np.array([15.0, 3.0, 15.0])),
    )
    assert (full.tmin[1], full.tmax[1]) == (3.0, 3.0)
    full = fill_gaps(
        record(date(2024, 1, 1), [1.0, 9.0, 1.0], tmax=np.array([5.0, nan, 5.0])),
    )
    assert (full.tmin[1], full.tmax[1]) == (9.0, 9.0)


def test_filled_nights_do_not_count_as_measured_ones() -> None:
    whole = years_of(2001, 2004)
    low = np.array(whole.tmin)
    low[whole.index(date(2003, 1, 10)) : whole.index(date(2003, 1, 20))] = np.nan
    full = fill_gaps(record(whole.start, low.tolist()))
    season = next(one for one in climate(full).seasons if one.label == 2003)
    assert np.isnan(season.tmin).sum() == 10


def test_merging_fills_from_the_later_and_reports_what_differs() -> None:
    nan = float("nan")
    one = record(date(2024, 1, 1), [1.0, nan, 3.0, 4.0])
    two = record(
        date(2024, 1, 2), [2.5, 3.5, 9.0, 5.0], sources=("neighbour.csv",), rain=np.full(4, 2.0)
    )
    both = merge([one, two])
    assert (both.start, both.end) == (date(2024, 1, 1), date(2024, 1, 5))
    assert both.tmin.tolist() == [1.0, 2.5, 3.0, 4.0, 5.0]
    assert both.rain.tolist() == [0, 0, 0, 0, 2]
    assert both.sources == ("mine.csv", "neighbour.csv")
    told = [one.message for one in both.problems]
    assert len(told) == 2
    assert "tmin differs from mine.csv by more than 3 K on 1 of 2 common days" in told[0]
    assert "2024-01-04" in told[0]


def test_merging_prefers_measured_to_filled_values() -> None:
    nan = float("nan")
    filled = fill_gaps(record(date(2024, 1, 1), [1.0, nan, 3.0]))
    other = record(date(2024, 1, 1), [0.0, -4.0, 2.0], sources=("b.csv",))
    both = merge([filled, other])
    assert both.tmin.tolist() == [1.0, -4.0, 3.0]
    assert not both.filled.any()
    assert both.problems == filled.problems
    apart = merge([filled, record(date(2024, 2, 1), [5.0])])
    assert apart.filled.tolist()[:3] == [False, True, False]


def test_merging_keeps_leap_days_gaps_and_extras() -> None:
    first = record(date(2024, 2, 28), [1.0], extra={"wind": np.array([2.0])})
    both = merge([first, record(date(2024, 3, 2), [4.0])])
    assert len(both) == 4
    assert np.isnan(both.tmin[1:3]).all()
    assert both.extra["wind"][0] == 2.0
    assert np.isnan(both.extra["wind"][3])
    with pytest.raises(BadInput):
        merge([])


def test_merging_never_leaves_a_night_warmer_than_its_day() -> None:
    nan = float("nan")
    one = record(date(2024, 1, 1), [12.0], tmax=np.array([nan]))
    two = record(date(2024, 1, 1), [nan], tmax=np.array([10.5]))
    both = merge([one, two])
    assert np.isnan(both.tmin[0])
    assert "above the maximum" in both.problems[-1].message


def test_every_rule_says_where_it_comes_from() -> None:
    for rule in rules().values():
        assert rule.source
        assert rule.meaning
        assert rule.confidence in ("read", "secondhand", "memory", "judgement")


def test_between_and_merge_are_opposites() -> None:
    series = years_of(2001, 2002)
    cut = date(2001, 9, 30)
    parts = [
        series.between(series.start, cut),
        series.between(cut + timedelta(days=1), series.end),
    ]
    joined = merge(parts)
    assert np.array_equal(joined.tmin, series.tmin)
    assert joined.problems == ()
