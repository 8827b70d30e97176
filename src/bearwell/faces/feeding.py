"""A tree's feeding year made ready for every face: its rounds, its account, what is said of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from bearwell.api import (
    LATE_FROM,
    LATE_TO,
    FeedingYear,
    Ledger,
    LoadedGarden,
    Placed,
    Product,
    explain,
    in_measures,
    shelf_of,
    year_span,
)
from bearwell.faces.language import N_, _, _n, say
from bearwell.faces.words import STANDING_WORDS, Words
from bearwell.quantities import Quantity
from bearwell.reasons import Because
from bearwell.said import Said

Floats = NDArray[np.float64]

YEAR = timedelta(days=365)
MONTH = YEAR.days / 12
# Below this share of a full bank two lines are told as one.
SAME = 0.03
ROUTE_WORDS = {
    "table": N_("By the tables"),
    "balance": N_("By the balance"),
    "tests": N_("By your own tests"),
}
ROUTE_LEADS = {
    "table": N_("what trees of its kind, age or size are given"),
    "balance": N_("what fruit, growth and leaf fall carry off"),
    "tests": N_("the route followed, moved by leaf tests and shoots"),
}
FLOWS = {
    "given": N_("Given in products"),
    "freed": N_("Set free from them"),
    "humus": N_("Set free by the soil itself"),
    "leached": N_("Washed out below the roots"),
    "uptake": N_("Taken up by roots"),
    "wanted": N_("Asked for by growth and fruit"),
    "growth": N_("Spent on them"),
    "short": N_("Asked for and not met"),
}
_STANDING = {
    "given": N_("given"),
    "carried": N_("carried"),
    "unfed": N_("nothing suits"),
    **STANDING_WORDS,
}


@dataclass(frozen=True)
class Dose:
    """A product and how much of it, in grams and in what a cook would say."""

    product: Product
    mass: float
    measures: str


@dataclass(frozen=True)
class Shown:
    """A round as a line of a table; ``counted`` is the nitrogen of its dose as the plan counts it [g]."""

    placed: Placed
    standing: str
    doses: tuple[Dose, ...]
    notes: tuple[str, ...]
    counted: float | None = None

    @property
    def label(self) -> tuple[float, float, float]:
        """N, P2O5 and K2O as the labels print them [g]."""
        n, p2o5, k2o = (
            sum((dose.mass * dose.product.grade[place] / 100 for dose in self.doses), 0.0)
            for place in range(3)
        )
        return n, p2o5, k2o

    @property
    def called(self) -> str:
        """How it stands, in a word or two."""
        return _(_STANDING[self.standing])

    @property
    def ahead(self) -> bool:
        """Whether it is still to be given."""
        return self.standing in ("due", "coming") and bool(self.doses)


@dataclass(frozen=True)
class Month:
    """The flows of a month, or of the part of it within the account, and how full the bank ends."""

    first: date
    last: date
    sums: dict[str, float]
    bank: float
    bank_without: float

    @property
    def whole(self) -> bool:
        """Whether the account holds every day of it."""
        return self.first.day == 1 and (self.last + timedelta(days=1)).day == 1


@dataclass(frozen=True)
class Account:
    """The ledger over the drawn days, and the sums of the year behind and the year ahead."""

    first: date
    last: date
    months: tuple[Month, ...]
    behind: dict[str, float]
    ahead: dict[str, float]
    ahead_without: dict[str, float]
    late: tuple[date, date]
    late_rounds: bool
    at_bloom: tuple[float, float] | None
    lowest: tuple[date, float, float]


def doses_of(products: Sequence[Product], doses: Sequence[tuple[str, float]]) -> tuple[Dose, ...]:
    """The doses of a blend with their products and measures."""
    names = {product.id: product for product in products}
    return tuple(
        Dose(names[key], mass, in_measures(mass, names[key].cup_mass)) for key, mass in doses
    )


def dose_words(dose: Dose, words: Words) -> str:
    """A dose as it is measured: cups first, where a cup was weighed."""
    mass = words.quantity(Quantity(dose.mass, "g"))
    return f"{say(dose.measures)} ({mass})" if dose.measures else mass


def percent(share: float) -> str:
    """A share of a full bank."""
    return f"{100 * share:.0f}\N{NO-BREAK SPACE}%"


# ---------------------------------------------------------------- rounds


def rounds_shown(opened: LoadedGarden, year: FeedingYear, words: Words) -> list[Shown]:
    """Every round of a tree, from a little before today to a year ahead."""
    return [_shown(opened, year, placed, words) for placed in year.rounds]


def _shown(opened: LoadedGarden, year: FeedingYear, placed: Placed, words: Words) -> Shown:
    products = {product.id: product for product in opened.garden.products}
    work, blend = placed.given, placed.blend
    standing = _standing(placed, opened.today)
    notes = tuple(round_notes(opened, year, placed, standing, words))
    if work is not None:
        product = products.get(work.product or "")
        if product is None or work.amount is None:
            return Shown(placed, standing, (), notes)
        dose = Dose(product, work.amount, in_measures(work.amount, product.cup_mass))
        return Shown(placed, standing, (dose,), notes)
    if blend is None or standing in ("blocked", "carried", "unfed"):
        return Shown(placed, standing, (), notes)
    doses = doses_of(opened.garden.products, blend.doses)
    return Shown(placed, standing, doses, notes, blend.n)


def _standing(placed: Placed, today: date) -> str:
    if placed.given is not None:
        return "given"
    if placed.carried_by is not None:
        return "carried"
    if placed.blocked:
        return "blocked"
    if placed.window.latest < today:
        return "missed"
    if placed.blend is None or not placed.blend.doses:
        return "unfed"
    return "due" if placed.window.earliest <= today else "coming"


def round_notes(
    opened: LoadedGarden, year: FeedingYear, placed: Placed, standing: str, words: Words
) -> list[str]:
    """What is to be said of a round: when it was given, why it moved, what shaped its dose."""
    if standing == "given" and placed.given is not None:
        work = placed.given
        if not work.product:
            return [_("Noted without a product")]
        if work.amount is None:
            return [_("{product}, noted without an amount", product=work.product)]
        if work.product in {product.id for product in opened.garden.products}:
            return []
        mass = words.quantity(Quantity(work.amount, "g"))
        return [
            _("{mass} of {product}, which is not on the shelf", mass=mass, product=work.product)
        ]
    if standing == "carried" and placed.carried_by is not None:
        return [_("The gift of {day} is still feeding", day=words.day(placed.carried_by))]
    if standing == "blocked":
        reason = held_by(placed)
        view = opened.view(year.tree)
        opens = shelf_of(view).opens(placed.round.window.best)
        if opens is None:
            return [_("Held back: {reason}; feeding stays closed all year", reason=reason)]
        return [
            _(
                "Held back: {reason}; feeding opens again {day}",
                reason=reason,
                day=words.day(opens),
            )
        ]
    return dose_notes(placed, words)


def held_by(placed: Placed) -> str:
    """What holds a round back, in the grower's words where there are any."""
    if placed.rule is None:
        return _("closed days")
    reason = placed.rule.reason
    return say(reason) if isinstance(reason, Said) else reason


