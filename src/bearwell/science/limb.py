"""Limbs under the weight of their fruit."""

from __future__ import annotations

import math
from typing import Final

from bearwell.errors import BadInput
from bearwell.science._arrays import above_zero, not_negative

GRAVITY: Final = 9.80665  # m s-2, standard acceleration, 3rd CGPM 1901
PASCALS: Final = 1e6  # Pa in a MPa


def bending_stress(load: float, reach: float, diameter: float) -> float:
    """Bending stress at the base of a round limb with a load at its end.

    Parameters
    ----------
    load : mass hanging at the reach [g]
    reach : level distance from the base to the load [m]
    diameter : diameter of the limb at its base [m]

    Returns
    -------
    bending stress at the base [MPa]

    Raises
    ------
    BadInput: when a load or reach is negative or the limb has no thickness

    Valid for
    ---------
    limbs much longer than thick; a load spread along the limb acts at half its length. Over the
    bark, read the strength measured over the bark

    Notes
    -----
    32 F L/(pi d^3).

    References
    ----------
    niklas-1992, bending of a circular section
    """
    force = not_negative(load, "load") / 1000.0 * GRAVITY  # g to kg
    moment = force * not_negative(reach, "reach")
    return (
        32.0 * moment / (math.pi * above_zero(diameter, "diameter") ** 3) / PASCALS
    )  # W = pi d3/32


def safe_load(stress: float, reach: float, diameter: float) -> float:
    """Mass a round limb can carry at its end before a stress is reached.

    Parameters
    ----------
    stress : stress allowed [MPa]
    reach : level distance from the base to the load [m]
    diameter : diameter of the limb at its base [m]

    Returns
    -------
    mass [g]

    Raises
    ------
    BadInput: when a stress is negative, or the reach or the diameter not above zero

    Valid for
    ---------
    as bending_stress; forks with bark between their arms are weaker

    Notes
    -----
    pi d^3 stress/(32 L g).

    References
    ----------
    niklas-1992, bending of a circular section
    """
    moment = not_negative(stress, "stress") * PASCALS * math.pi * above_zero(diameter, "d") ** 3
    return moment / 32.0 / above_zero(reach, "reach") / GRAVITY * 1000.0  # kg to g


def failure_chance(stress: float, strength: float, variation: float) -> float:
    """Chance that a limb breaks under a bending stress.

    Parameters
    ----------
    stress : bending stress at the base [MPa]
    strength : middle strength of such limbs, half of them above it [MPa]
    variation : scatter of strength between limbs, as the standard deviation of its logarithm [1]

    Returns
    -------
    probability [1]

    Raises
    ------
    BadInput: when the stress is negative, or the strength or the scatter is not above zero

    Valid for
    ---------
    still air and sound forks, stress and strength measured the same way; wind and rot add to it

    Notes
    -----
    Normal distribution of ln(stress/strength) over the scatter.

    References
    ----------
    definition, log-normal strength
    """
    load, middle = not_negative(stress, "stress"), above_zero(strength, "strength")
    spread = above_zero(variation, "scatter of strength")
    if load == 0.0:
        return 0.0
    return 0.5 * math.erfc(-math.log(load / middle) / spread / math.sqrt(2.0))  # log-normal


def limb_diameter_of_trunk(trunk: float, limbs: float) -> float:
    """Diameter of each of several like limbs that share the section of their trunk.

    Parameters
    ----------
    trunk : diameter of the trunk [m]
    limbs : number of main limbs [count]

    Returns
    -------
    diameter of a limb [m]

    Raises
    ------
    BadInput: when the trunk has no thickness or there is not one limb

    Valid for
    ---------
    a first guess where the limbs were not measured

    Notes
    -----
    d/sqrt(n): the sections of the limbs add up to that of the trunk.

    References
    ----------
    geometry, equal areas
    """
    if limbs < 1.0:
        raise BadInput("a tree has at least one limb")
    return above_zero(trunk, "trunk diameter") / math.sqrt(limbs)
