import re
import socket
import ssl
import stat
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.x509 import verification

from fabella.errors import InputError, UsageError
from fabella.web.options import Options, Tls
from fabella.web.templating import STATIC
from fabella.web.tls.issuing import AUTHORITY_LASTS, SERVER_LASTS, Pair, issue, make_authority
from fabella.web.tls.keeping import Cabinet, Chain, given_chain
from fabella.web.tls.names import names_of
from fabella.web.tls.offering import Offering, chain_of
from tests.cli.running import call
from tests.web.hands import Server, data_of, running

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
PHRASE = b"seven grey herons wade"
WARD = names_of(["knee.ward.test", "10.20.30.40"])


def really_now() -> datetime:
    """The time by which connections are judged."""
    return datetime.now(tz=UTC)  # noqa: TID251


def pem(pair: Pair) -> bytes:
    """A pair as a file holds it."""
    key = pair.key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return key + pair.certificate.public_bytes(serialization.Encoding.PEM)


def judged_by_openssl(folder: Path, authority: Pair, server: Pair, *checks: str) -> str:
    """What the reference program says of a server's certificate, knowing only the authority's."""
    for name, pair in (("authority", authority), ("server", server)):
        (folder / name).write_bytes(pair.certificate.public_bytes(serialization.Encoding.PEM))
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-attime",
               str(int(NOW.timestamp())), "-CAfile", "authority", *checks, "server"]  # fmt: skip
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


# ------------------------------------------------------------------ what is issued


def test_a_strict_verifier_accepts_the_certificate_for_its_names_alone(tmp_path: Path) -> None:
    """Held to RFC 5280 strictly, the certificate is good for its names and addresses and for no other."""
    authority = make_authority(WARD, machine="ward", now=NOW)
    server = issue(authority, WARD, now=NOW)
    for check in (("-verify_hostname", "knee.ward.test"), ("-verify_ip", "10.20.30.40")):
        assert judged_by_openssl(tmp_path, authority, server, *check) == "server: OK\n"
    for check in (("-verify_hostname", "other.ward.test"), ("-verify_ip", "10.20.30.41")):
        assert "mismatch" in judged_by_openssl(tmp_path, authority, server, *check)
    store = verification.Store([authority.certificate])
    verifier = verification.PolicyBuilder().store(store).time(NOW)
    verifier.build_server_verifier(x509.DNSName("knee.ward.test")).verify(server.certificate, [])


def test_a_stolen_authority_vouches_for_nobody_else(tmp_path: Path) -> None:
    """With the authority's key one can neither pass for another server nor make a further authority."""
    authority = make_authority(WARD, machine="ward", now=NOW)
    for others in (names_of(["bank.test"]), names_of(["192.0.2.7"])):
        said = judged_by_openssl(tmp_path, authority, issue(authority, others, now=NOW))
        assert "permitted subtree violation" in said
    constraints = authority.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert (constraints.critical, constraints.value.path_length) == (True, 0)


def test_certificates_last_as_long_as_browsers_accept() -> None:
    """A server's certificate is good for at most 397 days, the authority ten years; neither outlives it."""
    authority = make_authority(WARD, machine="ward", now=NOW)
    server = issue(authority, WARD, now=NOW).certificate
    assert server.not_valid_after_utc - server.not_valid_before_utc == SERVER_LASTS <= timedelta(days=397)
    late = authority.certificate.not_valid_after_utc - timedelta(days=5)
    assert issue(authority, WARD, now=late).certificate.not_valid_after_utc == late + timedelta(days=5)
    assert timedelta(days=3640) < AUTHORITY_LASTS < timedelta(days=3660)


def test_names_are_sorted_out() -> None:
    """Addresses, names and brackets are told apart; every address is none; what can be neither is refused."""
    made = names_of(["Knee.Ward.test", "[::1]", "0.0.0.0", "10.0.0.7", "localhost", "localhost"])  # noqa: S104
    assert str(made) == "knee.ward.test, localhost, 10.0.0.7, ::1"
    with pytest.raises(InputError) as refused:
        names_of(["knee ward", "ok", "a_b"])
    assert [each.value for each in refused.value.problems] == ["knee ward", "a_b"]


