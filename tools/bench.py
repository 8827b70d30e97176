"""Speed, memory and size, measured now: printed, and written to docs/performance.md.

Times are medians. Where a figure can be set beside another way of doing the same, both are measured
in the same run and the ratio is given: a ratio travels between machines and a time does not.
"""

from __future__ import annotations

import math
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from importlib import metadata
from pathlib import Path

import numpy as np
import refet
from fastapi.testclient import TestClient

from bearwell.api import open_garden, worklist, write_demo
from bearwell.faces.web.app import create_app
from bearwell.plan.programme import solve
from bearwell.plan.schedule import Schedule
from bearwell.science import chill, humidity, sun
from bearwell.science.evapotranspiration import reference_evapotranspiration_fao56
from bearwell.science.hourly import hourly_temperature_linvill
from bench_store import store_rows
from bench_weather import weather_rows

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "performance.md"
TODAY = date(2026, 3, 15)
TREES = 30
COMMAND = Path(sys.executable).with_name("bearwell")


def median_time(work: Callable[[], object], times: int) -> float:
    """Median seconds of doing something so many times."""
    spans = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spans.append(time.perf_counter() - begun)
    return statistics.median(spans)


def process(*words: str) -> Callable[[], object]:
    """A fresh process that must succeed, its output thrown away."""
    # As on a grower's machine, where Python keeps what it compiled.
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return lambda: subprocess.run(words, check=True, stdout=subprocess.DEVNULL, env=env)


def command(*words: str) -> Callable[[], object]:
    """The command line in a fresh process."""
    if COMMAND.exists():
        return process(str(COMMAND), *words)
    return process(sys.executable, "-m", "bearwell.faces.cli", *words)


# Linux keeps the peak of the parent in getrusage until the child grows past it, so there the kernel's own
# mark, which starts afresh with each program, is read.
_PEAK = """
from pathlib import Path as _Path
_status = _Path("/proc/self/status")
if _status.exists():
    print(next(int(line.split()[1]) for line in _status.read_text().splitlines() if line.startswith("VmHWM")) / 1024)
else:
    import resource, sys
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024**2 if sys.platform == "darwin" else 1024))
"""


def peak_of(code: str, *arguments: str) -> float:
    """Most memory a fresh process that runs this code holds [MB]."""
    done = subprocess.run(
        [sys.executable, "-c", code + "\n" + _PEAK, *arguments],
        check=True,
        capture_output=True,
        text=True,
    )
    return float(done.stdout.split()[-1])


def garden_of(trees: int, folder: Path) -> tuple[Path, list[str]]:
    """The demo garden with its trees repeated until there are so many; its file and their ids."""
    file = write_demo(folder, TODAY)
    head, *blocks = re.split(r"(?m)^(?=\[\[tree\]\])", file.read_text("utf-8"))
    made, ids = [], []
    for index in range(trees):
        block, turn = blocks[index % len(blocks)], index // len(blocks)
        found = re.search(r'(?m)^id = "([^"]+)"', block)
        if found is None:
            raise SystemExit("bench: a tree of the demo garden has no id")
        name = f"{found[1]}-{turn + 1}" if turn else found[1]
        ids.append(name)
        made.append(block.replace(found[0], f'id = "{name}"', 1))
    larger = folder / "larger.toml"
    larger.write_text(head + "".join(made), "utf-8")
    return larger, ids


def installed_size() -> tuple[float, float, int]:
    """Megabytes on disk of bearwell and of all it needs to run, and how many packages those are."""
    wanted = re.findall(r"(?m)^([\w.-]+)==", (ROOT / "requirements" / "run.txt").read_text("utf-8"))
    size, count = 0, 0
    for name in sorted(set(wanted)):
        try:
            found = metadata.distribution(name)
        except metadata.PackageNotFoundError:
            continue  # a package for another system
        count += 1
        for file in found.files or ():
            place = Path(str(found.locate_file(file)))
            size += place.stat().st_size if place.is_file() else 0
    own = sum(
        file.stat().st_size
        for file in (ROOT / "src" / "bearwell").rglob("*")
        if file.is_file() and file.suffix != ".pyc"
    )
    return own / 1e6, size / 1e6, count


def forty_years() -> np.ndarray:
    """Hours of 40 plausible years."""
    days = np.arange(40 * 365)
    swing = np.cos(2 * np.pi * (days % 365 - 20) / 365)
    chance = np.random.default_rng(7)
    middle = 13 - 8 * swing + chance.normal(0, 3, days.size)
    span = 5 + 2 * chance.random(days.size)
    return hourly_temperature_linvill(middle - span, middle + span, 41.7, days % 365 + 1).ravel()


