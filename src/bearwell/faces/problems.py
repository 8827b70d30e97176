"""A problem of the user's data as a line in the language spoken."""

from __future__ import annotations

from bearwell.errors import Problem
from bearwell.faces.language import Np_, _p, say

_SEVERITY = {
    "error": Np_("severity", "error"),
    "warning": Np_("severity", "warning"),
    "note": Np_("severity", "note"),
}


def with_hint(message: str, hint: str) -> str:
    """A message with its hint in brackets behind it: what the parts below said, in the language spoken."""
    return f"{say(message)} ({say(hint)})" if hint else say(message)


def problem_line(problem: Problem) -> str:
    """A problem as file:line: severity: message (hint)."""
    place = f"{problem.where}:{problem.line}" if problem.line else problem.where
    severity = _p("severity", _SEVERITY[problem.severity])
    return f"{place}: {severity}: {with_hint(problem.message, problem.hint)}"
