"""What became of a file or an answer: how it was read, what was left out of it and why."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Station:
    """Where a record was measured or reckoned, as far as its source says: degrees and m, None unknown."""

    name: str = ""
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None


@dataclass(frozen=True, slots=True)
class Left:
    """Readings left out, or kept with a doubt, for one reason: how many, and the first few lines."""

    reason: str
    count: int
    lines: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """How one source was read.

    ``layout`` names what it was taken for, ``day`` what a day in it is, ``units`` the unit each
    column was read in, with where that was known from. ``dropped`` is what was left out and
    ``doubted`` what was kept with a doubt. ``terms`` is what its maker asks to be said with it.
    """

    where: str
    layout: str
    day: str = ""
    station: Station | None = None
    units: tuple[tuple[str, str], ...] = ()
    dropped: tuple[Left, ...] = ()
    doubted: tuple[Left, ...] = ()
    days: int = 0
    terms: str = ""

    @property
    def lost(self) -> int:
        """How many readings or lines were left out."""
        return sum(one.count for one in self.dropped)


MIDNIGHT = "from midnight to midnight by the clock of the place, as far as the file says"
UTC_DAYS = (
    "from midnight to midnight in universal time (UTC), not by the local clock: far from Greenwich"
    " a night's minimum can stand under the day before or after"
)
LOCAL_SOLAR = "from midnight to midnight in local solar time"
"""What a day is, in the words of the report."""

OPEN_METEO_TERMS = (
    "Weather data by Open-Meteo.com, https://open-meteo.com/ under CC BY 4.0,"
    " https://creativecommons.org/licenses/by/4.0/ here joined with other records; its free service is"
    " for non-commercial use, https://open-meteo.com/en/terms"
)
POWER_TERMS = (
    "NASA POWER project, NASA Langley Research Center, https://power.larc.nasa.gov/ free to use; its"
    " makers ask to be named"
)
"""What makers of data ask to be said with them."""
