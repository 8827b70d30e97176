"""Recording by touch: the forms, what they become, and how what was recorded is told and undone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import NAMESPACE_URL, UUID, uuid4, uuid5

from bearwell import api
from bearwell.api import Advice, LoadedGarden, Stamp, Tree
from bearwell.errors import BadInput, Overtaken, Problem
from bearwell.faces.language import N_, _, _n
from bearwell.faces.telling import MANY, entry_twin, in_words, only_places
from bearwell.faces.twins import problem_twin, words_of
from bearwell.faces.web.pages.typed import (
    Form,
    amount_as_shown,
    as_shown,
    several,
    shown_unit,
    with_unit,
)
from bearwell.faces.web.render import capital
from bearwell.faces.words import JOB_WORDS, Words
from bearwell.said import said

if TYPE_CHECKING:
    from bearwell.api import Recorded, Said, Store, Told

# What a grower may record of a tree, in the order of the page: the form's key and its heading.
KINDS: dict[str, str] = {
    "work": N_("What I did"),
    "seen": N_("What I saw"),
    "picked": N_("What I picked"),
    "counted": N_("What I counted"),
    "measured": N_("What I measured"),
    "lacks": N_("What its leaves lack"),
    "damage": N_("Damage, or a pest"),
    "night": N_("A night's cold"),
    "leaves": N_("A leaf test"),
    "soil": N_("A soil test"),
}
MEASURES = {
    "height": N_("Height"),
    "spread": N_("Spread"),
    "skirt": N_("Height of the lowest foliage"),
    "trunk_girth": N_("Girth of the trunk"),
    "shoot_growth": N_("Length of this season's shoots"),
}
# How the garden is shown, and how that is told.
MANNERS = {"units": N_("Units: {said}"), "timezone": N_("Time zone: {said}")}
SYSTEMS = {"metric": N_("Metres, litres, °C"), "us": N_("Feet, gallons, °F")}
# What a laboratory tells of leaves, by the unit a bare number is taken in; and of soil.
LEAF_TEST = {"%": ("n", "p", "k", "ca", "mg", "s"), "ppm": ("fe", "mn", "zn", "cu", "b", "mo")}
SOIL_TEST = ("p", "k", "mg", "ca")
SOIL_METHODS = ("mehlich-3", "olsen", "bray-1")
SHOWN = 60  # records on a page of the history
LONGEST_WAIT = timedelta(days=60)  # of a record on a device without signal


@dataclass(frozen=True)
class Kept:
    """What came of a form: under which id it is kept, whether it was there already, what is doubtful."""

    id: str
    repeated: bool = False
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Action:
    """What was recorded in one go, told in sentences."""

    id: str
    at: str
    by: str
    lines: tuple[str, ...]
    trees: tuple[str, ...]
    undone_by: str
    undoes: bool
    entries: tuple[Told, ...] = ()
    count: int = 0
    places: bool = False

    @property
    def holds(self) -> bool:
        """Whether it was not undone."""
        return not self.undone_by

    @property
    def large(self) -> bool:
        """Whether it is a whole garden file, which is not undone by a touch."""
        return self.count > MANY and not self.places


def fresh_id() -> str:
    """A new record id for a form: sent twice it is the same record."""
    return str(uuid4())


# ---------------------------------------------------------------- reading a form


def one(form: Form, key: str) -> str:
    """The last value of a field, trimmed."""
    values = form.get(key, ())
    return values[-1].strip() if values else ""


def day_of(form: Form, key: str, otherwise: date) -> date:
    """A date of a form, or ``otherwise`` where it was left empty."""
    text = one(form, key)
    if not text:
        return otherwise
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            said("'{text}' is not a date", text=text), "write it as 2026-04-14"
        ) from None


def recorded_on(form: Form, at: datetime, today: date) -> date:
    """The day a record was made: today, or, where it waited on a device without signal, the day it says.

    A device whose clock is ahead, or has stood still for long, is not believed.
    """
    text = one(form, "made")
    try:
        made = datetime.fromisoformat(text).astimezone(at.tzinfo) if text else at
    except (ValueError, OverflowError):
        return today
    waited = today - made.date()
    return made.date() if timedelta(0) <= waited <= LONGEST_WAIT else today


def whole(form: Form, key: str) -> int | None:
    """A whole number of a form, or nothing where it was left empty."""
    text = one(form, key)
    if not text:
        return None
    if not text.isdigit():
        raise BadInput(said("'{text}' is not a whole number", text=text), "such as 120")
    return int(text)


def number(form: Form, key: str) -> float | None:
    """A number of a form, or nothing where it was left empty."""
    text = one(form, key)
    if not text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise BadInput(said("'{text}' is not a number", text=text), "such as 5.9") from None


def stamp_of(form: Form, at: datetime) -> Stamp:
    """The stamp of a record: the id the form was made with, so that a second sending is no second record."""
    return Stamp(one(form, "id") or fresh_id(), at, one(form, "by")[:80])


def part_of(stamp: Stamp, what: str, number: int) -> Stamp:
    """The stamp of one of several records that a form makes; the first keeps the form's own id."""
    if number == 0:
        return stamp
    return Stamp(str(uuid5(NAMESPACE_URL, f"{UUID(stamp.id)}/{what}")), stamp.at, stamp.by)


