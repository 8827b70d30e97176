"""Layouts of weather archives and services: told by what a file holds, read with their own units and days.

Every layout has a small made-up file here; the real samples are read by test_weather_samples.py.
"""

from __future__ import annotations

import gzip
import json
import math
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from bearwell.errors import BadFile, BadInput
from bearwell.weather import read_daily
from weather_files import Make, days_of, dropped, hour, refused, report, told

# ------------------------------------------------------------------ GHCN-Daily


def access(hours: str = "0700", flag: str = "") -> str:
    rows = [
        '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES","TMAX",'
        '"TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"'
    ]
    for n, day in enumerate(days_of(date(2021, 1, 1), 30)):
        mark = flag if n == 4 else ""
        rows.append(
            f'"XX000000001","{day}","41.5","-8.5","210.0","MADE UP, PO","   12",",,7,{hours}",'
            f'"  {120 + n}",",,7,{hours}","   {30 + n}",",{mark},7,{hours}"'
        )
    return "\n".join(rows) + "\n"


def test_access_files_tell_their_place_their_hour_and_what_the_archive_marked(make: Make) -> None:
    series = read_daily(make(access(flag="S")))

    assert (series.tmin[0], series.tmax[0], series.rain[0]) == (3.0, 12.0, 1.2)
    assert np.isnan(series.tmin[4])
    assert dropped(series, "flag S, out of step with its neighbours in space") == 1
    assert report(series).dropped[0].lines == (6,)
    assert series.flagged.tolist() == [n == 4 for n in range(30)]
    station = report(series).station
    assert station is not None
    assert (station.latitude, station.longitude, station.elevation) == (41.5, -8.5, 210.0)
    assert "07:00" in report(series).day
    assert "yesterday's" in report(series).day
    assert told(series, "were read in the morning")


def test_access_files_read_at_midnight_raise_no_doubt(make: Make) -> None:
    series = read_daily(make(access(hours="2400")))

    assert "24:00" in report(series).day
    assert not told(series, "in the morning")


def long_rows(stations: tuple[str, ...]) -> list[str]:
    rows = []
    for n, day in enumerate(days_of(date(2020, 3, 1), 40)):
        for station in stations:
            flag = "I" if n == 3 else ""
            rows.append(f"{station},{day:%Y%m%d},TMAX,{150 + n},,{flag},E,0800")
            rows.append(f"{station},{day:%Y%m%d},TMIN,{40 + n},,,E,0800")
            rows.append(f"{station},{day:%Y%m%d},PRCP,{n},T,,E,")
    return rows


def test_by_year_files_without_and_with_a_heading(make: Make) -> None:
    bare = read_daily(make("\n".join(long_rows(("XX000000001",)))))
    head = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    named = read_daily(make(head + "\n".join(long_rows(("XX000000001",)))))

    for series in (bare, named):
        assert (series.tmin[0], series.tmax[0], series.rain[5]) == (4.0, 15.0, 0.5)
        assert np.isnan(series.tmax[3])
        assert dropped(series, "flag I, inconsistent with itself") == 1
        assert "08:00" in report(series).day


def test_by_year_files_of_several_stations_need_one_named(make: Make) -> None:
    path = make("\n".join(long_rows(("XX000000001", "XX000000002"))))

    assert "holds 2 stations" in refused(path)
    assert read_daily(path, station="XX000000002").tmin[0] == 4.0
    assert "no station" in refused(path, station="XX000000009")


@pytest.mark.parametrize("head", ["", "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"])
@pytest.mark.parametrize("packed", [False, True])
def test_one_station_is_read_from_a_file_too_large_to_hold(make: Make, monkeypatch: pytest.MonkeyPatch, head: str, packed: bool) -> None:  # fmt: skip
    rows = "\n".join(long_rows(("XX000000001", "XX000000002", "XX000000003")))
    raw = (head + rows + "\n").encode()
    path = make(gzip.compress(raw) if packed else raw, "2020.csv")
    monkeypatch.setattr("bearwell.weather.text._LARGEST", 1000)
    series = read_daily(path, station="XX000000002")

    assert (series.tmin[0], series.tmax[0], len(series)) == (4.0, 15.0, 40)
    assert told(series, "240 lines of other stations were passed over")
    assert dropped(series, "flag I") == 1
    assert "too large" in refused(path)


