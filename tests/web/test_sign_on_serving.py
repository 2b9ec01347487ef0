"""The sign-on of a server as it is started: options, TLS, further names, and what may stand before it."""

import re
import socket
import ssl
import struct
import sys
from collections.abc import Iterator
from contextlib import closing
from html import unescape
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from django.conf import settings

from fabella.errors import UsageError
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.web.options import Options
from fabella.web.serving import make_ready
from fabella.web.sign_on.chosen import SignOn
from tests.cli.running import Left, call
from tests.database import fresh_sqlite
from tests.web.hands import Server, data_of
from tests.web.provider import CLIENT, SECRET, Provider, running_provider

NAME = "knee.ward.test"
PHRASE = b"seven grey herons wade\n"
ISSUER = "https:" + "//sign-on.hospital.test/realm"


@pytest.fixture
def provider(tmp_path: Path) -> Iterator[Provider]:
    """A provider of one test."""
    with running_provider(tmp_path) as running:
        yield running


@pytest.fixture
def secret(tmp_path: Path) -> Path:
    """The file with the secret."""
    path = tmp_path / "secret-of-the-sign-on"
    path.write_text(f"{SECRET}\n")
    return path


class Device:
    """A browser without a screen, which knows this machine by the server's name."""

    def __init__(self, line: HTTPConnection, **headers: str) -> None:
        self._line, self._headers, self._cookies = line, headers, dict[str, str]()

    def get(self, path: str) -> tuple[int, str, str]:
        """Open a page, and return status, where it leads, and what it shows."""
        cookies = "; ".join(f"{name}={value}" for name, value in self._cookies.items())
        self._line.request("GET", path, headers={**self._headers, "Cookie": cookies})
        answer = self._line.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                cookie, _, rest = value.partition("=")
                assert "; secure" in rest.lower(), value
                self._cookies[cookie] = rest.split(";")[0]
        return answer.status, answer.getheader("Location", ""), answer.read().decode()


def enter(device: Device, provider: Provider, origin: str) -> None:
    """Go the whole way, which comes back to where the server is known."""
    _, leads, _ = device.get("/login/hospital/?next=/help/")
    assert parse_qs(urlsplit(leads).query)["redirect_uri"] == [f"{origin}/login/hospital/back/"]
    back = urlsplit(provider.show(leads, "staff-4711"))
    status, _, page = device.get(f"{back.path}?{back.query}")
    onwards = re.search(r'url=([^"]+)"', page)
    assert onwards
    assert (status, device.get(unescape(onwards[1]))[:2]) == (200, (302, "/help/"))
    assert device.get("/help/")[0] == 200


def server(provider: Provider, secret: Path, data: Path, *options: str) -> Server:
    """A server with the sign-on and an account that is linked, told by options and the environment."""
    who = ("account", "add", "ann", "--role", "clinician", "--sign-on", "staff-4711")
    assert call(*who, *data_of(data)).code == 0
    told = {
        "FABELLA_SIGN_ON": provider.issuer,
        "FABELLA_SIGN_ON_CLIENT": CLIENT,
        "FABELLA_SIGN_ON_SECRET": str(secret),
        "SSL_CERT_FILE": str(provider.certificate),
        "NO_PROXY": "*",
    }
    return Server(*data_of(data), "--name", NAME, *options, environment=told)


@pytest.mark.usefixtures("own_databases")
def test_over_our_own_tls_the_way_comes_back_to_the_name_that_was_typed(
    provider: Provider, secret: Path, tmp_path: Path
) -> None:
    """With --tls and --name the provider sends browsers back over TLS, to that name and port."""
    running = server(provider, secret, tmp_path / "data", "--host", "0.0.0.0", "--tls")  # noqa: S104
    trusting = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    trusting.check_hostname, trusting.verify_mode = False, ssl.CERT_NONE  # tests of TLS judge the certificate
    try:
        with closing(HTTPSConnection("127.0.0.1", running.port, context=trusting, timeout=60)) as line:
            host = f"{NAME}:{running.port}"
            enter(Device(line, Host=host), provider, f"https:{'//'}{host}")
    finally:
        running.kill()


@pytest.mark.usefixtures("own_databases")
def test_behind_something_that_speaks_tls_the_way_comes_back_there(
    provider: Provider, secret: Path, tmp_path: Path
) -> None:
    """What stands before it tells name and TLS; without its word for TLS nothing is begun."""
    running = server(provider, secret, tmp_path / "data")
    passed_on = {"Host": NAME, "X-Forwarded-For": "192.0.2.7"}
    try:
        with closing(HTTPConnection("127.0.0.1", running.port, timeout=60)) as line:
            encrypted = Device(line, **passed_on, **{"X-Forwarded-Proto": "https"})
            enter(encrypted, provider, f"https:{'//'}{NAME}")
            line.request("GET", "/login/hospital/", headers=passed_on)
            answer = line.getresponse()
            assert (answer.status, "over TLS only" in answer.read().decode()) == (403, True)
    finally:
        running.kill()


