"""A small garden for the tests of the web face: names that try to be markup, work done, a rule, a pot."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

TODAY = date(2026, 11, 25)
# The scripts of every page; one written into a page, or from elsewhere, would show among them.
SHARED_SCRIPTS = ["say.js", "print.js", "outdoors.js", "waiting.js", "record.js"]


def spoken_once(address: str) -> str:
    """The address without its language: the same page in another tongue is not walked through again."""
    return re.sub(r"[?&]language=\w+$", "", address)


def scripts_of(page: str) -> list[str]:
    """The names of a page's scripts, whole tags for those that are no file of ours."""
    return [
        name or tag
        for tag, name in re.findall(
            r'(<script(?: src="/static/([\w.-]+)\?\w+" defer)?[^>]*>)', page
        )
    ]


GARDEN = """
bearwell = 1
[garden]
name = "Tern & <b>Steps</b>"
units = "{units}"
[site]
latitude = 41.69
longitude = -8.83
elevation = "35 m"
timezone = "Europe/Lisbon"
soil = "sandy loam"
soil_test = {{ ph = 5.9, organic_matter = "2.4 %", p = {{ method = "mehlich-3", value = "31 ppm" }} }}
irrigation_water_ec = "0.4 dS/m"
[weather]
normals = {{ tmin = "6 6 8 9 12 14 16 16 15 12 9 7 degC", tmax = "14 15 17 18 21 24 26 26 25 21 17 15 degC" }}
[[no_feeding]]
from = "06-01"
to = "09-30"
nutrients = ["N", "P"]
reason = "summer rule <i>here</i>"
[[product]]
id = "balanced"
name = "granules <img src=x onerror=alert(1)>"
label = "5-5-5"
release = "granular organic"
on_hand = "7 kg"
cup_mass = "150 g"
[[shelter]]
id = "north-hoop"
shape = "hoop"
length = "6 m"
width = "3 m"
height = "2.4 m"
[[tree]]
id = "clementine-low"
name = "<script>alert('x')</script>"
kind = "clementine"
planted = 2018-03-20
height = "2.1 m"
spread = ["2.2 m", "2.0 m"]
skirt = "0.4 m"
trunk_girth = "25 cm"
shelter = "north-hoop"
note = "\\"quoted\\" & <u>noted</u>"
harvests = [{{ year = 2023, mass = "4 kg" }}, {{ year = 2025, mass = "14.5 kg", fruit = 170 }}]
observed = [{{ event = "full bloom", date = 2026-04-14 }}]
done = [{{ date = 2026-10-02, job = "feed", product = "balanced", amount = "300 g", note = "<em>half</em>" }}]
[[tree]]
id = "peach.wall"
kind = "peach"
planted = 2019-01-20
[[tree]]
id = "calamondin-pot"
kind = "calamondin"
planted = 2024-05-02
grows_in = {{ container = "45 L", medium = "bark and peat" }}
"""


def write_garden(folder: Path, units: str = "metric") -> Path:
    """The garden as a file."""
    path = folder / "garden.toml"
    path.write_text(GARDEN.format(units=units), "utf-8")
    return path
