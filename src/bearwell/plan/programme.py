"""The mixed-integer programme behind a blend, in whole measures.

HiGHS is used through its own package rather than through scipy's wrapper, because the same solver then
weighs 8 MB instead of a hundred and tells its nodes and gap.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock

import highspy

from bearwell.errors import BadInput, BearwellError
from bearwell.said import said

NUTRIENTS = ("n", "p2o5", "k2o")
_NEVER_GIVE = frozenset({"n high", "salt", "label"})
_CLOSE = 1e-6  # of a whole amount; the solver keeps its rows closer than this
_INF = math.inf


@dataclass(frozen=True, slots=True)
class Weights:
    """What counts how much (ours: common practice, no source).

    The first three are for missing the best by as much as the best of nitrogen; together the other two
    weigh less than nitrogen, so an even bag is dosed for its nitrogen. ``cost`` is for the usual cost of
    such a dose: ``usual_price`` for each g of nutrients, or the median of the bags when None. ``product``
    and ``unopened`` are for each bag used. The ``give_`` weights rank limits when they cannot all hold:
    for as much as the best of nitrogen short or over, a whole dose out of stock, one product more, a
    dose of nothing against the least dose. ``any_limit`` is how much more all of these weigh than what
    counts while every limit holds.
    """

    n: float = 1.0
    k2o: float = 0.3
    p2o5: float = 0.2
    product: float = 0.05
    cost: float = 0.05
    unopened: float = 0.03
    usual_price: float | None = None
    give_n_low: float = 6.0
    give_k2o_low: float = 1.5
    give_p2o5_low: float = 1.0
    give_high: float = 3.0
    give_stock: float = 2.0
    give_products: float = 0.3
    give_least_dose: float = 1.0
    any_limit: float = 100.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            not_negative("the weight {name}", getattr(self, name), name=name)


# ---------------------------------------------------------------- the problem

Limit = tuple[str, int]  # what it is, and of which bag (-1: of the whole dose)


@dataclass(frozen=True, slots=True)
class Item:
    """A bag in measures: what one measure brings, how many may be used and what using it costs."""

    brings: tuple[float, float, float]
    mass: float
    salt: float
    cost: float
    use: float
    useful: int  # more only takes every nutrient of the bag further from its best
    label: int | None
    stock: float | None
    out_of_stock: float  # weight of one g beyond the stock


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything the answer depends on, rounded: equal problems are solved once."""

    low: tuple[float, float, float]
    best: tuple[float, float, float]
    high: tuple[float, float, float]
    scale: float  # the best of nitrogen, against which all three are weighed
    least_dose: float
    most_products: int
    most_salt: float | None
    items: tuple[Item, ...]
    weights: Weights


@dataclass(frozen=True, slots=True)
class Answer:
    """Measures of each bag, and what :class:`bearwell.plan.blend.Blend` tells of them."""

    counts: tuple[int, ...]
    binding: tuple[Limit, ...]
    relaxed: tuple[tuple[Limit, float], ...]
    score: float
    gap: float
    nodes: int
    seconds: float


def _caps(problem: Problem, *, elastic: bool) -> list[int]:
    """The most measures of each bag that can be part of an answer; tight, so that the programme is."""
    caps = []
    for item in problem.items:
        cap = item.useful if item.label is None else min(item.useful, item.label)
        if problem.most_salt is not None and item.salt:
            cap = min(cap, measures_in(problem.most_salt, item.salt))
        for j in range(1 if elastic else 3):
            if item.brings[j] and math.isfinite(problem.high[j]):
                cap = min(cap, measures_in(problem.high[j], item.brings[j]))
        if not elastic:
            if item.stock is not None:
                cap = min(cap, measures_in(item.stock, item.mass))
            if cap < measures_to_reach(problem.least_dose, item.mass):
                cap = 0
        caps.append(cap)
    return caps


# ---------------------------------------------------------------- the programme


