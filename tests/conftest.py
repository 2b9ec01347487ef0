"""Settings for all tests."""

from __future__ import annotations

import os
import time
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from collections.abc import Callable

# The clinic's day: wherever and whenever tests run, its clock says twelve. The invented exam is then in
# its second round, and the day is that of UTC. What happens near midnight has tests of its own.
os.environ["TZ"] = f"UTC{time.gmtime().tm_hour - 12:+d}"
time.tzset()

settings.register_profile("local", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "local")

_FIGURE = "figure"
_figures: list[str] = []


@pytest.fixture
def tell(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Print a measured figure at the end of the run, whatever happens to the output of tests."""
    return lambda words: record_property(_FIGURE, words)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Gather what tests tell, from whichever process runs them."""
    if report.when == "call":
        _figures.extend(str(words) for name, words in report.user_properties if name == _FIGURE)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print what tests have told."""
    if _figures:
        terminalreporter.section("figures")
    for each in _figures:
        terminalreporter.write_line(each)
