"""A garden kept in a store and its pages: what the tests of recording on a page share."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bearwell.faces.web import create_app
from gardens import TODAY
from stores import kept, write

HOME = "http://127.0.0.1"
JSON = {"accept": "application/json"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The data folder of a store with the small garden in it."""
    kept(str(tmp_path / "data"), write(tmp_path / "file")).close()
    return tmp_path / "data"


@pytest.fixture
def client(folder: Path) -> TestClient:
    """A client of its pages on the settled day."""
    return TestClient(create_app(folder, today=lambda: TODAY), base_url=HOME)
