"""Room for a canopy under a hoop, box or gable."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import above_zero, not_negative
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import Cut, Form, scaled_canopy, width_share

STEPS = 30  # levels of the crown at which the room is looked at
HALVINGS = 20


def cover_height(shape: str, width: float, height: float, eaves: float, offset: float) -> float:
    """Height of a cover above the ground at a distance from its middle line.

    Parameters
    ----------
    shape : hoop (half an ellipse), gable or box [text]
    width : width of the cover at the ground [m]
    height : height of the cover at its middle line [m]
    eaves : height of a gable's eaves [m]
    offset : distance from the middle line [m]

    Returns
    -------
    height of the cover there; nothing beyond its side [m]

    Raises
    ------
    BadInput: when the shape is unknown or a measure negative

    Valid for
    ---------
    covers that stand level, the same along their length

    Notes
    -----
    Hoop: H sqrt(1 - (x / (W/2))^2). Gable: from the eaves straight up to the ridge.

    References
    ----------
    geometry, half ellipse and triangle
    """
    half, top = above_zero(width, "width") / 2.0, not_negative(height, "height")
    out = abs(offset) / half
    return _outline(shape, top, eaves)(out) if out <= 1.0 else 0.0


def _outline(shape: str, top: float, eaves: float) -> Callable[[float], float]:
    """Height of a cover by the distance from its middle line, over half its width."""
    if shape == "hoop":
        return lambda out: top * math.sqrt(max(1.0 - out**2, 0.0))  # half ellipse
    if shape == "gable":
        fall = top - not_negative(eaves, "eaves")
        return lambda out: top - fall * out
    if shape == "box":
        return lambda _: top
    raise BadInput(said("'{shape}' is not the shape of a cover", shape=shape), "hoop, gable or box")


def least_clearance(
    size: CanopySize,
    skirt: float,
    form: Form,
    shape: str,
    width: float,
    height: float,
    eaves: float,
) -> float:
    """Least room between a canopy in the middle of a cover and the cover, straight up.

    Parameters
    ----------
    size : height of the tree and its spreads along and across the cover [m]
    skirt : height of the lowest foliage above the ground [m]
    form : the shape of the canopy [1]
    shape : hoop (half an ellipse), gable or box [text]
    width : width of the cover at the ground [m]
    height : height of the cover at its middle line [m]
    eaves : height of a gable's eaves [m]

    Returns
    -------
    room, negative where the canopy stands through the cover [m]

    Raises
    ------
    BadInput: when a shape is unknown or a measure negative

    Valid for
    ---------
    trees that stand on the middle line

    Notes
    -----
    The cover's height at the edge of the canopy less the height of that edge, at 31 levels of the crown, and
    the room beside it at its widest.

    References
    ----------
    geometry, outline against outline
    """
    crown, widest = size.height - skirt, size.spread_across / 2.0
    half, top = above_zero(width, "width") / 2.0, not_negative(height, "height")
    cover, room = _outline(shape, top, eaves), math.inf
    for level, share in _levels(form, skirt / size.height):
        reach = widest * share
        above = cover(reach / half) if reach <= half else 0.0
        room = min(room, above - skirt - crown * level, half - reach)
    return room


@lru_cache(maxsize=256)
def _levels(form: Form, lifted: float) -> tuple[tuple[float, float], ...]:
    """Levels of a crown, and its width at each over its full spread."""
    levels = [step / STEPS for step in range(STEPS + 1)]
    return tuple((level, width_share(form, level, lifted)) for level in levels)


def fitting_scale(
    size: CanopySize,
    skirt: float,
    form: Form,
    shape: str,
    width: float,
    height: float,
    eaves: float,
    room: float,
    cut: Cut,
) -> float:
    """Largest scale at which a canopy stands free of its cover, its skirt kept.

    Parameters
    ----------
    size : height of the tree and its spreads along and across the cover [m]
    skirt : height of the lowest foliage above the ground [m]
    form : the shape of the canopy [1]
    shape : hoop (half an ellipse), gable or box [text]
    width : width of the cover at the ground [m]
    height : height of the cover at its middle line [m]
    eaves : height of a gable's eaves [m]
    room : wanted room between leaves and cover [m]
    cut : which of height, spread along and spread across become smaller [1]

    Returns
    -------
    scale of those measures, the height above the skirt; 1 where it fits as it is [1]

    Raises
    ------
    BadInput: when no such cut makes it fit, a shape is unknown or a measure negative

    Valid for
    ---------
    trees that stand on the middle line

    Notes
    -----
    Found to a millionth by halving the least clearance against the wanted room.

    References
    ----------
    geometry, outline against outline
    """

    def free(scale: float) -> bool:
        shrunk = scaled_canopy(size, skirt, cut, scale)
        return least_clearance(shrunk, skirt, form, shape, width, height, eaves) >= room

    if free(1.0):
        return 1.0
    if not free(0.0):
        raise BadInput(
            "no cut of this sort fits the canopy under its cover", "raise or widen the cover"
        )
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if free(middle) else (low, middle)
    return low
