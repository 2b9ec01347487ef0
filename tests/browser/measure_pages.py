"""Measure how heavy pages are and how soon they can be used: ``python -m tests.browser.measure_pages``.

Each page of the invented clinic on a device that has seen none before, several times; the medians are printed
as a table. Server and browser share the machine: the times are upper bounds.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser

import tests.database  # noqa: F401  starts the framework, whose route table is read
from tests.browser.chromium import chromium, new_device
from tests.browser.clinics import Clinic, running_clinic
from tests.browser.loading import Scales, times_ms
from tests.browser.sights import INVENTED, Sight, sights

_HEAD = "| page | kB | requests | answered, ms | seen, ms | usable, ms |\n|---|---|---|---|---|---|\n"


def measured(browser: Browser, clinic: Clinic, sight: Sight, runs: int) -> str:
    """Return a line of the table."""
    times = []
    for _ in range(runs):
        with new_device(browser, clinic.origin) as device:
            page = device.new_page()
            scales = Scales(page)
            page.goto(sight.address(clinic))
            times.append(times_ms(page))
    answered, painted, usable = (median(each) for each in zip(*times, strict=True))
    weight = f"{scales.kb:.0f} | {len(scales.bytes_by_path)}"
    return f"| {sight.name} | {weight} | {answered:.0f} | {painted:.0f} | {usable:.0f} |\n"


def main() -> None:
    """Measure and print."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--runs", type=int, default=5)
    wanted = arguments.parse_args()
    with (
        TemporaryDirectory() as folder,
        running_clinic(Path(folder), "--demo") as clinic,
        chromium() as browser,
    ):
        sys.stdout.write(_HEAD)
        for sight in sights():
            if sight.clinic == INVENTED and sight.status == 200 and not sight.then:
                sys.stdout.write(measured(browser, clinic, sight, wanted.runs))


if __name__ == "__main__":
    main()
