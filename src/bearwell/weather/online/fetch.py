"""Fetching a garden's weather: what to ask for, what to keep of the answer, and how it went."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from bearwell.errors import BadInput, BearwellError
from bearwell.said import said
from bearwell.weather.answers import read_answer
from bearwell.weather.joining import merge
from bearwell.weather.online import services
from bearwell.weather.online.http import NoAnswer, asking, get
from bearwell.weather.online.kept import Kept, read_kept, write_kept
from bearwell.weather.online.services import SERVICES, Asked, Service, only_needed
from bearwell.weather.rules import rule
from bearwell.weather.series import DailySeries
from bearwell.weather.text import Findings

if TYPE_CHECKING:
    import httpx2


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one request went: the days now kept, and what was missing or why nothing came."""

    service: str
    sort: str
    came: bool
    said: str
    first: date | None = None
    last: date | None = None
    missing: int = 0


def fetch(
    folder: Path,
    names: Sequence[str],
    asked: Asked,
    today: date,
    *,
    now: datetime,
    sleep: Callable[[float], None],
    since: int | None = None,
    addresses: Mapping[str, str] | None = None,
) -> list[Outcome]:
    """Ask each service for history and, where it has one, a forecast, and keep what comes.

    Only days that are not kept yet, or that may still change, are asked for. A request that fails
    leaves what was kept before untouched and does not stop the others.
    """
    where = addresses or services.ADDRESSES
    done: list[Outcome] = []
    with asking() as client:
        for name in names:
            service = SERVICES[name]
            begin = date(max(since or today.year - int(rule("online.years")), service.begins), 1, 1)
            for sort in ("history", *(("forecast",) if service.forecast else ())):
                try:
                    done.append(
                        _one(
                            client,
                            folder,
                            service,
                            sort,
                            asked,
                            begin,
                            today,
                            now,
                            sleep,
                            where[f"{name} {sort}"],
                        )
                    )
                except BearwellError as error:
                    done.append(Outcome(name, sort, False, str(error)))
    return done


def _one(
    client: httpx2.Client,
    folder: Path,
    service: Service,
    sort: str,
    asked: Asked,
    begin: date,
    today: date,
    now: datetime,
    sleep: Callable[[float], None],
    address: str,
) -> Outcome:
    before, _ = read_kept(folder, service.name, sort, asked)
    last = today - timedelta(days=service.late)
    if sort == "history":
        first = _from(before, begin)
        if first > last:
            return Outcome(service.name, sort, True, "nothing newer to ask for")
        query = service.history(asked, first, last)
    else:
        if service.forecast is None:
            raise BadInput(said("{service} gives no forecast", service=service.title))
        first, last = today, today + timedelta(days=int(rule("online.forecast")) - 1)
        query = service.forecast(asked)
    held: list[DailySeries] = []
    place = (asked.latitude, asked.longitude)

    def check(text: str) -> None:
        sentence = "{service} (history)" if sort == "history" else "{service} (forecast)"
        held[:] = [read_answer(text, Findings(said(sentence, service=service.title)), place)]

    remark = ""
    try:
        get(client, address, query, now=now, sleep=sleep, check=check)
    except NoAnswer as error:
        least = only_needed(query)
        if not error.refused or least is None:
            raise
        get(client, address, least, now=now, sleep=sleep, check=check)
        remark = said("temperature and rain only, as {message}", message=error.message)
    series = held[0]
    missing = _missing(series, first, last)
    if missing == (last - first).days + 1:
        return Outcome(service.name, sort, False, "its answer holds none of the days asked for")
    if sort == "history" and before is not None:
        report = series.reports[0]
        series = merge([series, before.series])
        series = replace(series, reports=(report,), flags={}, problems=())
    write_kept(folder, Kept(service.name, sort, now, asked, series))
    return Outcome(service.name, sort, True, remark, series.start, series.end, missing)


def _from(before: Kept | None, begin: date) -> date:
    """The first day to ask for: all, or what may still change and what is newer."""
    if before is None or before.series.start > begin + timedelta(days=int(rule("online.settles"))):
        return begin
    settled = before.series.end - timedelta(days=int(rule("online.settles")))
    return max(begin, settled)


def _missing(series: DailySeries, first: date, last: date) -> int:
    """Days asked for that lack a minimum or a maximum."""
    wanted = (last - first).days + 1
    if series.end < first or series.start > last:
        return wanted
    part = series.between(first, last)
    return wanted - int((np.isfinite(part.tmin) & np.isfinite(part.tmax)).sum())
