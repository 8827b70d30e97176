"""Texts in CSV files: never a formula, and the same text when read back."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bearwell.csvsafe import guarded, unguarded

# The characters that begin a formula, by the OWASP page "CSV Injection", and the wide forms it names.
BEGINS = ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]


@pytest.mark.parametrize("begin", BEGINS)
def test_what_would_run_is_made_text(begin: str) -> None:
    text = f"{begin}SUM(1+1)*cmd|' /C calc'!A0"
    assert guarded(text) == f"'{text}"
    assert guarded(begin) == f"'{begin}"


@pytest.mark.parametrize(
    "text",
    ["", "pruned", "5-5-5", "a=b", "me@garden", "12.5", "-3", "+4.25", "-1e-3", "'quoted'", "it's", "−4 °C", " =1"],
)  # fmt: skip
def test_what_is_harmless_stays_as_it_is(text: str) -> None:
    assert guarded(text) == text
    assert unguarded(text) == text


@pytest.mark.parametrize(
    "text", ["-3+cmd", "-", "+", "-1.", "1e5+1".replace("1", "-1", 1), "--3", "-3\n"]
)
def test_what_only_begins_like_a_number_is_made_text(text: str) -> None:
    assert guarded(text) == f"'{text}"


@given(st.text(st.sampled_from("'=+-@\t\r\n\uff1d123.ea "), max_size=8) | st.text())
def test_every_text_comes_back_and_none_would_run(text: str) -> None:
    cell = guarded(text)
    assert unguarded(cell) == text
    number = cell.lstrip("+-").replace(".", "", 1).replace("e", "", 1).replace("E", "", 1)
    assert (
        not cell.startswith(tuple(BEGINS)) or number.replace("-", "").replace("+", "").isdecimal()
    )


@given(
    st.lists(
        st.text(st.characters(exclude_characters="\x00", exclude_categories=["Cs"]), min_size=1),
        min_size=1,
    )
)
def test_cells_come_back_from_a_file(texts: list[str]) -> None:
    file = io.StringIO(newline="")
    csv.writer(file).writerow([guarded(text) for text in texts])
    file.seek(0)
    assert [unguarded(cell) for cell in next(csv.reader(file))] == texts
