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
from bearwell.faces.language import _, _n
from bearwell.faces.telling import MANY, entry_twin, in_words, only_places
from bearwell.faces.twins import problem_twin, words_of
from bearwell.faces.words import JOB_WORDS, Words

if TYPE_CHECKING:
    from bearwell.api import Recorded, Said, Store, Told

Form = Mapping[str, Sequence[str]]

# What a grower may record of a tree, in the order of the page: the form's key and its heading.
KINDS: dict[str, str] = {
    "work": "What I did",
    "seen": "What I saw",
    "picked": "What I picked",
    "counted": "What I counted",
    "measured": "What I measured",
    "lacks": "What its leaves lack",
    "damage": "Damage, or a pest",
    "night": "A night's cold",
    "leaves": "A leaf test",
    "soil": "A soil test",
}
MEASURES = {
    "height": ("Height", "2.1 m"),
    "spread": ("Spread", "2.2 m, 2.0 m"),
    "skirt": ("Height of the lowest foliage", "0.4 m"),
    "trunk_girth": ("Girth of the trunk", "18 cm"),
    "shoot_growth": ("Length of this season's shoots", "28 cm"),
}
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
        raise BadInput(f"'{text}' is not a date", "write it as 2026-04-14") from None


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
        raise BadInput(f"'{text}' is not a whole number", "such as 120")
    return int(text)


def number(form: Form, key: str) -> float | None:
    """A number of a form, or nothing where it was left empty."""
    text = one(form, key)
    if not text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise BadInput(f"'{text}' is not a number", "such as 5.9") from None


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
            amount=one(form, "amount") or None,
            note=one(form, "note"),
            advice=advice,
        )
    if what == "skip":
        return api.record_skip(store, stamp, today, advice=advice, reason=one(form, "reason"))
    if what == "later":
        until, reason = day_of(form, "until", advice.window.latest), one(form, "reason")
        return api.record_postpone(store, stamp, today, advice=advice, until=until, reason=reason)
    raise BadInput(f"'{what}' is nothing to do with a job", "done, otherwise, skip or later")