def test_fixed_width_files_keep_their_flags(make: Make) -> None:
    low, high = (
        f"XX000000001202101{name}"
        + "".join(f"{base + 3 * n:5d} {'G' if n == 2 else ' '}7" for n in range(31))
        for name, base in (("TMIN", 10), ("TMAX", 110))
    )
    series = read_daily(make(f"{low}\n{high}\n", "one.dly"))

    assert np.isnan(series.tmin[2])
    assert series.tmin[5] == 2.5
    assert dropped(series, "flag G, a gap in the distribution") == 2
    assert report(series).layout == "GHCN-Daily, fixed width (.dly)"


def test_exports_without_flags_are_sniffed_for_tenths(make: Make) -> None:
    rows = ["STATION,DATE,NAME,PRCP,TMAX,TMIN"]
    rows += [
        f'XX1,{day},"MADE UP, PO",{10 * (n % 3)}.0,{200 + n % 9}.0,{90 - n % 7}.0'
        for n, day in enumerate(days_of(date(2020, 1, 1), 90))
    ]
    series = read_daily(make("\n".join(rows)))

    assert series.tmax[0] == 20.0
    assert series.rain[1] == 1.0
    assert told(series, "tenths of a degC")
    assert dict(report(series).units)["rain"].startswith("tenths of a mm")


def test_tenths_under_a_heading_that_says_degrees_are_refused(make: Make) -> None:
    rows = ["date,tmin_c,tmax_c"]
    for n, day in enumerate(days_of(date(2020, 1, 1), 366)):
        low = round(90 - 60 * math.cos(2 * math.pi * n / 366)) + n % 9
        rows.append(f"{day},{low},{low + 90}")
    with pytest.raises(BadFile) as caught:
        read_daily(make("\n".join(rows)))

    assert "they look like tenths of a degC" in caught.value.problems[-1].message


def test_fahrenheit_is_read_from_the_heading_or_told_from_the_numbers(make: Make) -> None:
    body = [
        f"{day},{41 + n % 9},{66 + n % 9}" for n, day in enumerate(days_of(date(2020, 1, 1), 60))
    ]
    said = read_daily(make("\n".join(["date,tmin [degF],tmax [degF]", *body])))
    guessed = read_daily(make("\n".join(["date,tmin,tmax", *body])))

    assert said.tmin[0] == pytest.approx(5.0)
    assert guessed.tmin[0] == pytest.approx(5.0)
    assert told(guessed, "read as degF")


def test_monthly_lookalikes_are_refused(make: Make) -> None:
    text = '"STATION","DATE","TMAX","TMAX_ATTRIBUTES"\n' + "".join(
        f'"X","2020-{n:02d}","12.3",",,"\n' for n in range(1, 13)
    )

    assert "monthly" in refused(make(text))


# ------------------------------------------------------------------ NASA POWER


def power(**change: object) -> dict[str, object]:
    stamps = [f"{day:%Y%m%d}" for day in days_of(date(2024, 2, 27), 5)]
    data: dict[str, object] = {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [-8.5, 41.5, 120.0]},
        "properties": {
            "parameter": {
                "T2M_MIN": dict(zip(stamps, [3.1, 2.0, -999.0, 1.5, 0.4], strict=True)),
                "T2M_MAX": dict(zip(stamps, [13.0, 12.0, 11.0, 12.5, 14.0], strict=True)),
                "PRECTOTCORR": dict(zip(stamps, [0.0, 4.2, 1.0, 0.0, -999.0], strict=True)),
                "ALLSKY_SFC_SW_DWN": dict(zip(stamps, [3.0, 2.0, 2.5, 3.0, -999.0], strict=True)),
            }
        },
        "header": {"fill_value": -999.0, "time_standard": "LST"},
        "parameters": {
            "T2M_MIN": {"units": "C"},
            "T2M_MAX": {"units": "C"},
            "PRECTOTCORR": {"units": "mm/day"},
            "ALLSKY_SFC_SW_DWN": {"units": "kW-hr/m^2/day"},
        },
    }
    return data | change


