"""Use cases of the grower's own records: what was done, seen, picked, measured or decided, and undoing it.

Every record takes a :class:`Stamp` (an id made where the record is made, the time, and who) and ``today``,
the date at the site. Measures are typed as in a garden file, with their unit. What would make the garden
wrong is refused with its reason and nothing is kept; what is doubtful is kept and told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bearwell.api.gardens import LoadedGarden
from bearwell.errors import BadInput
from bearwell.garden.lines import called, titled
from bearwell.garden.model import EVENTS, JOBS
from bearwell.knowledge import knowledge
from bearwell.plan.advice import Advice
from bearwell.said import said
from bearwell.store import entries as say
from bearwell.store.entries import ADVICE, Draft, Stamp
from bearwell.store.files import picture_kind
from bearwell.store.fold import Folded, Photo
from bearwell.store.places import is_store, is_url, user_folder

if TYPE_CHECKING:
    from bearwell.store.keeping import Recorded, Said, Store, Told

TREE: Final = "tree"
SITE: Final = "site"
COLD: Final = "cold"
BAG: Final = "product"
LONGEST_NOTE: Final = 2000  # letters
_MEASURES: Final = ("height", "spread", "skirt", "trunk_girth", "shoot_growth")


def open_store(where: str | Path, *, read_only: bool = False, create: bool = False) -> Store:
    """Open the store in a data folder or at a database address; see :mod:`bearwell.store.keeping`.

    A store in an older form is backed up and brought to the newest; one from a newer bearwell is refused
    untouched. ``create`` begins a new one where there is none.
    """
    from bearwell.store.keeping import open_store as opened

    return opened(where, read_only=read_only, create=create)


# ---------------------------------------------------------------- recording


def record_done(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    tree: str,
    job: str,
    day: date,
    product: str | None = None,
    amount: str | None = None,
    look: str | None = None,
    note: str = "",
    advice: Advice | None = None,
) -> Recorded:
    """Record work done on a tree; a dose leaves its bag, and ``advice`` that it carried out is closed.

    Done otherwise than advised it closes the advice all the same: the plan goes on from what was done.
    """
    _past(day, today, said("work"))
    _one_of(job, JOBS, said("job"))
    row = _said(date=day, job=job, product=product, amount=amount, look=look, note=_note(note))
    drafts = [Draft(TREE, tree, say.RECORD, row, "done", day)]
    if advice is not None:
        drafts.append(_decision(say.CLOSE, advice, day))
    return _record(store, stamp, today, TREE, tree, drafts)


def record_as_advised(
    store: Store, stamp: Stamp, today: date, *, advice: Advice, day: date, note: str = ""
) -> Recorded:
    """Record an advice as carried out just as it was given: its doses leave their bags, and it is closed."""
    _past(day, today, said("work"))
    rows = [
        _said(date=day, job=advice.kind, note=_note(note), **given) for given in _advised(advice)
    ]
    drafts = [Draft(TREE, advice.tree, say.RECORD, row, "done", day) for row in rows]
    return _record(
        store, stamp, today, TREE, advice.tree, [*drafts, _decision(say.CLOSE, advice, day)]
    )


def _advised(advice: Advice) -> list[dict[str, Any]]:
    """What a record of an advice says beside its day and job."""
    doses = advice.details.get("doses")
    if advice.kind == "feed" and doses:
        return [{"product": one["product"], "amount": f"{one['g']:g} g"} for one in doses]
    if advice.kind == "water" and advice.quantity is not None and advice.quantity.unit == "L":
        return [{"amount": f"{advice.quantity.value:.4g} L"}]
    if advice.kind == "inspect" and "inspection" in advice.details:
        return [{"look": advice.details["inspection"]}]
    return [{}]


def record_seen(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    tree: str,
    event: str,
    day: date,
    percent: float | None = None,
) -> Recorded:
    """Record a stage seen on a tree, such as full bloom; of bloom with the percent of flowers open."""
    _past(day, today, said("what was seen"))
    _one_of(event, EVENTS, said("event"))
    row = _said(event=event, date=day, percent=percent)
    return _record(
        store, stamp, today, TREE, tree, [Draft(TREE, tree, say.RECORD, row, "observed", day)]
    )


def record_night(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    day: date,
    lowest: str = "",
    evening: str = "",
    dew_point: str = "",
) -> Recorded:
    """Record a night as read at the height of the leaves: its lowest, the evening before, or both.

    ``day`` is the date of the morning, or of the evening where nothing but the evening is told. The lowest
    teaches how much colder the spot runs; with the evening's air and dew point it also fits the rule of the
    evening; an evening alone says how the coming night will go.
    """
    _past(day, today, said("a night"))
    rows: list[tuple[str, dict[str, Any]]] = []
    if lowest:
        rows.append(("lowest", {"date": day, "tmin": lowest}))
        if evening and dew_point:
            night = {"date": day, "t0": evening, "td": dew_point, "tmin": lowest}
            rows.append(("nights", night))
    elif evening:
        rows.append(("evenings", _said(date=day, t0=evening, td=dew_point)))
    else:
        raise BadInput("no temperature was given", 'such as "-1.5 degC"')
    drafts = [Draft(COLD, "", say.RECORD, row, key, day) for key, row in rows]
    return store.record(stamp, drafts, knowledge(), today)


def record_harvest(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    tree: str,
    day: date,
    mass: str,
    fruit: int | None = None,
    year: int | None = None,
    whole: bool = False,
    sound: str | None = None,
    note: str = "",
) -> Recorded:
    """Record a picking: it is added to that year's crop, or with ``whole`` is that year's crop.

    ``year`` is the year the crop counts for, by default that of the day. ``sound`` is the share of the mass
    that was worth keeping, such as "85 %".
    """
    _past(day, today, said("a picking"))
    counts = day.year if year is None else year
    row = _said(year=counts, mass=mass, fruit=fruit, sound=sound, note=_note(note) or None)

    def decide(folded: Folded) -> Iterator[Draft]:
        for known in folded.tables[TREE, tree].lists().get("harvests", []) if whole else ():
            if str(known.values.get("year")) == str(counts):
                for each in known.ids:
                    yield Draft(TREE, tree, say.STRIKE, {}, "harvests", replaces=each)
        yield Draft(TREE, tree, say.RECORD, row, "harvests", day)

    return _record(store, stamp, today, TREE, tree, decide)


def record_count(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    tree: str,
    day: date,
    fruit: int | None = None,
    paths: Sequence[tuple[float, int]] = (),
) -> Recorded:
    """Record a fruit count: of the whole tree, or by branch paths as (probability, fruit)."""
    _past(day, today, said("a count"))
    row = _said(date=day, fruit=fruit)
    if paths:
        row["paths"] = [{"probability": chance, "fruit": found} for chance, found in paths]
    return _record(
        store, stamp, today, TREE, tree, [Draft(TREE, tree, say.RECORD, row, "counts", day)]
    )


def record_measure(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    tree: str,
    day: date,
    measures: Mapping[str, str | Sequence[str]],
) -> Recorded:
    """Record measures of a tree: height, spread, skirt, trunk_girth, shoot_growth.

    The latest by its own date holds, whenever it was written down; the older ones stay in the history.
    """
    _past(day, today, said("a measure"))
    if not measures:
        raise BadInput("nothing was measured", said("one of {listed}", listed=", ".join(_MEASURES)))
    for key in measures:
        _one_of(key, _MEASURES, said("measure"))
    stated = {
        key: value if isinstance(value, str) else list(value) for key, value in measures.items()
    }
    return record_state(store, stamp, today, subject=TREE, named=tree, values=stated, day=day)


def record_leaf_test(
    store: Store, stamp: Stamp, today: date, *, tree: str, day: date, values: Mapping[str, Any]
) -> Recorded:
    """Record a laboratory's analysis of leaves, such as ``{"n": "2.4 %", "zn": "18 ppm"}``."""
    _past(day, today, said("a leaf test"))
    row = {"date": day, **values}
    return record_row(store, stamp, today, subject=TREE, named=tree, key="leaf_tests", row=row)


