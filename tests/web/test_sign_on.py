"""The hospital's sign-on, against a provider of our own: the way in, and everything that must not be one."""

import logging
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.conf import settings
from django.test import Client
from django.test.utils import override_settings

from fabella.store import Role
from fabella.store.accounts.keeping import close_account, link_account, open_account, set_password
from fabella.store.accounts.models import Account
from fabella.web import sessions
from fabella.web.attempts import sign_on_attempts
from fabella.web.sign_on import asking
from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.describing import described
from fabella.web.sign_on.provider import challenge
from fabella.web.sign_on.under_way import LONGEST, under_way
from tests.web.provider import (
    CLIENT,
    SECRET,
    Claims,
    Key,
    Provider,
    running_provider,
    signed,
    signed_with_secret,
    unsigned,
)

PHRASE = "seven grey herons wade"
BEGIN = "/login/hospital/"
SILENT = "does not answer, or not as agreed"
NO_TRUST = "does not hold, so nobody was let in"
FIRST = Key()
LED = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
STALE = "was used before, was begun in another browser, or took too long"


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Provider]:
    """A provider that runs while this module does."""
    with running_provider(tmp_path_factory.mktemp("provider")) as running:
        yield running


@pytest.fixture
def provider(shared: Provider, monkeypatch: pytest.MonkeyPatch) -> Provider:
    """The provider as it is at first, trusted by this process."""
    monkeypatch.setenv("SSL_CERT_FILE", str(shared.certificate))
    monkeypatch.setenv("NO_PROXY", "*")
    fresh = Provider(port=shared.port, certificate=shared.certificate, keys=[FIRST])
    vars(shared).update(vars(fresh))
    under_way.forget()
    described.forget()
    sign_on_attempts.forget()
    return shared


@pytest.fixture
def ward(client: Client, provider: Provider) -> Iterator[Client]:
    """A browser of a clinic that has the sign-on, and an account of ann's that is linked to it."""
    open_account("ann", password=None, roles=[Role.CLINICIAN], sign_on="staff-4711")
    with signing_on(provider):
        yield client


def signing_on(provider: Provider, **more: Any) -> Any:
    """The options of a server that has the sign-on."""
    chosen = SignOn(issuer=provider.issuer, client=CLIENT, secret=SECRET, **more)
    return override_settings(FABELLA=replace(settings.FABELLA, sign_on=chosen))


def begin(browser: Client, asked: str = "") -> str:
    """Press the button, and return where that leads."""
    answer = browser.get(BEGIN, {"next": asked} if asked else {})
    assert answer.status_code == 302, words(answer)
    return answer.headers["Location"]


def come_back(browser: Client, address: str) -> Any:
    """Follow the provider's way back to its end."""
    parts = urlsplit(address)
    assert parts.path == "/login/hospital/back/"
    page = browser.get(f"{parts.path}?{parts.query}")
    assert page.status_code == 200
    onwards = re.search(r'http-equiv="refresh" content="0; url=([^"]+)"', page.content.decode())
    assert onwards
    return browser.get(unescape(onwards[1]))


def enter(browser: Client, provider: Provider, person: str = "staff-4711", asked: str = "") -> Any:
    """Go the whole way."""
    return come_back(browser, provider.show(begin(browser, asked), person))


def describe(provider: Provider, **otherwise: Any) -> None:
    """Let the provider describe itself otherwise, and ten minutes pass in which that is not asked."""
    provider.described = otherwise
    described.forget()


def now_s() -> int:
    """The time as tokens write it."""
    return int(datetime.now(tz=UTC).timestamp())  # noqa: TID251


def words(answer: Any) -> str:
    """What a page says."""
    return unescape(re.sub(r"\s+", " ", answer.content.decode()))


def is_inside(browser: Client) -> bool:
    """Whether somebody is let in."""
    return browser.get("/").status_code == 200


# ------------------------------------------------------------------ the way in