def portions_by_plain_loop(hours: list[float]) -> float:
    """The dynamic model hour by hour in plain Python: the yardstick for ours, with the same constants."""
    state = total = 0.0
    for degrees in hours[:-1]:
        kelvin = degrees + chill.ZERO
        ratio = chill.A0 / chill.A1 * math.exp((chill.E1 - chill.E0) / kelvin)
        decay = math.exp(-chill.A1 * math.exp(-chill.E1 / kelvin))
        step = math.exp(chill.SLOPE * chill.TRANSITION * (kelvin - chill.TRANSITION) / kelvin)
        state = ratio - (ratio - state) * decay
        if state >= 1.0:
            portion = state * step / (1.0 + step)
            total += portion
            state -= portion
    return total


def chill_row() -> tuple[float, float, float]:
    """Seconds of ours and of the plain loop for 40 years of hours, and how far they differ [CP]."""
    hours = forty_years()
    listed = hours.tolist()
    ours = float(chill.chill_portions_fishman(hours)[-1])
    theirs = portions_by_plain_loop(listed)
    return (
        median_time(lambda: chill.chill_portions_fishman(hours), 7),
        median_time(lambda: portions_by_plain_loop(listed), 3),
        abs(ours - theirs),
    )


def evapotranspiration_row() -> tuple[float, float, float]:
    """Seconds of ours and of refet for the days of a site's year, and their largest difference [mm]."""
    days = np.arange(1, 366)
    swing = np.cos(2 * np.pi * (days - 20) / 365)
    tmin, tmax = 9 - 6 * swing, 19 - 9 * swing
    vapour = humidity.saturation_vapour_pressure(tmin)
    solar = 0.6 * sun.extraterrestrial_radiation_fao56(41.7, days)
    wind = np.full(365, 2.0)

    def ours() -> np.ndarray:
        return reference_evapotranspiration_fao56(tmin, tmax, vapour, solar, wind, 41.7, 35.0, days)

    def theirs() -> np.ndarray:
        return np.asarray(
            refet.Daily(
                tmin=tmin,
                tmax=tmax,
                ea=vapour,
                rs=solar,
                uz=wind,
                zw=2.0,
                elev=35.0,
                lat=41.7,
                doy=days,
                method="asce",
            ).eto()
        )

    gap = float(np.max(np.abs(ours() - theirs())))
    return median_time(ours, 201), median_time(theirs, 201), gap


def schedule_rows(garden: Path) -> list[tuple[str, str, str]]:
    """The year's feeding of the whole garden: its time, its size, and how sure the solver is of the best."""

    def afresh() -> Schedule:
        solve.cache_clear()
        return open_garden(garden, TODAY).schedule

    spent = median_time(afresh, 3)
    schedule = afresh()
    asked = solve.cache_info()
    blends = [one.blend for tree in schedule.trees.values() for one in tree.rounds if one.blend]
    products = len(open_garden(garden, TODAY).garden.products)
    return [
        (
            f"feeding year of {len(schedule.trees)} trees from {products} products, garden opened anew",
            milliseconds(spent),
            f"{len(blends)} blends: {asked.misses} programmes solved, the rest from memory; "
            f"largest gap to the optimum {max(blend.gap for blend in blends):.1g}",
        )
    ]


def water_rows(garden: Path) -> list[tuple[str, str, str]]:
    """The watering of the whole garden over two weeks, garden opened anew each time."""
    spent = []
    for _ in range(5):
        opened = open_garden(garden, TODAY)
        begun = time.perf_counter()
        plan = opened.watering
        spent.append(time.perf_counter() - begun)
    each = statistics.median(spent)
    return [
        (
            f"watering of {len(plan.trees)} trees over two weeks, with their accounts",
            milliseconds(each),
            f"{milliseconds(each / len(plan.trees))} a tree",
        )
    ]


def milliseconds(seconds: float) -> str:
    """A time as people read it."""
    return f"{1000 * seconds:.3g} ms" if seconds < 1 else f"{seconds:.2f} s"