def test_power_json_is_read_with_its_units_fillers_and_clock(make: Make) -> None:
    series = read_daily(make(json.dumps(power())))

    assert series.start == date(2024, 2, 27)
    assert series.tmin[1] == 2.0
    assert np.isnan(series.tmin[2])
    assert np.isnan(series.rain[4])
    assert series.extra["solar"][0] == pytest.approx(10.8)
    assert dropped(series, "T2M_MIN missing (filler -999)") == 1
    assert report(series).day.endswith("local solar time")
    station = report(series).station
    assert station is not None
    assert station.elevation == 120.0
    assert "POWER" in report(series).terms


def test_power_radiation_without_a_unit_is_not_read(make: Make) -> None:
    series = read_daily(make(json.dumps(power(parameters={}))))

    assert series.tmin[0] == 3.1
    assert "solar" not in series.extra
    assert told(series, "ALLSKY_SFC_SW_DWN has no unit")


def test_power_in_universal_time_says_so(make: Make) -> None:
    header = {"fillValue": -999.0, "time_standard": "UTC"}

    assert "universal time" in report(read_daily(make(json.dumps(power(header=header))))).day


@pytest.mark.parametrize(
    ("stamps", "words"),
    [
        (["JAN", "FEB", "ANN"], "climatology"),
        (["202401", "202402", "202413"], "monthly"),
        (["2024010100", "2024010101"], "hourly"),
    ],
)
def test_power_that_is_not_daily_is_refused(make: Make, stamps: list[str], words: str) -> None:
    table = {"parameter": {"T2M_MIN": dict.fromkeys(stamps, 1.0)}}

    assert words in refused(make(json.dumps(power(properties=table))))


def test_power_csv_names_its_clock_and_its_climatology_is_refused(make: Make) -> None:
    head = (
        "-BEGIN HEADER-\r\nNASA/POWER\r\n"
        "Dates (month/day/year): 01/01/2024 through 01/12/2024 in {clock}\r\n"
        "Location: latitude  41.5   longitude -8.5\r\n"
        "elevation from MERRA-2: Average for 0.5 x 0.625 degree lat/lon region = 120.5 meters\r\n"
        "parameter(s):\r\nT2M_MIN     MERRA-2 Minimum (C)\r\nT2M_MAX     MERRA-2 Maximum (C)\r\n-END HEADER-\r\n"
    )
    body = "YEAR,DOY,T2M_MIN,T2M_MAX\r\n" + "".join(
        f"2024,{n},{n / 10},{10 + n / 10}\r\n" for n in range(1, 13)
    )
    local = read_daily(make(head.format(clock="LST") + body))
    world = read_daily(make(head.format(clock="UTC") + body))

    assert local.tmin[0] == 0.1
    assert report(local).day.endswith("local solar time")
    assert "universal time" in report(world).day
    station = report(local).station
    assert station is not None
    assert (station.latitude, station.longitude, station.elevation) == (41.5, -8.5, 120.5)
    means = head.format(clock="LST") + "PARAMETER,JAN,FEB,ANN\r\nT2M,1,2,3\r\n"
    assert "climatology" in refused(make(means))


# ------------------------------------------------------------------ Open-Meteo