@pytest.mark.parametrize("algorithm", ["RS256", "PS256", "ES256", "EdDSA"])
def test_whoever_is_vouched_for_enters_by_the_linked_account(
    ward: Client, provider: Provider, algorithm: str
) -> None:
    """With each kind of key the person is let in, to the page that was asked for, and it is noted when."""
    provider.keys = [Key(algorithm)]
    answer = enter(ward, provider, asked="/patients/?q=ada")
    assert (answer.status_code, answer.headers["Location"]) == (302, "/patients/?q=ada")
    assert 'data-author="ann"' in ward.get("/").content.decode()
    assert Account.objects.get(name="ann").last_login is not None


def test_the_provider_is_asked_for_what_the_standard_wants(ward: Client, provider: Provider) -> None:
    """The browser brings code flow, state, nonce, PKCE and the request to ask anew; no secret goes along."""
    asked = {name: each[0] for name, each in parse_qs(urlsplit(begin(ward)).query).items()}
    assert {"state", "nonce", "code_challenge"} <= asked.keys()
    assert asked | dict.fromkeys(("state", "nonce", "code_challenge"), "") == {
        "response_type": "code",
        "client_id": CLIENT,
        "redirect_uri": "http:" + "//localhost/login/hospital/back/",
        "scope": "openid",
        "state": "",
        "nonce": "",
        "code_challenge": "",
        "code_challenge_method": "S256",
        "max_age": "0",
        "prompt": "login",
    }
    assert len({asked["state"], asked["nonce"], asked["code_challenge"]}) == 3
    assert all(len(asked[name]) == 43 for name in ("nonce", "code_challenge"))
    describe(provider, claims_parameter_supported=True)
    with signing_on(provider, claim="staff_number", minutes=5):
        again = {name: each[0] for name, each in parse_qs(urlsplit(begin(ward)).query).items()}
    assert (again["scope"], again["max_age"], "prompt" in again) == ("openid profile", "300", False)
    assert "staff_number" in again["claims"]
    assert "auth_time" in again["claims"]


def test_a_verifier_is_sent_beforehand_as_the_standard_shows() -> None:
    """The worked example of RFC 7636, appendix B."""
    verifier = "dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk"
    assert challenge(verifier) == "E9Melhoa2OwvFrEMTJguCHaoeK1t8URWbuGJSstw-cM"


def test_a_secret_goes_as_the_provider_takes_it(ward: Client, provider: Provider) -> None:
    """As HTTP Basic, or in the form where the description names nothing else."""
    enter(ward, provider)
    assert "client_secret" not in next(form for path, form in provider.asked if path == "/token")
    provider.asked.clear()
    describe(provider, token_endpoint_auth_methods_supported=["client_secret_post"])
    assert enter(ward, provider).status_code == 302
    assert next(form for path, form in provider.asked if path == "/token")["client_secret"] == SECRET


@pytest.mark.parametrize("claim", ["staff_number", "email"])
def test_another_claim_may_name_the_account(ward: Client, provider: Provider, claim: str) -> None:
    """Accounts are found by the claim that was chosen; an e-mail address only when it was verified."""
    with signing_on(provider, claim=claim):
        assert f"does not tell ‘{claim}’" in words(enter(ward, provider, "x"))
        provider.claims = lambda claims: claims | {claim: "staff-4711"}
        answer = enter(ward, provider, "x")
        if claim == "email":
            assert "has not verified" in words(answer)
            provider.claims = lambda claims: claims | {claim: "staff-4711", "email_verified": True}
            answer = enter(ward, provider, "x")
        assert answer.status_code == 302


def test_a_device_keeps_its_name_on_the_way(ward: Client, provider: Provider) -> None:
    """The provider's page sends none of our cookies along; the device is given no other name for that."""
    back = provider.show(begin(ward), "staff-4711")
    before = {name: cookie.value for name, cookie in ward.cookies.items()}
    assert "fabella_device" in before
    stranger = Client(SERVER_NAME="localhost")
    answer = stranger.get(f"{urlsplit(back).path}?{urlsplit(back).query}")
    assert not answer.cookies
    assert {name: cookie.value for name, cookie in ward.cookies.items()} == before
    assert come_back(ward, back).status_code == 302
    assert ward.cookies["fabella_device"].value == before["fabella_device"]


