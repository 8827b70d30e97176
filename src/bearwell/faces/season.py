"""What the pages of a past season, their JSON twins and the command show, worked out once for all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from bearwell.api import Act, Change, CropLook, GardenSeason, Line, Tree, TreeSeason
from bearwell.errors import BadInput
from bearwell.faces.language import N_, _, _n
from bearwell.faces.twins import because_twin
from bearwell.faces.words import JOB_WORDS, Words
from bearwell.quantities import Quantity
from bearwell.said import said

VERDICT_WORDS = {
    "as-advised": N_("as advised"),
    "differently": N_("differently"),
    "no-day": N_("done, no day written"),
    "left-out": N_("left out by you"),
    "put-off": N_("put off by you"),
    "not-recorded": N_("nothing recorded"),
    "asked-again": N_("asked again"),
    "held-back": N_("held back by a rule"),
    "still-open": N_("still open"),
}
# The heads under which proposals of several trees stand together.
CHANGE_WORDS = {
    "feed-short": N_("Feeding fell short of the plan"),
    "feed-over": N_("Feeding went beyond the plan"),
    "feed-not-recorded": N_("No feeding is written down"),
    "feed-without-amount": N_("Feedings without an amount"),
    "thin-late": N_("Thinning came late"),
    "thin-early": N_("Thinning came early"),
    "prune-late": N_("A cut came late"),
    "prune-early": N_("A cut came early"),
    "feed-late": N_("A feeding came late"),
    "feed-early": N_("A feeding came early"),
    "harvest-late": N_("Picking went on longer than its days"),
    "harvest-early": N_("Picking began before its days"),
    "off-year-ahead": N_("A light year is to be expected"),
    "crop-beyond-forecast": N_("Crops heavier than their range"),
    "crop-below-forecast": N_("Crops lighter than their range"),
    "small-fruit": N_("Small fruit"),
    "water-short": N_("Short of water"),
    "water-not-recorded": N_("Short of water, or waterings not written down"),
    "cold-not-recorded": N_("A night that may have hurt, and nothing written down"),
    "cold-outcome-not-recorded": N_("How a cold night was come through is not written down"),
    "date-missed": N_("Dates outside their range"),
    "date-missed-again": N_("Dates outside their range two years running"),
    "date-not-recorded": N_("Dates that would teach the plan are missing"),
    "feed-left-out-again": N_("Feeding left out again and again"),
    "prune-left-out-again": N_("Cutting left out again and again"),
    "thin-left-out-again": N_("Thinning left out again and again"),
    "harvest-left-out-again": N_("Picking left out again and again"),
    "inspect-left-out-again": N_("Looks left out again and again"),
    "measure-left-out-again": N_("Measuring left out again and again"),
    "work-not-recorded": N_("Cuts or thinning of which nothing is written down"),
    "ranges-too-narrow": N_("The ranges of dates"),
    "ranges-too-wide": N_("The ranges of dates"),
}
EVENT_WORDS = {
    "leaf out": N_("Leaf out"),
    "bloom start": N_("First flowers"),
    "full bloom": N_("Full bloom"),
    "bloom end": N_("End of bloom"),
    "natural drop end": N_("End of the natural drop"),
    "harvest start": N_("First picking"),
    "harvest end": N_("Last picking"),
    "leaf fall": N_("Leaf fall"),
}
_WORK = ("feed", "prune", "thin", "harvest")


# ---------------------------------------------------------------- the whole garden


@dataclass(frozen=True)
class JobCount:
    """How the advice of one sort of job went, over all trees."""

    job: str
    lines: tuple[Line, ...]

    def of(self, *verdicts: str) -> int:
        """Lines of these verdicts."""
        return sum(line.verdict in verdicts for line in self.lines)

    @property
    def shares(self) -> tuple[tuple[str, int], ...]:
        """Counts by tone: as advised, differently, decided against, not known, not asked for in the end."""
        return (
            ("done", self.of("as-advised")),
            ("other", self.of("differently", "no-day")),
            ("decided", self.of("left-out", "put-off")),
            ("unknown", self.of("not-recorded")),
            ("aside", self.of("asked-again", "held-back", "still-open")),
        )


def job_counts(trees: Iterable[TreeSeason]) -> list[JobCount]:
    """The jobs that were advised, in the order of the year's work."""
    lines = [line for one in trees for line in one.lines]
    found = [JobCount(job, tuple(li for li in lines if li.advice.kind == job)) for job in _WORK]
    return [one for one in found if one.lines]


