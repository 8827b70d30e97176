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


def orange_trunk_girth(age: float) -> float:
    """Girth a young orange trunk has at an age.

    Parameters
    ----------
    age : age of the tree [d]

    Returns
    -------
    circumference of the trunk [m]

    Raises
    ------
    BadInput: when the age is negative

    Valid for
    ---------
    sweet orange of up to about 1600 days; the five trees measured stayed below 22 cm, and the
    curve knows nothing of older ones

    Notes
    -----
    A/(1 + exp((m - t)/s)), the logistic curve through all five trees together: A 192.687 mm,
    m 728.755 d, s 353.532 d, residual 23 mm.

    References
    ----------
    draper-smith-1981, growth of five orange trees
    """
    shape = (728.755 - not_negative(age, "age")) / 353.532  # Draper and Smith 1981
    return 192.687 / (1.0 + math.exp(shape)) / 1000.0  # Draper and Smith 1981, mm to m


def canopy_surface(height: float, skirt: float, along: float, across: float) -> float:
    """Surface of an ellipsoid canopy, top and underside.

    Parameters
    ----------
    height : height of the tree [m]
    skirt : height of the lowest foliage [m]
    along : spread along the row [m]
    across : spread across the row [m]

    Returns
    -------
    surface [m2]

    Raises
    ------
    BadInput: when a measure is negative or the skirt is not below the top

    Valid for
    ---------
    rounded canopies; within 1.2 % of the exact ellipsoid

    Notes
    -----
    4 pi ((a^p b^p + a^p c^p + b^p c^p)/3)^(1/p) with p = 1.6075 and the half axes a, b, c.

    References
    ----------
    geometry, surface of an ellipsoid, approximation of Thomsen
    """
    half = (not_negative(height, "height") - not_negative(skirt, "skirt")) / 2.0
    if half <= 0.0:
        raise BadInput("the skirt must be below the top")
    p = 1.6075  # Thomsen
    a, b = not_negative(along, "spread") / 2.0, not_negative(across, "spread") / 2.0
    mean = ((a * b) ** p + (a * half) ** p + (b * half) ** p) / 3.0
    return float(4.0 * math.pi * mean ** (1.0 / p))  # Thomsen


def load_for_delay(days: float, per_doubling: float) -> float:
    """Crop, as a multiple of an even one, that ripens no later than a number of days after it.

    Parameters
    ----------
    days : days that ripening may be late; negative when it has to be early [d]
    per_doubling : days later for each doubling of the crop [d]

    Returns
    -------
    crop relative to an even one [1]

    Raises
    ------
    BadInput: when there is no delay for a doubling

    Valid for
    ---------
    crops between a quarter and four times an even one

    Notes
    -----
    2^(days / days for each doubling).

    References
    ----------
    definition, inverse of a delay for each doubling
    """
    return float(2.0 ** (days / above_zero(per_doubling, "days for each doubling")))