def test_led_here_by_another_site_a_browser_begins_from_our_own_page(
    ward: Client, provider: Provider
) -> None:
    """A link on the hospital's own pages first comes to a page of ours, which nothing is asked for."""
    stranger = Client(SERVER_NAME="localhost")
    answer = stranger.get(f"{BEGIN}?next=/help/", headers=LED)
    assert (answer.status_code, dict(answer.cookies), provider.asked) == (200, {}, [])
    assert f'url={BEGIN}?next=/help/"' in answer.content.decode()
    assert enter(ward, provider).status_code == 302


def test_windows_of_one_browser_may_sign_on_side_by_side(ward: Client, provider: Provider) -> None:
    """Two attempts that were begun in one browser both come to their end, in any order."""
    first, second = begin(ward, "/help/"), begin(ward, "/patients/")
    assert come_back(ward, provider.show(second, "staff-4711")).headers["Location"] == "/patients/"
    assert come_back(ward, provider.show(first, "staff-4711")).headers["Location"] == "/help/"


@pytest.mark.parametrize(
    "elsewhere",
    ["//elsewhere.test/", "https:" + "//elsewhere.test/", "/\\elsewhere.test", "javascript:alert(1)", "help"],
)
def test_the_way_leads_nowhere_else(ward: Client, provider: Provider, elsewhere: str) -> None:
    """A page that was asked for and is none of ours is not gone to."""
    assert enter(ward, provider, asked=elsewhere).headers["Location"] == "/"


# ------------------------------------------------------------------ what is no way in


def test_nobody_is_let_in_without_a_link(ward: Client, provider: Provider) -> None:
    """Whom the hospital knows and nobody here has linked is told so, by name, and no account is made."""
    answer = enter(ward, provider, "staff-9")
    assert answer.status_code == 403
    assert "knows you as ‘staff-9’" in words(answer)
    assert "fabella account link NAME --sign-on staff-9" in words(answer)
    pasted = words(enter(ward, provider, "x'; echo <b>"))
    assert """--sign-on 'x'"'"'; echo <b>'.""" in pasted, "what is pasted into a shell is one word"
    assert Account.objects.count() == 1
    for odd in ("x" * 256, "a\x00b", " ", None, 7, ["staff-4711"]):
        with signing_on(provider, claim="staff_number"):
            provider.claims = forged(staff_number=odd)
            assert "does not tell ‘staff_number’" in words(enter(ward, provider)), odd
    assert not is_inside(ward)


@pytest.mark.parametrize("person", ["ann", "Staff-4711", "staff-4711 ", "staff-471%", ""])
def test_a_link_is_meant_to_the_letter(ward: Client, provider: Provider, person: str) -> None:
    """The name of an account is no link, nor is anything that is only like one."""
    provider.claims = lambda claims: claims | {"sub": person}
    assert enter(ward, provider).status_code == 403
    assert not is_inside(ward)


def test_a_closed_account_stays_closed(ward: Client, provider: Provider) -> None:
    """Whoever was disabled here does not enter, and whoever is inside is outside at once."""
    enter(ward, provider)
    assert is_inside(ward)
    close_account("ann")
    open_account("eve", password=PHRASE, roles=[Role.ADMINISTRATOR])
    assert not is_inside(ward)
    assert "is closed" in words(enter(ward, provider))
    assert not is_inside(ward)


def test_a_link_that_is_taken_back_ends_what_came_by_it(ward: Client, provider: Provider) -> None:
    """Unlinked, or linked to another name, nobody is inside any more by the earlier link."""
    enter(ward, provider)
    link_account("ann", "staff-4712")
    assert not is_inside(ward)
    enter(ward, provider, "staff-4712")
    assert is_inside(ward)
    link_account("ann", "")
    assert not is_inside(ward)


def forged(**changed: Any) -> Callable[[Claims], Claims]:
    """What makes other claims of the right ones; None leaves one out."""
    return lambda claims: {name: value for name, value in (claims | changed).items() if value is not None}


