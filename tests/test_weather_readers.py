"""Every layout a user's weather comes in, and every way such a file can be wrong."""

from __future__ import annotations

import gzip
import math
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.weather import DailySeries, read_daily
from records import sample

Make = Callable[..., Path]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    def write(text: str | bytes, name: str = "mine.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    return write


def wave(day: date) -> tuple[float, float]:
    """A mild year: minimum and maximum of a day [degC], to the tenth."""
    angle = 2 * math.pi * (day.timetuple().tm_yday - 20) / 365.25
    wobble = math.sin(day.toordinal() * 1.7)
    low = round(9.0 - 6.0 * math.cos(angle) + wobble, 1)
    return low, round(low + 9.0 + 2.0 * math.cos(day.toordinal()), 1)


def year(
    to_text: Callable[[float], str] = str,
    *,
    head: str = "date,tmin,tmax",
    sep: str = ",",
    first: date = date(2023, 1, 1),
    days: int = 365,
    stamp: str = "%Y-%m-%d",
) -> str:
    rows = [head]
    for offset in range(days):
        day = first + timedelta(days=offset)
        low, high = wave(day)
        rows.append(sep.join((day.strftime(stamp), to_text(low), to_text(high))))
    return "\n".join(rows) + "\n"


def fahrenheit(value: float) -> str:
    return str(round(value * 1.8 + 32))


def tenths(value: float) -> str:
    return str(round(value * 10))


def found(series: DailySeries, words: str, severity: str | None = None) -> Problem:
    hits = [one for one in series.problems if words in one.message]
    assert len(hits) == 1, [str(one) for one in series.problems]
    assert severity in (None, hits[0].severity)
    return hits[0]


def refusal(path: Path, *, station: str | None = None) -> BadFile:
    with pytest.raises(BadFile) as caught:
        read_daily(path, station=station)
    assert "\n" not in str(caught.value)
    return caught.value


# ------------------------------------------------------------------ our own table and its kin


def test_our_own_table_needs_no_guess(make: Make) -> None:
    path = make("date,tmin_c,tmax_c,rain_mm\n2024-02-28,1.5,9,0\n2024-02-29,2,10.5,3.2\n")
    series = read_daily(path)
    assert series.start == date(2024, 2, 28)
    assert series.tmin.tolist() == [1.5, 2.0]
    assert series.tmax.tolist() == [9.0, 10.5]
    assert series.rain.tolist() == [0.0, 3.2]
    assert series.problems == ()
    assert series.sources == (str(path),)


@pytest.mark.parametrize(
    ("head", "row", "expected"),
    [
        ("date,tmin [degF],tmax [degF],rain [in]", "2024-01-01,32,50,0.5", (0, 10, 12.7)),
        ("Date,Tmin (°F),Tmax (°F),Rain (inches)", "2024-01-01,32,50,0.5", (0, 10, 12.7)),
        ("DATE,TMIN_F,TMAX_F,PRCP_IN", "2024-01-01,32,50,0.5", (0, 10, 12.7)),
        ("date,tmin [tenths],tmax [tenths],rain [0.1 mm]", "2024-01-01,15,95,32", (1.5, 9.5, 3.2)),
        ("date,tmin [K],tmax [K],rain_cm", "2024-01-01,273.15,283.15,1.2", (0, 10, 12)),
        ("fecha,minima (°C),maxima (°C),lluvia (mm)", "2024-01-01,1,10,3", (1, 10, 3)),
        ("Year,Month,Day,Tmax_c,Tmin_c,rain_mm", "2024,1,1,10,1,3", (1, 10, 3)),
        ("year,doy,tmax_degc,tmin_degc,prcp_mm", "2024,1,10,1,3", (1, 10, 3)),
        (
            "time,temperature_2m_max (°C),temperature_2m_min (°C),precipitation_sum (mm)",
            "2024-01-01,10,1,3",
            (1, 10, 3),
        ),
    ],
)
def test_headings_and_units(
    make: Make, head: str, row: str, expected: tuple[float, float, float]
) -> None:
    series = read_daily(make(f"{head}\n{row}\n"))
    got = (series.tmin[0], series.tmax[0], series.rain[0])
    assert got == pytest.approx(expected, abs=1e-9)
    assert series.start == date(2024, 1, 1)
    assert series.problems == ()


def test_all_extras_with_their_units(make: Make) -> None:
    head = "date,tmin_c,tmax_c,rh_min,rh_max [%],dew_point [degF],wind [km/h],sunshine_h,solar_mj"
    series = read_daily(make(f"{head}\n2024-06-01,10,20,40,90,50,7.2,9.5,22\n"))
    extras = {name: float(values[0]) for name, values in series.extra.items()}
    assert extras == pytest.approx(
        {
            "rh_min": 40,
            "rh_max": 90,
            "dew_point": 10,
            "wind": 2,
            "sunshine": 9.5,
            "solar": 22,
        }
    )
    assert np.isnan(series.rain).all()


def test_one_labelled_temperature_speaks_for_the_other(make: Make) -> None:
    series = read_daily(make("date,tmin_f,tmax\n2024-01-01,32,50\n"))
    assert series.tmax[0] == pytest.approx(10.0)
    found(series, "no unit is written for tmax; it was read as degF", "note")


def test_an_unknown_unit_is_refused_for_temperature_and_skipped_for_extras(make: Make) -> None:
    told = refusal(make("date,tmin [R],tmax [R]\n2024-01-01,500,510\n"))
    assert "'R' in the heading of tmin is no unit we read" in told.message
    assert "degF" in told.hint
    series = read_daily(make("date,tmin_c,tmax_c,solar [W/m^2]\n2024-01-01,1,9,310\n"))
    assert "solar" not in series.extra
    assert found(series, "the column was not read", "warning").line == 1


# ------------------------------------------------------------------ units nobody wrote down


def test_unlabelled_celsius_is_recognised_and_said(make: Make) -> None:
    series = read_daily(make(year()))
    assert series.tmin[0] == wave(date(2023, 1, 1))[0]
    note = found(series, "they were read as degC", "note")
    assert "as degF" in note.message
    assert "tmin_c" in note.hint


def test_unlabelled_fahrenheit_is_recognised_and_said(make: Make) -> None:
    series = read_daily(make(year(fahrenheit)))
    assert series.tmin[180] == pytest.approx(wave(date(2023, 6, 30))[0], abs=0.3)
    found(series, "they were read as degF", "note")


def test_unlabelled_tenths_are_recognised_and_said(make: Make) -> None:
    series = read_daily(make(year(tenths)))
    assert series.tmax[180] == wave(date(2023, 6, 30))[1]
    found(series, "they were read as tenths of a degC", "note")


def test_unlabelled_kelvin_is_recognised_and_said(make: Make) -> None:
    series = read_daily(make(year(lambda value: f"{value + 273.15:.2f}")))
    assert series.tmax[180] == pytest.approx(wave(date(2023, 6, 30))[1])
    found(series, "they were read as kelvin", "note")


def test_temperatures_that_could_be_either_are_refused(make: Make) -> None:
    rows = "".join(f"2024-01-{day:02d},{22 + day % 3},{36 + day % 4}\n" for day in range(1, 29))
    told = refusal(make("date,tmin,tmax\n" + rows))
    assert "could be degC or degF" in told.message
    assert "tmin_c" in told.hint


def test_a_column_of_fillers_only_is_no_temperature(make: Make) -> None:
    text = "date,tmin,tmax,rain_mm\n2024-01-01,-9999,-9999,3\n2024-01-02,-9999,-9999,0\n"
    series = read_daily(make(text))
    assert np.isnan(series.tmin).all()
    assert series.rain.tolist() == [3, 0]


def test_temperatures_that_are_nothing_are_refused(make: Make) -> None:
    told = refusal(make(year(lambda value: str(30 * value + 300.5))))
    assert "make sense neither" in told.message


def test_a_wrong_label_is_refused_with_what_it_looks_like(make: Make) -> None:
    told = refusal(make(year(fahrenheit, head="date,tmin_c,tmax_c"))).problems[-1]
    assert "heading says degC" in told.message
    assert "they look like degF" in told.message
    assert told.line == 1
    assert "heading" in told.hint


@pytest.mark.parametrize(
    ("make_text", "amount", "factor", "word"),
    [
        (str, 6.4, 1.0, "read as mm"),
        (fahrenheit, 0.25, 25.4, "read as inches"),
        (fahrenheit, 6.4, 1.0, "read as mm"),
        (tenths, 64, 0.1, "read as tenths of a mm"),
    ],
)
def test_unlabelled_rain_follows_the_temperatures_and_its_size(
    make: Make, make_text: Callable[[float], str], amount: float, factor: float, word: str
) -> None:
    rows = year(make_text).splitlines()
    wet = [f"{row},{amount if place % 4 == 0 else 0}" for place, row in enumerate(rows[1:])]
    series = read_daily(make("\n".join(["date,tmin,tmax,rain", *wet])))
    assert series.rain[0] == pytest.approx(amount * factor)
    assert found(series, "rain", "note").message.find(word) > 0


def test_rain_alone_without_a_unit(make: Make) -> None:
    small = "".join(f"2024-01-{day:02d},0.{day % 7}\n" for day in range(1, 29))
    assert "mm or inches" in refusal(make("date,rain\n" + small)).message
    large = "".join(f"2024-01-{day:02d},{10 * (day % 7)}\n" for day in range(1, 29))
    assert "tenths of mm" in refusal(make("date,rain\n" + large)).message
    series = read_daily(make("date,rain_in\n" + small))
    assert series.rain[0] == pytest.approx(2.54)
    assert np.isnan(series.tmin).all()


# ------------------------------------------------------------------ dates


@pytest.mark.parametrize(
    ("stamp", "days", "word"),
    [
        ("%Y-%m-%d", 30, ""),
        ("%Y%m%d", 30, ""),
        ("%Y%j", 30, ""),
        ("%Y/%m/%d", 30, ""),
        ("%Y-%m-%dT00:00", 30, ""),
        ("%m/%d/%Y", 30, "month/day/year"),
        ("%d/%m/%Y", 30, "day/month/year"),
        ("%d.%m.%Y", 30, "day/month/year"),
        ("%d/%m/%Y", 10, "day/month/year"),
        ("%m/%d/%Y", 10, "month/day/year"),
    ],
)
def test_dates_of_many_forms(make: Make, stamp: str, days: int, word: str) -> None:
    text = year(head="date,tmin_c,tmax_c", first=date(2024, 2, 1), days=days, stamp=stamp)
    series = read_daily(make(text))
    assert (series.start, len(series)) == (date(2024, 2, 1), days)
    assert np.isfinite(series.tmin).all()
    notes = [one.message for one in series.problems]
    assert len(notes) == bool(word)
    assert all(word in note for note in notes)


def test_one_mistyped_date_does_not_turn_the_others(make: Make) -> None:
    text = year(head="date,tmin_c,tmax_c", days=90, stamp="%d/%m/%Y").replace("05/02", "05/22")
    series = read_daily(make(text))
    assert len(series) == 90
    assert found(series, "'05/22/2023' is not a date", "warning").line == 37


def test_dates_that_could_be_either_are_refused(make: Make) -> None:
    told = refusal(make("date,tmin_c,tmax_c\n01/02/2024,1,9\n03/04/2024,2,9\n"))
    assert "could be day/month or month/day" in told.message
    assert "YYYY-MM-DD" in told.hint
    told = refusal(make("date,tmin_c,tmax_c\n1/2/24,1,9\n1/3/24,2,9\n"))
    assert "two digits" in told.message


def test_a_date_that_does_not_exist_is_told_by_its_line(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n2023-02-28,1,9\n2023-02-29,2,9\n,3,9\n2023-03-01,3,9\n"
    series = read_daily(make(text))
    assert series.tmin.tolist() == [1, 3]
    assert found(series, "'2023-02-29' is not a date", "warning").line == 3
    assert found(series, "there is no date", "warning").line == 4
    series = read_daily(
        make("year,month,day,tmin_c,tmax_c\n2023,2,28,1,9\n2023,2,29,2,9\n2023,3,1,3,9")
    )
    assert found(series, "'2023 2 29' is not a day", "warning").line == 3


def test_leap_days_are_kept(make: Make) -> None:
    text = year(head="date,tmin_c,tmax_c", first=date(2024, 1, 1), days=366)
    series = read_daily(make(text))
    assert len(series) == 366
    assert series.tmin[59] == wave(date(2024, 2, 29))[0]
    assert series.problems == ()


def test_a_mistyped_century_is_refused(make: Make) -> None:
    told = refusal(make("date,tmin_c,tmax_c\n1024-01-01,1,9\n2024-01-02,2,9\n"))
    assert "mistyped year" in told.hint


def test_monthly_and_hourly_tables_are_refused_with_the_reason(make: Make) -> None:
    assert "monthly" in refusal(make("date,tmin_c,tmax_c\n2024-01,1,9\n2024-02,2,9\n")).message
    rows = "".join(f"2024-01-01T{hour:02d}:00,1,2\n" for hour in range(24))
    assert "several readings a day" in refusal(make("time,tmin_c,tmax_c\n" + rows)).message
    hourly = "Year,Month,Day,Hour,Temp\n2008,3,3,10,15.1\n"
    assert "20 of its hours" in refusal(make(hourly)).message


# ------------------------------------------------------------------ separators, encodings, wrappers


def test_semicolons_and_decimal_commas(make: Make) -> None:
    series = read_daily(make("date;tmin_c;tmax_c;rain_mm\n2024-01-01;-1,5;9,25;0,4\n"))
    assert (series.tmin[0], series.tmax[0], series.rain[0]) == (-1.5, 9.25, 0.4)
    assert found(series, "1 values of tmin have a decimal comma", "note").line == 2


def test_tabs_and_quotes_and_spaces(make: Make) -> None:
    series = read_daily(make('"date"\t"tmin_c"\t"tmax_c"\n"2024-01-01"\t"  1.5"\t" 9 "\n'))
    assert (series.tmin[0], series.tmax[0]) == (1.5, 9.0)


def test_decimal_commas_between_commas_are_refused_with_a_hint(make: Make) -> None:
    told = refusal(make("date,tmin_c,tmax_c\n2024-01-01,1,5,9,2\n2024-01-02,2,5,9,3\n"))
    assert "semicolons" in told.hint


def test_a_byte_order_mark_is_no_part_of_the_heading(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n2024-01-01,1,9\n"
    assert read_daily(make(b"\xef\xbb\xbf" + text.encode())).problems == ()
    assert read_daily(make(text.encode("utf-16"))).tmin[0] == 1


def test_latin_1_is_read_and_noted(make: Make) -> None:
    text = "Año;Mes;Dia;T.Max (°C);T.Min (°C)\n2024;1;31;9,5;1,5\n"
    series = read_daily(make(text.encode("latin-1")))
    assert (series.start, series.tmax[0]) == (date(2024, 1, 31), 9.5)
    found(series, "Latin-1", "note")


def test_windows_line_ends_and_blank_lines_keep_the_line_numbers(make: Make) -> None:
    text = "date,tmin_c,tmax_c\r\n\r\n2024-01-01,1,9\r\n2024-01-02,x,9\r\n\r\n"
    series = read_daily(make(text))
    assert found(series, "'x' is not a number", "warning").line == 4


def test_lines_above_the_heading_are_passed_over(make: Make) -> None:
    text = "# my garden\nplace,10 m\n\ndate,tmin_c,tmax_c\n2024-01-01,1,9\n2024-01-02,9,1\n"
    series = read_daily(make(text))
    assert series.tmin[0] == 1
    assert found(series, "above the maximum", "warning").line == 6


def test_gzipped_files(make: Make) -> None:
    text = b"date,tmin_c,tmax_c\n2024-01-01,1,9\n"
    assert read_daily(make(gzip.compress(text), "a.csv.gz")).tmax[0] == 9
    assert "damaged" in refusal(make(gzip.compress(text)[:-9], "b.csv.gz")).message


# ------------------------------------------------------------------ files that are no weather


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no file") as caught:
        read_daily(tmp_path / "none.csv")
    assert caught.value.exit_code == 2
    with pytest.raises(BadInput, match="cannot read"):
        read_daily(tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"\n \n", "empty"),
        (b"\x00\x01\x02\xff\xfe\x03" * 50, "not a text file"),
        (b"PK\x03\x04rest", "zip archive or a spreadsheet"),
        (b"\x89HDF\r\n", "grid"),
        (b"CDF\x01", "NetCDF"),
        (b"{}", "JSON"),
        (b"<html>", "web page"),
        (b"just some words\nand more\n", "not separated"),
        (b"date,tmin_c,tmax_c\n", "no values below"),
        (b"date,colour\n2024-01-01,red\n", "among: date, colour"),
        (b"1,2,3\n4,5,6\n", "no heading"),
        (b"tmin_c,tmax_c\n1,2\n", "no heading"),
        (b"date,tmin_c,tmax_c\n2024-01-01,,\n", "no reading"),
        (b"date,tmin_c,tmax_c\nhello,1,9\nthere,2,9\n", "no date that can be read"),
        (b'date,tmin_c,tmax_c\n2024-01-01,"1,9\n', "do not fit"),
    ],
)
def test_what_is_no_weather_is_refused_in_one_line(make: Make, content: bytes, words: str) -> None:
    told = refusal(make(content))
    assert words in told.message
    assert "mine.csv" in told.message
    assert told.problems[-1].severity == "error"


@given(
    place=st.integers(0, 10**6),
    cut=st.integers(0, 40),
    put=st.one_of(
        st.binary(max_size=12),
        st.sampled_from(
            [b"inf", b"1e999", b"-0", b"99999999999", b",,,", b'"', b"\n", b";", b"0000"]
        ),
    ),
    which=st.integers(0, 4),
)
@settings(max_examples=300, deadline=None)
def test_damage_is_refused_or_told_but_never_a_crash(
    tmp_path_factory: pytest.TempPathFactory, place: int, cut: int, put: bytes, which: int
) -> None:
    texts = (
        year(days=40),
        year(head="date;tmin_c;tmax_c", sep=";", days=40, stamp="%d/%m/%Y"),
        LONG,
        dly("TMAX", ["  100  W"] * 29) + dly("TMIN", ["   10  W"] * 29),
        "year,month,day,tmin_c,tmax_c,rain\n"
        + "".join(f"2024,1,{n},1.5,9,3\n" for n in range(1, 29)),
    )
    whole = texts[which].encode()
    at = place % len(whole)
    path = tmp_path_factory.getbasetemp() / "damaged"
    path.write_bytes(whole[:at] + put + whole[at + cut :])
    try:
        series = read_daily(path)
    except BadFile as refused:
        told = refused.problems
        assert [one for one in told if one.severity == "error"]
        return
    known = np.concatenate([series.tmin, series.tmax])
    known = known[np.isfinite(known)]
    assert known.size == 0 or (known.min() >= -60 and known.max() <= 60)


# ------------------------------------------------------------------ doubtful readings


def test_swapped_readings_are_left_out_and_told(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n2024-01-01,1,9\n2024-01-02,12,3\n2024-01-03,2,9\n"
    series = read_daily(make(text))
    assert np.isnan(series.tmin[1])
    assert np.isnan(series.tmax[1])
    told = found(series, "on 2024-01-02 the minimum 12 is above the maximum 3", "warning")
    assert told.line == 3
    assert told.where.endswith("mine.csv")


def test_exchanged_headings_are_refused(make: Make) -> None:
    told = refusal(make(year(head="date,tmax_c,tmin_c")))
    assert "365 of 365 days" in told.message
    assert "exchanged" in told.hint


def test_repeated_days(make: Make) -> None:
    text = (
        "date,tmin_c,tmax_c\n2024-01-01,1,9\n2024-01-02,2,9\n2024-01-02,2,9\n"
        "2024-01-03,3,9\n2024-01-03,3.5,9\n"
    )
    series = read_daily(make(text))
    assert series.tmin.tolist() == [1, 2, 3]
    assert found(series, "2024-01-02 is given more than once with the same", "note").line == 4
    other = found(series, "2024-01-03 is given again with another tmin; the first", "warning")
    assert other.line == 6


def test_days_in_any_order_and_missing_days(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n2024-01-05,5,9\n2024-01-01,1,9\n2024-01-02,2,9\n"
    series = read_daily(make(text))
    assert series.tmin.tolist()[:2] == [1, 2]
    assert np.isnan(series.tmin[2:4]).all()
    assert series.tmin[4] == 5
    found(series, "2 of 5 days lack", "note")


def test_impossible_values_are_left_out_and_told(make: Make) -> None:
    text = (
        "date,tmin_c,tmax_c,rain_mm\n2024-01-01,1,90,0\n2024-01-02,-75,9,2000\n2024-01-03,1,9,-1\n"
    )
    series = read_daily(make(text))
    assert found(series, "tmax of 90", "warning").line == 2
    assert found(series, "tmin of -75", "warning").line == 3
    assert found(series, "rain of 2000", "warning").line == 3
    assert found(series, "rain of -1", "warning").line == 4
    assert np.isnan(series.rain[1:]).all()


def test_a_spike_is_told_and_left_out(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n" + "".join(
        f"2024-01-{day:02d},{5 + day % 2 if day != 6 else -25},15.{day % 7}\n"
        for day in range(1, 12)
    )
    series = read_daily(make(text))
    assert np.isnan(series.tmin[5])
    assert np.isfinite(np.delete(series.tmin, 5)).all()
    assert found(series, "tmin jumps to -25", "warning").line == 7
    assert np.flatnonzero(series.flags["tmin jumps for one day, left out"]).tolist() == [5]


def test_a_stuck_instrument_is_told_and_kept(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n" + "".join(
        f"2024-01-{day:02d},{4.5 if day > 5 else day},15.{day % 7}\n" for day in range(1, 16)
    )
    series = read_daily(make(text))
    told = found(series, "tmin stays at 4.5 degC for 10 days from 2024-01-06", "warning")
    assert told.line == 7
    nine = read_daily(make(text.rsplit("2024-01-15", 1)[0]))
    assert nine.problems == ()


def test_fillers_words_and_traces(make: Make) -> None:
    text = (
        "date,tmin_c,tmax_c,rain_mm\n2024-01-01,-9999,9,T\n2024-01-02,NA,999.9,Ip\n"
        "2024-01-03,oops,9,0.2\n2024-01-04,inf,9,0\n"
    )
    series = read_daily(make(text))
    assert np.isnan(series.tmin).all()
    assert series.rain.tolist() == [0, 0, 0.2, 0]
    assert found(series, "of tmin hold a filler such as -9999", "note").line == 2
    assert found(series, "of tmax hold a filler", "note").line == 3
    assert found(series, "'oops' is not a number for tmin", "warning").line == 4
    found(series, "a trace of rain on 2 days", "note")


def test_uneven_lines_are_left_out_and_told(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n2024-01-01,1,9\n2024-01-02,2\n2024-01-03,3,9,\n2024-01-04,4,9\n"
    series = read_daily(make(text))
    assert series.tmin[[0, 2, 3]].tolist() == [1, 3, 4]
    assert found(series, "2 fields where the heading has 3", "warning").line == 3


def test_many_problems_of_one_sort_are_cut_short(make: Make) -> None:
    text = "date,tmin_c,tmax_c\n" + "".join(
        f"2024-{month:02d}-{day:02d},{'x' if month == 1 else 1.5 + day % 3},9\n"
        for month in (1, 2, 3)
        for day in range(1, 29)
    )
    series = read_daily(make(text))
    assert sum("is not a number" in one.message for one in series.problems) == 20
    found(series, "and 8 more: cells that are no number", "warning")


# ------------------------------------------------------------------ archives, made here


LONG = """USW00012345,20240101,TMAX,100,,,W,
USW00012345,20240101,TMIN,-12,,,W,2400
USW00012345,20240101,PRCP,34,,,W,
USW00012345,20240102,TMAX,900,,X,W,
USW00012345,20240102,TMIN,5,,,W,
USW00012345,20240102,SNOW,0,,,W,
"""


def test_by_year_rows_without_and_with_a_heading(make: Make) -> None:
    bare = read_daily(make(LONG))
    head = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    headed = read_daily(make(head + LONG))
    for series, line in ((bare, 4), (headed, 5)):
        assert series.tmin.tolist() == [-1.2, 0.5]
        assert series.tmax[0] == 10.0
        assert np.isnan(series.tmax[1])
        assert series.rain[0] == pytest.approx(3.4)
        assert found(series, "1 readings that the archive marks", "note").line == line


def test_a_file_of_several_stations_asks_which(make: Make) -> None:
    path = make(LONG + LONG.replace("USW00012345", "USC00054321"))
    told = refusal(path)
    assert "2 stations: USC00054321, USW00012345" in told.message
    assert read_daily(path, station="USC00054321").tmin.tolist() == [-1.2, 0.5]
    assert "no station X" in refusal(path, station="X").message
    wide = "STATION,DATE,TMIN_C,TMAX_C\nA,2024-01-01,1,9\nB,2024-01-01,2,9\n"
    assert "2 stations: A, B" in refusal(make(wide)).message
    assert read_daily(make(wide), station="B").tmin.tolist() == [2]


def test_long_rows_with_other_columns_after_the_value(make: Make) -> None:
    text = "date,element,value,who,where\n20240101,TMAX,100,me,home\n20240101,TMIN,10,me,home\n"
    assert read_daily(make(text)).tmax.tolist() == [10.0]


def access(quality: str = "", unit: Callable[[float], str] = tenths, days: int = 60) -> str:
    rows = ['"STATION","DATE","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"']
    for offset in range(days):
        day = date(2024, 1, 1) + timedelta(days=offset)
        low, high = wave(day)
        mark = quality if offset == 3 else ""
        rows.append(f'"S","{day}","{unit(high):>5}",",,W","{unit(low):>5}",",{mark},W,2400"')
    return "\n".join(rows)


def test_access_files_are_in_tenths_and_drop_flagged_readings(make: Make) -> None:
    series = read_daily(make(access("G")))
    assert series.tmax[0] == wave(date(2024, 1, 1))[1]
    assert np.isnan(series.tmin[3])
    assert np.isfinite(series.tmax[3])
    assert found(series, "(flag G 1)", "note").line == 5
    found(series, "tenths of a degC, as this archive writes", "note")


def test_access_files_ordered_in_other_units_are_seen_through(make: Make) -> None:
    series = read_daily(make(access(unit=str)))
    assert series.tmax[0] == wave(date(2024, 1, 1))[1]
    found(series, "they were read as degC", "note")
    series = read_daily(make(access(unit=fahrenheit, days=366)))
    assert series.tmax[0] == pytest.approx(wave(date(2024, 1, 1))[1], abs=0.3)


def dly(element: str, values: list[str], month: str = "202402") -> str:
    cells = [*values, *["-9999   "] * (31 - len(values))]
    return f"USW00012345{month}{element}" + "".join(cells) + "\n"


def test_fixed_width_files(make: Make) -> None:
    text = (
        dly("TMAX", ["  100  W", "  110 XW", "  120  W"])
        + dly("TMIN", ["  -12  W", "   15  W", "-9999   "])
        + dly("PRCP", ["    0T W", "   34  W", "    0  W"])
    )
    series = read_daily(make(text, "x.dly"))
    assert series.start == date(2024, 2, 1)
    assert series.tmax[[0, 2]].tolist() == [10, 12]
    assert np.isnan(series.tmax[1])
    assert series.tmin[:2].tolist() == [-1.2, 1.5]
    assert series.rain.tolist() == pytest.approx([0, 3.4, 0])
    assert found(series, "flag X 1", "note").line == 1


def test_a_day_the_month_lacks_in_a_fixed_width_file(make: Make) -> None:
    text = dly("TMIN", ["   15  W"] * 30) + dly("TMAX", ["  115  W"] * 29)
    series = read_daily(make(text, "x.dly"))
    assert len(series) == 29
    assert found(series, "day 30 of 2024-02 cannot be read", "warning").line == 1


# ------------------------------------------------------------------ real files beside the project


def test_sample_access_file() -> None:
    series = read_daily(sample("formats", "ghcn_daily_access_AG000060590_excerpt.csv"))
    assert series.start == date(1892, 1, 1)
    assert series.tmin[:3].tolist() == [3.4, 3.6, 3.0]
    assert series.rain[0] == 0


def test_sample_quality_flag() -> None:
    series = read_daily(sample("formats", "ghcn_daily_access_qflag_USC00047821_excerpt.csv"))
    assert (series.start, series.end) == (date(1909, 7, 20), date(1989, 7, 20))
    assert np.isnan(series.tmin[-1])
    assert series.tmax[-1] == 28.9
    assert series.tmin[-2] == 15.6


def test_sample_fixed_width() -> None:
    series = read_daily(sample("formats", "ghcn_daily_USC00305816_excerpt.dly"))
    assert series.start == date(1871, 1, 1)
    assert series.rain[series.index(date(1871, 1, 16))] == pytest.approx(25.4)
    day = series.index(date(1871, 7, 1))
    assert (series.tmax[day], series.tmin[day]) == (23.3, 17.8)
    # 2 January 1872 TMAX and 1 January TMIN carry the flag I.
    assert np.isnan(series.tmax[series.index(date(1872, 1, 2))])
    assert np.isnan(series.tmin[series.index(date(1872, 1, 1))])
    found(series, "flag I 2", "note")


def test_sample_by_year() -> None:
    path = sample("formats", "ghcn_daily_by_year_and_by_station_excerpt.csv")
    assert "8 stations" in refusal(path).message
    series = read_daily(path, station="ITE00100554")
    assert (series.start, series.tmax[0], series.tmin[0]) == (date(1800, 1, 1), -7.5, -14.8)


def test_sample_long_custom() -> None:
    series = read_daily(sample("formats", "ghcn_long_custom_USW00094728_excerpt.csv"))
    assert (series.tmax[0], series.tmin[0]) == (0.6, -4.3)
    assert series.extra["wind"][0] == 2.5


def test_sample_export_in_iso_dates() -> None:
    path = sample("formats", "ghcn_cdo_export_subset_iso_dates_tenths_excerpt.csv")
    series = read_daily(path)
    assert series.start == date(1995, 12, 15)
    assert series.tmin[series.index(date(1995, 12, 21))] == -1.1
    assert series.rain[4] == pytest.approx(17.8)
    found(series, "tenths of a degC", "note")


def test_sample_monthly_lookalike() -> None:
    path = sample("formats", "ghcn_gsom_MONTHLY_lookalike_USW00094728_excerpt.csv")
    told = refusal(path)
    assert "monthly (dates such as 1869-01)" in told.message
    assert "daily summaries" in told.hint


def test_sample_latin_1_with_decimal_commas() -> None:
    series = read_daily(sample("formats", "aemet_original_8416_latin1_excerpt.csv"))
    assert series.start == date(1985, 1, 21)
    assert (series.tmax[0], series.tmin[0], series.rain[0]) == (20.4, 9.2, 0.0)
    assert series.rain[2] == 4.4


def test_samples_of_model_tables() -> None:
    series = read_daily(sample("formats", "nasa_power_daily_ag_point.csv"))
    assert (series.tmin[0], series.tmax[0]) == (-25.37, -22.7)
    series = read_daily(sample("formats", "daymet_single_pixel_excerpt.csv"))
    assert (series.start, series.tmax[0], series.tmin[0]) == (date(2000, 1, 1), 17.0, 2.5)
    assert series.rain[3] == 29
    series = read_daily(sample("formats", "open_meteo_archive_daily_nyc.csv"))
    assert (series.tmax[0], series.tmin[0], series.rain[5]) == (21.8, 14.5, 33.2)
    assert np.isnan(series.tmin[series.index(date(2025, 10, 20))])


def test_gainesville_keeps_its_great_freezes() -> None:
    series = read_daily(sample("weather", "gainesville_fl_USW00012816_1984-2009.csv"))
    assert (series.start, series.end) == (date(1984, 1, 1), date(2009, 12, 31))
    assert np.isfinite(series.tmin).all()
    assert series.tmin[series.index(date(1985, 1, 21))] == -12.2
    assert series.tmax[series.index(date(1985, 1, 21))] == -1.7
    assert series.tmin[series.index(date(1989, 12, 24))] == -8.9
    assert series.tmin[series.index(date(1989, 12, 25))] == -7.2
    assert series.rain.sum() / 26 == pytest.approx(1200, abs=100)
    found(series, "tenths of a degC", "note")
    found(series, "month/day/year", "note")


def test_sevilla_has_its_repeats_and_gaps_told() -> None:
    series = read_daily(sample("weather", "sevilla_aemet_1950-2024.csv"))
    assert (series.start, series.end) == (date(1951, 1, 1), date(2024, 12, 31))
    assert series.tmax[0] == 15.0
    assert np.isnan(series.rain).all()
    assert found(series, "169 days are given more than once", "note").line == 62
    found(series, "147 of 27029 days", "note")
    assert not [one for one in series.problems if one.severity != "note"]


def test_thirty_years_are_read_in_a_quarter_second(make: Make) -> None:
    path = make(year(head="date,tmin_c,tmax_c", first=date(1991, 1, 1), days=10958))
    spans = []
    for _ in range(5):
        begin = time.thread_time()
        assert len(read_daily(path)) == 10958
        spans.append(time.thread_time() - begin)
    assert min(spans) < 0.25
