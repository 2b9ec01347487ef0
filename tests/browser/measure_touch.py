"""How long from a touch to the conclusion on the screen: ``python -m tests.browser.measure_touch``.

One examiner on the examination page of a real browser, on the same machine as the server. Each touch states
another finding or takes it back; the clock runs in the browser, from the event of the touch to the next frame
after the new conclusion was put on the page. No test: what it prints goes into ``docs/choices.md``.
"""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory

import tests.database  # noqa: F401  starts the framework, whose route table gives the addresses
from tests.browser.chromium import chromium, new_device
from tests.browser.clinics import running_clinic
from tests.browser.hand import new_visit

TOUCHES = 60
_WATCH = """
() => {
  window.took = []; window.saved = []; let since = 0;
  addEventListener("click", (event) => { since = event.timeStamp; }, true);
  const kept = document.getElementById("kept");
  new MutationObserver(() => {
    if (kept.textContent === "Saved" && since) window.saved.push(performance.now() - since);
  }).observe(kept, { childList: true });
  addEventListener("concluded", () => requestAnimationFrame(() => {
    if (since) window.took.push(performance.now() - since);
    since = 0;
  }));
}
"""


def main() -> None:
    """Touch, and print the times."""
    with (
        TemporaryDirectory() as folder,
        running_clinic(Path(folder) / "clinic", "--demo") as clinic,
        chromium() as browser,
    ):
        page = new_device(browser, clinic.origin, width=1280, height=900, theme="light").new_page()
        new_visit(clinic, page, number="T-1")
        page.locator("#position-lying .position-name").click()
        page.wait_for_timeout(1000)
        page.evaluate(_WATCH)
        cells = page.locator("[id^=sign-tenderness] .cell:visible")
        stated = min(cells.count(), TOUCHES)
        for number in range(TOUCHES):
            (cells.nth(number) if number < stated else page.locator("#undo")).click()
            page.wait_for_function("(n) => window.took.length > n", arg=number, timeout=20_000)
            page.wait_for_timeout(150)
        took, saved = page.evaluate("[window.took, window.saved]")
    sys.stdout.write(f"touch to conclusion on the screen: {_line(took)}\ntouch to saved: {_line(saved)}\n")


def _line(times: list[float]) -> str:
    return f"half within {median(times):.0f} ms, p95 {quantiles(times, n=20)[-1]:.0f} ms, of {len(times)}"


if __name__ == "__main__":
    main()
