"""The plain names a grower would type for a tree: each is a kind, or the hint names the nearest keys."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from bearwell import api
from bearwell.errors import BadFile
from gardens import opened, tree, write_garden

TODAY = date(2026, 11, 25)
# Common fruit trees of gardens, as they are called in English.
PLAIN = (
    "orange", "lemon", "lime", "mandarin", "tangerine", "grapefruit", "kumquat", "plum", "peach", "nectarine",
    "apricot", "cherry", "apple", "pear", "quince", "medlar", "fig", "persimmon", "kaki", "pomegranate",
    "mulberry", "olive", "loquat", "guava", "avocado", "blueberry",
)  # fmt: skip
HINTED = {"plum": ("european-plum", "japanese-plum"), "medlar": ("loquat",)}


@pytest.mark.parametrize("name", PLAIN)
def test_a_plain_name_is_a_kind_or_is_hinted_at(name: str, tmp_path: Path):
    if name in HINTED:
        path = write_garden(tmp_path, tree(name), today=TODAY)
        with pytest.raises(BadFile) as caught:
            api.open_garden(path, TODAY)
        hints = " ".join(one.hint for one in caught.value.problems)
        assert all(key in hints for key in HINTED[name])
        return
    loaded = opened(tmp_path, tree(name))
    assert loaded.advice(loaded.garden.tree("one"))


@pytest.mark.parametrize(
    ("name", "meant"),
    [("avocado", "hass"), ("blueberry", "rabbiteye"), ("orange", "navel"), ("Sweet Orange", "navel")],
)  # fmt: skip
def test_a_group_is_taken_as_one_of_its_kinds_and_said_so(name: str, meant: str, tmp_path: Path):
    loaded = opened(tmp_path, tree(name))
    notes = [one for one in loaded.problems if f"({meant})" in one.message]

    assert loaded.view(loaded.garden.tree("one")).species.key == meant
    assert len(notes) == 1
    assert notes[0].severity == "note" and notes[0].line is not None
    assert "middling" in notes[0].message and "name yours" in notes[0].hint


def test_a_stand_in_is_a_tree_of_its_group():
    book = api.knowledge()
    groups = [one for one in book.species.values() if one.stands_for]

    assert {one.key for one in groups} == {"avocado", "blueberry", "orange"}
    for group in groups:
        assert book.species[group.stands_for].belongs_to(group.key)
    assert book.find("citrus") is None


def test_the_blueberry_that_stands_for_all_is_the_middle_one():
    """By the hours of chill its buds ask for."""
    book = api.knowledge()
    kinds = sorted(
        ("northern-highbush", "southern-highbush", "rabbiteye"),
        key=lambda key: book.kind(key)["chill_hours"].number,
    )
    assert kinds[1] == book.kind("blueberry").key
