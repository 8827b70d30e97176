"""Made-up catalogues, to see that what is said goes through one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from gettext import NullTranslations

import pytest

from bearwell.faces import language, words


class Worded(NullTranslations):
    """A language in which some texts are said otherwise, and the context of a text is told behind it."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        super().__init__()
        self.texts = texts

    def gettext(self, message: str) -> str:
        return self.texts.get(message, message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        return f"{message} ({context})"


def speak_by(monkeypatch: pytest.MonkeyPatch, made: NullTranslations) -> None:
    """For one test, every language but English goes by this catalogue."""
    english = NullTranslations()
    monkeypatch.setattr(language, "catalogue", lambda code: english if code == "en" else made)
    # What was worked out from the true catalogues, and is kept, is not asked meanwhile.
    monkeypatch.setattr(words, "_once", cache(words._once.__wrapped__))
