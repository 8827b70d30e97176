"""What to look at and when, and which measures are missing."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial

import numpy as np

from bearwell.garden.model import EVENTS
from bearwell.knowledge import Fact
from bearwell.plan.advice import Advice, Window
from bearwell.plan.ground import SOIL_PH, ground_advice, out_of_range
from bearwell.plan.nights import nights_of_site
from bearwell.plan.view import LOOK_BACK, View
from bearwell.reasons import Because, amount, from_fact, phrase
from bearwell.said import listed, said

NEAR = 60
CHILL = "chill"  # the key of the look at the winter's chill


COVERS_READY = "covers ready"


def plan_scout(view: View) -> list[Advice]:
    """Inspections of the coming weeks and measures that would sharpen the plan."""
    advice = []
    for key, row in view.book.table("inspections").items():
        if not _concerns(view, row["group"].text) or not _needed(view, row):
            continue
        for day in _days(view, row):
            spread = timedelta(days=round(row["spread"].number))
            window = Window(day - spread, day, day + spread)
            if window.latest < view.today or window.earliest > view.today + timedelta(days=NEAR):
                continue
            if key == COVERS_READY and _cold_is_here(view):
                continue
            if _looked(view, key, window):
                continue
            found = ground_advice if key == SOIL_PH else partial(_look, key=key)
            advice.append(found(view, row=row, window=window))
    return [*advice, *_missing_measures(view), *_chill(view)]


def _cold_is_here(view: View) -> bool:
    """Whether a night ahead freezes: then covers go on, and nothing is got ready for a first cold to come."""
    nights = nights_of_site(view.garden, view.site, view.book, view.today)
    return any(night.day > view.today and night.lowest <= 0 for night in nights)


def _concerns(view: View, group: str) -> bool:
    if group == "all":
        return True
    if group == "pot":
        return view.tree.pot is not None
    if group == "young":
        return view.years_here < view.constant("young tree years").number
    if group == "evergreen":
        return view.species.keeps_leaves
    if group in ("deciduous", "ever-bearing"):
        return view.species.habit == group
    return view.species.belongs_to(group)


def _needed(view: View, row: dict[str, Fact]) -> bool:
    """Whether the place and the tree are such that this look makes sense."""
    needs = row["needs"].text if "needs" in row else ""
    if needs == "frost":
        return _frosty(view)
    if needs == "fruit":
        return view.bears
    if needs == "no crop yet":
        return not view.bears
    if needs == "pH out of range":
        return out_of_range(view)
    if needs == "union":
        return _has_union(view, row["grafted"].text.split(", ") if "grafted" in row else [])
    return True


def _frosty(view: View) -> bool:
    """Whether nights freeze here: one did on record, or the usual winter comes near; unknown is yes."""
    climate, colder = view.site.climate, view.site.site.colder_than_station
    if climate is None:
        return True
    if any(night - colder < 0 for night in climate.coldest_nights):
        return True
    near = view.constant("usual minimum with frost").number
    if not np.isfinite(climate.tmin).all():
        return True
    return bool((np.asarray(climate.tmin) - colder < near).any())


def _has_union(view: View, grafted_kinds: list[str]) -> bool:
    """Whether it stands on another's roots: said in the garden, or usual for its kind."""
    tree = view.tree
    if tree.rootstock is not None:
        return tree.rootstock != "own roots"
    return tree.grafted is not None or any(view.species.belongs_to(kind) for kind in grafted_kinds)


def _days(view: View, row: dict[str, Fact]) -> list[date]:
    anchor, offset = row["anchor"].text, round(row["offset"].number)
    if anchor == "month":
        return [view.site.day(offset - 1, view.site.season + step) for step in (-1, 0, 1)]
    if anchor not in EVENTS:
        return []
    return [
        stage.date + timedelta(days=offset) for stage in view.cycle.every(anchor) if stage.wave == 1
    ]