# ---------------------------------------------------------------- recording


def decide(store: Store, opened: LoadedGarden, form: Form, at: datetime) -> list[Kept]:
    """Record what was decided of an advice, or of each of several: done, otherwise, skip or later."""
    stamp, what, today = stamp_of(form, at), one(form, "what"), opened.today
    named = [text for text in form.get("advice", ()) if text]
    if not named:
        raise BadInput("no job is named", "send it from the list")
    done = []
    for number, advice_id in enumerate(named):
        mine = part_of(stamp, advice_id, number)
        if store.knows(mine.id):
            done.append(Kept(mine.id, repeated=True))
            continue
        advice = _advice(opened, advice_id)
        made = recorded_on(form, at, today)
        done.append(as_kept(_decide_one(store, mine, what, advice, form, today, made)))
    return done


def as_kept(done: Recorded) -> Kept:
    """What came of one record."""
    return Kept(done.id, done.repeated, done.problems)


def _decide_one(
    store: Store, stamp: Stamp, what: str, advice: Advice, form: Form, today: date, made: date
) -> Recorded:
    day = day_of(form, "day", made)
    if what == "done":
        note = one(form, "note")
        return api.record_as_advised(store, stamp, today, advice=advice, day=day, note=note)
    if what == "otherwise":
        return api.record_done(
            store,
            stamp,
            today,
            tree=advice.tree,
            job=advice.kind,
            day=day,
            product=one(form, "product") or None,
            amount=amount_as_shown(one(form, "amount"), advice.kind, form) or None,
            note=one(form, "note"),
            advice=advice,
        )
    if what == "skip":
        return api.record_skip(store, stamp, today, advice=advice, reason=one(form, "reason"))
    if what == "later":
        until, reason = day_of(form, "until", advice.window.latest), one(form, "reason")
        return api.record_postpone(store, stamp, today, advice=advice, until=until, reason=reason)
    raise BadInput(
        said("'{what}' is nothing to do with a job", what=what), "done, otherwise, skip or later"
    )


def _advice(opened: LoadedGarden, advice_id: str) -> Advice:
    try:
        return api.find_advice(opened, advice_id)
    except BadInput:
        tree = advice_id.split("/", 1)[0]
        raise Overtaken(
            "this job is no longer in the plan: it was recorded already, or the plan has moved",
            said("look at the list, or record the work itself on the page of {tree}", tree=tree),
        ) from None


def keep(store: Store, opened: LoadedGarden, tree: str, form: Form, at: datetime) -> list[Kept]:
    """Record what a form of the tree's page says."""
    stamp = stamp_of(form, at)
    if store.knows(stamp.id):
        return [Kept(stamp.id, repeated=True)]
    return [
        as_kept(
            _keep_one(store, stamp, opened.today, tree, form, recorded_on(form, at, opened.today))
        )
    ]


def take_back(store: Store, opened: LoadedGarden, form: Form, at: datetime) -> list[Kept]:
    """Undo a record, or an undo."""
    stamp = stamp_of(form, at)
    return [as_kept(api.undo(store, stamp, opened.today, record=one(form, "record")))]