def meteo(**change: object) -> dict[str, object]:
    days = [day.isoformat() for day in days_of(date(2024, 3, 1), 4)]
    data: dict[str, object] = {
        "latitude": 41.5, "longitude": -8.5, "elevation": 120.0, "utc_offset_seconds": 0,
        "timezone": "Europe/Lisbon",
        "daily_units": {"time": "iso8601", "temperature_2m_min": "°C", "temperature_2m_max": "°C", "precipitation_sum": "mm", "windspeed_10m_mean": "km/h"},
        "daily": {"time": days, "temperature_2m_min": [1.0, None, 3.0, 4.0], "temperature_2m_max": [11.0, 12.0, 13.0, 14.0], "precipitation_sum": [0.0, 2.5, 0.0, None], "windspeed_10m_mean": [3.6, 7.2, 3.6, 3.6]},
    }  # fmt: skip
    return data | change


def test_open_meteo_json_is_read_with_its_units_and_nulls(make: Make) -> None:
    series = read_daily(make(json.dumps(meteo())))

    assert series.tmin[0] == 1.0
    assert np.isnan(series.tmin[1])
    assert series.extra["wind"][1] == pytest.approx(2.0 * 0.748, abs=1e-3), "FAO-56, equation 47"
    assert told(series, "wind at 10 m was brought down to 2 m")
    assert dropped(series, "temperature_2m_min missing (null)") == 1
    assert "Europe/Lisbon" in report(series).day
    assert "CC BY" in report(series).terms


def test_open_meteo_in_fahrenheit_and_inches_is_turned(make: Make) -> None:
    answer = meteo()
    answer["daily_units"] = {"temperature_2m_min": "°F", "temperature_2m_max": "°F", "precipitation_sum": "inch", "windspeed_10m_mean": "mp/h"}  # fmt: skip
    answer["daily"] = {"time": ["2024-03-01"], "temperature_2m_min": [32.0], "temperature_2m_max": [50.0], "precipitation_sum": [1.0], "windspeed_10m_mean": [10.0]}  # fmt: skip
    series = read_daily(make(json.dumps(answer)))

    assert (series.tmin[0], series.tmax[0]) == (pytest.approx(0.0), pytest.approx(10.0))
    assert series.rain[0] == pytest.approx(25.4)
    assert series.extra["wind"][0] == pytest.approx(4.4704 * 0.748, abs=1e-3)


def test_open_meteo_seconds_since_1970_are_days_of_the_place(make: Make) -> None:
    answer = meteo(utc_offset_seconds=7200)
    start = int(datetime(2024, 2, 29, 22).timestamp() - datetime(1970, 1, 1).timestamp())
    answer["daily"]["time"] = [start + 86400 * n for n in range(4)]  # type: ignore[index]

    assert read_daily(make(json.dumps(answer))).start == date(2024, 3, 1)


def test_open_meteo_hours_are_folded(make: Make) -> None:
    stamps = [f"{day}T{at:02d}:00" for day in days_of(date(2026, 3, 7), 3) for at in range(24)]
    values = [round(hour(date.fromisoformat(one[:10]), int(one[11:13])), 2) for one in stamps]
    answer = meteo()
    del answer["daily"], answer["daily_units"]
    answer["hourly_units"] = {"temperature_2m": "°C", "precipitation": "mm"}
    answer["hourly"] = {"time": stamps, "temperature_2m": values, "precipitation": [0.1] * len(stamps)}  # fmt: skip
    series = read_daily(make(json.dumps(answer)))

    assert len(series) == 3
    assert (series.tmin[0], series.tmax[0]) == (min(values[:24]), max(values[:24]))
    assert series.rain[0] == pytest.approx(2.4)


