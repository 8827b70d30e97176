"""The weather record in the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from bearwell.api import STATES, Fetched, LoadedGarden, Record
from bearwell.faces.twins_weather import named
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

STATE_WORDS = {
    "measured": "measured",
    "flagged": "flagged: a reading left out or doubted",
    "filled": "filled from its neighbours or the usual",
    "forecast": "forecast",
    "usual": "not known: the usual weather is used",
}
# One letter for about five days, what stands for most of them.
_LETTERS = {"measured": "=", "flagged": "!", "filled": "-", "forecast": ">", "usual": "."}
_PART = 5  # days a letter
_WORST = ("flagged", "filled", "usual", "forecast", "measured")
_LISTED = 8


def print_weather(
    opened: LoadedGarden, record: Record, words: Words, fetched: Fetched | None, *, offline: bool
) -> None:
    """The record: a line a year, gaps, flags, sources and what their makers ask to be said."""
    console = Console(highlight=False, soft_wrap=True)
    console.print(Text(f"{opened.garden.about.name}: the weather record", style="bold"))
    if fetched is not None:
        _print_fetched(console, fetched)
    elif record.online:
        console.print(
            "Offline: nothing was asked of the network."
            if offline
            else "From what is kept; --fetch asks the services anew."
        )
    if record.start is None or record.end is None:
        console.print("There is no daily record.")
    else:
        _print_years(console, record, words)
    _print_gaps(console, record, words)
    _print_sources(console, opened, record)
    _print_colder(console, opened, record, words)
    for problem in opened.problems:
        if problem.where != str(opened.path) and problem.severity != "note":
            console.print(
                Text(f"! {named(opened, problem.where)}: {problem.message}", style="yellow")
            )


def _print_fetched(console: Console, fetched: Fetched) -> None:
    for one in fetched.outcomes:
        span = f" {one.first} to {one.last}" if one.first else ""
        missing = f", {one.missing} of the days asked for missing" if one.missing else ""
        said = f": {one.said}" if one.said and one.first else ""
        came = f"fetched{span}{missing}{said}" if one.first else one.said
        mark = "" if one.came else "! "
        console.print(Text(f"{mark}{one.service} {one.sort}: {came}"))


def _print_years(console: Console, record: Record, words: Words) -> None:
    days = record.days
    total = ", ".join(f"{days[state]} {state}" for state in STATES if days[state])
    console.print(f"{words.day(record.start)} to {words.day(record.end)}: {total}")  # type: ignore[arg-type]
    for one in record.years:
        letters: list[str] = []
        for stretch in one.stretches:
            letters += [stretch.state] * stretch.days
        line = ""
        for at in range(0, len(letters), _PART):
            part = letters[at : at + _PART]
            state = next(each for each in _WORST if each in part)
            line += _LETTERS[state]
        console.print(Text(f"{one.year} {line}"))
    console.print(
        "     "
        + "  ".join(f"{_LETTERS[state]} {STATE_WORDS[state].split(':')[0]}" for state in STATES)
    )


def _print_gaps(console: Console, record: Record, words: Words) -> None:
    if record.gaps:
        console.print(Text("Gaps", style="bold underline"))
        for gap in record.gaps[:_LISTED]:
            console.print(f"  {words.span(gap.first, gap.last)}, {gap.days} d: {gap.used}")
        if len(record.gaps) > _LISTED:
            console.print(f"  and {len(record.gaps) - _LISTED} more: --json lists them all")
    if record.flags:
        console.print(Text("Flagged", style="bold underline"))
        for flag in record.flags:
            first = ", ".join(day.isoformat() for day in flag.first)
            more = " ..." if flag.days > len(flag.first) else ""
            console.print(f"  {flag.days} d {flag.reason}: {first}{more}")


def _print_sources(console: Console, opened: LoadedGarden, record: Record) -> None:
    if not record.reports:
        return
    console.print(Text("Sources", style="bold underline"))
    for one in record.reports:
        console.print(Text(f"  {named(opened, one.where)}: {one.layout}"))
        console.print(f"    a day is {one.day}")
        for left, what in ((one.dropped, "left out"), (one.doubted, "doubted")):
            for part in left:
                lines = (
                    f" (line {', '.join(str(line) for line in part.lines)})" if part.lines else ""
                )
                console.print(Text(f"    {what}: {part.count} {part.reason}{lines}"))
        if one.terms:
            console.print(Text(f"    {one.terms}"))


def _print_colder(console: Console, opened: LoadedGarden, record: Record, words: Words) -> None:
    colder = opened.site.colder
    if not colder.because:
        return
    console.print(Text("Your spot against the station, clear nights", style="bold underline"))
    console.print(f"  {apart(colder.value, colder.low, colder.high, words)}")
    for one in record.nights.sorts if record.nights else ():
        console.print(f"    {one.sort} ({one.count}): {apart(one.value, one.low, one.high, words)}")


def apart(value: float, low: float, high: float, words: Words) -> str:
    """How much colder or warmer, with its range: "1.7 °C (1.3 to 2.1 °C) colder"."""
    ends = (-high, -low) if value < 0 else (low, high)
    size = words.quantity(Quantity(abs(value), "K", *ends), with_range=True)
    return f"{size} {'warmer' if value < 0 else 'colder'}"
