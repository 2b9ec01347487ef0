"""How smoothly the figure moves, how soon a patient is there: ``python -m tests.browser.measure_figure``.

A run of the invented clinic on a phone of 390 × 844 at three device pixels a point, server and browser on
the same machine. Frames are counted in the browser while the walk plays from each side: those in which the
drawing changed. A new patient is timed at the wire, from asking for one to the last byte of the page of the
run, once the server has been up for some seconds. No test: what it prints goes into ``docs/practice.md``.
"""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from urllib.parse import urlencode

from playwright.sync_api import Page, ViewportSize

import tests.database  # noqa: F401  starts the framework, whose route table gives the addresses
from fabella.web.warming import DRAWN_AFTER_S
from tests.browser.chromium import chromium
from tests.browser.clinics import Clinic, running_clinic
from tests.browser.loading import Scales
from tests.web.hands import Browser as Hands
from tests.web.walking import DRAWN_RUNS

SECONDS = 5
PATIENTS = 40
WARM_S = DRAWN_AFTER_S + 6
PHONE: ViewportSize = {"width": 390, "height": 844}
_CHOSEN = {"curriculum": "as_they_come", "setting": "specialist_clinic", "minutes": "8", "told": ""}
_COUNT = """async (seconds) => {
  const path = [...document.querySelectorAll("#stage svg path")];
  const drawn = () => path.map((each) => each.getAttribute("d")).join();
  const took = []; let last = performance.now(), before = drawn();
  const end = last + 1000 * seconds;
  while (performance.now() < end) {
    await new Promise(requestAnimationFrame);
    const now = drawn();
    if (now === before) continue;
    took.push(performance.now() - last); last = performance.now(); before = now;
  }
  return took;
}"""


def frames(page: Page, name: str) -> str:
    """Return how many frames a second are drawn in a view of the walk."""
    page.get_by_role("link", name=name).click()
    page.get_by_role("button", name="Pause").wait_for()
    page.wait_for_timeout(1000)
    took = page.evaluate(_COUNT, SECONDS)
    rate = 1000 * len(took) / sum(took)
    return f"walk, {name.lower()}: {rate:.0f} frames a second, the longest after {max(took):.0f} ms\n"


def new_patients(clinic: Clinic) -> list[float]:
    """Return milliseconds until each of several new patients stood on their page."""
    hands, took = Hands(clinic.server.port), []
    hands.ask("GET", "/practice/")
    time.sleep(WARM_S)
    for _ in range(PATIENTS):
        began = time.perf_counter()
        run = hands.form("/practice/", urlencode(_CHOSEN))
        status, _, body = hands.ask("GET", run)
        if status != 200 or not re.search(b"year-old", body):
            raise RuntimeError(f"no patient: {status}")
        took.append(1000 * (time.perf_counter() - began))
    hands.close()
    return took


def main() -> None:
    """Measure and print."""
    with (
        TemporaryDirectory() as folder,
        running_clinic(Path(folder) / "clinic", "--demo") as clinic,
        chromium() as browser,
    ):
        took = new_patients(clinic)
        sys.stdout.write(
            f"a new patient: the fastest within {min(took):.0f} ms, half within {median(took):.0f} ms, "
            f"p95 {quantiles(took, n=20)[-1]:.0f} ms, the longest {max(took):.0f} ms, of {len(took)}\n"
        )
        device = browser.new_context(
            base_url=clinic.origin, viewport=PHONE, device_scale_factor=3, has_touch=True, is_mobile=True
        )
        page = device.new_page()
        scales = Scales(page)
        page.goto(clinic.address("practice_run", run_id=DRAWN_RUNS["walking"]))
        page.get_by_role("button", name="Pause").wait_for()
        for name in ("Front", "Right side", "Back", "Left side"):
            sys.stdout.write(frames(page, name))
        sys.stdout.write(f"the page with the walk from all sides: {scales.kb:.0f} kB\n")


if __name__ == "__main__":
    main()
