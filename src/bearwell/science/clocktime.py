"""From the sun's time to the clock on the wall."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bearwell.science._arrays import Floats, floats, within


def equation_of_time_spencer(day_of_year: ArrayLike) -> Floats:
    """How far the sun runs ahead of an even clock.

    Parameters
    ----------
    day_of_year : day of the year, 1 to 366 [d]

    Returns
    -------
    sundial time less even time, shape of the input [min]

    Raises
    ------
    BadInput: when a day lies outside 1 to 366

    Valid for
    ---------
    any year, to about half a minute

    Notes
    -----
    With B = 2 pi (J - 1)/365: 229.18 (0.000075 + 0.001868 cos B - 0.032077 sin B - 0.014615 cos 2B
    - 0.040849 sin 2B).

    References
    ----------
    spencer-1971, equation of time
    """
    angle = 2.0 * np.pi * (within(day_of_year, "day of the year", 1.0, 366.0) - 1.0) / 365.0
    return floats(
        229.18
        * (
            0.000075
            + 0.001868 * np.cos(angle)  # Spencer 1971
            - 0.032077 * np.sin(angle)
            - 0.014615 * np.cos(2.0 * angle)
            - 0.040849 * np.sin(2.0 * angle)
        )
    )


def universal_hour(sun_hour: ArrayLike, longitude: float, day_of_year: ArrayLike) -> Floats:
    """Universal time of an hour of the sun.

    Parameters
    ----------
    sun_hour : hour by the sun, 12 when it stands highest [h]
    longitude : degrees east of Greenwich, negative west [deg]
    day_of_year : day of the year, 1 to 366 [d]

    Returns
    -------
    hour of universal time, which may lie outside 0 to 24, shape of the inputs [h]

    Raises
    ------
    BadInput: when a longitude lies outside -180 to 180 or a day outside 1 to 366

    Valid for
    ---------
    any place

    Notes
    -----
    Sun hour - longitude/15 - equation of time/60.

    References
    ----------
    spencer-1971, equation of time
    """
    east = within(longitude, "longitude", -180.0, 180.0)
    return floats(floats(sun_hour) - east / 15.0 - equation_of_time_spencer(day_of_year) / 60.0)