def test_a_certificate_says_for_whom_it_does_not_vouch() -> None:
    """A star stands for one label and no more; addresses are held one by one."""
    given = names_of(["knee.ward.test", "*.clinic.test", "10.0.0.7"])
    asked = names_of(
        ["knee.ward.test", "a.clinic.test", "b.a.clinic.test", "clinic.test", "10.0.0.7", "10.0.0.8"]
    )
    assert given.lacking(asked) == ("b.a.clinic.test", "clinic.test", "10.0.0.8")


# ------------------------------------------------------------------ what is kept


def serial(chain: Chain) -> int:
    """The number of the certificate shown."""
    return x509.load_pem_x509_certificate(chain.certificate.read_bytes()).serial_number


def test_a_certificate_is_renewed_before_it_ends_and_the_authority_stays(tmp_path: Path) -> None:
    """A month before the end there is a new certificate under the same authority, and none before."""
    cabinet = Cabinet(tmp_path)
    first = cabinet.chain(WARD, machine="ward", now=NOW)
    number = serial(first)
    assert serial(cabinet.chain(WARD, machine="ward", now=NOW + timedelta(days=300))) == number
    renewed = cabinet.chain(WARD, machine="ward", now=NOW + timedelta(days=370))
    assert serial(renewed) != number
    assert renewed.ends > NOW + timedelta(days=700)
    assert first.authority is not None
    assert renewed.authority is not None
    assert renewed.authority.fingerprint == first.authority.fingerprint


def test_other_names_get_another_certificate_if_the_authority_may(tmp_path: Path) -> None:
    """A private address or a name below an old one needs nothing of tablets; another name is refused."""
    cabinet = Cabinet(tmp_path)
    number = serial(cabinet.chain(WARD, machine="ward", now=NOW))
    more = names_of(["knee.ward.test", "second.knee.ward.test", "192.168.3.4"])
    assert serial(cabinet.chain(more, machine="ward", now=NOW)) != number
    with pytest.raises(UsageError, match=r"not made for hip\.test, 192\.0\.2\.7.*certificate --new"):
        cabinet.chain(names_of(["hip.test", "192.0.2.7"]), machine="ward", now=NOW)
    with pytest.raises(UsageError, match=r"ended on 2036.*certificate --new"):
        cabinet.chain(WARD, machine="ward", now=NOW + timedelta(days=3700))


def test_keys_are_for_their_owner_only_and_a_damaged_one_is_named(tmp_path: Path) -> None:
    """Nobody else reads a key; one that is damaged is refused by name and never made again unasked."""
    Cabinet(tmp_path).chain(WARD, machine="ward", now=NOW)
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in (tmp_path / "tls").iterdir()}
    assert modes == {"authority.pem": 0o600, "server.pem": 0o600}
    assert stat.S_IMODE((tmp_path / "tls").stat().st_mode) == 0o700
    (tmp_path / "tls" / "authority.pem").write_text("nothing")
    with pytest.raises(Exception, match=r"authority\.pem: holds no certificate"):
        Cabinet(tmp_path).chain(WARD, machine="ward", now=NOW)


def shaken_hands(offering: Offering, authority: Pair, *, at: str = "knee.ward.test") -> x509.Certificate:
    """Shake hands in memory, as a client that knows only this authority; return what was shown."""
    ours, theirs = ssl.MemoryBIO(), ssl.MemoryBIO()
    text = authority.certificate.public_bytes(serialization.Encoding.PEM).decode()
    trusting = ssl.create_default_context(cadata=text)
    client = trusting.wrap_bio(ours, theirs, server_hostname=at)
    server = offering.context().wrap_bio(theirs, ours, server_side=True)
    for _ in range(3):
        for side in (client, server):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
    shown = client.getpeercert(binary_form=True)
    assert shown is not None
    return x509.load_der_x509_certificate(shown)


