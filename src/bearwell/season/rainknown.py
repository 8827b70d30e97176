"""Whether the rain of the last weeks is known well enough to water by the account."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from bearwell.knowledge import Knowledge
from bearwell.reasons import Phrase, amount, phrase
from bearwell.season.site import Demand, SiteSeason


def rain_doubt(site: SiteSeason, demand: Demand, today: date, book: Knowledge) -> Phrase | None:
    """Why the account may be far too dry, or None: rain unknown in weeks that are not known to be dry ones.

    Parameters
    ----------
    site : the site, with its usual rain where that is known
    demand : days that reach back at least the weeks looked at, rain [mm] NaN where unknown
    today : the day of the plan
    book : where "weeks of rain that count", "rain known well enough" and "rain of a dry season" stand

    Notes
    -----
    A season is dry where its usual rain over these weeks is a small share of the reference
    evapotranspiration. Where the usual rain is unknown too, no season is known to be dry.
    """
    weeks = int(book.constant("weeks of rain that count").number)
    end = demand.index(today)
    part = slice(max(end - weeks, 0), end)
    known = demand.measured[part] & np.isfinite(demand.rain[part])
    if not len(known) or known.mean() >= book.constant("rain known well enough").number:
        return None
    days = amount(len(known), "d")
    gaps = int((~known).sum())
    all_of_it = gaps == len(known)
    usual = _usual_rain(site, demand.day(part.start), len(known))
    if usual is None:
        return phrase(
            "Rain of the last {days} is unknown, and so is the usual rain: it may have rained enough. Feel the "
            "soil first"
            if all_of_it
            else "Rain is unknown on {gaps} of the last {days}, and so is the usual rain: it may have rained "
            "enough. Feel the soil first",
            days=days,
            gaps=gaps,
        )
    if usual < book.constant("rain of a dry season").number * float(np.sum(demand.et0[part])):
        return None
    mm = amount(float(round(usual)), "mm")
    return phrase(
        "Rain of the last {days} is unknown; they usually bring {usual}: it may have rained enough. Feel the soil "
        "first"
        if all_of_it
        else "Rain is unknown on {gaps} of the last {days}; they usually bring {usual}: it may have rained enough. "
        "Feel the soil first",
        days=days,
        gaps=gaps,
        usual=mm,
    )


def _usual_rain(site: SiteSeason, first: date, days: int) -> float | None:
    """What usually falls on so many days from a day on [mm]; None where it is unknown."""
    if site.climate is None:
        return None
    curve = np.asarray(site.climate.rain, dtype=float)
    at = [(first + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(days)]
    fallen = float(curve[at].sum())
    return fallen if np.isfinite(fallen) else None
