"""A form for each reckoner and its answer. Files come from the garden or are pasted, never named freely."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from bearwell.api import LoadedGarden, Option, Reckoner, Reckoning, reckon
from bearwell.errors import BadInput
from bearwell.faces.language import _, say
from bearwell.faces.web.pages.reckoned import SIGNS, SUFFIXES, TITLES, UNITS
from bearwell.faces.web.render import capital
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, units
from bearwell.said import Said, said

Given = Mapping[str, Sequence[str]]
PASTED = "pasted-"


def title(name: str) -> str:
    """The name of a reckoner as a heading."""
    return _(TITLES[name]) if name in TITLES else capital(name.replace("-", " "))


@dataclass(frozen=True)
class Field:
    """One field of a form: the option, what was typed into it and what was wrong with it."""

    option: Option
    values: tuple[str, ...]
    unit: str
    shape: str
    example: str = ""
    complaint: str = ""
    pasted: str = ""


@dataclass(frozen=True)
class Outcome:
    """A form with, once it was sent, its answer or what kept it from being answered."""

    fields: tuple[Field, ...]
    done: Reckoning | None = None
    complaint: str = ""
    hint: str = ""

    @property
    def failed(self) -> bool:
        """Whether something was sent that could not be reckoned."""
        return bool(self.complaint)


def files_of(opened: LoadedGarden | None) -> dict[str, Path]:
    """The weather files of the garden by name: the only files a form may choose."""
    if opened is None:
        return {}
    return dict(opened.weather_files)


def answer(reckoner: Reckoner, typed: Given, files: Mapping[str, Path]) -> Outcome:
    """Reckon what was typed; a form that was not filled in comes back as it is."""
    given = {key: [text.strip() for text in texts if text.strip()] for key, texts in typed.items()}
    given = {key: texts for key, texts in given.items() if texts}
    fields = tuple(_field(option, reckoner, given) for option in reckoner.options)
    if not given:
        return Outcome(fields)
    try:
        done = compute(reckoner, given, files)
    except BadInput as error:
        return _complained(fields, error)
    return Outcome(fields, done)


def compute(reckoner: Reckoner, given: Given, files: Mapping[str, Path]) -> Reckoning:
    """The reckoning of what was given by option name; raises BadInput in the words of the form."""
    options = {option.name: option for option in reckoner.options}
    for key in given:
        option = options.get(key.removeprefix(PASTED))
        if option is None or (key not in options and option.unit != "file"):
            raise BadInput(
                said("{reckoner} takes no '{name}'", reckoner=reckoner.name, name=key),
                said("it takes {names}", names=", ".join(options)),
            )
    with _on_disk(given, options) as pasted:
        texts: dict[str, str | list[str]] = {}
        told: dict[str, str] = {
            str(path): said("the pasted {name}", name=name) for name, path in pasted.items()
        }
        for name, values in given.items():
            if name not in options:
                continue
            option = options[name]
            if option.unit == "file":
                if values[0] not in files:
                    raise BadInput(
                        said("--{name}: '{file}' is not a file of this garden", name=name, file=values[0]),
                        said("choose one of {files}", files=", ".join(files)) if files else "paste its text",
                    )  # fmt: skip
                told[str(files[values[0]])] = values[0]
                values = [str(files[values[0]])]
            texts[option.key] = list(values)
        texts |= {options[name].key: [str(path)] for name, path in pasted.items()}
        try:
            done = reckon(reckoner.name, **texts)
        except BadInput as error:
            raise BadInput(_renamed(error.message, told), _renamed(error.hint, told)) from None
    inputs = {
        key: _renamed(value, told) if isinstance(value, str) else value
        for key, value in done.inputs.items()
    }
    return replace(done, inputs=inputs)


@contextmanager
def _on_disk(given: Given, options: Mapping[str, Option]) -> Iterator[dict[str, Path]]:
    """Pasted texts as files for as long as it takes to read them."""
    pasted = {
        key.removeprefix(PASTED): values[0] for key, values in given.items() if key not in options
    }
    if not pasted:
        yield {}
        return
    with TemporaryDirectory(prefix="bearwell-") as folder:
        written = {}
        for name, text in pasted.items():
            written[name] = Path(folder) / f"{name}.csv"
            written[name].write_text(text.replace("\r\n", "\n"), "utf-8")
        yield written


def _renamed(text: str | Path, told: Mapping[str, str]) -> str:
    """A text with what files are called in place of where they lie."""
    if isinstance(text, Said):
        values = {
            key: _renamed(value, told) if isinstance(value, str | Path) else value
            for key, value in text.values.items()
        }
        return Said(text.text, values)
    plain = str(text)
    for path, name in told.items():
        plain = plain.replace(path, say(name))
    return plain


def _field(option: Option, reckoner: Reckoner, given: Given) -> Field:
    shape = {"date": "date", "file": "file", "kind": "kind"}.get(option.unit, "text")
    values = tuple(given.get(option.name, ()))
    if option.multiple:
        blank = max(3 - len(values), 1) if option.name != "spread" else max(2 - len(values), 0)
        values = (*values, *("" for _ in range(blank)))
    example = ", ".join(example_of(reckoner).get(option.name, ()))
    pasted = next(iter(given.get(PASTED + option.name, ())), "")
    unit = _(UNITS.get(option.unit, option.unit))
    return Field(option, values or ("",), unit, shape, example, pasted=pasted)


def _complained(fields: tuple[Field, ...], error: BadInput) -> Outcome:
    """The complaint beside the field it names, else above the form."""
    named = re.search(r"--([a-z0-9-]+)", error.message)
    if re.fullmatch(r"\S+ needs --\S+", error.message):
        message = _("this is needed")
    else:
        message = re.sub(r"^--[a-z0-9-]+: ", "", say(error.message))
    message, hint = (re.sub(r"--(?=[a-z])", "", text) for text in (message, say(error.hint)))
    full = f"{message} ({hint})" if hint else message
    marked = tuple(
        replace(one, complaint=full) if named and one.option.name == named[1] else one
        for one in fields
    )
    return Outcome(marked, None, message, hint)


def example_of(reckoner: Reckoner) -> dict[str, list[str]]:
    """The example of a reckoner by option."""
    found: dict[str, list[str]] = {}
    words = [part for word in shlex.split(reckoner.example) for part in _halves(word)]
    for name, value in zip(words[::2], words[1::2], strict=False):
        found.setdefault(name.removeprefix("--"), []).append(value)
    return found


def _halves(word: str) -> list[str]:
    return word.split("=", 1) if word.startswith("--") and "=" in word else [word]


@dataclass(frozen=True)
class Line:
    """One line of a result: its name, the figure with its unit, and the same in the garden's units."""

    name: str
    text: str
    also: str = ""