OTHER = Key("RS256", "first")
WEAK = Key("RS256", "first", rsa.generate_private_key(65537, 1024))  # noqa: S505  to be refused
WRONG_CLAIMS: dict[str, dict[str, Any]] = {
    "nonce of another attempt": {"nonce": "n" * 43},
    "no nonce": {"nonce": None},
    "a nonce that is a list": {"nonce": ["n"]},
    "for another program": {"aud": "another"},
    "for nobody": {"aud": None},
    "for us and others, who asked": {"aud": [CLIENT, "another"], "azp": "another"},
    "for us and others, nobody says who asked": {"aud": [CLIENT, "another"]},
    "asked by another": {"azp": "another"},
    "of another issuer": {"iss": "https:" + "//elsewhere.test"},
    "of an issuer with a slash more": {"iss": "https:" + "//127.0.0.1/hospital/"},
    "of no issuer": {"iss": None},
    "without an end": {"exp": None},
    "without a beginning": {"iat": None},
    "about nobody": {"sub": None},
    "about a number": {"sub": 4711},
}


@pytest.mark.parametrize("changed", WRONG_CLAIMS.values(), ids=WRONG_CLAIMS.keys())
def test_a_token_for_somebody_else_lets_nobody_in(
    ward: Client, provider: Provider, changed: dict[str, Any]
) -> None:
    """A token that is signed and not made for this server and this attempt is refused, and why is said."""
    provider.claims = forged(**changed)
    answer = enter(ward, provider)
    assert (answer.status_code, NO_TRUST in words(answer)) == (403, True)
    assert not is_inside(ward)


def public_key_as_secret(claims: Claims, key: Key) -> str:
    """The confusion of signatures: the published key, used as a secret."""
    public = key.private.public_key().public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    return signed_with_secret(claims, public, kid=key.name)


FORGERIES: dict[str, Callable[[Claims, Key], str]] = {
    "no signature": lambda claims, _: unsigned(claims),
    "no signature, another spelling": lambda claims, key: signed(claims, key, alg="nOnE"),
    "our own secret": lambda claims, _: signed_with_secret(claims, SECRET.encode()),
    "an empty secret": lambda claims, _: signed_with_secret(claims, b""),
    "the public key as a secret": public_key_as_secret,
    "another key under the same name": lambda claims, _: signed(claims, OTHER),
    "another key under no name": lambda claims, _: signed(claims, Key(private=OTHER.private, name=None)),
    "a name that is not published": lambda claims, key: signed(claims, key, kid="unheard-of"),
    "a name that is no text": lambda claims, key: signed(claims, key, kid=["first"]),
    "a key that it brings along": lambda claims, _: signed(claims, OTHER, jwk=OTHER.published),
    "another kind of key": lambda claims, key: signed(claims, key, alg="ES256"),
    "something critical": lambda claims, key: signed(claims, key, crit=["unheard-of"]),
    "altered afterwards": lambda claims, key: ".".join(
        [*signed(claims, key).split(".")[:1], *unsigned(claims | {"sub": "x"}).split(".")[1:2], "AAAA"]
    ),
    "no token at all": lambda *_: "nothing",
    "an empty text": lambda *_: "",
    "encrypted, as nobody agreed": lambda *_: "a.b.c.d.e",
}


@pytest.mark.parametrize("forgery", FORGERIES.values(), ids=FORGERIES.keys())
def test_a_token_that_the_provider_did_not_sign_lets_nobody_in(
    ward: Client, provider: Provider, forgery: Callable[[Claims, Key], str]
) -> None:
    """Unsigned, signed by a secret or by another's key, a token is refused."""
    provider.write = forgery
    answer = enter(ward, provider)
    assert (answer.status_code, NO_TRUST in words(answer)) == (403, True)
    assert not is_inside(ward)


def test_a_key_that_is_too_short_is_not_taken(ward: Client, provider: Provider) -> None:
    """RFC 7518, section 3.3: 2048 bits or more."""
    provider.keys = [WEAK]
    assert NO_TRUST in words(enter(ward, provider))
    assert not is_inside(ward)


