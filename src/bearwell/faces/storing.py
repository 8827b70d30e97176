"""Commands that move a garden between files, the store and backups."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from bearwell.errors import Problem
from bearwell.faces.clock import today_at
from bearwell.faces.language import _, _n
from bearwell.faces.options import data_option, stamped, store_of, today_option
from bearwell.faces.problems import problem_line


def tell(problems: tuple[Problem, ...]) -> None:
    """What is doubtful, on stderr, where it does not disturb what is printed."""
    for problem in problems:
        if problem.severity != "note":
            click.echo(problem_line(problem), err=True)


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@click.option(
    "--update", is_flag=True, help="Record what has changed in the file since it was last taken in."
)
@today_option
def import_(file: Path, data: str | None, update: bool, today: date | None) -> None:
    """Take a garden file into the store, or a daily weather file into its weather.

    FILE ends in .toml for a garden: its weather files and own kinds come along. A file with an error is
    refused and the store stays as it is. Comments in the file are not kept.
    """
    from bearwell import api

    if file.suffix.lower() != ".toml":
        with store_of(data) as store:
            day = today or today_at(store)
            done = api.import_weather(store, stamped(store), day, path=file)
            click.echo(_("kept {file} in {place}", file=file.name, place=store.where))
            tell(done.problems)
        return
    day = today or today_at(file)
    api.open_garden(file, day)  # a bad file is refused before a store is begun for it
    with store_of(data, create=True) as store:
        done = api.import_garden(store, stamped(store), day, path=file, update=update)
        click.echo(_("took {file} into {place}", file=file, place=store.where))
        tell(done.problems)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@data_option
def export(folder: Path, data: str | None) -> None:
    """Write everything into a new FOLDER: garden file, weather, kinds, photos, all records.

    Nothing is written over. The folder appears whole or not at all.
    """
    from bearwell import api

    with store_of(data) as store:
        written = api.export_garden(store, folder)
    for name in written.files:
        click.echo(str(written.folder / name))


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
def backup(file: Path, data: str | None) -> None:
    """Write everything the store holds into one FILE, undone records and photos too."""
    from bearwell import api

    with store_of(data) as store:
        done = api.back_up(store, file)
    click.echo(f"{done.file}: {_counted(done.entries, done.files)}")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@click.option(
    "--replace",
    is_flag=True,
    help="Put it in place of what the store holds, which is backed up first.",
)
def restore(file: Path, data: str | None, replace: bool) -> None:
    """Bring a backup FILE back into a new or empty store."""
    from bearwell import api

    done = api.restore(file, data or str(api.user_folder()), replace=replace)
    click.echo(_("restored {counted}", counted=_counted(done.entries, done.files)))
    if done.replaced:
        click.echo(_("what was there is in {file}", file=done.replaced))


def _counted(entries: int, files: int) -> str:
    """So many entries and files."""
    told = (
        _n("{number} entry", "{number} entries", entries),
        _n("{number} file", "{number} files", files),
    )
    return ", ".join(told)