def dose_notes(placed: Placed, words: Words) -> list[str]:
    """What is to be said of a round still to be given."""
    notes = []
    if placed.rule is not None and not placed.round.window.holds(placed.window.best):
        best = words.day(placed.round.window.best)
        reason = placed.rule.reason
        notes.append(_("Moved from {day} because of the {reason}", day=best, reason=reason))
    if placed.months > 1:
        notes.append(
            _n(
                "Given for {number} month at once",
                "Given for {number} months at once",
                placed.months,
            )
        )
    if placed.bought:
        notes.append(_("The shelf runs out before this round: buy first"))
    notes += [words.phrase(one) for one in placed.remarks]
    if placed.blend is not None and placed.want is not None:
        notes += [words.phrase(one) for one in explain(placed.blend, placed.want, placed.bags)]
    return notes


@dataclass(frozen=True)
class Brought:
    """What the rounds of the coming year bring [g]: by the labels, and the nitrogen as the plan counts it."""

    n: float
    p2o5: float
    k2o: float
    counted: float

    @property
    def by_label(self) -> bool:
        """Whether the plan counts nitrogen as the labels print it."""
        return abs(self.n - self.counted) <= 0.005 * max(self.n, 1e-9)


def brought(rounds: Sequence[Shown], today: date) -> Brought:
    """What the rounds still to be given within a year of today bring to that year."""
    last = today + YEAR
    ahead = [one for one in rounds if one.ahead and max(one.placed.window.best, today) < last]
    parts = [_within(one, today, last) for one in ahead]
    n, p2o5, k2o = (
        sum((part * one.label[place] for part, one in zip(parts, ahead, strict=True)), 0.0)
        for place in range(3)
    )
    counted = (part * (one.counted or 0.0) for part, one in zip(parts, ahead, strict=True))
    return Brought(n, p2o5, k2o, sum(counted, 0.0))


def _within(one: Shown, today: date, last: date) -> float:
    """The share of a gift that feeds before ``last``; less than all where its months pass that day."""
    months = one.placed.months
    left = (last - max(one.placed.window.best, today)).days / MONTH
    return 1.0 if months <= 1 else min(1.0, left / months)


# ---------------------------------------------------------------- need


def why_this_route(year: FeedingYear) -> list[Because]:
    """The reasons of the need that belong to no single route: which is followed, and what holds it."""
    own = [link for route in year.need.routes for link in route.because]
    return [link for link in year.need.because if link not in own]


