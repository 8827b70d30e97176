"""One day of a tree's nitrogen: what is freed, washed out, taken up, drawn from reserve and grown."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import (
    Floats,
    above_zero,
    at_least,
    floats,
    not_negative,
    series,
    share_of_one,
    within,
)


class NitrogenDay(NamedTuple):
    """Pools at the end of a day and the flows that led there."""

    held: float
    soil: float
    bank: float
    freed: float
    leached: float
    uptake: float
    drawn: float
    refilled: float
    growth: float
    short: float


class NitrogenDays(NamedTuple):
    """The same for each day of a run."""

    held: Floats
    soil: Floats
    bank: Floats
    freed: Floats
    leached: Floats
    uptake: Floats
    drawn: Floats
    refilled: Floats
    growth: Floats
    short: Floats


def nitrogen_leached(available: float, drainage: float, storage: float) -> float:
    """Nitrogen that a day's drainage carries below the roots.

    Parameters
    ----------
    available : mineral nitrogen in the root zone [g]
    drainage : water that leaves below the roots [mm]
    storage : water the root zone keeps when it has drained [mm]

    Returns
    -------
    nitrogen lost below the roots [g]

    Raises
    ------
    BadInput: when an input is negative, or water drains through a root zone that keeps none

    Valid for
    ---------
    nitrate, evenly mixed through the root zone; ammonium held by clay is washed out less. Drainage and
    storage may be given in litres alike, for a pot

    Notes
    -----
    A mixing tank: the incoming water mixes with what is stored before the surplus leaves, so that the
    share drainage / (drainage + storage) goes. This is the rule of each layer in Burns' account, with the
    whole root zone as one layer.

    References
    ----------
    burns-1974, mixing of percolating water with a layer
    """
    mass, out = not_negative(available, "available nitrogen"), not_negative(drainage, "drainage")
    kept = not_negative(storage, "storage")
    if out > 0.0 and kept == 0.0:
        raise BadInput("water drains through a root zone that stores none", "give its storage")
    return mass * (out / (out + kept)) if out > 0.0 else 0.0


def uptake_factor_root_temperature(temperature: ArrayLike, low: float, optimum: float) -> Floats:
    """How well roots take up nitrogen in soil of a temperature, relative to warm soil.

    Parameters
    ----------
    temperature : temperature of the root zone [degC]
    low : temperature below which nothing is taken up [degC]
    optimum : temperature from which uptake is full [degC]

    Returns
    -------
    factor, 0 idle to 1 full [1]

    Raises
    ------
    BadInput: when the optimum is not above the low limit

    Valid for
    ---------
    cool soils; the fall in soil too hot for roots is not told

    Notes
    -----
    A straight line between the two limits, (T - low)/(optimum - low) kept within 0 and 1.

    References
    ----------
    judgement
    """
    if not optimum > low:
        raise BadInput(
            said(
                "the optimum {optimum:g} must be above the lower limit {low:g}",
                optimum=optimum,
                low=low,
            )
        )
    return floats(np.clip((floats(temperature) - low) / (optimum - low), 0.0, 1.0))


def _day(
    held: float,
    soil: float,
    bank: float,
    given: float,
    release: float,
    humus: float,
    washed: float,
    reach: float,
    wanted: float,
    returned: float,
    bank_full: float,
    refill_days: float,
) -> tuple[float, ...]:
    """The equations of nitrogen_day, inputs already checked; ``washed`` and ``reach`` are shares."""
    freed = min(release, held + given)
    soil = soil + freed + humus
    leached = soil * washed
    soil = max(soil - leached, 0.0)
    room = max(bank_full - bank - returned, 0.0) / refill_days
    uptake = min(soil * reach, wanted + room)
    stock = bank + returned + uptake
    growth = min(wanted, stock)
    return (
        max(held + given - freed, 0.0),
        max(soil - uptake, 0.0),
        max(stock - growth, 0.0),
        freed,
        leached,
        uptake,
        max(growth - uptake, 0.0),
        max(uptake - growth, 0.0) + returned,
        growth,
        max(wanted - growth, 0.0),
    )


def nitrogen_day(
    held: float,
    soil: float,
    bank: float,
    *,
    given: float = 0.0,
    release: float = 0.0,
    humus: float = 0.0,
    drainage: float = 0.0,
    storage: float,
    reach: float,
    wanted: float = 0.0,
    returned: float = 0.0,
    bank_full: float,
    refill_days: float = 1.0,
) -> NitrogenDay:
    """One day of the account of a tree's nitrogen, closing to rounding and never below zero.

    Parameters
    ----------
    held : nitrogen in products, not yet freed, at the start of the day [g]
    soil : mineral nitrogen in the root zone at the start of the day [g]
    bank : nitrogen in the tree's reserve at the start of the day [g]
    given : nitrogen laid down in products that day [g]
    release : nitrogen the products would free that day; no more than is there is freed [g]
    humus : nitrogen the soil itself frees that day [g]
    drainage : water that leaves below the roots that day [mm]
    storage : water the root zone keeps when it has drained [mm]
    reach : share of the mineral nitrogen that roots can take that day [1]
    wanted : nitrogen that growth and fruit ask for that day [g]
    returned : nitrogen drawn back into the reserve from ageing leaves that day [g]
    bank_full : nitrogen the reserve can hold [g]
    refill_days : days over which the room left in the reserve is filled [d]

    Returns
    -------
    held : in products at the end of the day [g]
    soil : mineral nitrogen in the root zone at the end of the day [g]
    bank : in the reserve at the end of the day [g]
    freed : set free from products [g]
    leached : lost below the roots [g]
    uptake : taken up by roots [g]
    drawn : taken from the reserve for growth [g]
    refilled : laid into the reserve, from roots and from leaves [g]
    growth : spent on growth and fruit [g]
    short : asked for and not met [g]

    Raises
    ------
    BadInput: when an input is negative, missing or endless, the reach is outside 0 to 1, refill_days is
        below 1, or water drains through a root zone that keeps none

    Valid for
    ---------
    a day's step. The order within a day is a choice: products and humus, then drainage, then roots, then
    growth, so that a dose before heavy rain is washed before it is eaten

    Notes
    -----
    freed = min(release, held + given); s = soil + freed + humus; leached = s drainage/(drainage +
    storage); room = max(bank_full - bank - returned, 0)/refill_days; uptake = min(reach (s - leached),
    wanted + room); growth = min(wanted, bank + returned + uptake).

    Three accounts close: held + given - freed, soil + freed + humus - leached - uptake, and bank +
    returned + uptake - growth are the pools of the evening; so bank - drawn + refilled is the last one
    too. Leaves may return more than the reserve has room for: it then stands above bank_full and roots
    add only what is spent.

    References
    ----------
    burns-1974, mixing of percolating water with a layer
    judgement
    """
    numbers = {
        "held nitrogen": held, "soil nitrogen": soil, "bank": bank, "given nitrogen": given,
        "release": release, "humus": humus, "wanted nitrogen": wanted, "returned nitrogen": returned,
        "full bank": bank_full, "drainage": drainage, "storage": storage,
    }  # fmt: skip
    for name, value in numbers.items():
        if not math.isfinite(not_negative(value, name)):
            raise BadInput(said("{name} is missing", name=said(name)), "fill the gaps first")
    share = share_of_one(reach, "reach")
    if math.isnan(share) or not above_zero(refill_days, "refill_days") >= 1.0:
        raise BadInput("the reach must be known and refill_days be 1 or more")
    washed = nitrogen_leached(1.0, drainage, storage)
    return NitrogenDay(
        *_day(held, soil, bank, given, release, humus, washed, share, wanted, returned, bank_full, refill_days)
    )  # fmt: skip


def nitrogen_days(
    held: float,
    soil: float,
    bank: float,
    *,
    given: ArrayLike,
    release: ArrayLike,
    humus: ArrayLike,
    drainage: ArrayLike,
    storage: ArrayLike,
    reach: ArrayLike,
    wanted: ArrayLike,
    returned: ArrayLike,
    bank_full: float,
    refill_days: float = 1.0,
) -> NitrogenDays:
    """The account of a tree's nitrogen over a run of days.

    Parameters
    ----------
    held : nitrogen in products, not yet freed, before the first day [g]
    soil : mineral nitrogen in the root zone before the first day [g]
    bank : nitrogen in the tree's reserve before the first day [g]
    given : nitrogen laid down in products each day, shape (n,) [g]
    release : nitrogen the products would free each day, one value or shape (n,) [g]
    humus : nitrogen the soil itself frees each day, one value or shape (n,) [g]
    drainage : water that leaves below the roots each day, one value or shape (n,) [mm]
    storage : water the root zone keeps when it has drained, one value or shape (n,) [mm]
    reach : share of the mineral nitrogen that roots can take each day, one value or shape (n,) [1]
    wanted : nitrogen that growth and fruit ask for each day, one value or shape (n,) [g]
    returned : nitrogen drawn back from ageing leaves each day, one value or shape (n,) [g]
    bank_full : nitrogen the reserve can hold [g]
    refill_days : days over which the room left in the reserve is filled [d]

    Returns
    -------
    held : in products at the end of each day, shape (n,) [g]
    soil : mineral nitrogen in the root zone at the end of each day, shape (n,) [g]
    bank : in the reserve at the end of each day, shape (n,) [g]
    freed : set free from products, shape (n,) [g]
    leached : lost below the roots, shape (n,) [g]
    uptake : taken up by roots, shape (n,) [g]
    drawn : taken from the reserve for growth, shape (n,) [g]
    refilled : laid into the reserve, from roots and from leaves, shape (n,) [g]
    growth : spent on growth and fruit, shape (n,) [g]
    short : asked for and not met, shape (n,) [g]

    Raises
    ------
    BadInput: as nitrogen_day

    Valid for
    ---------
    as nitrogen_day

    Notes
    -----
    nitrogen_day after nitrogen_day, checked once.

    References
    ----------
    burns-1974, mixing of percolating water with a layer
    judgement
    """
    days = series(given, "given nitrogen").shape
    rows = {"given nitrogen": given, "release": release, "humus": humus, "drainage": drainage,
            "storage": storage, "wanted nitrogen": wanted, "returned nitrogen": returned}  # fmt: skip
    columns = {
        name: np.broadcast_to(at_least(values, name, 0.0), days) for name, values in rows.items()
    }
    columns["reach"] = np.broadcast_to(within(reach, "reach", 0.0, 1.0), days)
    for name, values in columns.items():
        if not np.all(np.isfinite(values)):
            raise BadInput(
                said("{name} is missing on some days", name=said(name)), "fill the gaps first"
            )
    start = {"held nitrogen": held, "soil nitrogen": soil, "bank": bank, "full bank": bank_full}
    for name, value in start.items():
        if math.isnan(not_negative(value, name)):
            raise BadInput(said("{name} is missing", name=said(name)))
    if not above_zero(refill_days, "refill_days") >= 1.0:
        raise BadInput("refill_days must be 1 or more")
    out, kept = columns.pop("drainage"), columns.pop("storage")
    if np.any((out > 0.0) & (kept == 0.0)):
        raise BadInput("water drains through a root zone that stores none", "give its storage")
    columns["washed"] = np.divide(out, out + kept, out=np.zeros(days), where=out > 0.0)
    order = (
        "given nitrogen", "release", "humus", "washed", "reach", "wanted nitrogen", "returned nitrogen",
    )  # fmt: skip
    result = np.empty((len(NitrogenDays._fields), *days))
    state = held, soil, bank
    rows_of_days = zip(*(columns[name].tolist() for name in order), strict=True)
    for day, (came, loose, freed, washed, share, asked, back) in enumerate(rows_of_days):
        found = _day(*state, came, loose, freed, washed, share, asked, back, bank_full, refill_days)
        result[:, day] = found
        state = found[0], found[1], found[2]
    return NitrogenDays(*result)
