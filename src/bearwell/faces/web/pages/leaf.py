"""The leaf key as a form and its answer: what was ticked, what it may mean, and the same as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from bearwell.api import (
    Advice,
    Diagnosis,
    Knowledge,
    LoadedGarden,
    Question,
    diagnose,
    leaf_key,
    would_mend,
)
from bearwell.errors import BadInput
from bearwell.faces.language import N_, say
from bearwell.faces.twins import advice_twin, because_twin, said_all
from bearwell.faces.words import Words
from bearwell.said import said

Given = Mapping[str, Sequence[str]]

PLACES = {"ground": False, "pot": True}
LIKELIHOOD_WORDS = {
    "likely": N_("Fits well"),
    "possible": N_("Possible"),
    "less likely": N_("Fits in part"),
    "to be ruled out": N_("To be ruled out"),
}
SORT_WORDS = {
    "shortage": N_("shortage"),
    "look-alike": N_("looks like a shortage"),
    "pest": N_("pest"),
    "disease": N_("disease"),
    "report": N_("must be reported"),
}


@dataclass(frozen=True)
class Tree:
    """What was said of the tree."""

    id: str = ""
    kind: str = ""
    place: str = ""
    day: date | None = None


@dataclass(frozen=True)
class Outcome:
    """The form as it was filled in and, once something is ticked, its answer or what was wrong."""

    questions: tuple[Question, ...]
    ticked: frozenset[str] = frozenset()
    tree: Tree = field(default_factory=Tree)
    sent: bool = False
    found: tuple[Diagnosis, ...] = ()
    mends: Mapping[str, Advice] = field(default_factory=dict)
    complaint: str = ""
    hint: str = ""


def answer(given: Given, opened: LoadedGarden | None, book: Knowledge) -> Outcome:
    """The form with its answer; what cannot be answered is said in it."""
    questions = leaf_key(book).asked
    ticked = frozenset(value for one in questions for value in given.get(one.key, ()) if value)
    tree = Tree(_last(given, "tree"), _last(given, "kind"), _last(given, "place"))
    try:
        return compute(given, opened, book)
    except BadInput as error:
        return Outcome(questions, ticked, tree, True, complaint=error.message, hint=error.hint)


def compute(given: Given, opened: LoadedGarden | None, book: Knowledge) -> Outcome:
    """The form with its answer; raises BadInput for what cannot be answered."""
    questions = leaf_key(book).asked
    ticked = frozenset(value for one in questions for value in given.get(one.key, ()) if value)
    tree, in_pot = _tree(given, opened)
    if not ticked:
        return Outcome(questions, ticked, tree)
    _each_in_its_place(questions, given)
    southern = opened is not None and opened.garden.site.southern
    found = diagnose(
        ticked,
        kind=tree.kind or None,
        in_pot=in_pot,
        day=tree.day,
        southern=southern,
        book=book,
    )
    return Outcome(questions, ticked, tree, True, tuple(found), _mends(opened, tree, found))


def _mends(
    opened: LoadedGarden | None, tree: Tree, found: Sequence[Diagnosis]
) -> dict[str, Advice]:
    """By nutrient, the job that each shortage found would make on a tree of the garden."""
    if opened is None or not tree.id:
        return {}
    nutrients = [one.nutrient for one in found if one.sort == "shortage" and one.nutrient]
    jobs = {nutrient: would_mend(opened, tree.id, nutrient) for nutrient in nutrients}
    return {nutrient: job for nutrient, job in jobs.items() if job is not None}


def _each_in_its_place(questions: Sequence[Question], given: Given) -> None:
    """Refuse a sign sent as the answer to another question."""
    for one in questions:
        own = {sign.key for sign in one.signs}
        strange = [value for value in given.get(one.key, ()) if value and value not in own]
        if strange:
            title = said(one.title)
            raise BadInput(
                said("'{sign}' is no answer to “{question}”", sign=strange[0], question=title),
                "tick one of the signs",
            )


def _tree(given: Given, opened: LoadedGarden | None) -> tuple[Tree, bool | None]:
    """The tree meant: one of the garden's, or a kind and a place as said."""
    name, kind, place = (_last(given, key) for key in ("tree", "kind", "place"))
    day = _day(_last(given, "day")) or (opened.today if opened else None)
    if name and opened is not None:
        own = opened.garden.tree(name)
        in_pot = own.in_pot
        return Tree(own.id, own.kind, "pot" if in_pot else "ground", day), in_pot
    if place and place not in PLACES:
        raise BadInput(said("a tree does not grow in '{place}'", place=place), "ground or pot")
    return Tree("", kind, place, day), PLACES.get(place)


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            said("'{text}' is not a date", text=text), "write it as 2026-04-14"
        ) from None


def _last(given: Given, key: str) -> str:
    values = given.get(key, ())
    return values[-1].strip() if values else ""


def leaf_twin(outcome: Outcome, words: Words) -> dict[str, Any]:
    """The answer as JSON; without signs, the questions to answer."""
    return {
        "questions": [
            {
                "question": one.key,
                "title": say(one.title),
                "several": one.several,
                "signs": [{"sign": sign.key, "words": say(sign.words)} for sign in one.signs],
            }
            for one in outcome.questions
        ],
        "given": {
            "signs": sorted(outcome.ticked),
            "tree": outcome.tree.id or None,
            "kind": outcome.tree.kind or None,
            "place": outcome.tree.place or None,
            "day": outcome.tree.day.isoformat() if outcome.tree.day else None,
        },
        "diagnoses": [_diagnosis_twin(one, words) for one in outcome.found],
        "mends": {key: advice_twin(job, words) for key, job in outcome.mends.items()},
    }


def _diagnosis_twin(one: Diagnosis, words: Words) -> dict[str, Any]:
    return {
        "cause": one.key,
        "name": say(one.name),
        "sort": one.sort,
        "nutrient": one.nutrient or None,
        "likelihood": one.likelihood,
        "score": one.score,
        "for": said_all(one.shared),
        "against": said_all(one.against),
        "unexplained": said_all(one.unexplained),
        "why": say(one.why),
        "test": say(one.test),
        "remedy": say(one.remedy),
        "send": say(one.send),
        "cautions": said_all(one.cautions),
        "report": say(one.report) or None,
        "because": [because_twin(link, words) for link in one.because],
    }