def _keep_one(
    store: Store, stamp: Stamp, today: date, tree: str, form: Form, made: date
) -> Recorded:
    kind, day = one(form, "kind"), day_of(form, "day", made)
    if kind == "work":
        return api.record_done(
            store,
            stamp,
            today,
            tree=tree,
            job=one(form, "job"),
            day=day,
            product=one(form, "product") or None,
            amount=amount_as_shown(one(form, "amount"), one(form, "job"), form) or None,
            note=one(form, "note"),
        )
    if kind in TESTS:
        return TESTS[kind](store, stamp, today, tree, form, day)
    if kind == "seen":
        percent = number(form, "percent")
        return api.record_seen(
            store, stamp, today, tree=tree, event=one(form, "event"), day=day, percent=percent
        )
    if kind == "picked":
        mass, fruit = as_shown(one(form, "mass"), "crop", form), whole(form, "fruit")
        return api.record_harvest(
            store, stamp, today, tree=tree, day=day, mass=mass, fruit=fruit,
            year=whole(form, "year"), whole=bool(one(form, "whole")),
            sound=with_unit(one(form, "sound"), "%") or None, note=one(form, "note"),
        )  # fmt: skip
    if kind == "counted":
        fruit = whole(form, "fruit")
        if fruit is None:
            raise BadInput("no number of fruit was given", "such as 120")
        return api.record_count(store, stamp, today, tree=tree, day=day, fruit=fruit)
    if kind == "measured":
        given = {key: one(form, key) for key in MEASURES if one(form, key)}
        measures = {key: _several(text, key, form) for key, text in given.items()}
        return api.record_measure(store, stamp, today, tree=tree, day=day, measures=measures)
    if kind == "lacks":
        row = {"date": day, "nutrient": one(form, "nutrient")}
        return api.record_row(
            store, stamp, today, subject="tree", named=tree, key="shortages", row=row
        )
    raise BadInput(
        said("'{kind}' is nothing that is recorded of a tree", kind=kind), ", ".join(KINDS)
    )


def _keep_damage(
    store: Store, stamp: Stamp, today: date, tree: str, form: Form, day: date
) -> Recorded:
    """Damage or a pest is a look at the tree with what was seen; a look of the plan is done with it."""
    note, look = one(form, "note"), one(form, "look")
    if not note and not look:
        raise BadInput("nothing was said of the damage", 'such as "aphids on the new shoots"')
    return api.record_done(
        store, stamp, today, tree=tree, job="inspect", day=day, look=look or None, note=note
    )


def _keep_night(
    store: Store,
    stamp: Stamp,
    today: date,
    tree: str,  # noqa: ARG001
    form: Form,
    day: date,
) -> Recorded:
    # Pages kept on a device since before this said only their degrees.
    units = one(form, "units") or ("us" if one(form, "degrees") == "degF" else "metric")
    unit = shown_unit("air", units)
    given = {key: with_unit(one(form, key), unit) for key in ("lowest", "evening", "dew_point")}
    return api.record_night(store, stamp, today, day=day, **given)


def _keep_leaves(
    store: Store, stamp: Stamp, today: date, tree: str, form: Form, day: date
) -> Recorded:
    values = {
        key: with_unit(one(form, key), unit)
        for unit, keys in LEAF_TEST.items()
        for key in keys
        if one(form, key)
    }
    values |= {key: one(form, key) for key in ("leaf", "norms") if one(form, key)}
    return api.record_leaf_test(store, stamp, today, tree=tree, day=day, values=values)


def _keep_soil(
    store: Store,
    stamp: Stamp,
    today: date,
    tree: str,  # noqa: ARG001
    form: Form,
    day: date,
) -> Recorded:
    values: dict[str, Any] = {}
    if one(form, "ph"):
        values["ph"] = number(form, "ph")
    if one(form, "organic_matter"):
        values["organic_matter"] = with_unit(one(form, "organic_matter"), "%")
    for key in SOIL_TEST:
        if one(form, f"soil_{key}"):
            reading = with_unit(one(form, f"soil_{key}"), "ppm")
            values[key] = {"method": one(form, "method"), "value": reading}
    if not values:
        raise BadInput("the soil test says nothing", "at least the pH")
    return api.record_soil_test(store, stamp, today, day=day, values=values)