@dataclass(frozen=True)
class ChangeGroup:
    """Proposals of one sort: the tree of each, or none where it is about the garden."""

    key: str
    members: tuple[tuple[Tree | None, Change], ...]

    @property
    def proposal(self) -> Change | None:
        """A proposal that is the same for all of them, to be said once."""
        first = self.members[0][1]
        same = all(one.proposal == first.proposal for _tree, one in self.members)
        return first if same else None


def change_groups(season: GardenSeason) -> list[ChangeGroup]:
    """Everything to change, that of most trees first."""
    found: dict[str, list[tuple[Tree | None, Change]]] = {}
    for change in season.changes:
        found.setdefault(change.key, []).append((None, change))
    for one in season.trees:
        for change in one.changes:
            found.setdefault(change.key, []).append((one.tree, change))
    order = list(CHANGE_WORDS)
    groups = [ChangeGroup(key, tuple(members)) for key, members in found.items()]
    return sorted(groups, key=lambda one: (-len(one.members), order.index(one.key)))


@dataclass(frozen=True)
class Sums:
    """The garden's sums over a span: nitrogen and crops [g], water [L], minutes of work."""

    nitrogen_advised: float
    nitrogen_given: float
    unweighed: int
    picked: float
    crops: int
    crops_open: int
    water_asked: float
    water_given: float
    waterings: int
    asked_min: float
    done_min: float


def sums_of(trees: Sequence[TreeSeason]) -> Sums:
    """Sums of several trees."""
    crops = [crop for one in trees for crop in one.crops]
    weighed = [crop.picked.mass for crop in crops if crop.picked is not None]
    return Sums(
        sum(one.nitrogen.advised.value for one in trees),
        sum(one.nitrogen.given for one in trees),
        sum(one.nitrogen.unweighed for one in trees),
        sum(weighed),
        len(weighed),
        len(crops) - len(weighed),
        sum(one.water.asked for one in trees if one.water is not None),
        sum(one.water.given for one in trees if one.water is not None),
        sum(len(one.waterings) for one in trees),
        sum(one.work.asked for one in trees),
        sum(one.work.done for one in trees),
    )


def typed_day(text: str | None, name: str) -> date | None:
    """A day of an address or a form; nothing where it was left empty."""
    if not text or not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(
            said("{name} = '{text}' is no date", name=name, text=text[:40]), "such as 2026-03-31"
        ) from None


# ---------------------------------------------------------------- in words


def told(line: Line, words: Words) -> list[str]:
    """What is known of an advice, in short sentences."""
    decision = line.decision
    sentences = []
    if line.acts:
        days = words.listed([words.day(one.day) for one in line.acts])
        wanted = line.advised_nitrogen
        given = [one.nitrogen for one in line.acts]
        weights = [one.mass for one in line.acts if one.job == "harvest" and one.mass is not None]
        if wanted is not None and None not in given:
            sentences.append(
                _(
                    "{days}: {given} of nitrogen; {wanted} was advised",
                    days=days,
                    given=_grams(sum(one or 0.0 for one in given), words),
                    wanted=_grams(wanted[0], words),
                )
            )
        elif wanted is not None:
            sentences.append(_("{days}: how much is not written down", days=days))
        elif weights:
            picked = _grams(sum(weights), words)
            sentences.append(_("{days}: {picked} picked", days=days, picked=picked))
        else:
            sentences.append(_("{days}: written down", days=days))
        if line.days_off > 0:
            sentences.append(
                _n("{number} day after its days", "{number} days after its days", line.days_off)
            )
        elif line.days_off < 0:
            sentences.append(
                _n("{number} day before its days", "{number} days before its days", -line.days_off)
            )
        sentences += [note for act in line.acts for note in act.notes]
    elif decision is not None and decision.what == "skip":
        sentences.append(_decided(_("Left out"), decision.day, decision.reason, words))
    elif decision is not None and decision.what == "postpone":
        sentences.append(
            _("Put off to {day}", day=words.day(decision.until))
            if decision.until
            else _decided(_("Put off"), decision.day, "", words)
        )
        if decision.reason:
            sentences.append(decision.reason)
    return sentences  # fmt: skip


def _decided(what: str, day: date | None, reason: str, words: Words) -> str:
    if day is not None and reason:
        return _("{what} on {day}: {reason}", what=what, day=words.day(day), reason=reason)
    if day is not None:
        return _("{what} on {day}", what=what, day=words.day(day))
    return _("{what}: {reason}", what=what, reason=reason) if reason else what


