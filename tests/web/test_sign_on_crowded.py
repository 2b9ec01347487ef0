"""The sign-on while somebody asks without a pause: no other attempt is lost, and the provider has peace."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from django.test import Client

from fabella.web.attempts import CODES_OF_A_SIGN_ON, sign_on_attempts
from fabella.web.sign_on.describing import FRESH, described
from fabella.web.sign_on.provider import challenge
from fabella.web.sign_on.under_way import LONGEST_ADDRESS, UnderWay, under_way
from tests.cli.running import call
from tests.database import fresh_sqlite
from tests.web.hands import Server, data_of
from tests.web.provider import CLIENT, SECRET, Provider, running_provider
from tests.web.test_sign_on import (  # noqa: F401  fixtures
    BEGIN,
    SILENT,
    STALE,
    _at,
    begin,
    come_back,
    enter,
    is_inside,
    now_s,
    provider,
    shared,
    ward,
    words,
)

DESCRIPTION = "/.well-known/openid-configuration"


def stranger(address: str = "127.0.0.1") -> Client:
    """A browser that nobody has seen, at an address."""
    return Client(SERVER_NAME="localhost", REMOTE_ADDR=address)


def _now() -> datetime:
    return datetime.now(tz=UTC)  # noqa: TID251


def asked_for(provider: Provider, path: str) -> int:  # noqa: F811
    """How often the provider was asked for a path."""
    return [each for each, _ in provider.asked].count(path)


def test_beginnings_of_others_evict_no_attempt(ward: Client, provider: Provider) -> None:  # noqa: F811
    """Ten thousand attempts that others leave lie do not take the place of one that is under way."""
    back = provider.show(begin(ward, "/help/"), "staff-4711")
    for number in range(10_001):
        under_way.begin(device=f"device-{number}", asked="", now=_now())
    answer = come_back(ward, back)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/help/")


@pytest.mark.usefixtures("ward")
def test_beginning_asks_the_provider_now_and_then(
    provider: Provider,  # noqa: F811
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whoever begins a hundred times causes one question; after ten minutes one more."""
    for _ in range(100):
        begin(stranger())
    assert asked_for(provider, DESCRIPTION) == 1
    _at(monkeypatch, _now() + FRESH + timedelta(seconds=1))
    for _ in range(10):
        begin(stranger())
    assert asked_for(provider, DESCRIPTION) == 2
    assert timedelta(minutes=10) == FRESH


def test_a_description_that_failed_is_not_remembered(ward: Client, provider: Provider) -> None:  # noqa: F811
    """As soon as the provider answers again, so does the way in."""
    provider.answers[DESCRIPTION] = (503, {})
    assert SILENT in words(ward.get(BEGIN))
    provider.answers.clear()
    assert enter(ward, provider).status_code == 302


def test_made_up_codes_are_soon_refused_here(ward: Client, provider: Provider) -> None:  # noqa: F811
    """From one address thirty codes that are none get through in a quarter of an hour; others go on."""
    for _ in range(CODES_OF_A_SIGN_ON + 20):
        other = stranger("192.0.2.7")
        state = parse_qs(urlsplit(begin(other)).query)["state"][0]
        answer = other.get(f"{BEGIN}enter/?{urlencode({'state': state, 'code': 'made-up'})}")
    assert (answer.status_code, "too many attempts" in words(answer)) == (429, True)
    assert asked_for(provider, "/token") == CODES_OF_A_SIGN_ON == 30
    assert enter(ward, provider).status_code == 302, "from another address"
    assert enter(stranger("192.0.2.8"), provider).status_code == 302


def test_a_provider_that_is_down_shuts_nobody_out(ward: Client, provider: Provider) -> None:  # noqa: F811
    """What the provider fails to answer counts against nobody."""
    provider.answers["/token"] = (503, {})
    for _ in range(CODES_OF_A_SIGN_ON + 1):
        assert SILENT in words(enter(ward, provider))
    provider.answers.clear()
    assert enter(ward, provider).status_code == 302


def test_an_attempt_lies_with_its_browser_and_tells_nothing(ward: Client, provider: Provider) -> None:  # noqa: F811
    """What goes round by the provider shows neither the page that was asked for nor the secrets."""
    address = begin(ward, "/patients/?q=ada")
    asked = {name: each[0] for name, each in parse_qs(urlsplit(address).query).items()}
    assert "ada" not in address
    begun = under_way.read(asked["state"], ward.cookies["fabella_device"].value.split(":")[0], _now())
    assert begun is not None
    assert challenge(begun.verifier) == asked["code_challenge"]
    assert begun.nonce == asked["nonce"]
    assert begun.verifier not in address
    assert len(begin(ward, "/" + "x" * 10_000)) < 2_000, "providers take no endless addresses"
    long = "/patients/?q=" + "x" * (LONGEST_ADDRESS - 13)
    assert enter(ward, provider, asked=long).headers["Location"] == long
    assert enter(ward, provider, asked=long + "x").headers["Location"] == "/"


@pytest.mark.parametrize("change", ["altered", "cut", "not ASCII", "none"])
def test_a_state_that_was_tampered_with_is_no_attempt(
    ward: Client,  # noqa: F811
    provider: Provider,  # noqa: F811
    change: str,
) -> None:
    """RFC 9700, section 4.7.1: what a state carries is bound to the browser and holds to the letter."""
    back = urlsplit(provider.show(begin(ward), "staff-4711"))
    told = {name: each[0] for name, each in parse_qs(back.query).items()}
    state = told["state"]
    told["state"] = {
        "altered": state[:40] + ("A" if state[40] != "A" else "B") + state[41:],
        "cut": state[:-8],
        "not ASCII": "é" * len(state),
        "none": "",
    }[change]
    answer = ward.get(f"{BEGIN}enter/?{urlencode(told)}")
    assert (answer.status_code, STALE in words(answer)) == (400, True)
    assert not is_inside(ward)


