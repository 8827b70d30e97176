"""What can go wrong, in two forms: problems in a user's data (values) and refusals (exceptions)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bearwell.said import said

Severity = Literal["error", "warning", "note"]
_SEVERITY_WORDS = {
    "error": said("error"),
    "warning": said("warning"),
    "note": said("note"),
}


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in the user's data that is wrong, doubtful or filled in for them, in words of ours.

    ``where`` is a file as the user named it, ``line`` the line in it (1-based) when known.
    An ``error`` keeps the thing from being used, a ``warning`` is doubtful but used, a ``note``
    says what was assumed.
    """

    where: str
    message: str
    hint: str = ""
    line: int | None = None
    severity: Severity = "error"

    def __post_init__(self) -> None:
        object.__setattr__(self, "message", said(self.message))
        object.__setattr__(self, "hint", said(self.hint))

    @property
    def place(self) -> str:
        """The file with the line in it, when known: garden.toml:12."""
        return said("{where}:{line}", where=self.where, line=self.line) if self.line else self.where

    def __str__(self) -> str:
        sentence = (
            "{place}: {severity}: {message} ({hint})"
            if self.hint
            else "{place}: {severity}: {message}"
        )
        severity = _SEVERITY_WORDS[self.severity]
        return said(
            sentence, place=self.place, severity=severity, message=self.message, hint=self.hint
        )


class BearwellError(Exception):
    """A request that cannot be served. The message is one line; the hint says what to do."""

    exit_code = 1

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = said(message)
        self.hint = said(hint)

    def __str__(self) -> str:
        if not self.hint:
            return self.message
        return said("{message} ({hint})", message=self.message, hint=self.hint)


class BadInput(BearwellError):
    """The user gave something that cannot be used: a file, an option, a value."""

    exit_code = 2


class Overtaken(BadInput):
    """What was sent rests on something that has changed since it was shown: told, never kept over it."""


class BadFile(BadInput):
    """A user's file with at least one error; carries every problem found in it."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        errors = [problem for problem in problems if problem.severity == "error"]
        first, more = errors[0], len(errors) - 1
        sentence = "{place}: {message} and {more} more" if more else "{place}: {message}"
        super().__init__(
            said(sentence, place=first.place, message=first.message, more=more), first.hint
        )


class KnowledgeError(BearwellError):
    """A knowledge table that breaks its own schema: names the file, the table, the key and the fix."""
