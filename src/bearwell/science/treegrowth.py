"""Growth of a canopy over the coming years, and its reduction over several."""

from __future__ import annotations

import math
from typing import NamedTuple

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative, share_of_one
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import ALL_ROUND, Form, canopy_volume, scaled_canopy


def yearly_growth_factor(age: float, power: float, vigour: float) -> float:
    """Measure of an uncut canopy a year on, over what it is now.

    Parameters
    ----------
    age : age of the tree [yr]
    power : power of age that height and spread follow [1]
    vigour : size on its rootstock relative to a seedling stock [1]

    Returns
    -------
    height or spread in a year over the present one [1]

    Raises
    ------
    BadInput: when the age is not above zero, or power or vigour is negative

    Valid for
    ---------
    trees left uncut for the year, in good health; a pot or a hard winter holds them back

    Notes
    -----
    Height and spread against age are power laws y = b x^k: 1 + v ((a + 1)^k / a^k - 1). That vigour
    multiplies the gain is ours.

    References
    ----------
    turrell-1969, power laws of height, trunk and leaf area against age
    """
    years, strength = above_zero(age, "age"), not_negative(vigour, "vigour")
    gain = math.pow((years + 1.0) / years, not_negative(power, "power")) - 1.0  # Turrell 1969
    return 1.0 + strength * gain


def age_by_size(
    measure: float, grown: float, years_to_grown: float, power: float, vigour: float
) -> float:
    """Age at which a tree on this stock usually has a measure.

    Parameters
    ----------
    measure : its present height or spread [m]
    grown : the same of a grown tree [m]
    years_to_grown : years from planting to grown size [yr]
    power : power of age that height and spread follow [1]
    vigour : size on its rootstock relative to a seedling stock [1]

    Returns
    -------
    age on the usual curve [yr]

    Raises
    ------
    BadInput: when a figure is not above zero

    Valid for
    ---------
    ordinary garden trees

    Notes
    -----
    The inverse of y = grown vigour (age / years_to_grown)^k.

    References
    ----------
    turrell-1969, power laws of height, trunk and leaf area against age
    """
    full = above_zero(grown, "grown size") * above_zero(vigour, "vigour")
    share = above_zero(measure, "measure") / full
    part = math.pow(share, 1.0 / above_zero(power, "power"))
    return above_zero(years_to_grown, "years to grown") * part


class Habit(NamedTuple):
    """What growth needs to know of a tree: grown height, years to it, power of age, vigour, and any limit."""

    grown: float
    years_to_grown: float
    power: float
    vigour: float
    widest: float = math.inf


def canopy_a_year_on(size: CanopySize, age: float, habit: Habit) -> CanopySize:
    """Measures of an uncut canopy a year on.

    Parameters
    ----------
    size : height of the tree and its spreads along and across [m]
    age : age of the tree [yr]
    habit : grown height [m], years to it [yr], power of age [1], vigour [1] and widest measure [m]

    Returns
    -------
    height : height of the tree above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Raises
    ------
    BadInput: when a measure is not above zero

    Valid for
    ---------
    trees left uncut for the year, in good health

    Notes
    -----
    The elder of its own age and the age its height has on the usual curve sets the pace, so that a tree
    that has outgrown its kind slows down. Nothing grows past the widest measure, such as a pot's.

    References
    ----------
    turrell-1969, power laws of height, trunk and leaf area against age
    """
    usual = age_by_size(
        size.height, habit.grown, habit.years_to_grown, habit.power, habit.vigour
    )  # inverse of the power law
    factor = yearly_growth_factor(max(age, usual), habit.power, habit.vigour)
    grown = scaled_canopy(size, 0.0, ALL_ROUND, factor)
    held = (min(new, max(now, habit.widest)) for new, now in zip(grown, size, strict=True))
    return CanopySize(*held)


class ReductionYear(NamedTuple):
    """One year of a reduction: the share cut, the size after it, and the size a year's growth later."""

    share: float
    after: CanopySize
    grown: CanopySize


