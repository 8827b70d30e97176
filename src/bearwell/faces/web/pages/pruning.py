"""The pages of pruning: a tree's cuts with its drawings, and the sheet to carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from markupsafe import Markup

from bearwell.api import CutLine, LoadedGarden, PruningYear, Sketch, pruning_sheet, width_share
from bearwell.faces.language import N_, _, _n, say
from bearwell.faces.shelf import days_asked
from bearwell.faces.twins_pruning import factor_names
from bearwell.faces.web.drawing.crown import Cover, Crown, Shadow, plan_view, side_view
from bearwell.faces.web.drawing.daily import Band, Span, Stack, score_drawing, stacked_bars
from bearwell.faces.web.drawing.reading import Readings, readable
from bearwell.faces.words import Words
from bearwell.quantities import Quantity

OFTEN = 3  # cuts from which a step that all of them share is said once
BEHIND, AHEAD = 30, 366  # days the chart draws before and after today


def metres(value: float, words: Words) -> str:
    """A length in words."""
    return words.quantity(Quantity(value, "m"))


def shown_days(today: date) -> tuple[date, date]:
    """The days the chart draws, whole months."""
    first = (today - timedelta(days=BEHIND)).replace(day=1)
    after = (today + timedelta(days=AHEAD + 31)).replace(day=1)
    return first, after - timedelta(days=1)


def crown_drawing(sketch: Sketch, words: Words, ident: str) -> Markup:
    """The tree from the side, before and after the cut; across its cover where it has one."""
    size, after, cover = sketch.size, sketch.after, None
    if sketch.fit is not None and sketch.fit.points and sketch.fit.shelter.height is not None:
        cover = _cover(sketch, words)
    before_width, after_width = (
        (size.spread[1], after.spread_across)
        if cover is not None
        else (size.spread[0], after.spread_along)
    )

    def outline(level: float) -> float:
        return width_share(size.form, level, size.skirt / size.height)

    measures = [
        (size.height, metres(size.height, words)),
        (size.skirt, metres(size.skirt, words)),
    ]
    now = _("Now: {size}", size=_sized(size.height, size.spread, words))
    crowns = [Crown(size.height, size.skirt, before_width, outline, "before", now)]
    if sketch.cut is not None and sketch.share.share > 0:
        sized = _sized(after.height, (after.spread_along, after.spread_across), words)
        label = _("After the cut: {size}", size=sized)
        crowns.append(Crown(after.height, size.skirt, after_width, outline, "after", label))
        measures.append((after.height, metres(after.height, words)))
    described = "; ".join(crown.label for crown in crowns)
    if cover is not None:
        described += f"; {cover.label}"
        measures.append((sketch.fit.shelter.height, metres(sketch.fit.shelter.height, words)))  # type: ignore[union-attr,arg-type]
    trunk, stems = size.trunk_diameter or 0.0, size.form.name == "multi-stem"
    return side_view(
        crowns, trunk, stems, cover, measures, lambda length: metres(length, words), ident,
        _("{tree} from the side", tree=sketch.tree.called), described,
    )  # fmt: skip


def _sized(height: float, spread: tuple[float, float], words: Words) -> str:
    return _(
        "{height} high, {one} by {other} across",
        height=metres(height, words),
        one=metres(spread[0], words),
        other=metres(spread[1], words),
    )


def _across(along: float, across: float, words: Words) -> str:
    return _("{one} by {other}", one=metres(along, words), other=metres(across, words))


def _cover(sketch: Sketch, words: Words) -> Cover | None:
    fit = sketch.fit
    if fit is None or fit.shelter.height is None:
        return None
    half = (fit.shelter.width or max(sketch.size.spread[1] * 1.2, 1.0)) / 2
    shape, high = fit.shelter.shape, fit.shelter.height
    steps = [step / 20 - 1 for step in range(41)]
    if shape == "hoop":
        points = [(half * one, high * max(1 - one**2, 0.0) ** 0.5) for one in steps]
    else:
        sides = high if shape == "box" else fit.eaves
        points = [(-half, 0.0), (-half, sides), (0.0, high), (half, sides), (half, 0.0)]
    label = _(
        "Cover: {shape} {name}, {height} high",
        shape=_(shape),
        name=fit.shelter.id,
        height=metres(high, words),
    )
    return Cover(tuple(points), label)


def above_drawing(year: PruningYear, words: Words) -> Markup:
    """The tree from above: now, after the cut and after some years left uncut."""
    size, later = year.size, year.ahead[-1]
    shadows = [
        Shadow(later.size.spread_along, later.size.spread_across, "later",
               _n("In {number} year, uncut: {size}", "In {number} years, uncut: {size}", later.years,
                  size=_across(later.size.spread_along, later.size.spread_across, words))),
        Shadow(*size.spread, "before", _("Now: {size}", size=_across(*size.spread, words))),
    ]  # fmt: skip
    if year.cut is not None and year.share.share > 0:
        along, across = year.after.spread_along, year.after.spread_across
        label = _("After the cut: {size}", size=_across(along, across, words))
        shadows.append(Shadow(along, across, "after", label))
    described = "; ".join(one.label for one in shadows)
    square = size.form.name in ("hedge", "espalier")
    return plan_view(
        shadows,
        square,
        lambda length: metres(length, words),
        "above",
        _("{tree} from above", tree=year.tree.called),
        described,
    )


def score_drawings(year: PruningYear, today: date, words: Words) -> Markup:
    """The chart of days, wide and narrow, to be read day by day."""
    first, last = shown_days(today)
    scores = year.scores
    begin, end = scores.index(first), scores.index(last)
    first, last = scores.day(begin), scores.day(end)
    part = slice(begin, end + 1)
    bands = [Band(_("What the day is worth"), [float(one) for one in scores.score[part]])]
    bands += [
        Band(name[:1].upper() + name[1:], [float(one) for one in scores.factors[key][part]])
        for key, name in factor_names(scores).items()
    ]
    spans = [
        Span(one.window.earliest, one.window.best, one.window.latest, words.phrase(one.headline))
        for one in year.cuts
    ]
    described = _(
        "From {first} to {last}: a hill of what each day is worth, below it a band for each reason. The table below "
        "says the same month by month.",
        first=words.day(first),
        last=words.day(last),
    )
    drawings = [
        score_drawing(bands, spans, first, last, today, words, narrow=narrow, name=year.tree.called,
                      described=described)
        for narrow in (False, True)
    ]  # fmt: skip
    readings = Readings(
        _(
            "Point at a day, touch it, or go through the days with the arrow keys, to read what it is worth."
        ),
        max((today - first).days, 0),
    )
    reasons = ", ".join(f"{band.name} {{band_{at}}}" for at, band in enumerate(bands[1:], 1))
    sentence = f"{_('{day}: worth {band_0}.')} {reasons}."
    for place in range(len(bands[0].values)):
        shares = {f"band_{at}": f"{100 * one.values[place]:.0f} %" for at, one in enumerate(bands)}
        day = words.day(first + timedelta(days=place))
        readings.add(sentence, day=day, **shares)
    return readable(drawings, readings)


def months_of_scores(year: PruningYear, today: date) -> list[tuple[date, float, list[float]]]:
    """The mean score of each month and its factors."""
    first, last = shown_days(today)
    found, day = [], max(first, year.scores.first)
    while day <= last:
        after = (day.replace(day=1) + timedelta(days=32)).replace(day=1)
        part = slice(year.scores.index(day), year.scores.index(after - timedelta(days=1)) + 1)
        factors = [float(one[part].mean()) for one in year.scores.factors.values()]
        found.append((day, float(year.scores.score[part].mean()), factors))
        day = after
    return found


def wood_drawings(year: PruningYear) -> list[tuple[str, Markup]]:
    """The wood of the coming years with its renewal, and left alone."""
    drawn = []
    for ident, heading, rows in (
        ("renewed", _("Renewed as it wants"), year.wood.renewed),
        ("left", _("Left alone"), year.wood.left),
    ):
        stacks = [
            Stack(str(row.year), (("old", row.old), ("bearing", row.bearing), ("new", row.new)))
            for row in rows
        ]
        described = "; ".join(
            _(
                "{year}: new {new} %, bearing {bearing} %, old {old} %",
                year=row.year,
                new=f"{100 * row.new:.0f}",
                bearing=f"{100 * row.bearing:.0f}",
                old=f"{100 * row.old:.0f}",
            )
            for row in rows
        )
        drawn.append((heading, stacked_bars(stacks, f"wood-{ident}", heading, described)))
    return drawn


def tree_shown(opened: LoadedGarden, year: PruningYear, words: Words) -> dict[str, Any]:
    """What the page of a tree's pruning shows."""
    return {
        "tree": year.tree,
        "year": year,
        "kind": opened.view(year.tree).species,
        "side": crown_drawing(year.sketch, words, "side"),
        "above": above_drawing(year, words),
        "drawing": score_drawings(year, opened.today, words),
        "names": factor_names(year.scores),
        "months": months_of_scores(year, opened.today),
        "wood": wood_drawings(year),
        "care": care_by_subject(year),
        "Quantity": Quantity,
    }


