"""The command line: each command parses, asks the api once, and prints a table or JSON."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import click

from bearwell import __version__
from bearwell.errors import BadInput, BearwellError
from bearwell.faces.clock import today_at
from bearwell.faces.door_commands import calendar_key, passphrase
from bearwell.faces.language import _, say
from bearwell.faces.options import (
    WEATHER_HELP,
    garden_options,
    json_option,
    name_of,
    place_of,
    today_option,
    where_of,
)
from bearwell.faces.paper_commands import calendar, print_
from bearwell.faces.recording import history, record
from bearwell.faces.season_command import season
from bearwell.faces.speaking import language_option, speak
from bearwell.faces.storing import backup, export, import_, restore
from bearwell.said import said

DEMO = Path("demo-garden", "tern-steps.toml")


class Plainly(click.Group):
    """A group whose refusals are one line on stderr: exit 2 for bad input, 1 for failure."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run a command and turn every refusal into one line."""
        kwargs["standalone_mode"] = False
        try:
            asked = kwargs.get("args") or (args[0] if args else None) or sys.argv[1:]
            speak(self, asked)
            return super().main(*args, **kwargs)
        except click.exceptions.Exit as done:
            sys.exit(done.exit_code)
        except click.Abort:
            sys.exit(130)
        except click.ClickException as error:
            _refuse(error.format_message().rstrip("."), _("see bearwell --help"), 2)
        except BearwellError as error:
            _refuse(say(error.message), say(error.hint), error.exit_code)
        except BrokenPipeError:
            sys.stderr.close()
            sys.exit(0)


def _refuse(message: str, hint: str, code: int) -> None:
    click.echo(f"bearwell: {message}" + (f" ({hint})" if hint else ""), err=True)
    sys.exit(code)


def _print_json(data: Any) -> None:
    from bearwell.faces.twins import written

    click.echo(written(data, indent=2))


@click.group(
    cls=Plainly, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80}
)
@click.version_option(__version__, prog_name="bearwell")
@language_option
def cli() -> None:
    """What to do for each fruit tree, each week: how much, by when, and why."""