def reduction_plan(
    size: CanopySize,
    skirt: float,
    form: Form,
    wanted: CanopySize,
    most: float,
    age: float,
    habit: Habit,
    years: int,
) -> list[ReductionYear]:
    """Cuts of the coming years that bring a canopy down to a wanted size.

    Parameters
    ----------
    size : height of the tree and its spreads along and across [m]
    skirt : height of the lowest foliage above the ground [m]
    form : the shape of the canopy [1]
    wanted : height and spreads it is to have after its last cut [m]
    most : largest share of the volume cut in a year [1]
    age : age of the tree [yr]
    habit : grown height [m], years to it [yr], power of age [1], vigour [1] and widest measure [m]
    years : years after which it is given up [count]

    Returns
    -------
    for each year the share cut, the size after and the size grown by the next cut [1]

    Raises
    ------
    BadInput: when a measure is negative, the wanted height not above the skirt, or the share outside 0 to 1

    Valid for
    ---------
    one cut a year; what regrows in between is part of the plan

    Notes
    -----
    Each year the way still to go is found for height and both spreads; where it takes more than the
    share, they go the same part of their way, found by halving, that takes the share exactly. What is no
    larger than wanted from the start is held there every year, what it grew coming off first. The list
    ends with the year that reaches the wanted size, or after ``years``.

    References
    ----------
    geometry, similar figures
    """
    if wanted.height <= skirt:
        raise BadInput(
            "the wanted height is not above the skirt", "lift the skirt first, or ask for more"
        )
    share_of_one(most, "share")
    found: list[ReductionYear] = []
    here, small = size, [now <= then for now, then in zip(size, wanted, strict=True)]
    for year in range(years):
        before = canopy_volume(here, skirt, form)
        after = _towards(here, skirt, wanted, 1.0)
        if 1.0 - canopy_volume(after, skirt, form) / before > most:
            least = before * (1.0 - most)
            kept = zip(here, wanted, small, strict=True)
            held = CanopySize(*(min(now, then) if holds else now for now, then, holds in kept))
            start = held if canopy_volume(held, skirt, form) >= least else here
            after = _part_of_the_way(start, skirt, form, wanted, least)
        share = 1.0 - canopy_volume(after, skirt, form) / before
        grown = canopy_a_year_on(after, age + year, habit)
        found.append(ReductionYear(share, after, grown))
        if after == _towards(here, skirt, wanted, 1.0):
            break
        here = grown
    return found


def _towards(here: CanopySize, skirt: float, wanted: CanopySize, part: float) -> CanopySize:
    """A canopy that has gone a part of the way to the wanted one; measures already smaller stay."""

    def gone(now: float, then: float) -> float:
        return then if part == 1.0 and then < now else now * min(then / now, 1.0) ** part

    return CanopySize(
        skirt + gone(here.height - skirt, wanted.height - skirt),
        gone(here.spread_along, wanted.spread_along),
        gone(here.spread_across, wanted.spread_across),
    )


def _part_of_the_way(
    here: CanopySize, skirt: float, form: Form, wanted: CanopySize, volume: float
) -> CanopySize:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if canopy_volume(_towards(here, skirt, wanted, middle), skirt, form) > volume:
            low = middle
        else:
            high = middle
    return _towards(here, skirt, wanted, low)  # never past the share


def light_share(extinction: float, leaf_layers: float, depth: float) -> float:
    """Share of full light that reaches a depth of the crown.

    Parameters
    ----------
    extinction : extinction coefficient of the leaves [1]
    leaf_layers : layers of leaf from top to bottom of the crown [1]
    depth : depth below the top over the depth of the crown [1]

    Returns
    -------
    light there over the light above the tree [1]

    Raises
    ------
    BadInput: when a figure is negative or the depth outside 0 to 1

    Valid for
    ---------
    crowns filled evenly with leaves, light from above; rough for a single tree, whose sides let in more

    Notes
    -----
    Beer and Lambert: exp(-k L d). The interception model of Jackson, F = Fmax (1 - exp(-K L/Fmax)), within
    the crown itself, where Fmax is one.

    References
    ----------
    jackson-orchard-light, equation for F
    """
    layers = not_negative(leaf_layers, "leaf layers") * share_of_one(depth, "depth")
    return math.exp(-not_negative(extinction, "extinction") * layers)  # Jackson, equation for F
