"""The command that looks back on a season, and its tables."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bearwell.faces.clock import today_at
from bearwell.faces.options import (
    WEATHER_HELP,
    Day,
    garden_options,
    json_option,
    place_of,
    today_option,
)

if TYPE_CHECKING:
    from rich.console import Console

    from bearwell.api import GardenSeason, TreeSeason
    from bearwell.faces.words import Words


@click.command()
@garden_options
@click.option("--tree", default=None, help="Only this tree.")
@click.option(
    "--since", type=Day(), default=None, help="The first day; else a year before the last."
)
@click.option("--until", type=Day(), default=None, help="The last day; else today.")
@click.option("--why", is_flag=True, help="Show the reasons under each proposal.")
@today_option
@click.option("--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP)
@json_option
def season(
    garden: str | None,
    data: str | None,
    tree: str | None,
    since: date | None,
    until: date | None,
    why: bool,
    today: date | None,
    weather: Sequence[Path],
    as_json: bool,
) -> None:
    """Look back on a season: what was advised, done and picked, and what to change.

    The plan is asked again as it would have spoken then; where nothing is written down, nothing is taken for
    undone. With --tree every advice of that tree is listed with what was recorded of it.
    """
    from bearwell import api
    from bearwell.faces import season as shown
    from bearwell.faces import twins

    with place_of(garden, data) as place:
        opened = api.open_garden(place, today or today_at(place), weather)
    found, words = api.look_back(opened, since, until, tree), twins.words_of(opened)
    if as_json:
        click.echo(twins.written(shown.season_twin(found, words), indent=2))
    else:
        print_season(found, words, whole=tree is not None, why=why)


def print_season(found: GardenSeason, words: Words, *, whole: bool, why: bool) -> None:
    """A season as tables; ``whole`` lists every advice."""
    from rich.text import Text

    from bearwell.faces.language import _
    from bearwell.faces.tables import console_of

    console = console_of()
    head = _(
        "{garden}: {span} looked back on",
        garden=found.garden,
        span=words.span(found.since, found.until),
    )
    console.print(Text(head, style="bold") + "\n")
    if not found.trees:
        console.print(_("There is no tree to look back on in these days."))
        return
    _print_counts(console, found)
    if whole:
        for one in found.trees:
            _print_lines(console, one, words)
    _print_changes(console, found, words, why=why)


def _print_counts(console: Console, found: GardenSeason) -> None:
    from rich.table import Table

    from bearwell.faces.language import _
    from bearwell.faces.season import VERDICT_WORDS, job_counts
    from bearwell.faces.words import JOB_WORDS

    counts = job_counts(found.trees)
    if not counts:
        console.print(_("Nothing was advised in these days.") + "\n")
        return
    table = Table.grid(padding=(0, 1))
    table.add_column(width=10)
    table.add_column(width=67, overflow="fold")
    for count in counts:
        parts = [
            f"{count.of(verdict)} {_(word)}"
            for verdict, word in VERDICT_WORDS.items()
            if count.of(verdict)
        ]
        table.add_row(_(JOB_WORDS[count.job]), ", ".join(parts))
    console.print(table)
    console.print()


def _print_lines(console: Console, one: TreeSeason, words: Words) -> None:
    from rich.table import Table
    from rich.text import Text

    from bearwell.faces.language import _
    from bearwell.faces.season import VERDICT_WORDS, act_words, crop_words, told

    console.print(Text(one.tree.called, style="bold underline"))
    table = Table.grid(padding=(0, 1))
    table.add_column(width=17, overflow="fold")
    table.add_column(width=60, overflow="fold")
    for line in one.lines:
        window = line.advice.window
        table.add_row(
            Text(words.span(window.earliest, window.latest), style="dim"),
            Text(words.phrase(line.advice.headline), style="bold"),
        )
        said = [_(VERDICT_WORDS[line.verdict]), *told(line, words)]
        table.add_row("", Text("; ".join(said)))
    for act in one.unasked:
        table.add_row(
            Text(words.day(act.day), style="dim"),
            Text(_("{record} (without advice)", record=act_words(act, words))),
        )
    for crop in one.crops:
        table.add_row(Text(str(crop.year), style="dim"), Text(" ".join(crop_words(crop, words))))
    console.print(table)
    console.print()


def _print_changes(console: Console, found: GardenSeason, words: Words, *, why: bool) -> None:
    from rich.padding import Padding
    from rich.text import Text

    from bearwell.faces.language import _
    from bearwell.faces.season import CHANGE_WORDS, change_groups

    console.print(Text(_("What to change"), style="bold underline"))
    groups = change_groups(found)
    if not groups:
        console.print(_("Nothing that the records speak for."))
    for group in groups:
        console.print(Text(_(CHANGE_WORDS[group.key]), style="bold"))
        once = group.proposal
        if once is not None:
            console.print(Padding(Text(words.phrase(once.proposal)), (0, 0, 0, 2)))
        for tree, change in group.members:
            who = f"{tree.id}: " if tree is not None else ""
            console.print(Padding(Text(who + words.phrase(change.headline)), (0, 0, 0, 2)))
            if once is None:
                console.print(
                    Padding(Text(words.phrase(change.proposal), style="dim"), (0, 0, 0, 4))
                )
            for link in change.because if why else ():
                console.print(Padding(Text("– " + words.because(link), style="dim"), (0, 0, 0, 4)))
