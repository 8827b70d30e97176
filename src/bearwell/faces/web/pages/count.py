"""Counting on the spot: branches walked by chance, frames, a part, the halves or the whole, from one form.

The form is its own memory: every walk and fork so far travels in the address, so that a page can be asked
again, sent on, or kept for later, and nothing is stored.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zlib import crc32

from bearwell.api import (
    Count,
    Counted,
    LoadedGarden,
    Tree,
    branch_taken,
    chance_of_walk,
    count_constants,
    counted,
)
from bearwell.errors import BadInput
from bearwell.faces.language import N_, _, say
from bearwell.faces.twins import because_twin
from bearwell.faces.words import Words
from bearwell.quantities import Quantity, parse
from bearwell.said import said

Given = Mapping[str, Sequence[str]]
Fork = tuple[tuple[float, ...], int]

WAYS = {
    "walks": N_("Branch walks"),
    "whole": N_("Every fruit"),
    "part": N_("A part"),
    "halves": N_("Two halves"),
    "frames": N_("A frame"),
}
LEADS = {
    "walks": N_(
        "For a large tree. From the trunk outwards: at each fork type the girths, and chance tells which "
        "branch to follow. Count what hangs beyond where you stop. Three to six walks will do."
    ),
    "whole": N_("For a small tree: every fruit, branch by branch."),
    "part": N_(
        "A part of the tree that you can judge, chosen before you look at its fruit: a quarter, a half."
    ),
    "halves": N_("Where one side bears and the other rests: both sides, each counted whole."),
    "frames": N_(
        "A frame of known size held against the canopy at places chosen by chance, all round and at every "
        "height you reach: the fruit seen inside it, place by place."
    ),
}
TYPED = (
    "girths", "fruit", "part", "frames", "frame", "first", "second", "first_name", "second_name",
)  # fmt: skip
MOST_WALKS, MOST_FORKS = 60, 40

# What is said of a text that is no whole number, by what it was to be.
NO_NUMBER = N_("'{text}' cannot be the number of a sheet")
NO_FRUIT = N_("'{text}' cannot be the fruit")
NO_FRUIT_BEYOND = N_("'{text}' cannot be the fruit at the end of a walk")
NO_FRAME = N_("'{text}' cannot be a frame")
NO_HALF = N_("'{text}' cannot be the fruit of a half")


@dataclass(frozen=True)
class Sheet:
    """One counting sheet: what was noted so far, what it stands for, and what to do next."""

    how: str
    seed: int
    walks: tuple[tuple[float, int], ...] = ()
    forks: tuple[Fork, ...] = ()
    typed: Mapping[str, str] = field(default_factory=dict)
    found: Counted | None = None
    line: str = ""
    complaint: str = ""
    hint: str = ""

    @property
    def chance(self) -> float:
        """The chance of the walk under way."""
        return chance_of_walk(self.forks)

    @property
    def taken(self) -> tuple[int, float] | None:
        """The branch to follow at the last fork: its place and its girth [m]."""
        if not self.forks:
            return None
        girths, at = self.forks[-1]
        return at + 1, girths[at]


def sheet(given: Given, opened: LoadedGarden, tree: Tree, words: Words) -> Sheet:
    """The sheet as its form was sent; what cannot be read is said beside what was kept."""
    how = _last(given, "how") or "walks"
    typed = {key: _last(given, key) for key in TYPED}
    seed = crc32(f"{tree.id} {opened.today}".encode()) % 100000
    try:
        if how not in WAYS:
            raise BadInput(
                said("'{how}' is no way to count", how=how),
                said("one of {listed}", listed=", ".join(WAYS)),
            )
        if _last(given, "seed"):
            seed = _whole(_last(given, "seed"), NO_NUMBER)
        walks = tuple(_walk(text) for text in given.get("walk", ()) if text)[:MOST_WALKS]
        forks = tuple(_fork(text) for text in given.get("fork", ()) if text)[:MOST_FORKS]
    except BadInput as error:
        return Sheet("walks", seed, typed=typed, complaint=error.message, hint=error.hint)
    kept = Sheet(how, seed, walks, forks, typed)
    try:
        if how == "walks":
            kept = _walked(kept, _last(given, "do"), words)
        count = _count(kept, opened, words)
        if count is None:
            return kept
        found = counted(opened, tree.id, count)
    except BadInput as error:
        return _told(kept, error, opened, tree)
    return _with(kept, found=found, line=line_of(count))


def _told(kept: Sheet, error: BadInput, opened: LoadedGarden, tree: Tree) -> Sheet:
    """What was kept with its complaint; walks that were finished still stand for something."""
    if kept.how == "walks" and kept.walks:
        count = _by_walks(kept.walks, opened)
        kept = _with(kept, found=counted(opened, tree.id, count), line=line_of(count))
    return _with(kept, complaint=error.message, hint=error.hint)


def _with(kept: Sheet, **changes: Any) -> Sheet:
    return Sheet(**{**vars(kept), **changes})


def _walked(kept: Sheet, do: str, words: Words) -> Sheet:
    """The sheet after a fork was typed in, a walk was ended, or a step was taken back."""
    if do == "back":
        if kept.forks:
            return _with(kept, forks=kept.forks[:-1])
        return _with(kept, walks=kept.walks[:-1])
    if do == "end" or (kept.typed["fruit"] and not kept.typed["girths"]):
        if not kept.typed["fruit"]:
            raise BadInput(
                "how many fruit hang beyond here?", "a whole number, 0 where there are none"
            )
        fruit = _whole(kept.typed["fruit"], NO_FRUIT_BEYOND)
        if not kept.forks:
            raise BadInput("no fork was walked yet", "type the girths at the first fork")
        chance = round(kept.chance, 6)
        return _with(
            kept, walks=(*kept.walks, (chance, fruit)), forks=(),
            typed={**kept.typed, "girths": "", "fruit": ""},
        )  # fmt: skip
    if kept.typed["girths"]:
        girths = tuple(_girths(kept.typed["girths"], words))
        at, _ = branch_taken(kept.seed, len(kept.walks), len(kept.forks), girths)
        return _with(kept, forks=(*kept.forks, (girths, at)), typed={**kept.typed, "girths": ""})
    return kept


def _girths(text: str, words: Words) -> list[float]:
    unit = "in" if words.units == "us" else "cm"
    parts = [part for part in re.split(r"[,;\s]+", text.strip()) if part]
    if parts and parts[-1].isalpha():
        unit = parts.pop()
    return [parse(part if part[-1].isalpha() else f"{part} {unit}", "branch") for part in parts]


def _count(kept: Sheet, opened: LoadedGarden, words: Words) -> Count | None:
    """The count that the sheet holds, or nothing yet."""
    typed, today = kept.typed, opened.today
    if kept.how == "walks":
        return _by_walks(kept.walks, opened) if kept.walks else None
    if kept.how == "frames":
        if not typed["frames"]:
            return None
        frames = tuple(
            _whole(part, NO_FRAME) for part in re.split(r"[,;\s]+", typed["frames"].strip())
        )
        side = parse(_with_unit(typed["frame"] or "50 cm", words), "branch")
        return Count(date=today, frames=frames, frame=(f"{side} m", f"{side} m"))
    if kept.how == "halves":
        if not (typed["first"] and typed["second"]):
            return None
        names = [typed["first_name"] or _("north"), typed["second_name"] or _("south")]
        if names[0] == names[1]:
            raise BadInput("both halves have one name", "such as north and south")
        numbers = [_whole(typed[key], NO_HALF) for key in ("first", "second")]
        return Count(date=today, halves=dict(zip(names, numbers, strict=True)))
    if not typed["fruit"]:
        return None
    fruit = _whole(typed["fruit"], NO_FRUIT)
    if kept.how == "whole":
        return Count(date=today, fruit=fruit)
    text = typed["part"].replace("%", "").strip() or "25"
    return Count(date=today, fruit=fruit, part=f"{parse(f'{text} %', 'part') * 100:g} %")


def _by_walks(walks: tuple[tuple[float, int], ...], opened: LoadedGarden) -> Count:
    paths = tuple({"probability": chance, "fruit": fruit} for chance, fruit in walks)
    return Count(date=opened.today, paths=paths)


def _with_unit(text: str, words: Words) -> str:
    bare = re.fullmatch(r"[\d.]+", text.strip())
    return f"{text.strip()} {'in' if words.units == 'us' else 'cm'}" if bare else text


def _whole(text: str, otherwise: str) -> int:
    """A whole number; BadInput in the words of ``otherwise`` where it is none."""
    if not re.fullmatch(r"\d{1,6}", text.strip()):
        raise BadInput(said(otherwise, text=text), "a whole number")
    return int(text)


def _walk(text: str) -> tuple[float, int]:
    chance, _, fruit = text.partition(":")
    try:
        value = float(chance)
    except ValueError:
        value = 0.0
    if not 0 < value <= 1:
        raise BadInput(
            said("'{text}' is no walk", text=text),
            "a chance above 0 and up to 1, a colon, the fruit",
        )
    return value, _whole(fruit, NO_FRUIT_BEYOND)


def _fork(text: str) -> Fork:
    """A fork as it travels in the address: girths in metres and the place of the one taken, 0.12,0.07@0."""
    try:
        girths, at = text.split("@")
        read = tuple(float(part) for part in girths.split(","))
        place = int(at)
    except ValueError:
        raise BadInput(said("'{text}' is no fork", text=text), "start the walk again") from None
    if len(read) < 2 or not 0 <= place < len(read) or not all(0 < girth < 10 for girth in read):
        raise BadInput(said("'{text}' is no fork", text=text), "start the walk again")
    return read, place


def fork_text(fork: Fork) -> str:
    """The other way round."""
    girths, at = fork
    return f"{','.join(f'{girth:g}' for girth in girths)}@{at}"


def _last(given: Given, key: str) -> str:
    values = given.get(key, ())
    return values[-1].strip() if values else ""


def line_of(count: Count) -> str:
    """The count as a line of the garden file."""
    if count.paths:
        rows = ", ".join(
            f"{{ probability = {path.probability:.6g}, fruit = {path.fruit} }}"
            for path in count.paths
        )
        inside = f"paths = [{rows}]"
    elif count.frames:
        side = f'"{count.sides[0]:g} m"'
        inside = f"frame = {side}, frames = [{', '.join(str(one) for one in count.frames)}]"
    elif count.halves:
        sides = ", ".join(f"{_key(name)} = {fruit}" for name, fruit in count.halves.items())
        inside = f"halves = {{ {sides} }}"
    else:
        part = f', part = "{100 * count.part:g} %"' if count.part is not None else ""
        inside = f"fruit = {count.fruit}{part}"
    return f"counts = [ {{ date = {count.date}, {inside} }} ]"


def _key(name: str) -> str:
    if re.fullmatch(r"[A-Za-z0-9_-]+", name):
        return name
    escaped = re.sub(r'["\\\x00-\x1f\x7f]', " ", name)
    return f'"{escaped}"'


def count_twin(kept: Sheet, opened: LoadedGarden, tree: Tree, words: Words) -> dict[str, Any]:
    """The page as JSON."""
    found = kept.found
    return {
        "tree": tree.id,
        "today": opened.today.isoformat(),
        "how": kept.how,
        "seed": kept.seed,
        "walks": [{"probability": chance, "fruit": fruit} for chance, fruit in kept.walks],
        "forks": [{"girths_m": list(girths), "taken": at + 1} for girths, at in kept.forks],
        "chance": round(kept.chance, 6) if kept.forks else None,
        "complaint": say(kept.complaint) or None,
        "hint": say(kept.hint) or None,
        "estimate": None
        if found is None
        else {
            "fruit": round(found.estimate.fruit, 1),
            "standard_error": round(found.estimate.error, 1),
            "low": round(found.estimate.low, 1),
            "high": round(found.estimate.high, 1),
            "more_for_10_pct": found.estimate.more,
            "keep": None if found.keep is None else round(found.keep),
            "rule": found.rule or None,
            "implausible": found.implausible,
            "because": [because_twin(found.estimate.because, words)],
        },
        "line": kept.line or None,
    }


def shown(kept: Sheet, opened: LoadedGarden, tree: Tree, words: Words) -> dict[str, Any]:
    """What the template needs."""
    constants = count_constants(opened)
    return {
        "kept": kept, "tree": tree, "ways": WAYS, "leads": LEADS, "fork_text": fork_text,
        "Quantity": Quantity, "constants": constants,
        "quantiles": ",".join(f"{one:g}" for one in constants.quantiles),
        "unit": "in" if words.units == "us" else "cm",
    }  # fmt: skip
