"""Volume and outline of a canopy by its shape, and its measures after a cut."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import not_negative, share_of_one
from bearwell.science.canopy import (
    CanopySize,
    canopy_volume_cut_spheroid,
    canopy_volume_ellipsoid,
    hedgerow_volume,
)

Cut = tuple[bool, bool, bool]
"""Which measures a cut makes smaller: height, spread along, spread across."""
ALL_ROUND: Cut = (True, True, True)


def _crown(height: float, skirt: float) -> float:
    """Height of the crown itself; BadInput when the skirt is above the top."""
    crown = not_negative(height, "height") - not_negative(skirt, "skirt")
    if crown < 0.0:
        raise BadInput("the skirt of a canopy is above its top")
    return crown


def _widths(spread_along: float, spread_across: float) -> float:
    return not_negative(spread_along, "spread along") * not_negative(spread_across, "spread across")


def canopy_volume_cone(
    height: float, skirt: float, spread_along: float, spread_across: float
) -> float:
    """Volume of a canopy that is widest at its skirt and pointed at the top.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : canopy width one way, at the skirt [m]
    spread_across : canopy width the other way, at the skirt [m]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative or the skirt is above the top

    Valid for
    ---------
    trees with one leader; rounded ones hold twice as much

    Notes
    -----
    pi/12 (H - skirt) W1 W2.

    References
    ----------
    geometry, volume of an elliptical cone
    """
    return math.pi / 12.0 * _crown(height, skirt) * _widths(spread_along, spread_across)  # cone


def canopy_volume_vase(
    height: float, skirt: float, spread_along: float, spread_across: float, taper: float
) -> float:
    """Volume of an open cup that widens from the skirt to the top.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : canopy width one way, at the top [m]
    spread_across : canopy width the other way, at the top [m]
    taper : width at the skirt over the width at the top [1]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative, the skirt above the top, or the taper outside 0 to 1

    Valid for
    ---------
    open-centre trees, the empty middle counted with the canopy as growers measure it

    Notes
    -----
    Frustum of an elliptical cone: pi/12 (H - skirt) W1 W2 (1 + t + t^2).

    References
    ----------
    geometry, frustum of a cone
    """
    narrow = share_of_one(taper, "taper")
    full = math.pi / 12.0 * _crown(height, skirt) * _widths(spread_along, spread_across)
    return full * (1.0 + narrow + narrow**2)  # frustum


def canopy_volume_dome(
    height: float, skirt: float, spread_along: float, spread_across: float, straight: float
) -> float:
    """Volume of a half globe standing on upright sides.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]
    straight : share of the crown's height with upright sides [1]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative, the skirt above the top, or the share outside 0 to 1

    Valid for
    ---------
    trees with leaves down to the skirt; bushes of many stems with no upright sides

    Notes
    -----
    pi/4 W1 W2 (H - skirt) (s + 2/3 (1 - s)): a cylinder and half an ellipsoid.

    References
    ----------
    geometry, cylinder and half ellipsoid
    """
    upright = share_of_one(straight, "straight share")
    block = math.pi / 4.0 * _crown(height, skirt) * _widths(spread_along, spread_across)
    return block * (upright + 2.0 / 3.0 * (1.0 - upright))  # cylinder and half ellipsoid


def canopy_volume_skirted(
    height: float, skirt: float, spread_along: float, spread_across: float
) -> float:
    """Volume of a canopy rounded down to the ground whose skirt was cut off level.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height at which it was cut off above the ground [m]
    spread_along : widest canopy width one way [m]
    spread_across : widest canopy width the other way [m]

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
    The spheroid cut by its skirt, with W1 W2 in place of D^2.

    References
    ----------
    geometry, segment of an ellipsoid
    """
    if _crown(height, skirt) == 0.0:
        return 0.0
    mean = math.sqrt(_widths(spread_along, spread_across))
    return canopy_volume_cut_spheroid(height, mean, skirt)


def canopy_volume_wall(
    height: float, skirt: float, spread_along: float, spread_across: float, taper: float
) -> float:
    """Volume of a hedge or a flat-trained tree with plane sides.

    Parameters
    ----------
    height : height of the tree above the ground [m]
    skirt : height of the lowest foliage above the ground [m]
    spread_along : length along the row or wall [m]
    spread_across : width, or depth from the wall, at the foot [m]
    taper : width at the top over the width at the foot [1]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when a measure is negative, the skirt above the top, or the taper outside 0 to 1

    Valid for
    ---------
    flat-sided hedges and espaliers

    Notes
    -----
    L (H - skirt) W (1 + t)/2.

    References
    ----------
    geometry, prism over a trapezium
    """
    top = spread_across * share_of_one(taper, "taper")
    return hedgerow_volume(spread_along, _crown(height, skirt), top, spread_across)


class Form(NamedTuple):
    """A shape with its figures: which it is, its taper, its upright share, and what a cut shortens."""

    name: str = "spheroid"
    taper: float = 1.0
    straight: float = 0.0
    cut: Cut = ALL_ROUND


# Rivals by name: the volume of each shape from (height, skirt, along, across, form).
VOLUMES: dict[str, Callable[[float, float, float, float, Form], float]] = {
    "spheroid": lambda h, s, a, b, _: canopy_volume_ellipsoid(h, s, a, b),
    "skirted": lambda h, s, a, b, _: canopy_volume_skirted(h, s, a, b),
    "dome": lambda h, s, a, b, f: canopy_volume_dome(h, s, a, b, f.straight),
    "hedge": lambda h, s, a, b, f: canopy_volume_wall(h, s, a, b, f.taper),
    "cone": lambda h, s, a, b, _: canopy_volume_cone(h, s, a, b),
    "vase": lambda h, s, a, b, f: canopy_volume_vase(h, s, a, b, f.taper),
    "espalier": lambda h, s, a, b, f: canopy_volume_wall(h, s, a, b, f.taper),
    "multi-stem": lambda h, s, a, b, f: canopy_volume_dome(h, s, a, b, f.straight),
}


def _known(form: Form) -> None:
    if form.name not in VOLUMES:
        raise BadInput(
            said("'{shape}' is not a shape of canopy", shape=form.name),
            said("one of {listed}", listed=", ".join(VOLUMES)),
        )


def canopy_volume(size: CanopySize, skirt: float, form: Form) -> float:
    """Volume of a canopy of any known shape.

    Parameters
    ----------
    size : height of the tree and its spreads along and across [m]
    skirt : height of the lowest foliage above the ground [m]
    form : the shape with its taper and upright share [1]

    Returns
    -------
    canopy volume [m3]

    Raises
    ------
    BadInput: when the shape is unknown, a measure negative, or the skirt above the top

    Valid for
    ---------
    single trees, outer measures

    Notes
    -----
    The function of the shape in VOLUMES.

    References
    ----------
    geometry, one solid for each shape
    """
    _known(form)
    return VOLUMES[form.name](size.height, skirt, size.spread_along, size.spread_across, form)


def width_share(form: Form, level: float, lifted: float) -> float:
    """Width of a canopy at a level of its crown, over its full spread.

    Parameters
    ----------
    form : the shape with its taper and upright share [1]
    level : height within the crown, 0 at the skirt and 1 at the top [1]
    lifted : skirt over the height of the tree, which only the skirted shape asks for [1]

    Returns
    -------
    width over the full spread [1]

    Raises
    ------
    BadInput: when the shape is unknown or the level outside 0 to 1

    Valid for
    ---------
    the outline of a canopy; for a hedge or espalier its width or depth, the length being even

    Notes
    -----
    Ellipse sqrt(1 - (2u - 1)^2); half ellipse above the upright sides; straight lines for cone, vase and
    hedge; the skirted shape is an ellipse from the ground, read above its skirt.

    References
    ----------
    geometry, outline of each solid
    """
    _known(form)
    up = share_of_one(level, "level")
    if form.name == "cone":
        return 1.0 - up
    if form.name == "vase":
        return form.taper + (1.0 - form.taper) * up
    if form.name in ("hedge", "espalier"):
        return 1.0 - (1.0 - form.taper) * up
    if form.name in ("dome", "multi-stem"):
        rest = max(up - form.straight, 0.0) / max(1.0 - form.straight, 1e-12)
        return math.sqrt(max(1.0 - rest**2, 0.0))
    foot = share_of_one(lifted, "lifted share") if form.name == "skirted" else 0.0
    whole = foot + (1.0 - foot) * up
    return math.sqrt(max(1.0 - (2.0 * whole - 1.0) ** 2, 0.0))  # ellipse


def scaled_canopy(size: CanopySize, skirt: float, cut: Cut, scale: float) -> CanopySize:
    """Measures of a canopy made smaller, its skirt kept.

    Parameters
    ----------
    size : height of the tree and its spreads along and across [m]
    skirt : height of the lowest foliage above the ground [m]
    cut : which of height, spread along and spread across become smaller [1]
    scale : new over old length of those [1]

    Returns
    -------
    height : height of the tree above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Raises
    ------
    BadInput: when a measure is negative or the skirt above the top

    Valid for
    ---------
    cuts and growth alike

    Notes
    -----
    The top moves towards a skirt that stays.

    References
    ----------
    geometry, similar figures
    """
    crown = _crown(size.height, skirt)
    high, along, across = (scale if one else 1.0 for one in cut)
    return CanopySize(skirt + crown * high, size.spread_along * along, size.spread_across * across)


def canopy_after_removal(size: CanopySize, skirt: float, form: Form, share: float) -> CanopySize:
    """Measures of a canopy after a share of its volume is cut off, its skirt and its shape kept.

    Parameters
    ----------
    size : height of the tree and its spreads along and across [m]
    skirt : height of the lowest foliage above the ground [m]
    form : the shape, which says what a cut shortens [1]
    share : share of the volume taken off [1]

    Returns
    -------
    height : height of the tree above the ground [m]
    spread_along : canopy width one way [m]
    spread_across : canopy width the other way [m]

    Raises
    ------
    BadInput: when a measure is negative, the skirt above the top, or the share outside 0 to 1

    Valid for
    ---------
    an even cut; thinning inside the crown takes leaves without changing the measures

    Notes
    -----
    One scale for the measures the shape gives, found by halving: the volume left is (1 - share) times the
    volume before.

    References
    ----------
    geometry, similar figures
    """
    left = 1.0 - share_of_one(share, "share")
    wanted = left * canopy_volume(size, skirt, form)
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if canopy_volume(scaled_canopy(size, skirt, form.cut, middle), skirt, form) < wanted:
            low = middle
        else:
            high = middle
    return scaled_canopy(size, skirt, form.cut, 1.0 if share == 0.0 else high)