def test_open_meteo_of_several_places_gives_the_nearest(make: Make) -> None:
    path = make(json.dumps([meteo(latitude=60.0), meteo(latitude=41.4)]))

    assert "2 places" in refused(path)
    series = read_daily(path, place=(41.5, -8.5))
    station = report(series).station
    assert station is not None
    assert station.latitude == 41.4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (json.dumps(meteo())[:300], "cut off"),
        (json.dumps({"error": True, "reason": "Daily variable missing"}), "Daily variable missing"),
        (json.dumps({"hello": 1}), "no answer of a weather service"),
        (json.dumps(meteo(daily={"time": []})), "no days"),
        ("<html><body>sign in</body></html>", "web page"),
    ],
)
def test_broken_answers_are_refused_with_the_reason(make: Make, text: str, words: str) -> None:
    assert words in refused(make(text, "answer.json"))


def test_half_an_answer_is_refused(make: Make) -> None:
    answer = meteo()
    answer["daily"]["temperature_2m_min"] = [1.0, 2.0]  # type: ignore[index]

    assert "half an answer" in refused(make(json.dumps(answer)))


def test_open_meteo_csv_in_blocks_with_a_cut_last_line(make: Make) -> None:
    text = (
        "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation\n"
        "41.5,-8.5,120.0,3600,Europe/Lisbon,GMT+1\n\n"
        "time,temperature_2m (°C)\n2024-01-01T00:00,5\n2024-01-01T01:00,4\n\n"
        "time,temperature_2m_max (°F),temperature_2m_min (°F),precipitation_sum (mm)\n"
        "2024-01-01,50,32,0.5\n2024-01-02,50,NaN,0.0\n2024-01-03,5"
    )
    series = read_daily(make(text))

    assert len(series) == 2
    assert (series.tmin[0], series.tmax[0]) == (pytest.approx(0.0), pytest.approx(10.0))
    assert np.isnan(series.tmin[1])
    assert dropped(series, "do not fit the heading") == 1
    assert told(series, "2 fields where the heading has 4")


# ------------------------------------------------------------------ EPW, LCD, USCRN, AEMET, Daymet


def test_typical_years_are_refused_as_a_record(make: Make) -> None:
    text = (
        "LOCATION,SOMEWHERE,-,ZZZ,Made up,000000,41.5,-8.5,0.0,20.0\nDESIGN CONDITIONS,0\n"
        "TYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\n"
        "COMMENTS 1,x\nCOMMENTS 2,y\nDATA PERIODS,1,1,Data,Sunday,1/1,12/31\n1988,1,1,1,60,x,5.0,4.0\n"
    )

    assert "typical year" in refused(make(text, "place.epw"))


def lcd(station: str, degrees: Callable[[float], float], summary: str) -> str:
    rows = [
        "STATION,DATE,REPORT_TYPE,SOURCE,DailyMaximumDryBulbTemperature,DailyMinimumDryBulbTemperature,"
        "DailyPrecipitation,HourlyDryBulbTemperature"
    ]
    for day in days_of(date(2020, 1, 1), 3):
        for at in range(24):
            value = f"{degrees(hour(day, at)):.1f}"
            mark = "s" if day == date(2020, 1, 2) and at == 5 else ""
            rows.append(f"{station},{day}T{at:02d}:52:00,FM-15,7,,,,{value}{mark}")
    rows.append(f"{station},2020-01-03T23:59:00,SOD  ,6,{summary},")
    return "\n".join(rows) + "\n"


def test_hourly_reports_are_folded_and_the_stations_own_summary_comes_first(make: Make) -> None:
    old = read_daily(make(lcd("72219013874", lambda c: c * 1.8 + 32, "61,39,T")))
    new = read_daily(make(lcd("USW00013874", lambda c: c, "16.1,3.9,2.5")))

    for series in (old, new):
        assert series.tmin[0] == pytest.approx(hour(date(2020, 1, 1), 5), abs=0.06)
        assert series.tmax[2] == pytest.approx(16.1, abs=0.02)
        assert dropped(series, "marked suspect by the archive") == 1
    assert old.tmin[1] > old.tmin[0], "the suspect five o'clock was the coldest"
    assert (old.rain[2], new.rain[2]) == (0.0, 2.5)


