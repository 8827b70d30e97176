"""Sentences that carry their numbers, and links of reasoning that carry their source.

A :class:`Phrase` keeps quantities and dates apart from its words, so that each face can show them in the
grower's own units and date forms; a :class:`Because` is one link of the chain behind an advice or a date.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import reduce
from typing import TYPE_CHECKING, overload

from bearwell.quantities import Quantity

if TYPE_CHECKING:
    from bearwell.knowledge import Fact, FeedingRule


@dataclass(frozen=True)
class Phrase:
    """Words with named places ``{like_this}`` and the values that belong there, phrases among them."""

    text: str
    values: dict[str, Value] = field(default_factory=dict)


Value = Quantity | date | str | int | Phrase


@dataclass(frozen=True)
class Because:
    """One link of reasoning: a statement, the figure it rests on and where that comes from.

    ``source`` is a bibliography key, "records" for the grower's own entries, "weather" for the weather
    series, "garden file" for what the grower wrote, or "computed" for arithmetic on the links before it.
    """

    statement: Phrase
    value: float | str | None = None
    unit: str = ""
    source: str = "computed"
    locator: str = ""
    confidence: str = "computed"
    low: float | None = None
    high: float | None = None
    note: str = ""


def phrase(text: str, **values: Value) -> Phrase:
    """A phrase with its values."""
    return Phrase(text, values)


@overload
def in_a_row(values: Sequence[Phrase], pair: str = ...) -> Phrase: ...


@overload
def in_a_row(values: Sequence[Value], pair: str = ...) -> Value: ...


def in_a_row(values: Sequence[Value], pair: str = "{one}, {other}") -> Value:
    """Phrases, dates or quantities one after another as one value; ``pair`` is how two stand together."""
    return reduce(lambda one, other: Phrase(pair, {"one": one, "other": other}), values)


def amount(
    value: float, unit: str, low: float | None = None, high: float | None = None
) -> Quantity:
    """A quantity in a canonical unit."""
    return Quantity(value, unit, low, high)


def of_fact(fact: Fact) -> Quantity:
    """The quantity a fact states."""
    return Quantity(fact.number, fact.unit, fact.low, fact.high)


def from_fact(text: str, fact: Fact, **values: Value) -> Because:
    """A link that rests on a row of a table; ``{value}`` in the text is the row's value."""
    shown: Value = fact.value if isinstance(fact.value, str) else of_fact(fact)
    return Because(
        Phrase(text, {"value": shown, **values}),
        fact.value,
        "" if fact.unit == "text" else fact.unit,
        fact.source,
        fact.locator,
        fact.confidence,
        fact.low,
        fact.high,
        fact.note,
    )


def from_rule(text: str, rule: FeedingRule, value: float, **values: Value) -> Because:
    """A link that rests on a feeding rule."""
    return Because(
        Phrase(text, values), value, "g", rule.source, rule.locator, rule.confidence, note=rule.note
    )


def computed(
    text: str, value: float | str | None = None, unit: str = "", **values: Value
) -> Because:
    """A link that is arithmetic on the links before it."""
    return Because(Phrase(text, values), value, unit)


def recorded(
    text: str, value: float | str | None = None, unit: str = "", **values: Value
) -> Because:
    """A link that rests on the grower's own records."""
    return Because(Phrase(text, values), value, unit, "records", "garden file", "read")
