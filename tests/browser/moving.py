"""What moves on a page by itself, as Chromium counts it: layout shifts that nobody's touch has asked for.

A shift is the share of the screen that moved times how far it moved, as a share of the screen's longer side
(Layout Instability, a draft of the W3C's Web Incubator group). It is told of what moves by 3 px or more.
"""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

_OBSERVE = """
window.moved = [];
new PerformanceObserver((list) => {
  const told = (at) => (!at ? "what is gone" : at.nodeType === Node.TEXT_NODE ? told(at.parentElement)
    : at.localName + (at.id ? `#${at.id}` : "") + [...at.classList].map((each) => `.${each}`).join(""));
  const where = ({ x, y, width, height }) => [x, y, width, height].map(Math.round).join(" ");
  for (const { value, hadRecentInput, sources } of list.getEntries()) {
    moved.push({ value, asked: hadRecentInput, what: sources.map((each) =>
      `${told(each.node)}: ${where(each.previousRect)} to ${where(each.currentRect)}`) });
  }
}).observe({ type: "layout-shift", buffered: true });
"""


def watch_moving(page: Page) -> None:
    """Note from now on what moves on a page, from its first moment on."""
    page.add_init_script(_OBSERVE)


def slow_down(page: Page, latency_ms: int) -> None:
    """Let every request of a page take so long: what comes late then comes after the page is drawn."""
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    line = {"offline": False, "latency": latency_ms, "downloadThroughput": -1, "uploadThroughput": -1}
    wire.send("Network.emulateNetworkConditions", line)


def moved(page: Page) -> tuple[float, list[str]]:
    """Return how much has moved that nobody asked for, and what that was."""
    noted: list[dict[str, Any]] = page.evaluate("moved")
    unasked = [each for each in noted if not each["asked"]]
    total = sum(each["value"] for each in unasked)
    return total, [f"{each['value']:.4f} {what}" for each in unasked for what in each["what"]]


_WAITS = """async () => {
  const beside = document.querySelector("script[src$='keeping.js']").src;
  const { openStore } = await import(new URL("outbox_store.js", beside));
  const store = await openStore();
  const operation = { id: "moved-by-nobody-1", base: 1, change: "set_context", field: "age", value: 40 };
  await store.add([{ id: operation.id, visit: 1, address: "/api/visits/1/operations", author: "ben",
    device: "b", status: "waiting", version: null, problems: [], operation,
    made: { at: Date.now(), page: "/visits/1/" } }]);
}"""


def let_entry_wait(page: Page) -> None:
    """Leave an entry of somebody else on the device of a page."""
    page.evaluate(_WAITS)
