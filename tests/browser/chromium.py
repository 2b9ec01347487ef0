"""The system's own Chromium, opened so that nothing it does depends on where or when it runs.

No page may ask anything of another machine, break its content policy or complain on the console: whatever
does is noted, and fails the test at its end.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Literal

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Request, WebError, sync_playwright

from tests.reference import need_reference

_NOWHERE = "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"  # any other name or address leads nowhere
_BRITISH: dict[str, str | float | bool] = {
    **os.environ,
    "LANGUAGE": "en_GB",
}  # how its own fields write a date
_LOCAL = ("data:", "blob:", "about:")
# For every new device the browser loads what could pop up under its address bar: two pages, which nobody sees
# and which cost more than most of ours. Naming them replaces the list of the driver, which is repeated.
_SWITCHED_OFF = (
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    # as the driver does
    "AimEnabled",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
)

Theme = Literal["light", "dark"]
THEMES: tuple[Theme, ...] = ("light", "dark")


@contextmanager
def chromium() -> Iterator[Browser]:
    """Open the browser without a screen; skip the test loudly, or fail it, where there is none."""
    program = shutil.which("chromium")
    need_reference("Chromium", available=program is not None, how_to_install="sh tools/system_packages.sh")
    with sync_playwright() as driver:
        flags = [f"--host-resolver-rules={_NOWHERE}", f"--disable-features={','.join(_SWITCHED_OFF)}"]
        browser = driver.chromium.launch(executable_path=program, args=flags, env=_BRITISH)
        try:
            yield browser
        finally:
            browser.close()


@dataclass
class Watch:
    """Notes what no page may do.

    A test that provokes a complaint says so beforehand: ``watch.forgive("status of 404")`` forgives
    complaints that hold these words.
    """

    complaints: list[str] = field(default_factory=list)
    _forgiven: list[str] = field(default_factory=list)

    def forgive(self, words: str) -> None:
        """Expect complaints that hold these words."""
        self._forgiven.append(words)

    def attend(self, context: BrowserContext, origin: str) -> None:
        """Watch every page of a device from now on; it may ask this origin and no other."""
        context.on("request", lambda request: self._asked(request, origin))
        context.on("console", self._said)
        context.on("weberror", self._broke)

    def check(self) -> None:
        """Fail if anything was noted that nobody forgave."""
        left = [each for each in self.complaints if not any(words in each for words in self._forgiven)]
        if left:
            raise AssertionError("\n".join(left))

    def _asked(self, request: Request, origin: str) -> None:
        if not request.url.startswith((f"{origin}/", *_LOCAL)):
            self.complaints.append(f"asked another machine: {request.url}")

    def _said(self, message: ConsoleMessage) -> None:
        if message.type == "error":  # broken content policies among them
            self.complaints.append(f"console: {message.text} ({message.location['url']})")

    def _broke(self, error: WebError) -> None:
        self.complaints.append(f"script: {error.error}")


def new_device(
    browser: Browser,
    origin: str,
    *,
    width: int = 1280,
    height: int = 800,
    theme: Theme = "light",
    worker: bool = True,
    trusts_all: bool = False,
) -> BrowserContext:
    """Return a device with its own cookies: a British one in the zone of Greenwich that moves nothing.

    Without ``worker`` it does not fetch what it would need without a connection: it costs as much as a page.
    If it ``trusts_all``, it asks nobody about certificates.
    """
    return browser.new_context(
        base_url=origin,
        viewport={"width": width, "height": height},
        color_scheme=theme,
        locale="en-GB",
        timezone_id="UTC",
        reduced_motion="reduce",
        service_workers="allow" if worker else "block",
        ignore_https_errors=trusts_all,
    )