def act_words(act: Act, words: Words) -> str:
    """A record that no advice asked for, in a line."""
    what = _("Counted the fruit") if act.counted else _(JOB_WORDS[act.job])
    parts = [_(EVENT_WORDS[act.seen]) if act.seen else what]
    if act.mass is not None and act.job not in ("inspect", "measure"):
        parts.append(words.given(act.job, act.mass))
    if act.sound is not None:
        parts.append(_("{share} of it sound", share=f"{words.number(100 * act.sound)} %"))
    if act.nitrogen:
        parts.append(_("{given} of nitrogen", given=_grams(act.nitrogen, words)))
    return ": ".join([", ".join(parts), *(["; ".join(act.notes)] if act.notes else [])])


def off_words(days: int) -> str:
    """How a date lay beside its forecast."""
    if days == 0:
        return _("on the day")
    if days > 0:
        return _n("{number} day later", "{number} days later", days)
    return _n("{number} day earlier", "{number} days earlier", -days)


def crop_words(crop: CropLook, words: Words) -> list[str]:
    """A crop beside its forecasts, in short sentences."""
    sentences = []
    if crop.picked is None:
        sentences.append(
            _("Nothing is written down as picked.") if crop.over else _("Its picking is not over.")
        )
    else:
        mass = _grams(crop.picked.mass, words)
        sentences.append(
            _("{mass} picked.", mass=mass) if crop.over else _("{mass} picked so far.", mass=mass)
        )
    if crop.first is not None:
        sentences.append(
            _(
                "Put at {crop} on {day}.",
                crop=words.quantity(crop.first.crop, with_range=True),
                day=words.day(crop.first.told),
            )
        )
    if crop.last is not None:
        sentences.append(
            _(
                "The last time before picking, on {day}, at {crop}.",
                crop=words.quantity(crop.last.crop, with_range=True),
                day=words.day(crop.last.told),
            )
        )
    if crop.even is not None:
        sentences.append(_("An even crop would be {crop}.", crop=_grams(crop.even, words)))
    if crop.fruit_mass is not None:
        sentences.append(
            _(
                "A fruit weighed {mass} on average; of its kind one weighs {usual}.",
                mass=_grams(crop.fruit_mass, words),
                usual=words.quantity(crop.usual, with_range=True),
            )
        )
    return sentences


def _grams(value: float, words: Words) -> str:
    return words.quantity(Quantity(value, "g"))


# ---------------------------------------------------------------- as JSON


def season_twin(season: GardenSeason, words: Words) -> dict[str, Any]:
    """A past season of a garden, or of one of its trees."""
    honest = season.honesty
    return {
        "garden": season.garden,
        "today": season.today.isoformat(),
        "since": season.since.isoformat(),
        "until": season.until.isoformat(),
        "trees": [tree_season_twin(one, words) for one in season.trees],
        "left_out": [one.id for one in season.left_out],
        "dates": None
        if honest is None
        else {
            "seen": honest.dates,
            "within": honest.within,
            "mean_off_d": round(honest.mean_off, 2),
            "mean_size_d": round(honest.mean_size, 2),
            "chance_of_so_few": honest.chance,
            "chance_of_so_many": honest.chance_wide,
        },
        "changes": [change_twin(one, words) for one in season.changes],
        "spans": [
            {"key": one.key, "since": one.since.isoformat(), "until": one.until.isoformat()}
            for one in season.choices
        ],
    }


