"""The coming year as a calendar that a phone subscribes to (RFC 5545, RFC 7986).

A job stands on one day: its best, or its last once the best has passed. A window of six weeks drawn as a
bar would bury the days under twenty bars; the window is told in the words of the event instead. Looking
round, which asks the same of many trees, is one event that names them.

An event keeps its UID while its window moves, also over the end of a month. DTSTAMP, LAST-MODIFIED and
SEQUENCE tell when it last changed: the calendar given before is read for that, so that what did not change
keeps them.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from urllib.parse import quote
from uuid import NAMESPACE_OID, uuid5

from bearwell import __version__
from bearwell.api import Advice, LoadedGarden, planned
from bearwell.faces import ical
from bearwell.faces.groups import Group, gather
from bearwell.faces.language import N_, _, _n, say, spoken
from bearwell.faces.words import CONFIDENCE_WORDS, JOB_WORDS, Words

REFRESH = "PT12H"
AHEAD = 366  # days
_SPACE = uuid5(NAMESPACE_OID, "bearwell calendar")
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
_REASONS = 3  # links of the chain that an event tells
_NEAR = timedelta(days=45)  # how far a window may move and still be the same job
_SAME_SPELL = timedelta(days=3)  # the same for a spell of cold nights
_KEY = re.compile(r"(?P<stem>.+)/\d{4}-\d{2}(?P<day>-\d{2})?")
_STAMPS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")
# Reminders before a cold night: in the afternoon that is left for it, and on the evening before that.
_REMINDERS = (
    ("PT15H", N_("{title} (this afternoon)")),
    ("-PT6H", N_("{title} (tomorrow)")),
)


@dataclass(frozen=True)
class Entry:
    """One event: ``key`` is the id of its advice, or of the look that several trees share."""

    key: str
    advice: tuple[Advice, ...]
    day: date
    title: str
    text: str
    url: str | None

    @property
    def lead(self) -> Advice:
        """The advice it tells."""
        return self.advice[0]

    @property
    def reminds(self) -> bool:
        """Whether it is about a cold night that is forecast."""
        return self.lead.kind == "protect" and "night" in self.lead.details


@dataclass(frozen=True)
class _Past:
    """An event of the calendar given before."""

    uid: str
    key: str
    day: date
    body: tuple[str, ...]
    stamp: datetime


def entries(opened: LoadedGarden, tree: str | None = None, base: str = "") -> list[Entry]:
    """What is ahead, as events in the order of their days.

    ``base`` is the address the pages are served under; without one the events carry no link.
    """
    words = Words(
        opened.garden.about.units
    )  # no day of today: dates carry their year and stay as they are
    today = opened.today
    last = today + timedelta(days=AHEAD)
    ahead = [
        one
        for one in planned(opened, tree)
        if one.window.latest >= today and one.window.best <= last
    ]
    looks = [one for one in ahead if _shared(one)]
    names = {one.id: one.called for one in opened.garden.trees}
    found = [
        _entry(Group(one, (one,)), one.id, today, words, names, base)
        for one in ahead
        if not _shared(one)
    ]
    taken: set[str] = set()
    for group in _alike(looks):
        key = group.lead.id if tree else group.lead.id.split("/", 1)[1]
        key = group.lead.id if key in taken else key
        taken.add(key)
        found.append(_entry(group, key, today, words, names, base))
    return sorted(found, key=lambda one: (one.day, one.key))


def _shared(one: Advice) -> bool:
    return one.kind in ("inspect", "measure") and one.quantity is None and one.id.count("/") == 3


def _alike(looks: Iterable[Advice]) -> list[Group]:
    """Looks of the same month that say the same."""
    months: dict[str, list[Advice]] = {}
    for one in looks:
        months.setdefault(one.id.split("/", 1)[1], []).append(one)
    return [group for some in months.values() for group in gather(some)]


def _entry(
    group: Group, key: str, today: date, words: Words, names: Mapping[str, str], base: str
) -> Entry:
    one = group.lead
    best = min(member.window.best for member in group.members)
    day = best if best >= today else group.window.latest
    trees = list(dict.fromkeys(names[tree] for tree in group.trees))
    count = len(trees)
    whose = trees[0] if count == 1 else _n("{number} tree", "{number} trees", count)
    title = f"{whose}: {words.phrase(one.headline)}"
    if one.standing == "blocked":
        title = _("Held back: {job}", job=title)
    page = f"/tree/{quote(one.tree, safe='')}" if count == 1 else "/"
    return Entry(
        key,
        group.members,
        day,
        title,
        _told(group, best, trees, words),
        f"{base}{page}" if base else None,
    )


def _told(group: Group, best: date, trees: Sequence[str], words: Words) -> str:
    """The words of an event: when, how much, how, why in short, what to mind."""
    one, window = group.lead, group.window
    first, last = words.day(window.earliest), words.day(window.latest)
    parts = [words.phrase(one.display)] if one.display else []
    if window.earliest == window.latest:
        parts.append(_("On {day}.", day=first))
    else:
        parts.append(
            _(
                "From {first} until {last}; best {best}.",
                first=first,
                last=last,
                best=words.day(best),
            )
        )
    if group.minutes:
        parts.append(_("About {time}.", time=words.time(group.minutes)))
    parts += [words.phrase(remark) for remark in one.remarks]
    if len(trees) > 1:
        parts.append(_("Trees: {names}", names=", ".join(trees)))
    steps = [f"- {words.phrase(step)}" for step in one.steps]
    if steps:
        parts.append("\n".join([_("How:"), *steps]))
    reasons = [words.because(link) for link in one.because[:_REASONS]]
    if reasons:
        sure = _(CONFIDENCE_WORDS.get(one.confidence, one.confidence))
        weakest = _("Its weakest link: {sure}.", sure=sure)
        parts.append("\n".join([_("Why:"), *(f"- {reason}" for reason in reasons), weakest]))
    if one.cautions:
        parts.append(
            "\n".join([_("Take care:"), *(f"- {say(caution)}" for caution in one.cautions)])
        )
    return "\n\n".join(parts)


def calendar_twin(opened: LoadedGarden, tree: str | None = None, base: str = "") -> dict[str, Any]:
    """The events as JSON."""
    return {
        "garden": opened.garden.about.name,
        "today": opened.today.isoformat(),
        "events": [
            {
                "advice": [one.id for one in entry.advice],
                "kind": entry.lead.kind,
                "standing": entry.lead.standing,
                "day": entry.day.isoformat(),
                "title": entry.title,
                "text": entry.text,
                "url": entry.url,
                "reminds": entry.reminds,
            }
            for entry in entries(opened, tree, base)
        ],
    }


def calendar_text(
    opened: LoadedGarden,
    moment: datetime,
    *,
    tree: str | None = None,
    base: str = "",
    before: str = "",
) -> str:
    """The calendar. ``moment`` stamps what is new or changed against the calendar ``before``."""
    name = opened.garden.about.name
    found = entries(opened, tree, base)
    if tree:
        name = f"{name}: {opened.garden.tree(tree).called}"
    told = _(
        "What to do for each fruit tree. A job stands on its best day, or on its last once that has passed."
    )
    lines = [
        "VERSION:2.0",
        f"PRODID:-//bearwell//bearwell {__version__}//{spoken.get().upper()}",
        "CALSCALE:GREGORIAN",
        ical.text("NAME", name),
        ical.text("X-WR-CALNAME", name),
        ical.text("DESCRIPTION", told),
        ical.text("X-WR-CALDESC", told),
        f"REFRESH-INTERVAL;VALUE=DURATION:{REFRESH}",
        f"X-PUBLISHED-TTL:{REFRESH}",
    ]
    uids = _uids(opened.garden.about.name, found, past := _past(before))
    given = {one.uid: one for one in past}
    for entry in found:
        body = _body(entry, uids[entry.key])
        known = given.get(uids[entry.key])
        kept = known is not None and known.body == tuple(body)
        lines += ical.block("VEVENT", [*_stamps(known.stamp if known and kept else moment), *body])
    return ical.document(ical.block("VCALENDAR", lines))


def _stamps(stamp: datetime) -> list[str]:
    """When an event was last changed; its number rises with that moment and so never falls."""
    number = int((stamp - _EPOCH).total_seconds() // 60)
    return [
        ical.moment("DTSTAMP", stamp),
        ical.moment("LAST-MODIFIED", stamp),
        f"SEQUENCE:{number}",
    ]


def _body(entry: Entry, uid: str) -> list[str]:
    """The lines of an event that tell its content."""
    lines = [
        f"UID:{uid}",
        ical.day("DTSTART", entry.day),
        ical.day("DTEND", entry.day + timedelta(days=1)),
        ical.text("SUMMARY", entry.title),
        ical.text("DESCRIPTION", entry.text),
        ical.text("CATEGORIES", _(JOB_WORDS[entry.lead.kind])),
        f"STATUS:{'TENTATIVE' if entry.lead.standing == 'blocked' else 'CONFIRMED'}",
        "TRANSP:TRANSPARENT",
        ical.text("X-BEARWELL-ADVICE", entry.key),
    ]
    if entry.url:
        lines.append(f"URL:{entry.url}")
    if entry.reminds:
        for trigger, when in _REMINDERS:
            told = ical.text("DESCRIPTION", _(when, title=entry.title))
            lines += ical.block("VALARM", ["ACTION:DISPLAY", told, f"TRIGGER:{trigger}"])
    return lines


def _uids(garden: str, found: Sequence[Entry], past: Sequence[_Past]) -> dict[str, str]:
    """The UID of each event by key: that of the calendar before where the same job is in it."""
    uids = {one.key: one.uid for one in past}
    keys = {entry.key for entry in found}
    left = {one.key: one for one in past if one.key not in keys}
    given: dict[str, str] = {}
    for entry in found:
        uid = uids.get(entry.key)
        if uid is None:
            moved = _moved(entry, left.values())
            uid = left.pop(moved.key).uid if moved else _new_uid(garden, entry.key, uids.values())
        given[entry.key] = uid
    return given


def _new_uid(garden: str, key: str, taken: Collection[str]) -> str:
    """The UID of a job; another where a job that came from this id carries that one already."""
    uid = str(uuid5(_SPACE, f"{garden}\n{key}"))
    return str(uuid5(_SPACE, f"{garden}\n{key}\n{uid}")) if uid in taken else uid


def _moved(entry: Entry, left: Iterable[_Past]) -> _Past | None:
    """The event of the calendar before that is the same job under the id of another month or day."""
    mine = _KEY.fullmatch(entry.key)
    near: list[_Past] = []
    for one in left:
        other = _KEY.fullmatch(one.key)
        if mine and other and mine["stem"] == other["stem"]:
            limit = _SAME_SPELL if mine["day"] else _NEAR
            near += [one] if abs(one.day - entry.day) <= limit else []
    return min(near, key=lambda one: abs(one.day - entry.day), default=None)


def _past(text: str) -> list[_Past]:
    """The events of a calendar of ours; what is none of ours is passed over."""
    found: list[_Past] = []
    body: list[str] = []
    stamp = ""
    for line in ical.unfolded(text):
        if line == "BEGIN:VEVENT":
            body, stamp = [], ""
        elif line == "END:VEVENT":
            found += _event(body, stamp)
        elif line.startswith(_STAMPS):
            stamp = line.removeprefix("LAST-MODIFIED:") if line.startswith("LAST") else stamp
        else:
            body.append(line)
    return found


def _event(body: list[str], stamp: str) -> list[_Past]:
    told = dict(line.split(":", 1) for line in body if ":" in line)
    try:
        return [
            _Past(
                told["UID"],
                _unescaped(told["X-BEARWELL-ADVICE"]),
                datetime.strptime(told["DTSTART;VALUE=DATE"], "%Y%m%d").date(),  # noqa: DTZ007 a day
                tuple(body),
                datetime.strptime(stamp, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC),
            )
        ]
    except (KeyError, ValueError):
        return []


def _unescaped(text: str) -> str:
    return re.sub(r"\\([\\;,])", r"\1", text)
