"""How much fruit a tree should carry, by several measures of its size."""

from __future__ import annotations

import math

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative, share_of_one


def trunk_section(girth: float) -> float:
    """Cross-section of a trunk from its girth.

    Parameters
    ----------
    girth : circumference over the bark [m]

    Returns
    -------
    cross-sectional area [m2]

    Raises
    ------
    BadInput: when the girth is negative

    Valid for
    ---------
    round trunks; several stems add up their sections

    Notes
    -----
    C^2/(4 pi).

    References
    ----------
    geometry, circle from its circumference
    """
    return not_negative(girth, "girth") ** 2 / (4.0 * math.pi)  # circle


def fruit_by_trunk_section(section: float, load: float) -> float:
    """Number of fruit for a trunk section.

    Parameters
    ----------
    section : cross-section of the trunk [m2]
    load : fruit for each square centimetre of section [fruit cm-2]

    Returns
    -------
    number of fruit [count]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    single-stemmed trees in full bearing, before section outgrows the canopy

    Notes
    -----
    load section.

    References
    ----------
    definition, crop load per trunk cross-section
    """
    return not_negative(load, "load") * not_negative(section, "section") * 1e4  # m2 to cm2


def fruit_by_girth(girth: float, load: float) -> float:
    """Number of fruit for a trunk girth.

    Parameters
    ----------
    girth : circumference over the bark [m]
    load : fruit for each centimetre of girth [fruit cm-1]

    Returns
    -------
    number of fruit [count]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    rules stated by girth

    Notes
    -----
    load girth.

    References
    ----------
    definition, crop load per trunk girth
    """
    return not_negative(load, "load") * not_negative(girth, "girth") * 100.0  # m to cm


def fruit_by_canopy(volume: float, load: float, fruit_mass: float) -> float:
    """Number of fruit for a canopy volume.

    Parameters
    ----------
    volume : canopy volume [m3]
    load : mass of fruit for each cubic metre of canopy [kg m-3]
    fruit_mass : mass of one fruit at harvest [g]

    Returns
    -------
    number of fruit [count]

    Raises
    ------
    BadInput: when an input is negative or a fruit has no mass

    Valid for
    ---------
    canopies in full bearing

    Notes
    -----
    load volume / fruit mass.

    References
    ----------
    definition, crop load per canopy volume
    """
    mass = not_negative(load, "load") * not_negative(volume, "volume") * 1000.0  # kg to g
    return mass / above_zero(fruit_mass, "fruit mass")


def fruit_by_leaves(leaves: float, leaves_per_fruit: float) -> float:
    """Number of fruit a number of leaves can feed.

    Parameters
    ----------
    leaves : number of leaves [count]
    leaves_per_fruit : leaves needed for each fruit [leaves/fruit]

    Returns
    -------
    number of fruit [count]

    Raises
    ------
    BadInput: when the number of leaves is negative or none is needed

    Valid for
    ---------
    healthy leaves in the light

    Notes
    -----
    leaves / leaves per fruit.

    References
    ----------
    definition, leaf to fruit ratio
    """
    return not_negative(leaves, "leaves") / above_zero(leaves_per_fruit, "leaves per fruit")


def fruit_in_mass(mass: float, fruit_mass: float) -> float:
    """Number of fruit in a mass of crop.

    Parameters
    ----------
    mass : mass of the crop [g]
    fruit_mass : mass of one fruit [g]

    Returns
    -------
    number of fruit [count]

    Raises
    ------
    BadInput: when the mass is negative or a fruit has none

    Valid for
    ---------
    a mean fruit mass of the same crop

    Notes
    -----
    mass / fruit mass.

    References
    ----------
    definition, a count from a mean mass
    """
    return not_negative(mass, "mass") / above_zero(fruit_mass, "fruit mass")


def fruit_to_remove(present: float, target: float, expected_drop: float) -> float:
    """Number of fruit to thin so that the target is left at harvest.

    Parameters
    ----------
    present : fruit on the tree now [count]
    target : fruit wanted at harvest [count]
    expected_drop : share of the fruit left that will still fall by itself [1]

    Returns
    -------
    fruit to take off, not negative [count]

    Raises
    ------
    BadInput: when a count is negative or the drop is not below 1

    Valid for
    ---------
    drop that does not depend on thinning

    Notes
    -----
    present - target/(1 - drop).

    References
    ----------
    common-practice
    """
    drop = share_of_one(expected_drop, "expected drop")
    if drop >= 1.0:
        raise BadInput("when every fruit will fall there is nothing to thin")
    keep = not_negative(target, "target") / (1.0 - drop)
    return max(not_negative(present, "fruit present") - keep, 0.0)


def young_tree_share(years: float, fruitless_years: float, full_bearing_years: float) -> float:
    """Share of a full crop a young tree may carry.

    Parameters
    ----------
    years : years since planting [yr]
    fruitless_years : years in which every fruit should come off [yr]
    full_bearing_years : years from planting to full bearing [yr]

    Returns
    -------
    share of the full load, 0 to 1 [1]

    Raises
    ------
    BadInput: when a number of years is negative or full bearing does not come after the fruitless
        years

    Valid for
    ---------
    healthy trees

    Notes
    -----
    0 up to the fruitless years, then a straight line to 1 at full bearing.

    References
    ----------
    common-practice
    """
    age, bare = not_negative(years, "years"), not_negative(fruitless_years, "fruitless years")
    if full_bearing_years <= bare:
        raise BadInput("full bearing must come after the fruitless years")
    return min(max((age - bare) / (full_bearing_years - bare), 0.0), 1.0)
