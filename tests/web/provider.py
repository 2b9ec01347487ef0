"""A provider of OpenID Connect for tests: real keys, real HTTP over TLS on this machine, one person a name.

It signs with nothing but arithmetic (`cryptography`), so that what reads its tokens is judged by somebody
else, and it is strict: a client that leaves out its secret, its verifier or its own address gets nothing.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import ipaddress
import json
import secrets
import ssl
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from html import escape
from http.client import HTTPSConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, parse_qsl, unquote_plus, urlencode, urlsplit

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature

CLIENT, SECRET = "fabella:ward", "a+secret/of=the ward%"
"""With signs that have to be encoded on their way (RFC 6749, section 2.3.1)."""

Claims = dict[str, Any]
PrivateKey = rsa.RSAPrivateKey | ec.EllipticCurvePrivateKey | ed25519.Ed25519PrivateKey


def encoded(content: bytes) -> str:
    """Base64url without its padding."""
    return base64.urlsafe_b64encode(content).rstrip(b"=").decode()


def of_number(number: int, length: int | None = None) -> str:
    """A number as keys write it."""
    return encoded(number.to_bytes(length or (number.bit_length() + 7) // 8, "big"))


@dataclass
class Key:
    """A key of the provider: its kind of signature, its name and what it publishes of it."""

    algorithm: str = "RS256"
    name: str | None = "first"
    private: Any = None

    def __post_init__(self) -> None:
        if self.private is None:
            self.private = _drawn(self.algorithm)

    @property
    def published(self) -> Claims:
        """The public half, as RFC 7517 and 7518 write it."""
        public = self.private.public_key()
        if isinstance(public, rsa.RSAPublicKey):
            numbers = public.public_numbers()
            made = {"kty": "RSA", "n": of_number(numbers.n), "e": of_number(numbers.e)}
        elif isinstance(public, ec.EllipticCurvePublicKey):
            at = public.public_numbers()
            made = {"kty": "EC", "crv": "P-256", "x": of_number(at.x, 32), "y": of_number(at.y, 32)}
        else:
            made = {"kty": "OKP", "crv": "Ed25519", "x": encoded(public.public_bytes_raw())}
        return {**made, "use": "sig"} | ({"kid": self.name} if self.name else {})

    def sign(self, content: bytes) -> bytes:
        """The signature of a content (RFC 7518, sections 3.3 to 3.5; RFC 8037)."""
        if self.algorithm == "RS256":
            return bytes(self.private.sign(content, padding.PKCS1v15(), hashes.SHA256()))
        if self.algorithm == "PS256":
            salted = padding.PSS(padding.MGF1(hashes.SHA256()), hashes.SHA256().digest_size)
            return bytes(self.private.sign(content, salted, hashes.SHA256()))
        if self.algorithm == "ES256":
            pair = decode_dss_signature(self.private.sign(content, ec.ECDSA(hashes.SHA256())))
            return b"".join(each.to_bytes(32, "big") for each in pair)
        return bytes(self.private.sign(content))


def _drawn(algorithm: str) -> PrivateKey:
    if algorithm == "ES256":
        return ec.generate_private_key(ec.SECP256R1())
    if algorithm == "EdDSA":
        return ed25519.Ed25519PrivateKey.generate()
    return rsa.generate_private_key(65537, 2048)


def signed(claims: Claims, key: Key, **header: Any) -> str:
    """A token, in its compact form (RFC 7515, section 3.1)."""
    head = {"alg": key.algorithm, "typ": "JWT"} | ({"kid": key.name} if key.name else {}) | header
    content = f"{encoded(json.dumps(head).encode())}.{encoded(json.dumps(claims).encode())}"
    return f"{content}.{encoded(key.sign(content.encode()))}"


def unsigned(claims: Claims) -> str:
    """A token without a signature."""
    return f"{encoded(json.dumps({'alg': 'none'}).encode())}.{encoded(json.dumps(claims).encode())}."


def signed_with_secret(claims: Claims, secret: bytes, **header: Any) -> str:
    """A token that whoever knows a secret, or takes a public key for one, could have made."""
    head = {"alg": "HS256", "typ": "JWT", **header}
    content = f"{encoded(json.dumps(head).encode())}.{encoded(json.dumps(claims).encode())}"
    return f"{content}.{encoded(hmac.new(secret, content.encode(), hashlib.sha256).digest())}"


@dataclass
class Provider:
    """A running provider, and what a test lets it do otherwise.

    ``claims`` alters what a token says, ``write`` makes it; ``answers`` stands in for what a path
    would answer; ``described`` alters its description; ``extra`` is sent beside each code.
    """

    port: int = 0
    keys: list[Key] = field(default_factory=lambda: [Key()])
    signing: Key | None = None
    claims: Callable[[Claims], Claims] = lambda claims: claims
    write: Callable[[Claims, Key], str] = signed
    answers: dict[str, tuple[int, Any]] = field(default_factory=dict)
    described: Claims = field(default_factory=dict)
    extra: dict[str, str] = field(default_factory=dict)
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    knew_for_seconds: int = 0
    takes_codes_twice: bool = False
    certificate: Path = Path()
    _codes: dict[str, dict[str, str]] = field(default_factory=dict)

    @property
    def issuer(self) -> str:
        """How it calls itself."""
        return f"https:{'//'}127.0.0.1:{self.port}/hospital"

    @property
    def description(self) -> Claims:
        """What it tells of itself."""
        return {
            "issuer": self.issuer,
            "authorization_endpoint": f"{self.issuer}/authorize",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/keys",
            "end_session_endpoint": f"{self.issuer}/leave",
            "response_types_supported": ["code"],
            "id_token_signing_alg_values_supported": ["RS256"],
            **self.described,
        }

    def answer(
        self, path: str, given: dict[str, str], *, is_form: bool, authorization: str
    ) -> tuple[int, Any, dict[str, str]]:
        """Answer one request: status, a page or JSON, and headers."""
        self.asked.append((path, given))
        if path in self.answers:
            return (*self.answers[path], {})
        if path == "/authorize" and is_form:
            return 302, "", {"Location": self.decide(given)}
        if path == "/token":
            return (*self.exchange(given, authorization), {})
        told: dict[str, Any] = {
            "/.well-known/openid-configuration": self.description,
            "/keys": {"keys": [key.published for key in self.keys]},
            "/authorize": _page(given),
            "/leave": "<!doctype html><title>Hospital</title><p>You are logged out everywhere.",
        }
        return (200, told[path], {}) if path in told else (404, {}, {})

    def show(self, address: str, person: str) -> str:
        """Do what a person does on its page, and return where it then sends the browser."""
        parts = urlsplit(address)
        trusting = ssl.create_default_context(cafile=self.certificate)
        line = HTTPSConnection("127.0.0.1", self.port, context=trusting, timeout=30)
        body = urlencode([*parse_qsl(parts.query), ("person", person)])
        line.request("POST", parts.path, body, {"Content-Type": "application/x-www-form-urlencoded"})
        answer = line.getresponse()
        answer.read()
        line.close()
        assert answer.status == 302, answer.status
        return str(answer.getheader("Location"))

    def decide(self, asked: dict[str, str]) -> str:
        """Where a browser is sent once a person said who they are, or that they would rather not."""
        told = {"state": asked["state"], **self.extra}
        if asked["person"] == "nobody":
            told |= {"error": "access_denied", "error_description": "they would rather not"}
        else:
            code = secrets.token_urlsafe(16)
            self._codes[code] = asked
            told["code"] = code
        return f"{asked['redirect_uri']}?{urlencode(told)}"

    def exchange(self, form: dict[str, str], authorization: str) -> tuple[int, Claims]:
        """What is given for a code: once, to whom it was made out, who has asked for it."""
        name, _, secret = base64.b64decode(authorization.removeprefix("Basic ")).decode().partition(":")
        if authorization:
            client = (unquote_plus(name), unquote_plus(secret))
        else:
            client = (form.get("client_id", ""), form.get("client_secret", ""))
        if client != (CLIENT, SECRET):
            return 401, {"error": "invalid_client"}
        asked = self._codes.get(form.get("code", ""))
        if not self.takes_codes_twice:
            self._codes.pop(form.get("code", ""), None)
        digest = hashlib.sha256(form.get("code_verifier", "").encode()).digest()
        if (
            asked is None
            or asked["redirect_uri"] != form.get("redirect_uri")
            or encoded(digest) != asked["code_challenge"]
            or asked["code_challenge_method"] != "S256"
        ):
            return 400, {"error": "invalid_grant"}
        now = int(datetime.now(tz=UTC).timestamp())  # noqa: TID251
        claims = {
            "iss": self.issuer,
            "sub": asked["person"],
            "aud": CLIENT,
            "iat": now,
            "exp": now + 300,
            "auth_time": now - self.knew_for_seconds,
            "nonce": asked["nonce"],
        }
        token = self.write(self.claims(claims), self.signing or self.keys[-1])
        return 200, {"access_token": "not-used", "token_type": "Bearer", "id_token": token}


class _Line(ssl.SSLSocket):
    """A connection that is closed when whoever made it has gone before it was looked at.

    The library raises over it and leaves it open, and of what is left open Python complains: whenever it
    likes, in whatever test is then at work. Browsers make connections ahead, and drop what they do not need.
    """

    def getpeername(self) -> Any:
        """Return who is at the other end."""
        try:
            return super().getpeername()
        except OSError:
            self.close()
            raise


class _Server(ThreadingHTTPServer):
    """Takes it calmly when somebody does not trust its certificate."""

    daemon_threads = True

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Tell of what is a fault of the provider, and of nothing else."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    """Lets the provider of its server answer."""

    server: Any

    def do_GET(self) -> None:
        """Answer what is asked."""
        self._answer("")

    def do_POST(self) -> None:
        """Answer a form."""
        self._answer(self.rfile.read(int(self.headers.get("Content-Length", 0))).decode())

    def _answer(self, form: str) -> None:
        parts = urlsplit(self.path)
        given = {name: each[0] for name, each in parse_qs(form or parts.query).items()}
        path, secret = parts.path.removeprefix("/hospital"), self.headers.get("Authorization", "")
        self._send(*self.server.provider.answer(path, given, is_form=bool(form), authorization=secret))

    def _send(self, status: int, body: Any, headers: dict[str, str]) -> None:
        kind = "text/html" if isinstance(body, str) else "application/json"
        content = (body if isinstance(body, str) else json.dumps(body)).encode()
        self.send_response(status)
        more = {"Content-Type": kind, "Content-Length": str(len(content)), **headers}
        for name, value in more.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_: Any) -> None:
        """Say nothing on the terminal of the tests."""


def _page(asked: dict[str, str]) -> str:
    hidden = "".join(
        f'<input type="hidden" name="{escape(name)}" value="{escape(value)}">'
        for name, value in asked.items()
    )
    return (
        f'<!doctype html><title>Hospital</title><form method="post" action="/hospital/authorize">{hidden}'
        '<input name="person" aria-label="Who are you?"><button>Continue</button></form>'
    )


def _certificate() -> tuple[bytes, bytes]:
    """A certificate of this machine that vouches for itself, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Hospital of the tests")])
    now = datetime.now(tz=UTC)  # noqa: TID251
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]), critical=False
        )
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return made.public_bytes(serialization.Encoding.PEM), private


@contextmanager
def running_provider(folder: Path) -> Iterator[Provider]:
    """Run a provider for a while; its certificate is put into a folder, for whoever should trust it."""
    certificate, private = _certificate()
    both, public = folder / "provider-with-key.pem", folder / "provider.pem"
    both.write_bytes(certificate + private)
    public.write_bytes(certificate)
    provider = Provider(certificate=public)
    server = _Server(("127.0.0.1", 0), _Handler)
    server.provider = provider  # type: ignore[attr-defined]
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(both)
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    context.sslsocket_class = _Line  # from now on: one that listens has nobody at its other end
    provider.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield provider
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
