"""One cut: how much of the canopy it takes, what holds it back, and how it is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from bearwell.plan.advice import Advice, Window
from bearwell.plan.reduce import NOTHING, Aim, reduction_of
from bearwell.plan.view import View
from bearwell.plan.wood import HeadingCuts, heading_cuts
from bearwell.reasons import (
    Because,
    Phrase,
    Value,
    amount,
    computed,
    from_fact,
    in_a_row,
    of_fact,
    phrase,
    recorded,
)
from bearwell.said import listed, said, small
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import canopy_after_removal


@dataclass(frozen=True)
class Share:
    """How much of the canopy a cut may take, and what limits it: nothing, youth or an earlier cut."""

    share: float
    most: float
    because: tuple[Because, ...]
    young: bool = False
    cut_before: date | None = None
    aim: Aim | None = None
    more: bool = False

    @property
    def heavy(self) -> bool:
        """Whether it is a full main cut."""
        return not self.young and self.cut_before is None


def days_of(view: View, name: str) -> timedelta:
    """The days a constant states."""
    return timedelta(days=round(view.constant(name).number))


def yearly_share(view: View, window: Window) -> Share:
    """The share of the canopy to take in a window and the most to take in a year."""
    most = view.species["prune_share_max"]
    years = view.tree.years_here(window.best)
    if years < view.species["fruitless_years"].number + 1:
        young = view.constant("prune share young")
        share = min(young.number, most.number)
        why = from_fact("It is young, so it is only shaped: about {value}", young)
        return Share(share, share, (why,), young=True)
    low = view.constant("prune share low")
    share, cap = min(low.number, most.number), most.number
    links = [
        from_fact(
            "A quarter to a third of the canopy is the most in a year; {kind}: at most {value}",
            most,
            kind=view.species.name,
        ),
        from_fact("The plan starts from {value}", low),
    ]
    more = view.tree.cut_more
    if more is not None and more.share > cap:
        cap = more.share
        links.append(
            recorded(
                "You allow {share} % for a reason: {reason}",
                more.share,
                "1",
                share=round(100 * more.share),
                reason=more.reason,
            )
        )
    already = _cut_within_the_year(view, window)
    if already:
        days = in_a_row(already)
        links.append(
            recorded("It was cut on {days} within a year; only light work is left", days=days)
        )
        light = view.constant("light round share").number
        return Share(
            min(share, light),
            min(most.number, light),
            tuple(links),
            cut_before=already[-1],
            aim=view.aim,
        )
    aim = view.aim
    if aim is not None:
        share, told = _towards(view, aim, share, cap)
        links += told
    elif more is not None:
        share = max(share, more.share)
    return Share(share, max(cap, share), tuple(links), aim=aim, more=share > most.number)


def _towards(view: View, aim: Aim, usual: float, cap: float) -> tuple[float, list[Because]]:
    """The share of this year's cut towards a wanted size, and why."""
    links = list(aim.because)
    if not aim.open:
        light = view.constant("light round share")
        links.append(
            from_fact(
                "It is no larger than wanted: it is thinned by about {value}, for light, not made smaller",
                light,
            )
        )
        return min(light.number, usual), links
    plan = reduction_of(view, aim, cap)
    first, count = plan.years[0], len(plan.years)
    if count == 1:
        text = "{share} % of the canopy brings it to that size in one cut"
    elif plan.reached:
        text = (
            "To that size it is {all} % less canopy, more than a year's share: {count} years of cuts, "
            "{share} % in the first"
        )
    else:
        text = (
            "To that size it is {all} % less canopy; at a year's share it grows back too fast to get there in "
            "{count} years. Raise the wanted size or the share, or think of a smaller stock"
        )
    values: dict[str, Value] = {"share": round(100 * first.share)}
    if count > 1:
        values |= {"all": round(100 * aim.share), "count": count}
    links.append(computed(text, round(first.share, 4), "1", **values))
    least = min(view.constant("light round share").number, usual)
    return max(first.share, least), links


