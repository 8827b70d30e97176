"""Everything the pages of pruning show of one tree: sizes, days, wood, light, cuts and care, put together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bearwell.garden import Tree
from bearwell.knowledge import Fact
from bearwell.plan.advice import Advice
from bearwell.plan.cut import Share, after_cut, yearly_share
from bearwell.plan.fit import Fit
from bearwell.plan.prune import barest_day
from bearwell.plan.reduce import Reduction, reduction_of
from bearwell.plan.view import View
from bearwell.plan.windows import DayScores, day_scores
from bearwell.plan.wood import HeadingCuts, WoodAccount, heading_cuts, wood_account
from bearwell.quantities import Quantity
from bearwell.reasons import Because, Phrase, amount, computed, from_fact, phrase
from bearwell.said import said
from bearwell.science.canopy import CanopySize
from bearwell.science.shapes import canopy_volume
from bearwell.science.treegrowth import light_share
from bearwell.season.growth import Ahead, vigour_of, years_ahead
from bearwell.season.size import Size

INNER = 0.5  # the inner zone begins half way down the crown


@dataclass(frozen=True)
class Light:
    """Share of full light at the middle of the crown now and after the cut, as ranges, and what buds want."""

    now: Quantity
    after: Quantity
    wanted: Quantity
    because: tuple[Because, ...]


@dataclass(frozen=True)
class Sketch:
    """What a drawing of one cut shows: the tree before it and after, and its cover."""

    tree: Tree
    size: Size
    cut: Advice | None
    share: Share
    after: CanopySize
    fit: Fit | None
    headings: tuple[HeadingCuts, ...]


def sketch_of(view: View, cut: Advice) -> Sketch:
    """The drawing of one cut."""
    share = _share_of(view, cut)
    heavy = bool(cut.details["heavy"])
    headings = heading_cuts(view, share.share)[0] if heavy else ()
    return Sketch(view.tree, view.size, cut, share, after_cut(view, share), view.fit, headings)


@dataclass(frozen=True)
class PruningYear:
    """A tree as its pruner sees it."""

    tree: Tree
    size: Size
    pattern: Phrase
    cuts: tuple[Advice, ...]
    cut: Advice | None
    share: Share
    after: CanopySize
    after_volume: float
    ahead: tuple[Ahead, ...]
    ahead_cut: tuple[Ahead, ...]
    growth: tuple[Because, ...]
    light: Light
    fit: Fit | None
    reduction: Reduction | None
    scores: DayScores
    closes: date | None
    chance_closed: float | None
    barest: date | None
    wood: WoodAccount
    headings: tuple[HeadingCuts, ...]
    why_headings: tuple[Because, ...]
    brush: Quantity
    crop_lost: Quantity
    care: tuple[dict[str, Fact], ...]
    uncut: Phrase | None

    @property
    def sketch(self) -> Sketch:
        """The drawing of the cut shown."""
        return Sketch(
            self.tree, self.size, self.cut, self.share, self.after, self.fit, self.headings
        )


def pruning_year(view: View, advice: list[Advice]) -> PruningYear:
    """The pruning of one tree; ``advice`` is what its planners say over the year."""
    cuts = tuple(
        sorted((one for one in advice if one.kind == "prune"), key=lambda one: one.window.best)
    )
    coming = [one for one in cuts if one.window.latest >= view.today]
    cut = next((one for one in coming if one.details["heavy"]), coming[0] if coming else None)
    share = _share_of(view, cut)
    after, size = after_cut(view, share), view.size
    years = round(view.constant("years drawn ahead").number)
    light_only = bool(coming) and all(_is_round(one) for one in coming)
    scores = day_scores(view, light=light_only)
    aim = view.aim
    headings, why_headings = heading_cuts(view, share.share)
    lost, brush = view.constant("crop lost to a cut"), view.constant("brush of canopy")
    taken = size.volume * share.share
    most = max(share.most, view.species["prune_share_max"].number) if aim else share.most
    bare = view.species["prune_season"].text == "when bare" and view.species.keeps_leaves

    def ahead(start: CanopySize) -> tuple[Ahead, ...]:
        return years_ahead(view.tree, view.species, view.book, size, view.today, years, start)

    return PruningYear(
        view.tree,
        size,
        _pattern(view, light_only),
        cuts,
        cut,
        share,
        after,
        float(canopy_volume(after, size.skirt, size.form)),
        ahead(size.canopy),
        ahead(after),
        _why_growth(view),
        _light(view, share.share, after),
        view.fit,
        reduction_of(view, aim, most) if aim is not None and aim.open else None,
        scores,
        *_closes(view, scores, cut),
        barest_day(view)[0] if bare else None,
        wood_account(view),
        headings,
        why_headings,
        amount(taken * brush.number, "m3", taken * brush.least, taken * brush.most),
        amount(share.share * lost.number, "1", share.share * lost.least, share.share * lost.most),
        _care(view),
        None if cut is not None else _why_uncut(view),
    )


def _share_of(view: View, cut: Advice | None) -> Share:
    """The share of the cut shown; a light round has its own."""
    if cut is None:
        return Share(0.0, view.species["prune_share_max"].number, ())
    if not cut.details["heavy"]:
        return Share(cut.details["share"], cut.details["most_share"], (), aim=view.aim)
    return yearly_share(view, cut.window)


def _why_uncut(view: View) -> Phrase:
    """Why no cut is planned for a tree in the coming year."""
    settled = view.constant("settled before a cut")
    if view.years_here * 365.25 < settled.number:
        return phrase("It has only just been planted and is left to root.")
    if not view.bears and view.species.belongs_to("avocado"):
        return phrase("A young avocado is left alone until it bears.")
    if view.species["prune_season"].text == "after harvest":
        return phrase(
            "Picking runs so near to bloom that no cut fits between, and what a summer cut wakes would not "
            "harden before frost. Take out dead wood and suckers as you see them."
        )
    return phrase("Its time for this year has been used, or lies more than a year ahead.")


def _is_round(cut: Advice) -> bool:
    """Whether a cut is one of the light rounds, or the trim to fit a cover."""
    return cut.id.split("/")[2].startswith(("light", "fit"))


def _closes(view: View, scores: DayScores, cut: Advice | None) -> tuple[date | None, float | None]:
    """The day from the best on by which bloom is quite likely to have closed the window, and how likely.

    Where that is so on the best day already, the chance told is that day's own.
    """
    if cut is None:
        return None, None
    likely = view.constant("quite likely").number
    day = max(cut.window.best, view.today)
    while day <= cut.window.latest:
        if scores.chance_closed(day) >= likely:
            return day, scores.chance_closed(day)
        day += timedelta(days=1)
    return None, None


def _pattern(view: View, light_only: bool) -> Phrase:
    """How this tree's year leaves room for a cut, in one sentence."""
    species, season = view.species, view.species["prune_season"].text
    if season == "summer only":
        return phrase(
            "Cut after picking in dry summer weather only: wet-season wounds let disease in."
        )
    if season == "when bare" and species.keeps_leaves:
        return phrase(
            "Flowers and fruits in waves; the cut comes when it is barest. That day is an estimate: look."
        )
    if species.belongs_to("blueberry"):
        return phrase("Cut by the age of its canes in late winter, the oldest out at the ground.")
    if species.belongs_to("fig"):
        return phrase(
            "Cut when bare. Breba figs sit on last year's tips, the main crop on this year's shoots: leave tips "
            "for the first, shorten for the second."
        )
    if species.belongs_to("avocado"):
        return phrase(
            "One or two tall limbs after picking, early, so that summer shoots ripen flower buds."
        )
    if not species.keeps_leaves:
        return phrase("Sleeps through winter and is cut late in it, before buds wake.")
    if season == "late dormant":
        return phrase("Evergreen, cut at the end of winter with time to grow before it flowers.")
    if light_only:
        return phrase(
            "Ripens shortly before it flowers again: no room for a main cut, so light rounds after harvest, in "
            "summer and in early autumn."
        )
    return phrase(
        "Ripens long before it flowers again: the gap between is the time for the main cut."
    )