TESTS = {"damage": _keep_damage, "night": _keep_night, "leaves": _keep_leaves, "soil": _keep_soil}


def _several(text: str, what: str, form: Form) -> str | list[str]:
    """A measure, or two with a comma or a cross between them, as for a spread."""
    parts = [as_shown(part, what, form) for part in several(text)]
    return parts if what == "spread" and len(parts) == 2 else as_shown(text, what, form)


def looks(opened: LoadedGarden, tree: Tree) -> dict[str, str]:
    """What the plan asks to look at on a tree in the coming year: the key of each look and its headline."""
    return {
        str(one.details["inspection"]): words_of(opened).phrase(one.headline)
        for one in opened.advice(tree)
        if one.kind == "inspect" and "inspection" in one.details
    }


# ---------------------------------------------------------------- telling


def told(store: Store, words: Words, tree: str = "", last: int = SHOWN) -> list[Action]:
    """What was recorded, newest first."""
    return [_action(found, words) for found in api.recent(store, tree, last=last)]


def told_one(store: Store, record: str, words: Words) -> Action | None:
    """One record by its id; nothing where there is none."""
    found = api.recorded(store, record)
    return None if found is None else _action(found, words)


def _action(found: Said, words: Words) -> Action:
    entries = found.entries
    first = entries[0].entry
    trees = dict.fromkeys(
        entry.entry.named.split("/", 1)[0]
        for entry in entries
        if entry.entry.subject in ("tree", "advice")
    )
    lines = [line for entry in entries if (line := sentence(entry, words))]
    places = only_places(entries)
    if places and found.count > 1:
        lines = [_n("{number} place of a tree", "{number} places of trees", found.count)]
    elif found.count > MANY:
        lines = [
            _n(
                "A garden file was taken in: {number} entry",
                "A garden file was taken in: {number} entries",
                found.count,
            )
        ]
    return Action(
        first.action,
        first.recorded_at,
        first.by,
        tuple(lines) or (in_words(entries[0]),),
        tuple(trees),
        entries[0].undone_by,
        first.kind == "undo",
        entries,
        found.count,
        places,
    )


def sentence(told_entry: Told, words: Words) -> str:
    """An entry as a grower would say it; empty where another entry of the same record says it."""
    entry = told_entry.entry
    content: Mapping[str, Any] = entry.payload
    if entry.kind == "undo":
        return _("Undone")
    if entry.kind == "photo":
        return _photo(content.get("note"), entry.day, words)
    if entry.kind == "close":
        return ""
    if entry.kind == "skip":
        return _("Left undone: {reason}", reason=content.get("reason", ""))
    if entry.kind == "postpone":
        return _("Put off to {day}", day=_date(content.get("until"), words))
    if entry.kind == "state" and set(content) == {"place"}:
        place = {key: words.typed(text) for key, text in content["place"].items()}
        return _("Stands {east} east, {north} north", **place)
    if entry.kind == "state" and set(content) <= set(MANNERS):
        return "; ".join(_manner(key, str(value)) for key, value in content.items())
    if entry.kind == "state":
        return _on(_listed(content), entry.day, words)
    if entry.kind in ("record", "row"):
        return _on(_row(entry.key, content, words), entry.day, words)
    return in_words(told_entry)


def _manner(key: str, value: str) -> str:
    return _(MANNERS[key], said=_(SYSTEMS[value]) if value in SYSTEMS else value)


def _on(what: str, day: date | None, words: Words) -> str:
    return _("{what} on {day}", what=what, day=words.day(day)) if day else what


def _photo(note: object, day: date | None, words: Words) -> str:
    photo = _on(_("A photo"), day, words)
    return f"{photo}: {note}" if note else photo


def _row(key: str, content: Mapping[str, Any], words: Words) -> str:
    if key == "done":
        return _work(content)
    if key == "observed":
        event = _(str(content.get("event", "")))
        if content.get("percent") is None:
            return _("Seen: {event}", event=event)
        percent = words.bare(content["percent"])
        return _("Seen: {event}, {percent} % open", event=event, percent=percent)
    if key in ("nights", "evenings", "lowest"):
        return _("A night's cold: {measures}", measures=_listed(content))
    if key == "harvests":
        return _picking(content)
    if key == "counts" and content.get("fruit") is not None:
        return _n("Counted {number} fruit", "Counted {number} fruit", content["fruit"])
    return f"{capital(_field(key))}: {_listed(content)}"


