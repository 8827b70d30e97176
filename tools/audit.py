"""Holds the locked dependencies against the known vulnerabilities: `python tools/audit.py`.

Ends with 1 where one is known, and with 0 where the service that knows them cannot be asked: then it says so
loudly, since nothing was checked.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

LOCKS = Path(__file__).resolve().parents[1] / "requirements"
# The first is the smallest: where nothing of it can be audited, nobody is asked about the others. The widest
# lock holds every version of the narrower ones.
FILES = ("build.txt", "dev.txt")
PATIENCE = 300  # s for one file


@dataclass(frozen=True)
class Answer:
    """What is known of one lock file: its vulnerabilities, and what nobody could tell of."""

    found: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    asked: int = 0
    trouble: str = ""

    @property
    def told(self) -> bool:
        """Whether anything was audited at all."""
        return not self.trouble and len(self.unknown) < self.asked


def ask(file: Path) -> Answer:
    """Audit one lock file."""
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pip_audit", "--requirement", str(file), "--require-hashes", "--disable-pip",
             "--progress-spinner", "off", "--timeout", "10", "--format", "json", "--desc", "off"],
            capture_output=True, text=True, check=False, timeout=PATIENCE,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as error:
        return Answer(trouble=type(error).__name__)
    return read(done.stdout, done.stderr)


def read(out: str, err: str) -> Answer:
    """What the audit printed; anything but its JSON means that it broke off."""
    try:
        listed: list[dict[str, Any]] = json.loads(out)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return Answer(trouble=(err.strip().splitlines() or ["it said nothing"])[-1][:200])
    found = [
        f"{one['name']} {one['version']}: {bad['id']}"
        + (f", mended in {', '.join(bad['fix_versions'])}" if bad.get("fix_versions") else "")
        for one in listed
        for bad in one.get("vulns", [])
    ]
    unknown = [one["name"] for one in listed if "skip_reason" in one]
    return Answer(tuple(found), tuple(unknown), len(listed))


def audit(asking: Callable[[Path], Answer], files: Sequence[Path]) -> tuple[int, list[str]]:
    """The exit code, and what is said."""
    said: list[str] = []
    code = 0
    for file in files:
        answer = asking(file)
        said += [f"audit: KNOWN VULNERABILITY in {file.name}: {one}" for one in answer.found]
        code = max(code, 1 if answer.found else 0)
        if not answer.told:
            why = answer.trouble or "the service that was reached knows none of the packages"
            return code, [
                *said,
                "!" * 78,
                f"!!! audit: the dependencies were NOT held against known vulnerabilities: {why}",
                "!" * 78,
            ]
        if answer.unknown:
            said.append(f"audit: nobody could tell of {', '.join(answer.unknown)} in {file.name}")
        said.append(f"audit: {file.name}, {answer.asked - len(answer.unknown)} packages audited")
    return code, said


def main() -> int:
    """Audit every lock file."""
    code, said = audit(ask, [LOCKS / name for name in FILES])
    print("\n".join(said), file=sys.stderr)
    return code


if __name__ == "__main__":
    sys.exit(main())
