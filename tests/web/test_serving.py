import re
import threading
from http.client import HTTPConnection, HTTPException
from pathlib import Path

import pytest

from fabella.errors import UsageError
from fabella.protocol import load_protocol
from fabella.store import Actor, Role
from fabella.store.accounts.keeping import open_account
from fabella.store.clinic.models import Entry
from fabella.store.clinic.verifying import verify
from fabella.web.options import Options
from fabella.web.serving import make_ready
from fabella.web.templating import STATIC, static_prefix
from tests.database import fresh_sqlite
from tests.web.hands import Browser, Server, data_of, operation, running, wait_until

CHECKER = Actor(name="check", shown="", roles=frozenset({Role.ADMINISTRATOR}), service="", device="")
ITEMS = [sign.id for sign in load_protocol().history() if sign.scale.measure is None]
HANDS, SAVES = 5, 40


class Hand(threading.Thread):
    """Somebody who saves as fast as the server answers, and knows what was acknowledged."""

    def __init__(self, number: int, browser: Browser, visit: str) -> None:
        super().__init__(daemon=True)
        self.visit = visit
        self.sent = [
            operation(number * 1000 + at, ITEMS[at % len(ITEMS)], at % 2 == 0) for at in range(SAVES)
        ]
        self.acknowledged: dict[str, int] = {}
        self._browser, self._lost = browser, number

    def run(self) -> None:
        """Save one operation after the other until the server is gone; every seventh answer gets lost."""
        try:
            for at, each in enumerate(self.sent):
                if at % 7 == self._lost:
                    self._browser.lose(self.visit, each)
                (result,) = self._browser.save(self.visit, each)["results"]
                self.acknowledged[result["id"]] = result["version"]
        except (OSError, HTTPException):
            return
        finally:
            self._browser.close()


def test_nothing_acknowledged_is_lost_when_the_server_is_killed(place: tuple[str, ...]) -> None:
    """Killed in the middle of 200 saves and started again, every acknowledged one is there exactly once.

    Meanwhile connections are cut and operations sent again. Afterwards every hand sends again whatever it
    has, as a page does that got no answer: all 200 are there once.
    """
    server = Server(*place)
    browsers = [Browser(server.port) for _ in range(HANDS)]
    shared = browsers[0].new_visit(0)
    visits = [shared, shared, *(browsers[at].new_visit(at) for at in range(2, HANDS))]
    hands = [
        Hand(at, browser, visit) for at, (browser, visit) in enumerate(zip(browsers, visits, strict=True))
    ]
    for hand in hands:
        hand.start()
    wait_until(lambda: sum(len(hand.acknowledged) for hand in hands) >= 90)
    server.kill()
    for hand in hands:
        hand.join(timeout=40)
    told = {key: version for hand in hands for key, version in hand.acknowledged.items()}
    assert 90 <= len(told) < HANDS * SAVES

    with running(*place) as again:
        kept = dict(Entry.objects.filter(operation__in=told).values_list("operation", "version"))
        assert kept == told
        for hand in hands:
            browser = Browser(again.port)
            for result in browser.save(hand.visit, *hand.sent)["results"]:
                assert result["outcome"] in {"saved", "conflict"}
                assert result["version"] == told.get(result["id"], result["version"])
            browser.close()

    everything = {each["id"] for hand in hands for each in hand.sent}
    rows = Entry.objects.filter(operation__startswith="saved-by-hand").values_list("operation", flat=True)
    assert sorted(rows) == sorted(everything)
    assert verify(CHECKER).faults == ()


def test_the_address_is_printed_and_the_page_is_there(tmp_path: Path) -> None:
    """The server prints where it is; the page there and the styles it names can be had."""
    with running(*data_of(tmp_path), warms=True) as server:
        assert server.said.startswith("Fabella is at http://127.0.0.1:")
        browser = Browser(server.port)
        status, _, page = browser.ask("GET", "/")
        assert status == 200
        for address in re.findall(r'(?:href|src)="(/static/[^"]+)"', page.decode()):
            status, headers, body = browser.ask("GET", address)
            assert (status, body) == (200, (STATIC / address.rsplit("/", 1)[1]).read_bytes())
            assert headers["Cache-Control"].startswith("max-age=31536000")
        assert browser.ask("GET", "/static/0123456789ab/base.css")[0] == 404
        assert browser.ask("GET", f"/{static_prefix()}../options.py")[0] == 404
        browser.close()


def test_told_to_end_it_ends_by_itself(tmp_path: Path) -> None:
    """While a browser still holds its connection the server ends without a complaint, and is gone."""
    server = Server(*data_of(tmp_path))
    browser = Browser(server.port)
    browser.new_visit(0)
    assert server.stop() == 0
    browser.close()
    with pytest.raises(ConnectionRefusedError):
        Browser(server.port)


@pytest.mark.parametrize("options", [{"host": "0.0.0.0"}, {"host": "192.0.2.7"}, {"names": ("ward",)}])  # noqa: S104
def test_reached_from_elsewhere_it_does_not_start_without_an_account(options: dict[str, str]) -> None:
    """Bound to another address, or known by another name, the server waits for an account to be opened."""
    with fresh_sqlite() as folder:
        made = Options(data=folder, **options)  # type: ignore[arg-type]
        with pytest.raises(UsageError, match="fabella account add"):
            make_ready(made)
        open_account("ann", password="seven grey herons " + "wade", roles=[Role.CLINICIAN])
        make_ready(made)


@pytest.mark.parametrize(
    ("host", "expected"),
    [("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("::", False), ("192.0.2.7", False), ("ward", False)],  # noqa: E501, S104
)  # fmt: skip
def test_what_counts_as_this_machine(host: str, expected: object) -> None:
    """Loopback addresses and their name are this machine; wildcards and every other name are not."""
    assert Options(data=Path(), host=host).is_loopback is expected


def test_the_log_of_a_server_is_a_line_each_with_its_time(tmp_path: Path) -> None:
    """What is refused is told once, dated, and without the inner course of events."""
    server = Server(*data_of(tmp_path))
    asked = (
        ("GET", "/", {"Host": "elsewhere.test"}, 400),
        ("POST", "/login/", {"Host": "localhost"}, 403),
        ("GET", "/login/", {"Host": "localhost"}, 200),
    )
    for method, path, headers, status in asked:
        line = HTTPConnection("127.0.0.1", server.port, timeout=60)
        line.request(method, path, headers=headers)
        assert line.getresponse().status == status
        line.close()
    server.stop()
    lines = server.log.splitlines()
    assert [re.sub(r"^[-0-9]{10}T[:0-9]{8}[+-][0-9]{4} ", "", each) for each in lines] == [
        "WARNING fabella.web.errors: refused /: DisallowedHost",
        "WARNING fabella.web.errors: refused POST /login/: CSRF cookie not set.",
    ]
