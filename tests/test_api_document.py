"""The examples of docs/api.md, run in their order."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

DOCUMENT = Path(__file__).resolve().parents[1] / "docs" / "api.md"


def test_the_examples_of_the_document_give_what_they_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = DOCUMENT.read_text("utf-8")
    blocks = re.findall(r"```pycon\n(.*?)```", text, re.DOTALL)
    assert text.count(">>> ") == sum(block.count(">>> ") for block in blocks)
    parser, runner = doctest.DocTestParser(), doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    examples = parser.get_doctest("\n".join(blocks), {}, "api.md", str(DOCUMENT), 0)
    said: list[str] = []
    runner.run(examples, out=said.append)
    assert "".join(said) == ""
    assert runner.summarize(verbose=False).attempted == len(examples.examples) > 30
