"""What a crop makes of the reference evapotranspiration: single and dual coefficients of FAO-56."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bearwell.errors import BadInput
from bearwell.science._arrays import Floats, at_least, floats, within


def crop_evapotranspiration(reference: ArrayLike, coefficient: ArrayLike) -> Floats:
    """Evapotranspiration of a crop that lacks nothing.

    Parameters
    ----------
    reference : reference evapotranspiration [mm d-1]
    coefficient : crop coefficient [1]

    Returns
    -------
    crop evapotranspiration [mm d-1]

    Raises
    ------
    BadInput: when an input is negative

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 58: ETc = Kc ET0.

    References
    ----------
    allen-1998, equation 58
    """
    return floats(
        at_least(coefficient, "crop coefficient", 0.0)
        * at_least(reference, "reference evapotranspiration", 0.0)  # FAO-56 eq. 58
    )


def climate_adjusted_crop_coefficient_fao56(
    coefficient: ArrayLike, wind_speed: ArrayLike, humidity_min: ArrayLike, height: ArrayLike
) -> Floats:
    """A tabled mid- or late-season crop coefficient moved to the wind and humidity of a place.

    Parameters
    ----------
    coefficient : tabled crop coefficient, 0.45 or more [1]
    wind_speed : mean wind speed at 2 m in the stage [m s-1]
    humidity_min : mean daily minimum relative humidity in the stage, 0 to 1 [1]
    height : mean height of the crop in the stage [m]

    Returns
    -------
    crop coefficient for the place [1]

    Raises
    ------
    BadInput: when an input is negative or a humidity above 1

    Valid for
    ---------
    wind 1 to 6 m s-1, humidity 0.20 to 0.80 (values beyond are held there), height 0.1 to 10 m;
    coefficients below 0.45 are returned as they are

    Notes
    -----
    Equations 62 and 65: Kc + (0.04 (u2 - 2) - 0.004 (RHmin - 45)) (h/3)^0.3, RHmin in percent.

    References
    ----------
    allen-1998, equations 62 and 65
    """
    tabled = at_least(coefficient, "crop coefficient", 0.0)
    wind = np.clip(at_least(wind_speed, "wind speed", 0.0), 1.0, 6.0)  # FAO-56 eq. 62, limits
    share = np.clip(within(humidity_min, "relative humidity", 0.0, 1.0), 0.20, 0.80)  # eq. 62
    tall = np.clip(at_least(height, "height", 0.0), 0.1, 10.0)  # FAO-56 eq. 62, limits
    moved = tabled + (0.04 * (wind - 2.0) - 0.004 * (100.0 * share - 45.0)) * (tall / 3.0) ** 0.3
    return np.where(tabled < 0.45, tabled, moved)  # FAO-56 eq. 65


def crop_coefficient_on_day_fao56(
    day: ArrayLike,
    initial: float,
    middle: float,
    end: float,
    initial_days: float,
    development_days: float,
    middle_days: float,
    late_days: float,
) -> Floats:
    """Crop coefficient on a day of the season: flat, rising, flat, falling.

    Parameters
    ----------
    day : day of the season, 1 is the first [d]
    initial : coefficient of the initial stage [1]
    middle : coefficient of the middle stage [1]
    end : coefficient at the end of the late stage [1]
    initial_days : length of the initial stage [d]
    development_days : length of the development stage [d]
    middle_days : length of the middle stage [d]
    late_days : length of the late stage [d]

    Returns
    -------
    crop coefficient, shape of day [1]

    Raises
    ------
    BadInput: when a length is negative or a rising or falling stage has no days

    Valid for
    ---------
    days past the end keep the end value

    Notes
    -----
    Equation 66, straight lines between the stages.

    References
    ----------
    allen-1998, equation 66
    """
    if min(initial_days, middle_days) < 0.0 or min(development_days, late_days) <= 0.0:
        raise BadInput("the stages of a season need their days")
    turns = np.cumsum([0.0, initial_days, development_days, middle_days, late_days])
    return floats(np.interp(floats(day), turns, [initial, initial, middle, middle, end]))  # eq. 66


def total_evaporable_water_fao56(
    field_capacity: ArrayLike, wilting_point: ArrayLike, evaporation_depth: ArrayLike
) -> Floats:
    """Water that can evaporate from a bare, wetted surface layer.

    Parameters
    ----------
    field_capacity : water content at field capacity [m3/m3]
    wilting_point : water content at the wilting point [m3/m3]
    evaporation_depth : depth of the layer that dries, 0.10 to 0.15 [m]

    Returns
    -------
    total evaporable water [mm]

    Raises
    ------
    BadInput: when a content or depth is negative or the wilting point is above field capacity

    Valid for
    ---------
    one complete wetting of the surface

    Notes
    -----
    Equation 73: TEW = 1000 (theta_FC - 0.5 theta_WP) Ze.

    References
    ----------
    allen-1998, equation 73
    """
    full = within(field_capacity, "field capacity", 0.0, 1.0)
    dry = within(wilting_point, "wilting point", 0.0, 1.0)
    if np.any(dry > full):
        raise BadInput("the wilting point is above field capacity")
    depth = at_least(evaporation_depth, "evaporation depth", 0.0)
    return floats(1000.0 * (full - 0.5 * dry) * depth)  # FAO-56 eq. 73


def evaporation_reduction_fao56(
    depletion: ArrayLike, total_evaporable: ArrayLike, readily_evaporable: ArrayLike
) -> Floats:
    """How far a drying surface holds back its evaporation.

    Parameters
    ----------
    depletion : water already evaporated from the surface layer [mm]
    total_evaporable : total evaporable water [mm]
    readily_evaporable : readily evaporable water [mm]

    Returns
    -------
    reduction coefficient, 1 wet to 0 dry [1]

    Raises
    ------
    BadInput: when a depth is negative or the readily evaporable water is not below the total

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 74: Kr = (TEW - De)/(TEW - REW) once De passes REW.

    References
    ----------
    allen-1998, equation 74
    """
    used = at_least(depletion, "surface depletion", 0.0)
    total, ready = floats(total_evaporable), at_least(readily_evaporable, "REW", 0.0)
    if np.any(ready >= total):
        raise BadInput("readily evaporable water must be below the total")
    return floats(np.clip((total - used) / (total - ready), 0.0, 1.0))  # FAO-56 eq. 74


def highest_crop_coefficient_fao56(
    basal: ArrayLike, wind_speed: ArrayLike, humidity_min: ArrayLike, height: ArrayLike
) -> Floats:
    """The most that plants and wet soil together can give off, against the grass reference.

    Parameters
    ----------
    basal : basal crop coefficient [1]
    wind_speed : wind speed at 2 m [m s-1]
    humidity_min : daily minimum relative humidity, 0 to 1 [1]
    height : height of the crop [m]

    Returns
    -------
    upper limit of the crop coefficient [1]

    Raises
    ------
    BadInput: when an input is negative or a humidity above 1

    Valid for
    ---------
    daily step, the same limits as the climate adjustment

    Notes
    -----
    Equation 72: max(1.2 + (0.04 (u2 - 2) - 0.004 (RHmin - 45)) (h/3)^0.3, Kcb + 0.05).

    References
    ----------
    allen-1998, equation 72
    """
    wet = climate_adjusted_crop_coefficient_fao56(1.2, wind_speed, humidity_min, height)  # eq. 72
    return np.maximum(wet, at_least(basal, "basal coefficient", 0.0) + 0.05)  # FAO-56 eq. 72


def evaporation_coefficient_fao56(
    reduction: ArrayLike, basal: ArrayLike, highest: ArrayLike, exposed_wet_share: ArrayLike
) -> Floats:
    """Coefficient of evaporation from the soil beside that of the plants.

    Parameters
    ----------
    reduction : evaporation reduction coefficient [1]
    basal : basal crop coefficient [1]
    highest : upper limit of the crop coefficient [1]
    exposed_wet_share : share of the ground that is wetted and open to the sky [1]

    Returns
    -------
    soil evaporation coefficient, not negative [1]

    Raises
    ------
    BadInput: when a share is outside 0 to 1

    Valid for
    ---------
    daily step

    Notes
    -----
    Equation 71: Ke = min(Kr (Kc,max - Kcb), few Kc,max).

    References
    ----------
    allen-1998, equation 71
    """
    dry = within(reduction, "evaporation reduction", 0.0, 1.0)
    bare = within(exposed_wet_share, "exposed wet share", 0.0, 1.0)
    most, plants = floats(highest), floats(basal)
    return floats(np.maximum(np.minimum(dry * (most - plants), bare * most), 0.0))  # eq. 71


def density_coefficient_allen_pereira(
    cover: ArrayLike, height: ArrayLike, multiplier: ArrayLike = 1.5
) -> Floats:
    """How much of the use of a closed canopy a sparser one reaches, from its cover and height.

    Parameters
    ----------
    cover : share of the ground that the canopy covers or shades around noon [1]
    height : mean height of the plants [m]
    multiplier : most that cover counts for, 1.5 to 2.0 [1]

    Returns
    -------
    density coefficient, 0 bare to 1 closed [1]

    Raises
    ------
    BadInput: when the cover is outside 0 to 1, the height negative or the multiplier below 1

    Valid for
    ---------
    trees, vines and vegetables in rows or alone; seasonal means

    Notes
    -----
    Kd = min(1, ML fc, fc^(1/(1 + h))). Taller plants at the same cover catch more wind and light from the
    side. The multiplier keeps the use of a scattered canopy from passing what its leaves can give.

    References
    ----------
    allen-pereira-2009, density coefficient
    """
    covered = within(cover, "cover", 0.0, 1.0)
    tall = at_least(height, "height", 0.0)
    most = at_least(multiplier, "multiplier", 1.0) * covered  # Allen and Pereira 2009, Kd
    return floats(np.minimum(np.minimum(most, covered ** (1.0 / (1.0 + tall))), 1.0))


def basal_coefficient_allen_pereira(
    full_cover: ArrayLike, density: ArrayLike, least: ArrayLike
) -> Floats:
    """Basal crop coefficient of a canopy from that of a closed one and its density coefficient.

    Parameters
    ----------
    full_cover : basal crop coefficient at full cover [1]
    density : density coefficient, 0 to 1 [1]
    least : coefficient of dry bare ground [1]

    Returns
    -------
    basal crop coefficient on the whole ground [1]

    Raises
    ------
    BadInput: when a coefficient is negative or the density outside 0 to 1

    Valid for
    ---------
    daily step and longer

    Notes
    -----
    Kcb = Kcmin + Kd (Kcb,full - Kcmin).

    References
    ----------
    allen-pereira-2009, basal coefficient from the density coefficient
    """
    bare = at_least(least, "least coefficient", 0.0)
    closed = at_least(full_cover, "basal coefficient", 0.0)
    return floats(bare + within(density, "density", 0.0, 1.0) * (closed - bare))


def full_cover_coefficient_allen_pereira(
    basal: ArrayLike, density: ArrayLike, least: ArrayLike
) -> Floats:
    """Basal crop coefficient a canopy would have if it were closed, from a tabled one and its density.

    Parameters
    ----------
    basal : basal crop coefficient at the tabled cover [1]
    density : density coefficient at the tabled cover, more than 0 [1]
    least : coefficient of dry bare ground [1]

    Returns
    -------
    basal crop coefficient at full cover, no less than the bare ground's [1]

    Raises
    ------
    BadInput: when a coefficient is negative or the density is not above 0 and up to 1

    Valid for
    ---------
    tabled values whose cover and height are stated

    Notes
    -----
    The inverse of basal_coefficient_allen_pereira.

    References
    ----------
    allen-pereira-2009, basal coefficient from the density coefficient, solved for full cover
    """
    bare = at_least(least, "least coefficient", 0.0)
    tabled = at_least(basal, "basal coefficient", 0.0)
    dense = within(density, "density", 0.0, 1.0)
    if np.any(dense == 0.0):
        raise BadInput("a density of nothing says nothing of a closed canopy")
    return np.maximum(bare + (tabled - bare) / dense, bare)
