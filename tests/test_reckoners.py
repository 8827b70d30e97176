"""Every reckoner against a printed answer, and what each refuses. Sources stand beside their checks."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadInput
from bearwell.reckon import RECKONERS


def results(name: str, **options: str | list[str]) -> dict:
    done = api.reckon(name, **options)
    assert set(done.results) <= set(RECKONERS[name].fields)
    assert done.because
    return done.results


def test_daylight_of_fao_example_9():
    """FAO-56 example 9: 20 degrees south on 3 September, 11.7 h. The page's own length counts the sun's
    upper edge and refraction, so it is longer by 6 to 14 minutes.
    """
    found = results("daylight", latitude="-20", date="2026-09-03")

    assert found["day_length_fao56_h"] == pytest.approx(11.7, abs=0.05)
    assert 0.05 < found["day_length_h"] - found["day_length_fao56_h"] < 0.25


@pytest.mark.parametrize(
    ("latitude", "day", "hours"), [("80", "2026-06-21", 24), ("80", "2026-12-21", 0)]
)
def test_daylight_beyond_the_polar_circle(latitude: str, day: str, hours: float):
    """Common knowledge: midnight sun and polar night."""
    assert results("daylight", latitude=latitude, date=day)["day_length_h"] == hours


def test_humidity_table():
    """Computed from the closed forms (Tetens; Murray 1967 over ice), not a publication."""
    found = results("humidity", temperature="2", relative_humidity="60")

    assert found == pytest.approx(
        {
            "vapour_pressure_kpa": 0.4234,
            "dew_point_c": -4.93,
            "frost_point_c": -4.37,
            "wet_bulb_c": -0.47,
        },
        abs=0.006,
    )


UCCLE = {
    "latitude": "50.8", "elevation": "100 m", "date": "2026-07-06", "tmin": "12.3", "tmax": "21.5 degC",
    "rh_min": "63", "rh_max": "84 %", "wind": "10 km/h", "wind_height": "10 m", "sunshine": "9.25",
}  # fmt: skip


def test_reference_evapotranspiration_of_fao_example_18():
    """FAO-56 example 18, Uccle, 6 July: 3.9 mm (3.88 unrounded); Ra 41.09, Rs 22.07, Rn 13.28."""
    found = results("reference-et", **UCCLE)

    assert found["et0_mm"] == pytest.approx(3.88, abs=0.005)
    assert (found["ra_mj"], found["rs_mj"], found["rn_mj"]) == pytest.approx(
        (41.09, 22.07, 13.28), abs=0.01
    )
    assert found["method"] == "FAO-56 Penman-Monteith"


def test_reference_evapotranspiration_without_wind_sun_and_humidity_says_so():
    """FAO-56 example 20, Lyon in July: about 4.6 mm by Penman-Monteith, 5.0 by Hargreaves."""
    done = api.reckon(
        "reference-et",
        latitude="45.72",
        elevation="200",
        date="2026-07-15",
        tmin="14.8",
        tmax="26.6",
    )

    assert done.results["et0_mm"] == pytest.approx(4.6, abs=0.1)
    assert "humidity and sunshine and wind estimated" in done.results["method"]
    assert any(
        "Hargreaves" in link.statement.text and link.value == pytest.approx(5.0, abs=0.05)
        for link in done.because
        if isinstance(link.value, float)
    )


def test_units_of_people_give_the_same_answer():
    metric = results("reference-et", **UCCLE)
    imperial = results(
        "reference-et",
        **{
            **UCCLE,
            "tmin": "54.14 degF",
            "tmax": "70.7 degF",
            "wind": "6.2137 mph",
            "elevation": "328.08 ft",
            "wind_height": "32.81 ft",
        },
    )

    assert imperial["et0_mm"] == pytest.approx(metric["et0_mm"], abs=0.002)


def hourly_file(tmp_path: Path, temperatures: list[float], start: str = "2025-11-01T00:00") -> Path:
    from datetime import datetime

    begin = datetime.fromisoformat(start)
    rows = [f"{(begin + timedelta(hours=h)).isoformat()},{t}" for h, t in enumerate(temperatures)]
    path = tmp_path / "hours.csv"
    path.write_text("time,temperature [degC]\n" + "\n".join(rows) + "\n")
    return path


@pytest.mark.parametrize(("level", "portions"), [(6.0, 24.4326), (4.0, 21.2458), (13.5, 0.0)])
def test_chill_of_720_constant_hours(level: float, portions: float, tmp_path: Path):
    """Computed from the closed form of the Dynamic Model (Fishman and others 1987), not a publication: no
    portion ever forms at a constant 13 degC or more.
    """
    path = hourly_file(tmp_path, [level] * 720)
    found = results("chill", hourly=str(path), from_="11-01", to="11-30")["seasons"]

    assert len(found) == 1
    assert found[0]["portions"] == pytest.approx(portions, abs=0.005)
    assert found[0]["hours"] == (720 if level <= 7.2 else 0)


def test_chill_models_part_ways_where_days_are_warm(tmp_path: Path):
    """Eight hours at 22 degC undo the portions of sixteen at 6 degC, while 480 chilling hours still add up;
    Utah 240 units. Computed from the models' definitions, not a publication.
    """
    path = hourly_file(tmp_path, ([22.0] * 8 + [6.0] * 16) * 30)
    season = results("chill", hourly=str(path), from_="11-01", to="11-30")["seasons"][0]

    assert (season["portions"], season["utah"], season["hours"]) == (0, 240, 480)
    assert season["gdh"] == pytest.approx(5014.35, abs=0.5)


def test_chill_of_a_daily_record(tmp_path: Path):
    rows = ["date,tmin_c,tmax_c"] + [
        f"{date(2023, 10, 1) + timedelta(days=n)},4.0,12.0" for n in range(600)
    ]
    path = tmp_path / "w.csv"
    path.write_text("\n".join(rows))
    found = results("chill", weather=str(path), latitude="41.7")["seasons"]

    assert [season["ending"] for season in found] == [2024, 2025]
    assert all(season["positive_utah"] >= season["utah"] for season in found)


def test_dose_of_published_label_examples():
    """Half a pound of N from 10-10-10 is 5 lb (University of Arizona wording, secondhand); 1 lb N from 21-0-0
    is printed as 5 lb (San Diego master gardeners), exactly 4.76 lb.
    """
    pound = 453.59237
    tens = results("dose", label="10-10-10", nutrient="n", amount="0.5 lb")
    sulfate = results("dose", label="21-0-0", nutrient="n", amount="1 lb")

    assert tens["product_g"] == pytest.approx(5 * pound, rel=1e-6)
    assert sulfate["product_g"] == pytest.approx(5 * pound, rel=0.05)
    assert tens["p_g"] / tens["p2o5_g"] == pytest.approx(0.4364, abs=5e-5)
    assert tens["k_g"] / tens["k2o_g"] == pytest.approx(0.8302, abs=5e-5)


def test_dose_by_nutrient_supplies_that_nutrient():
    for nutrient in ("n", "p2o5", "k2o"):
        assert results("dose", label="7-3-11", nutrient=nutrient, amount="40 g")[
            f"{nutrient}_g"
        ] == pytest.approx(40)


def test_removal_of_published_contents():
    """Mean of nine citrus cultivars: 0.173 g P a kg of fresh fruit (Bataglia and others 1977)."""
    found = results("removal", kind="navel", harvest="100 kg")

    assert found["p_g_low"] <= 17.3 <= found["p_g_high"]
    assert found["n_g_low"] <= found["n_g"] <= found["n_g_high"]
    assert found["k_g"] > found["n_g"] * 0.5


def test_canopy_volumes():
    """Prolate spheroid of Turrell 1946, pi/6 H D2: 14.14 m3 for 3 by 3 m, 52.36 m3 for 4 by 5 m (exact geometry)."""
    assert results("canopy", height="3 m", spread="3 m")["volume_m3"] == pytest.approx(
        14.14, abs=0.005
    )
    assert results("canopy", height="4", spread="5")["volume_m3"] == pytest.approx(52.36, abs=0.005)
    two = results("canopy", height="2.6", spread=["3.2", "2.8"], remove="25 %")
    assert two["volume_m3"] == pytest.approx(12.20, abs=0.005)
    assert two["after_volume_m3"] == pytest.approx(0.75 * two["volume_m3"], rel=1e-4)


@pytest.mark.parametrize(
    ("yields", "intensity"),
    [("10,0,10,0", 1.0), ("5,5,5,5", 0.0), ("10,30,10,30", 0.5), ("573,249,266,491", 0.2415)],
)
def test_bearing_intensity(yields: str, intensity: float):
    """The definition of Hoblyn and others 1936 (from memory); the last row are the mean yields of a Georgia satsuma
    planting (UGA extension, 2025) put through it, not a printed index.
    """
    assert results("bearing", yields=yields)["intensity"] == pytest.approx(intensity, abs=5e-4)


def test_a_long_swing_is_told_from_chance_and_noise_is_not():
    swing = results("bearing", yields="40,8,42,10,38,9,45,7")
    noise = results("bearing", yields="20,22,25,21,19,24,23,22")

    assert swing["verdict"].startswith("alternates")
    assert swing["bienniality_pct"] == 100
    assert noise["intensity"] < 0.2


def test_a_rising_young_tree_is_not_called_alternate():
    """10 to 50 in steps of ten has an intensity of 0.197 with no alternation at all (algebra)."""
    found = results("bearing", yields="10,20,30,40,50")

    assert found["intensity"] == pytest.approx(0.1968, abs=5e-4)
    assert found["detrended_intensity"] == pytest.approx(0, abs=1e-9)
    assert not found["verdict"].startswith("alternates")


def test_freeze_risk_of_ten_winters():
    """Gumbel for minima by moments; computed from the closed form, not a publication."""
    found = results(
        "freeze-risk", minima="-2.1,-3.4,-1.0,-5.6,-4.2,-2.8,-0.5,-6.9,-3.1,-2.2", below="-4"
    )

    assert (found["location"], found["scale"]) == pytest.approx((-2.29253, 1.53749), abs=5e-5)
    assert (found["t10_c"], found["t20_c"]) == pytest.approx((-5.752, -6.859), abs=0.006)
    assert found["probability"] == pytest.approx(0.2806, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("daylight", {"latitude": "97", "date": "2026-01-01"}, "--latitude"),
        ("daylight", {"latitude": "41"}, "needs --date"),
        ("daylight", {"latitude": "41", "date": "someday"}, "not a date"),
        ("humidity", {"temperature": "20", "relative_humidity": "140"}, "--relative-humidity"),
        ("humidity", {"temperature": "20 m", "relative_humidity": "40"}, "is a length"),
        ("humidity", {"temperature": "20", "relative_humidity": "0"}, "no dew point"),
        ("reference-et", {**UCCLE, "tmin": "30"}, "above tmax"),
        ("reference-et", {**UCCLE, "sunshine": "20"}, "20 h of sunshine"),
        ("reference-et", {**UCCLE, "solar": "49"}, "more than the sun sends"),
        ("reference-et", {**UCCLE, "windd": "3"}, "no option --windd"),
        ("chill", {"latitude": "41"}, "--weather"),
        ("chill", {"weather": "gone.csv", "latitude": "41"}, "no such file"),
        ("dose", {"label": "5-5", "nutrient": "n", "amount": "10 g"}, "N-P2O5-K2O"),
        ("dose", {"label": "0-0-50", "nutrient": "n", "amount": "10 g"}, "holds no N"),
        ("dose", {"label": "60-60-0", "nutrient": "n", "amount": "10 g"}, "more than 100"),
        ("removal", {"kind": "satsumma", "harvest": "3 kg"}, "unknown kind"),
        ("canopy", {"height": "3", "spread": ["1", "2", "3"]}, "twice"),
        ("canopy", {"height": "1", "spread": "2", "skirt": "3"}, "skirt"),
        ("bearing", {"yields": "1,2"}, "too few"),
        ("bearing", {"yields": "1,x,3"}, "not a list of numbers"),
        ("bearing", {"yields": "0,0,0,0"}, "every yield is zero"),
        ("bearing", {"yields": "1,-2,3"}, "below zero"),
        ("freeze-risk", {"minima": "1,2"}, "too few"),
        ("freeze-rsk", {}, "freeze-risk"),
    ],
)
def test_what_cannot_be_reckoned_is_refused_in_words(name: str, options: dict, message: str):
    with pytest.raises(BadInput) as refused:
        api.reckon(name, **options)

    assert message in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("name", sorted(RECKONERS))
def test_the_example_of_every_reckoner_runs(name: str, tmp_path: Path):
    import shlex

    rows = ["date,tmin_c,tmax_c"] + [
        f"{date(2023, 10, 1) + timedelta(days=n)},4.0,12.0" for n in range(2500)
    ]
    (tmp_path / "weather.csv").write_text("\n".join(rows))
    dates = [f"{year},{110 + year % 3}" for year in range(2024, 2030)]
    (tmp_path / "bloom.csv").write_text("\n".join(["year,doy", *dates]))
    example = RECKONERS[name].example
    for file in ("weather.csv", "bloom.csv"):
        example = example.replace(file, str(tmp_path / file))
    words = shlex.split(example)
    typed: dict[str, list[str]] = {}
    while words:
        key, _, value = words.pop(0).removeprefix("--").partition("=")
        typed.setdefault(key, []).append(value or words.pop(0))

    assert set(api.run_reckoner(name, typed).results) <= set(RECKONERS[name].fields)


def test_a_unit_at_the_end_stands_for_every_minimum():
    """28, 26 and 30 degF are -2.22, -3.33 and -1.11 degC by the definition of the Fahrenheit scale."""
    celsius = results(
        "freeze-risk", minima="-2.2222222,-3.3333333,-1.1111111,-5.5555556,-4.4444444"
    )

    assert results("freeze-risk", minima="28,26,30,22,24 degF") == pytest.approx(celsius, abs=1e-4)
    assert results("freeze-risk", minima="28 F, 26 F, 30 F, 22 F, 24 F") == pytest.approx(
        celsius, abs=1e-4
    )


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("bearing", {"yields": "12,nan,8,41"}, "not a list of numbers"),
        ("bearing", {"yields": "12,inf,8,41"}, "not a list of numbers"),
        ("bearing", {"yields": ","}, "not a list of numbers"),
        ("freeze-risk", {"minima": "1,nan,2,3,4"}, "not a number"),
        ("freeze-risk", {"minima": "1,400,2,3,4"}, "not plausible"),
        ("freeze-risk", {"minima": "1,2,3,4,5 kg"}, "is a mass"),
        ("humidity", {"temperature": "20", "relative_humidity": "0.6"}, "60, not 0.6"),
        ("reference-et", {**UCCLE, "rh_min": "0.63", "rh_max": "0.84"}, "63, not 0.63"),
        ("daylight", {"latitude": "nan", "date": "2026-01-01"}, "out of range"),
    ],
)
def test_numbers_that_are_none_and_shares_for_percentages_are_refused(
    name: str, options: dict, message: str
):
    with pytest.raises(BadInput) as refused:
        api.reckon(name, **options)

    assert message in str(refused.value)


@pytest.mark.parametrize(
    ("latitude", "given", "span"),
    [
        ("41", {}, ((2024, 11, 1), (2025, 2, 28))),
        ("-41", {}, ((2024, 5, 1), (2024, 8, 31))),
        ("-41", {"from_": "06-01"}, ((2024, 6, 1), (2024, 8, 31))),
        ("-41", {"to": "09-30"}, ((2024, 5, 1), (2024, 9, 30))),
        ("41", {"to": "03-31"}, ((2024, 11, 1), (2025, 3, 31))),
    ],
)
def test_each_end_of_the_chill_season_has_its_own_default(
    latitude: str, given: dict, span: tuple, tmp_path: Path
):
    """A record of exactly the expected season at a constant 5 degC: every hour counts, and there is one season."""
    first, last = (date(*day) for day in span)
    days = (last - first).days + 1
    rows = [f"{first + timedelta(days=n)},5.0,5.0" for n in range(days)]
    path = tmp_path / "w.csv"
    path.write_text("date,tmin_c,tmax_c\n" + "\n".join(rows))
    found = results("chill", weather=str(path), latitude=latitude, **given)["seasons"]

    assert [season["hours"] for season in found] == [24 * days]


def test_every_cut_of_a_canopy_carries_its_cautions():
    plain = api.reckon("canopy", height="3", spread="3")
    light = api.reckon("canopy", height="3", spread="3", remove="20")
    hard = api.reckon("canopy", height="3", spread="3", remove="40")

    assert plain.cautions == ()
    assert light.cautions
    assert not any("third" in text for text in light.cautions)
    assert len(hard.cautions) == len(light.cautions) + 1
    assert "third" in hard.cautions[0]