@lru_cache(maxsize=4096)
def solve(problem: Problem) -> Answer:
    """The best counts within every limit; where there are none, the best with limits that give."""
    found = _programme(problem, _caps(problem, elastic=False), elastic=False)
    elastic, nodes, seconds = found.counts is None, found.nodes, found.seconds
    if elastic:
        found = _programme(problem, _caps(problem, elastic=True), elastic=True)
    if found.counts is None:
        raise BearwellError("the feeding programme found no answer", "please report this shelf")
    score, broken, relaxed = _judge(problem, found.counts, elastic=elastic)
    if broken:
        raise BearwellError("the feeding programme broke a limit", "please report this shelf")
    return Answer(
        found.counts,
        _binding(problem, found.counts, score, elastic=elastic),
        relaxed,
        score,
        found.gap,
        found.nodes + (nodes if elastic else 0),
        found.seconds + (seconds if elastic else 0.0),
    )


def _in_reach(problem: Problem, caps: Sequence[int]) -> bool:
    """Whether every bag used to its most would reach the foot of every range."""
    return all(
        sum(item.brings[j] * cap for item, cap in zip(problem.items, caps, strict=True))
        >= problem.low[j] - _CLOSE * problem.scale
        for j in range(3)
    )


@dataclass(frozen=True, slots=True)
class _Found:
    """What a programme ended with; no counts when the limits cannot all hold."""

    counts: tuple[int, ...] | None
    gap: float = 0.0
    nodes: int = 0
    seconds: float = 0.0


class _Model:
    """Columns and rows of a programme as they are written down."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.most: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[tuple[float, float]] = []
        self.start: list[int] = [0]
        self.index: list[int] = []
        self.value: list[float] = []

    def column(self, cost: float, most: float, *, whole: bool = False) -> int:
        """A variable from 0 to ``most``; its place."""
        self.cost.append(cost)
        self.most.append(most)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, low: float, high: float, terms: Mapping[int, float]) -> None:
        """low <= sum of terms <= high."""
        used = [(column, factor) for column, factor in terms.items() if factor]
        self.index += [column for column, _ in used]
        self.value += [factor for _, factor in used]
        self.start.append(len(self.index))
        self.rows.append((low, high))

    def lp(self) -> highspy.HighsLp:
        """The same as the solver takes it."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.cost), len(self.rows)
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = self.cost, [0.0] * len(self.cost), self.most
        lp.row_lower_ = [low for low, _ in self.rows]
        lp.row_upper_ = [high for _, high in self.rows]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_, lp.a_matrix_.index_ = self.start, self.index
        lp.a_matrix_.value_ = self.value
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in self.whole]
        return lp


def _programme(problem: Problem, caps: Sequence[int], *, elastic: bool) -> _Found:
    """One programme: whole measures within every limit, or with limits that give at their weight."""
    model, weights = _Model(), problem.weights
    give = weights.any_limit
    live = [i for i, cap in enumerate(caps) if cap]
    if not elastic and not _in_reach(problem, caps):
        return _Found(None)
    if not live:
        return _Found((0,) * len(caps))
    items = problem.items
    count = {i: model.column(items[i].cost, caps[i], whole=True) for i in live}
    use = {i: model.column(items[i].use, 1.0, whole=True) for i in live}
    for j, (miss, gives_low) in enumerate(_misses(weights)):
        size, best = problem.scale, problem.best[j]
        terms = {count[i]: items[i].brings[j] / size for i in live}
        terms[model.column(miss, (best - problem.low[j]) / size)] = 1.0
        terms[model.column(miss, (problem.high[j] - best) / size)] = -1.0
        if elastic:
            terms[model.column(miss + give * gives_low, _INF)] = 1.0
            if j:  # the top of the nitrogen range stays
                terms[model.column(miss + give * weights.give_high, _INF)] = -1.0
        model.row(best / size, best / size, terms)
    for i in live:
        item = items[i]
        model.row(-_INF, 0.0, {count[i]: 1.0, use[i]: -float(caps[i])})
        if measures_to_reach(problem.least_dose, item.mass) > 1:
            least = problem.least_dose / item.mass
            terms = {count[i]: 1.0, use[i]: -least}
            if elastic:
                lacks = give * weights.give_least_dose / least
                terms[model.column(lacks, least)] = 1.0
            else:
                terms[use[i]] = -float(measures_to_reach(problem.least_dose, item.mass))
            model.row(0.0, _INF, terms)
        if elastic and item.stock is not None:
            over = model.column(give * item.out_of_stock * item.mass, _INF)
            model.row(-_INF, item.stock / item.mass, {count[i]: 1.0, over: -1.0})
    if len(live) > problem.most_products:
        terms = {use[i]: 1.0 for i in live}
        if elastic:
            terms[model.column(give * weights.give_products, float(len(live)))] = -1.0
        model.row(-_INF, float(problem.most_products), terms)
    if problem.most_salt and any(items[i].salt for i in live):
        model.row(-_INF, 1.0, {count[i]: items[i].salt / problem.most_salt for i in live})
    return _run(model, [count.get(i) for i in range(len(caps))])


