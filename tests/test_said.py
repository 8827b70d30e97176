"""Texts of ours that remember: they read as plain English, travel whole, and can be said in another language."""

from __future__ import annotations

import copy
import json
import pickle

import pytest

from bearwell.errors import BadFile, BadInput, Problem
from bearwell.faces.language import say, speaking
from bearwell.faces.words import Words
from bearwell.garden.values import refuse
from bearwell.reasons import in_a_row, phrase
from bearwell.said import Said, kept_so, large, listed, said, small, unkept
from tongues import Worded, speak_by

WORDS = {
    "{count} pears": "{count} peras",
    "leaves": "folhas",
    "of {part}": "de {part}",
    "{one} or {other}": "{one} ou {other}",
    "error": "erro",
    "At risk: {organs}.": "Em risco: {organs}.",
    "{size:.1f} m": "{size:.1f} m",
    "no tree '{id}'": "nenhuma árvore '{id}'",
    "{place}: {message} and {more} more": "{place}: {message} e mais {more}",
}


@pytest.fixture(autouse=True)
def portuguese(monkeypatch: pytest.MonkeyPatch) -> None:
    speak_by(monkeypatch, Worded(WORDS))


def test_it_travels_whole() -> None:
    text = said("{count} pears", count=3)
    nested = said("of {part}", part=said("leaves")).capitalize()

    assert str(text) is text
    for one in (text, nested, small(said("Leaves"))):
        for again in (pickle.loads(pickle.dumps(one)), copy.deepcopy(one), copy.copy(one)):
            assert (again, again.text, again.values, again.letter) == (
                one, one.text, one.values, one.letter,
            )  # fmt: skip
    assert said(text) is text
    assert json.dumps([text]) == '["3 pears"]'


def test_it_is_kept_as_json_and_said_again() -> None:
    text = said("of {part} by {size:g} m", part=said("{one} or {other}", one="north", other=said("leaves")), size=2.5)  # fmt: skip
    again = unkept(json.loads(json.dumps(kept_so(text))))

    assert isinstance(again, Said)
    assert (again, again.text) == (text, text.text)
    assert not isinstance(again.values["part"].values["one"], Said)
    with speaking("pt"):
        assert say(again) == "of north ou folhas by 2,5 m"
    assert kept_so("plain") == unkept("plain") == "plain"
    with pytest.raises(KeyError):
        unkept({"values": {}})


def test_rows_are_said_one_by_one_and_the_growers_words_stay() -> None:
    row = listed([said("leaves"), "leaves", said("{count} pears", count=2)], "{one} or {other}")

    assert row == "leaves or leaves or 2 pears"
    assert listed([]) == ""
    assert listed(["one"]) == "one"
    with speaking("pt"):
        assert say(row) == "folhas ou leaves ou 2 peras"


def test_a_first_letter_holds_in_every_language() -> None:
    assert (large(said("leaves")), small(said("Leaves")), large("pH up"), small("Is")) == (
        "Leaves", "leaves", "PH up", "is",
    )  # fmt: skip
    with speaking("pt"):
        assert say(said("leaves").capitalize()) == "Folhas"
        assert say(said("of {part}", part=large(said("leaves")))) == "de Folhas"
        assert say(small(said("leaves"))) == "folhas"
        assert say(Said("")) == ""


def test_numbers_in_a_text_follow_the_language() -> None:
    text = said("{size:.1f} m", size=2.55)

    assert say(text) == "2.5 m"
    with speaking("pt"):
        assert say(text) == "2,5 m"


def test_refusals_and_problems_keep_what_was_said() -> None:
    message = said("no tree '{id}'", id="leaves")
    problem = Problem("garden.toml", message, said("leaves"), 4)
    file = BadFile([problem, problem])

    assert str(problem) == "garden.toml:4: error: no tree 'leaves' (leaves)"
    assert str(BadInput(message, "hint")) == "no tree 'leaves' (hint)"
    assert file.message == "garden.toml:4: no tree 'leaves' and 1 more"
    refused = refuse(message, said("leaves"))
    assert (refused.context["message"], refused.context["hint"]) == (message, "leaves")
    with speaking("pt"):
        assert say(str(problem)) == "garden.toml:4: erro: nenhuma árvore 'leaves' (folhas)"
        assert say(str(BadInput(message))) == "nenhuma árvore 'leaves'"
        assert say(file.message) == "garden.toml:4: nenhuma árvore 'leaves' e mais 1"
        assert say(refused.context["message"]) == "nenhuma árvore 'leaves'"


def test_phrases_hold_phrases() -> None:
    row = in_a_row([phrase("{count} pears", count=2), phrase("{part}", part=said("leaves"))])
    whole = phrase("At risk: {organs}.", organs=row)

    assert Words().phrase(whole) == "At risk: 2 pears, leaves."
    with speaking("pt"):
        assert Words().phrase(whole) == "Em risco: 2 peras, folhas."
