"""The shapes of what is known: facts with their source, kinds of tree, rules and materials."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from bearwell.errors import KnowledgeError

Confidence = Literal["read", "secondhand", "memory", "judgement"]


# Keys of the bibliography that are no documents.
UNDOCUMENTED = frozenset({"common-practice", "judgement", "memory"})


@dataclass(frozen=True, slots=True)
class Source:
    """A row of the bibliography."""

    key: str
    title: str
    authors: str = ""
    year: int | None = None
    publisher: str = ""
    url: str = ""
    doi: str = ""

    @property
    def is_document(self) -> bool:
        """Whether it can be looked up; what is judged, remembered or common practice cannot."""
        return self.key not in UNDOCUMENTED

    def cite(self) -> str:
        """The source in one line."""
        year = f" ({self.year})" if self.year else ""
        parts = [f"{self.authors}{year}" if self.authors else "", self.title, self.publisher]
        return ", ".join(part for part in parts if part) + ("" if self.authors else year)


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing known about a kind: a number with its range, or a word, and where it comes from."""

    name: str
    value: float | str
    unit: str
    low: float | None
    high: float | None
    source: str
    locator: str
    confidence: Confidence
    note: str
    stated_by: str

    @property
    def number(self) -> float:
        """The value as a number; raises KnowledgeError when it is a word."""
        if isinstance(self.value, str):
            raise KnowledgeError(
                f"fact '{self.name}' of '{self.stated_by}' is a word, not a number"
            )
        return self.value

    @property
    def text(self) -> str:
        """The value as a word."""
        return str(self.value)

    @property
    def least(self) -> float:
        """The low end of the range, or the value itself where no range is stated."""
        return self.number if self.low is None else self.low

    @property
    def most(self) -> float:
        """The high end of the range, or the value itself where no range is stated."""
        return self.number if self.high is None else self.high


@dataclass(frozen=True, slots=True)
class Species:
    """A kind of tree as the planners see it: every fact, its own or inherited."""

    key: str
    name: str
    botanical: str
    lineage: tuple[str, ...]
    facts: dict[str, Fact] = field(repr=False)
    also: tuple[str, ...] = ()
    abstract: bool = False
    stands_for: str = ""  # the kind a group is taken as where a grower names no more than the group

    def __getitem__(self, name: str) -> Fact:
        try:
            return self.facts[name]
        except KeyError:
            raise KnowledgeError(
                f"'{self.key}' states no '{name}'", "add the row to its table"
            ) from None

    def get(self, name: str) -> Fact | None:
        """A fact that may be absent."""
        return self.facts.get(name)

    def belongs_to(self, group: str) -> bool:
        """Whether this kind is, or descends from, ``group``."""
        return group in self.lineage

    @property
    def habit(self) -> str:
        """evergreen, deciduous or ever-bearing."""
        return self["habit"].text

    @property
    def keeps_leaves(self) -> bool:
        """Whether the tree carries leaves all winter."""
        return self.habit != "deciduous"


@dataclass(frozen=True, slots=True)
class FeedingStep:
    """Nitrogen for one step of a rule: from year ``at`` on, or for each unit of the basis."""

    at: float
    value: float
    low: float
    high: float
    rounds: int | None = None


@dataclass(frozen=True, slots=True)
class FeedingRule:
    """Nitrogen a year for a tree, by years since planting, by trunk diameter or by volume of medium.

    Units: g of N a tree and year for basis "years"; g/m of trunk diameter; g/L of medium.
    """

    key: str
    meaning: str
    basis: Literal["years", "trunk diameter", "medium volume"]
    unit: str
    steps: tuple[FeedingStep, ...]
    cap: float | None
    fallback: str | None
    source: str
    locator: str
    confidence: Confidence
    note: str

    def step(self, at: float) -> FeedingStep:
        """The step that holds at ``at`` years (the first for younger, the last from then on)."""
        holding = [step for step in self.steps if step.at <= at]
        return holding[-1] if holding else self.steps[0]


Table = dict[str, dict[str, Fact]]  # items by name, each with its cells by column


class Tables(Mapping[str, Table]):
    """Tables by name, each read and checked when it is first asked for."""

    def __init__(self, loaders: Mapping[str, Callable[[], Table]]) -> None:
        self._loaders = loaders
        self._loaded: dict[str, Table] = {}

    def __getitem__(self, name: str) -> Table:
        if name not in self._loaded:
            self._loaded[name] = self._loaders[name]()
        return self._loaded[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._loaders)

    def __len__(self) -> int:
        return len(self._loaders)


# What the items of a table are, where people name them.
ITEM_NAMES = {
    "soils": "a soil texture we know",
    "containers": "a potting medium we know",
    "releases": "a release class we know",
    "covers": "a cover we know",
    "rootstocks": "a rootstock we know",
    "inspections": "a look we know",
    "saltindex": "a material whose salt index is known",
    "shapes": "a shape of canopy we know",
}
