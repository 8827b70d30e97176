"""Where real records lie that are not part of the project, for tests that are skipped without them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

SHARED = Path(
    os.environ.get("BEARWELL_RECORDS") or Path(__file__).resolve().parents[2] / "shared" / "data"
)


def sample(*parts: str) -> Path:
    """A real record, or the test is skipped with a line that says which is not here."""
    path = SHARED.joinpath(*parts)
    if not path.exists():
        pytest.skip(f"{'/'.join(parts)} is not beside the project (../shared/data)")
    return path