def record_soil_test(
    store: Store, stamp: Stamp, today: date, *, day: date, values: Mapping[str, Any]
) -> Recorded:
    """Record a laboratory's report on the soil; the latest by its date holds."""
    _past(day, today, said("a soil test"))
    stated = {"soil_test": dict(values)}
    return record_state(store, stamp, today, subject=SITE, named="", values=stated, day=day)


def record_stock(
    store: Store, stamp: Stamp, today: date, *, product: str, on_hand: str, day: date
) -> Recorded:
    """Record what a bag weighs: doses recorded for days before it count no more, later ones are taken off."""
    _past(day, today, said("a weight"))
    stated = {"on_hand": on_hand}
    return record_state(store, stamp, today, subject=BAG, named=product, values=stated, day=day)


def record_state(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    subject: str,
    named: str,
    values: Mapping[str, Any],
    day: date | None = None,
) -> Recorded:
    """State keys of a tree, bag, shelter or table of the garden file anew, whatever keys it has.

    With a day an older statement written down later does not replace a newer one.
    """
    if "id" in values:
        raise BadInput("an id stays what it is", "describe a new one, and let the old one go")
    return _record(
        store, stamp, today, subject, named, [Draft(subject, named, say.STATE, values, "", day)]
    )


def record_units_and_clock(
    store: Store, stamp: Stamp, today: date, *, units: str, timezone: str
) -> Recorded:
    """Record how numbers and dates are shown ("metric" or "us") and the time zone whose day it is here.

    Only what differs from now is recorded; BadInput where nothing does, or where the zone is not known.
    """
    wanted = {("garden", "units"): units, (SITE, "timezone"): timezone}

    def decide(folded: Folded) -> Iterator[Draft]:
        changed = False
        for (subject, key), value in wanted.items():
            known = folded.raw.get(subject, {}).get(key, "metric" if key == "units" else "")
            if value and value != known:
                changed = True
                yield Draft(subject, "", say.STATE, {key: value})
        if not changed:
            raise BadInput("nothing was changed", "choose other units or another time zone")

    return store.record_from(stamp, decide, knowledge(), today, trees=[])


