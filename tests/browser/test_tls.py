"""A tablet on the ward's network: a real browser that trusts our authority, and one that does not."""

import os
import shutil
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page

from tests.browser.clinics import PASSWORD, open_account
from tests.reference import need_reference
from tests.web.hands import Server, data_of, running

NAME = "knee.ward.test"
SECURE = "() => [isSecureContext, 'serviceWorker' in navigator, typeof crypto.randomUUID]"
READY = "async () => (await navigator.serviceWorker.ready).active.scriptURL"


@dataclass
class Ward:
    """A server under a name that is not this machine's, and the folder in which a browser trusts it."""

    server: Server
    home: Path

    @property
    def origin(self) -> str:
        """Where it is, over TLS."""
        return f"https:{'//'}{NAME}:{self.server.port}"


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A server that speaks TLS, and a browser's home in which its authority was installed by hand."""
    certutil = shutil.which("certutil")
    need_reference("certutil", available=certutil is not None, how_to_install="sh tools/system_packages.sh")
    data, home = tmp_path_factory.mktemp("data"), tmp_path_factory.mktemp("home")
    open_account(data, "ann", "clinician")
    with running(*data_of(data), "--tls", "--name", NAME) as server:
        with closing(HTTPConnection("127.0.0.1", server.port, timeout=30)) as plain:
            plain.request("GET", "/trust/fabella-authority.crt")
            given = plain.getresponse().read()
        (home / "authority.pem").write_text(ssl.DER_cert_to_PEM_cert(given))
        _install(str(certutil), home)
        yield Ward(server, home)


def _install(certutil: str, home: Path) -> None:
    """Add the authority to the list that a browser keeps for its user."""
    place = home / ".pki" / "nssdb"
    place.mkdir(parents=True)
    for command in (
        ("-N", "--empty-password"),
        ("-A", "-t", "C,,", "-n", "ward", "-i", str(home / "authority.pem")),
    ):
        subprocess.run(
            [certutil, "-d", f"sql:{place}", *command], check=True, capture_output=True, timeout=60
        )


@pytest.fixture
def tablet(ward: Ward, browser: Browser) -> Iterator[BrowserContext]:
    """A browser of its own whose user has installed the authority."""
    yield from _opened(browser, ward.home)


@pytest.fixture
def stranger(browser: Browser, tmp_path: Path) -> Iterator[BrowserContext]:
    """A browser of its own that knows nothing of the authority."""
    yield from _opened(browser, tmp_path)


def _opened(browser: Browser, home: Path) -> Iterator[BrowserContext]:
    made = browser.browser_type.launch(
        executable_path=shutil.which("chromium"),
        args=["--host-resolver-rules=MAP knee.ward.test 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"],
        env={**os.environ, "HOME": str(home)},
    )
    with closing(made), closing(made.new_context()) as context:
        yield context


def logged_in(ward: Ward, tablet: BrowserContext) -> Page:
    """The page that a clinician sees right after the log-in."""
    page = tablet.new_page()
    page.goto(f"{ward.origin}/login/")
    page.fill("[name=name]", "ann")
    page.fill("[name=password]", PASSWORD)
    with page.expect_navigation():
        page.click("main button")
    return page


def test_a_tablet_that_trusts_the_authority_may_work_offline(ward: Ward, tablet: BrowserContext) -> None:
    """Forms arrive, the context is secure, and the worker that keeps pages offline takes up its work."""
    page = logged_in(ward, tablet)
    assert page.url == f"{ward.origin}/"
    assert page.evaluate(SECURE) == [True, True, "function"]
    assert page.evaluate(READY) == f"{ward.origin}/worker.js"
    names = {each["name"] for each in tablet.cookies()}
    assert names == {f"__Host-fabella_{each}" for each in ("session", "csrf", "device")}


def test_what_a_tablet_touches_over_tls_is_taken_with_its_token(ward: Ward, tablet: BrowserContext) -> None:
    """Scripts find the token against forged requests under the name that it has over TLS."""
    page = logged_in(ward, tablet)
    found = page.evaluate(
        """async () => {
          const script = [...document.querySelectorAll("script[src]")].map((each) => each.src)[0];
          const { csrfToken } = await import(new URL("outbox_sending.js", script).href);
          const asked = (token) => fetch("/api/dictation", {
            method: "POST", headers: { "Content-Type": "application/json", "X-CSRFToken": token },
            body: JSON.stringify({ text: "Lachman positive right" }),
          });
          return [(await asked(csrfToken())).status, (await asked("")).status];
        }"""
    )
    assert found == [200, 403]


def test_a_tablet_that_does_not_know_it_is_stopped_by_its_own_browser(
    ward: Ward, stranger: BrowserContext
) -> None:
    """Without the authority the browser shows nothing of the server."""
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        stranger.new_page().goto(f"{ward.origin}/login/")


def test_typed_without_https_the_name_leads_to_what_is_to_be_done(
    ward: Ward, stranger: BrowserContext
) -> None:
    """The name alone, as it is typed, shows how to trust the server and gives the file; no cookie is set."""
    page = stranger.new_page()
    page.goto(ward.origin.replace("https", "http", 1))
    assert page.title().startswith("Trusting this server")
    assert page.locator(f"a[href='{ward.origin}/']").count() > 0
    assert page.evaluate(SECURE)[:2] == [False, False]
    assert stranger.cookies() == []
    with page.expect_download() as download:
        page.click("a[href$='.crt']")
    content = Path(download.value.path()).read_bytes()
    assert ssl.DER_cert_to_PEM_cert(content) == (ward.home / "authority.pem").read_text()
