"""When to cut, how much of the canopy, and what to leave: between the end of harvest and bloom."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import cache

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.bestday import best_by_score
from bearwell.plan.cut import (
    Share,
    cooler,
    days_of,
    main_cut,
    one_cut,
    usual_on,
)
from bearwell.plan.frost import (
    first_frost,
    held_for_cold,
    hurt_chance,
    last_frost,
    off_the_frost,
    with_frost_told,
)
from bearwell.plan.reduce import NOTHING
from bearwell.plan.view import LOOK_BACK, YEAR_AHEAD, View
from bearwell.plan.windows import DayScores, day_scores, fruit_load
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase, recorded
from bearwell.season.site import Floats


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
    settled = view.tree.planted + days_of(view, "settled before a cut")
    advice += _before_the_cover(view)
    kept = [
        one
        for one in advice
        if one.window.latest >= first
        and one.window.earliest <= last
        and not _already_cut(view, one)
        and one.window.earliest >= settled
    ]
    return held_for_cold(view, [with_frost_told(view, one) for one in kept])


def _already_cut(view: View, advice: Advice) -> bool:
    """Whether a cut recorded in this window, or shortly before it, already did the job."""
    begin = advice.window.earliest - days_of(view, "cut before its window")
    return any(
        work.job == "prune" and begin <= work.date <= min(advice.window.latest, view.today)
        for work in view.tree.done
    )


def _bears_on(view: View, day: date) -> bool:
    """Whether it is old enough on a day to be let carry fruit."""
    return view.tree.years_here(day) >= view.species["fruitless_years"].number


def _after_harvest(view: View) -> list[Advice]:
    """Between the end of harvest and bloom, if the gap is long enough; else in light rounds."""
    advice: list[Advice] = []
    scores = cache(
        lambda: day_scores(view)
    )  # once for all seasons, and only where a gap asks for them
    for season in (view.site.season, view.site.season + 1):
        bloom = view.cycle.of("bloom start", season) or view.cycle.of("full bloom", season)
        if bloom is None:
            continue
        picked = _harvest_end_before(view, season)
        if picked is None:
            advice += _shaping(view, season, bloom.date)
            continue
        advice += _in_the_gap(view, season, picked, bloom.date, scores)
        if season > view.site.season and advice[-1:] and advice[-1].window.latest < view.today:
            # Next bloom's time has passed: the one after it may open within the year.
            later = timedelta(days=365)
            advice += _in_the_gap(view, season + 1, picked + later, bloom.date + later, scores)
    return advice


def _shaping(view: View, season: int, bloom: date) -> list[Advice]:
    """A tree with nothing to pick yet: shaped when frost is over, before bloom; an avocado not at all."""
    if view.species.belongs_to("avocado"):
        return []
    recovery, before = view.species["prune_recovery"], view.constant("shaping before bloom")
    rest = max(view.constant("least rest before bloom").number, recovery.least)
    earliest = bloom - timedelta(days=round(before.number))
    latest = bloom - timedelta(days=round(rest))
    if latest <= earliest:
        earliest = latest - days_of(view, "window of a main cut")
    best, why_best = _past_frost(view, season, earliest, latest)
    why = from_fact(
        "It has had nothing to pick, so it is shaped within {value} of its bloom about {bloom}",
        before,
        bloom=bloom,
    )
    window, why_frost = off_the_frost(view, *_about_the_best(Window(earliest, best, latest)))
    why_frost = why_frost or why_best
    window = cooler(view, window)
    return [main_cut(view, "main", window, phrase("Shape it, before bloom"), (why, *why_frost))]


def _about_the_best(window: Window) -> tuple[Window, Floats]:
    """A window with its days valued by how near they lie to its best."""
    days = np.arange((window.latest - window.earliest).days + 1, dtype=np.float64)
    return window, -np.abs(days - (window.best - window.earliest).days)


def _past_frost(
    view: View, season: int, earliest: date, latest: date
) -> tuple[date, tuple[Because, ...]]:
    """The best day of a window: its first, or later where hurtful nights end in it."""
    frost = last_frost(view, season)
    if frost is None or frost <= earliest:
        return earliest, ()
    best = max(min(frost, latest - days_of(view, "week before the close")), earliest)
    return best, (
        computed(
            "Nights that hurt new growth end by about {frost} in {years} winters of ten; a cut before that "
            "bares wood and wakes tender shoots, so the later part of the gap is better",
            frost=frost,
            years=round(10 * view.constant("winters a frost date holds").number),
        ),
    )


def _in_the_gap(
    view: View, season: int, picked: date, bloom: date, scores: Callable[[], DayScores]
) -> list[Advice]:
    """One main cut in the gap between harvest and bloom, or light rounds where it is too short."""
    recovery, gap_wanted = view.species["prune_recovery"], view.constant("gap for a main cut")
    gap = (bloom - picked).days
    latest = bloom - timedelta(days=round(recovery.number))
    why_gap = computed(
        "Harvest ends about {end} and bloom starts about {bloom}: {gap} between them",
        gap,
        "d",
        end=picked,
        bloom=bloom,
        gap=amount(gap, "d"),
    )
    if gap < gap_wanted.number or latest <= picked:
        why_short = (
            from_fact(
                "Below {value} a heavy cut would take the bloom with it, so the year's cut is split into "
                "light rounds",
                gap_wanted,
            )
            if gap < gap_wanted.number
            else from_fact(
                "A main cut wants {value} before bloom, which does not fit after the picking, so the "
                "year's cut is split into light rounds",
                recovery,
            )
        )
        return _light_rounds(view, season, picked, bloom, (why_gap, why_short))
    earliest = picked + days_of(view, "after picking before a cut")
    # Where the wanted rest leaves only days, some weeks are given while the least rest still holds.
    rest = max(view.constant("least rest before bloom").number, recovery.least)
    least = bloom - timedelta(days=round(rest))
    latest = max(latest, min(earliest + days_of(view, "window of a main cut"), least))
    soon = view.garden.pruning.late_rounds == "after harvest"
    usual, why_best = (earliest, ()) if soon else _past_frost(view, season, earliest, latest)
    scored = best_by_score(view, Window(earliest, usual, latest), scores())
    if scored.window.latest < latest:
        why_best = ()  # the part kept lies before the frost
    why_recovery = from_fact("A main cut wants {value} before bloom", recovery)
    return [
        main_cut(
            view,
            "main",
            scored.window,
            phrase("Main cut, in the gap between harvest and bloom"),
            (why_gap, why_recovery, *why_best, *scored.because, *_disagreement(view)),
            scored.remarks,
            doubtful=scored.doubtful,
        )
    ]


def _before_the_cover(view: View) -> list[Advice]:
    """What must come off before the cover closes for winter, tips only: a late cut wakes tender shoots."""
    fit = view.fit if view.species.keeps_leaves else None  # a bare tree is cut in its own season
    if fit is None or fit.fits or not fit.share or fit.share < NOTHING:
        return []
    advice = []
    hardens, light = view.constant("flush hardens"), view.constant("light round share")
    for season in (view.site.season, view.site.season + 1):
        frost = first_frost(view, season)
        if frost is None:
            continue
        latest = frost - timedelta(days=round(hardens.number))
        earliest = latest - days_of(view, "light round in autumn")
        best = earliest + days_of(view, "light round in autumn") / 2
        share = min(fit.share, light.most)
        text = "{share} % of the canopy must come off for it to stand free"
        if share < fit.share:
            text = (
                "{share} % of the canopy must come off for it to stand free; as much as a late cut may take is "
                "{most} %, so for this winter bow the rest down, raise the cover or let it touch, and cut it "
                "smaller after the frost"
            )
        why = computed(
            text,
            round(fit.share, 3),
            "1",
            share=round(100 * fit.share),
            most=round(100 * light.most),
        )
        harden = from_fact("New growth needs about {value} to harden before frost", hardens)
        advice.append(
            one_cut(
                view,
                "fit",
                Window(earliest, best, latest),
                Share(share, share, ()),
                phrase("Trim it to fit under {shelter} before winter", shelter=fit.shelter.id),
                (*fit.because, why, harden),
                heavy=False,
            )
        )
    return advice


def _disagreement(view: View) -> tuple[Because, ...]:
    """Both sides of the dispute on cutting citrus while nights freeze, and what the plan follows."""
    fact = view.species["prune_recovery"]
    if not view.species.belongs_to("citrus"):
        return (from_fact("The cut falls after harvest and leaves {value} before bloom", fact),)
    soon = view.garden.pruning.late_rounds == "after harvest"
    rows = [
        row
        for row in view.book.table("cutcare").values()
        if row["about"].text == "season" and view.species.belongs_to(row["groups"].text)
    ]
    sides = tuple(from_fact("One side of a dispute: {value}", row["text"]) for row in rows)
    if soon:
        own = recorded(
            'You chose late_rounds = "after harvest": frost is not waited out, tender shoots are the risk'
        )
    else:
        own = from_fact(
            "Sources disagree on cutting citrus in late autumn and winter where nights freeze: some cut right "
            "after harvest, others only when frost is past. The plan keeps to the gap and leans to its later, "
            "safer part; nothing heavy within {value} of bloom",
            fact,
        )
    return (*sides, own)


def _light_rounds(
    view: View, season: int, picked: date, bloom: date, why: tuple[Because, ...]
) -> list[Advice]:
    """Light rounds after harvest, in summer and in early autumn, those that fit."""
    light = view.constant("light round share")
    most = view.species["prune_share_max"].number
    aim = view.aim
    share = Share(min(light.number, most), min(light.most, most), (), aim=aim)
    if aim is not None and aim.open:
        why = (*why, *aim.because, computed("Each round takes first what stands beyond that size"))
    closes = min(
        bloom - days_of(view, "light round before bloom"),
        picked + days_of(view, "light round closes after picking"),
    )
    rounds: list[tuple[str, Window, str, tuple[Because, ...]]] = [
        (
            "after-harvest",
            Window(
                picked + days_of(view, "light round after picking"),
                picked + days_of(view, "light round best after picking"),
                closes,
            ),
            "Light cut after harvest: only what the fruit bent, broke or shaded",
            (),
        )
    ]
    if view.species["bloom_rule"].text == "falling warmth":
        ends = from_fact(
            "It blooms with {value} and carries its fruit at the ends of the shoots from then to picking, "
            "so there is no round in between",
            view.species["bloom_rule"],
        )
        why = (*why, ends)
    else:
        rounds += _warm_rounds(view, season, bloom)
    advice = []
    for what, window, headline, more in rounds:
        if window.earliest > window.latest:
            continue
        best = min(max(window.best, window.earliest), window.latest)
        window = cooler(view, Window(window.earliest, best, window.latest))
        if _blooming(view, window):
            continue
        links = (*why, from_fact("One light round takes about {value}", light), *more)
        advice.append(
            one_cut(view, f"light-{what}", window, share, phrase(headline), links, heavy=False)
        )
    return advice


def _warm_rounds(
    view: View, season: int, bloom: date
) -> list[tuple[str, Window, str, tuple[Because, ...]]]:
    """The summer round, and the early-autumn one if it lies far enough from it."""
    hardens, apart = view.constant("flush hardens"), view.constant("light rounds apart")
    place = view.constant("best of a light round").number
    dropped = view.cycle.of("natural drop end", season)
    drop_end = dropped.date if dropped else bloom + days_of(view, "natural drop supposed")
    opens, lasts = (
        drop_end + days_of(view, "light round after the drop"),
        days_of(view, "light round in summer"),
    )
    frost, last = first_frost(view, season), bloom + days_of(view, "latest autumn round")
    if frost is not None:
        last = min(last, frost - timedelta(days=round(hardens.number)))
    # What a summer cut wakes must harden as well.
    shuts = opens + lasts
    if frost is not None:
        shuts = min(shuts, frost - timedelta(days=round(hardens.number)))
    if shuts < opens:
        return []
    summer = cooler(view, Window(opens, min(opens + place * lasts, shuts), shuts))
    open_for = days_of(view, "light round in autumn")
    autumn = cooler(view, Window(last - open_for, last - open_for / 2, last))
    rounds: list[tuple[str, Window, str, tuple[Because, ...]]] = [
        (
            "summer",
            summer,
            "Light summer cut: strong upright shoots and what shades the middle",
            (),
        )
    ]
    if (autumn.best - summer.best).days >= apart.number:
        rounds.append(
            (
                "autumn",
                autumn,
                "Light early-autumn cut: tips that outgrow the shape",
                (
                    from_fact("New growth needs about {value} to harden before frost", hardens),
                    from_fact("Light rounds lie at least {value} apart", apart),
                ),
            )
        )
    return rounds


def _blooming(view: View, window: Window) -> bool:
    """Whether a cut at the best of this window would take off flowers or buds about to open."""
    soon = days_of(view, "buds about to open")
    for start in view.cycle.every("bloom start"):
        end = view.cycle.of("bloom end", start.season)
        if end is not None and start.date - soon <= window.best <= end.date:
            return True
    return False


def _harvest_end_before(view: View, season: int) -> date | None:
    """The end of the last harvest that comes before the bloom of a season (or overlaps it)."""
    bloom = view.cycle.of("full bloom", season)
    if bloom is None:
        return None
    ends = [
        stage.date
        for stage in view.cycle.every("harvest end")
        if stage.date <= bloom.date + days_of(view, "picking into bloom")
        and stage.season < season
        and _bears_on(view, stage.date)
    ]
    return min(max(ends), bloom.date - days_of(view, "picked before bloom")) if ends else None


def _late_dormant(view: View) -> list[Advice]:
    """Late winter, before buds wake; evergreens cut so are left time to grow before they flower."""
    advice, scores = [], day_scores(view)
    for season in (view.site.season, view.site.season + 1):
        bloom = view.cycle.of("bloom start", season)
        if bloom is None:
            continue
        remarks: tuple[Phrase, ...] = ()
        if view.species.keeps_leaves:
            window, why, remarks = _evergreen_winter(view, season, bloom.date)
        else:
            window, why = _bare_winter(view, season, bloom.date)
        scored = best_by_score(view, window, scores)
        why = (*why, *scored.because)
        headline = phrase(
            "Late winter cut, in dry weather" if remarks else "Winter cut, late, before buds wake"
        )
        remarks = (*scored.remarks, *remarks)
        advice.append(
            main_cut(view, "main", scored.window, headline, why, remarks, doubtful=scored.doubtful)
        )
    return advice


def _bare_winter(view: View, season: int, bloom: date) -> tuple[Window, tuple[Because, ...]]:
    """The weeks before the buds of a leafless tree wake."""
    leaf, fall = view.cycle.of("leaf out", season), view.cycle.of("leaf fall", season - 1)
    wakes = min(bloom, leaf.date) if leaf else bloom
    latest = wakes - days_of(view, "done before buds wake")
    bare = days_of(view, "bare before a cut")
    earliest = max(wakes - days_of(view, "late winter cut"), (fall.date if fall else wakes) + bare)
    earliest = min(earliest, latest - bare)
    best = max(earliest, wakes - days_of(view, "best before buds wake"))
    why = computed(
        "Buds wake about {wakes}; late winter shows the buds, heals soon and leaves less time for cold "
        "and wet to get into the wounds",
        wakes=wakes,
    )
    return Window(earliest, best, latest), (why,)


def _evergreen_winter(
    view: View, season: int, bloom: date
) -> tuple[Window, tuple[Because, ...], tuple[Phrase, ...]]:
    """The end of winter, with time to grow before bloom: late, after frost, off the wettest weeks."""
    recovery = view.species["prune_recovery"]
    latest = bloom - timedelta(days=round(recovery.number))
    earliest = latest - days_of(view, "late winter cut")
    links = [
        from_fact(
            "{kind} is cut late in winter, with {value} to grow before it flowers",
            recovery,
            kind=view.species.name,
        )
    ]
    remarks: tuple[Phrase, ...] = ()
    if view.species.belongs_to("olive"):
        earliest, latest, found = _dry_part(
            view, earliest, latest, bloom - timedelta(days=round(recovery.least))
        )
        links += found
        remarks = (
            phrase(
                "Wet wounds let olive knot in: wait for a dry spell, clean the blades between trees, and "
                "take out knots in the dry of summer"
            ),
        )
    frost = last_frost(view, season)
    late = view.constant("late in the window")
    best = earliest + timedelta(days=round(late.number * (latest - earliest).days))
    best = min(max(best, frost or best), latest)
    return Window(earliest, best, latest), tuple(links), remarks


def _dry_part(
    view: View, earliest: date, latest: date, last: date
) -> tuple[date, date, list[Because]]:
    """A window without its wettest weeks; it may close later, up to ``last``, to stay long enough."""
    knot = Because(
        phrase("Rain spreads olive knot and wounds let it in, from autumn to spring"),
        source="uc-ipm-olive-knot",
        locator="comments on the disease",
        confidence="read",
    )
    climate = view.site.climate
    if climate is None or not np.isfinite(climate.rain).all():
        return earliest, latest, [knot]
    fact = view.constant("wet weeks")
    wet = float(np.quantile(climate.rain, fact.number))
    least = days_of(view, "bare before a cut")
    count = (last - earliest).days + 1
    dry = [
        day
        for day in (earliest + timedelta(days=step) for step in range(count))
        if usual_on(climate.rain, day) <= wet
    ]
    why = [
        knot,
        from_fact(
            "Weeks wetter than {share} % of the year are left out",
            fact,
            share=round(100 * fact.number),
        ),
    ]
    if not dry:
        return last - least, last, [knot]
    # The last unbroken run of drier days.
    first = dry[-1]
    while first - timedelta(days=1) in dry:
        first -= timedelta(days=1)
    closes = min(dry[-1], max(latest, first + least))
    return min(first, closes - least), closes, why


def _summer(view: View) -> list[Advice]:
    """After picking, in dry summer weather: wet-season wounds let silver leaf, canker and dieback in."""
    advice, scores = [], day_scores(view)
    for season in (view.site.season, view.site.season + 1):
        picked, fall = view.cycle.of("harvest end", season), view.cycle.of("leaf fall", season)
        if picked is None:
            continue
        earliest = picked.date + days_of(view, "after picking before a cut")
        falls = fall.date if fall else picked.date + days_of(view, "leaf fall after picking")
        best = earliest + days_of(view, "summer cut begins to be best")
        latest = min(
            earliest + days_of(view, "summer cut lasts"),
            falls - days_of(view, "summer cut before leaf fall"),
        )
        why = from_fact(
            "{kind} is cut in dry summer weather only, because wounds of the wet season let disease in",
            view.species["prune_season"],
            kind=view.species.name,
        )
        scored = best_by_score(view, Window(earliest, best, max(latest, best)), scores)
        headline = phrase("Summer cut after picking, in a dry spell")
        advice.append(
            main_cut(
                view,
                "main",
                scored.window,
                headline,
                (why, *scored.because),
                scored.remarks,
                doubtful=scored.doubtful,
            )
        )
    return advice


def barest_day(view: View) -> tuple[date, float]:
    """When an ever-bearing tree carries least fruit within the coming year, and its load then."""
    days = [view.today + timedelta(days=step) for step in range(0, 365, 3)]
    load = fruit_load(view, days)
    chance = hurt_chance(view, view.today, 365)
    if chance is not None:
        # Weeks that freeze are no time to bare a tender tree.
        load = load + 10 * (chance[::3] > view.constant("frost risk of a cut").number)
    index = int(np.argmin(load))
    return days[index], float(load[index])


def _when_bare(view: View) -> list[Advice]:
    """An ever-bearing tree gives one gap, its barest frost-free weeks; one that sheds is bare in winter."""
    if not view.species.keeps_leaves:
        return _late_dormant(view)
    day, _ = barest_day(view)
    around = days_of(view, "bare before a cut")
    why = computed(
        "It blooms in waves and is hardly ever bare; by its waves it carries least about {day}. Your own look "
        "at the tree beats this estimate",
        day=day,
    )
    window, why_frost = off_the_frost(
        view, *_about_the_best(Window(day - around, day, day + around))
    )
    headline = phrase("Main cut at its barest moment")
    return [main_cut(view, "bare", window, headline, (why, *why_frost))]
