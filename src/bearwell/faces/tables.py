"""Tables for the terminal: readable in 80 columns, plain when piped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from bearwell.api import LoadedGarden, Reckoner, Reckoning, TreeYear
from bearwell.errors import Problem
from bearwell.faces.words import CONFIDENCE_WORDS, JOB_WORDS, SECTION_WORDS, Words
from bearwell.plan.advice import Advice
from bearwell.plan.worklist import Worklist, minutes_of
from bearwell.reasons import Because

DOUBTFUL = ("memory", "judgement")


def _console() -> Console:
    console = Console(highlight=False, soft_wrap=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=80)
    return console


def grouped(advice: Sequence[Advice], words: Words) -> list[tuple[Advice, list[str]]]:
    """Advice that says the same for several trees, once, with the trees it holds for."""
    groups: dict[tuple[str, str], tuple[Advice, list[str]]] = {}
    for one in advice:
        key = (one.kind, words.phrase(one.headline))
        if key in groups:
            groups[key][1].append(one.tree)
        else:
            groups[key] = (one, [one.tree])
    return list(groups.values())


def print_worklist(
    opened: LoadedGarden, listed: Worklist, words: Words, *, why: bool = False
) -> None:
    """The worklist, section by section."""
    console = _console()
    console.print(Text(f"{listed.garden}: {words.span(listed.today, listed.last)}", style="bold"))
    jobs = [
        one for one in listed.standing("due", "coming") if one.kind not in ("inspect", "measure")
    ]
    minutes = round(minutes_of(jobs))
    console.print(f"about {_hours(minutes)} of work; * marks what rests on memory or judgement\n")
    if not listed.advice:
        console.print("Nothing to do.\n")
    for key, advice in listed.sections().items():
        console.print(Text(SECTION_WORDS[key][0], style="bold underline"))
        if key == "round":
            _print_looks(console, advice, words)
        else:
            for one in advice:
                _print_advice(console, one, words, why=why)
        console.print()
    _print_notices(console, listed.problems, opened.path)


def _hours(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


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
    table.add_row(Text(JOB_WORDS[one.kind], style="dim"), Text(shown) if shown else Text(window))
    if shown:
        table.add_row("", Text(window, style="dim"))
    for remark in one.remarks:
        table.add_row("", Text("! " + words.phrase(remark), style="yellow"))
    if why:
        for link in one.because:
            table.add_row("", Text("– " + _because(link, words), style="dim"))
    console.print(table)


def _because(link: Because, words: Words) -> str:
    origin = f" [{link.source}" + (f", {link.locator}" if link.locator else "") + "]"
    sure = f" ({CONFIDENCE_WORDS[link.confidence]})" if link.confidence in DOUBTFUL else ""
    return words.because(link) + ("" if link.source == "computed" else origin) + sure


def _print_looks(console: Console, advice: Sequence[Advice], words: Words) -> None:
    table = Table.grid(padding=(0, 1))
    table.add_column(width=17, overflow="fold")
    table.add_column(width=60, overflow="fold")
    for one, trees in grouped(advice, words):
        who = "every tree" if len(trees) > 8 else ", ".join(trees)
        table.add_row(
            Text(f"by {words.short_day(one.window.latest)}", style="dim"),
            Text(words.phrase(one.headline)),
        )
        table.add_row("", Text(who, style="dim"))
    console.print(table)


def _print_notices(console: Console, problems: Sequence[Problem], path: Path) -> None:
    told = [problem for problem in problems if problem.severity != "note"]
    if told:
        console.print(Text("To put right", style="bold underline"))
        for problem in told[:6]:
            console.print(Text("  " + _problem(problem)))
    hidden = len(problems) - len(told[:6])
    if hidden > 0:
        console.print(f"{hidden} more notes: bearwell check {escape(str(path))}")


def _problem(problem: Problem) -> str:
    place = f"line {problem.line}: " if problem.line else ""
    return f"{place}{problem.message}" + (f" ({problem.hint})" if problem.hint else "")


def print_years(opened: LoadedGarden, found: Sequence[TreeYear], words: Words) -> None:
    """The stages of each tree from a month back to a year ahead."""
    console = _console()
    first, last = opened.today - timedelta(days=31), opened.today + timedelta(days=400)
    for year in found:
        console.print(
            Text(f"{year.tree.called}", style="bold"),
            Text(f"{year.kind}, {year.habit}", style="dim"),
        )
        table = Table(box=None, padding=(0, 1), show_header=True, header_style="dim")
        table.add_column("stage", width=18)
        table.add_column("about", width=13)
        table.add_column("8 years in 10", width=17)
        table.add_column("rests on", width=26, overflow="fold")
        for stage in year.stages:
            if not first <= stage.date <= last:
                continue
            name = stage.event if stage.wave == 1 else f"{stage.event} ({stage.wave})"
            span = (
                "seen"
                if stage.seen
                else f"{words.short_day(stage.low)} – {words.short_day(stage.high)}"
            )
            table.add_row(
                name, f"{words.short_day(stage.date)} {stage.date.year}", span, stage.basis
            )
        console.print(table)
        console.print()


def print_reckoners(known: Mapping[str, Reckoner]) -> None:
    """What can be reckoned."""
    console = _console()
    table = Table.grid(padding=(0, 2))
    for reckoner in known.values():
        table.add_row(Text(reckoner.name, style="bold"), reckoner.summary)
    console.print(table)
    console.print("\nbearwell reckon NAME --help shows the options of one.")


def print_reckoner(reckoner: Reckoner) -> None:
    """The options of one reckoner."""
    console = _console()
    console.print(Text(reckoner.name, style="bold"), reckoner.summary)
    table = Table.grid(padding=(0, 2))
    for option in reckoner.options:
        must = "" if option.required else "optional"
        table.add_row(
            Text(f"--{option.name}", style="bold"),
            Text(option.unit, style="dim"),
            option.help,
            Text(must, style="dim"),
        )
    console.print(table)
    console.print(Text(f"\nbearwell reckon {reckoner.name} {reckoner.example}"))


def print_reckoning(done: Reckoning, words: Words) -> None:
    """Results, then reasons."""
    console = _console()
    table = Table.grid(padding=(0, 2))
    for key, value in done.results.items():
        if isinstance(value, list):
            continue
        table.add_row(Text(key, style="bold"), "–" if value is None else str(value))
    console.print(table)
    for key, value in done.results.items():
        if isinstance(value, list) and value:
            rows = Table(box=None, title=key, padding=(0, 1), title_justify="left")
            for name in value[0]:
                rows.add_column(name, justify="right")
            for row in value:
                rows.add_row(*[str(cell) for cell in row.values()])
            console.print(rows)
    for link in done.because:
        console.print(Text("– " + _because(link, words), style="dim"))
    for caution in done.cautions:
        console.print(Text("! " + caution, style="yellow"))


def print_problems(garden: Path, problems: Sequence[Problem]) -> None:
    """Every problem on its own line, as file:line: severity: message (hint)."""
    console = _console()
    for problem in problems:
        style = {"error": "red", "warning": "yellow", "note": "dim"}[problem.severity]
        console.print(Text(str(problem), style=style), soft_wrap=True)
    errors = sum(problem.severity == "error" for problem in problems)
    if not problems:
        console.print(f"{garden}: no problems")
    elif not errors:
        console.print(f"{garden}: usable, with {len(problems)} remarks")
