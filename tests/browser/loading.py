"""How heavy a page is and how soon it can be used, as the browser itself counts it."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Page

_TIMES = """() => {
  const [whole] = performance.getEntriesByType("navigation");
  const painted = performance.getEntriesByName("first-contentful-paint")[0];
  const rest = performance.getEntriesByType("resource").map(each => each.responseEnd);
  return [whole.responseEnd, painted.startTime, Math.max(whole.loadEventEnd, ...rest)];
}"""


class Scales:
    """Weighs what comes over the wire to a page, headers included, from now on."""

    def __init__(self, page: Page) -> None:
        self.bytes_by_path: dict[str, int] = {}
        self._asked: dict[str, str] = {}
        wire = page.context.new_cdp_session(page)
        wire.on("Network.requestWillBeSent", self._request)
        wire.on("Network.loadingFinished", self._finished)
        wire.send("Network.enable")

    def _request(self, event: Any) -> None:
        self._asked[event["requestId"]] = urlsplit(event["request"]["url"]).path[:80]

    def _finished(self, event: Any) -> None:
        path = self._asked.get(event["requestId"], "before")
        self.bytes_by_path[path] = self.bytes_by_path.get(path, 0) + round(event["encodedDataLength"])

    @property
    def kb(self) -> float:
        """All that came, in thousands of bytes."""
        return sum(self.bytes_by_path.values()) / 1000


def times_ms(page: Page) -> tuple[float, float, float]:
    """Return when the page itself had come, when something was seen, and when it could be used.

    Counted from asking for it, when all is quiet. It can be used when every style and script has come and
    run, and whatever these asked for has come.
    """
    page.wait_for_load_state("networkidle")
    answered, painted, usable = page.evaluate(_TIMES)
    return answered, painted, usable