def largest_need(year: FeedingYear) -> float:
    """The top of the scale on which the routes are drawn [g]."""
    return max(route.nitrogen.high or route.nitrogen.value for route in year.need.routes)


# ---------------------------------------------------------------- the account


def shares(ledger: Ledger) -> Floats:
    """How full the bank is each evening, as a share of what it can hold."""
    full = ledger.bank_full
    return np.asarray(ledger.flow.bank / full) if full else np.zeros(ledger.days)


def account(opened: LoadedGarden, year: FeedingYear) -> Account:
    """The ledger in sums, over the days that are drawn."""
    today, ledger, bare = opened.today, year.ledger, year.without_late
    first = max(year_span(today)[0].replace(day=1), ledger.start)
    last = ledger.start + timedelta(days=ledger.days - 1)
    months, begin = [], first
    while begin <= last:
        after = (begin.replace(day=1) + timedelta(days=32)).replace(day=1)
        end = min(after - timedelta(days=1), last)
        months.append(
            Month(begin, end, ledger.sums(begin, end), ledger.bank_on(end), bare.bank_on(end))
        )
        begin = after
    bank, without = shares(ledger), shares(bare)
    start = ledger.index(today)
    low = start + int(np.argmin(bank[start:]))
    site = opened.view(year.tree).site
    return Account(
        first,
        last,
        tuple(months),
        ledger.sums(today - YEAR, today - timedelta(days=1)),
        ledger.sums(today, today + YEAR - timedelta(days=1)),
        bare.sums(today, today + YEAR - timedelta(days=1)),
        (site.day(LATE_FROM - 1, site.season), site.day(LATE_TO - 1, site.season)),
        not np.allclose(ledger.given, bare.given),
        None
        if year.bloom is None or year.bloom > last
        else (ledger.bank_on(year.bloom), bare.bank_on(year.bloom)),
        (ledger.start + timedelta(days=low), float(bank[low]), float(without[low])),
    )


def told(year: FeedingYear, kept: Account, evergreen: bool, words: Words) -> list[str]:
    """What the lines say, in sentences."""
    first, last = (words.short_day(day) for day in kept.late)
    sentences = [
        *_at_bloom(year, kept, words),
        _lowest(kept, words),
        *_not_met(kept),
    ]
    if year.past_supposed:
        sentences.append(
            _(
                "No feeding of the past is written down with its product and amount, so last year is supposed to "
                "have been fed as the next one is planned."
            )
        )
    if not kept.late_rounds:
        sentences.append(
            _(
                "No round still to come is given from {first} to {last}, so both lines of the bank are one.",
                first=first,
                last=last,
            )
        )
    if evergreen:
        sentences.append(
            _(
                "It keeps its leaves and goes on spending through winter, while cold roots take little up: "
                "what is not banked by then is missing in spring."
            )
        )
    else:
        sentences.append(
            _(
                "It sleeps through winter, drew its leaves' nitrogen back before they fell, and lives on that "
                "until its roots wake."
            )
        )
    return sentences


def _at_bloom(year: FeedingYear, kept: Account, words: Words) -> list[str]:
    """How full the bank is when the tree blooms."""
    if kept.at_bloom is None or year.bloom is None:
        return []
    with_all, without = kept.at_bloom
    day, share = words.day(year.bloom), percent(with_all)
    if not kept.late_rounds or with_all - without < SAME:
        return [_("At full bloom on {day} the bank stands at {share}.", day=day, share=share)]
    return [
        _(
            "At full bloom on {day} the bank stands at {share}; without the late rounds ({first} to {last}) "
            "it would stand at {less}.",
            day=day,
            share=share,
            first=words.short_day(kept.late[0]),
            last=words.short_day(kept.late[1]),
            less=percent(without),
        )
    ]


def _lowest(kept: Account, words: Words) -> str:
    """When the bank is lowest, and how low."""
    day, low, without = kept.lowest
    said = {"share": percent(low), "less": percent(without), "day": words.day(day)}
    if low - without >= SAME:
        if day == words.today:
            return _("It is lowest today: {share}, without the late rounds {less}.", **said)
        return _("It is lowest around {day}: {share}, without the late rounds {less}.", **said)
    if day == words.today:
        return _("It is lowest today: {share}.", **said)
    return _("It is lowest around {day}: {share}.", **said)


def _not_met(kept: Account) -> list[str]:
    """What of the coming year's growth cannot be paid for."""
    short, shorter, wanted = kept.ahead["short"], kept.ahead_without["short"], kept.ahead["wanted"]
    if max(short, shorter) <= SAME * wanted:
        return []
    share = percent(short / wanted)
    if not kept.late_rounds:
        return [
            _(
                "In the coming year {share} of what growth and fruit ask for is not met.",
                share=share,
            )
        ]
    return [
        _(
            "In the coming year {share} of what growth and fruit ask for is not met, without the late rounds "
            "{less}.",
            share=share,
            less=percent(shorter / wanted),
        )
    ]