def after_cut(view: View, share: Share) -> CanopySize:
    """The measures after a cut: on the way to a wanted size first, the rest of the share even all round."""
    size = view.size
    if share.aim is None or not share.aim.open or share.share <= NOTHING:
        return canopy_after_removal(size.canopy, size.skirt, size.form, share.share)
    first = reduction_of(view, share.aim, share.share).years[0]
    rest = 1.0 - (1.0 - share.share) / max(1.0 - first.share, 1e-9)
    if rest <= NOTHING:
        return first.after
    return canopy_after_removal(first.after, size.skirt, size.form, rest)


def _cut_within_the_year(view: View, window: Window) -> list[date]:
    """Cuts recorded within a year of a window; one made in the same window a year ago was last year's."""
    begin = window.latest - days_of(view, "cut counts for")
    return sorted(
        work.date
        for work in view.tree.done
        if work.job == "prune" and begin < work.date <= view.today
    )


def usual_on(curve: np.ndarray, day: date) -> float:
    """The value of a day-of-year curve on a date."""
    return float(curve[min(day.timetuple().tm_yday, len(curve)) - 1])


def _scorching(view: View, day: date) -> bool:
    """Whether a date lies in the hottest weeks, when bark newly bared to the sun burns."""
    climate = view.site.climate
    if climate is None:
        return False
    return usual_on(climate.tmax, day) > view.constant("sunburn warmth").number


def cooler(view: View, window: Window) -> Window:
    """A window without its hottest days, where it has others; the best day moves to the nearest of them."""
    count = (window.latest - window.earliest).days + 1
    days = [window.earliest + timedelta(days=step) for step in range(count)]
    mild = [day for day in days if not _scorching(view, day)]
    if not mild or len(mild) == count:
        return window
    best = min(mild, key=lambda day: abs((day - window.best).days))
    first = last = best
    while first - timedelta(days=1) in mild:
        first -= timedelta(days=1)
    while last + timedelta(days=1) in mild:
        last += timedelta(days=1)
    return Window(first, best, last)


def _sun_remarks(view: View, window: Window) -> tuple[Phrase, ...]:
    if not _scorching(view, window.best):
        return ()
    return (
        phrase(
            "These are the hottest weeks, of {warmth} and more: take soft shoots only where you can, and "
            "shade or whiten any bark the sun now reaches",
            warmth=of_fact(view.constant("sunburn warmth")),
        ),
    )


def main_cut(
    view: View,
    what: str,
    window: Window,
    headline: Phrase,
    because: tuple[Because, ...],
    remarks: tuple[Phrase, ...] = (),
    *,
    doubtful: bool = False,
) -> Advice:
    """The cut of the year; only shaping on a young tree, only light work after an earlier cut or in doubt."""
    share = yearly_share(view, window)
    if share.aim is not None and share.aim.open:
        warning = reduction_of(view, share.aim, share.most).warning
        remarks = (*((warning,) if warning is not None else ()), *remarks)
    if doubtful and share.heavy and view.tree.cut_more is None:
        share, headline = _in_doubt(view, share), phrase("Light cut only: its best day is doubtful")
        because = (*because, *share.because)
        return one_cut(view, what, window, share, headline, because, heavy=False, remarks=remarks)
    if share.young:
        headline = phrase("Shape it lightly")
    elif share.cut_before is not None:
        headline = phrase("Light work only: it was cut on {day}", day=share.cut_before)
    return one_cut(view, what, window, share, headline, (*because, *share.because), remarks=remarks)


def _in_doubt(view: View, share: Share) -> Share:
    """A light share where even the best day of a window is doubtful."""
    light = view.constant("light round share")
    why = from_fact("Even its best day is doubtful, so only a light cut is made: {value}", light)
    return replace(
        share,
        share=min(share.share, light.number),
        most=min(share.most, light.most),
        because=(*share.because, why),
        more=False,
    )