def test_five_minute_lines_are_folded_by_local_standard_time(make: Make) -> None:
    rows = []
    for step in range(288):
        minutes = 5 * (step + 1)
        day, at = date(2019, 1, 1) + timedelta(days=minutes // 1440), minutes % 1440
        clock = f"{at // 60:02d}{at % 60:02d}"
        air = "-9999.0" if step == 3 else f"{hour(date(2019, 1, 1), minutes / 60):.1f}"
        rows.append(
            f"53131 {day:%Y%m%d} 0000 {day:%Y%m%d} {clock}      3 -111.17   32.24 {air}     0.1    296 0"
            "     4.4 C 0    90 0 -99.000 -9999.0    24 0   0.78 0"
        )
    series = read_daily(make("\n".join(rows), "CRN.txt"))

    assert len(series) == 1, "the line stamped at midnight belongs to the day before"
    assert series.tmin[0] == pytest.approx(4.0, abs=0.1)
    assert series.tmax[0] == pytest.approx(16.0, abs=0.1)
    assert series.rain[0] == pytest.approx(28.8)
    station = report(series).station
    assert station is not None
    assert station.latitude == 32.24


def test_spanish_station_files_in_latin_1(make: Make) -> None:
    rows = ["Indicativo;Nombre;Provincia;Altitud;Año;Mes;Dia;T.Max;Hora;T.Min;Hora;Prec.;Sol"]
    rows += [f"0000X;PUEBLO;SEVILLA;34;2020;1;{n};1{n % 9},5;15:00;{n % 9},2;06:00;{'Ip' if n == 2 else '0,4'};5,5" for n in range(1, 15)]  # fmt: skip
    series = read_daily(make("\n".join(rows).encode("latin-1")))

    assert (series.tmin[0], series.tmax[0]) == (1.2, 11.5)
    assert (series.rain[0], series.rain[1]) == (0.4, 0.0)
    assert report(series).layout.startswith("AEMET")
    station = report(series).station
    assert station is not None
    assert station.elevation == 34.0


def test_daymet_leaves_out_the_last_day_of_leap_years(make: Make) -> None:
    rows = [
        "Latitude: 36.0  Longitude: -84.2", "X & Y on Lambert Conformal Conic: 1 -5", "Tile: 11388", "Elevation: 279 meters",
        "All years; all variables", "How to cite: Someone; 2016", "", "year,yday,dayl (s),prcp (mm/day),srad (W/m^2),tmax (deg c),tmin (deg c)",
    ]  # fmt: skip
    for year in (2020, 2021):
        rows += [
            f"{year}.0,{n}.0,43200.0,1.0,200.0,{15 + n % 5},{5 + n % 5}" for n in range(1, 366)
        ]
    series = read_daily(make("\n".join(rows)))

    gap = series.index(date(2020, 12, 31))
    assert np.isnan(series.tmin[gap])
    assert np.isfinite(series.tmin[series.index(date(2020, 12, 30))])
    assert series.tmin[series.index(date(2021, 1, 1))] == 6.0
    assert series.flagged[gap]
    assert told(series, "31 December of 1 leap years")
    # 200 W through half a day is 8.64 MJ.
    assert series.extra["solar"][0] == pytest.approx(8.64)


# ------------------------------------------------------------------ faults of whole files


def test_what_is_missing_or_no_text_is_refused_plainly(make: Make, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no file"):
        read_daily(tmp_path / "none.csv")
    assert "zip archive" in refused(make(b"PK\x03\x04rest of it"))
    assert "empty" in refused(make(""))


def test_a_record_cut_off_in_its_last_line_keeps_the_rest(make: Make) -> None:
    rows = ["date,tmin_c,tmax_c,rain_mm"]
    rows += [
        f"{day},{4 + n % 3},{15 + n % 4},0" for n, day in enumerate(days_of(date(2024, 1, 1), 20))
    ]
    series = read_daily(make("\n".join(rows)[:-9]))

    assert len(series) == 19
    assert dropped(series, "do not fit the heading") == 1