def test_keys_may_change_between_two_sign_ons(ward: Client, provider: Provider) -> None:
    """A new key counts at once, beside the old one or in its place; what the old one signs then does not."""
    old = provider.keys[0]
    assert enter(ward, provider).status_code == 302
    provider.keys = [old, Key("RS256", "second")]
    assert enter(ward, provider).status_code == 302
    provider.keys = [Key("ES256", "third")]
    assert enter(ward, provider).status_code == 302
    provider.signing = old
    assert enter(ward, provider).status_code == 403


def test_a_token_that_names_no_key_is_tried_with_all(ward: Client, provider: Provider) -> None:
    """Without a name every published key of its kind may have signed, and those that cannot be read none."""
    provider.keys = [Key("ES256", "other kind"), OTHER, Key("RS256", None)]
    assert enter(ward, provider).status_code == 302
    broken: list[Any] = ["no key", {"kty": "RSA"}, {"kty": "RSA", "n": "AA", "e": "%"}, {"kty": "unheard-of"}]
    provider.answers["/keys"] = (200, {"keys": [*broken, provider.keys[-1].published]})
    assert enter(ward, provider).status_code == 302
    provider.answers["/keys"] = (200, {"keys": [provider.keys[-1].published | {"use": "enc"}]})
    assert enter(ward, provider).status_code == 403


