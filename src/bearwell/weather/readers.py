"""Reading a user's daily weather, whatever file it comes in: the layout is told from what it holds."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

from bearwell.weather import archive
from bearwell.weather.joining import merge
from bearwell.weather.quality import assemble
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings, read_bytes, read_text, whole

__all__ = ["merge", "read_daily", "read_daily_content"]

# Words near the beginning of layouts that are no plain table of days.
_SPECIAL = ("LOCATION,", "-BEGIN HEADER-", "REPORT_TYPE", "utc_offset_seconds")
_HEAD = 4096
_GRIDS = (b"\x89HDF", b"CDF\x01", b"CDF\x02", b"CDF\x05")


def read_daily(
    path: str | PathLike[str],
    *,
    station: str | None = None,
    place: tuple[float, float] | None = None,
) -> DailySeries:
    """Read one place's daily weather from a file: our own CSV or the layouts of common archives.

    Everything assumed, dropped or doubtful is in ``problems`` with its line and counted in
    ``reports``. ``station`` picks one where a file holds several; ``place`` is the garden's latitude
    and longitude, which pick the nearest cell of a grid. Raises BadInput when there is no such file
    and BadFile, with every problem found, when it cannot be used.
    """
    findings = Findings(str(path))
    if station is not None and (one := archive.stream_station(Path(path), station, findings)):
        return assemble(one, None, findings)
    if _begins(Path(path)).startswith(_GRIDS):
        from bearwell.weather.grids import read_grid

        return read_grid(Path(path), findings, place)
    return _daily(read_bytes(Path(path), findings), station, place, findings)


def read_daily_content(
    name: str,
    content: bytes,
    *,
    station: str | None = None,
    place: tuple[float, float] | None = None,
) -> DailySeries:
    """Read daily weather from the content of a file that is kept elsewhere; as :func:`read_daily`."""
    findings = Findings(name)
    return _daily(whole(content, findings), station, place, findings)


def _daily(
    raw: bytes, station: str | None, place: tuple[float, float] | None, findings: Findings
) -> DailySeries:
    if raw.startswith(_GRIDS):
        from bearwell.weather.grids import read_grid

        return read_grid(raw, findings, place)
    text = read_text(raw, findings)
    start = text.lstrip("\r\n")
    if archive.is_dly(start):
        return assemble(archive.read_dly(text, station, findings), None, findings)
    if start.lstrip()[:1] in "{[":
        from bearwell.weather.answers import read_answer

        return read_answer(text, findings, place)
    if any(word in start[:_HEAD] for word in _SPECIAL) or start[:5].isdigit():
        from bearwell.weather.logs import LAYOUTS

        for known, read in LAYOUTS:
            if known(start):
                return read(text, findings, place)
    from bearwell.weather.tables import read_table

    return read_table(text, station, findings, place)


def _begins(path: Path) -> bytes:
    """The first bytes of a file, none where it cannot be opened: a grid is too large to hold."""
    try:
        with path.open("rb") as file:
            return file.read(8)
    except OSError:
        return b""
