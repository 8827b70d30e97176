"""Frost and the cut: how likely a night hurts the shoots it wakes, by record, normals or forecast."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.cold import spells_of
from bearwell.plan.nights import reading_of
from bearwell.plan.view import View
from bearwell.reasons import Because, from_fact, of_fact, phrase
from bearwell.science.dayscore import chance_passed
from bearwell.season.site import SEASON_DAYS, Floats


def shoot_limit(view: View) -> float:
    """The temperature at the station below which a night hurts new growth here [degC]."""
    return view.species["cold_flush"].number + view.site.site.colder_than_station


def waits_for_frost(view: View) -> bool:
    """Whether a cut of this tree waits for safe nights: an evergreen whose grower has not said otherwise."""
    return view.species.keeps_leaves and view.garden.pruning.late_rounds != "after harvest"


def hurt_chance(view: View, first: date, count: int) -> Floats | None:
    """Chance, day by day, of a hurtful night within the weeks that new shoots need; None where unknown.

    A record gives the share of its winters; monthly normals the usual lowest of those weeks, less what the
    coldest night lies below it.
    """
    climate = view.site.climate
    if climate is None:
        return None
    return (
        _by_normals(view, first, count) if climate.from_normals else _by_record(view, first, count)
    )


def _by_record(view: View, first: date, count: int) -> Floats | None:
    climate, days = view.site.climate, np.arange(count, dtype=np.float64)
    spells = climate.cold_spells(shoot_limit(view)) if climate is not None else ()
    if not spells:
        return None
    hardens, hurt = view.constant("flush hardens").number, np.zeros(count)
    seasons = range(view.site.season - 1, view.site.season + 3)
    for spell in spells:
        if spell.first is None or spell.last is None:
            continue
        hit = np.zeros(count, dtype=bool)
        for season in seasons:
            shift = (view.site.start(season) - view.site.start(spell.season)).days
            begin = (spell.first - first).days + shift
            end = (spell.last - first).days + shift
            hit |= (days < end) & (days + hardens > begin)
        hurt += hit
    return np.asarray(hurt / len(spells))


def _by_normals(view: View, first: date, count: int) -> Floats | None:
    climate, weeks = view.site.climate, round(view.constant("flush hardens").number)
    if climate is None:
        return None
    number = [
        min((first + timedelta(days=step)).timetuple().tm_yday, SEASON_DAYS) - 1
        for step in range(count + weeks)
    ]
    usual = np.asarray(climate.tmin)[number]
    lowest = np.lib.stride_tricks.sliding_window_view(usual, weeks + 1).min(axis=1)
    below, varies = (
        view.constant("coldest night below the usual"),
        view.constant("coldest night varies by"),
    )
    return chance_passed(shoot_limit(view) - (lowest - below.number), varies.number)


def last_frost(view: View, season: int) -> date | None:
    """The day by which hurtful nights have ended in most winters that had one."""
    holds = view.constant("winters a frost date holds").number
    if _from_normals(view):
        return _crossing(view, season, first=False)
    offsets = _offsets(view, "last")
    return view.site.day(float(np.quantile(offsets, holds)), season) if offsets else None


def first_frost(view: View, season: int) -> date | None:
    """The day before which hurtful nights have begun in few winters that had one."""
    holds = view.constant("winters a frost date holds").number
    if _from_normals(view):
        return _crossing(view, season, first=True)
    offsets = _offsets(view, "first")
    return view.site.day(float(np.quantile(offsets, 1 - holds)), season) if offsets else None


def _from_normals(view: View) -> bool:
    return view.site.climate is not None and view.site.climate.from_normals


def _crossing(view: View, season: int, *, first: bool) -> date | None:
    """Where the chance by normals falls to what a frost date allows, or rises to it in autumn."""
    start, half = view.site.start(season), SEASON_DAYS // 2
    chance = _by_normals(view, start, SEASON_DAYS)
    allowed = 1 - view.constant("winters a frost date holds").number
    if chance is None or chance.max() <= allowed:
        return None
    if first:
        over = np.flatnonzero(chance[half:] > allowed)
        hardens = round(view.constant("flush hardens").number)
        return start + timedelta(days=half + int(over[0]) + hardens) if len(over) else None
    under = np.flatnonzero(chance[:half] <= allowed)
    return start + timedelta(days=int(under[0]) if len(under) else half)


def _offsets(view: View, which: str) -> list[float]:
    """Days into the season of the first or last night that hurts new growth, one a recorded winter.

    The last night of spring counts from the season it ends in, the first of autumn from the one before.
    A winter without such a night has none.
    """
    climate = view.site.climate
    if climate is None:
        return []
    offsets = []
    for spell in climate.cold_spells(shoot_limit(view)):
        night = spell.last if which == "last" else spell.first
        if night is not None:
            season = spell.season if which == "last" else spell.season - 1
            offsets.append(float((night - view.site.start(season)).days))
    return offsets


def off_the_frost(view: View, window: Window, score: Floats) -> tuple[Window, tuple[Because, ...]]:
    """A window without the days whose shoots would most likely freeze, where it has better ones.

    ``score`` is what each of its days is worth; of several parts the one with the best day is kept.
    """
    count = (window.latest - window.earliest).days + 1
    chance = hurt_chance(view, window.earliest, count) if waits_for_frost(view) else None
    if chance is None:
        return window, ()
    allowed, alike = view.constant("frost risk of a cut"), view.constant("about as safe")
    most = max(allowed.number, float(chance.min()) + alike.number)
    safe = chance <= most
    if safe.all():
        return window, ()
    begin, end = max(
        _runs(safe), key=lambda run: (float(score[run[0] : run[1]].max()), run[1] - run[0])
    )
    first = window.earliest + timedelta(days=begin)
    last = window.earliest + timedelta(days=end - 1)
    why = from_fact(
        "Of {earliest} to {latest} only {first} to {last} is kept: on the other days the shoots it wakes meet "
        "a night that hurts them in more than {most} years of a hundred, {value} being as much as is taken "
        "where there is a choice",
        allowed,
        earliest=window.earliest,
        latest=window.latest,
        first=first,
        last=last,
        most=round(100 * most),
    )
    return Window(first, min(max(window.best, first), last), last), (why, *by_normals_link(view))


def _runs(good: np.ndarray) -> list[tuple[int, int]]:
    """Begin and end, the end not counted, of each unbroken run."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], good.astype(int), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def by_normals_link(view: View) -> tuple[Because, ...]:
    """What frost is judged by where only monthly normals are given."""
    if not _from_normals(view):
        return ()
    return (
        from_fact(
            "Frost is judged from monthly normals: the coldest night of some weeks lies about {value} below "
            "their usual minimum, give or take {varies}, and shoots are hurt from {limit}. Daily records would "
            "tell more",
            view.constant("coldest night below the usual"),
            varies=of_fact(view.constant("coldest night varies by")),
            limit=of_fact(view.species["cold_flush"]),
        ),
    )


