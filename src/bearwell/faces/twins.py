"""The JSON twins: plain dictionaries of what a page or a table shows, field by field as in the contract."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from bearwell.api import Advice, LoadedGarden, Reckoning, TreeYear, Worklist
from bearwell.errors import Problem
from bearwell.faces.language import say
from bearwell.faces.words import Words
from bearwell.reasons import Because


def words_of(opened: LoadedGarden) -> Words:
    """The way this garden's grower likes numbers written."""
    return Words(opened.garden.about.units, opened.today)


def written(data: Any, indent: int | None = None) -> str:
    """Data as JSON; what is not a finite number is null, as JSON knows no other."""
    separators = (",", ":") if indent is None else None
    return json.dumps(
        _finite(data),
        default=str,
        ensure_ascii=False,
        allow_nan=False,
        indent=indent,
        separators=separators,
    )


def _finite(data: Any) -> Any:
    if isinstance(data, float):
        return data if math.isfinite(data) else None
    if isinstance(data, Mapping):
        return {key: _finite(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_finite(value) for value in data]
    return data


def said_all(texts: Iterable[str]) -> list[str]:
    """Sentences from below in the language spoken."""
    return [say(text) for text in texts]


def because_twin(link: Because, words: Words) -> dict[str, Any]:
    """One link of reasoning."""
    return {
        "statement": words.because(link),
        "value": link.value,
        "unit": link.unit,
        "low": link.low,
        "high": link.high,
        "source": link.source,
        "locator": link.locator,
        "confidence": link.confidence,
        "note": say(link.note),
    }


def advice_twin(advice: Advice, words: Words) -> dict[str, Any]:
    """One advice."""
    quantity = advice.quantity
    return {
        "id": advice.id,
        "tree": advice.tree,
        "kind": advice.kind,
        "standing": advice.standing,
        "window": {
            "earliest": advice.window.earliest.isoformat(),
            "best": advice.window.best.isoformat(),
            "latest": advice.window.latest.isoformat(),
        },
        "quantity": None
        if quantity is None
        else {
            "value": quantity.value,
            "unit": quantity.unit,
            "low": quantity.low,
            "high": quantity.high,
        },
        "display": words.phrase(advice.display),
        "headline": words.phrase(advice.headline),
        "steps": [words.phrase(step) for step in advice.steps],
        "remarks": [words.phrase(remark) for remark in advice.remarks],
        "cautions": said_all(advice.cautions),
        "minutes": round(advice.minutes),
        "confidence": advice.confidence,
        "changes": words.phrase(advice.changes),
        "because": [because_twin(link, words) for link in advice.because],
        "details": advice.details,
    }


def problem_twin(problem: Problem) -> dict[str, Any]:
    """One problem of the user's data."""
    return {
        "where": problem.where,
        "line": problem.line,
        "severity": problem.severity,
        "message": say(problem.message),
        "hint": say(problem.hint),
    }


def worklist_twin(listed: Worklist, words: Words) -> dict[str, Any]:
    """The worklist."""
    return {
        "garden": listed.garden,
        "today": listed.today.isoformat(),
        "days": listed.days,
        "advice": [advice_twin(one, words) for one in listed.advice],
        "problems": [problem_twin(problem) for problem in listed.problems],
    }


def year_twin(year: TreeYear, words: Words) -> dict[str, Any]:
    """One tree's year."""
    return {
        "tree": year.tree.id,
        "name": year.tree.called,
        "kind": say(year.kind),
        "habit": year.habit,
        "events": [
            {
                "event": stage.event,
                "season": stage.season,
                "wave": stage.wave,
                "date": stage.date.isoformat(),
                "low": stage.low.isoformat(),
                "high": stage.high.isoformat(),
                "basis": say(stage.basis),
                "because": [because_twin(link, words) for link in stage.because],
            }
            for stage in year.stages
        ],
    }


def reckoning_twin(done: Reckoning, words: Words) -> dict[str, Any]:
    """One calculation."""
    return {
        "reckoner": done.reckoner,
        "inputs": done.inputs,
        "results": done.results,
        "because": [because_twin(link, words) for link in done.because],
        "cautions": said_all(done.cautions),
    }
