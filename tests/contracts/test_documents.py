"""Documents tell what there is, every test is collected, the files are fit to be shared."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest
from house import ROOT, SOURCE, project_files

# Files that are over the limit today, with the lines they may have. The list may only shrink: a file
# that has come under the limit must be taken off it.
LONGEST = 600
RATCHET = {
    "tests/test_weather_readers.py": 800,
    "tests/test_web.py": 750,
}

# Each written in two halves so that this file passes its own test.
_MACHINE = [
    "".join(halves)
    for halves in (
        ("/wo", "rk/"), ("/tm", "p/"), ("/ro", "ot/"), ("/ho", "me/"), ("/Us", "ers/"), ("C:", "\\Users"),
        ("/o", "pt/"), ("pypi", ".org"), ("python", "hosted"), ("npm", "js."), ("file:", "//"),
    )
]  # fmt: skip
_MACHINE_WORDS = re.compile("|".join(re.escape(word) for word in _MACHINE))
_UNFINISHED = re.compile(r"\b(?:" + "|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X")) + r")\b")
_TEXT = {
    ".py",
    ".toml",
    ".md",
    ".txt",
    ".in",
    ".html",
    ".css",
    ".js",
    ".sh",
    ".csv",
    ".svg",
    ".sha256",
    "",
}


def text_files() -> list[tuple[str, str]]:
    """Every text of the project with its name."""
    found = [
        (file.relative_to(ROOT).as_posix(), file.read_text("utf-8"))
        for file in project_files()
        if file.suffix in _TEXT
    ]
    assert len(found) > 50
    return found


def lines_with(pattern: re.Pattern[str], files: Iterable[tuple[str, str]]) -> list[str]:
    """Where a pattern stands."""
    return [
        f"{name}:{number}: {line.strip()[:80]}"
        for name, text in files
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_reference_pages_are_current_and_complete() -> None:
    """Every command, reckoner, key, kind and JSON field has its words; run `make docs`."""
    done = subprocess.run(
        [sys.executable, str(ROOT / "tools" / "reference.py"), "--check"],
        capture_output=True,
        text=True,
        check=False,
    )

    assert (done.returncode, done.stderr.strip()) == (0, "")


def test_every_document_is_in_the_index() -> None:
    docs = ROOT / "docs"
    index = (docs / "README.md").read_text("utf-8")
    pages = {page.relative_to(docs).as_posix() for page in docs.rglob("*.md")} - {"README.md"}

    assert {page for page in pages if f"({page})" not in index} == set()


def test_links_between_documents_lead_somewhere() -> None:
    broken = [
        f"{page.relative_to(ROOT)}: {target}"
        for page in [*(ROOT / "docs").rglob("*.md"), *ROOT.glob("*.md")]
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text("utf-8"))
        if "://" not in target and not (page.parent / target).exists()
    ]

    assert broken == []


def test_every_test_file_is_collected() -> None:
    """A file with tests in it has a name that pytest looks for."""
    lost = [
        file.relative_to(ROOT).as_posix()
        for file in (ROOT / "tests").rglob("*.py")
        if not file.name.startswith("test_")
        and re.search(r"^(async )?def test_|^class Test", file.read_text("utf-8"), re.MULTILINE)
    ]
    empty = [
        file.relative_to(ROOT).as_posix()
        for file in (ROOT / "tests").rglob("test_*.py")
        if not re.search(r"^\s*(async )?def test_", file.read_text("utf-8"), re.MULTILINE)
    ]

    assert (lost, empty) == ([], [])


def test_no_file_names_a_machine_or_a_registry() -> None:
    assert lines_with(_MACHINE_WORDS, text_files()) == []


def test_nothing_is_left_unfinished() -> None:
    assert lines_with(_UNFINISHED, text_files()) == []


def test_modules_stay_small() -> None:
    long = {}
    for file in project_files():
        name = file.relative_to(ROOT).as_posix()
        if file.suffix in {".py", ".toml", ".css", ".js", ".html"} and not name.startswith(
            "tests/published/"
        ):
            lines = len(file.read_text("utf-8").splitlines())
            if lines > LONGEST:
                long[name] = lines
    grown = {name: lines for name, lines in long.items() if lines > RATCHET.get(name, LONGEST)}
    mended = {name for name in RATCHET if name not in long}

    assert grown == {}, "split them"
    assert mended == set(), "take them off the list"


def test_every_data_file_of_the_package_is_read_by_some_module() -> None:
    """A table, template or style that nothing names is dead weight."""
    code = "\n".join(file.read_text("utf-8") for file in SOURCE.rglob("*.py"))
    named = "\n".join([code, *(f.read_text("utf-8") for f in SOURCE.rglob("*.html"))])
    tables = (SOURCE / "knowledge" / "tables.toml").read_text("utf-8")
    idle = [
        file.relative_to(SOURCE).as_posix()
        for file in SOURCE.rglob("*")
        if file.is_file()
        and file.suffix not in {".py", ".pyc", ""}
        and file.name not in named
        and f"[{file.stem}]" not in tables
        and f"[{file.parent.name}]" not in tables
        and file.parent.name not in {"species", "cultivars", "sources"}
    ]

    assert idle == []


@pytest.mark.parametrize("word", _MACHINE)
def test_the_search_for_machine_paths_finds_them(word: str, tmp_path: Path) -> None:
    file = tmp_path / "notes.md"
    file.write_text(f"first line\nsee {word}x\n", "utf-8")

    assert lines_with(_MACHINE_WORDS, [("notes.md", file.read_text("utf-8"))]) == [
        f"notes.md:2: see {word}x"
    ]


def test_the_reference_generator_refuses_a_key_without_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "tools"))
    import reference
    from bearwell.api import reckoners
    from reference_common import Undocumented, both_ways

    with pytest.raises(
        Undocumented,
        match="keys without words: \\['b'\\]; words without a key: \\['c'\\]",
    ):
        both_ways("x", ["a", "b"], ["a", "c"])
    page = Path(reference.PAGES / "reckoners.md").read_text("utf-8")
    assert all(f"## {name}\n" in page for name in reckoners())


def test_the_method_names_constants_as_the_tables_have_them() -> None:
    """``name`` (value unit) in the pages on method is a row of the planning table with that value."""
    from bearwell.knowledge import knowledge
    from bearwell.quantities import convert

    pages = [ROOT / "docs" / "method.md", *sorted((ROOT / "docs" / "method").glob("*.md"))]
    text = "\n".join(page.read_text("utf-8") for page in pages)
    rows = knowledge().table("planning")
    plain = re.sub(r"(?<=\S)\n(?=\S)", " ", text)
    cited = re.findall(r"`([a-z][a-z ]+ [a-z ]+)` \((-?[\d.]+)(?: ([^,()]+))?", plain)
    wrong = []
    for name, value, unit in cited:
        fact = rows[name]["figure"]
        told = convert(float(value), unit, fact.unit) if unit else float(value)
        if abs(told - fact.number) > 0.005 * abs(fact.number):
            wrong.append(f"{name}: {value} {unit}, but the table has {fact.number:g} {fact.unit}")

    assert len(cited) > 35
    assert wrong == []