@pytest.mark.usefixtures("own_databases")
def test_everything_wrong_with_the_options_is_said_at_once(tmp_path: Path, secret: Path) -> None:
    """Issuer, client and secret are refused together, before anything is made; none without the issuer."""
    data = tmp_path / "clinic"
    wrong = serve(data, "--sign-on", "http:" + "//sign-on.hospital.test")
    assert (wrong.code, data.exists()) == (2, False)
    for each in ("is no issuer", "needs --sign-on-client", "needs --sign-on-secret"):
        assert each in wrong.err
    assert "needs --sign-on: the issuer" in serve(data, "--sign-on-client", CLIENT).err
    assert "needs --sign-on: the issuer" in serve(data, "--sign-on-only").err
    told = ("--sign-on", ISSUER, "--sign-on-client", CLIENT, "--sign-on-secret")
    assert "cannot be read" in serve(data, *told, str(tmp_path / "none")).err
    (tmp_path / "picture").write_bytes(b"\xff\xfe")
    assert "is no secret" in serve(data, *told, str(tmp_path / "picture")).err
    right = serve(data, *told, str(secret), "--sign-on-only", "--sign-on-minutes", "30")
    assert right.code == 0, right.err
    expected = SignOn(issuer=ISSUER, client=CLIENT, secret=SECRET, minutes=30, only=True)
    assert settings.FABELLA.sign_on == expected
    assert SECRET not in repr(settings.FABELLA)


@pytest.mark.parametrize(
    "issuer",
    [
        "",
        "https:",
        "https:" + "//",
        "https:" + "//a b",
        "https:" + "//h/?x",
        "https:" + "//h/#x",
        "https:" + "//me@h/",
        "https:" + "//[::",
        "https:" + "//h:0/",
        "ftp:" + "//h",
    ],
)
def test_what_is_no_issuer(issuer: str) -> None:
    """An issuer is an address with https, and nothing behind its path (Discovery 1.0, section 3)."""
    with pytest.raises(UsageError, match="is no issuer"):
        SignOn(issuer=issuer, client="c", secret="s").check()  # noqa: S106


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the library for tokens is missing, one sentence names the remedy."""
    monkeypatch.setattr("fabella.web.sign_on.chosen.find_spec", lambda _: None)
    with pytest.raises(UsageError, match=r"pip install 'fabella\[sign-on\]'"):
        SignOn(issuer=ISSUER, client="c", secret="s").check()  # noqa: S106


def test_a_ward_does_not_get_it_without_tls() -> None:
    """Reached from other machines it needs TLS; on this machine alone something else may speak it."""
    chosen = SignOn(issuer=ISSUER, client="c", secret="s")  # noqa: S106
    with fresh_sqlite() as folder:
        open_account("ann", password=None, roles=[Role.CLINICIAN], sign_on="staff-4711")
        with pytest.raises(UsageError, match="--sign-on needs TLS"):
            make_ready(Options(data=folder, host="0.0.0.0", sign_on=chosen))  # noqa: S104
        make_ready(Options(data=folder, names=(NAME,), sign_on=chosen))


@pytest.mark.usefixtures("own_databases")
def test_accounts_are_linked_by_the_command(tmp_path: Path) -> None:
    """An account is opened for the sign-on alone, linked, listed and unlinked; a link is one account's."""
    data = data_of(tmp_path)
    added = call("account", "add", "ann", "--role", "clinician", "--sign-on", "staff-4711", *data)
    assert added == Left(0, "ann may enter.\n", "")
    assert call("account", "list", *data).out == "ann  ann  clinician  knee  signs on as staff-4711\n"
    assert call("account", "add", "ben", "--role", "clinician", *data, stdin=PHRASE).code == 0
    taken = call("account", "link", "ben", "--sign-on", "staff-4711", *data)
    assert (taken.code, "is linked to ann" in taken.err) == (1, True)
    assert "fabella account link ann --sign-on ''" in taken.err
    left = call("account", "link", "ann", "--sign-on", "", *data)
    assert left.out == "ann is linked no more.\n"
    linked = call("account", "link", "ben", "--sign-on", "staff-4711", *data)
    assert linked.out == "ben enters by the sign-on as staff-4711.\n"
    assert call("account", "link", "ben", *data).code == 2
    for wrong in (" ", "x" * 256, "a\nb", " staff"):
        refused = call("account", "link", "ann", "--sign-on", wrong, *data)
        assert (refused.code, "up to 255 characters" in refused.err) == (1, True), wrong
    unknown = call("account", "link", "bem", "--sign-on", "x", *data)
    assert "did you mean 'ben'" in unknown.err


def serve(data: Path, *options: str) -> Left:
    """Make a server ready, or be told why it is not."""
    return call("serve", "--check", *data_of(data), *options)


def test_who_hangs_up_at_once_leaves_no_connection_of_the_provider_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a browser gives up before the provider has looked at it fails no other test later."""
    complaints: list[str] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda told: complaints.append(str(told.exc_value)))
    with running_provider(tmp_path) as running:
        for _ in range(100):
            with socket.create_connection(("127.0.0.1", running.port)) as line:
                line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        assert running.show(f"{running.issuer}/authorize?redirect_uri=/&state=1&nonce=1", "ann")
    assert complaints == []