def measure(folder: Path) -> list[tuple[str, str, str]]:
    """Everything: what, how much, beside what."""
    rows: list[tuple[str, str, str]] = []
    bare = median_time(process(sys.executable, "-c", "pass"), 9)
    helped = median_time(command("--help"), 9)
    rows.append(("`bearwell --help`, fresh process", milliseconds(helped),
                 f"{helped / bare:.1f} × an empty Python process ({milliseconds(bare)})"))  # fmt: skip

    garden, ids = garden_of(TREES, folder)
    day = TODAY.isoformat()
    cold = median_time(command("worklist", str(garden), "--today", day, "--json"), 5)
    rows.append(
        (
            f"worklist of {TREES} trees, fresh process",
            milliseconds(cold),
            f"{cold / bare:.1f} × an empty Python process",
        )
    )
    fresh = median_time(lambda: worklist(open_garden(garden, TODAY)), 5)
    rows.append(
        (
            f"worklist of {TREES} trees, garden opened anew",
            milliseconds(fresh),
            f"{milliseconds(fresh / TREES)} a tree",
        )
    )
    opened = open_garden(garden, TODAY)
    reading = median_time(lambda: open_garden(garden, TODAY), 5)
    rows.append(
        (
            "of which reading the garden and its weather",
            milliseconds(reading),
            f"{100 * reading / fresh:.0f} %",
        )
    )
    worklist(opened)
    kept = median_time(lambda: worklist(opened), 51)
    rows.append(("the same worklist again, garden kept open", milliseconds(kept), ""))

    rows += schedule_rows(garden)
    rows += water_rows(garden)
    rows += store_rows(folder, TODAY)

    app = create_app(garden, today=lambda: TODAY)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        for path in (
            "/",
            "/?by=tree",
            f"/tree/{ids[0]}",
            f"/tree/{ids[0]}/feeding",
            "/shelf",
            "/sheet",
            "/water",
            f"/tree/{ids[0]}/water",
            "/sheet/week",
            "/poster",
            "/tags",
            "/map",
            "/calendar.ics",
            "/trees",
            "/weather",
            "/week.json",
        ):
            first = client.get(path)
            if first.status_code != 200:
                raise SystemExit(f"bench: {path} answered {first.status_code}")
            span = median_time(lambda path=path: client.get(path), 15)  # type: ignore[misc]
            shown = path.replace(ids[0], "{id}")
            sent = int(first.headers.get("content-length", len(first.content)))
            rows.append(
                (
                    f"page `{shown}`, server time, garden kept open",
                    milliseconds(span),
                    f"{len(first.content) / 1024:.0f} KB, {sent / 1024:.0f} KB as sent",
                )
            )

    idle = peak_of("pass")
    listed = peak_of(
        "import sys; from datetime import date; from bearwell.api import open_garden, worklist; "
        "opened = open_garden(sys.argv[1], date.fromisoformat(sys.argv[2])); worklist(opened); opened.schedule",
        str(garden), day,
    )  # fmt: skip
    rows.append(
        (
            f"most memory, worklist and feeding year of {TREES} trees",
            f"{listed:.0f} MB",
            f"an empty Python process {idle:.0f} MB",
        )
    )
    served = peak_of(
        "import sys; from pathlib import Path; from datetime import date\n"
        "from fastapi.testclient import TestClient; from bearwell.faces.web.app import create_app\n"
        "day = date.fromisoformat(sys.argv[2])\n"
        "client = TestClient(create_app(Path(sys.argv[1]), today=lambda: day), base_url='http://127.0.0.1')\n"
        "client.get('/'); client.get('/trees')", str(garden), day,
    )  # fmt: skip
    rows.append((f"most memory, page server with {TREES} trees", f"{served:.0f} MB", ""))
    own, needed, count = installed_size()
    rows.append(("installed size of bearwell", f"{own:.1f} MB", ""))
    rows.append(("installed size of all it needs to run", f"{needed:.0f} MB", f"{count} packages"))

    ours, loop, apart = chill_row()
    rows.append(("chill portions of 40 years of hours", milliseconds(ours),
                 f"{loop / ours:.1f} × as fast as a plain loop ({milliseconds(loop)}); they differ by {apart:.1g} CP"))  # fmt: skip
    rows += weather_rows(folder, median_time, milliseconds)
    ours, theirs, apart = evapotranspiration_row()
    rows.append(("reference evapotranspiration of a site's year", milliseconds(ours),
                 f"{theirs / ours:.2f} × as fast as the package refet ({milliseconds(theirs)}); "
                 f"they differ by at most {apart:.1g} mm"))  # fmt: skip
    return rows


def main() -> None:
    """Measure, print, and write the page."""
    with tempfile.TemporaryDirectory() as folder:
        rows = measure(Path(folder))
    width = max(len(what) for what, _, _ in rows)
    for what, much, beside in rows:
        print(f"  {what:<{width}}  {much:>10}  {beside}")
    lines = [
        "# Speed, memory and size", "",
        "Written by `make bench`; run it for the figures of your own machine. Times are medians. The",
        "last column sets a figure beside another way of doing the same, measured in the same run.", "",
        f"These were measured with {platform.python_implementation()} {platform.python_version()} on "
        f"{platform.system()} {platform.machine()} with {os.cpu_count()} cores,",
        f"on the demo garden with its trees repeated to {TREES} and twelve years of daily weather.", "",
        "| what | figure | beside |", "| --- | --- | --- |",
        *(f"| {what} | {much} | {beside} |" for what, much, beside in rows), "",
    ]  # fmt: skip
    PAGE.write_text("\n".join(lines), "utf-8")


if __name__ == "__main__":
    main()
