"""The coming weeks: advice in sections by urgency or by tree, looking round gathered by what to look at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bearwell.faces.words import SECTION_WORDS
from bearwell.garden import Tree
from bearwell.plan.advice import Advice, Window
from bearwell.plan.worklist import Worklist, minutes_of, section_of

ROUND = ("inspect", "measure")


@dataclass(frozen=True)
class Group:
    """An advice shown as one line to open: the same for several trees, or for one."""

    lead: Advice
    members: tuple[Advice, ...]

    @property
    def minutes(self) -> float:
        """Work on all of them."""
        return minutes_of(self.members)

    @property
    def window(self) -> Window:
        """From the first best day to the day on which the first of them closes."""
        return Window(
            min(one.window.earliest for one in self.members),
            min(one.window.best for one in self.members),
            min(one.window.latest for one in self.members),
        )


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
        title, lead = SECTION_WORDS[key]
        if key == "protect":
            nearest = min(one.window.latest for one in found)
            title = "Protect tonight" if nearest <= listed.today else "Protect soon"
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


def gather(advice: Iterable[Advice]) -> tuple[Group, ...]:
    """Equal advice for several trees as one entry, in the order of what closes first."""
    found: dict[tuple[object, ...], list[Advice]] = {}
    for one in advice:
        same = (one.kind, _said(one.headline), *(_said(step) for step in one.steps))
        found.setdefault(same, []).append(one)
    groups = [Group(members[0], tuple(members)) for members in found.values()]
    return tuple(sorted(groups, key=lambda group: (group.window.latest, group.window.best)))


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


def _said(phrase: object) -> tuple[object, ...]:
    text, values = getattr(phrase, "text", phrase), getattr(phrase, "values", {})
    return text, tuple(sorted((key, str(value)) for key, value in values.items()))
