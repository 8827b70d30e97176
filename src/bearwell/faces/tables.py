"""Tables for the terminal: readable in 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from bearwell.api import (
    Advice,
    LoadedGarden,
    Reckoner,
    Reckoning,
    TreeYear,
    Worklist,
    gravest_first,
    minutes_of,
)
from bearwell.errors import Problem
from bearwell.faces.groups import gather
from bearwell.faces.language import N_, _, _n, say
from bearwell.faces.problems import problem_line, with_hint
from bearwell.faces.words import CONFIDENCE_WORDS, JOB_WORDS, SECTION_WORDS, Words
from bearwell.reasons import Because

DOUBTFUL = ("memory", "judgement")
# What a reason may rest on that is no row of the bibliography.
_OWN_SOURCES = (
    N_("records"), N_("weather"), N_("garden file"), N_("memory"), N_("judgement"),
)  # fmt: skip
# What the value of a reckoner's option is, where it is no unit.
OPTION_WORDS = (
    N_("date"), N_("file"), N_("kind"), N_("list"), N_("month-day"), N_("text"),
)  # fmt: skip


def console_of() -> Console:
    """Where tables are printed: 80 columns wide when piped."""
    console = Console(highlight=False, soft_wrap=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=80)
    return console


def print_worklist(
    opened: LoadedGarden, listed: Worklist, words: Words, *, why: bool = False
) -> None:
    """The worklist, section by section."""
    console = console_of()
    console.print(Text(f"{listed.garden}: {words.span(listed.today, listed.last)}", style="bold"))
    jobs = [
        one for one in listed.standing("due", "coming") if one.kind not in ("inspect", "measure")
    ]
    minutes = minutes_of(jobs)
    work = [_("about {time} of work", time=words.time(minutes))] if minutes else []
    marked = any(one.confidence in DOUBTFUL for one in listed.advice)
    doubt = [_("* marks what rests on memory or judgement")] if marked else []
    console.print("; ".join([*work, *doubt]) + "\n")
    if not listed.advice:
        console.print(_("Nothing to do.") + "\n")
    for key, advice in listed.sections().items():
        console.print(Text(_(SECTION_WORDS[key][0]), style="bold underline"))
        if key == "round":
            _print_looks(console, advice, words)
        else:
            for one in advice:
                _print_advice(console, one, words, why=why)
        console.print()
    _print_notices(console, listed.problems, opened.name)


def _print_advice(console: Console, one: Advice, words: Words, *, why: bool) -> None:
    table = Table.grid(padding=(0, 1), expand=False)
    table.add_column(width=17, overflow="fold")
    table.add_column(width=60, overflow="fold")
    mark = " *" if one.confidence in DOUBTFUL else ""
    title = Text(words.phrase(one.headline), style="bold")
    title.append(mark)
    table.add_row(Text(one.tree), title)
    shown = words.phrase(one.display)
    window = words.window(one)
    table.add_row(Text(_(JOB_WORDS[one.kind]), style="dim"), Text(shown) if shown else Text(window))
    if shown:
        table.add_row("", Text(window, style="dim"))
    for remark in one.remarks:
        table.add_row("", Text("! " + words.phrase(remark), style="yellow"))
    if why:
        for link in one.because:
            table.add_row("", Text("– " + _because(link, words), style="dim"))
    console.print(table)


def _because(link: Because, words: Words) -> str:
    source = _(link.source) if link.source in _OWN_SOURCES else link.source
    # What is from memory or judged says so once, behind its reason.
    named = "" if link.source in (*DOUBTFUL, "computed") else source
    origin = ", ".join(part for part in (named, say(link.locator)) if part)
    sure = f" ({_(CONFIDENCE_WORDS[link.confidence])})" if link.confidence in DOUBTFUL else ""
    return words.because(link) + (f" [{origin}]" if origin else "") + sure


def _print_looks(console: Console, advice: Sequence[Advice], words: Words) -> None:
    table = Table.grid(padding=(0, 1))
    table.add_column(width=17, overflow="fold")
    table.add_column(width=60, overflow="fold")
    for group in gather(advice):
        one, trees = group.lead, group.trees
        count = len(trees)
        who = _n("{number} tree", "{number} trees", count) if count > 8 else ", ".join(trees)
        table.add_row(
            Text(_("by {day}", day=words.short_day(group.window.latest)), style="dim"),
            Text(words.phrase(one.headline)),
        )
        table.add_row("", Text(who, style="dim"))
    console.print(table)


def _print_notices(console: Console, problems: Sequence[Problem], path: str) -> None:
    told = [problem for problem in gravest_first(problems) if problem.severity != "note"]
    if told:
        console.print(Text(_("To put right"), style="bold underline"))
        for problem in told[:6]:
            console.print(Text("  " + _problem(problem, path)))
    hidden = len(problems) - len(told[:6])
    if hidden > 0:
        more = _n(
            "{number} more note: bearwell check {file}",
            "{number} more notes: bearwell check {file}",
            hidden,
            file=path,
        )
        console.print(Text(more))


def _problem(problem: Problem, garden: str) -> str:
    """A problem in a line; one of another file than the garden's names it."""
    elsewhere = Path(problem.where).name if problem.where != garden else ""
    line = _("line {number}", number=problem.line) if problem.line else ""
    place = ", ".join(part for part in (elsewhere, line) if part)
    place = f"{place}: " if place else ""
    return f"{place}{with_hint(problem.message, problem.hint)}"


