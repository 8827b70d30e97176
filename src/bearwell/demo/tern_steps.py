"""Writes the demonstration garden "Tern Steps" as a garden file with its weather.

Everything in it is invented by us to show what a garden file can say: no such terrace, tree, crop,
price or weather record exists. Dates follow the day it is written for, so that it never goes stale.
"""

from __future__ import annotations

import hashlib
import re
import tempfile
from datetime import date, timedelta
from pathlib import Path

from bearwell.demo.garden import HEAD, SHELF
from bearwell.demo.terrace import place_line
from bearwell.demo.trees import TREES, Kept, Work
from bearwell.demo.weather import DAYS_AHEAD, frost_forecast, invented_weather
from bearwell.errors import BadInput, BearwellError
from bearwell.said import said
from bearwell.weather.series import DailySeries
from bearwell.weather.writer import write_csv
from bearwell.wholefile import SHARED, write_whole

GARDEN_FILE = "tern-steps.toml"
WEATHER_FILE = Path("weather", "tern-steps.csv")
YEARS_KEPT = 5
_FIRST_YEAR, _LAST_YEAR = 1950, 2190
# Work of the last days is left for whoever opens the garden to tick off.
_NOT_YET_DONE = timedelta(days=10)
# Invented swings [d], read off by the calendar year so that a past season keeps its dates.
_SWINGS = (-4, 6, 1, -8, 3, 9, -2, -6, 4, 0, 7)
_CHECKSUM = re.compile(
    r"^# Checksum: garden ([0-9a-f]{64}), weather ([0-9a-f]{64})\n", re.MULTILINE
)


def write_demo(folder: Path, today: date) -> Path:
    """Write ``tern-steps.toml`` and its weather into ``folder`` for a day; the garden file's path.

    The same day gives the same bytes. Either file appears whole or not at all. A file that is there
    already is replaced only if it is our own, untouched: else BadInput says so and nothing is
    written.
    """
    if not _FIRST_YEAR <= today.year <= _LAST_YEAR:
        raise BadInput(
            said("the demonstration garden cannot be written for {day}", day=today),
            said("a day from {first} to {last}", first=_FIRST_YEAR, last=_LAST_YEAR),
        )
    garden, weather = folder / GARDEN_FILE, folder / WEATHER_FILE
    _refuse_edited(garden, weather)
    try:
        weather.parent.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise BearwellError(
            said(
                "cannot make {folder}: {reason}",
                folder=weather.parent,
                reason=(problem.strerror or "refused").lower(),
            ),
            said("choose another folder"),
        ) from None
    write_csv(invented_weather(today), weather)
    text = _sealed(demo_text(today), _hash(weather.read_bytes()))
    write_whole(garden, text.encode("utf-8"), SHARED)
    return garden


def demo_text(today: date) -> str:
    """The garden file for a day, without its checksum line."""
    trees = [_tree(tree, today) for tree in TREES]
    head = HEAD.replace("$TODAY", today.isoformat()).replace("$EVENING", _evening(today))
    return "\n".join([head, SHELF, *trees])


def _evening(today: date) -> str:
    """This evening's reading, on the days whose forecast is frosty."""
    if not frost_forecast(today):
        return ""
    return (
        f'\nevenings = [{{ date = {today}, t0 = "4.2 degC", td = "-2.6 degC", wind = "0.6 m/s", '
        'sky = "clear" }]'
    )


# ---------------------------------------------------------------------- ours, or somebody's work?


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _sealed(text: str, weather: str) -> str:
    """The text with its checksum line put after the first line."""
    first, rest = text.split("\n", 1)
    return f"{first}\n# Checksum: garden {_hash(text.encode())}, weather {weather}\n{rest}"


def _refuse_edited(garden: Path, weather: Path) -> None:
    """Raise BadInput if either file exists and is not as we wrote it."""
    seal: str | None = None
    if garden.exists():
        text = _read(garden).decode("utf-8", "replace")
        found = _CHECKSUM.search(text)
        if found is None or _hash(_CHECKSUM.sub("", text, count=1).encode()) != found[1]:
            raise BadInput(
                said("{file} is there and is not our untouched demonstration garden", file=garden),
                said("move it away or choose another folder; nothing was written"),
            )
        seal = found[2]
    if weather.exists():
        content = _read(weather)
        if _hash(content) != seal and not _is_ours(content):
            raise BadInput(
                said("{file} is there and is not our untouched invented weather", file=weather),
                said("move it away or choose another folder; nothing was written"),
            )


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as problem:
        raise BadInput(
            said(
                "{file} is there but cannot be read: {reason}",
                file=path,
                reason=(problem.strerror or "refused").lower(),
            ),
            said("choose another folder"),
        ) from None