@pytest.mark.parametrize(
    "changed",
    [{"exp": -180}, {"iat": 180}, {"nbf": 180}],
    ids=["over", "from the future", "not yet"],
)
def test_clocks_that_differ_are_named(ward: Client, provider: Provider, changed: dict[str, int]) -> None:
    """A token of another time lets nobody in, and the page says why; a minute and a half is borne."""
    provider.claims = lambda claims: claims | {name: now_s() + seconds for name, seconds in changed.items()}
    answer = enter(ward, provider)
    assert (answer.status_code, "do not agree on the time" in words(answer)) == (403, True)
    assert not is_inside(ward)
    provider.claims = lambda claims: (
        claims | {name: now_s() + seconds // 2 for name, seconds in changed.items()}
    )
    assert enter(ward, provider).status_code == 302


def test_the_person_before_is_not_taken_for_the_next(ward: Client, provider: Provider) -> None:
    """On a tablet that many use the provider has to ask again; for how long it need not, is an option."""
    provider.knew_for_seconds = 600
    answer = enter(ward, provider)
    assert "knew you from earlier and did not ask again" in words(answer)
    with signing_on(provider, minutes=15):
        assert enter(ward, provider).status_code == 302
    ward.post("/logout/")
    for said in (None, True, "now"):
        provider.claims = forged(auth_time=said)
        assert "must put ‘auth_time’ into" in words(enter(ward, provider))
    assert not is_inside(ward)


# ------------------------------------------------------------------ replayed, mixed up, broken off


def test_what_came_back_once_does_not_come_back_again(ward: Client, provider: Provider) -> None:
    """The same address a second time lets nobody in, even where the provider took its code again."""
    provider.takes_codes_twice = True
    back = provider.show(begin(ward), "staff-4711")
    assert come_back(ward, back).status_code == 302
    ward.post("/logout/")
    again = come_back(ward, back)
    assert (again.status_code, STALE in words(again)) == (400, True)
    assert not is_inside(ward)


def test_a_code_of_somebody_else_cannot_be_put_in(ward: Client, provider: Provider) -> None:
    """A code that was made in one attempt is refused in another: its verifier is another one."""
    stolen = parse_qs(urlsplit(provider.show(begin(ward), "staff-4711")).query)["code"][0]
    own = provider.show(begin(ward), "staff-9")
    mixed = re.sub(r"code=[^&]+", f"code={stolen}", own)
    answer = come_back(ward, mixed)
    assert (answer.status_code, STALE in words(answer)) == (400, True)
    assert not is_inside(ward)


def test_an_attempt_belongs_to_its_browser(ward: Client, provider: Provider) -> None:
    """Led to the end of somebody else's attempt, a browser is not logged in as them, and spends it not."""
    back = provider.show(begin(ward), "staff-4711")
    other = Client(SERVER_NAME="localhost")
    assert STALE in words(come_back(other, back))
    other.get("/login/")
    assert STALE in words(come_back(other, back))
    assert not is_inside(other)
    assert come_back(ward, back).status_code == 302


def test_an_attempt_does_not_wait_for_ever(
    ward: Client, provider: Provider, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever comes back after a quarter of an hour begins again."""
    back = provider.show(begin(ward), "staff-4711")
    monkeypatch.setattr("fabella.web.sign_on.under_way.LONGEST", timedelta(seconds=-1))
    assert STALE in words(come_back(ward, back))
    assert timedelta(minutes=15) == LONGEST


@pytest.mark.parametrize("query", ["", "?state=", "?code=x", "?state=x&code=y", "?error=server_error"])
def test_an_address_that_was_made_up_leads_nowhere(ward: Client, provider: Provider, query: str) -> None:
    """Without an attempt that is under way nothing that comes back is looked at, and nothing is asked."""
    assert not provider.asked
    answer = come_back(ward, f"/login/hospital/back/{query}")
    assert (answer.status_code, STALE in words(answer), provider.asked) == (400, True, [])


def test_refused_there_is_told_here(ward: Client, provider: Provider) -> None:
    """Whoever breaks off at the provider, or may not use this program there, reads so and may begin again."""
    answer = enter(ward, provider, "nobody", asked="/patients/")
    assert (answer.status_code, "was broken off there" in words(answer)) == (403, True)
    assert 'href="/login/hospital/?next=%2Fpatients%2F"' in answer.content.decode()
    assert "they would rather not" not in words(answer), "words from elsewhere are not shown"
    failed = provider.show(begin(ward), "nobody").replace("access_denied", "server_error")
    assert "could not do what it was asked" in words(come_back(ward, failed))


def test_what_comes_back_cannot_write_lines_of_its_own_into_the_log(
    ward: Client, provider: Provider, caplog: pytest.LogCaptureFixture
) -> None:
    """Whoever begins an attempt chooses what comes back; in the log that stays one line, without controls."""
    failed = provider.show(begin(ward), "nobody").replace(
        "access_denied", "x%0Aroot%20let%20in%1B%5B2K%E2%80%AE"
    )
    with caplog.at_level(logging.WARNING):
        come_back(ward, failed)
    (line,) = [each.getMessage() for each in caplog.records if each.name == "fabella.web.pages.sign_on"]
    assert line.isprintable()
    assert "root let in" in line


def test_two_providers_are_not_mixed_up(ward: Client, provider: Provider) -> None:
    """RFC 9207: a code that comes under another name is refused; without a name, where it should bear one."""
    provider.extra = {"iss": "https:" + "//elsewhere.test"}
    assert NO_TRUST in words(enter(ward, provider))
    provider.extra = {"iss": provider.issuer}
    assert enter(ward, provider).status_code == 302
    provider.extra = {}
    describe(provider, authorization_response_iss_parameter_supported=True)
    assert NO_TRUST in words(enter(ward, provider))


BROKEN: dict[str, tuple[str, tuple[int, Any]]] = {
    "no description": ("/.well-known/openid-configuration", (503, {})),
    "a description that is none": ("/.well-known/openid-configuration", (200, "<p>Back soon")),
    "a list": ("/.well-known/openid-configuration", (200, [])),
    "too long": ("/.well-known/openid-configuration", (200, {"x": "x" * 1_000_001})),
    "too deep": ("/.well-known/openid-configuration", (200, "[" * 200_000)),
    "another's": ("/.well-known/openid-configuration", (200, {"issuer": "https:" + "//elsewhere.test"})),
    "no token": ("/token", (500, {})),
    "a secret it does not know": ("/token", (401, {"error": "invalid_client"})),
    "no keys": ("/keys", (404, {})),
    "keys that are none": ("/keys", (200, {"keys": "none"})),
}


@pytest.mark.parametrize(("path", "answer"), BROKEN.values(), ids=BROKEN.keys())
def test_a_provider_that_does_not_answer_is_told_of_on_our_own_page(
    ward: Client, provider: Provider, path: str, answer: tuple[int, Any], caplog: pytest.LogCaptureFixture
) -> None:
    """Whatever it answers instead, the page says that it is the provider, with the way to a password."""
    provider.answers[path] = answer
    with caplog.at_level(logging.WARNING):
        first = ward.get(BEGIN)
        told = first if first.status_code == 502 else enter(ward, provider)
    assert (told.status_code, SILENT in words(told)) == (502, True)
    assert 'name="password"' in told.content.decode()
    assert provider.issuer in caplog.text, "whoever runs the server reads what was found"
    assert SECRET not in caplog.text
    assert not is_inside(ward)
    provider.answers.clear()
    assert enter(ward, provider).status_code == 302


@pytest.mark.parametrize(
    "name", ["authorization_endpoint", "token_endpoint", "jwks_uri", "end_session_endpoint"]
)
def test_nothing_is_asked_without_tls(ward: Client, provider: Provider, name: str) -> None:
    """A description that leads to an address without TLS, or to none, is no description."""
    for place in ("http:" + "//127.0.0.1/", 7):
        describe(provider, **{name: place})
        answer = ward.get(BEGIN)
        assert (answer.status_code, SILENT in words(answer)) == (502, True)


def test_a_secret_follows_no_redirect(ward: Client, provider: Provider) -> None:
    """A token endpoint that leads elsewhere is not followed."""
    provider.answers["/token"] = (307, {})
    asked_before = len(provider.asked)
    assert SILENT in words(enter(ward, provider))
    assert [path for path, _ in provider.asked[asked_before:]].count("/token") == 1


def test_a_provider_that_is_down_or_unknown_is_one_message(
    ward: Client, provider: Provider, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Nobody listens, or the certificate is nobody's whom the system trusts: the same page, no traceback."""
    empty = tmp_path / "nobody.pem"
    empty.write_text("")
    monkeypatch.setenv("SSL_CERT_FILE", str(empty))
    assert SILENT in words(ward.get(BEGIN))
    monkeypatch.setenv("SSL_CERT_FILE", str(provider.certificate))
    chosen = replace(settings.FABELLA.sign_on, issuer="https:" + "//127.0.0.1:9/hospital")
    with override_settings(FABELLA=replace(settings.FABELLA, sign_on=chosen)):
        answer = ward.get(BEGIN)
    assert (answer.status_code, SILENT in words(answer)) == (502, True)


def test_a_provider_that_hangs_holds_up_few(ward: Client, provider: Provider) -> None:
    """When enough wait for it already, the next is told at once, and later ones get through."""
    taken = [asking._turns.acquire(blocking=False) for _ in range(asking._AT_ONCE)]
    assert all(taken)
    assert SILENT in words(ward.get(BEGIN))
    for _ in taken:
        asking._turns.release()
    assert enter(ward, provider).status_code == 302


# ------------------------------------------------------------------ passwords, leaving, ends


def test_passwords_can_be_kept_for_administrators(client: Client, provider: Provider) -> None:
    """With the option only administrators enter by a password; without it, everybody who has one."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN], sign_on="staff-4711")
    open_account("kay", password=PHRASE, roles=[Role.ADMINISTRATOR, Role.CLINICIAN])
    with signing_on(provider, only=True):
        answer = client.post("/login/", {"name": "ann", "password": PHRASE})
        assert (answer.status_code, "enters by the hospital’s sign-on" in words(answer)) == (403, True)
        wrong = client.post("/login/", {"name": "ann", "password": "no"})
        assert "do not fit together" in words(wrong), "whoever does not know the password is told nothing"
        assert not is_inside(client)
        assert enter(client, provider).status_code == 302
        client.post("/logout/")
        assert client.post("/login/", {"name": "kay", "password": PHRASE}).status_code == 302
        client.post("/logout/")
    with signing_on(provider):
        assert client.post("/login/", {"name": "ann", "password": PHRASE}).status_code == 302


def test_an_account_without_a_password_has_none(ward: Client) -> None:
    """Opened for the sign-on alone, an account is entered by no password until it is given one."""
    for password in ("", "None", "!", PHRASE):
        assert ward.post("/login/", {"name": "ann", "password": password}).status_code == 403
    set_password("ann", PHRASE)
    assert ward.post("/login/", {"name": "ann", "password": PHRASE}).status_code == 302


def test_who_leaves_is_offered_to_leave_there_too(ward: Client, provider: Provider) -> None:
    """After logging out the page names the provider's own place for that, if it has one; never to others."""
    enter(ward, provider)
    left = ward.post("/logout/").headers["Location"]
    page = ward.get(left).content.decode()
    found = re.search(r'href="([^"]+)">log out there too', page)
    assert found
    parts = urlsplit(unescape(found[1]))
    assert f"{parts.scheme}:{'//'}{parts.netloc}{parts.path}" == f"{provider.issuer}/leave"
    assert parse_qs(parts.query) == {
        "client_id": [CLIENT],
        "post_logout_redirect_uri": ["http:" + "//localhost/login/"],
    }
    assert "log out there" not in ward.get("/login/").content.decode()
    describe(provider, end_session_endpoint=None)
    enter(ward, provider)
    assert "; log out there too." in words(ward.get(ward.post("/logout/").headers["Location"]))
    set_password("ann", PHRASE)
    ward.post("/login/", {"name": "ann", "password": PHRASE})
    assert ward.post("/logout/").headers["Location"] == "/login/"


def test_a_session_ends_after_a_working_day(
    ward: Client, provider: Provider, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Used without a pause it lasts twelve hours and no longer, by whichever way one came, as is promised."""
    set_password("ann", PHRASE)
    ways: list[Callable[[], Any]] = [
        lambda: enter(ward, provider),
        lambda: ward.post("/login/", {"name": "ann", "password": PHRASE}),
    ]
    for way in ways:
        way()
        began = datetime.now(tz=UTC)  # noqa: TID251
        for minutes in range(0, 12 * 60, 50):
            _at(monkeypatch, began + timedelta(minutes=minutes))
            assert is_inside(ward), minutes
        _at(monkeypatch, began + sessions.LONGEST + timedelta(minutes=1))
        assert not is_inside(ward)
        monkeypatch.undo()
        monkeypatch.setenv("SSL_CERT_FILE", str(provider.certificate))
        monkeypatch.setenv("NO_PROXY", "*")


def _at(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return moment if tz is None else moment.astimezone(tz)

    monkeypatch.setattr("fabella.web.visitor.datetime", Clock)


def test_without_a_sign_on_there_is_none(client: Client) -> None:
    """Where none was chosen the login page offers none, and its addresses lead nowhere."""
    for address in (BEGIN, f"{BEGIN}back/", f"{BEGIN}enter/?state=x"):
        assert client.get(address).status_code == 404
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    assert "sign-on" not in client.get("/login/?left=sign-on").content.decode()


def test_over_the_ward_it_works_with_tls_alone(ward: Client) -> None:
    """Under another name than this machine's nothing is begun without TLS; with it, nor is the way back."""
    with override_settings(ALLOWED_HOSTS=["knee.ward.test"]):
        plain = ward.get(BEGIN, SERVER_NAME="knee.ward.test")
        assert (plain.status_code, "over TLS only" in words(plain)) == (403, True)
        secure = ward.get(BEGIN, secure=True, SERVER_NAME="knee.ward.test", SERVER_PORT="8765")
        back = parse_qs(urlsplit(secure.headers["Location"]).query)["redirect_uri"]
        assert back == ["https:" + "//knee.ward.test:8765/login/hospital/back/"]
        stranger = ward.get(BEGIN, secure=True, SERVER_NAME="elsewhere.test")
        assert stranger.status_code == 400