def _picking(content: Mapping[str, Any]) -> str:
    """What was picked: its mass, and number, sound share and note where they were told."""
    mass, fruit = content.get("mass", ""), content.get("fruit")
    told = [_("Picked {mass}", mass=mass)]
    if fruit:
        told = [_n("Picked {mass}, {number} fruit", "Picked {mass}, {number} fruit", fruit, mass=mass)]  # fmt: skip
    if content.get("sound"):
        told.append(_("{share} of it sound", share=content["sound"]))
    note = f" ({content['note']})" if content.get("note") else ""
    return ", ".join(told) + note


def _work(content: Mapping[str, Any]) -> str:
    """A job with what was given and its note."""
    job = str(content.get("job"))
    job = _(JOB_WORDS[job]) if job in JOB_WORDS else job
    amount, product = content.get("amount"), content.get("product")
    given = (
        _("{mass} of {product}", mass=amount, product=product)
        if amount and product
        else amount or product
    )
    note = f" ({content['note']})" if content.get("note") else ""
    return f"{job}: {given}{note}" if given else f"{job}{note}"


# What records say of, by the key in the garden file, where it is not a word the page shows already.
_FIELDS = (
    N_("amount"), N_("counts"), N_("cup mass"), N_("dew point"), N_("east"), N_("event"), N_("fruit"), N_("halves"),
    N_("height"), N_("job"), N_("leaf"), N_("leaf tests"), N_("limbs"), N_("look"), N_("mass"), N_("name"),
    N_("norms"), N_("north"), N_("note"), N_("nutrient"), N_("on hand"), N_("organic matter"), N_("pack"),
    N_("percent"), N_("place"), N_("planted"), N_("price"), N_("product"), N_("reason"), N_("rootstock"),
    N_("shelter"), N_("shoot growth"), N_("shortages"), N_("skirt"), N_("sky"), N_("soil"), N_("soil test"),
    N_("spread"), N_("trunk girth"), N_("units"), N_("wanted height"), N_("wanted spread"), N_("wind"), N_("year"),
)  # fmt: skip


def _field(key: str) -> str:
    """A key of the garden file in words."""
    return _(key.replace("_", " "))


def _listed(content: Mapping[str, Any]) -> str:
    return ", ".join(
        f"{_field(key)} {_value(value)}" for key, value in content.items() if key != "date"
    )


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        return _listed(value)
    return _across(value) if isinstance(value, list) else str(value)


def _across(values: Sequence[object]) -> str:
    """Measures that belong together: 2.2 m by 2.0 m."""
    text = str(values[0]) if values else ""
    for value in values[1:]:
        text = _("{one} by {other}", one=text, other=value)
    return text


def _date(value: object, words: Words) -> str:
    text = str(value)
    try:
        return words.day(date.fromisoformat(text))
    except ValueError:
        return text


# ---------------------------------------------------------------- JSON


def recorded_twin(done: Sequence[Kept]) -> dict[str, Any]:
    """What came of recording."""
    return {
        "recorded": [entry.id for entry in done],
        "repeated": all(entry.repeated for entry in done),
        "problems": [problem_twin(problem) for entry in done for problem in entry.problems],
    }


def elsewhere_twin(problem: Problem, garden: str, called: str) -> dict[str, Any]:
    """Why a record went into no garden, and which one is served here: its id and name."""
    return {"problems": [problem_twin(problem)], "garden": garden or None, "called": called}


def history_twin(actions: Sequence[Action]) -> dict[str, Any]:
    """The history, newest first."""
    return {
        "records": [
            {
                "record": action.id,
                "recorded_at": action.at,
                "by": action.by,
                "lines": list(action.lines),
                "trees": list(action.trees),
                "undone_by": action.undone_by or None,
                "entries": [entry_twin(entry) for entry in action.entries],
            }
            for action in actions
        ]
    }
