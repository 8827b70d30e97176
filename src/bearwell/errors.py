"""What can go wrong, in two forms: problems in a user's data (values) and refusals (exceptions)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in the user's data that is wrong, doubtful or filled in for them.

    ``where`` is a file as the user named it, ``line`` the line in it (1-based) when known.
    An ``error`` keeps the thing from being used, a ``warning`` is doubtful but used, a ``note``
    says what was assumed.
    """

    where: str
    message: str
    hint: str = ""
    line: int | None = None
    severity: Severity = "error"

    def __str__(self) -> str:
        place = f"{self.where}:{self.line}" if self.line else self.where
        tail = f" ({self.hint})" if self.hint else ""
        return f"{place}: {self.severity}: {self.message}{tail}"


class BearwellError(Exception):
    """A request that cannot be served. The message is one line; the hint says what to do."""

    exit_code = 1

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} ({self.hint})" if self.hint else self.message


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
        more = f" and {len(errors) - 1} more" if len(errors) > 1 else ""
        first = errors[0]
        place = f"{first.where}:{first.line}" if first.line else first.where
        super().__init__(f"{place}: {first.message}{more}", first.hint)


class KnowledgeError(BearwellError):
    """A knowledge table that breaks its own schema: names the file, the table, the key and the fix."""
