"""Text of ours that remembers how it was made, so that a face can say it in another language.

Below the faces everything is written in English. A :class:`Said` is that English text and can be used
wherever a string can; besides, it keeps the sentence with its named places and the values that stand in
them. A plain string that stands as a value is the grower's own word and is never translated.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Self

_NOTHING: Mapping[str, Any] = MappingProxyType({})


class Said(str):
    """An English text with its sentence, ``text``, and the ``values`` in the sentence's named places."""

    __slots__ = ("text", "values")

    text: str
    values: Mapping[str, Any]

    def __new__(cls, text: str, values: Mapping[str, Any] = _NOTHING) -> Self:
        """The text as it reads in English; raises KeyError where a named place has no value."""
        made = super().__new__(cls, text.format(**values) if values else text)
        made.text, made.values = text, values
        return made

    def __reduce__(self) -> tuple[type[Said], tuple[str, dict[str, Any]]]:
        return type(self), (self.text, dict(self.values))


def said(text: str, /, **values: Any) -> Said:
    """A sentence of ours: ``said("no tree is called '{name}'", name=typed)``."""
    return Said(text, values)
