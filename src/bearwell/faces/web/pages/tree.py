"""One tree: its year as rows to draw, its stages, its size and its records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bearwell.api import Advice, LoadedGarden, Stage, Tree, TreeYear, year_span
from bearwell.faces.language import _, say
from bearwell.faces.twins import advice_twin, year_twin
from bearwell.faces.web.drawing.reading import Readings
from bearwell.faces.web.drawing.year import Bar, Mark, Row
from bearwell.faces.words import JOB_WORDS, Words
from bearwell.quantities import Quantity


@dataclass(frozen=True)
class Entry:
    """A line of a list of trees."""

    tree: Tree
    kind: str
    kind_key: str
    habit: str
    place: str
    next: Advice | None


def place(tree: Tree, words: Words) -> str:
    """Where it grows, in a few words."""
    pot = tree.pot
    if pot is None:
        if tree.shelter:
            return _("in the ground, under {shelter}", shelter=tree.shelter)
        return _("in the ground")
    volume = words.quantity(Quantity(pot.volume, "L"))
    if tree.shelter:
        return _("in a pot of {volume}, under {shelter}", volume=volume, shelter=tree.shelter)
    return _("in a pot of {volume}", volume=volume)


def next_job(advice: Sequence[Advice]) -> Advice | None:
    """What comes next: open work that closes first, else what opens first."""
    work = [one for one in advice if one.kind not in ("inspect", "measure")]
    due = [one for one in work if one.standing == "due"]
    if due:
        return min(due, key=lambda one: (one.kind != "protect", one.window.latest))
    coming = [one for one in work if one.standing == "coming"]
    return min(coming, key=lambda one: one.window.earliest, default=None)


def entries(opened: LoadedGarden, words: Words) -> list[Entry]:
    """Every tree with its next job."""
    found = []
    for tree in opened.garden.trees:
        species = opened.view(tree).species
        upcoming = next_job(opened.advice(tree))
        found.append(
            Entry(tree, say(species.name), species.key, species.habit, place(tree, words), upcoming)
        )
    return found


def entries_twin(found: Sequence[Entry], words: Words) -> dict[str, Any]:
    """The list of trees as JSON."""
    return {
        "trees": [
            {
                "tree": one.tree.id,
                "name": one.tree.called,
                "kind": one.kind,
                "kind_key": one.kind_key,
                "habit": one.habit,
                "place": one.place,
                "planted": one.tree.planted.isoformat(),
                "next": None if one.next is None else advice_twin(one.next, words),
            }
            for one in found
        ]
    }


def tree_twin(opened: LoadedGarden, year: TreeYear, words: Words) -> dict[str, Any]:
    """The page of a tree as JSON."""
    size = year.size
    return {
        **year_twin(year, words),
        "today": opened.today.isoformat(),
        "place": place(year.tree, words),
        "planted": year.tree.planted.isoformat(),
        "size": {
            "height_m": size.height,
            "spread_m": list(size.spread),
            "skirt_m": size.skirt,
            "trunk_girth_m": size.girth,
            "shape": size.form.name,
            "volume_m3": size.volume,
            "area_m2": size.area,
            "supposed": list(size.supposed),
        },
        "harvests": [
            {
                "year": one.year,
                "mass_g": one.mass,
                "fruit": one.fruit,
                "sound": one.sound,
                "note": one.note,
            }
            for one in year.tree.harvests
        ],
        "advice": [advice_twin(one, words) for one in in_order(opened.advice(year.tree))],
    }


def in_order(advice: Sequence[Advice]) -> list[Advice]:
    """By the best day."""
    return sorted(advice, key=lambda one: (one.window.best, one.window.latest, one.id))


def stages_shown(year: TreeYear, today: date) -> list[Stage]:
    """The stages within the drawn span."""
    first, last = year_span(today)
    return [stage for stage in year.stages if stage.high >= first and stage.low <= last]


def year_rows(year: TreeYear, advice: Sequence[Advice], words: Words) -> list[Row]:
    """What the year's drawing shows, row by row; rows without anything are left out."""
    rows = [
        Row("bloom", _("Bloom"), _bloom(year)),
        Row("drop", _("Natural drop of fruitlets"), _drop(year)),
        Row("fruit", _("Fruit: on the tree, then picking"), _fruit(year)),
        Row("leaves", _("In leaf"), _leaves(year)),
        Row("prune", _("Cutting"), _windows(advice, words, "prune")),
        Row("thin", _("Thinning"), _windows(advice, words, "thin")),
        Row("feed", _("Feeding"), _windows(advice, words, "feed")),
        Row("protect", _("Protecting"), _windows(advice, words, "protect")),
        Row("done", _("Work you noted"), (), _done(year.tree)),
    ]
    return [row for row in rows if row.bars or row.marks]


