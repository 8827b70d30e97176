"""Measures that cannot be: told on their lines, in a garden with errors as in one without."""

from __future__ import annotations

from pathlib import Path

import pytest

from bearwell import api
from gardens import TODAY, tree, write_garden

COVER = (
    '[[shelter]]\nid = "low"\nshape = "hoop"\nlength = "3 m"\nwidth = "3 m"\nheight = "{height}"\n'
)
UNDER = 'shelter = "low"\n'


def told(folder: Path, trees: str, head: str = "") -> list[tuple[str, str, str]]:
    """Severity, the key of the line and the message of what is told of the trees."""
    path = write_garden(folder, trees, head=head)
    lines = path.read_text("utf-8").splitlines()
    found = []
    for one in api.check_garden(path, TODAY):
        if "tree '" in one.message:
            assert one.line is not None
            found.append((one.severity, lines[one.line - 1].split(" = ")[0], one.message))
            assert one.hint
    return found


def sized(kind: str, height: str, spread: str, more: str = "") -> str:
    text = tree(kind, more=more).replace('height = "2.8 m"\n', f'height = "{height}"\n')
    text = text.replace('spread = ["2.8 m", "2.6 m"]', f'spread = "{spread}"')
    return text.replace('skirt = "0.4 m"\n', "").replace('trunk_girth = "36 cm"\n', "")


class TestSpread:
    @pytest.mark.parametrize("kind", ["peach", "satsuma", "apple", "fig", "hass"])
    def test_a_lost_point_is_doubted(self, kind: str, tmp_path: Path) -> None:
        ((severity, key, said),) = told(tmp_path, sized(kind, "2 m", "24 m"))

        assert (severity, key) == ("warning", "spread")
        assert "a spread of 24 m is far beyond that of a grown tree of its kind" in said

    @pytest.mark.parametrize(("spread", "word"), [("3.9 m", "wide"), ("0.2 m", "narrow")])
    def test_a_spread_that_does_not_go_with_its_height_is_doubted(
        self, spread: str, word: str, tmp_path: Path
    ) -> None:
        ((severity, key, said),) = told(tmp_path, sized("satsuma", "1.2 m", spread))

        assert (severity, key) == ("warning", "spread")
        assert f"is {word} for a height of 1.2 m" in said

    @pytest.mark.parametrize("spread", ["1.2 m", "2.4 m", "4 m"])
    def test_an_ordinary_spread_is_not(self, spread: str, tmp_path: Path) -> None:
        assert told(tmp_path, sized("satsuma", "2.4 m", spread)) == []

    def test_the_length_of_an_espalier_is_its_growers_choice(self, tmp_path: Path) -> None:
        text = tree("apple", more='shape = "espalier"\n').replace(
            'spread = ["2.8 m", "2.6 m"]', 'spread = ["12 m", "0.7 m"]'
        )

        assert not any("a spread of" in said for _, _, said in told(tmp_path, text))


class TestCover:
    def test_a_cover_below_the_foliage_supposed_is_doubted(self, tmp_path: Path) -> None:
        text = sized("lemon", "2 m", "2 m", UNDER)
        found = told(tmp_path, text, COVER.format(height="0.3 m"))

        assert [(severity, key) for severity, key, _ in found] == [("warning", "shelter")]
        assert "the cover ends on the trunk" in found[0][2]

    def test_a_cover_far_below_the_top_is_doubted(self, tmp_path: Path) -> None:
        text = sized("lemon", "3 m", "2 m", UNDER)
        found = told(tmp_path, text, COVER.format(height="1.2 m"))

        assert [(severity, key) for severity, key, _ in found] == [("warning", "shelter")]
        assert "is less than 50 % of its height of 3 m" in found[0][2]

    def test_a_cover_a_little_low_is_left_to_the_plan(self, tmp_path: Path) -> None:
        text = sized("lemon", "2.4 m", "2 m", UNDER)

        assert told(tmp_path, text, COVER.format(height="2.1 m")) == []


class TestBesideErrors:
    DOUBTFUL = (
        sized("apple", "3 m", "24 m")
        + tree("apple")
        .replace('id = "one"', 'id = "thin"')
        .replace('trunk_girth = "36 cm"', 'trunk_girth = "9 cm"')
        + sized("lemon", "2 m", "2 m", UNDER).replace('id = "one"', 'id = "under"')
    )
    BROKEN = (
        tree("peach", more="counts = [{ date = 2026-05-20, fruit = -3 }]\n")
        .replace('id = "one"', 'id = "broken"')
        .replace('spread = ["2.8 m", "2.6 m"]', 'spread = "24 m"')
    )

    def test_warnings_are_told_beside_errors(self, tmp_path: Path) -> None:
        """What is doubtful in a sound garden is told as well while another tree has an error."""
        head = COVER.format(height="0.3 m")
        for name in ("sound", "broken"):
            (tmp_path / name).mkdir()
        sound = told(tmp_path / "sound", self.DOUBTFUL, head)
        broken = told(tmp_path / "broken", self.DOUBTFUL + self.BROKEN, head)

        assert len(sound) == 3
        assert set(sound) <= set(broken)
        assert [severity for severity, _, said in broken if "'broken'" in said] == [
            "error",
            "warning",
        ]

    def test_a_row_that_cannot_be_read_says_that_its_measures_wait(self, tmp_path: Path) -> None:
        text = tree("peach").replace('id = "one"\n', "").replace('id = "one"', "")
        path = write_garden(tmp_path, text)
        found = api.check_garden(path, TODAY)

        assert found[0].severity == "error"
        assert any("its measures are held against each other once" in one.message for one in found)
        assert any("only when no error is left" in one.message for one in found)

    def test_a_bad_file_of_nights_is_told_beside_errors(self, tmp_path: Path) -> None:
        head = '[cold]\nnights = "nights.csv"\n'
        (tmp_path / "nights.csv").write_text("date,t0,tmin\n2020-01-01,x,1\n", "utf-8")
        path = write_garden(tmp_path, self.BROKEN, head=head)
        files = {
            Path(one.where).name for one in api.check_garden(path, TODAY) if one.severity == "error"
        }

        assert files == {"garden.toml", "nights.csv"}
