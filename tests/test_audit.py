"""The audit of dependencies: it fails for what is known, and says loudly when nobody could be asked."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

TOOLS = Path(__file__).resolve().parents[1] / "tools"
FILES = [Path("build.txt"), Path("dev.txt")]
GOOD = {"name": "click", "version": "8.1", "vulns": []}
BAD = {
    "name": "oldlib",
    "version": "1.0",
    "vulns": [{"id": "PYSEC-2020-1", "fix_versions": ["1.1"], "aliases": []}],
}
SKIPPED = {"name": "other", "skip_reason": "Dependency not found"}


@pytest.fixture
def tool(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.syspath_prepend(str(TOOLS))
    monkeypatch.delitem(sys.modules, "audit", raising=False)
    import audit

    return audit


def outcome(tool: ModuleType, *outputs: str) -> tuple[int, str, int]:
    """Exit code, what is said, and how many files were asked about."""
    waiting = list(outputs)
    code, said = tool.audit(lambda _: tool.read(waiting.pop(0), "trouble: no route"), FILES)
    return code, "\n".join(said), len(outputs) - len(waiting)


def printed(*dependencies: dict[str, object]) -> str:
    return json.dumps({"dependencies": dependencies, "fixes": []})


def test_nothing_known_passes(tool: ModuleType) -> None:
    code, said, asked = outcome(tool, printed(GOOD), printed(GOOD, SKIPPED))
    assert (code, asked) == (0, 2)
    assert "NOT" not in said
    assert "nobody could tell of other in dev.txt" in said


def test_a_known_vulnerability_fails(tool: ModuleType) -> None:
    code, said, _ = outcome(tool, printed(GOOD), printed(GOOD, BAD))
    assert code == 1
    assert "oldlib 1.0: PYSEC-2020-1, mended in 1.1" in said


def test_no_network_is_said_loudly_and_does_not_fail(tool: ModuleType) -> None:
    code, said, asked = outcome(tool, "", printed(GOOD))
    assert (code, asked) == (0, 1)
    assert "NOT held against known vulnerabilities: trouble: no route" in said


def test_a_service_that_knows_no_package_is_no_service(tool: ModuleType) -> None:
    code, said, asked = outcome(tool, printed(SKIPPED, SKIPPED), printed(GOOD))
    assert (code, asked) == (0, 1)
    assert "knows none of the packages" in said


def test_what_was_found_before_the_network_went_still_fails(tool: ModuleType) -> None:
    code, said, _ = outcome(tool, printed(BAD), "")
    assert code == 1
    assert "NOT held" in said


def test_the_lock_files_are_there(tool: ModuleType) -> None:
    assert all((tool.LOCKS / name).is_file() for name in tool.FILES)
    widest = (tool.LOCKS / "dev.txt").read_text("utf-8")
    for name in ("run.txt", "test.txt"):
        lines = (tool.LOCKS / name).read_text("utf-8").splitlines()
        assert [
            one for one in lines if "==" in one and one.split(";")[0].strip(" \\") not in widest
        ] == []
