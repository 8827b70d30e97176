"""The year of a garden for the wall: twelve months across, trees down, in millimetres of an A3 sheet.

Drawn to be read in black and white: stages are told apart by pattern and by a word beside them, jobs by
a word at their best day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from markupsafe import Markup

from bearwell.faces.language import _, spoken
from bearwell.faces.web.drawing.svg import Days, joined, num, tag
from bearwell.faces.words import Words

# A sheet of A3, landscape, within its margins [mm]. A4 is the same drawing, smaller.
WIDE, TALL = 400.0, 276.0
_NAMES = 56.0  # the column of names
_HEAD, _FOOT = 23.0, 10.0
_STAGE, _LANE, _GAP = 3.4, 3.0, 1.2  # height of a stage's bar, of a lane of jobs, and round them
_ROOMY = 15.0  # a row is given no more than this where there is room
_SMALL = 2.3  # size of the words beside bars
_LETTER, _SERIF = 0.53, 0.47  # width of a letter in sizes of its type


@dataclass(frozen=True)
class Stretch:
    """A stage that lasts, with its word and how it is drawn."""

    start: date
    end: date
    name: str
    look: str
    seen: bool = False


@dataclass(frozen=True)
class Job:
    """A job with its window and its word."""

    first: date
    best: date
    last: date
    name: str
    kind: str
    held: bool = False


@dataclass(frozen=True)
class Line:
    """One tree of the poster."""

    tree: str
    name: str
    kind: str
    stretches: tuple[Stretch, ...]
    jobs: tuple[Job, ...]


@dataclass(frozen=True)
class _Row:
    """A tree laid out: its jobs and its late words in lanes."""

    line: Line
    lanes: tuple[tuple[Job, ...], ...]

    @property
    def height(self) -> float:
        return 2 * _GAP + _STAGE + _LANE * max(len(self.lanes), 1)


def posters(
    lines: Sequence[Line], first: date, last: date, today: date, title: str, about: str
) -> list[Markup]:
    """The drawing as one SVG element a sheet; a second sheet where the trees do not fit on one."""
    return list(_drawn(tuple(lines), first, last, today, title, about, spoken.get()))


@lru_cache(maxsize=8)
def _drawn(
    lines: tuple[Line, ...],
    first: date,
    last: date,
    today: date,
    title: str,
    about: str,
    _language: str,
) -> tuple[Markup, ...]:
    days = Days(first, last, _NAMES, WIDE - 1)
    sheets = _sheets([_Row(line, _lanes(line.jobs, days)) for line in lines])
    return tuple(
        _poster(rows, days, today, title, about, number, len(sheets))
        for number, rows in enumerate(sheets, 1)
    )


def _sheets(rows: Sequence[_Row]) -> list[list[_Row]]:
    sheets: list[list[_Row]] = [[]]
    used, room = 0.0, TALL - _HEAD - _FOOT
    for row in rows:
        if sheets[-1] and used + row.height > room:
            sheets.append([])
            used = 0.0
        sheets[-1].append(row)
        used += row.height
    return sheets


def _wide(text: str, size: float) -> float:
    """About how wide a text is."""
    return len(text) * size * _LETTER


def _reach(job: Job, days: Days) -> tuple[float, float]:
    """From where to where a job with its word reaches."""
    word = _wide(job.name, _SMALL)
    begin, best = days.x(job.first), days.x(job.best)
    start = _word_at(best, word, days)
    return min(begin, start), max(days.x(job.last), start + word) + 1.0


def _word_at(best: float, word: float, days: Days) -> float:
    """Where the word of a job begins: after its best day, or before it at the edge of the sheet."""
    return best + 1.2 if best + 1.2 + word <= days.right else best - 1.2 - word


def _lanes(jobs: Sequence[Job], days: Days) -> tuple[tuple[Job, ...], ...]:
    """Jobs in as few lanes as keep them and their words apart."""
    lanes: list[list[Job]] = []
    ends: list[float] = []
    for job in sorted(jobs, key=lambda one: _reach(one, days)[0]):
        begin, end = _reach(job, days)
        for number, taken in enumerate(ends):
            if taken <= begin:
                lanes[number].append(job)
                ends[number] = end
                break
        else:
            lanes.append([job])
            ends.append(end)
    return tuple(tuple(lane) for lane in lanes)


def _poster(
    rows: Sequence[_Row], days: Days, today: date, title: str, about: str, number: int, of: int
) -> Markup:
    room, needed = TALL - _HEAD - _FOOT, sum(row.height for row in rows)
    spare = min((room - needed) / max(len(rows), 1), _ROOMY - needed / max(len(rows), 1))
    spare = max(spare, 0.0)
    bottom = _HEAD + needed + spare * len(rows)
    sheet = f", {_('sheet {number} of {all}', number=number, all=of)}" if of > 1 else ""
    ident = f"poster-{number}"
    described = _("{about}. A row for each tree; the list below says the same.", about=about)
    parts = [
        tag("title", f"{title}{sheet}", id=f"{ident}-title"),
        tag("desc", described, id=f"{ident}-desc"),
        tag("text", title, x=0.0, y=9.5, class_="poster-title"),
        tag("text", f"{about}{sheet}", x=WIDE, y=9.5, class_="poster-about", text_anchor="end"),
        *_months(days, bottom),
    ]
    top = _HEAD
    for place, row in enumerate(rows):
        tall = row.height + spare
        parts.append(_row(row, days, today, top, tall, spare / 2, shaded=place % 2 == 0))
        top += tall
    parts.append(tag("line", x1=0.0, x2=WIDE, y1=bottom, y2=bottom, class_="poster-rule"))
    if days.first <= today <= days.last:
        x = days.x(today)
        parts.append(tag("line", x1=x, x2=x, y1=_HEAD - 1, y2=bottom, class_="poster-today"))
    parts.append(_key(bottom + 6.2))
    return tag(
        "svg", joined(parts), viewBox=f"0 0 {WIDE:g} {bottom + _FOOT:g}", class_="poster-drawing", role="img",
        aria_labelledby=f"{ident}-title {ident}-desc",
    )  # fmt: skip


def _dotted(left: float, right: float, top: float, height: float) -> list[Markup]:
    """A bar filled with dots, which any printer keeps apart from a grey or a black one."""
    dots, row, y = [], 0, top + 0.75
    while y < top + height - 0.3:
        x = left + (0.8 if row % 2 == 0 else 1.5)
        while x < right - 0.4:
            dots.append(f"M{x:.2f} {y:.2f}h0")
            x += 1.4
        row, y = row + 1, y + 0.65
    wide = right - left
    return [
        tag("rect", x=left, y=top, width=wide, height=height, class_="stage-bloom"),
        tag("path", d="".join(dots), class_="stage-dots"),
    ]


def _months(days: Days, bottom: float) -> list[Markup]:
    parts = []
    months, words = days.months(), Words()
    for place, month in enumerate(months):
        x = days.x(month)
        end = days.x(months[place + 1]) if place + 1 < len(months) else days.right
        new = place == 0 or month.month == 1
        parts.append(tag("line", x1=x, x2=x, y1=_HEAD - 6, y2=bottom, class_="poster-month"))
        name = words.month(month) if new else words.month_name(month)
        parts.append(tag("text", name, x=(x + end) / 2, y=_HEAD - 2.6, class_="poster-month-name",
                         text_anchor="middle"))  # fmt: skip
    return parts


def _row(
    row: _Row, days: Days, today: date, top: float, tall: float, pad: float, *, shaded: bool
) -> Markup:
    line, words = row.line, Words(today=today)
    parts = [
        tag(
            "rect",
            x=0.0,
            y=top,
            width=WIDE,
            height=tall,
            class_="poster-band" if shaded else "poster-plain",
        ),
        tag("line", x1=0.0, x2=WIDE, y1=top, y2=top, class_="poster-rule"),
        tag("text", _cut(line.name, 3.7), x=1.0, y=top + pad + 5.0, class_="poster-name"),
        tag("text", _cut(line.kind, 2.7), x=1.0, y=top + pad + 9.2, class_="poster-kind"),
    ]
    y = top + pad + _GAP
    layers = sorted(line.stretches, key=lambda one: _LAYERS.index(one.look))
    parts += [_stretch(one, days, y, words) for one in layers]
    parts += _stage_words(line.stretches, days, y, today)
    for number, lane in enumerate(row.lanes):
        middle = y + _STAGE + 0.6 + _LANE * (number + 0.5)
        parts += [_job(job, days, middle, words) for job in lane]
    return tag("g", joined(parts), class_="poster-row")


def _cut(text: str, size: float) -> str:
    """A name no longer than its column."""
    most = int((_NAMES - 2) / (size * _SERIF))
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _stretch(one: Stretch, days: Days, y: float, words: Words) -> Markup:
    begin, end = days.x(one.start), max(days.x(one.end), days.x(one.start) + 0.8)
    told = _(
        "{what}: {first} to {last}",
        what=one.name,
        first=words.day(one.start),
        last=words.day(one.end),
    )
    return tag("g", joined([tag("title", told), *_bar(one.look, begin, end, y)]))


def _bar(look: str, begin: float, end: float, y: float) -> list[Markup]:
    """A stage from one place to another: leaf and fruit as strokes, bloom dotted, picking full."""
    wide, thick = end - begin, _STAGE - 0.6
    if look == "leaf":
        return [
            tag("rect", x=begin, y=y + thick + 0.1, width=wide, height=0.5, class_="stage-leaf")
        ]
    if look == "fruit":
        return [tag("rect", x=begin, y=y + 1.0, width=wide, height=0.9, class_="stage-fruit")]
    if look == "bloom":
        return _dotted(begin, end, y, thick)
    return [tag("rect", x=begin, y=y, width=wide, height=thick, class_="stage-pick")]


def _stage_words(stretches: Sequence[Stretch], days: Days, y: float, today: date) -> list[Markup]:
    """A word on or beside each stage that has room for one."""
    found: list[Markup] = []
    taken = [
        (days.x(one.start), max(days.x(one.end), days.x(one.start) + 0.8))
        for one in stretches
        if one.look in ("bloom", "pick")
    ]
    taken.append((days.x(today) - 0.4, days.x(today) + 0.4))
    for one in sorted(stretches, key=lambda each: _FIRST_NAMED.index(each.look)):
        begin, end, word = days.x(one.start), days.x(one.end), _wide(one.name, _SMALL)
        if one.look == "pick" and end - begin > word + 1.5:
            middle = (begin + end) / 2
            found.append(
                tag(
                    "text",
                    one.name,
                    x=middle,
                    y=y + 2.2,
                    class_="stage-word on",
                    text_anchor="middle",
                )
            )
            continue
        left = _spot(one.look, begin, end, word, taken, days)
        if left is not None:
            taken.append((left, left + word))
            found.append(tag("text", one.name, x=left, y=y + 2.2, class_="stage-word"))
    return found


_FIRST_NAMED = ("pick", "bloom", "fruit", "leaf")
_LAYERS = ("leaf", "fruit", "pick", "bloom")  # from the lowest to the one on top


def _spot(
    look: str,
    begin: float,
    end: float,
    word: float,
    taken: Sequence[tuple[float, float]],
    days: Days,
) -> float | None:
    """Where the word of a stage begins: on its stroke, or beside its bar; nowhere if none is free."""
    stroke = look in ("fruit", "leaf")
    spots = [end + 0.8, begin - 0.8 - word]
    if stroke:
        spots = [(begin + end - word) / 2, begin + 12, end - 12 - word]
    for left in spots:
        right = left + word
        inside = (
            days.left <= left
            and right <= days.right
            and (not stroke or begin <= left <= right <= end)
        )
        if inside and all(right + 0.6 <= low or left - 0.6 >= high for low, high in taken):
            return left
    return None


def _job(job: Job, days: Days, y: float, words: Words) -> Markup:
    begin, best = days.x(job.first), days.x(job.best)
    end = max(days.x(job.last), begin + 0.8)
    told = _(
        "{what}: {first} to {last}, best {best}",
        what=job.name,
        first=words.day(job.first),
        last=words.day(job.last),
        best=words.day(job.best),
    )
    left = _word_at(best, _wide(job.name, _SMALL), days)
    return tag(
        "g",
        joined([
            tag("title", told),
            _window(begin, end, y, held=job.held),
            *([] if job.held else [_point(best, y, job.kind)]),
            tag("text", job.name, x=left, y=y + 0.55, class_=f"job-word {job.kind}"),
        ]),
    )  # fmt: skip


def _window(begin: float, end: float, y: float, *, held: bool) -> Markup:
    """The days on which a job serves; broken where a rule holds it back."""
    look = "job-window held" if held else "job-window"
    top, low = num(y + 0.5), num(y + 1.1)
    return tag("path", d=f"M{begin:.2f} {top}V{low}H{end:.2f}V{top}", class_=look)


def _point(x: float, y: float, kind: str) -> Markup:
    """The best day of a job."""
    corners = f"{x - 0.9:.2f},{y - 1.2:.2f} {x + 0.9:.2f},{y - 1.2:.2f} {x:.2f},{y + 1.1:.2f}"
    return tag("polygon", points=corners, class_=f"job-best {kind}")


def _key(y: float) -> Markup:
    """What the marks mean."""
    x, parts = _NAMES, []
    for look, said in (
        ("bloom", _("bloom")),
        ("fruit", _("fruit grows")),
        ("pick", _("picking")),
        ("leaf", _("in leaf")),
    ):
        parts += [*_bar(look, x, x + 9, y - 1.8), _told(x + 10.2, y, said)]
        x += 17 + _wide(said, _KEY)
    for said, held in (
        (_("time for a job; the point is its best day"), False),
        (_("held back by a rule"), True),
    ):
        parts += [_window(x, x + 9, y - 0.2, held=held), _told(x + 10.2, y, said)]
        parts += [] if held else [_point(x + 3, y - 0.2, "")]
        x += 17 + _wide(said, _KEY)
    parts.append(tag("line", x1=x + 1, x2=x + 1, y1=y - 2, y2=y + 1.6, class_="poster-today"))
    return tag("g", joined([*parts, _told(x + 3, y, _("the day it was drawn"))]))


_KEY = 2.7  # size of the words of the key


def _told(x: float, y: float, words: str) -> Markup:
    return tag("text", words, x=x, y=y + 0.9, class_="poster-key")