def print_years(opened: LoadedGarden, found: Sequence[TreeYear], words: Words) -> None:
    """The stages of each tree from a month back to a year ahead."""
    console = console_of()
    first, last = opened.today - timedelta(days=31), opened.today + timedelta(days=400)
    for year in found:
        console.print(
            Text(f"{year.tree.called}", style="bold"),
            Text(f"{say(year.kind)}, {_(year.habit)}", style="dim"),
        )
        table = Table(box=None, padding=(0, 1), show_header=True, header_style="dim")
        table.add_column(_("stage"), width=18)
        table.add_column(_("about"), width=13)
        table.add_column(_("8 years in 10"), width=17)
        table.add_column(_("rests on"), width=26, overflow="fold")
        for stage in year.stages:
            if not first <= stage.date <= last:
                continue
            event = _(stage.event)
            name = event if stage.wave == 1 else f"{event} ({stage.wave})"
            span = (
                _("seen")
                if stage.seen
                else f"{words.short_day(stage.low)} – {words.short_day(stage.high)}"
            )
            about = f"{words.short_day(stage.date)} {stage.date.year}"
            table.add_row(*(Text(cell) for cell in (name, about, span, say(stage.basis))))
        console.print(table)
        console.print()
    _print_notices(
        console, [one for one in opened.problems if one.severity == "error"], opened.name
    )


def print_reckoners(known: Mapping[str, Reckoner]) -> None:
    """What can be reckoned."""
    console = console_of()
    table = Table.grid(padding=(0, 2))
    for reckoner in known.values():
        table.add_row(Text(reckoner.name, style="bold"), say(reckoner.summary))
    console.print(table)
    console.print("\n" + _("bearwell reckon NAME --help shows the options of one."))


def print_reckoner(reckoner: Reckoner) -> None:
    """The options of one reckoner."""
    console = console_of()
    console.print(Text(reckoner.name, style="bold"), Text(say(reckoner.summary)))
    table = Table.grid(padding=(0, 2))
    for option in reckoner.options:
        must = "" if option.required else _("optional")
        unit = _(option.unit) if option.unit in OPTION_WORDS else option.unit
        table.add_row(
            Text(f"--{option.name}", style="bold"),
            Text(unit, style="dim"),
            Text(say(option.help)),
            Text(must, style="dim"),
        )
    console.print(table)
    console.print(Text(f"\nbearwell reckon {reckoner.name} {reckoner.example}"))


def print_reckoning(done: Reckoning, words: Words) -> None:
    """Results, then reasons."""
    console = console_of()
    table = Table.grid(padding=(0, 2))
    for key, value in done.results.items():
        if isinstance(value, list) and (not value or isinstance(value[0], Mapping)):
            continue
        table.add_row(Text(key, style="bold"), Text("–" if value is None else _cell(value)))
    console.print(table)
    for key, value in done.results.items():
        if isinstance(value, list) and value and isinstance(value[0], Mapping):
            rows = Table(box=None, title=key, padding=(0, 1), title_justify="left")
            for name in value[0]:
                rows.add_column(name, justify="right")
            for row in value:
                rows.add_row(*[Text(_cell(cell)) for cell in row.values()])
            console.print(rows)
    for link in done.because:
        console.print(Text("– " + _because(link, words), style="dim"))
    for caution in done.cautions:
        console.print(Text("! " + say(caution), style="yellow"))


def _cell(value: object) -> str:
    """A result as programs read it; its words are said."""
    if isinstance(value, list):
        return ", ".join(map(_cell, value))
    return say(value) if isinstance(value, str) else str(value)


def print_problems(garden: str, problems: Sequence[Problem]) -> None:
    """Every problem on its own line, as file:line: severity: message (hint)."""
    console = console_of()
    for problem in problems:
        style = {"error": "red", "warning": "yellow", "note": "dim"}[problem.severity]
        console.print(Text(problem_line(problem), style=style), soft_wrap=True)
    errors = sum(problem.severity == "error" for problem in problems)
    if not problems:
        told = _("{garden}: no problems", garden=garden)
        console.print(Text(told), soft_wrap=True)
    elif not errors:
        told = _n(
            "{garden}: usable, with {number} remark",
            "{garden}: usable, with {number} remarks",
            len(problems),
            garden=garden,
        )
        console.print(Text(told), soft_wrap=True)