def _why_growth(view: View) -> tuple[Because, ...]:
    vigour = vigour_of(view.tree, view.book)
    links = [
        from_fact(
            "Height and spread of a tree left uncut follow its age to the power of {power}",
            shape := view.constant("growth shape"),
            power=said("{power:.2g}", power=shape.number),
        )
    ]
    if vigour is not None:
        links.append(
            from_fact(
                "On {stock} it grows at {value} of a seedling stock",
                vigour,
                stock=said(view.tree.rootstock or ""),
            )
        )
    if view.tree.pot is not None:
        links.append(
            from_fact("A pot carries a canopy of one cubic metre for {litres} of medium",
                      view.constant("medium per canopy"),
                      litres=amount(view.constant("medium per canopy").number, "L"))
        )  # fmt: skip
    links.append(
        computed(
            "The range holds the low and high ends of these; a cut, a hard winter or hunger goes below it"
        )
    )
    return tuple(links)


def _light(view: View, share: float, after: CanopySize) -> Light:
    """Light at the middle of the crown: layers of leaf above it go with the depth of the crown.

    After the cut the range runs from shortening alone, which brings the middle nearer the top, to thinning
    alone, which takes the share out of the layers.
    """
    size, row = view.size, view.species["leaf_layers"]
    k, wanted = view.constant("light extinction"), view.constant("light for flower buds")
    grown = view.species["grown_height"].number * (1 - view.constant("skirt share").number)
    depth = max(size.height - size.skirt, 0.0) / grown

    def now(layers: float, extinction: float) -> float:
        return light_share(extinction, layers * depth, INNER)

    left = (after.height - size.skirt) / max(size.height - size.skirt, 1e-9)

    def then(layers: float, extinction: float) -> float:
        shorter = light_share(extinction, layers * depth * left, INNER)
        thinner = light_share(extinction, layers * depth * (1 - share), INNER)
        return (shorter + thinner) / 2

    ends = ((row.number, k.number), (row.most, k.most), (row.least, k.least))
    links = (
        from_fact(
            "Leaf layers in the crown of a grown {kind}: {value}", row, kind=view.species.name
        ),
        from_fact("Each layer lets through what an extinction of {value} leaves", k),
        from_fact("Places below about {value} of full light make few flower buds", wanted),
        computed("A single tree gets light from its sides too, so the true shares lie above these"),
    )
    lit, after_lit = ([fn(*end) for end in ends] for fn in (now, then))
    return Light(
        amount(lit[0], "1", min(lit), max(lit)),
        amount(after_lit[0], "1", min(after_lit), max(after_lit)),
        amount(wanted.number, "1", wanted.low, wanted.high),
        links,
    )


def _care(view: View) -> tuple[dict[str, Fact], ...]:
    """Rows on tools, wounds, sun and season that concern this kind."""
    return tuple(
        row
        for row in view.book.table("cutcare").values()
        if "groups" not in row
        or any(view.species.belongs_to(group.strip()) for group in row["groups"].text.split(","))
    )