CARE_WORDS = {
    "share": N_("How much: what trials found"),
    "tools": N_("Clean blades"),
    "wounds": N_("The cut itself"),
    "sun": N_("Bared bark"),
    "season": N_("When: a dispute"),
}


def care_by_subject(year: PruningYear) -> list[tuple[str, list[Any]]]:
    """The rows of care by what they are about."""
    return [
        (_(heading), rows)
        for key, heading in CARE_WORDS.items()
        if (rows := [row for row in year.care if row["about"].text == key])
    ]


@dataclass(frozen=True)
class SheetRow:
    """One cut on the sheet with its drawing."""

    line: CutLine
    drawing: Markup
    opens_later: bool
    steps: tuple[str, ...]


@dataclass(frozen=True)
class PruneSheet:
    """The cuts of the coming days in walking order."""

    days: int
    rows: tuple[SheetRow, ...]
    on_every: tuple[str, ...]
    minutes: float
    brush: float
    cautions: tuple[str, ...]


def sheet_of(opened: LoadedGarden, days: int, words: Words) -> PruneSheet:
    """The pruning sheet."""
    lines = pruning_sheet(opened, days_asked(days))
    steps = [[words.phrase(step) for step in line.cut.steps] for line in lines]
    often = steps if len(steps) >= OFTEN else []
    on_every = tuple(one for one in (often or [[]])[0] if all(one in other for other in often))
    rows = tuple(
        SheetRow(
            line,
            crown_drawing(line.sketch, words, f"cut-{number}"),
            line.cut.window.earliest > opened.today,
            tuple(step for step in steps[number] if step not in on_every),
        )
        for number, line in enumerate(lines)
    )
    return PruneSheet(
        days,
        rows,
        on_every,
        sum(line.cut.minutes for line in lines),
        sum(line.cut.details["brush_m3"] for line in lines),
        _cautions(lines),
    )


def _cautions(lines: Sequence[CutLine]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(say(text) for line in lines for text in line.cut.cautions))