@cli.command()
@garden_options
@today_option
@click.option("--days", default=14, show_default=True, help="How many days ahead.")
@click.option("--tree", default=None, help="Only this tree.")
@click.option("--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP)
@click.option("--why", is_flag=True, help="Show the reasons under each advice.")
@json_option
def worklist(
    garden: str | None,
    data: str | None,
    today: date | None,
    days: int,
    tree: str | None,
    weather: Sequence[Path],
    why: bool,
    as_json: bool,
) -> None:
    """What to do in the coming days, most pressing first."""
    from bearwell import api
    from bearwell.faces import twins

    with place_of(garden, data) as place:
        opened = api.open_garden(place, today or today_at(place), weather)
    listed = api.worklist(opened, days, tree)
    words = twins.words_of(opened)
    if as_json:
        _print_json(twins.worklist_twin(listed, words))
        return
    from bearwell.faces import tables

    tables.print_worklist(opened, listed, words, why=why)


@cli.command()
@garden_options
@click.option("--tree", default=None, help="Only this tree.")
@today_option
@click.option("--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP)
@json_option
def year(
    garden: str | None,
    data: str | None,
    tree: str | None,
    today: date | None,
    weather: Sequence[Path],
    as_json: bool,
) -> None:
    """The cycle of each tree: its stages with dates, ranges and what they rest on."""
    from bearwell import api
    from bearwell.faces import tables, twins

    with place_of(garden, data) as place:
        opened = api.open_garden(place, today or today_at(place), weather)
    found = api.years(opened, tree)
    words = twins.words_of(opened)
    if as_json:
        _print_json([twins.year_twin(one, words) for one in found])
    else:
        tables.print_years(opened, found, words)


@cli.command(
    context_settings={
        "ignore_unknown_options": True,
        "allow_extra_args": True,
        "allow_interspersed_args": False,
    }
)
@click.argument("name", required=False)
@click.pass_context
def reckon(ctx: click.Context, name: str | None) -> None:
    """One calculation, no garden needed. Without a NAME, lists them all.

    NAME --help shows its options; values carry units ("0.5 lb", "3 m"), a bare number is taken in the
    unit shown.
    """
    from bearwell import api
    from bearwell.faces import tables, twins
    from bearwell.faces.words import Words

    if name is None:
        tables.print_reckoners(api.reckoners())
        return
    typed, as_json, wants_help = _pairs(ctx.args)
    if wants_help:
        tables.print_reckoner(api.find_reckoner(name))
        return
    done = api.run_reckoner(name, typed)
    if as_json:
        _print_json(twins.reckoning_twin(done, Words()))
    else:
        tables.print_reckoning(done, Words())


def _pairs(arguments: Sequence[str]) -> tuple[dict[str, list[str]], bool, bool]:
    """Typed options of a reckoner as lists by name; --json and --help apart."""
    typed: dict[str, list[str]] = {}
    as_json = wants_help = False
    rest = list(arguments)
    while rest:
        word = rest.pop(0)
        if word == "--json":
            as_json = True
        elif word in ("--help", "-h"):
            wants_help = True
        elif word.startswith("--"):
            name, equals, value = word[2:].partition("=")
            if not equals:
                if not rest:
                    raise BadInput(said("--{name} has no value", name=name), f"--{name} VALUE")
                value = rest.pop(0)
            typed.setdefault(name, []).append(value)
        else:
            raise BadInput(said("'{word}' is not an option", word=word), "options start with --")
    return typed, as_json, wants_help


@cli.command()
@garden_options
@today_option
@click.option("--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP)
@json_option
def check(
    garden: str | None,
    data: str | None,
    today: date | None,
    weather: Sequence[Path],
    as_json: bool,
) -> None:
    """All problems of a garden file and its weather, line by line."""
    from bearwell import api
    from bearwell.faces import tables, twins

    with place_of(garden, data) as place:
        problems = api.check_garden(place, today or today_at(place), weather)
        named = name_of(place)
    if as_json:
        _print_json(
            {
                "garden": named,
                "problems": [twins.problem_twin(problem) for problem in problems],
            }
        )
    else:
        tables.print_problems(named, problems)
    if any(problem.severity == "error" for problem in problems):
        sys.exit(2)


@cli.command()
@garden_options
@click.option("--fetch", is_flag=True, help="Ask the services the garden file names, and keep it.")
@click.option("--offline", is_flag=True, help="Only what is kept: ask nothing of the network.")
@click.option(
    "--weather", "more", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP
)
@today_option
@json_option
def weather(
    garden: str | None,
    data: str | None,
    fetch: bool,
    offline: bool,
    more: Sequence[Path],
    today: date | None,
    as_json: bool,
) -> None:
    """The weather record: its days, gaps and flags, how each file was read, whose data they are.

    Nothing is asked of the network without --fetch. What a service answers is kept beside the garden
    file, in online-weather/, and serves from there.
    """
    from bearwell import api
    from bearwell.faces import twins_weather
    from bearwell.faces.clock import now_here, wait
    from bearwell.faces.twins import words_of
    from bearwell.faces.weather import print_weather

    if fetch and offline:
        raise BadInput("--fetch and --offline go against each other", "give one of them")
    with place_of(garden, data) as place:
        day = today or today_at(place)
        fetched = api.fetch_weather(place, day, now=now_here(), sleep=wait) if fetch else None
        opened = api.open_garden(place, day, more)
    record = api.weather_record(opened)
    if as_json:
        _print_json(twins_weather.weather_twin(opened, record, words_of(opened), fetched))
    else:
        print_weather(opened, record, words_of(opened), fetched, offline=offline)
    if fetched is not None and fetched.failed:
        sys.exit(1)


@cli.command()
@garden_options
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option(
    "--port",
    default=8321,
    show_default=True,
    type=click.IntRange(0, 65535),
    help="Port to listen on.",
)
@click.option("--read-only", is_flag=True, help="Never write anything.")
@click.option("--weather", multiple=True, type=click.Path(path_type=Path), help=WEATHER_HELP)
@click.option(
    "--name",
    "names",
    multiple=True,
    help="Another name it answers to, such as that of a proxy before it; needs a passphrase.",
)
@click.option("--cert", type=click.Path(path_type=Path), help="Certificate for TLS, in PEM form.")
@click.option("--key", type=click.Path(path_type=Path), help="Key of the certificate.")
def serve(
    garden: str | None,
    data: str | None,
    host: str,
    port: int,
    read_only: bool,
    weather: Sequence[Path],
    names: Sequence[str],
    cert: Path | None,
    key: Path | None,
) -> None:
    """The web page, on this machine only unless another address is named.

    Without a GARDEN and --data it serves your own store, or the demo garden where you have none. An empty
    folder as --data opens a page on which to begin a garden. Any other address needs a passphrase first: see
    the command passphrase.
    """
    from bearwell import api
    from bearwell.faces.web.app import serve as serve_web

    gc.enable()  # a server stays
    place = where_of(garden, data, begin=not read_only)
    if place is None:
        place = DEMO if read_only else api.write_demo(DEMO.parent, today_at(None))
    serve_web(
        place,
        host=host,
        port=port,
        weather=weather,
        read_only=read_only,
        names=names,
        cert=cert,
        key=key,
    )


@cli.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@today_option
def demo(folder: Path, today: date | None) -> None:
    """Write the invented demo garden into a folder, with records up to today."""
    from bearwell import api

    click.echo(str(api.write_demo(folder, today or today_at(None))))


for command in (
    import_, export, backup, restore, record, history, passphrase, calendar_key, calendar, print_, season,
):  # fmt: skip
    cli.add_command(command)


def main() -> None:
    """The command `bearwell`."""
    # A command reads, prints and ends: what it makes is gone with it, so nothing needs collecting meanwhile.
    gc.disable()
    # Our arrays are small: numpy's threads cost more time to start than they ever save here.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    cli()


if __name__ == "__main__":
    main()
