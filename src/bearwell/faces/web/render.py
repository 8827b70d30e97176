"""Turns what a page shows into HTML or JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Generic, Literal, TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape
from starlette.responses import HTMLResponse, Response

from bearwell.api import Advice, Knowledge, knowledge
from bearwell.faces import language
from bearwell.faces.language import LANGUAGES, N_, spoken
from bearwell.faces.twins import written
from bearwell.faces.web.pages.typed import AMOUNTS, example, written_unit
from bearwell.faces.web.sayings import STATIC, sayings_url
from bearwell.faces.words import CONFIDENCE_WORDS, JOB_WORDS, STANDING_WORDS, Words
from bearwell.quantities import Quantity
from bearwell.reasons import Because
from bearwell.said import Said

HERE = Path(__file__).parent
Text = TypeVar("Text")

# Where a link rests on no row of the bibliography.
OWN_SOURCES = {
    "records": N_("your own records"),
    "weather": N_("the weather record"),
    "garden file": N_("your garden file"),
    "computed": N_("worked out from the lines above"),
}
# How sure an advice is: the words for the weakest link of its chain.
SURENESS_WORDS = {
    "read": N_("sources read"),
    "computed": N_("sources read, and arithmetic"),
    "secondhand": N_("rests on a figure quoted second-hand"),
    "memory": N_("rests on memory: judge for yourself"),
    "judgement": N_("rests on our judgement: judge for yourself"),
}
DOUBTFUL = ("memory", "judgement")

# Whether the garden shown is the invented one, looked at before there is one of its own.
invented: ContextVar[bool] = ContextVar("invented", default=False)

# The id of the garden in the store that is served, so that what waits on a device is sent to no other.
garden_served: ContextVar[str] = ContextVar("garden_served", default="")

# The path and query that are answered, for links that show the same page in another language.
asked: ContextVar[str] = ContextVar("asked", default="/")

# How a request stands to the door of the garden, for the frame of every page.
at_door: ContextVar[Literal["open", "shut", "signed in"]] = ContextVar("at_door", default="open")


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        auto_reload=False,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    made.globals |= {
        "confidence_words": CONFIDENCE_WORDS,
        "sureness_words": SURENESS_WORDS,
        "job_words": JOB_WORDS,
        "standing_words": STANDING_WORDS,
        "doubtful": DOUBTFUL,
        "own_sources": OWN_SOURCES,
        "static": static_url,
        "figure": figure,
        "capital": capital,
        "garden_served": garden_served.get,
        "amounts": AMOUNTS,
        "example": example,
        "written_unit": written_unit,
        "advice_body": advice_body,
        "act_forms": act_forms,
        "_": _safely,
        "_n": _safely_by_number,
        "_p": _safely_by_context,
        "say": language.say,
        "languages": LANGUAGES,
        "sayings": sayings_url,
    }
    return made


def _safely(text: str, /, **values: Any) -> Markup:
    """A text of a template in the language spoken, its values escaped; the text itself may hold markup."""
    return _filled(language._(text), values)


def _safely_by_number(one: str, many: str, number: float, /, **values: Any) -> Markup:
    """The same by number, which may stand in the text as ``{number}``."""
    return _filled(language.by_number(one, many, number), {"number": number, **values})


def _safely_by_context(context: str, text: str) -> Markup:
    """A text that other languages say differently by context."""
    return Markup(language._p(context, text))  # noqa: S704


def _filled(text: str, values: Mapping[str, Any]) -> Markup:
    """A text with its values: those of ours in the language spoken, all of them escaped.

    Plain formatting of escaped values: that of Markup itself takes several times as long.
    """
    if not values:
        return Markup(text)  # noqa: S704
    told = {
        key: escape(language.say(one) if isinstance(one, Said) else one)
        for key, one in values.items()
    }
    return Markup(text.format(**told))  # noqa: S704


@cache
def static_url(name: str) -> str:
    """The address of a file of ours, which changes when the file does."""
    mark = sha256((STATIC / name).read_bytes()).hexdigest()[:10]
    return f"/static/{name}?{mark}"


def figure(link: Because, words: Words) -> str:
    """The figure a link rests on with its range, or nothing where the statement says it already."""
    if link.value is None or link.value == "":
        return ""
    if isinstance(link.value, str) or not link.unit:
        text = language.say(link.value) if isinstance(link.value, str) else words.bare(link.value)
    else:
        known = Quantity(link.value, link.unit, link.low, link.high)
        text = words.quantity(known, with_range=True)
    return "" if text in words.because(link) else text


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


class _WrittenOnce(Generic[Text]):
    """Parts of pages as written before, for as long as the objects they were written from are held.

    Each is kept with those objects, so that no others can come to stand at the same address. Emptied when
    full: a plan worked out anew holds new objects, and the old ones need not stay.
    """

    def __init__(self, at_most: int) -> None:
        self.at_most = at_most
        self.known: dict[tuple[object, ...], tuple[tuple[object, ...], Text]] = {}

    def of(
        self, held: tuple[object, ...], told: tuple[object, ...], write: Callable[[], Text]
    ) -> Text:
        """What was written from these objects; ``told`` is everything else that it differs by."""
        key = (*(id(one) for one in held), *told)
        if (known := self.known.get(key)) is None:
            if len(self.known) >= self.at_most:
                self.known.clear()
            known = self.known[key] = (held, write())
        return known[1]


_bodies = _WrittenOnce[Markup](2000)  # a large garden's fortnight is some 300
_acts = _WrittenOnce[list[str]](2000)
_parts = _WrittenOnce[Markup](600)
_ID_HERE = "\x00"


def _macro(file: str, name: str) -> Callable[..., Markup]:
    found: Callable[..., Markup] = vars(_environment().get_template(file).module)[name]
    return found


def advice_body(one: Advice, words: Words, book: Knowledge, said: tuple[str, ...] = ()) -> Markup:
    """What an advice says below its headline; ``said`` are cautions already told above it."""

    def write() -> Markup:
        return _macro("macros.html", "body")(one, words, book, said)

    return _bodies.of((one, book), (words, said), write)


def act_forms(
    advice: Sequence[Advice], words: Words, back: str, fresh_id: Callable[[], str]
) -> Markup:
    """The forms in which advice is marked done, put off or left: written once, with fresh ids every time."""

    def write() -> list[str]:
        act = _macro("record_macros.html", "act")
        return str(act(advice, words, back, lambda: _ID_HERE)).split(_ID_HERE)

    first, *rest = _acts.of(tuple(advice), (words, back, garden_served.get()), write)
    return Markup(first + "".join(fresh_id() + part for part in rest))  # noqa: S704 escaped by the macro


def part(
    template: str, one: object, words: Words, asked: tuple[object, ...], **shown: Any
) -> Markup:
    """A part of a page about one object; ``asked`` is everything else that it differs by."""

    def write() -> Markup:
        text = _environment().get_template(template).render(one=one, words=words, **shown)
        return Markup(text)  # noqa: S704 the template has escaped it

    return _parts.of((one,), (template, words, asked), write)


def page(
    template: str,
    words: Words,
    *,
    here: str,
    garden: str,
    book: Knowledge | None = None,
    twin: str | None = None,
    status: int = 200,
    **shown: Any,
) -> HTMLResponse:
    """One page. ``here`` is its place in the menu, ``twin`` the address of the same as JSON."""
    text = _environment().get_template(template).render(
        words=words, here=here, garden_name=garden, book=book or knowledge(), twin=twin,
        door=at_door.get(), invented=invented.get(), language=spoken.get(), address=asked.get(), **shown
    )  # fmt: skip
    return HTMLResponse(text, status)


def twin(data: Mapping[str, Any], status: int = 200) -> Response:
    """The same as JSON."""
    return Response(written(data), status, media_type="application/json")
