"""When to cut, how much of the canopy, and what to leave: between the end of harvest and bloom."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.view import LOOK_BACK, YEAR_AHEAD, View
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.science.canopy import height_and_spread_after_removal


def plan_prune(view: View) -> list[Advice]:
    """The cuts of the coming year for this tree."""
    season = view.species["prune_season"].text
    advice = {
        "after harvest": _after_harvest,
        "late dormant": _late_dormant,
        "summer only": _summer,
        "when bare": _when_bare,
    }[season](view)
    first, last = view.today - timedelta(days=LOOK_BACK), view.today + timedelta(days=YEAR_AHEAD)
    return [
        one
        for one in advice
        if one.window.latest >= first
        and one.window.earliest <= last
        and not _already_cut(view, one)
        and one.window.earliest >= view.tree.planted + timedelta(days=180)
    ]


def _already_cut(view: View, advice: Advice) -> bool:
    """Whether a cut recorded in this window, or shortly before it, already did the job."""
    begin = advice.window.earliest - timedelta(days=30)
    return any(
        work.job == "prune" and begin <= work.date <= min(advice.window.latest, view.today)
        for work in view.tree.done
    )


def yearly_share(view: View) -> tuple[float, float, tuple[Because, ...]]:
    """The share of the canopy to take and the most to take in a year."""
    most = view.species["prune_share_max"]
    if not view.bears or view.years_here < view.species["fruitless_years"].number + 1:
        young = view.constant("prune share young")
        share = min(young.number, most.number)
        return share, share, (from_fact("It is young, so it is only shaped: about {value}", young),)
    low = view.constant("prune share low")
    aim = min(low.number, most.number)
    already = _cut_this_year(view)
    links = [
        from_fact(
            "A quarter to a third of the canopy is the most in a year; {kind}: at most {value}",
            most,
            kind=view.species.name,
        ),
        from_fact("The plan starts from {value}", low),
    ]
    if already:
        links.append(
            recorded(
                "It was cut on {days} within a year; only light work is left",
                days=", ".join(f"{d:%d %b %Y}" for d in already),
            )
        )
        light = view.constant("light round share").number
        return min(aim, light), min(most.number, light), tuple(links)
    return aim, most.number, tuple(links)


def _cut_this_year(view: View) -> list[date]:
    begin = view.today - timedelta(days=240)
    return [
        work.date
        for work in view.tree.done
        if work.job == "prune" and begin <= work.date <= view.today
    ]


def _frost_offsets(view: View, which: str) -> list[float]:
    """Days into the season of the first or last night that hurts new growth, one a recorded winter.

    The last night of spring counts from the season it ends in, the first of autumn from the one before.
    A winter without such a night has none.
    """
    climate = view.site.climate
    if climate is None or climate.from_normals:
        return []
    limit = view.species["cold_flush"].number + view.site.site.colder_than_station
    offsets = []
    for spell in climate.cold_spells(limit):
        night = spell.last if which == "last" else spell.first
        if night is not None:
            season = spell.season if which == "last" else spell.season - 1
            offsets.append(float((night - view.site.start(season)).days))
    return offsets


def _last_frost(view: View, season: int) -> date | None:
    """The day by which hurtful nights have ended in eight winters of ten that had one."""
    offsets = _frost_offsets(view, "last")
    return view.site.day(float(np.quantile(offsets, 0.8)), season) if offsets else None


def _first_frost(view: View, season: int) -> date | None:
    """The day before which hurtful nights have begun in two winters of ten that had one."""
    offsets = _frost_offsets(view, "first")
    return view.site.day(float(np.quantile(offsets, 0.2)), season) if offsets else None


def _cut(
    view: View,
    what: str,
    window: Window,
    share: float,
    most: float,
    headline: Phrase,
    because: tuple[Because, ...],
    *,
    heavy: bool,
    remarks: tuple[Phrase, ...] = (),
) -> Advice:
    size = view.size
    after = height_and_spread_after_removal(size.height, size.skirt, *size.spread, share)
    taken = size.volume * share
    steps = [
        phrase(
            "First what is dead, broken or diseased; then shoots from below the union, flush with the trunk."
        ),
        phrase(
            "Then crossing and rubbing wood, then {habit}",
            habit=_lower(view.species["prune_habit"].text),
        ),
    ]
    if heavy:
        steps.append(
            phrase(
                "Stop at about {height} high and {along} by {across} across: that is {share} % off {volume}.",
                height=amount(after.height, "m"),
                along=amount(after.spread_along, "m"),
                across=amount(after.spread_across, "m"),
                share=round(100 * share),
                volume=amount(size.volume, "m3"),
            )
        )
    steps.append(
        phrase("Keep the wood that bears: {wood}", wood=_lower(view.species["bearing_wood"].text))
    )
    links = (
        *because,
        *size.because,
        from_fact("What bears: {value}", view.species["bearing_wood"]),
    )
    cases = [*view.species.lineage, *(["evergreen"] if view.species.keeps_leaves else [])]
    if size.height > 2.5:
        cases += ["tall", "large"]
    return Advice(
        id=view.advice_id("prune", what, window.best),
        tree=view.tree.id,
        kind="prune",
        window=window,
        headline=headline,
        quantity=amount(
            round(taken, 3),
            "m3",
            round(size.volume * min(share, most) * 0.8, 3),
            round(size.volume * most, 3),
        ),
        display=phrase(
            "{share} % of the canopy, {volume}",
            share=round(100 * share),
            volume=amount(taken, "m3"),
        ),
        steps=tuple(steps),
        cautions=view.cautions("prune", *cases),
        minutes=max(10, round(20 + 12 * taken)) if heavy else 12,
        because=links,
        changes=phrase(
            "Measuring the canopy again, an earlier or later bloom, or damage from cold"
        ),
        details={
            "share": round(share, 3),
            "most_share": round(most, 3),
            "volume_m3": round(size.volume, 2),
            "after_height_m": round(after.height, 2),
            "after_spread_m": [round(after.spread_along, 2), round(after.spread_across, 2)],
            "heavy": heavy,
        },
        remarks=remarks,
    )


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _after_harvest(view: View) -> list[Advice]:
    """Between the end of harvest and bloom, if the gap is long enough; else in light rounds."""
    advice: list[Advice] = []
    share, most, why_share = yearly_share(view)
    recovery, gap_wanted = view.species["prune_recovery"], view.constant("gap for a main cut")
    for season in (view.site.season, view.site.season + 1):
        bloom = view.cycle.of("bloom start", season) or view.cycle.of("full bloom", season)
        picked = _harvest_end_before(view, season)
        if bloom is None:
            continue
        if picked is None:
            # Nothing hangs yet: a young tree is shaped when frost is over, before bloom.
            picked = bloom.date - timedelta(days=120)
        gap = (bloom.date - picked).days
        latest = bloom.date - timedelta(days=round(recovery.number))
        why_gap = computed(
            "Harvest ends about {end} and bloom starts about {bloom}: {gap} between them",
            gap,
            "d",
            end=picked,
            bloom=bloom.date,
            gap=amount(gap, "d"),
        )
        why_recovery = from_fact("A main cut wants {value} before bloom", recovery)
        if gap >= gap_wanted.number and latest > picked:
            earliest = picked + timedelta(days=3)
            # Where the wanted rest leaves only days, four weeks are given while the least rest still holds.
            least = bloom.date - timedelta(days=max(14, round(recovery.least)))
            latest = max(latest, min(earliest + timedelta(days=28), least))
            frost = _last_frost(view, season)
            best, why_best = earliest, []
            if frost is not None and frost > earliest:
                best = min(frost, latest - timedelta(days=7))
                best = max(best, earliest)
                why_best.append(
                    computed(
                        "Nights that hurt new growth end by about {frost} in eight years of ten; a cut before that "
                        "bares wood and wakes tender shoots, so the later part of the gap is better",
                        frost=frost,
                    )
                )
            why_best.append(_disagreement(view))
            advice.append(
                _cut(
                    view,
                    "main",
                    Window(earliest, best, latest),
                    share,
                    most,
                    phrase("Main cut, in the gap between harvest and bloom"),
                    (why_gap, why_recovery, *why_best, *why_share),
                    heavy=True,
                )
            )
        else:
            advice += _light_rounds(
                view,
                season,
                picked,
                bloom.date,
                (
                    why_gap,
                    from_fact(
                        "Below {value} a heavy cut would take the bloom with it, so the year's cut is split into light "
                        "rounds: after harvest, in summer and in early autumn",
                        gap_wanted,
                    ),
                    *why_share,
                ),
            )
    return advice


def _disagreement(view: View) -> Because:
    fact = view.species["prune_recovery"]
    return from_fact(
        "Sources disagree on cutting citrus in late autumn and winter where nights freeze: some cut right "
        "after harvest, others only when frost is past. The plan keeps to the gap and leans to its later, "
        "safer part; nothing heavy within {value} of bloom"
        if view.species.belongs_to("citrus")
        else "The cut falls after harvest and leaves {value} before bloom",
        fact,
    )


def _light_rounds(
    view: View, season: int, picked: date, bloom: date, why: tuple[Because, ...]
) -> list[Advice]:
    light = view.constant("light round share")
    frost_start = _first_frost(view, season)
    hardens = view.constant("flush hardens")
    drop_end = view.cycle.of("natural drop end", season)
    summer = (drop_end.date if drop_end else bloom + timedelta(days=75)) + timedelta(days=10)
    autumn = (
        frost_start - timedelta(days=round(hardens.number))
        if frost_start
        else bloom + timedelta(days=150)
    )
    autumn = min(autumn, bloom + timedelta(days=140))
    rounds = [
        (
            "after-harvest",
            Window(
                picked + timedelta(days=2),
                picked + timedelta(days=10),
                min(bloom - timedelta(days=7), picked + timedelta(days=35)),
            ),
            phrase("Light cut after harvest: only what the fruit bent, broke or shaded"),
        ),
        (
            "summer",
            Window(summer, summer + timedelta(days=14), summer + timedelta(days=35)),
            phrase("Light summer cut: strong upright shoots and what shades the middle"),
        ),
        (
            "autumn",
            Window(autumn - timedelta(days=28), autumn - timedelta(days=14), autumn),
            phrase("Light early-autumn cut: tips that outgrow the shape"),
        ),
    ]
    why_autumn = from_fact("New growth needs about {value} to harden before frost", hardens)
    advice = []
    for what, window, headline in rounds:
        if window.earliest > window.latest or _blooming(view, window):
            continue
        best = min(max(window.best, window.earliest), window.latest)
        links = (*why, from_fact("One light round takes about {value}", light))
        if what == "autumn":
            links = (*links, why_autumn)
        advice.append(
            _cut(
                view,
                f"light-{what}",
                Window(window.earliest, best, window.latest),
                light.number,
                light.most,
                headline,
                links,
                heavy=False,
            )
        )
    return advice


def _blooming(view: View, window: Window) -> bool:
    """Whether a cut at the best of this window would take off flowers or buds about to open."""
    soon = timedelta(days=21)
    for start in view.cycle.every("bloom start"):
        end = view.cycle.of("bloom end", start.season)
        if end is not None and start.date - soon <= window.best <= end.date:
            return True
    return False


def _harvest_end_before(view: View, season: int) -> date | None:
    """The end of the last harvest that comes before the bloom of a season (or overlaps it)."""
    bloom = view.cycle.of("full bloom", season)
    if bloom is None or not view.bears:
        return None
    ends = [
        stage.date
        for stage in view.cycle.every("harvest end")
        if stage.date <= bloom.date + timedelta(days=60) and stage.season < season
    ]
    return min(max(ends), bloom.date - timedelta(days=10)) if ends else None


def _late_dormant(view: View) -> list[Advice]:
    """Late winter, before buds wake; evergreens cut so are left time to grow before they flower."""
    advice = []
    share, most, why_share = yearly_share(view)
    for season in (view.site.season, view.site.season + 1):
        bloom = view.cycle.of("bloom start", season)
        if bloom is None:
            continue
        if view.species.keeps_leaves:
            recovery = view.species["prune_recovery"]
            latest = bloom.date - timedelta(days=round(recovery.number))
            earliest = latest - timedelta(days=60)
            frost = _last_frost(view, season)
            best = min(max(earliest, frost or earliest), latest)
            why = from_fact(
                "{kind} is cut late in winter, with {value} to grow before it flowers",
                recovery,
                kind=view.species.name,
            )
        else:
            leaf, fall = view.cycle.of("leaf out", season), view.cycle.of("leaf fall", season - 1)
            wakes = min(bloom.date, leaf.date) if leaf else bloom.date
            latest = wakes - timedelta(days=5)
            earliest = max(
                wakes - timedelta(days=60), (fall.date if fall else wakes) + timedelta(days=21)
            )
            earliest = min(earliest, latest - timedelta(days=21))
            best = max(earliest, wakes - timedelta(days=25))
            why = computed(
                "Buds wake about {wakes}; late winter shows the buds, heals soon and leaves less time for cold "
                "and wet to get into the wounds",
                wakes=wakes,
            )
        advice.append(
            _cut(
                view,
                "main",
                Window(earliest, best, latest),
                share,
                most,
                phrase("Winter cut, late, before buds wake"),
                (why, *why_share),
                heavy=True,
            )
        )
    return advice


def _summer(view: View) -> list[Advice]:
    """After picking, in dry summer weather: wet-season wounds let silver leaf, canker and dieback in."""
    advice = []
    share, most, why_share = yearly_share(view)
    for season in (view.site.season, view.site.season + 1):
        picked, fall = view.cycle.of("harvest end", season), view.cycle.of("leaf fall", season)
        if picked is None:
            continue
        earliest = picked.date + timedelta(days=3)
        latest = min(
            earliest + timedelta(days=50),
            (fall.date if fall else picked.date + timedelta(days=120)) - timedelta(days=42),
        )
        latest = max(latest, earliest + timedelta(days=10))
        why = from_fact(
            "{kind} is cut in dry summer weather only, because wounds of the wet season let disease in",
            view.species["prune_season"],
            kind=view.species.name,
        )
        advice.append(
            _cut(
                view,
                "main",
                Window(earliest, earliest + timedelta(days=10), latest),
                share,
                most,
                phrase("Summer cut after picking, in a dry spell"),
                (why, *why_share),
                heavy=True,
            )
        )
    return advice


def barest_day(view: View) -> tuple[date, float]:
    """When an ever-bearing tree carries least fruit within the coming year, and its load then."""
    days = [view.today + timedelta(days=step) for step in range(0, 365, 3)]
    load = np.zeros(len(days))
    for bloom in view.cycle.every("full bloom"):
        end = view.cycle.of("harvest end", bloom.season, bloom.wave)
        start = view.cycle.of("harvest start", bloom.season, bloom.wave)
        if end is None or start is None:
            continue
        weight = 1.0 if bloom.wave == 1 else 0.5
        for index, day in enumerate(days):
            if bloom.date + timedelta(days=20) <= day <= end.date:
                left = (
                    1.0
                    if day < start.date
                    else 1 - (day - start.date).days / max(1, (end.date - start.date).days)
                )
                load[index] += weight * left
    climate = view.site.climate
    if climate is not None:
        limit = view.species["cold_flush"].number + 2
        for index, day in enumerate(days):
            # Cold weeks are no time to bare a tender tree.
            if (
                climate.tmin[min(day.timetuple().tm_yday, 366) - 1]
                - view.site.site.colder_than_station
                < limit
            ):
                load[index] += 10
    index = int(np.argmin(load))
    return days[index], float(load[index])


def _when_bare(view: View) -> list[Advice]:
    """An ever-bearing tree gives one gap, its barest frost-free weeks; one that sheds is bare in winter."""
    if not view.species.keeps_leaves:
        return _late_dormant(view)
    share, most, why_share = yearly_share(view)
    day, _ = barest_day(view)
    why = computed(
        "It blooms in waves and is hardly ever bare; by its waves it carries least about {day}. Your own look "
        "at the tree beats this estimate",
        day=day,
    )
    return [
        _cut(
            view,
            "bare",
            Window(day - timedelta(days=21), day, day + timedelta(days=21)),
            share,
            most,
            phrase("Main cut at its barest moment"),
            (why, *why_share),
            heavy=True,
        )
    ]