def with_frost_told(view: View, cut: Advice) -> Advice:
    """A cut with what is to be said of frost after its best day: likely still, or not known."""
    if not view.species.keeps_leaves:
        return cut
    if view.site.climate is None:
        return cut.remarked(
            phrase(
                "Nothing is known of the frost here, for no weather is given: what a cut wakes is hurt from "
                "{limit}. Cut only when nights that cold are over for {weeks}, or give monthly normals",
                limit=of_fact(view.species["cold_flush"]),
                weeks=of_fact(view.constant("flush hardens")),
            )
        )
    found = hurt_chance(view, cut.window.best, 1)
    chance = 0.0 if found is None else float(found[0])
    if chance <= view.constant("frost risk of a cut").number:
        return cut
    return cut.remarked(
        phrase(
            "Frost may follow: in about {years} years of a hundred a night of {limit} or less comes in the "
            "{weeks} that new shoots need after {day}. Look at the forecast first, and keep a cover at hand",
            years=round(100 * chance),
            limit=of_fact(view.species["cold_flush"]),
            weeks=of_fact(view.constant("flush hardens")),
            day=cut.window.best,
        )
    )


def held_for_cold(view: View, cuts: list[Advice]) -> list[Advice]:
    """The cuts held back until hurtful nights of the forecast are over; blocked where that is too late."""
    series, wait = (
        view.site.series,
        timedelta(days=round(view.constant("cut keeps from cold").number)),
    )
    read = reading_of(view.garden, view.today) is not None
    forecast = view.today if series is None else series.end
    last = max(forecast, view.today + timedelta(days=int(read)))
    near = [one for one in cuts if one.window.earliest <= last and one.window.latest >= view.today]
    if last <= view.today or not near:
        return cuts
    spells = [(one.coming[0].day, one.coming[-1].day) for one in spells_of(view)]
    return [_held(view, cut, spells, wait) for cut in cuts] if spells else cuts


def _held(view: View, cut: Advice, spells: list[tuple[date, date]], wait: timedelta) -> Advice:
    window = cut.window
    opens = begun = max(window.earliest, view.today)
    nights: list[date] = []
    for first, last in spells:
        if opens <= last and first <= opens + wait:
            nights.append(first)
            opens = last + timedelta(days=1)
    if opens == begun or window.latest < view.today:
        return cut
    why = from_fact(
        "A night that may hurt it is forecast, to {night}: fresh wounds and bared wood suffer most in the "
        "{value} after a cut",
        view.constant("cut keeps from cold"),
        night=nights[0],
    )
    cut = replace(
        cut, because=(why, *cut.because), details={**cut.details, "held_until": opens.isoformat()}
    )
    if opens > window.latest:
        return replace(cut, standing="blocked").remarked(
            phrase(
                "Held back: a night that may hurt it comes before {night}, and the window closes on {latest}. "
                "Leave it uncut this time",
                night=nights[0],
                latest=window.latest,
            )
        )
    held = Window(opens, max(window.best, opens), window.latest)
    return replace(cut, window=held).remarked(
        phrase(
            "Held back until {opens}: a night that may hurt it is forecast, to {night}",
            opens=opens,
            night=nights[0],
        )
    )