def one_cut(
    view: View,
    what: str,
    window: Window,
    share: Share,
    headline: Phrase,
    because: tuple[Because, ...],
    *,
    heavy: bool | None = None,
    remarks: tuple[Phrase, ...] = (),
) -> Advice:
    """A cut as advice; ``heavy`` where it is told apart from its share."""
    size, heavy = view.size, share.heavy if heavy is None else heavy
    after = after_cut(view, share)
    taken = size.volume * share.share
    least = size.volume * min(share.share, share.most) * view.constant("least of a cut").number
    cases = [*view.species.lineage, *(["evergreen"] if view.species.keeps_leaves else [])]
    if size.height > view.constant("tall tree").number:
        cases += ["tall", "large"]
    if share.more:
        cases.append("more than the share")
    minutes, low_minutes, high_minutes = work_minutes(view, taken, heavy=heavy)
    headings, why_headings = heading_cuts(view, share.share) if heavy else ((), ())
    return Advice(
        id=view.advice_id("prune", what, window.best),
        tree=view.tree.id,
        kind="prune",
        window=window,
        headline=headline,
        quantity=amount(round(taken, 3), "m3", round(least, 3), round(size.volume * share.most, 3)),
        display=phrase(
            "{share} % of the canopy, {volume}",
            share=round(100 * share.share),
            volume=amount(taken, "m3"),
        ),
        steps=_cut_steps(view, share.share, after, heavy, headings),
        cautions=view.cautions("prune", *cases),
        minutes=minutes,
        because=(
            *because,
            *why_headings,
            *size.because,
            from_fact("What bears: {value}", view.species["bearing_wood"]),
        ),
        changes=phrase(
            "Measuring the canopy again, an earlier or later bloom, or damage from cold"
        ),
        details={
            "share": round(share.share, 3),
            "most_share": round(share.most, 3),
            "volume_m3": round(size.volume, 2),
            "after_height_m": round(after.height, 2),
            "after_spread_m": [round(after.spread_along, 2), round(after.spread_across, 2)],
            "heavy": heavy,
            "brush_m3": round(taken * view.constant("brush of canopy").number, 2),
            "minutes_low": low_minutes,
            "minutes_high": high_minutes,
        },
        remarks=(*remarks, *_sun_remarks(view, window)),
    )


def work_minutes(view: View, taken: float, *, heavy: bool) -> tuple[float, float, float]:
    """Minutes of work for a canopy volume taken off [min]: expected, low and high."""
    if not heavy:
        light = view.constant("minutes of light work")
        return light.number, light.least, light.most
    start, each = view.constant("minutes of a cut"), view.constant("minutes a cubic metre")
    return (
        float(round(start.number + each.number * taken)),
        float(round(start.least + each.least * taken)),
        float(round(start.most + each.most * taken)),
    )


def _cut_steps(
    view: View, share: float, after: CanopySize, heavy: bool, headings: tuple[HeadingCuts, ...]
) -> tuple[Phrase, ...]:
    """What to cut, in order."""
    size, disease = view.size, view.species.get("wound_disease")
    steps = [
        phrase("First what is dead or broken, back to sound wood."),
        phrase(
            "Then what is diseased, well below what you see, with blades cleaned after each cut."
        ),
        phrase("Shoots from the ground beyond the stems it is to keep.")
        if size.form.name == "multi-stem"
        else phrase("Shoots from below the union, flush with the trunk."),
        phrase(
            "Crossing and rubbing wood, then {habit}",
            habit=small(view.species["prune_habit"].text),
        ),
    ]
    if disease is not None:
        steps.append(
            phrase("Rain carries {disease} into wounds: a dry spell only.", disease=disease.text)
        )
    if view.species["wood_kind"].text == "canes" and heavy:
        steps.append(
            phrase(
                "Canes by age: {share} % of them, the oldest, out at the ground; keep every younger age.",
                share=round(100 * view.species["renewal_share"].number),
            )
        )
    if heavy and headings:
        steps.append(_heading_step(headings))
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
        phrase("Keep the wood that bears: {wood}", wood=small(view.species["bearing_wood"].text))
    )
    return tuple(steps)


def _heading_step(headings: tuple[HeadingCuts, ...]) -> Phrase:
    """How many cuts of which thickness make the share, as one sentence."""
    cuts = listed(
        (
            said(
                "{best:g} ({low:g} to {high:g}) as thick as a {thing}",
                best=one.cuts.value,
                low=one.cuts.low,
                high=one.cuts.high,
                thing=said(one.name),
            )
            for one in headings
        ),
        "{one} or {other}",
    )
    return phrase("The share in cuts: {cuts}, or a mixture.", cuts=cuts)