def _looked(view: View, key: str, window: Window) -> bool:
    """Whether this very look is recorded in its window; a record that names no look clears none."""
    return any(
        work.job == "inspect" and work.look in (key, _slug(key)) and window.holds(work.date)
        for work in view.tree.done
    )


def _slug(key: str) -> str:
    return key.replace(" ", "-")


def _look(view: View, *, key: str, row: dict[str, Fact], window: Window) -> Advice:
    why = row["why"]
    return Advice(
        id=view.advice_id("inspect", _slug(key), window.best),
        tree=view.tree.id,
        kind="inspect",
        window=window,
        headline=phrase(row["title"].text.replace("{", "").replace("}", "")),
        steps=(phrase("{look}", look=row["look"].text),),
        cautions=view.cautions("inspect", *(row["case"].text.split(", ") if "case" in row else [])),
        minutes=row["minutes"].number,
        because=(from_fact("{value}", why),),
        details={"inspection": key, "per": row["per"].text if "per" in row else "tree"},
    )


_MEASURES = {"height": said("height"), "spread": said("spread"), "trunk girth": said("trunk girth")}


def _missing_measures(view: View) -> list[Advice]:
    size = view.size
    wanted: list[str] = [what for what in ("height", "spread") if what in size.supposed]
    if size.girth is None and view.tree.pot is None:
        wanted.append("trunk girth")
    if not wanted:
        return []
    links: tuple[Because, ...] = size.because
    return [
        Advice(
            id=f"{view.tree.id}/measure/size",
            tree=view.tree.id,
            kind="measure",
            window=Window(
                view.today - timedelta(days=1),
                view.today + timedelta(days=7),
                view.today + timedelta(days=60),
            ),
            headline=phrase(
                "Measure its {what}",
                what=listed((_MEASURES[one] for one in wanted), "{one} and {other}"),
            ),
            steps=(
                phrase(
                    "Height with a marked pole, spread along and across with a tape, girth with a string "
                    "{above} above the union.",
                    above=amount(0.15, "m"),
                ),
                phrase("Until then the plan supposes a size for its age, and says so."),
            ),
            cautions=view.cautions("measure"),
            minutes=5,
            because=links,
            details={"missing": wanted},
        )
    ]


def _chill(view: View) -> list[Advice]:
    """Said once a winter: whether this place is cold enough for this kind at all."""
    chill = view.site.winter_chill
    need = view.species.get("chill_portions")
    if chill is None or need is None or need.number == 0 or chill[0] >= need.least:
        return []
    window = _chill_window(view)
    if window.earliest > view.today + timedelta(days=LOOK_BACK) or _looked(
        view, "chill check", window
    ):
        return []
    return [
        Advice(
            id=view.advice_id("inspect", CHILL, window.best),
            tree=view.tree.id,
            kind="inspect",
            window=window,
            headline=phrase("Winters here are short of chill for it"),
            steps=(
                phrase(
                    "Look at how it wakes: bare stretches of shoot, ragged bloom and late leaves are the signs."
                ),
                phrase(
                    "If it does this every spring, a lower-chill cultivar grafted onto it is the lasting answer."
                ),
            ),
            minutes=5,
            because=(
                from_fact(
                    "{kind} wants about {value} of winter chill", need, kind=view.species.name
                ),
                Because(
                    phrase(
                        "Past winters here gave {portions} chill portions on average from the weather record",
                        portions=round(chill[0]),
                    ),
                    round(chill[0], 1),
                    "CP",
                    "weather",
                    "May to August" if view.site.southern else "November to February",
                    "computed",
                ),
            ),
            details={"inspection": CHILL, "portions": round(chill[0], 1), "hours": round(chill[1])},
        )
    ]


def _chill_window(view: View) -> Window:
    """The days of this winter, or the next, on which a shortage of chill is told."""
    told = view.constant("chill is told").number
    before, after = (
        timedelta(days=round(view.constant(f"chill told {when}").number))
        for when in ("before", "after")
    )
    day = view.site.day(told, view.site.season)
    if day + after < view.today:
        day = view.site.day(told, view.site.season + 1)
    return Window(day - before, day, day + after)
