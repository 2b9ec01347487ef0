"""The examination in WebKit, the engine of most tablets: touched, cut off, loaded again and signed."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from selenium.webdriver import WebKitGTK
from selenium.webdriver.common.by import By
from selenium.webdriver.support.wait import WebDriverWait
from selenium.webdriver.webkitgtk.options import Options
from selenium.webdriver.webkitgtk.service import Service

from tests.browser.hand import AT_REST_MS
from tests.browser.ward import Ward, running_ward
from tests.reference import need_reference

pytestmark = pytest.mark.filterwarnings(
    "ignore:setting remote_server_addr:DeprecationWarning"  # the driver says so of itself
)

SECONDS = 30
TABLET_PX = (820, 1100)
COPIED = "caches.match(location.origin + location.pathname).then(Boolean)"
"""Whether the page can be opened without a connection."""

_BROWSERS = "/usr/lib/*/webkit2gtk-4.*/MiniBrowser"  # where the distribution keeps it, off the path


class Hands:
    """Two hands on a tablet."""

    def __init__(self, driver: WebKitGTK, origin: str) -> None:
        self._driver, self._origin = driver, origin

    def until(self, true: Callable[[], bool]) -> None:
        """Wait until something is true; fail when it does not become so."""
        WebDriverWait(self._driver, SECONDS).until(lambda _: true())

    def go(self, path: str) -> None:
        """Open a page."""
        self._driver.get(self._origin + path)

    def again(self) -> None:
        """Load the page again."""
        self._driver.refresh()

    def ready(self) -> None:
        """Wait until the page can be used."""
        self.until(lambda: self.holds("html[data-ready]"))

    def examine(self, visit: int) -> None:
        """Open an examination and wait until it can be used."""
        self.go(f"/visits/{visit}/examine/")
        self.ready()

    def at_hand(self) -> None:
        """Touch the button that is always at hand; a second touch at once would be taken for a slip."""
        pause = f"setTimeout(arguments[0], {AT_REST_MS})"
        self._driver.execute_async_script(pause)
        self.touch("#looked")

    def touch(self, selector: str) -> None:
        """Touch the first thing that is visible there, clear of the bars above and below."""
        found = self._driver.find_elements(By.CSS_SELECTOR, selector)
        wanted = next(each for each in found if each.is_displayed())
        self._driver.execute_script("arguments[0].scrollIntoView({ block: 'center' })", wanted)
        wanted.click()

    def type(self, selector: str, words: str) -> None:
        """Type into a field."""
        self._driver.find_element(By.CSS_SELECTOR, selector).send_keys(words)

    def holds(self, selector: str) -> bool:
        """Whether the page has something of that kind."""
        return bool(self._driver.find_elements(By.CSS_SELECTOR, selector))

    def read(self, selector: str) -> str:
        """Return the words that stand there."""
        return self._driver.find_element(By.CSS_SELECTOR, selector).text

    def told(self, expression: str) -> object:
        """Return what the page says of something."""
        return self._driver.execute_script(f"return {expression}")

    def later(self, expression: str) -> object:
        """Return what the page says of something that it has to wait for."""
        script = f"const done = arguments[0]; Promise.resolve({expression}).then(done, () => done(null))"
        return self._driver.execute_async_script(script)

    def forget(self, cookie: str) -> None:
        """Let the browser forget a cookie."""
        self._driver.delete_cookie(cookie)

    @property
    def address(self) -> str:
        """The address of the page."""
        return str(self._driver.current_url)


@pytest.fixture
def screen(tmp_path: Path) -> Iterator[str]:
    """A screen that nobody sees."""
    program = shutil.which("Xvfb")
    need_reference("Xvfb", available=program is not None, how_to_install="sh tools/system_packages.sh")
    read, write = os.pipe()
    command = [str(program), "-displayfd", str(write), "-screen", "0", "1280x1200x24", "-nolisten", "tcp"]
    with (tmp_path / "screen.log").open("w") as log:
        running = subprocess.Popen(command, pass_fds=[write], stdout=log, stderr=log)
    os.close(write)
    try:
        with os.fdopen(read) as number:
            yield f":{number.readline().strip()}"
    finally:
        running.terminate()
        running.wait()


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A clinic at the end of a wire."""
    with running_ward(tmp_path / "ward") as running:
        yield running


@pytest.fixture
def hands(ward: Ward, screen: str) -> Iterator[Hands]:
    """Hands on a tablet with a sound wire."""
    program, found = shutil.which("WebKitWebDriver"), sorted(Path("/").glob(_BROWSERS.lstrip("/")))
    need_reference("WebKit", available=bool(program and found), how_to_install="sh tools/system_packages.sh")
    options = Options()
    options.binary_location = str(found[-1])
    options.add_argument("--automation")
    options.accept_insecure_certs = True  # of a provider of the tests; the pages here speak none
    # Its own walls need rights that a container may lack; the pages are ours alone.
    around = {**os.environ, "DISPLAY": screen, "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"}
    driver = WebKitGTK(options=options, service=Service(str(program), env=around))
    try:
        driver.set_window_size(*TABLET_PX)
        driver.set_script_timeout(SECONDS)
        yield Hands(driver, ward.origin)
    finally:
        driver.quit()


def test_an_examination_in_the_engine_of_tablets(ward: Ward, hands: Hands) -> None:
    """What is touched is kept, also while the wire is cut and over a page loaded again; and it is signed."""
    visit = ward.new_visit()
    hands.examine(visit)
    hands.until(lambda: bool(hands.later(COPIED)))
    hands.at_hand()  # consent
    hands.until(lambda: bool(ward.ids(visit)))
    kept = len(ward.ids(visit))
    ward.wire.cut()
    hands.at_hand()  # history
    hands.at_hand()  # standing
    hands.until(lambda: hands.read("#kept").startswith("No connection"))
    waits = hands.read("#kept")
    hands.again()
    hands.ready()
    hands.until(lambda: hands.read("#kept") == waits)
    cell = "#sign-varus_thrust .cell[data-side=right]"
    before = hands.read(cell)
    hands.touch(cell)  # on a page that the server has not sent
    hands.until(lambda: hands.read(cell) != before)
    assert kept == len(ward.ids(visit))
    ward.wire.mend()
    hands.until(lambda: hands.read("#kept") == "Saved")
    assert len(ward.ids(visit)) == len(set(ward.ids(visit))) > kept
    shown = hands.read(cell)
    hands.examine(visit)
    assert hands.read(cell) == shown
    hands.go(f"/visits/{visit}/sign/")
    hands.touch("main form button.main")
    hands.until(lambda: hands.address.endswith("/signed/1/"))
