"""How large fruit grows under a crop, what it weighs for its width, and how late it ripens."""

from __future__ import annotations

import math

from bearwell.errors import BadInput
from bearwell.said import said
from bearwell.science._arrays import above_zero, not_negative


def fruit_mass_at_load(mass: float, load: float, elasticity: float, most: float) -> float:
    """Mass of one fruit when a tree carries more or less than an even crop.

    Parameters
    ----------
    mass : mass of one fruit under an even crop [g]
    load : number of fruit relative to an even crop [1]
    elasticity : how fast fruit shrinks: share of mass lost for each share of fruit added [1]
    most : largest fruit of a light crop relative to that of an even one [1]

    Returns
    -------
    mass of one fruit [g]

    Raises
    ------
    BadInput: when a mass or a load is negative, the elasticity is not between 0 and 1, or the most
        is below 1

    Valid for
    ---------
    crops up to about four times an even one; a fruit's own growth limits it under a light crop

    Notes
    -----
    m load^(-e), not more than most m.

    References
    ----------
    price-2024, the heavy and the light year it is fitted through
    """
    if not 0.0 <= elasticity < 1.0:
        raise BadInput("the elasticity of fruit mass must be from 0 to below 1")
    if most < 1.0:
        raise BadInput("a light crop does not make fruit smaller")
    one, crop = not_negative(mass, "mass"), not_negative(load, "load")
    if crop == 0.0:
        return one * most
    return one * min(float(crop**-elasticity), most)  # Price 2024


def load_of_crop_mass(crop: float, elasticity: float) -> float:
    """Number of fruit relative to an even crop, from the mass of a crop relative to an even one.

    Parameters
    ----------
    crop : mass of the crop relative to an even one [1]
    elasticity : how fast fruit shrinks with number [1]

    Returns
    -------
    number relative to an even crop [1]

    Raises
    ------
    BadInput: when the crop is negative or the elasticity is not from 0 to below 1

    Valid for
    ---------
    as fruit_mass_at_load, without its upper limit

    Notes
    -----
    x^(1/(1 - e)), from mass = number number^(-e).

    References
    ----------
    definition, inverse of number times fruit mass
    """
    if not 0.0 <= elasticity < 1.0:
        raise BadInput("the elasticity of fruit mass must be from 0 to below 1")
    return float(not_negative(crop, "crop") ** (1.0 / (1.0 - elasticity)))


def ripening_delay(load: float, per_doubling: float) -> float:
    """Days that fruit ripens later under a crop than under an even one.

    Parameters
    ----------
    load : number of fruit relative to an even crop [1]
    per_doubling : days later for each doubling of the crop [d]

    Returns
    -------
    days later, negative when earlier [d]

    Raises
    ------
    BadInput: when the load is negative

    Valid for
    ---------
    crops between a quarter and four times an even one; outside, the end of that range is taken

    Notes
    -----
    d log2(load).

    References
    ----------
    niab-thinning, share of the first pick at three loads, for the direction
    """
    crop = min(max(not_negative(load, "load"), 0.25), 4.0)
    return per_doubling * math.log2(crop)


def orange_mass(diameter: float) -> float:
    """Mass of an orange from its middle diameter.

    Parameters
    ----------
    diameter : middle diameter of the fruit [m]

    Returns
    -------
    mass [g]

    Raises
    ------
    BadInput: when the diameter is below 50 mm or above 95 mm

    Valid for
    ---------
    sweet oranges of ten cultivars, 50 to 95 mm

    Notes
    -----
    0.07 b^2 - 2.95 b + 39.15 with b in mm; it explains 97 % of the variance.

    References
    ----------
    iran-orange-mass, equation on the intermediate diameter
    """
    b = not_negative(diameter, "diameter") * 1000.0  # m to mm
    if not 50.0 <= b <= 95.0:
        raise BadInput(said("an orange of {size:.0f} mm lies outside 50 to 95 mm", size=b))
    return 0.07 * b**2 - 2.95 * b + 39.15  # equation on the intermediate diameter


def diameter_of_mass(mass: float, form: float) -> float:
    """Diameter of a fruit from its mass.

    Parameters
    ----------
    mass : mass of the fruit [g]
    form : mass over the cube of the diameter [kg m-3]

    Returns
    -------
    diameter across [m]

    Raises
    ------
    BadInput: when the mass is negative or the form not above zero

    Valid for
    ---------
    fruit of one shape at every size

    Notes
    -----
    (m/f)^(1/3).

    References
    ----------
    geometry, similar bodies
    """
    volume = not_negative(mass, "mass") / 1000.0 / above_zero(form, "form")  # g to kg
    return float(volume ** (1.0 / 3.0))


def orange_diameter(mass: float) -> float:
    """Middle diameter of an orange from its mass.

    Parameters
    ----------
    mass : mass of the fruit [g]

    Returns
    -------
    diameter across [m]

    Raises
    ------
    BadInput: when the fruit is lighter or heavier than oranges of 50 to 95 mm

    Valid for
    ---------
    sweet oranges of ten cultivars, about 67 to 490 g

    Notes
    -----
    Inverse of orange_mass on its rising branch.

    References
    ----------
    iran-orange-mass, equation on the intermediate diameter, solved for it
    """
    inside = 2.95**2 - 4.0 * 0.07 * (39.15 - not_negative(mass, "mass"))  # orange_mass
    width = (2.95 + math.sqrt(max(inside, 0.0))) / (2.0 * 0.07) / 1000.0  # orange_mass, mm to m
    orange_mass(width)  # refuses what lies outside
    return width
