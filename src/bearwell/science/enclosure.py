"""Cover, air and ground of a shelter from its measures, by shape."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import above_zero, share_of_one


class Enclosure(NamedTuple):
    """Area of the cover, volume of the air and area of the ground of a shelter."""

    cover: float
    air: float
    ground: float


def enclosure_hoop(length: float, width: float, height: float) -> Enclosure:
    """Cover, air and ground of a hoop tunnel with closed ends.

    Parameters
    ----------
    length : length of the tunnel [m]
    width : width at the ground [m]
    height : height of the crown [m]

    Returns
    -------
    cover : area of film and both ends [m2]
    air : volume inside [m3]
    ground : area of ground inside [m2]

    Raises
    ------
    BadInput: when a measure is not above zero

    Valid for
    ---------
    arches near half an ellipse, from low to high

    Notes
    -----
    Half the circumference of an ellipse of half-axes a = width/2 and b = height (Ramanujan's first
    form: pi/2 (3 (a + b) - sqrt((3 a + b)(a + 3 b)))) times the length, and two ends of pi a b/2.

    References
    ----------
    geometry, half an ellipse
    """
    a, b = above_zero(width, "width") / 2.0, above_zero(height, "height")
    along = above_zero(length, "length")
    arch = math.pi / 2.0 * (3.0 * (a + b) - math.sqrt((3.0 * a + b) * (a + 3.0 * b)))  # Ramanujan
    end = math.pi * a * b / 2.0
    return Enclosure(arch * along + 2.0 * end, end * along, width * along)


def enclosure_box(length: float, width: float, height: float) -> Enclosure:
    """Cover, air and ground of a box with four sides and a flat top.

    Parameters
    ----------
    length : length [m]
    width : width [m]
    height : height [m]

    Returns
    -------
    cover : area of the sides and the top [m2]
    air : volume inside [m3]
    ground : area of ground inside [m2]

    Raises
    ------
    BadInput: when a measure is not above zero

    Valid for
    ---------
    a frame or a cloth hung over stakes, closed to the ground

    Notes
    -----
    2 h (l + w) + l w.

    References
    ----------
    geometry, a box
    """
    along, across = above_zero(length, "length"), above_zero(width, "width")
    tall, floor = above_zero(height, "height"), length * width
    return Enclosure(2.0 * tall * (along + across) + floor, floor * tall, floor)


def enclosure_gable(
    length: float, width: float, height: float, eaves_share: float = 0.65
) -> Enclosure:
    """Cover, air and ground of a house with a ridge.

    Parameters
    ----------
    length : length along the ridge [m]
    width : width across it [m]
    height : height of the ridge [m]
    eaves_share : height of the eaves as a share of the ridge [1]

    Returns
    -------
    cover : area of walls, gables and both roofs [m2]
    air : volume inside [m3]
    ground : area of ground inside [m2]

    Raises
    ------
    BadInput: when a measure is not above zero or the share is outside 0 to 1

    Valid for
    ---------
    small houses; the share of the eaves is a guess where they were not measured

    Notes
    -----
    With eaves e: 2 e (l + w) + w (h - e) + 2 l sqrt((w/2)^2 + (h - e)^2).

    References
    ----------
    geometry, a house with a ridge
    """
    along, across = above_zero(length, "length"), above_zero(width, "width")
    ridge = above_zero(height, "height")
    eaves = share_of_one(eaves_share, "share of the eaves") * ridge
    rise, floor = ridge - eaves, along * across
    roof = 2.0 * along * math.hypot(across / 2.0, rise)
    walls = 2.0 * eaves * (along + across) + across * rise
    return Enclosure(walls + roof, floor * (eaves + rise / 2.0), floor)


ENCLOSURES: Final[Mapping[str, Callable[[float, float, float], Enclosure]]] = MappingProxyType(
    {"hoop": enclosure_hoop, "box": enclosure_box, "gable": enclosure_gable}
)


def enclosure_of(shape: str, length: float, width: float, height: float) -> Enclosure:
    """Cover, air and ground of a shelter of a named shape.

    Parameters
    ----------
    shape : hoop, box or gable [text]
    length : length [m]
    width : width [m]
    height : height [m]

    Returns
    -------
    cover : area of the cover [m2]
    air : volume inside [m3]
    ground : area of ground inside [m2]

    Raises
    ------
    BadInput: when the shape encloses nothing or a measure is not above zero

    Valid for
    ---------
    as the function of the shape

    Notes
    -----
    Looks the shape up in ENCLOSURES.

    References
    ----------
    geometry, by shape
    """
    if shape not in ENCLOSURES:
        raise BadInput(
            said("a {shape} encloses no air", shape=shape),
            said("shapes: {listed}", listed=", ".join(ENCLOSURES)),
        )
    return ENCLOSURES[shape](length, width, height)