def record_row(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    subject: str,
    named: str,
    key: str,
    row: Mapping[str, Any],
    day: date | None = None,
) -> Recorded:
    """Add a row to a list of a tree, bag or table of the garden file, whatever list it is.

    For a list at the head of the file the subject is "." and ``named`` is empty.
    """
    dated = row.get("date") if day is None else day
    at = dated if isinstance(dated, date) else None
    drafts = [Draft(subject, named, say.RECORD, dict(row), key, at)]
    return _record(store, stamp, today, subject, named, drafts)


def record_new(
    store: Store, stamp: Stamp, today: date, *, subject: str, table: Mapping[str, Any]
) -> Recorded:
    """Record a new tree, product or shelter (the ``subject``) as a file describes it."""
    from bearwell.store.parts import taken_apart

    named = table.get("id")
    if not isinstance(named, str) or not named:
        raise BadInput(
            said("a new {row} needs an id", row=called(subject)), "letters, digits, - _ and . only"
        )

    def decide(folded: Folded) -> Iterable[Draft]:
        if (subject, named) in folded.tables:
            raise BadInput(
                said("{title} is there already", title=titled(subject, named)),
                "choose another id",
            )
        return taken_apart({subject: [dict(table)]})

    return store.record_from(stamp, decide, knowledge(), today)


def record_gone(
    store: Store, stamp: Stamp, today: date, *, subject: str, named: str, day: date, reason: str
) -> Recorded:
    """Record that a tree, bag or shelter is no longer there; its records stay in the history."""
    _past(day, today, said("a loss"))
    drafts = [Draft(subject, named, say.REMOVE, {"reason": _note(reason)}, "", day)]
    return _record(store, stamp, today, subject, named, drafts)


def record_photo(
    store: Store,
    stamp: Stamp,
    today: date,
    *,
    subject: str,
    named: str,
    day: date,
    name: str,
    content: bytes,
    note: str = "",
) -> Recorded:
    """Keep a photo of a tree or of the site; refused when it is empty, too large or no photo."""
    _past(day, today, said("a photo"))
    media = picture_kind(content, name)
    kept = {
        "sha256": store.database.files.put(content),
        "size": len(content),
        "media": media,
        "name": name[:200],
        "note": _note(note),
    }
    return _record(
        store, stamp, today, subject, named, [Draft(subject, named, say.PHOTO, kept, "", day)]
    )


def photos(store: Store, subject: str = "", named: str = "") -> list[Photo]:
    """The photos that are kept, of everything or of one tree."""
    return [
        one
        for one in store.folded().photos
        if (not subject or one.subject == subject) and (not named or one.named == named)
    ]


def photo_content(store: Store, photo: Photo) -> bytes:
    """A photo itself."""
    return store.database.files.get(photo.sha256)


# ---------------------------------------------------------------- deciding


def find_advice(opened: LoadedGarden, advice_id: str) -> Advice:
    """An advice of the coming year by its id; BadInput when the plan has none of this id."""
    named = advice_id.split("/", 1)[0]
    tree = opened.garden.tree(named)
    for one in opened.advice(tree):
        if one.id == advice_id:
            return one
    raise BadInput(
        said("no advice '{id}' in the plan for {today}", id=advice_id, today=opened.today),
        "bearwell worklist --json lists the ids; the plan may have moved",
    )