def result_lines(done: Reckoning, words: Words) -> list[Line]:
    """The single figures of a result."""
    return [
        _line(key, value, words)
        for key, value in done.results.items()
        if not (isinstance(value, list | tuple) and value and isinstance(value[0], dict))
    ]


def result_tables(done: Reckoning, words: Words) -> list[tuple[str, list[str], list[list[str]]]]:
    """The lists of rows of a result: name, headings, cells."""
    tables = []
    for key, value in done.results.items():
        if isinstance(value, list | tuple) and value and isinstance(value[0], dict):
            heads = [" ".join(part for part in _name(head) if part) for head in value[0]]
            tables.append(
                (
                    _name(key)[0],
                    heads,
                    [[_plain(cell, words) for cell in row.values()] for row in value],
                )
            )
    return tables


def _line(key: str, value: Any, words: Words) -> Line:
    name, unit = _name(key)
    canonical = next((known for end, (_unit, known) in SUFFIXES.items() if _ends(key, end)), "")
    also = ""
    if words.units == "us" and canonical in units() and isinstance(value, int | float):
        also = words.quantity(Quantity(float(value), canonical))
    text = (
        ", ".join(_plain(one, words) for one in value)
        if isinstance(value, list | tuple)
        else _plain(value, words)
    )
    return Line(name, f"{text} {unit}".strip() if value is not None else _("not known"), also)


def _ends(key: str, end: str) -> bool:
    return key.endswith(end) or (
        f"{end}_" in key and key.rsplit(f"{end}_", maxsplit=1)[-1] in ("low", "high")
    )


def _name(key: str) -> tuple[str, str]:
    """A result's name in words and its unit."""
    if key == "paths_for_10_pct":
        return _("walks for an error of a tenth"), ""
    plain, shown = key, ""
    for end, (unit, _canonical) in SUFFIXES.items():
        if _ends(key, end):
            head, _end, tail = key.rpartition(end)
            plain, shown = head + tail, _(unit)
            break
    name = plain.replace("_", " ").strip()
    return _(SIGNS.get(name, name) if shown or name == "gdh" else name), shown


def _plain(value: Any, words: Words) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, float):
        return words.bare(value)
    if value is None:
        return _("not known")
    return say(value) if isinstance(value, str) else str(value)
