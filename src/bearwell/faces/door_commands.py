"""Commands of the door: setting the passphrase, making and ending calendar keys."""

from __future__ import annotations

import sys

import click

from bearwell.errors import BadInput
from bearwell.faces.language import _

DATA_HELP = "The data folder of the garden, or its garden file."


@click.command()
@click.option("--data", required=True, metavar="DIR", help=DATA_HELP)
def passphrase(data: str) -> None:
    """Set the passphrase that pages ask for; asked twice, or read from a pipe.

    It is kept as a hash that cannot be turned back. Whoever is signed in anywhere has to sign in again.
    """
    from bearwell.faces.door import FILE, folder_of, set_passphrase

    folder = folder_of(data)
    set_passphrase(folder, _asked())
    told = _("kept in {file}; every earlier sign-in has ended", file=folder / FILE)
    click.echo(told)


def _asked() -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    first: str = click.prompt(_("New passphrase"), hide_input=True)
    again: str = click.prompt(_("The same again"), hide_input=True)
    if first != again:
        raise BadInput("the two differ", "nothing was changed; try again")
    return first


@click.command("calendar-key")
@click.option("--data", required=True, metavar="DIR", help=DATA_HELP)
@click.option(
    "--for", "name", default="calendar", show_default=True, help="What it is for: a name of yours."
)
@click.option("--end", default=None, metavar="NAME", help="End the key of this name.")
@click.option("--list", "listed", is_flag=True, help="List the keys by name.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of tables.")
def calendar_key(data: str, name: str, end: str | None, listed: bool, as_json: bool) -> None:
    """Make a key with which a calendar reads the work of this garden, and nothing else.

    It is shown once; only its fingerprint is kept. A key of the same name is replaced.
    """
    from bearwell.faces import door
    from bearwell.faces.addresses import in_language
    from bearwell.faces.clock import today_at
    from bearwell.faces.twins import written

    folder = door.folder_of(data)
    if listed:
        keys = [{"name": one.name, "made": one.made} for one in door.read_lock(folder).keys]
        lines = [_("{name}, made {day}", name=one["name"], day=one["made"]) for one in keys]
        lines = lines or [_("no calendar keys")]
        click.echo(written({"keys": keys}, indent=2) if as_json else "\n".join(lines))
    elif end is not None:
        door.end_key(folder, end)
        ended = _("ended: {name}", name=end)
        click.echo(written({"ended": end}, indent=2) if as_json else ended)
    else:
        key = door.make_key(folder, name, today_at(None))
        path = in_language(f"/calendar.ics?key={key}")
        told = {"name": name, "key": key, "path": path}
        hint = _("add it to the address of your pages; it is not shown again")
        click.echo(written(told, indent=2) if as_json else f"{path}\n{hint}")