def tree_season_twin(one: TreeSeason, words: Words) -> dict[str, Any]:
    """One tree of a past season."""
    nitrogen, water, cold = one.nitrogen, one.water, one.cold
    return {
        "tree": one.tree.id,
        "name": one.tree.called,
        "kind": one.kind,
        "planned": one.planned.isoformat(),
        "records": one.records,
        "lines": [line_twin(line, words) for line in one.lines],
        "looks": [line_twin(line, words) for line in one.looks],
        "unasked": [act_twin(act) for act in one.unasked],
        "waterings": [act_twin(act) for act in one.waterings],
        "protections": [act_twin(act) for act in one.protections],
        "nitrogen": {
            "need_g": nitrogen.need.value,
            "need_low_g": nitrogen.need.low,
            "need_high_g": nitrogen.need.high,
            "need_by_label": nitrogen.by_label,
            "advised_g": nitrogen.advised.value,
            "advised_low_g": nitrogen.advised.low,
            "advised_high_g": nitrogen.advised.high,
            "given_g": nitrogen.given,
            "counted_g": nitrogen.counted,
            "unasked_g": nitrogen.beside,
            "feedings": nitrogen.feedings,
            "without_amount": nitrogen.unweighed,
        },
        "dates": [
            {
                "event": each.event,
                "season": each.season,
                "wave": each.wave,
                "told": each.told.isoformat(),
                "forecast": each.forecast.isoformat(),
                "low": each.low.isoformat(),
                "high": each.high.isoformat(),
                "seen": each.seen.isoformat(),
                "off_d": each.off,
                "within": each.within,
            }
            for each in one.dates
        ],
        "not_seen": [
            {
                "event": each.event,
                "season": each.season,
                "forecast": each.date.isoformat(),
                "low": each.low.isoformat(),
                "high": each.high.isoformat(),
            }
            for each in one.unseen
        ],
        "crops": [crop_look_twin(each) for each in one.crops],
        "water": None
        if water is None
        else {
            "asked_l": water.asked,
            "rain_l": water.rain,
            "given_l": water.given,
            "supposed_l": water.supposed,
            "lacking_l": water.lacking,
            "short_days": water.short_days,
            "days": water.days,
            "unmeasured_days": water.unmeasured,
        },
        "cold": None
        if cold is None
        else {
            "night": cold.day.isoformat(),
            "lowest_c": cold.lowest,
            "organ": cold.limit.organ,
            "limit_c": cold.limit.temperature,
            "limit_low_c": cold.limit.low,
            "limit_high_c": cold.limit.high,
            "chance_hurt": cold.chance,
            "protections": len(cold.protected),
            "looks_after": len(cold.looked),
        },
        "asked_min": round(one.work.asked),
        "done_min": round(one.work.done),
        "changes": [change_twin(each, words) for each in one.changes],
    }


def line_twin(line: Line, words: Words) -> dict[str, Any]:
    """One advice of a past season with what is known of it."""
    advice, decision, wanted = line.advice, line.decision, line.advised_nitrogen
    return {
        "id": advice.id,
        "kind": advice.kind,
        "headline": words.phrase(advice.headline),
        "display": words.phrase(advice.display),
        "told": line.told.isoformat(),
        "window": {
            "earliest": advice.window.earliest.isoformat(),
            "best": advice.window.best.isoformat(),
            "latest": advice.window.latest.isoformat(),
        },
        "verdict": line.verdict,
        "days_off": line.days_off,
        "amount_off": line.amount_off,
        "repeat": line.repeat,
        "advised_n_g": None if wanted is None else wanted[0],
        "acts": [act_twin(act) for act in line.acts],
        "decided": None
        if decision is None
        else {
            "what": decision.what,
            "day": None if decision.day is None else decision.day.isoformat(),
            "reason": decision.reason,
        },
        "minutes": round(advice.minutes),
    }


def act_twin(act: Act) -> dict[str, Any]:
    """What was recorded of a job on a day."""
    return {
        "date": act.day.isoformat(),
        "job": act.job,
        "records": len(act.rows),
        "mass_g": act.mass,
        "sound": act.sound,
        "n_g": act.nitrogen,
        "look": act.look,
        "seen": act.seen,
        "counted": act.counted,
        "notes": list(act.notes),
    }


def crop_look_twin(crop: CropLook) -> dict[str, Any]:
    """A crop beside its forecasts."""
    first, last = crop.first, crop.last
    return {
        "year": crop.year,
        "forecast_on": None if first is None else first.told.isoformat(),
        "forecast_g": None if first is None else first.crop.value,
        "forecast_low_g": None if first is None else first.crop.low,
        "forecast_high_g": None if first is None else first.crop.high,
        "basis": "" if first is None else first.basis,
        "last_on": None if last is None else last.told.isoformat(),
        "last_g": None if last is None else last.crop.value,
        "even_g": crop.even,
        "picked_g": None if crop.picked is None else crop.picked.mass,
        "fruit": None if crop.picked is None else crop.picked.fruit,
        "fruit_g": crop.fruit_mass,
        "usual_fruit_g": crop.usual.value,
        "picking_over": crop.over,
        "within": crop.within,
        "picks": [act_twin(act) for act in crop.picks],
    }


def change_twin(change: Change, words: Words) -> dict[str, Any]:
    """A proposal with its reasons."""
    return {
        "key": change.key,
        "headline": words.phrase(change.headline),
        "proposal": words.phrase(change.proposal),
        "confidence": change.confidence,
        "because": [because_twin(link, words) for link in change.because],
    }
