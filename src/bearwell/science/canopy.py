"""Geometry of a tree's canopy."""

from __future__ import annotations

import math
from typing import NamedTuple

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative, share_of_one


class CanopySize(NamedTuple):
    """Outer measures of a canopy."""

    height: float
    spread_along: float
    spread_across: float


def canopy_area(spread_along: float, spread_across: float) -> float:
    """Ground a canopy covers, taken as an ellipse.

    Parameters
    ----------
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Returns
    -------
    area under the canopy [m2]

    Raises
    ------
    BadInput: when a width is negative

    Valid for
    ---------
    single trees

    Notes
    -----
    pi/4 W1 W2.

    References
    ----------
    geometry, area of an ellipse
    """
    along = not_negative(spread_along, "spread along")
    return math.pi / 4.0 * along * not_negative(spread_across, "spread across")  # ellipse


def canopy_volume_ellipsoid(
    height: float, skirt: float, spread_along: float, spread_across: float
) -> float:
    """Volume of a canopy as an ellipsoid standing on its skirt.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative or the skirt is above the top

    Valid for
    ---------
    rounded crowns; hedges and pruned walls hold more

    Notes
    -----
    pi/6 (H - skirt) W1 W2.

    References
    ----------
    geometry, volume of an ellipsoid
    """
    crown = not_negative(height, "height") - not_negative(skirt, "skirt")
    if crown < 0.0:
        raise BadInput("the skirt of a canopy is above its top")
    widths = not_negative(spread_along, "spread along") * not_negative(spread_across, "spread")
    return math.pi / 6.0 * crown * widths  # ellipsoid


def canopy_volume_spheroid(canopy_height: float, diameter: float) -> float:
    """Volume of a round canopy from its height and diameter.

    Parameters
    ----------
    canopy_height : height of the canopy itself, skirt to top [m]
    diameter : canopy width [m]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative

    Valid for
    ---------
    rounded crowns, as wide one way as the other

    Notes
    -----
    pi/6 H D^2, in use for citrus as 0.5236 H D^2.

    References
    ----------
    turrell-1946, prolate spheroid
    """
    width = not_negative(diameter, "diameter")
    return math.pi / 6.0 * not_negative(canopy_height, "height") * width**2  # Turrell 1946


def canopy_volume_cut_spheroid(height: float, diameter: float, clearance: float) -> float:
    """Volume of a spheroid whose lowest part has been cut off flat.

    Parameters
    ----------
    height : height of the whole spheroid, ground to top [m]
    diameter : canopy width [m]
    clearance : height of the cut above the ground [m]

    Returns
    -------
    canopy volume above the cut [m3]

    Raises
    ------
    BadInput: when a measure is negative or the cut is above the top

    Valid for
    ---------
    trees that reached the ground before their skirt was lifted

    Notes
    -----
    Integral of pi a^2 (1 - z^2/c^2) from clearance - c to c, with a = D/2, c = H/2.

    References
    ----------
    geometry, segment of a spheroid
    """
    half = above_zero(height, "height") / 2.0
    cut = not_negative(clearance, "clearance") - half
    if cut > half:
        raise BadInput("the skirt of a canopy is above its top")
    disc = math.pi * (not_negative(diameter, "diameter") / 2.0) ** 2

    def below(z: float) -> float:
        return z - z**3 / (3.0 * half**2)

    return disc * (below(half) - below(cut))  # integral of the discs


def hedgerow_volume(
    length: float, canopy_height: float, width_top: float, width_base: float
) -> float:
    """Volume of a hedged row or an espalier.

    Parameters
    ----------
    length : length of the row or tree along the row [m]
    canopy_height : height of the canopy itself, skirt to top [m]
    width_top : width at the top [m]
    width_base : width at the base [m]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative

    Valid for
    ---------
    flat-sided hedges

    Notes
    -----
    L H (Wtop + Wbase)/2.

    References
    ----------
    geometry, prism over a trapezium
    """
    section = (not_negative(width_top, "width") + not_negative(width_base, "width")) / 2.0
    return not_negative(length, "length") * not_negative(canopy_height, "height") * section


def hedge_top_height(shoulder: float, half_width: float, roof_angle: float) -> float:
    """Height of the ridge of a hedge whose top slopes up from both shoulders.

    Parameters
    ----------
    shoulder : height of the shoulder above the ground [m]
    half_width : width of the hedge at the shoulder, halved [m]
    roof_angle : slope of the top against the level [deg]

    Returns
    -------
    height of the ridge [m]

    Raises
    ------
    BadInput: when a measure is negative or the angle is not below 80

    Valid for
    ---------
    symmetrical roofs

    Notes
    -----
    shoulder + half width tan(angle).

    References
    ----------
    geometry, right triangle
    """
    slope = not_negative(roof_angle, "roof angle")
    if slope >= 80.0:
        raise BadInput("a hedge's roof is flatter than 80 degrees")
    rise = not_negative(half_width, "half width") * math.tan(math.radians(slope))
    return not_negative(shoulder, "shoulder") + rise


def height_and_spread_after_removal(
    height: float, skirt: float, spread_along: float, spread_across: float, share: float
) -> CanopySize:
    """Measures of a canopy after a share of its volume is pruned off evenly, the skirt kept.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]
    share : share of the volume taken off [1]

    Returns
    -------
    height : height of the tree above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Raises
    ------
    BadInput: when a measure is negative, the skirt is above the top, or the share outside 0 to 1

    Valid for
    ---------
    the same cut all round; thinning inside the crown takes leaves without changing the measures

    Notes
    -----
    The three measures of the canopy shrink by the cube root of the share left; the top comes down
    towards a skirt that stays.

    References
    ----------
    geometry, similar solids
    """
    crown = not_negative(height, "height") - not_negative(skirt, "skirt")
    if crown < 0.0:
        raise BadInput("the skirt of a canopy is above its top")
    scale = (1.0 - share_of_one(share, "share")) ** (1.0 / 3.0)  # similar solids
    along, across = not_negative(spread_along, "spread"), not_negative(spread_across, "spread")
    return CanopySize(skirt + crown * scale, along * scale, across * scale)


def leaf_area(area: float, leaf_area_index: float) -> float:
    """Leaf area of a canopy.

    Parameters
    ----------
    area : ground under the canopy [m2]
    leaf_area_index : leaf area over ground area within the canopy [1]

    Returns
    -------
    leaf area, one side [m2]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    canopies in full leaf

    Notes
    -----
    Definition of the leaf area index.

    References
    ----------
    definition, leaf area index
    """
    return not_negative(area, "area") * not_negative(leaf_area_index, "leaf area index")


def leaf_count(leaves_area: float, area_per_leaf: float) -> float:
    """Number of leaves of a canopy.

    Parameters
    ----------
    leaves_area : leaf area of the canopy, one side [m2]
    area_per_leaf : area of a typical leaf, one side [m2]

    Returns
    -------
    number of leaves [count]

    Raises
    ------
    BadInput: when the area is negative or a leaf has none

    Valid for
    ---------
    canopies in full leaf

    Notes
    -----
    area / area per leaf.

    References
    ----------
    definition, a count from a mean size
    """
    return not_negative(leaves_area, "leaf area") / above_zero(area_per_leaf, "area per leaf")
