"""The language of the command line: which one is spoken, and its help in that language."""

from __future__ import annotations

import gettext
import os
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import click

from bearwell.faces.language import (
    DOMAIN,
    ENGLISH,
    HERE,
    LANGUAGES,
    N_,
    Nn_,
    _,
    known,
    named,
    spoken,
)

NAME = "--language"
VARIABLE = "BEARWELL_LANGUAGE"
# Where the system says it, first to last, as gettext looks.
LOCALE = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")

# What click itself says, so that these stand in the catalogues too.
_CLICK = (
    N_("Usage:"), N_("Options"), N_("Commands"), N_("[OPTIONS]"), N_("COMMAND [ARGS]..."),
    N_("Show this message and exit."), N_("Show the version and exit."), N_("%(prog)s, version %(version)s"),
    N_("default: {default}"), N_("required"), N_("No such option {name!r}."), N_("No such command {name!r}."),
    N_("Missing command."), N_("Missing argument"), N_("Missing option"), N_("Missing parameter"),
    N_("Invalid value: {message}"), N_("Invalid value for {param_hint}: {message}"),
    N_("{value!r} is not a valid {number_type}."), N_("{value} is not in the range {range}."),
    N_("Option {name!r} does not take a value."), N_("{name} {filename!r} does not exist."),
    N_("{name} {filename!r} is a directory."), N_("{name} {filename!r} is a file."), N_("Choose from:\n\t{choices}"),
    N_("integer"), N_("integer range"), N_("text"), N_("path"), N_("file"), N_("directory"),
    Nn_("Got unexpected extra argument ({args})", "Got unexpected extra arguments ({args})"),
    Nn_("Did you mean {possibility}?", "(Did you mean one of: {possibilities}?)"),
    Nn_("Option {name!r} requires an argument.", "Option {name!r} requires {nargs} arguments."),
    Nn_("{value!r} is not {choice}.", "{value!r} is not one of {choices}."),
)  # fmt: skip


def language_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """--language, read before anything else by :func:`speak`."""
    return click.option(
        NAME,
        metavar="|".join(LANGUAGES),
        expose_value=False,
        help="The language to answer in; else that of BEARWELL_LANGUAGE or of the system.",
    )(command)


def speak(group: click.Group, arguments: Sequence[str]) -> None:
    """Speak the language that was asked for in this command; raises BadInput for one we do not speak.

    JSON is for programs: the language of the system alone does not change it.
    """
    language = _asked(arguments) or _of_system(arguments) or ENGLISH
    spoken.set(language)
    if language == ENGLISH:
        return
    # click says its own words through gettext, which looks for the language in the environment.
    os.environ["LANGUAGE"] = language
    gettext.bindtextdomain(DOMAIN, str(HERE))
    gettext.textdomain(DOMAIN)
    for command in _all(group):
        if command.help:
            command.help = "\n\n".join(_(paragraph) for paragraph in paragraphs(command.help))
        command.options_metavar = _(command.options_metavar or "")
        if isinstance(command, click.Group):
            command.subcommand_metavar = _(command.subcommand_metavar)
        for parameter in command.params:
            parameter.type.name = _(parameter.type.name)
            if isinstance(parameter, click.Option) and parameter.help:
                parameter.help = _(parameter.help)


def paragraphs(text: str) -> list[str]:
    """Help as it flows, its paragraphs in one line each: so they stand in the catalogues."""
    return [" ".join(part.split()) for part in text.split("\n\n") if part.strip()]


def _asked(arguments: Sequence[str]) -> str | None:
    words = [str(one) for one in arguments]
    for at, word in enumerate(words):
        if word == "--":
            break
        if word == NAME and at + 1 < len(words):
            return named(words[at + 1])
        if word.startswith(f"{NAME}="):
            return named(word.partition("=")[2])
        if not word.startswith("-"):
            break
    variable = os.environ.get(VARIABLE)
    return named(variable) if variable else None


def _of_system(arguments: Sequence[str]) -> str | None:
    if "--json" in arguments:
        return None
    for name in LOCALE:
        if value := os.environ.get(name):
            return known(value.split(":")[0])
    return None


def _all(group: click.Group) -> Iterator[click.Command]:
    yield group
    for command in group.commands.values():
        if isinstance(command, click.Group):
            yield from _all(command)
        else:
            yield command