class _Quiet(highspy.Highs):
    """The solver without its callbacks: setting them up prints a line before it can be told not to."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        self.setOptionValue("output_flag", False)


_one_at_a_time = Lock()
# One thread, one seed: the same answer on every machine. Searches and reductions that pay on large
# programmes cost more than they save on one of a dozen integers.
_OPTIONS: dict[str, bool | int | float | str] = {
    "threads": 1, "random_seed": 0, "presolve": "off", "mip_rel_gap": 0.0,
    "mip_abs_gap": 1e-9, "mip_feasibility_tolerance": 1e-8, "primal_feasibility_tolerance": 1e-8,
    "mip_max_nodes": 200_000, "mip_detect_symmetry": False, "mip_root_presolve_only": True,
    "mip_heuristic_run_feasibility_jump": False, "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_rins": False, "mip_heuristic_run_rens": False,
}  # fmt: skip


def _run(model: _Model, counts: Sequence[int | None]) -> _Found:
    """The solver's answer; no counts when the limits cannot all hold."""
    with _one_at_a_time:
        solver = _Quiet()
        for name, value in _OPTIONS.items():
            solver.setOptionValue(name, value)
        solver.passModel(model.lp())
        if solver.run() == highspy.HighsStatus.kError:
            # Threads kept from another use of the solver in this process; let them go.
            highspy.Highs.resetGlobalScheduler(True)
            solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        seconds = float(solver.getRunTime())
        solution = solver.getSolution()
    nodes = max(0, int(info.mip_node_count))
    ended = highspy.HighsModelStatus
    if status not in (ended.kOptimal, ended.kSolutionLimit) or not solution.value_valid:
        return _Found(None, _INF, nodes, seconds)
    values = list(solution.col_value)
    rounded = tuple(0 if column is None else round(values[column]) for column in counts)
    return _Found(rounded, round(max(0.0, float(info.mip_gap)), 12), nodes, seconds)


# ---------------------------------------------------------------- judging an answer


def _misses(weights: Weights) -> tuple[tuple[float, float], ...]:
    """For each nutrient, what missing its best weighs and what falling below its range does."""
    return (
        (weights.n, weights.give_n_low),
        (weights.p2o5, weights.give_p2o5_low),
        (weights.k2o, weights.give_k2o_low),
    )


def _strains(problem: Problem, counts: Sequence[int]) -> list[tuple[Limit, float, float]]:
    """Every limit these counts go past: which, by how much and what giving it weighs."""
    weights, strained = problem.weights, []
    for j, (_, gives_low) in enumerate(_misses(weights)):
        size = problem.scale
        supplied = sum(
            item.brings[j] * count for item, count in zip(problem.items, counts, strict=True)
        )
        for name, by, weight in (
            (f"{NUTRIENTS[j]} low", problem.low[j] - supplied, gives_low),
            (f"{NUTRIENTS[j]} high", supplied - problem.high[j], weights.give_high),
        ):
            if by > _CLOSE * size:
                strained.append(((name, -1), by, weight * by / size))
    for i, (item, count) in enumerate(zip(problem.items, counts, strict=True)):
        mass = item.mass * count
        if item.label is not None and count > item.label:
            strained.append((("label", i), mass - item.label * item.mass, _INF))
        if item.stock is not None and mass > item.stock + _CLOSE * item.mass:
            over = mass - item.stock
            strained.append((("stock", i), over, item.out_of_stock * over))
        if 0 < mass < problem.least_dose - _CLOSE * item.mass:
            lacks = problem.least_dose - mass
            weight = weights.give_least_dose * lacks / problem.least_dose
            strained.append((("least dose", i), lacks, weight))
    over = float(sum(count > 0 for count in counts) - problem.most_products)
    if over > 0:
        strained.append((("products", -1), over, weights.give_products * over))
    if problem.most_salt is not None:
        salt = sum(item.salt * count for item, count in zip(problem.items, counts, strict=True))
        if salt > problem.most_salt * (1 + _CLOSE) + _CLOSE:
            strained.append((("salt", -1), salt - problem.most_salt, _INF))
    return strained


