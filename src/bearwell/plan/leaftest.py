"""Judges a laboratory's leaf analysis by one named set of norms.

Norms belong to a region, a leaf and a month. They are never averaged: the grower names a set, every figure is
graded by it alone, and where another set would grade it differently that is said beside it. A figure from the
wrong leaf or the wrong month is still graded, with the caveat and which way it misleads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, Protocol

from bearwell.errors import BadInput
from bearwell.knowledge import Fact, Knowledge, Species
from bearwell.quantities import convert, kinds
from bearwell.reasons import Because, Phrase, phrase, recorded
from bearwell.said import listed, said

Grade = Literal["deficient", "low", "optimum", "high", "excess"]
GRADES: tuple[Grade, ...] = ("deficient", "low", "optimum", "high", "excess")
GRADE_WORDS: dict[Grade, str] = {
    "deficient": said("deficient"),
    "low": said("low"),
    "optimum": said("optimum"),
    "high": said("high"),
    "excess": said("excess"),
}
LIMITS = ("deficient_below", "optimum_low", "optimum_high", "excess_above")
_LIMIT_WORDS = {
    "deficient_below": "{set}: deficient below {limit}",
    "optimum_low": "{set}: optimum from {limit}",
    "optimum_high": "{set}: optimum up to {limit}",
    "excess_above": "{set}: excess above {limit}",
}
TRACE = {"Fe", "Mn", "Zn", "Cu", "B", "Mo"}
NAMES = {
    "N": said("nitrogen"),
    "P": said("phosphorus"),
    "K": said("potassium"),
    "Ca": said("calcium"),
    "Mg": said("magnesium"),
    "S": said("sulfur"),
    "Fe": said("iron"),
    "Mn": said("manganese"),
    "Zn": said("zinc"),
    "Cu": said("copper"),
    "B": said("boron"),
    "Mo": said("molybdenum"),
    "Cl": said("chloride"),
    "Na": said("sodium"),
}
# Which way a figure drifts as the leaf ages; the source stands at the link made of it.
FALLS_WITH_AGE = {"N", "K"}
RISES_WITH_AGE = {"Ca", "Mg"}
HALF_A_YEAR = 182
YEAR = 365


class LeafResult(Protocol):
    """What is needed of a leaf test: percent for major nutrients, mg/kg for trace ones, by symbol."""

    @property
    def date(self) -> date:
        """The day the leaves were picked."""
        ...

    @property
    def leaf(self) -> str:
        """Which leaves."""
        ...

    @property
    def values(self) -> Mapping[str, float]:
        """What was measured, by symbol in either case."""
        ...


@dataclass(frozen=True)
class Judged:
    """One nutrient of a leaf test, graded by the set; no grade where the set has no norm for it."""

    nutrient: str
    value: float
    unit: str
    grade: Grade | None
    because: tuple[Because, ...] = ()
    caveats: tuple[Phrase, ...] = ()

    @property
    def name(self) -> str:
        """The nutrient in words."""
        return NAMES[self.nutrient]

    @property
    def shown(self) -> str:
        """The figure with its unit."""
        return _figure(self.value, self.unit)


def sets_for(species: Species, book: Knowledge) -> tuple[str, ...]:
    """The named sets that serve a kind, those made for the nearest group first."""
    nearest: dict[str, int] = {}
    for key, row in book.table("leafsets").items():
        depths = [
            species.lineage.index(group)
            for group in _groups(row["groups"].text)
            if group in species.lineage
        ]
        if depths:
            nearest[key] = max(depths)
    return tuple(sorted(nearest, key=lambda key: (-nearest[key], key)))


def judge_leaf_test(
    test: LeafResult, species: Species, set_name: str, book: Knowledge, *, southern: bool = False
) -> list[Judged]:
    """Every figure of a leaf test, graded by one named set, in the order of the usual report.

    Raises BadInput for a set that does not serve the kind, an unknown symbol, or a figure that cannot be.
    """
    fitting = sets_for(species, book)
    if set_name not in fitting:
        known = (
            said("for {kind}: {listed}", kind=species.name, listed=", ".join(fitting))
            if fitting
            else "no set serves this kind"
        )
        raise BadInput(
            said("'{name}' is no set of leaf norms for {kind}", name=set_name, kind=species.name),
            known,
        )
    if not test.values:
        raise BadInput("the leaf test holds no figure", 'write at least one, such as n = "2.4 %"')
    general = _sampling_caveats(test, set_name, book, southern)
    figures = {_symbol(name): value for name, value in test.values.items()}
    return [
        _judge(symbol, figures[symbol], test, species, set_name, book, general)
        for symbol in sorted(figures, key=list(NAMES).index)
    ]


def grade_of(value: float, limits: Mapping[str, float]) -> Grade:
    """The grade of a figure by its limits; a limit that is not printed is never passed."""
    if "deficient_below" in limits and value < limits["deficient_below"]:
        return "deficient"
    if "optimum_low" in limits and value < limits["optimum_low"]:
        return "low"
    if "excess_above" in limits and value > limits["excess_above"]:
        return "excess"
    if "optimum_high" in limits and value > limits["optimum_high"]:
        return "high"
    return "optimum"


def optimum_of(
    symbol: str, species: Species, set_name: str, book: Knowledge
) -> tuple[float, float] | None:
    """The optimum range of a nutrient by one set, in the unit of a report; None where it states none."""
    norm = _norm(symbol, species, set_name, book)
    limits = {} if norm is None else _limits(norm, _unit(symbol))
    if "optimum_low" not in limits or "optimum_high" not in limits:
        return None
    return limits["optimum_low"], limits["optimum_high"]


def _judge(
    symbol: str,
    value: float,
    test: LeafResult,
    species: Species,
    set_name: str,
    book: Knowledge,
    general: tuple[Phrase, ...],
) -> Judged:
    unit = _unit(symbol)
    _plausible(symbol, value)
    norm = _norm(symbol, species, set_name, book)
    found = recorded(
        "the leaves of {day} held {figure} {nutrient}", value, unit,
        day=test.date, figure=_figure(value, unit), nutrient=NAMES[symbol],
    )  # fmt: skip
    if norm is None:
        none = phrase(
            "{set} says nothing of {nutrient}", set=said(set_name), nutrient=NAMES[symbol]
        )
        return Judged(symbol, value, unit, None, (found,), (none, *general))
    limits = _limits(norm, unit)
    grade = grade_of(value, limits)
    chain = (
        found,
        *(_limit_link(name, norm[name], limits[name], unit, set_name) for name in limits),
    )
    drift = _drift(symbol, general)
    caveats = [*general, *(link.statement for link in drift)]
    if any(norm[name].confidence == "memory" for name in limits):
        caveats.append(
            phrase(
                "the limits of {set} are recalled, not read again: look them up", set=said(set_name)
            )
        )
    if symbol == "Fe":
        caveats.append(
            phrase("iron in a leaf may be there and idle: go by the look of the leaves as well")
        )
    others = _other_grades(symbol, value, unit, species, set_name, book)
    differing = [
        said("{set} would call it {grade}", set=said(name), grade=GRADE_WORDS[other])
        for name, other in others.items()
        if other != grade
    ]
    if differing:
        caveats.append(
            phrase("the sets disagree: {others}", others=listed(differing, "{one}; {other}"))
        )
    return Judged(symbol, value, unit, grade, (*chain, *drift), tuple(caveats))


def _figure(value: float, unit: str) -> str:
    return said("{value:g} {unit}", value=value, unit=unit)


def _groups(text: str) -> list[str]:
    return [group.strip() for group in text.split(",")]


def _symbol(name: str) -> str:
    symbol = name.strip().capitalize()
    if symbol not in NAMES:
        raise BadInput(
            said("'{name}' is no nutrient of a leaf test", name=name),
            said("one of: {listed}", listed=", ".join(NAMES)),
        )
    return symbol


def _unit(symbol: str) -> str:
    return "mg/kg" if symbol in TRACE else "%"


def _plausible(symbol: str, value: float) -> None:
    kind = kinds()["leaf_trace" if symbol in TRACE else "leaf_major"]
    if not kind.low <= value <= kind.high:
        raise BadInput(
            said(
                "{value:g} {unit} {nutrient} cannot be in a leaf",
                value=value,
                unit=kind.unit,
                nutrient=NAMES[symbol],
            ),
            said(
                "expected {low:g} to {high:g} {unit}; look at the unit of the report",
                low=kind.low,
                high=kind.high,
                unit=kind.unit,
            ),
        )


def _norm(symbol: str, species: Species, set_name: str, book: Knowledge) -> dict[str, Fact] | None:
    """The row of the set for this nutrient that was made for the nearest group."""
    norms = book.table("leafnorms")
    for group in reversed(species.lineage):
        row = norms.get(f"{set_name}, {group}, {symbol}")
        if row is not None:
            return row
    return None


def _limits(norm: Mapping[str, Fact], unit: str) -> dict[str, float]:
    """The limits of a row in the unit of the report."""
    return {
        name: round(convert(norm[name].number, norm[name].unit, unit), 8)
        for name in LIMITS
        if name in norm
    }


def _limit_link(name: str, fact: Fact, limit: float, unit: str, set_name: str) -> Because:
    return Because(
        phrase(_LIMIT_WORDS[name], set=said(set_name), limit=_figure(limit, unit)),
        limit, unit, fact.source, fact.locator, fact.confidence, note=fact.note,
    )  # fmt: skip


def _other_grades(
    symbol: str, value: float, unit: str, species: Species, set_name: str, book: Knowledge
) -> dict[str, Grade]:
    grades: dict[str, Grade] = {}
    for other in sets_for(species, book):
        norm = _norm(symbol, species, other, book) if other != set_name else None
        if norm is not None:
            grades[other] = grade_of(value, _limits(norm, unit))
    return grades


# ---------------------------------------------------------------- the sample itself


def _sampling_caveats(
    test: LeafResult, set_name: str, book: Knowledge, southern: bool
) -> tuple[Phrase, ...]:
    """What is wrong with the leaves that were sent, by the rule of the set."""
    row = book.item("leafsets", set_name)
    told = [
        one
        for one in (_wrong_leaf(test, set_name, row), _off_weeks(test, set_name, row, southern))
        if one
    ]
    if "day_from" not in row:
        told.append(phrase("when {set} wants its leaves picked was not seen", set=said(set_name)))
    if "remark" in row:
        told.append(Phrase(row["remark"].text))
    return tuple(told)


def not_comparable(
    test: LeafResult, set_name: str, book: Knowledge, grace: float, *, southern: bool = False
) -> Phrase | None:
    """Why a result cannot be held against a set: another leaf, or picked more than ``grace`` days off."""
    row = book.item("leafsets", set_name)
    return _wrong_leaf(test, set_name, row) or _off_weeks(test, set_name, row, southern, grace)


def _wrong_leaf(test: LeafResult, set_name: str, row: Mapping[str, Fact]) -> Phrase | None:
    if _plain(test.leaf) == _plain(row["leaf"].text):
        return None
    return phrase(
        "{set} is for {leaf}; this was {other}",
        set=said(set_name), leaf=row["leaf"].text, other=test.leaf or said("not said"),
    )  # fmt: skip


def _off_weeks(
    test: LeafResult, set_name: str, row: Mapping[str, Fact], southern: bool, grace: float = 0.0
) -> Phrase | None:
    """That leaves were picked more than ``grace`` days outside the weeks of a set, where it states them."""
    if "day_from" not in row:
        return None
    first, last = round(row["day_from"].number), round(row["day_to"].number)
    off = days_outside(test.date, first, last, southern=southern)
    if abs(off) <= grace:
        return None
    return phrase(
        "picked {days} days before the weeks that {set} is made for"
        if off < 0
        else "picked {days} days after the weeks that {set} is made for",
        days=abs(off),
        set=said(set_name),
    )


def days_outside(day: date, first: int, last: int, *, southern: bool = False) -> int:
    """Days from the nearer end of a window of the year: negative before it, positive after, 0 inside."""
    here = day.timetuple().tm_yday + (HALF_A_YEAR if southern else 0)
    since_first, length = (here - first) % YEAR, (last - first) % YEAR
    if since_first <= length:
        return 0
    after, before = since_first - length, YEAR - since_first
    return after if after < before else -before


def _drift(symbol: str, general: tuple[Phrase, ...]) -> list[Because]:
    """Which way a figure of the wrong leaf or month misleads, where that is known."""
    wrong = any(text.text.startswith(("{set} is for", "picked")) for text in general)
    if not wrong or symbol not in FALLS_WITH_AGE | RISES_WITH_AGE:
        return []
    drifts = phrase(
        "{nutrient} falls as a leaf ages: an older leaf reads too low"
        if symbol in FALLS_WITH_AGE
        else "{nutrient} rises as a leaf ages: an older leaf reads too high",
        nutrient=NAMES[symbol],
    )
    where = "avocado: N and K fall, Ca and Mg rise with the age of the leaf"
    return [Because(drifts, None, "", "ucce-avocado-leaves", where, "read")]


def _plain(text: str) -> str:
    return " ".join(text.lower().replace(",", " ").split())
