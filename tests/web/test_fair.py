"""Clients that are slow on purpose: they keep no thread for ever, and nobody else outside."""

from __future__ import annotations

import socket
import ssl
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path
from typing import Any

import pytest
from gunicorn.http.errors import NoMoreData

from fabella.web import fair
from fabella.web.fair import Patient, Shares
from fabella.web.serving import THREADS
from tests.cli.running import call
from tests.database import fresh_sqlite
from tests.web.hands import Server, data_of

CONNECTIONS = 1000
"""The server's own limit, where nobody sets another (gunicorn's setting `worker_connections`)."""

SLOW, OTHER = "127.0.0.2", "127.0.0.3"
"""Two clients of this machine that are not at its own address."""

BEGINNINGS = {
    "of a head": b"GET /login/ HTTP/1.1\r\nHost: localhost\r\nX-More: ",
    "of a body": b"POST /worker.js HTTP/1.1\r\nHost: localhost\r\nCookie: fabella_csrf=%s\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 99\r\n\r\na=" % (b"x" * 32),
    "of nothing": b"",
}


def trusting() -> ssl.SSLContext:
    """What takes any certificate: tests of TLS judge those."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    return context


@pytest.fixture(params=["plain", "TLS"], scope="module")
def server(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A server, and whether it speaks TLS."""
    data, is_tls = tmp_path_factory.mktemp("fair"), request.param == "TLS"
    with fresh_sqlite():
        who = ("account", "add", "ann", "--role", "clinician", *data_of(data))
        assert call(*who, stdin=b"seven grey herons wade\n").code == 0
    with fresh_sqlite():
        pass
    running = Server(*data_of(data), *(("--tls",) if is_tls else ()))
    try:
        yield running, is_tls
    finally:
        running.kill()


@contextmanager
def slow_ones(port: int, number: int, sent: bytes, *, is_tls: bool) -> Iterator[list[socket.socket]]:
    """So many connections of one client, each with the beginning of a request that does not go on."""
    with ExitStack() as held:
        made: list[socket.socket] = []
        for _ in range(number):
            line = socket.create_connection(("127.0.0.1", port), timeout=20, source_address=(SLOW, 0))
            held.callback(line.close)
            if is_tls and sent and len(made) < THREADS // 2:  # the others wait for their handshake
                line = held.enter_context(trusting().wrap_socket(line))
            line.sendall(sent)
            made.append(line)
        yield made


@pytest.mark.parametrize("sent", BEGINNINGS.values(), ids=BEGINNINGS.keys())
def test_slow_clients_keep_nobody_outside(server: tuple[Server, bool], sent: bytes) -> None:
    """With a hundred connections that do not go on, a client holds up only itself."""
    running, is_tls = server
    with slow_ones(running.port, 100, sent, is_tls=is_tls):
        time.sleep(0.5)
        for address in ("127.0.0.1", OTHER):
            began = time.monotonic()
            options: dict[str, Any] = {"timeout": 20, "source_address": (address, 0)}
            line = (
                HTTPSConnection("127.0.0.1", running.port, context=trusting(), **options)
                if is_tls
                else HTTPConnection("127.0.0.1", running.port, **options)
            )
            line.request("GET", "/login/")
            assert line.getresponse().status == 200
            line.close()
            assert time.monotonic() - began < 5


def _asked(running: Server, address: str, *, is_tls: bool) -> HTTPConnection:
    """A connection on which a page was asked for and came."""
    options: dict[str, Any] = {"timeout": 20, "source_address": (address, 0)}
    line = (
        HTTPSConnection("127.0.0.1", running.port, context=trusting(), **options)
        if is_tls
        else HTTPConnection("127.0.0.1", running.port, **options)
    )
    line.request("GET", "/trust/")
    answer = line.getresponse()
    answer.read()
    assert answer.status == 200
    return line


def test_connections_that_browsers_open_before_they_need_them_hold_up_nobody(
    server: tuple[Server, bool],
) -> None:
    """Forty tablets of a ward come from one address, each with a connection on which nothing comes yet."""
    running, is_tls = server
    with slow_ones(running.port, 40, b"", is_tls=is_tls):
        time.sleep(0.5)
        began = time.monotonic()
        _asked(running, SLOW, is_tls=is_tls).close()
        assert time.monotonic() - began < 3


def test_a_lecture_room_behind_one_address_crowds_itself_not_out(server: tuple[Server, bool]) -> None:
    """Browsers keep connections after an answer; when they are too many the oldest goes, not who comes."""
    running, is_tls = server
    kept: list[HTTPConnection] = []
    try:
        for _ in range(CONNECTIONS // 2 + 3):
            kept.append(_asked(running, OTHER, is_tls=is_tls))
        kept[-1].request("GET", "/trust/")
        assert kept[-1].getresponse().status == 200
    finally:
        for line in kept:
            line.close()


@pytest.fixture
def ends(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Patient, socket.socket]]:
    """The ends of a wire: what waits, for 0.2 s at a time and 0.5 s in all, and what sends."""
    monkeypatch.setattr(fair, "PAUSE_SECONDS", 0.2)
    monkeypatch.setattr(fair, "WHOLE_SECONDS", 0.5)
    here, there = socket.socketpair()
    waiting = Patient(here)
    waiting.begin()
    with here, there:
        yield waiting, there


def test_a_pause_ends_a_request(ends: tuple[Patient, socket.socket]) -> None:
    """Who sends nothing for a while is waited for no longer."""
    waiting, there = ends
    there.sendall(b"GET")
    assert waiting.chunk() == b"GET"
    with pytest.raises(NoMoreData):
        waiting.chunk()


def test_letter_by_letter_a_request_ends_too(ends: tuple[Patient, socket.socket]) -> None:
    """Who never pauses for long is waited for no longer either, when the whole takes too long."""
    waiting, there = ends
    came = b""
    for _ in range(3):
        there.sendall(b"x")
        came += waiting.chunk()
        time.sleep(0.1)
    assert came == b"xxx", "each in time"
    time.sleep(0.3)
    there.sendall(b"x")
    with pytest.raises(NoMoreData):
        waiting.chunk()
    waiting.begin()
    assert waiting.chunk() == b"x", "the next request has its own time"


def test_no_client_has_more_than_its_share() -> None:
    """What is over the share waits for one of the same client's to end, in order; others are served."""
    shares = Shares(2)
    assert [shares.take("one", each) for each in "abcd"] == [True, True, False, False]
    assert shares.take("other", "e")
    assert [shares.give_back("one") for _ in range(4)] == ["c", "d", None, None]
    assert shares.give_back("other") is None
    assert shares.take("one", "f")


def test_the_times_are_those_of_the_documentation() -> None:
    """`docs/hospital.md` names them."""
    told = " ".join((Path(__file__).parents[2] / "docs" / "hospital.md").read_text("utf-8").split())
    assert f"pauses for {fair.PAUSE_SECONDS} s" in told
    assert f"longer than {fair.WHOLE_SECONDS} s" in told
