"""What the templates say: every text is marked, whole, safe in a page, and said in the language spoken."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from markupsafe import Markup, escape

from bearwell.faces.language import speaking
from bearwell.faces.web import render
from bearwell.said import said
from tongues import Worded, speak_by

TEMPLATES = Path(render.__file__).parent / "templates"
FILES = sorted(TEMPLATES.glob("*.html"))
WORD = re.compile(r"[^\W\d_]{2,}")
# What is the same in every language: names of things, and what a terminal is given.
SAME = {"bearwell", "doi"}


def bare(template: str) -> str:
    """A template without what is worked out in it, and without code and drawings."""
    fields = r"\{% call text\(.*?\{% endcall %\}"  # a field of a form: between them stands the end of its id
    for pattern in (fields, r"\{#.*?#\}", r"\{\{.*?\}\}", r"\{%.*?%\}"):
        template = re.sub(pattern, "\0", template, flags=re.DOTALL)
    return re.sub(r"<(code|path)\b.*?</\1>", "", template, flags=re.DOTALL)


def unmarked(template: str) -> list[str]:
    """Texts of a template that stand in it as they are: between tags, and where they are read or heard."""
    text = bare(template)
    heard = re.findall(r'\b(?:aria-label|data-label|alt|title|placeholder)="([^"]*)"', text)
    found = [one.strip() for one in [*re.findall(r">([^<>]*)<", text), *heard]]
    return [one for one in found if set(WORD.findall(one)) - SAME]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_text_of_a_template_is_marked(file: Path) -> None:
    assert unmarked(file.read_text("utf-8")) == []


def test_an_unmarked_text_is_seen() -> None:
    assert unmarked("<p>Its water</p>") == ["Its water"]
    assert unmarked('<nav aria-label="Pages"><a href="/kind">{{ name }}</a></nav>') == ["Pages"]
    assert unmarked("<p>{{ _('Its water') }} <code>no word</code></p>") == []


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_text_in_an_attribute_holds_no_mark_that_ends_it(file: Path) -> None:
    """Texts are not escaped, so that they may hold markup."""
    for text in re.findall(r'="\{\{ _n?\((?:\'([^\']*)\')', file.read_text("utf-8")):
        assert not set(text) & set('"<>')


@pytest.fixture
def mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    """A language in which some texts are said otherwise."""
    words = {
        "<b>{tree}</b>, {job}": "{job}: <b>{tree}</b>",
        "a cut": "tuc a",
        "{number} tree of {owner}": "{owner}: {number} eert",
        "{number} trees of {owner}": "{owner}: {number} seert",
    }
    speak_by(monkeypatch, Worded(words))


@pytest.mark.usefixtures("mirrored")
def test_a_text_keeps_its_markup_and_its_values_are_escaped_and_said() -> None:
    with speaking("pt"):
        text = render._safely("<b>{tree}</b>, {job}", tree="<i>fig</i>", job=said("a cut"))
        linked = render._safely("<b>{tree}</b>, {job}", tree=Markup("<i>fig</i>"), job="a cut")
        counted = render._safely_by_number(
            "{number} tree of {owner}", "{number} trees of {owner}", 3, owner="A & B"
        )
        cut = render._safely_by_context("noun", "Cut")

    assert text == "tuc a: <b>&lt;i&gt;fig&lt;/i&gt;</b>"
    assert linked == "a cut: <b><i>fig</i></b>"
    assert counted == "A &amp; B: 3 seert"
    assert cut == "Cut (noun)"
    assert all(isinstance(one, Markup) for one in (text, linked, counted, cut))


def test_a_capital_letter_leaves_text_safe() -> None:
    assert escape(render.capital("a <b> tree")) == "A &lt;b&gt; tree"
    assert escape(render.capital(Markup("a <b>tree</b>"))) == "A <b>tree</b>"
    assert escape(render.capital(said("{name} & son", name="fig"))) == "Fig &amp; son"
