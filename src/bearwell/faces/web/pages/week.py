"""The coming weeks: advice in sections by urgency or by tree, looking round gathered by what to look at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from bearwell.api import Advice, Tree, Worklist, minutes_of, section_of
from bearwell.faces.groups import Group, gather
from bearwell.faces.language import _
from bearwell.faces.words import SECTION_WORDS

ROUND = ("inspect", "measure")


@dataclass(frozen=True)
class Section:
    """A headed part of the page."""

    key: str
    title: str
    lead: str
    cards: tuple[Advice, ...] = ()
    groups: tuple[Group, ...] = ()
    tree: Tree | None = None

    @property
    def count(self) -> int:
        """How many entries it shows."""
        return len(self.cards) + len(self.groups)

    @property
    def shared_cautions(self) -> tuple[str, ...]:
        """Cautions that most of its lines carry alike, to be said once. None where jobs are mixed."""
        if self.tree is not None or len(self.groups) < 3:
            return ()
        said = Counter(text for group in self.groups for text in group.lead.cautions)
        return tuple(text for text, times in said.items() if times > len(self.groups) / 2)

    @property
    def minutes(self) -> float:
        """Work in it."""
        return sum(one.minutes for one in self.cards) + sum(group.minutes for group in self.groups)


_PRESSING = ("protect", "closing", "now")


def by_urgency(listed: Worklist) -> list[Section]:
    """Sections from the most pressing to what has closed; empty ones left out.

    What presses is shown open, as cards; the rest as lines to open.
    """
    sections = []
    for key, found in listed.sections().items():
        title, lead = (_(text) for text in SECTION_WORDS[key])
        if key == "protect":
            nearest = min(one.window.latest for one in found)
            title = _("Protect tonight") if nearest <= listed.today else _("Protect soon")
        if key in _PRESSING:
            sections.append(Section(key, title, lead, cards=tuple(found)))
        else:
            groups = gather(found) if key == "round" else tuple(Group(one, (one,)) for one in found)
            sections.append(Section(key, title, lead, groups=groups))
    return sections


def by_tree(listed: Worklist, trees: Sequence[Tree]) -> list[Section]:
    """A section a tree, in the order of the garden file."""
    last = listed.last
    sections = []
    for tree in trees:
        mine = [one for one in listed.advice if one.tree == tree.id]
        cards = tuple(one for one in mine if section_of(one, last) in _PRESSING)
        groups = tuple(Group(one, (one,)) for one in mine if section_of(one, last) not in _PRESSING)
        sections.append(Section(f"tree-{tree.id}", tree.called, "", cards, groups, tree))
    return [section for section in sections if section.count]


def minutes(listed: Worklist) -> tuple[float, float]:
    """Work that can be done, without what is held back or closed: on jobs, and on looking round."""
    open_now = listed.standing("due", "coming")
    jobs = minutes_of(one for one in open_now if one.kind not in ROUND)
    return jobs, minutes_of(one for one in open_now if one.kind in ROUND)


def cautions(listed: Worklist) -> list[tuple[str, list[str]]]:
    """Every caution of the listed jobs once, by job, for the printed sheet."""
    found: dict[str, list[str]] = {}
    for one in listed.advice:
        kept = found.setdefault(one.kind, [])
        kept += [text for text in one.cautions if text not in kept]
    return [(kind, texts) for kind, texts in found.items() if texts]
