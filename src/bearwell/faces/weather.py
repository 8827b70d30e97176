"""The weather record in the terminal."""

from __future__ import annotations

from datetime import date

from rich.console import Console
from rich.text import Text

from bearwell.api import STATES, Fetched, LoadedGarden, Record
from bearwell.faces.language import N_, Np_, _, _n, _p, say
from bearwell.faces.twins_weather import named
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

STATE_WORDS = {
    "measured": N_("measured"),
    "flagged": N_("flagged: a reading left out or doubted"),
    "filled": N_("filled from its neighbours or the usual"),
    "forecast": N_("forecast"),
    "usual": N_("not known: the usual weather is used"),
}
# The same in a word, and as days are counted: 12 measured.
_SHORT = {**STATE_WORDS, "flagged": N_("flagged"), "usual": N_("not known")}
DAYS_WORDS = {
    "measured": Np_("days", "measured"),
    "flagged": Np_("days", "flagged"),
    "filled": Np_("days", "filled"),
    "forecast": Np_("days", "forecast"),
    "usual": Np_("days", "usual"),
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
    heading = _("{garden}: the weather record", garden=opened.garden.about.name)
    console.print(Text(heading, style="bold"))
    if fetched is not None:
        _print_fetched(console, fetched)
    elif record.online:
        console.print(
            _("Offline: nothing was asked of the network.")
            if offline
            else _("From what is kept; --fetch asks the services anew.")
        )
    if record.start is None or record.end is None:
        console.print(_("There is no daily record."))
    else:
        _print_years(console, record, words)
    _print_gaps(console, record, words)
    _print_sources(console, opened, record)
    _print_colder(console, opened, record, words)
    for problem in opened.problems:
        if problem.where != str(opened.path) and problem.severity != "note":
            console.print(
                Text(f"! {named(opened, problem.where)}: {say(problem.message)}", style="yellow")
            )


def _print_fetched(console: Console, fetched: Fetched) -> None:
    for one in fetched.outcomes:
        mark = "" if one.came else "! "
        told = say(one.said)
        if one.first:
            days = _fetched(one.first, one.last, one.missing)
            told = f"{days}: {told}" if told else days
        console.print(Text(f"{mark}{one.service} {say(one.sort)}: {told}"))


def _fetched(first: date, last: date | None, missing: int) -> str:
    """The days that a service gave."""
    if not missing:
        return _("fetched {first} to {last}", first=first, last=last)
    return _n(
        "fetched {first} to {last}, {number} of the days asked for missing",
        "fetched {first} to {last}, {number} of the days asked for missing",
        missing,
        first=first,
        last=last,
    )


def _print_years(console: Console, record: Record, words: Words) -> None:
    days = record.days
    total = ", ".join(
        f"{days[state]} {_p('days', DAYS_WORDS[state])}" for state in STATES if days[state]
    )
    if record.start is not None and record.end is not None:
        first, last = words.day(record.start), words.day(record.end)
        console.print(_("{first} to {last}: {days}", first=first, last=last, days=total))
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
    console.print("     " + "  ".join(f"{_LETTERS[state]} {_(_SHORT[state])}" for state in STATES))


def _print_gaps(console: Console, record: Record, words: Words) -> None:
    if record.gaps:
        console.print(Text(_("Gaps"), style="bold underline"))
        for gap in record.gaps[:_LISTED]:
            console.print(f"  {words.span(gap.first, gap.last)}, {gap.days} d: {say(gap.used)}")
        left = len(record.gaps) - _LISTED
        if left > 0:
            more = _n(
                "and {number} more: --json lists them all",
                "and {number} more: --json lists them all",
                left,
            )
            console.print(f"  {more}")
    if record.flags:
        console.print(Text(_("Flagged"), style="bold underline"))
        for flag in record.flags:
            first = ", ".join(day.isoformat() for day in flag.first)
            more = " ..." if flag.days > len(flag.first) else ""
            console.print(f"  {flag.days} d {say(flag.reason)}: {first}{more}")


def _print_sources(console: Console, opened: LoadedGarden, record: Record) -> None:
    if not record.reports:
        return
    console.print(Text(_("Sources"), style="bold underline"))
    for one in record.reports:
        console.print(Text(f"  {named(opened, one.where)}: {say(one.layout)}"))
        console.print("    " + _("a day is {day}", day=say(one.day)))
        for left, what in ((one.dropped, _("left out")), (one.doubted, _("doubted"))):
            for part in left:
                listed = ", ".join(str(line) for line in part.lines)
                lines = f" ({_('line {number}', number=listed)})" if part.lines else ""
                console.print(Text(f"    {what}: {part.count} {say(part.reason)}{lines}"))
        if one.terms:
            console.print(Text(f"    {one.terms}"))


def _print_colder(console: Console, opened: LoadedGarden, record: Record, words: Words) -> None:
    colder = opened.site.colder
    if not colder.because:
        return
    heading = _("Your spot against the station, clear nights")
    console.print(Text(heading, style="bold underline"))
    console.print(f"  {apart(colder.value, colder.low, colder.high, words)}")
    for one in record.nights.sorts if record.nights else ():
        told = apart(one.value, one.low, one.high, words)
        console.print(f"    {say(one.sort)} ({one.count}): {told}")


def apart(value: float, low: float, high: float, words: Words) -> str:
    """How much colder or warmer, with its range: "1.7 °C (1.3 to 2.1 °C) colder"."""
    ends = (-high, -low) if value < 0 else (low, high)
    size = words.quantity(Quantity(abs(value), "K", *ends), with_range=True)
    return _("{size} warmer", size=size) if value < 0 else _("{size} colder", size=size)