def test_a_server_that_runs_on_shows_the_renewed_certificate(tmp_path: Path) -> None:
    """A certificate in the place of an old one is shown within the hour, without a new start."""
    clock = [really_now()]
    authority = make_authority(WARD, machine="ward", now=clock[0])
    old, new = (issue(authority, WARD, now=clock[0]) for _ in range(2))
    place = tmp_path / "server.pem"
    place.write_bytes(pem(old))
    offering = Offering(lambda now: given_chain(place, None, now=now), lambda: clock[0])
    place.write_bytes(pem(new))
    assert shaken_hands(offering, authority) == old.certificate
    clock[0] += timedelta(minutes=61)
    assert shaken_hands(offering, authority) == new.certificate


def test_a_certificate_that_turns_bad_under_a_running_server_does_not_stop_it(tmp_path: Path) -> None:
    """While a new file is of no use, half written or with another key, the last good one is shown."""
    clock = [really_now()]
    authority = make_authority(WARD, machine="ward", now=clock[0])
    good, better = (issue(authority, WARD, now=clock[0]) for _ in range(2))
    place = tmp_path / "server.pem"
    place.write_bytes(pem(good))
    offering = Offering(lambda now: given_chain(place, None, now=now), lambda: clock[0])
    for bad in (b"", pem(better)[:200], pem(Pair(better.certificate, good.key))):
        place.write_bytes(bad)
        clock[0] += timedelta(minutes=61)
        assert shaken_hands(offering, authority) == good.certificate
    place.write_bytes(pem(better))
    clock[0] += timedelta(minutes=61)
    assert shaken_hands(offering, authority) == better.certificate


def test_the_command_makes_an_authority_shows_it_and_leaves_the_server_alone(tmp_path: Path) -> None:
    """The same authority is shown each time, written out on request, and made anew only when told to."""
    data, out = data_of(tmp_path / "clinic"), tmp_path / "authority.crt"
    first = call("certificate", *data, "--name", "knee.ward.test", "--out", out, "--json").json
    given = x509.load_der_x509_certificate(out.read_bytes())
    assert first == {
        "authority": {
            "sha256": given.fingerprint(hashes.SHA256()).hex(":").upper(),
            "ends": given.not_valid_after_utc.isoformat(),
        },
        "server": None,
    }
    Cabinet(tmp_path / "clinic").chain(WARD, machine="ward", now=really_now())
    again = call("certificate", *data)
    assert first["authority"]["sha256"] in again.out
    assert "10.20.30.40" in again.out
    other = call("certificate", *data, "--name", "hip.test")
    assert (other.code, "fabella certificate --new" in other.err) == (2, True)
    anew = call("certificate", *data, "--name", "hip.test", "--new", "--json").json
    assert anew["authority"]["sha256"] != first["authority"]["sha256"]
    assert (tmp_path / "clinic" / "tls" / "authority.pem.old").exists()


# ------------------------------------------------------------------ a running server


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Path]]:
    """A server that speaks TLS under its own authority, and the authority's file as it gave it out itself."""
    folder = tmp_path_factory.mktemp("ward")
    account = call("account", "add", "ann", "--role", "clinician", *data_of(folder), stdin=PHRASE)
    assert account.code == 0
    with running(*data_of(folder), "--tls", "--name", "knee.ward.test") as server:
        with insecure(server.port) as plain:
            plain.request("GET", "/trust/fabella-authority.crt")
            given = plain.getresponse()
            assert (given.status, given.headers["Content-Type"]) == (200, "application/x-x509-ca-cert")
            file = folder / "authority.pem"
            file.write_text(ssl.DER_cert_to_PEM_cert(given.read()))
        yield server, file


@contextmanager
def secure(port: int, authority: Path) -> Iterator[HTTPSConnection]:
    """A connection over TLS that knows this authority and no other."""
    with closing(HTTPSConnection("127.0.0.1", port, timeout=30, context=trusting(authority))) as made:
        yield made