def _stage(year: TreeYear, event: str, season: int, wave: int) -> Stage | None:
    for stage in year.stages:
        if stage.event == event and stage.season == season and stage.wave == wave:
            return stage
    return None


def _between(begin: Stage, end: Stage | None, label: str, tone: str) -> Bar:
    last = end or begin
    return Bar(
        begin.date, last.date, label, tone, low=begin.low, high=last.high, basis=say(begin.basis)
    )


def _bloom(year: TreeYear) -> tuple[Bar, ...]:
    bars = []
    for full in (stage for stage in year.stages if stage.event == "full bloom"):
        begin = _stage(year, "bloom start", full.season, full.wave) or full
        end = _stage(year, "bloom end", full.season, full.wave) or full
        label = _("Bloom") if full.wave == 1 else _("Bloom, wave {number}", number=full.wave)
        bars.append(
            Bar(begin.date, end.date, label, "full", low=begin.low, high=end.high, best=full.date,
                basis=say(full.basis))
        )  # fmt: skip
    return tuple(bars)


def _drop(year: TreeYear) -> tuple[Bar, ...]:
    bars = []
    for end in (stage for stage in year.stages if stage.event == "natural drop end"):
        begin = _stage(year, "bloom end", end.season, end.wave) or end
        bars.append(
            Bar(
                begin.date,
                end.date,
                _("Fruitlets drop of themselves"),
                "full",
                high=end.high,
                basis=say(end.basis),
            )
        )
    return tuple(bars)


def _fruit(year: TreeYear) -> tuple[Bar, ...]:
    bars = []
    for ripe in (stage for stage in year.stages if stage.event == "harvest start"):
        end = _stage(year, "harvest end", ripe.season, ripe.wave)
        bloom = _stage(year, "bloom end", ripe.season, ripe.wave) or _stage(
            year, "full bloom", ripe.season, ripe.wave
        )
        if bloom is not None and bloom.date < ripe.date:
            grows = Bar(bloom.date, ripe.date, _("Fruit grows"), "thin", basis=say(ripe.basis))
            bars.append(grows)
        bars.append(_between(ripe, end, _("Picking"), "full"))
    return tuple(bars)


def _leaves(year: TreeYear) -> tuple[Bar, ...]:
    bars = []
    for out in (stage for stage in year.stages if stage.event == "leaf out"):
        fall = _stage(year, "leaf fall", out.season, out.wave)
        bars.append(_between(out, fall, _("In leaf"), "full"))
    return tuple(bars)


def _windows(advice: Sequence[Advice], words: Words, kind: str) -> tuple[Bar, ...]:
    return tuple(
        Bar(
            one.window.earliest,
            one.window.latest,
            f"{words.phrase(one.headline)}{'; ' + words.phrase(one.display) if one.display else ''}",
            "held" if one.standing == "blocked" else "window",
            best=one.window.best,
            basis=_("held back") if one.standing == "blocked" else "",
        )
        for one in advice
        if one.kind == kind
    )


def _done(tree: Tree) -> tuple[Mark, ...]:
    return tuple(
        Mark(work.date, f"{_(JOB_WORDS[work.job])}{': ' + work.note if work.note else ''}")
        for work in sorted(tree.done, key=lambda work: work.date)
    )


def readings(rows: Sequence[Row], first: date, last: date, today: date, words: Words) -> Readings:
    """What each day of the year's drawing says: all that is expected on it, or may reach so far."""
    found = Readings(
        _(
            "Point at a day, touch it, or go through the days with the arrow keys, to read what it holds."
        ),
        max((today - first).days, 0),
    )
    for after in range((last - first).days + 1):
        day = first + timedelta(days=after)
        sure = [bar.label for row in rows for bar in row.bars if bar.start <= day <= bar.end]
        sure += [mark.label for row in rows for mark in row.marks if mark.day == day]
        perhaps = [
            bar.label
            for row in rows
            for bar in row.bars
            if bar.least <= day <= bar.most and bar.label not in sure
        ]
        sentence = _("{day}: nothing.")
        if sure and perhaps:
            sentence = _("{day}: {sure}. Perhaps: {perhaps}.")
        elif sure or perhaps:
            sentence = _("{day}: {sure}.") if sure else _("{day}: perhaps {perhaps}.")
        found.add(
            sentence,
            day=words.day(day),
            sure="; ".join(dict.fromkeys(sure)),
            perhaps="; ".join(dict.fromkeys(perhaps)),
        )
    return found


def span(today: date) -> tuple[date, date]:
    """The drawn days, from the first of a month to the last of one."""
    first, last = year_span(today)
    after = (last.replace(day=1) + timedelta(days=32)).replace(day=1)
    return first.replace(day=1), after - timedelta(days=1)