def test_the_same_answer_spelled_otherwise_is_spent_too(ward: Client, provider: Provider) -> None:  # noqa: F811
    """An attempt that let somebody in lets nobody in again, though its state be written in other letters."""
    provider.takes_codes_twice = True
    back = urlsplit(provider.show(begin(ward), "staff-4711"))
    told = {name: each[0] for name, each in parse_qs(back.query).items()}
    assert ward.get(f"{BEGIN}enter/?{urlencode(told)}").status_code == 302
    ward.post("/logout/")
    for other in (
        told["state"],
        told["state"] + "\n",
        told["state"] + "é",
        told["state"].replace("_", "_\n", 1) + "%",
    ):
        answer = ward.get(f"{BEGIN}enter/?{urlencode(told | {'state': other})}")
        assert STALE in words(answer)
    assert not is_inside(ward)


def test_what_is_spent_is_forgotten_when_it_is_too_old_anyway() -> None:
    """Only those who were let in are remembered, for a quarter of an hour."""
    attempts, now = UnderWay(), _now()
    for number in range(3):
        state, _ = attempts.begin(device="one", asked="", now=now + timedelta(minutes=10 * number))
        begun = attempts.read(state, "one", now + timedelta(minutes=10 * number))
        assert begun is not None
        assert attempts.spend(begun, now + timedelta(minutes=10 * number))
        assert not attempts.spend(begun, now + timedelta(minutes=10 * number))
    assert len(attempts._spent) == 2


def test_after_a_new_start_one_begins_again(ward: Client, provider: Provider) -> None:  # noqa: F811
    """What was begun before a new start is no attempt any more: nobody knows whether it was spent."""
    back = provider.show(begin(ward), "staff-4711")
    under_way.forget()
    assert STALE in words(come_back(ward, back))


@contextmanager
def attackers(port: int, number: int) -> Iterator[list[int]]:
    """Let so many ask without a pause, half for the way in, half with codes that they made up."""
    over, counted = threading.Event(), [0] * number

    def attack(mine: int) -> None:
        while not over.is_set():
            with suppress(OSError), closing(HTTPConnection("127.0.0.1", port, timeout=20)) as line:
                line.request("GET", BEGIN)
                answer = line.getresponse()
                answer.read()
                leads, cookie = answer.getheader("Location", ""), answer.getheader("Set-Cookie", "")
                if mine % 2 and leads:
                    state = parse_qs(urlsplit(leads).query)["state"][0]
                    line.request("GET", f"{BEGIN}enter/?state={state}&code=x", headers={"Cookie": cookie})
                    line.getresponse().read()
                counted[mine] += 1

    threads = [threading.Thread(target=attack, args=(each,), daemon=True) for each in range(number)]
    for each in threads:
        each.start()
    try:
        yield counted
    finally:
        over.set()
        for each in threads:
            each.join()


def test_under_attack_others_come_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twelve clients that ask without a pause, of a slow provider, keep nobody at another address outside."""
    with fresh_sqlite(), running_provider(tmp_path) as slow:
        answer = slow.answer

        def slowly(path: str, given: dict[str, str], **more: Any) -> Any:
            time.sleep(0.3)
            return answer(path, given, **more)

        monkeypatch.setattr(slow, "answer", slowly)
        secret, data = tmp_path / "secret", tmp_path / "data"
        secret.write_text(SECRET)
        who = ("account", "add", "ann", "--role", "clinician", "--sign-on", "staff-4711")
        assert call(*who, *data_of(data)).code == 0
        told = ("--sign-on", slow.issuer, "--sign-on-client", CLIENT, "--sign-on-secret", str(secret))
        trusting = {"SSL_CERT_FILE": str(slow.certificate), "NO_PROXY": "*"}
        server = Server(*data_of(data), *told, environment=trusting)
        try:
            _whole_way(server.port, slow)
            with attackers(server.port, 12) as counted:
                time.sleep(1)
                for _ in range(3):
                    _whole_way(server.port, slow)
            assert sum(counted) > 30
        finally:
            server.kill()
    with fresh_sqlite():
        pass


def _whole_way(port: int, provider: Provider) -> None:  # noqa: F811
    """Go the whole way in a new browser, at an address of its own."""
    headers = {"X-Forwarded-For": "192.0.2.9"}
    with closing(HTTPConnection("127.0.0.1", port, timeout=30)) as line:
        line.request("GET", BEGIN, headers=headers)
        answer = line.getresponse()
        page = answer.read().decode()
        assert answer.status == 302, page
        cookie = re.match("[^;]+", answer.getheader("Set-Cookie", ""))
        assert cookie
        back = urlsplit(provider.show(answer.getheader("Location", ""), "staff-4711"))
        line.request("GET", f"{BEGIN}enter/?{back.query}", headers=headers | {"Cookie": cookie[0]})
        answer = line.getresponse()
        page = answer.read().decode()
        assert answer.status == 302, page


@pytest.fixture(autouse=True)
def nobody_counted() -> Iterator[None]:
    """Nothing is counted against anybody, before and after."""
    sign_on_attempts.forget()
    described.forget()
    yield
    sign_on_attempts.forget()