@contextmanager
def insecure(port: int) -> Iterator[HTTPConnection]:
    """A connection without TLS."""
    with closing(HTTPConnection("127.0.0.1", port, timeout=30)) as made:
        yield made


def trusting(authority: Path) -> ssl.SSLContext:
    """A client that knows this authority and no other."""
    return ssl.create_default_context(cafile=authority)


def test_a_client_that_knows_the_authority_reaches_the_pages(ward: tuple[Server, Path]) -> None:
    """Over TLS pages and files come, cookies are for TLS only, and no promise binds other services."""
    server, authority = ward
    with secure(server.port, authority) as client:
        client.request("GET", "/login/")
        answer = client.getresponse()
        assert answer.status == 200
        cookies = answer.headers.get_all("Set-Cookie") or []
        assert len(cookies) == 2
        assert all("; Secure" in each for each in cookies)
        assert "Strict-Transport-Security" not in answer.headers
        page = answer.read().decode()
        for address in re.findall(r'(?:href|src)="(/static/[^"]+)"', page):  # files, by the same connection
            client.request("GET", address)
            answer = client.getresponse()
            assert (answer.status, answer.read()) == (200, (STATIC / address.rsplit("/", 1)[1]).read_bytes())


def test_a_client_that_does_not_know_it_or_asks_another_name_is_protected(ward: tuple[Server, Path]) -> None:
    """Without the authority, under another name, or with an older TLS, no connection comes about."""
    server, authority = ward
    older = trusting(authority)
    older.maximum_version = ssl.TLSVersion.TLSv1_2
    for context, name in (
        (ssl.create_default_context(), "knee.ward.test"),
        (trusting(authority), "hip.ward.test"),
        (older, "knee.ward.test"),
    ):
        with (
            socket.create_connection(("127.0.0.1", server.port), timeout=30) as raw,
            pytest.raises(ssl.SSLError),
        ):
            context.wrap_socket(raw, server_hostname=name)
    with (
        socket.create_connection(("127.0.0.1", server.port), timeout=30) as raw,
        trusting(authority).wrap_socket(raw, server_hostname="knee.ward.test") as wrapped,
    ):
        assert wrapped.version() == "TLSv1.3"


@pytest.mark.parametrize("forged", [{}, {"X-Forwarded-Proto": "https", "X-Forwarded-Ssl": "on"}])
def test_without_encryption_only_the_way_to_it_is_told(
    ward: tuple[Server, Path], forged: dict[str, str]
) -> None:
    """On the same port a plain request, whatever it claims, gets the page about trust and no cookie."""
    server, _ = ward
    with insecure(server.port) as plain:
        for path, status in (("/", 200), ("/trust/", 200), ("/patients/", 403), ("/login/", 403)):
            plain.request("GET", path, headers=forged)
            answer = plain.getresponse()
            page = answer.read().decode()
            assert (answer.status, answer.headers["Set-Cookie"]) == (status, None), path
            assert "You came without encryption" in page
            assert f"https:{'//'}127.0.0.1:{server.port}/" in page
        for method, path in (
            ("POST", "/login/"),
            ("GET", "/api/visits/1"),
            ("POST", "/api/visits/1/operations"),
        ):
            plain.request(
                method, path, body="name=ann&password=x" if method == "POST" else None, headers=forged
            )
            answer = plain.getresponse()
            assert (answer.status, b"TLS only" in answer.read()) == (403, True), path


