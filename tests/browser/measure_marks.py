"""Sixty tablets, ten kills: ``python -m tests.browser.measure_marks`` prints what was counted, or fails."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

import tests.database  # noqa: F401  starts the framework
from tests.browser.chromium import chromium
from tests.browser.test_marks_killed import mark_and_kill


def main() -> None:
    """Run it, and print."""
    with chromium() as browser, TemporaryDirectory() as folder:
        began = time.perf_counter()
        counted = mark_and_kill(
            browser, Path(folder) / "hall", stations=12, circuits=5, kills=10, seed=2, pause_s=0.6
        )
        told = ", ".join(f"{number} {name}" for name, number in counted.items())
        sys.stdout.write(f"{told}: nothing lost, nothing doubled; {time.perf_counter() - began:.0f} s\n")


if __name__ == "__main__":
    main()