def record_skip(
    store: Store, stamp: Stamp, today: date, *, advice: Advice, reason: str
) -> Recorded:
    """Leave an advice undone this time: it is listed as held back with your reason."""
    if not reason.strip():
        raise BadInput("a reason is needed to leave work undone", 'such as "no fruit this year"')
    drafts = [_decision(say.SKIP, advice, today, reason=_note(reason))]
    return _record(store, stamp, today, TREE, advice.tree, drafts)


def record_postpone(
    store: Store, stamp: Stamp, today: date, *, advice: Advice, until: date, reason: str = ""
) -> Recorded:
    """Put an advice off to another day within its days; the plan says so."""
    window = advice.window
    if not window.earliest <= until <= window.latest:
        raise BadInput(
            said("{day} lies outside the days of this work", day=until),
            said(
                "from {earliest} to {latest}; skip it to leave it undone",
                earliest=window.earliest,
                latest=window.latest,
            ),
        )
    drafts = [_decision(say.POSTPONE, advice, today, reason=_note(reason), until=until)]
    return _record(store, stamp, today, TREE, advice.tree, drafts)


def undo(store: Store, stamp: Stamp, today: date, *, record: str) -> Recorded:
    """Undo what was recorded in one go, by its id or the beginning of it; an undo can be undone too."""
    return store.undo(stamp, store.action(record), knowledge(), today)


def history(store: Store, tree: str = "") -> list[Told]:
    """Everything that was recorded, or all about one tree, newest first, undone entries too."""
    return store.history(TREE, tree) if tree else store.history()


def recent(store: Store, tree: str = "", *, last: int = 60) -> list[Said]:
    """What was recorded last, of everything or of one tree, newest first; quick however long the history."""
    return store.recent(TREE, tree, last=last) if tree else store.recent(last=last)


def recorded(store: Store, record: str) -> Said | None:
    """What was recorded in one go, by its id; nothing where there is none."""
    return store.said(record)


# ---------------------------------------------------------------- helpers


def _record(
    store: Store,
    stamp: Stamp,
    today: date,
    subject: str,
    named: str,
    drafts: Sequence[Draft] | Any,
) -> Recorded:
    """Record something about what is there; nothing else is looked at where one tree is enough."""

    def decide(folded: Folded) -> Iterable[Draft]:
        if named and (subject, named) not in folded.tables:
            known = sorted(name for kind, name in store.folded().tables if kind == subject)
            shown = ", ".join(known[:40]) + (" ..." if len(known) > 40 else "")
            raise BadInput(
                said("no {title} in this garden", title=titled(subject, named)),
                said("there are: {listed}", listed=shown) if known else "",
            )
        found: Iterable[Draft] = drafts(folded) if callable(drafts) else drafts
        return found

    alone = [named] if subject == TREE else []
    return store.record_from(stamp, decide, knowledge(), today, trees=alone)


def _decision(
    kind: str, advice: Advice, day: date, reason: str = "", until: date | None = None
) -> Draft:
    window = advice.window
    row = {
        "earliest": window.earliest,
        "best": window.best,
        "latest": window.latest,
        "reason": reason,
    }
    if until is not None:
        row["until"] = until
    return Draft(ADVICE, advice.id, kind, row, "", day)


def _said(**values: Any) -> dict[str, Any]:
    """What was given of a row."""
    return {key: value for key, value in values.items() if value is not None and value != ""}


def _note(text: str) -> str:
    if len(text) > LONGEST_NOTE:
        message = said("the note has {count} letters", count=len(text))
        raise BadInput(message, said("{most} at most", most=LONGEST_NOTE))
    return text.strip()


def _past(day: date, today: date, what: str) -> None:
    if day > today:
        raise BadInput(
            said("{what} on {day} lies after today, {today}", what=what, day=day, today=today),
            "check the date",
        )


def _one_of(given: str, known: Sequence[str], what: str) -> None:
    if given not in known:
        message = said("'{given}' is not a known {what}", given=given, what=what)
        raise BadInput(message, said("one of {listed}", listed=", ".join(known)))


__all__ = [
    "Photo", "Stamp", "find_advice", "history",
    "is_store", "is_url", "open_store", "photo_content", "photos", "recent", "record_as_advised", "record_count",
    "record_done", "record_gone", "record_harvest", "record_leaf_test", "record_measure", "record_new", "record_night",
    "record_photo", "record_postpone", "record_row", "record_seen", "record_skip", "record_soil_test",
    "record_state", "record_stock", "recorded", "undo", "user_folder",
]  # fmt: skip
