"""Commands for the wall and the pocket: the calendar, and sheets as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import click

from bearwell.errors import BadInput
from bearwell.faces.clock import now_here, today_at
from bearwell.faces.language import spoken
from bearwell.faces.options import (
    DATA_HELP,
    WEATHER_HELP,
    garden_options,
    json_option,
    place_of,
    today_option,
    where_of,
)
from bearwell.said import said

SHEETS = ("week", "feeding", "pruning", "season", "poster", "tags")
_WEATHER = click.option(
    "--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP
)


@click.command()
@garden_options
@click.option("--tree", default=None, help="Only this tree.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write it here in place of the screen. A calendar of this garden that is there already is "
    "brought up to date: what did not change keeps its stamps.",
)
@click.option("--base-url", default="", help="Where the pages are served, for links to them.")
@today_option
@_WEATHER
@json_option
def calendar(
    garden: str | None,
    data: str | None,
    tree: str | None,
    out: Path | None,
    base_url: str,
    today: date | None,
    weather: Sequence[Path],
    as_json: bool,
) -> None:
    """The work of the coming year as an iCalendar file, one event a job."""
    from bearwell import api
    from bearwell.faces import addresses, calendar, twins

    with place_of(garden, data) as place:
        opened = api.open_garden(place, today or today_at(place), weather)
    base = addresses.base_address(base_url)
    if as_json:
        click.echo(twins.written(calendar.calendar_twin(opened, tree, base), indent=2))
        return
    before = addresses.earlier_calendar(out)
    text = calendar.calendar_text(opened, now_here(), tree=tree, base=base, before=before)
    if out is None:
        click.echo(text.encode("utf-8"), nl=False)
    else:
        addresses.put_text(out, text)
        click.echo(str(out))


@click.command("print")
@click.argument("garden", required=False)
@click.argument("sheet", required=False)
@click.option("--data", metavar="DIR|URL", default=None, help=DATA_HELP)
@click.option(
    "--pdf",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="The PDF to write.",
)
@click.option(
    "--days",
    type=click.IntRange(1, 366),
    default=None,
    help="Days on a sheet: week 7, feeding 21, pruning 42.",
)
@click.option(
    "--paper",
    type=click.Choice(("a3", "a4")),
    default="a3",
    show_default=True,
    help="Of the poster.",
)
@click.option(
    "--size",
    type=click.Choice(("small", "large")),
    default="small",
    show_default=True,
    help="Of the tags: small is 70 x 37 mm, large 105 x 74 mm.",
)
@click.option(
    "--skip", type=click.IntRange(0, 23), default=0, help="Labels already used of a sheet of tags."
)
@click.option(
    "--base-url",
    default="",
    help="Where the pages are served: what the codes on tags lead to. Tags need it.",
)
@today_option
@_WEATHER
@json_option
def print_(
    garden: str | None,
    sheet: str | None,
    data: str | None,
    pdf: Path,
    as_json: bool,
    **chosen: Any,
) -> None:
    """Print a sheet to PDF with the system's Chromium: week, feeding, pruning, season, poster or tags.

    With --data in place of GARDEN only the SHEET is named. BEARWELL_CHROMIUM names another browser of
    its kind. Nothing but the page is reached.
    """
    from bearwell import api
    from bearwell.faces import addresses, printing, twins

    if sheet is None:
        garden, sheet = None, garden
    if sheet not in SHEETS:
        what = said("there is no sheet '{name}'", name=sheet) if sheet else "no sheet was named"
        raise BadInput(what, said("one of: {names}", names=", ".join(SHEETS)))
    program, weather = printing.browser(), tuple(chosen["weather"])
    page = f"{addresses.sheet_place(sheet, chosen)}&language={spoken.get()}"
    with place_of(garden, data) as place:
        today = chosen["today"] or today_at(place)
        api.open_garden(place, today, weather)  # one that cannot be read is told first
    with printing.served(where_of(garden, data) or "", today, weather) as address:
        printing.print_page(program, address + page, pdf)
    told = {"sheet": sheet, "pdf": str(pdf), "bytes": pdf.stat().st_size}
    click.echo(twins.written(told, indent=2) if as_json else str(pdf))