def _is_ours(content: bytes) -> bool:
    """Whether weather without its garden is what we invent for the day it ends on.

    So it is when a run was stopped between the two files.
    """
    try:
        last = date.fromisoformat(content.decode("ascii").splitlines()[-1].split(",", 1)[0])
        if not _FIRST_YEAR <= last.year <= _LAST_YEAR:
            return False
        return content == _csv(invented_weather(last - timedelta(days=DAYS_AHEAD)))
    except (ValueError, IndexError):
        return False


def _csv(series: DailySeries) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, WEATHER_FILE.name)
        write_csv(series, path)
        return path.read_bytes()


# ---------------------------------------------------------------------- one tree as text


def planted_on(tree: Kept, today: date) -> date:
    """The day it was planted: whole years before this season, or for the young graft by its age."""
    years, month, day = tree.planted
    planted = date(today.year - years, month, day)
    if tree.always_young:
        # The last such day that is at least a year ago.
        planted = date(today.year - 1, month, day)
        if (today - planted).days < 365:
            planted = date(today.year - 2, month, day)
    return planted


def _tree(tree: Kept, today: date) -> str:
    planted = planted_on(tree, today)
    lines = ["", *(f"# {line}" for line in tree.lesson), "[[tree]]"]
    lines += [f'id = "{tree.id}"', f'kind = "{tree.kind}"']
    if tree.name:
        lines.append(f'name = "{tree.name}"')
    lines.append(f"planted = {planted}")
    lines += [*tree.measures, *place_line(tree.id)]
    lines += _rows("harvests", _harvests(tree, planted, today))
    lines += _rows("observed", _observed(tree, planted, today))
    lines += _rows("counts", _dated(tree.counts, planted, today))
    lines += _rows("leaf_tests", _dated(tree.leaves, planted, today))
    lines += _rows("shortages", _dated(tree.lacks, planted, today))
    lines += _rows("done", _done(tree, planted, today))
    if tree.note:
        lines.append(f'note = "{tree.note}"')
    return "\n".join(lines) + "\n"


def _rows(key: str, rows: list[str]) -> list[str]:
    if not rows:
        return []
    return [f"{key} = [", *(f"  {{ {row} }}," for row in rows), "]"]


def _swing(tree: Kept, year: int, share: float) -> int:
    """How many days early or late this tree's season ``year`` is."""
    place = (year + sum(tree.id.encode())) % len(_SWINGS)
    return round(share * _SWINGS[place])


def _observed(tree: Kept, planted: date, today: date) -> list[str]:
    """Dates seen in the last five years, oldest first."""
    found: list[tuple[date, str]] = []
    for seen in tree.seen:
        for season in range(today.year - YEARS_KEPT - 1, today.year + 1):
            if season in (today.year - gap for gap in seen.not_seen):
                continue
            day = date(season + seen.years_on, seen.month, seen.day)
            day += timedelta(days=_swing(tree, season, seen.share))
            begun = planted + timedelta(days=round(365.25 * tree.bears_after))
            if max(begun, _five_years_before(today)) <= day <= today:
                found.append((day, seen.event))
    return [f'event = "{event}", date = {day}' for day, event in sorted(found)]


def _five_years_before(today: date) -> date:
    return today - timedelta(days=round(365.25 * YEARS_KEPT))


def _harvests(tree: Kept, planted: date, today: date) -> list[str]:
    """Crops already picked, oldest first."""
    if not tree.crops:
        return []
    month, day = tree.picked_by
    last = today.year if today >= date(today.year, month, day) else today.year - 1
    rows = []
    for back, crop in enumerate(tree.crops):
        year = last - back
        if year < planted.year + tree.bears_after:
            break
        fruit = f", fruit = {crop[1]}" if crop[1] else ""
        halves = f", {tree.halves}" if tree.halves and not back else ""
        rows.append(f'year = {year}, mass = "{crop[0]}"{fruit}{halves}')
    return rows[::-1]


def _last(month: int, day: int, today: date) -> date:
    """The last time this day of the year was, today included."""
    this = date(today.year, month, day)
    return this if this <= today else date(today.year - 1, month, day)


def _dated(entries: tuple[Work, ...], planted: date, today: date) -> list[str]:
    """Entries at the last time their day of the year was, oldest first."""
    rows = []
    for month, day, what in entries:
        when = _last(month, day, today)
        if when > planted:
            rows.append((when, f"date = {when}, {what}"))
    return [row for _, row in sorted(rows)]


def _done(tree: Kept, planted: date, today: date) -> list[str]:
    """Work of the past year, oldest first; the last days are left open."""
    rows = []
    for month, day, what in tree.done:
        when = _last(month, day, today)
        if planted < when <= today - _NOT_YET_DONE:
            rows.append((when, f"date = {when}, {what}"))
    return [row for _, row in sorted(rows)]
