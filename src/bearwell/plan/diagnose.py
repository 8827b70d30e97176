"""The leaf key: what a tree's leaves most likely say, ranked, with a cheap test to tell the causes apart.

The scoring is meant to be followed with a pencil. Each cause has signs with weights (symptoms.toml):
above nought speaks for it, below against it, and nought means that the sign is neither here nor there for it.
A cause's score is the sum of the weights of the signs given, less one for every sign seen that it does not
explain. A cause that shares no more than the place of the leaves is left out where more was seen than that.
Nothing is multiplied and no odds are claimed: the key sorts, the test decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from bearwell.errors import BadInput, KnowledgeError
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.reasons import Because, Phrase
from bearwell.said import listed, said

Likelihood = Literal["likely", "possible", "less likely", "to be ruled out"]
Sort = Literal["shortage", "look-alike", "pest", "disease", "report"]

# How the score is put into words; our judgement, tried on descriptions of known cases.
LIKELY = 7
POSSIBLE = 4
WORTH_NAMING = 2
UNEXPLAINED = 1
TELLING = 3  # a sign of this weight is reason enough to rule out what must be reported
MOST_SHOWN = 6
# Northern seasons by the first day of the year that belongs to them, and half a year for the south.
SEASONS = ((335, "winter"), (244, "autumn"), (152, "summer"), (60, "spring"), (1, "winter"))
HALF_A_YEAR = 182
YEAR = 365


@dataclass(frozen=True)
class Answers:
    """What the grower ticked, and what is known of the tree without asking."""

    signs: frozenset[str]
    species: Species | None = None
    in_pot: bool | None = None
    day: date | None = None
    southern: bool = False


@dataclass(frozen=True)
class Sign:
    """One thing to tick."""

    key: str
    words: str


@dataclass(frozen=True)
class Question:
    """One question with its answers; ``several`` when more than one may be ticked."""

    key: str
    title: str
    several: bool
    about: str
    signs: tuple[Sign, ...]


@dataclass(frozen=True)
class Cause:
    """A cause as the key knows it."""

    key: str
    weights: Mapping[str, int]
    groups: frozenset[str]
    row: Mapping[str, Fact]


@dataclass(frozen=True)
class Diagnosis:
    """A cause with what speaks for and against it."""

    key: str
    name: str
    sort: Sort
    likelihood: Likelihood
    score: int
    shared: tuple[str, ...]
    against: tuple[str, ...]
    unexplained: tuple[str, ...]
    why: str
    test: str
    remedy: str
    send: str
    cautions: tuple[str, ...]
    report: str = ""
    nutrient: str = ""
    because: tuple[Because, ...] = ()


class LeafKey:
    """The key read from the tables once: questions, signs and causes, checked against each other."""

    def __init__(self, book: Knowledge) -> None:
        self.book = book

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Every question in order, the ones that are not asked included."""
        signs = self.book.table("signs")
        found = []
        for key, row in self.book.table("leafquestions").items():
            own = tuple(
                Sign(name, sign["words"].text)
                for name, sign in signs.items()
                if sign["question"].text == key
            )
            several = row["answers"].text == "several"
            found.append(Question(key, row["title"].text, several, row["about"].text, own))
        return tuple(found)

    @cached_property
    def asked(self) -> tuple[Question, ...]:
        """The questions a grower answers."""
        return tuple(one for one in self.questions if one.about != "given")

    @cached_property
    def words(self) -> dict[str, str]:
        """The words of every sign."""
        return {sign.key: sign.words for one in self.questions for sign in one.signs}

    @cached_property
    def seen(self) -> frozenset[str]:
        """Signs that are a look of the tree and so ask for an explanation."""
        return frozenset(
            sign.key for one in self.questions if one.about == "seen" for sign in one.signs
        )

    @cached_property
    def places(self) -> frozenset[str]:
        """Signs that only say which leaves: the first question, which has one answer."""
        return frozenset(sign.key for sign in self.asked[0].signs)

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """Every cause with its weights."""
        return tuple(
            Cause(
                key,
                self._weights(key, row["signs"].text),
                frozenset(_split(row["groups"].text)) if "groups" in row else frozenset(),
                row,
            )
            for key, row in self.book.table("symptoms").items()
        )

    def _weights(self, key: str, text: str) -> dict[str, int]:
        weights: dict[str, int] = {}
        for part in _split(text):
            sign, _, weight = part.rpartition(" ")
            if sign not in self.words or not weight.lstrip("-").isdigit():
                raise KnowledgeError(
                    f"symptoms.toml: [{key}]: '{part}' is no sign with a weight",
                    "a key of signs.toml and a whole number",
                )
            weights[sign] = int(weight)
        return weights

    # ------------------------------------------------------------ answering

    def check(self, signs: Iterable[str]) -> frozenset[str]:
        """The signs, if they can be answered together; BadInput says what is wrong."""
        given = frozenset(signs)
        unknown = sorted(given - set(self.words))
        if unknown:
            raise BadInput(
                said("'{sign}' is no sign of the leaf key", sign=unknown[0]),
                "tick one of the signs",
            )
        for one in self.asked:
            ticked = [sign.words for sign in one.signs if sign.key in given]
            if not one.several and len(ticked) > 1:
                both = listed((said(words) for words in ticked), "{one} and {other}")
                message = said("{question} {answers}", question=said(one.title), answers=both)
                raise BadInput(message, "give one answer")
        if not given & self.seen:
            raise BadInput("nothing is ticked that can be seen on the tree", "tick what you see")
        return given

    def diagnose(self, answers: Answers) -> list[Diagnosis]:
        """The causes worth naming, best first; what must be reported is named when one sign tells."""
        given = self.check(answers.signs)
        known = given | _given_by(answers)
        named = []
        for cause in self.causes:
            if not _fits(cause, answers.species):
                continue
            found = self._weigh(cause, given, known)
            if found is not None:
                named.append(found)
        named.sort(key=lambda one: (-one.score, len(one.against)))
        shown = [one for one in named if one.score >= WORTH_NAMING][:MOST_SHOWN]
        return shown + [one for one in named if one.sort == "report" and one not in shown]

    def _weigh(
        self, cause: Cause, given: frozenset[str], known: frozenset[str]
    ) -> Diagnosis | None:
        order = [sign for sign in self.words if sign in known]
        shared = [sign for sign in order if cause.weights.get(sign, 0) > 0]
        against = [sign for sign in order if cause.weights.get(sign, 0) < 0]
        unexplained = [
            sign for sign in order if sign in given & self.seen and sign not in cause.weights
        ]
        score = sum(cause.weights.get(sign, 0) for sign in order) - UNEXPLAINED * len(unexplained)
        looks = given & self.seen - self.places
        if looks and not looks & set(shared):
            return None
        telling = [s for s in shared if s in self.seen and cause.weights[s] >= TELLING]
        report = cause.row["sort"].text == "report"
        if not (set(shared) & self.seen) or (score < WORTH_NAMING and not (report and telling)):
            return None
        if report and score < LIKELY:
            likelihood: Likelihood = "to be ruled out"
        elif score >= LIKELY:
            likelihood = "likely"
        else:
            likelihood = "possible" if score >= POSSIBLE else "less likely"
        row = cause.row
        return Diagnosis(
            cause.key,
            row["name"].text,
            row["sort"].text,  # type: ignore[arg-type]  # the loader holds it to these words
            likelihood,
            score,
            tuple(self.words[sign] for sign in shared),
            tuple(self.words[sign] for sign in against),
            tuple(self.words[sign] for sign in unexplained),
            row["why"].text,
            row["test"].text,
            row["remedy"].text,
            row["send"].text,
            self._cautions(row),
            row["report"].text if "report" in row else "",
            row["nutrient"].text if "nutrient" in row else "",
            tuple(_link(row, name) for name in ("signs", "why", "test", "remedy")),
        )

    def _cautions(self, row: Mapping[str, Fact]) -> tuple[str, ...]:
        """The caution of the cause itself, and those of every remedy bought for a tree."""
        own = (row["caution"].text,) if "caution" in row else ()
        treated = row["sort"].text in ("pest", "disease")
        general = self.book.table("cautions")
        usual = (
            [general["name it before you treat it"]["text"].text, general["bees"]["text"].text]
            if treated
            else [general["label rate"]["text"].text]
            if row["sort"].text == "shortage"
            else []
        )
        return (*own, *usual)


