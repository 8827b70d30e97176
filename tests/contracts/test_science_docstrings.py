"""Every public formula says what it takes, in which unit, what it gives and where it is from."""

from __future__ import annotations

import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from typing import Any

import pytest

import bearwell.science
from bearwell import quantities
from bearwell.knowledge import knowledge

SECTIONS = ("Parameters", "Returns", "Raises", "Valid for", "Notes", "References")
WORDS = {"text", "date"}


def public_formulas() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every public function of the science package with its dotted name."""
    for found in pkgutil.iter_modules(bearwell.science.__path__):
        if found.name.startswith("_"):
            continue
        module = import_module(f"bearwell.science.{found.name}")
        for name, function in vars(module).items():
            ours = inspect.isfunction(function) and function.__module__ == module.__name__
            if ours and not name.startswith("_"):
                yield f"{found.name}.{name}", function


def sections(docstring: str) -> dict[str, str]:
    """A docstring's underlined sections."""
    parts = re.split(r"^([A-Z][A-Za-z ]*)\n-+$", inspect.cleandoc(docstring), flags=re.MULTILINE)
    return dict(zip(parts[1::2], (text.strip() for text in parts[2::2]), strict=True))


def parameters(section: str) -> dict[str, str]:
    """Names and units of a Parameters section; a line that goes on is indented."""
    found = {}
    for entry in re.split(r"\n(?=\S)", section):
        match = re.fullmatch(r"(\w+) : .*\[([^\[\]]+)\]", entry, flags=re.DOTALL)
        found[match[1] if match else entry] = match[2] if match else ""
    return found


def cited_keys(section: str) -> list[str]:
    """The bibliography keys of a References section, one at the head of each entry."""
    return [entry.split(",")[0].split(";")[0].strip() for entry in re.split(r"\n(?=\S)", section)]


def unknown_units(text: str) -> list[str]:
    """Units in square brackets that the table of quantities does not hold."""
    named = re.findall(r"\[([^\[\]]+)\]", text)
    allowed = WORDS | set(quantities.units())
    return [name for name in named if name not in allowed]


FORMULAS = dict(public_formulas())


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_is_fully_described(name: str) -> None:
    function = FORMULAS[name]
    found = sections(function.__doc__ or "")
    signature = inspect.signature(function)
    missing = [section for section in SECTIONS if not found.get(section)]
    if not signature.parameters:
        missing = [section for section in missing if section != "Parameters"]

    assert missing == []
    described = parameters(found["Parameters"])
    assert list(described) == list(signature.parameters)
    assert [key for key, unit in described.items() if not unit] == []
    assert unknown_units(found["Parameters"]) == []
    assert unknown_units(found["Returns"]) == []
    assert "[" in found["Returns"]
    book = knowledge()
    assert [key for key in cited_keys(found["References"]) if key not in book.sources] == []


@pytest.mark.parametrize("name", FORMULAS)
def test_the_first_line_is_one_sentence(name: str) -> None:
    first = inspect.cleandoc(FORMULAS[name].__doc__ or "").split("\n\n")[0]

    assert first.endswith(".")


def test_there_are_formulas() -> None:
    assert len(FORMULAS) > 100


def test_the_reader_of_docstrings_sees_what_is_wrong() -> None:
    text = "a : one thing,\n    told over two lines [m]\nb : no unit"

    assert parameters(text) == {"a": "m", "b : no unit": ""}
    assert unknown_units("x : a length [furlong]") == ["furlong"]
    assert cited_keys("allen-1998, equation 7\nmurray-1967, table 1") == [
        "allen-1998",
        "murray-1967",
    ]