def _judge(
    problem: Problem, counts: Sequence[int], *, elastic: bool
) -> tuple[float, frozenset[Limit], tuple[tuple[Limit, float], ...]]:
    """The score of some counts, the limits they break, and those that give where they may."""
    score = 0.0
    for j, (miss, _) in enumerate(_misses(problem.weights)):
        supplied = sum(
            item.brings[j] * count for item, count in zip(problem.items, counts, strict=True)
        )
        score += miss * abs(supplied - problem.best[j]) / problem.scale
    for item, count in zip(problem.items, counts, strict=True):
        score += item.cost * count + (item.use if count else 0.0)
    broken, gave = set(), []
    for limit, by, weight in _strains(problem, counts):
        if elastic and limit[0] not in _NEVER_GIVE:
            score += problem.weights.any_limit * weight
            gave.append((limit, round(by, 6)))
        else:
            broken.add(limit)
    return score, frozenset(broken), tuple(gave)


def _binding(
    problem: Problem, counts: tuple[int, ...], score: float, *, elastic: bool
) -> tuple[Limit, ...]:
    """Limits that stand between the answer and a better one close by.

    Close by is one bag taken to another amount, or two bags a measure up and a measure down.
    """
    barred: set[frozenset[Limit]] = set()
    for other in _close_by(problem, counts):
        better, broken, _ = _judge(problem, other, elastic=elastic)
        if broken and better < score - _CLOSE:
            barred.add(broken)
    least = {one for one in barred if not any(less < one for less in barred)}
    return tuple(sorted({limit for one in least for limit in one}))


def _close_by(problem: Problem, counts: tuple[int, ...]) -> set[tuple[int, ...]]:
    """Counts worth trying beside an answer."""
    supplied = [
        sum(item.brings[j] * count for item, count in zip(problem.items, counts, strict=True))
        for j in range(3)
    ]
    near: set[tuple[int, ...]] = set()
    for i, item in enumerate(problem.items):
        if not item.useful:
            continue
        here = counts[i]
        amounts = {0, 1, here - 1, here + 1, measures_to_reach(problem.least_dose, item.mass)}
        for j, brings in enumerate(item.brings):
            if brings:
                to_best = here + (problem.best[j] - supplied[j]) / brings
                amounts |= {math.floor(to_best), math.ceil(to_best)}
        near |= {
            (*counts[:i], other, *counts[i + 1 :])
            for other in amounts
            if 0 <= other <= item.useful and other != here
        }
    for up, item in enumerate(problem.items):
        for down, count in enumerate(counts):
            if count and up != down and counts[up] < item.useful:
                moved = list(counts)
                moved[up] += 1
                moved[down] -= 1
                near.add(tuple(moved))
    return near


# ---------------------------------------------------------------- arithmetic


def measures_in(most: float, one: float) -> int:
    """How many whole ones fit."""
    return math.floor(most / one * (1 + 1e-12) + 1e-9)


def measures_to_reach(least: float, one: float) -> int:
    """How many whole ones it takes."""
    return math.ceil(least / one * (1 - 1e-12) - 1e-9)


def rounded_down(value: float, one: float) -> float:
    """Rounded down to a multiple."""
    return value if math.isinf(value) else round(measures_in(value, one) * one, 9)


def not_negative(what: str, value: float | None, **values: str) -> None:
    """Refuses a figure below nothing, or one that is no number; ``values`` stand in ``what`` it is."""
    if value is not None and not (math.isfinite(value) and value >= 0):
        raise BadInput(
            said("{what} is {value:g}, which cannot be", what=said(what, **values), value=value),
            "0 or more",
        )
