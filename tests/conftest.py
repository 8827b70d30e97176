"""Settings every test shares: how Hypothesis runs, and a loud line for skipped browser tests."""

from __future__ import annotations

import os
import shutil

import pytest
from hypothesis import HealthCheck, settings

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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what drives a browser where there is none."""
    if system_browser() is None:
        skip = pytest.mark.skip(reason="no Chromium on this machine")
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(skip)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say loudly how many browser tests did not run."""
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
