"""The languages that the faces speak: which one is spoken now, and how a text of ours is said in it.

Catalogues are those of gettext (``languages/*/LC_MESSAGES/bearwell.mo``), compiled from the ``.po`` files
under ``languages/`` at the top of the project by ``make languages``. What one lacks is said in English.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path
from typing import Any

from bearwell.errors import BadInput
from bearwell.said import Said, said

HERE = Path(__file__).parent / "languages"
DOMAIN = "bearwell"

# Each language by its code (BCP 47), as its own speakers call it.
LANGUAGES = {"en": "English", "pt": "Português", "es": "Español"}
ENGLISH = "en"

# The language of the request or command that is being answered.
spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)


class _Catalogue(GNUTranslations):
    """A catalogue in which nothing said is nothing, and not the head of the catalogue."""

    def gettext(self, message: str) -> str:
        return super().gettext(message) if message else ""


@cache
def catalogue(language: str) -> NullTranslations:
    """The catalogue of a language; that of English is empty."""
    if language == ENGLISH:
        return NullTranslations()
    with (HERE / language / "LC_MESSAGES" / f"{DOMAIN}.mo").open("rb") as file:
        return _Catalogue(file)


def known(code: str | None) -> str | None:
    """The language of ours behind a code such as pt, pt-PT or pt_PT.UTF-8; nothing where there is none."""
    primary = (code or "").replace("_", "-").split(".")[0].split("-")[0].strip().lower()
    return primary if primary in LANGUAGES else None


def named(code: str) -> str:
    """The language behind a code that someone typed; raises BadInput for one we do not speak."""
    found = known(code)
    if found is None:
        raise BadInput(
            said("no language is called '{code}' here", code=code),
            said("one of {listed}", listed=", ".join(LANGUAGES)),
        )
    return found


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language within this block."""
    before = spoken.set(language)
    try:
        yield
    finally:
        spoken.reset(before)


def N_(text: str) -> str:  # noqa: N802
    """Mark a text for the catalogues where it is written; it is translated where it is shown."""
    return text


def Nn_(one: str, many: str) -> tuple[str, str]:  # noqa: N802
    """Mark a text that is said by number."""
    return one, many


def Np_(context: str, text: str) -> str:  # noqa: N802, ARG001
    """Mark a text that is said by context; it is translated by :func:`_p`."""
    return text


def _(text: str, /, **values: Any) -> str:
    """A text of ours in the language spoken now, with values in its named places."""
    return _filled(catalogue(spoken.get()).gettext(text), values)


def _n(one: str, many: str, number: float, /, **values: Any) -> str:
    """The same by number; the number itself may stand in the text as ``{number}``."""
    return _filled(by_number(one, many, number), {"number": number, **values})


def by_number(one: str, many: str, number: float) -> str:
    """The form of a text that goes with a number in the language spoken now, its places still empty."""
    return catalogue(spoken.get()).ngettext(one, many, 1 if number == 1 else max(2, int(number)))


def _p(context: str, text: str) -> str:
    """A text that other languages say differently by context, such as a month's name cut short."""
    return catalogue(spoken.get()).pgettext(context, text)


def say(text: str) -> str:
    """What the parts below said, in the language spoken now: a :class:`Said`, or a constant of ours."""
    if spoken.get() == ENGLISH or not text:
        return str(text)
    if isinstance(text, Said):
        return text.begun(_filled(catalogue(spoken.get()).gettext(text.text), text.values))
    return catalogue(spoken.get()).gettext(text)


def _filled(text: str, values: Mapping[str, Any]) -> str:
    if not values:
        return text
    return text.format(**{key: _spoken(one) for key, one in values.items()})


def _spoken(value: Any) -> Any:
    """A value as it stands in a text of the language spoken now."""
    if isinstance(value, Said):
        return say(value)
    return _Marked(value) if isinstance(value, float) and spoken.get() != ENGLISH else value


class _Marked(float):
    """A number written with the decimal comma of the other languages."""

    def __format__(self, spec: str) -> str:
        return float.__format__(self, spec).replace(".", ",")


# A point with three digits behind it, which those who write decimals with a comma may take for thousands.
_THOUSANDS = re.compile(r"(?<![\d.,])([1-9]\d{0,2})\.(\d{3})(?![\d.,])")


def in_one_way(typed: str) -> str:
    """A typed measure as it stands, where its point means the same to who speaks the language spoken now.

    "1.500 g" is a gram and a half to a file, and a kilogram and a half to many who write decimals with a
    comma. Raises BadInput there and says how to write either.
    """
    found = _THOUSANDS.search(typed)
    if found and spoken.get() != ENGLISH:
        shorter = f"{found[1]},{found[2]}".rstrip("0").rstrip(",")
        raise BadInput(
            said("'{number}' can be read in two ways", number=found[0]),
            said("write {one} or {other}", one=found[1] + found[2], other=shorter),
        )
    return typed


def preferred(header: str) -> str | None:
    """The language of ours that an Accept-Language header (RFC 9110) likes best; nothing where none is."""
    best: tuple[float, int, str] | None = None
    for place, part in enumerate(header[:1000].split(",")):
        code, *rest = part.split(";")
        language = known(code)
        weight = 1.0
        for one in rest:
            name, _sign, number = one.strip().partition("=")
            if name == "q":
                try:
                    weight = float(number)
                except ValueError:
                    weight = 0.0
        if language and weight > 0 and (best is None or (weight, -place) > best[:2]):
            best = (weight, -place, language)
    return best[2] if best else None
