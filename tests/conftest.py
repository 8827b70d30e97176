"""What every test shares: how Hypothesis runs, a database server, loud lines for what was skipped."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

import database_server

settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
    print_blob=True,
)
settings.register_profile("wide", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))

BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def system_browser() -> str | None:
    """The path of the system's Chromium, if there is one."""
    return next((path for name in BROWSERS if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of a Chromium; skips where there is none."""
    path = system_browser()
    if path is None:
        pytest.skip("no Chromium on this machine")
    return path


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[object]:
    """A headless Chromium of the system."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with playwright.sync_playwright() as engine:
        found = engine.chromium.launch(
            executable_path=chromium,
            args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
        )
        yield found
        found.close()


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., Path]:
    """Writes a file of this text and gives its path."""

    def write(text: str | bytes, name: str = "mine.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    return write


_DATABASES = count(1)


@pytest.fixture(scope="session")
def database_folder() -> Iterator[str]:
    """The folder of a running PostgreSQL server; skips where none can be started."""
    if why := database_server.missing():
        pytest.skip(f"PostgreSQL: {why}")
    with database_server.server() as folder:
        yield folder


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a store, with nothing in it yet: a folder, then a database on a server."""
    if request.param == "sqlite":
        return str(tmp_path / "data")
    folder = request.getfixturevalue("database_folder")
    return database_server.new_database(folder, f"garden_{next(_DATABASES)}")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what drives a browser where there is none."""
    if system_browser() is None:
        skip = pytest.mark.skip(reason="no Chromium on this machine")
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(skip)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say loudly how many tests of the browser and of PostgreSQL did not run."""
    without = [
        report
        for report in terminalreporter.stats.get("skipped", [])
        if "PostgreSQL:" in str(report.longrepr)
    ]
    if without:
        terminalreporter.section("PostgreSQL tests were not run", sep="!", red=True, bold=True)
        terminalreporter.line(
            f"{len(without)} tests of the store were SKIPPED: {without[0].longrepr[2]}"
        )
    skipped = [
        report
        for report in terminalreporter.stats.get("skipped", [])
        if "browser" in report.keywords
    ]
    if skipped:
        terminalreporter.section("browser tests were not run", sep="!", red=True, bold=True)
        terminalreporter.line(
            f"{len(skipped)} browser tests were SKIPPED: there is no Chromium here."
        )