def test_the_fingerprint_is_told_on_terminal_page_and_command(ward: tuple[Server, Path]) -> None:
    """Page and command tell the SHA-256 that the reference program tells of the file."""
    server, authority = ward
    command = ["openssl", "x509", "-noout", "-fingerprint", "-sha256", "-in", str(authority)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    expected = done.stdout.strip().partition("=")[2]
    with secure(server.port, authority) as client:
        client.request("GET", "/trust/")
        assert expected in client.getresponse().read().decode().replace("<br>", "")
    told = call("certificate", "--data", authority.parent, "--name", "knee.ward.test", "--json")
    assert told.json["authority"]["sha256"] == expected


def test_whoever_says_nothing_stops_nobody_else(ward: tuple[Server, Path]) -> None:
    """Forty connections that begin a handshake and never finish it leave the server answering others."""
    server, authority = ward
    idle = [socket.create_connection(("127.0.0.1", server.port), timeout=30) for _ in range(40)]
    for each in idle:
        each.sendall(b"\x16")
    try:
        with secure(server.port, authority) as client:
            client.request("GET", "/login/")
            assert client.getresponse().status == 200
    finally:
        for each in idle:
            each.close()


def test_the_hospitals_own_certificate_is_shown(tmp_path: Path) -> None:
    """With a certificate that another authority signed, that one is shown, and none of ours is given out."""
    now = really_now()
    hospital = make_authority(WARD, machine="hospital", now=now)
    pair = issue(hospital, WARD, now=now)
    authority, certificate = tmp_path / "hospital.pem", tmp_path / "given.pem"
    authority.write_bytes(hospital.certificate.public_bytes(serialization.Encoding.PEM))
    certificate.write_bytes(pem(pair))
    data = tmp_path / "data"
    assert call("account", "add", "ann", "--role", "clinician", *data_of(data), stdin=PHRASE).code == 0
    options = (*data_of(data), "--certificate", str(certificate), "--name", "knee.ward.test")
    with running(*options) as server:
        with (
            socket.create_connection(("127.0.0.1", server.port), timeout=30) as raw,
            trusting(authority).wrap_socket(raw, server_hostname="knee.ward.test") as wrapped,
        ):
            assert wrapped.getpeercert(binary_form=True) == pair.certificate.public_bytes(
                serialization.Encoding.DER
            )
        with insecure(server.port) as plain:
            plain.request("GET", "/trust/fabella-authority.crt")
            assert plain.getresponse().status == 404
    assert not (data / "tls").exists()


@pytest.mark.parametrize("what", ["missing", "empty", "ended", "another key", "a locked key"])
def test_a_certificate_that_is_of_no_use_is_refused_before_anything_starts(tmp_path: Path, what: str) -> None:
    """What is wrong with a given certificate is one message that names the file; nothing is asked."""
    now = really_now()
    authority = make_authority(WARD, machine="hospital", now=now)
    made = now - timedelta(days=500) if what == "ended" else now
    pair = issue(authority, WARD, now=made)
    certificate, key = tmp_path / "given.pem", tmp_path / "given.key"
    certificate.write_bytes(pair.certificate.public_bytes(serialization.Encoding.PEM))
    lock: serialization.KeySerializationEncryption = serialization.NoEncryption()
    if what == "a locked key":
        lock = serialization.BestAvailableEncryption(b"secret")
    own = issue(authority, WARD, now=now).key if what == "another key" else pair.key
    key.write_bytes(own.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, lock))
    if what == "missing":
        certificate.unlink()
    if what == "empty":
        certificate.write_text("")
    tls = Tls(certificate=certificate, key=key)
    with pytest.raises(UsageError, match=r"given\.pem"):
        Offering(lambda at: chain_of(Options(data=tmp_path, tls=tls), now=at))


def test_a_key_without_a_certificate_is_a_usage_error(tmp_path: Path) -> None:
    """The key alone is of no use."""
    left = call("serve", "--certificate-key", "key.pem", "--check", *data_of(tmp_path))
    assert (left.code, left.out) == (2, "")


def test_without_tls_the_page_about_trust_says_so_and_gives_nothing_out() -> None:
    """A server without TLS has no authority to give out."""
    from django.test import Client  # noqa: PLC0415

    from tests.database import fresh_sqlite  # noqa: PLC0415

    with fresh_sqlite():
        client = Client(SERVER_NAME="localhost")
        assert "does not speak TLS" in client.get("/trust/").content.decode()
        assert client.get("/trust/fabella-authority.crt").status_code == 404