def _advice(opened: LoadedGarden, advice_id: str) -> Advice:
    try:
        return api.find_advice(opened, advice_id)
    except BadInput:
        tree = advice_id.split("/", 1)[0]
        raise Overtaken(
            "this job is no longer in the plan: it was recorded already, or the plan has moved",
            f"look at the list, or record the work itself on the page of {tree}",
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
            amount=one(form, "amount") or None,
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
        mass, fruit = one(form, "mass"), whole(form, "fruit")
        return api.record_harvest(
            store, stamp, today, tree=tree, day=day, mass=mass, fruit=fruit,
            year=whole(form, "year"), whole=bool(one(form, "whole")),
        )  # fmt: skip
    if kind == "counted":
        fruit = whole(form, "fruit")
        if fruit is None:
            raise BadInput("no number of fruit was given", "such as 120")
        return api.record_count(store, stamp, today, tree=tree, day=day, fruit=fruit)
    if kind == "measured":
        said = {key: one(form, key) for key in MEASURES if one(form, key)}
        measures = {key: _several(text) for key, text in said.items()}
        return api.record_measure(store, stamp, today, tree=tree, day=day, measures=measures)
    if kind == "lacks":
        row = {"date": day, "nutrient": one(form, "nutrient")}
        return api.record_row(
            store, stamp, today, subject="tree", named=tree, key="shortages", row=row
        )
    raise BadInput(f"'{kind}' is nothing that is recorded of a tree", ", ".join(KINDS))


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
    said = {key: _in_unit(one(form, key), form) for key in ("lowest", "evening", "dew_point")}
    return api.record_night(store, stamp, today, day=day, **said)


def _keep_leaves(
    store: Store, stamp: Stamp, today: date, tree: str, form: Form, day: date
) -> Recorded:
    values = {
        key: _with(one(form, key), unit)
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
        values["organic_matter"] = _with(one(form, "organic_matter"), "%")
    for key in SOIL_TEST:
        if one(form, f"soil_{key}"):
            reading = _with(one(form, f"soil_{key}"), "ppm")
            values[key] = {"method": one(form, "method"), "value": reading}
    if not values:
        raise BadInput("the soil test says nothing", "at least the pH")
    return api.record_soil_test(store, stamp, today, day=day, values=values)


TESTS = {"damage": _keep_damage, "night": _keep_night, "leaves": _keep_leaves, "soil": _keep_soil}


def _with(text: str, unit: str) -> str:
    """A number as typed, with its unit where none was written."""
    return f"{text} {unit}" if text and text[-1].isdigit() else text


def _in_unit(text: str, form: Form) -> str:
    return _with(text, "degF" if one(form, "degrees") == "degF" else "degC")


def _several(text: str) -> str | list[str]:
    """Two measures written with a comma between them, as for a spread."""
    parts = [part.strip() for part in text.split(",") if part.strip()]
    return parts if len(parts) == 2 else text


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
    return [_action(said, words) for said in api.recent(store, tree, last=last)]


def told_one(store: Store, record: str, words: Words) -> Action | None:
    """One record by its id; nothing where there is none."""
    said = api.recorded(store, record)
    return None if said is None else _action(said, words)


def _action(said: Said, words: Words) -> Action:
    entries = said.entries
    first = entries[0].entry
    trees = dict.fromkeys(
        entry.entry.named.split("/", 1)[0]
        for entry in entries
        if entry.entry.subject in ("tree", "advice")
    )
    lines = [line for entry in entries if (line := sentence(entry, words))]
    places = only_places(entries)
    if places and said.count > 1:
        lines = [_n("{number} place of a tree", "{number} places of trees", said.count)]
    elif said.count > MANY:
        lines = [f"A garden file was taken in: {said.count} entries"]
    return Action(
        first.action,
        first.recorded_at,
        first.by,
        tuple(lines) or (in_words(entries[0]),),
        tuple(trees),
        entries[0].undone_by,
        first.kind == "undo",
        entries,
        said.count,
        places,
    )


def sentence(told_entry: Told, words: Words) -> str:
    """An entry as a grower would say it; empty where another entry of the same record says it."""
    entry = told_entry.entry
    said: Mapping[str, Any] = entry.payload
    when = f" on {words.day(entry.day)}" if entry.day else ""
    if entry.kind == "undo":
        return "Undone"
    if entry.kind == "photo":
        return f"A photo{when}{': ' + str(said['note']) if said.get('note') else ''}"
    if entry.kind == "close":
        return ""
    if entry.kind == "skip":
        return f"Left undone: {said.get('reason', '')}"
    if entry.kind == "postpone":
        return f"Put off to {_date(said.get('until'), words)}"
    if entry.kind == "state" and set(said) == {"place"}:
        return _("Stands {east} east, {north} north", **said["place"])
    if entry.kind == "state":
        return f"{_listed(said)}{when}"
    if entry.kind in ("record", "row"):
        return f"{_row(entry.key, said)}{when}"
    return in_words(told_entry)


def _row(key: str, said: Mapping[str, Any]) -> str:
    if key == "done":
        job = JOB_WORDS.get(str(said.get("job")), str(said.get("job")))
        given = " of ".join(str(said[part]) for part in ("amount", "product") if said.get(part))
        note = f" ({said['note']})" if said.get("note") else ""
        return f"{job}{': ' + given if given else ''}{note}"
    if key == "observed":
        open_ = f", {said['percent']:g} % open" if said.get("percent") is not None else ""
        return f"Seen: {said.get('event', '')}{open_}"
    if key in ("nights", "evenings", "lowest"):
        return f"A night's cold: {_listed(said)}"
    if key == "harvests":
        fruit = f", {said['fruit']} fruit" if said.get("fruit") else ""
        return f"Picked {said.get('mass', '')}{fruit}"
    if key == "counts" and said.get("fruit") is not None:
        return f"Counted {said['fruit']} fruit"
    return f"{key.replace('_', ' ').capitalize()}: {_listed(said)}"


def _listed(said: Mapping[str, Any]) -> str:
    return ", ".join(
        f"{key.replace('_', ' ')} {' by '.join(map(str, value)) if isinstance(value, list) else value}"
        for key, value in said.items()
        if key != "date"
    )


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