def season_of(day: date, *, southern: bool = False) -> str:
    """The season a day lies in."""
    here = day.timetuple().tm_yday + (HALF_A_YEAR if southern else 0)
    of_year = (here - 1) % YEAR + 1
    return next(season for first, season in SEASONS if of_year >= first)


def _given_by(answers: Answers) -> frozenset[str]:
    """Signs that follow from the day and the tree."""
    given = set()
    if answers.day is not None:
        given.add(season_of(answers.day, southern=answers.southern))
    if answers.in_pot is not None:
        given.add("in-pot" if answers.in_pot else "in-ground")
    return frozenset(given)


def _fits(cause: Cause, species: Species | None) -> bool:
    """Whether the tree can have it: by kind, group or habit; anything can when the kind is not known."""
    if not cause.groups or species is None:
        return True
    return bool(cause.groups & {*species.lineage, species.habit})


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


_LINK_WORDS = {
    "signs": "the signs it is known by",
    "why": "what it is",
    "test": "the test",
    "remedy": "the remedy",
}


def _link(row: Mapping[str, Fact], name: str) -> Because:
    """Where one part of a diagnosis comes from; the weights of the signs are ours."""
    fact = row[name]
    note = fact.note
    if name == "signs":
        note = (
            said("{note}; the weights are our judgement", note=note)
            if note
            else "the weights are our judgement"
        )
    return Because(
        Phrase(_LINK_WORDS[name]), None, "", fact.source, fact.locator, fact.confidence, note=note
    )
