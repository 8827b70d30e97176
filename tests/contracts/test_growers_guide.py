"""Every example of the growers' guide is a piece of a garden file that loads without an error."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from pathlib import Path

import pytest
from house import ROOT

from bearwell.garden import load_garden
from bearwell.knowledge import knowledge

HEAD = 'bearwell = 1\n[garden]\nname = "A garden"\n'
SITE = "[site]\nlatitude = 41.7\nlongitude = -8.8\n"
BAG = '[[product]]\nid = "{id}"\nname = "granules"\nlabel = "5-5-5"\nrelease = "granular organic"\n'
TREE = '[[tree]]\nid = "a-tree"\nkind = "lemon"\nplanted = 2021-03-20\n'


def examples() -> list[str]:
    """The indented blocks of the guide that are TOML."""
    text = (ROOT / "docs" / "growers.md").read_text("utf-8")
    blocks = re.findall(r"(?m)(?:^ {4}.*\n(?:\n(?= {4}))?)+", text)
    plain = [re.sub(r"(?m)^ {4}", "", block) for block in blocks]
    return [block for block in plain if "bearwell worklist" not in block]


def whole(block: str) -> str:
    """A garden file round an example."""
    if block.startswith("bearwell"):
        return block
    if block.startswith("[site]"):
        return HEAD + block + TREE
    if block.startswith("["):
        return HEAD + SITE + TREE + "\n" + block
    return HEAD + SITE + BAG.format(id="balanced") + TREE + block


@pytest.mark.parametrize("block", examples(), ids=lambda block: block.split("\n")[0][:30])
def test_an_example_loads(block: str, tmp_path: Path) -> None:
    tomllib.loads(block)
    file = tmp_path / "garden.toml"
    file.write_text(whole(block), "utf-8")

    read = load_garden(file, knowledge(), date(2026, 8, 1))

    assert [str(problem) for problem in read.problems if problem.severity == "error"] == []


def test_the_guide_shows_every_part_of_a_garden_file() -> None:
    together = "\n".join(examples())
    parts = [
        "[garden]", "[site]", "[weather]", "[weather.normals]", "[[tree]]", "[[product]]", "[[shelter]]",
        "[[no_feeding]]", "[kind.", "grows_in", "harvests", "observed", "counts", "done", "leaf_tests", "shoot_growth", "[feeding]",
        "[pruning]", "shape", "wanted_height", "cut_more",
        "[watering]", "[[no_watering]]", "drip",
    ]  # fmt: skip

    assert [part for part in parts if part not in together] == []
