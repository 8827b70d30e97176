"""Text of ours that remembers how it was made, so that a face can say it in another language.

Below the faces everything is written in English. A :class:`Said` is that English text and can be used
wherever a string can; besides, it keeps the sentence with its named places and the values that stand in
them. A plain string that stands as a value is the grower's own word and is never translated.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import reduce
from numbers import Integral
from types import MappingProxyType
from typing import Any, Literal, Self

_NOTHING: Mapping[str, Any] = MappingProxyType({})


class Said(str):
    """An English text with its sentence, ``text``, and the ``values`` in the sentence's named places.

    ``letter`` tells how it begins in whatever language: with a "capital", a "small" one, or as it is.
    """

    __slots__ = ("letter", "text", "values")

    text: str
    values: Mapping[str, Any]
    letter: Literal["", "capital", "small"]

    def __new__(cls, text: str, values: Mapping[str, Any] = _NOTHING) -> Self:
        """The text as it reads in English; raises KeyError where a named place has no value."""
        made = super().__new__(cls, text.format(**values) if values else text)
        made.text, made.values, made.letter = text, values, ""
        return made

    def __str__(self) -> str:
        return self

    def capitalize(self) -> Said:
        """The same begun with a capital, which it keeps in other languages."""
        return _begun(str.capitalize(self), self, "capital")

    def begun(self, words: str) -> str:
        """Its words in some language, begun as it is."""
        if not self.letter:
            return words
        first = words[:1].upper() if self.letter == "capital" else words[:1].lower()
        return first + words[1:]

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (str.__str__(self), self.text, dict(self.values), self.letter)


def _begun(english: str, one: Said, letter: Literal["capital", "small"]) -> Said:
    made = str.__new__(Said, english)
    made.text, made.values, made.letter = one.text, one.values, letter
    return made


def _again(
    english: str, text: str, values: Mapping[str, Any], letter: Literal["", "capital", "small"]
) -> Said:
    made = Said(text, values)
    return _begun(english, made, letter) if letter else made


def large(text: str) -> str:
    """A text begun with a capital, in other languages too; the rest as it is."""
    english = text[:1].upper() + text[1:]
    return _begun(english, text, "capital") if isinstance(text, Said) else english


def small(text: str) -> str:
    """A text begun with a small letter, in other languages too."""
    english = text[:1].lower() + text[1:]
    return _begun(english, text, "small") if isinstance(text, Said) else english


def said(text: str, /, **values: Any) -> Said:
    """A sentence of ours: ``said("no tree is called '{name}'", name=typed)``; what is said stays so."""
    return text if isinstance(text, Said) and not values else Said(text, values)


def kept_so(text: str) -> Any:
    """A text as JSON keeps it: what is said with its values, texts and numbers, to be said again."""
    if not isinstance(text, Said):
        return text
    return {
        "text": text.text,
        "values": {
            name: kept_so(one)
            if isinstance(one, str)
            else int(one)
            if isinstance(one, Integral)
            else float(one)
            for name, one in text.values.items()
        },
    }


def unkept(kept: Any) -> str:
    """A text as :func:`kept_so` kept it; raises KeyError or ValueError for what it did not."""
    if not isinstance(kept, dict):
        return str(kept)
    values = {
        name: unkept(one) if isinstance(one, dict | str) else one
        for name, one in kept["values"].items()
    }
    return Said(str(kept["text"]), values)


def listed(texts: Iterable[str], pair: str = "{one}, {other}") -> str:
    """Texts in a row, each said in its own right; ``pair`` is how two of them stand together."""
    kept = list(texts)
    return reduce(lambda one, other: Said(pair, {"one": one, "other": other}), kept) if kept else ""
