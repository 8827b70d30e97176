"""Every row of knowledge holds, points to a source that is there, and no source stands idle."""

from __future__ import annotations

import ast
import hashlib
import tomllib

import pytest
from house import FINGERPRINTS, SOURCE, modules, place
from test_science_docstrings import FORMULAS, cited_keys, sections

from bearwell.errors import KnowledgeError
from bearwell.knowledge import Knowledge, knowledge, loader, used_sources
from bearwell.knowledge.model import UNDOCUMENTED

# Words that stand where a bibliography key would, for a link that rests on something else.
OWN_GROUNDS = {"records", "weather", "garden file", "computed"}
# Place of the source among the arguments of the calls that make a link of reasoning.
SOURCE_ARGUMENT = {"cited": 3, "Because": 3}


def cited_in_code() -> dict[str, str]:
    """Bibliography keys that links of reasoning in the code name, each with one place."""
    found: dict[str, str] = {}
    for file, tree in modules():
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            name = (
                node.func.attr
                if isinstance(node.func, ast.Attribute)
                else getattr(node.func, "id", "")
            )
            if name not in SOURCE_ARGUMENT:
                continue
            at = SOURCE_ARGUMENT[name]
            named = [word.value for word in node.keywords if word.arg == "source"]
            for argument in [*node.args[at : at + 1], *named]:
                for part in ast.walk(argument):  # a choice of two keys counts as both
                    if isinstance(part, ast.Constant) and isinstance(part.value, str):
                        found[part.value] = place(file, node)
    return {key: where for key, where in found.items() if key not in OWN_GROUNDS}


@pytest.fixture(scope="module")
def book() -> Knowledge:
    return knowledge()


def test_every_table_holds(book: Knowledge) -> None:
    assert sum(not kind.abstract for kind in book.species.values()) > 50
    assert all(table for table in book.tables.values())


def test_every_row_has_source_locator_and_confidence(book: Knowledge) -> None:
    rows = [fact for kind in book.species.values() for fact in kind.facts.values()]
    rows += [
        cell for table in book.tables.values() for item in table.values() for cell in item.values()
    ]
    bare = [
        f"{fact.stated_by}.{fact.name}"
        for fact in rows
        if not fact.locator and fact.source not in UNDOCUMENTED
    ]
    unsourced = [
        f"{fact.stated_by}.{fact.name}" for fact in rows if fact.source not in book.sources
    ]

    assert (bare, unsourced) == ([], [])


def test_a_row_says_judgement_when_its_source_does(book: Knowledge) -> None:
    """A row whose only source is our judgement or recollection may not claim to have been read."""
    rows = [fact for kind in book.species.values() for fact in kind.facts.values()]
    rows += [
        cell for table in book.tables.values() for item in table.values() for cell in item.values()
    ]
    claims = {
        f"{fact.stated_by}.{fact.name}: {fact.source} marked {fact.confidence}"
        for fact in rows
        if fact.source in ("judgement", "memory") and fact.confidence in ("read", "secondhand")
    }

    assert sorted(claims) == []


def test_links_in_code_name_sources_that_are_there(book: Knowledge) -> None:
    lost = {key: where for key, where in cited_in_code().items() if key not in book.sources}

    assert lost == {}


def test_every_source_is_used(book: Knowledge) -> None:
    used = used_sources(book) | set(cited_in_code())
    for function in FORMULAS.values():
        used |= set(cited_keys(sections(function.__doc__ or "")["References"]))

    assert sorted(set(book.sources) - used) == []


def test_names_of_kinds_are_not_shared(book: Knowledge) -> None:
    """A name a grower may write leads to one kind only."""
    owners: dict[str, set[str]] = {}
    for kind in book.species.values():
        if not kind.abstract:
            for name in (kind.key, kind.name, *kind.also):
                owners.setdefault(name.lower().replace(" ", "-"), set()).add(kind.key)

    assert {name: sorted(keys) for name, keys in owners.items() if len(keys) > 1} == {}


def test_tables_are_the_ones_whose_fingerprints_are_kept() -> None:
    """After a change of a table run `make knowledge`."""
    folder = SOURCE / "knowledge"
    now = {
        file.relative_to(folder).as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in folder.rglob("*.toml")
    }
    kept = {
        name: mark
        for mark, name in (
            line.split("  ") for line in FINGERPRINTS.read_text("utf-8").splitlines()
        )
    }
    changed = sorted(name for name in now.keys() | kept.keys() if now.get(name) != kept.get(name))

    assert changed == [], "run `make knowledge`"


@pytest.mark.parametrize(
    ("row", "complaint"),
    [
        (
            '{ value = 200, unit = "d", source = "nowhere", confidence = "read" }',
            "not in the bibliography",
        ),
        ('{ value = 200, unit = "d", source = "judgement", confidence = "sure" }', "not one of"),
        ('{ value = 200, unit = "kg", source = "judgement", confidence = "memory" }', "kg"),
        (
            '{ value = 9000, unit = "d", source = "judgement", confidence = "memory" }',
            "not plausible",
        ),
        ('{ value = 200, unit = "d", source = "allen-1998", confidence = "read" }', "no locator"),
        ('{ value = 200, unit = "d", sauce = "x" }', "unknown key 'sauce'"),
    ],
)
def test_a_bad_row_is_refused(book: Knowledge, row: str, complaint: str) -> None:
    parsed = tomllib.loads(f"row = {row}")["row"]

    with pytest.raises(KnowledgeError, match=complaint):
        loader._fact(
            "own.toml", "bloom_to_ripe", parsed, book.schema["bloom_to_ripe"], "own", book.sources
        )
