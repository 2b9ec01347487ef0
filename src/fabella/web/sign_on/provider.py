"""The provider: what it tells of itself, where a browser is sent, and what it gives for a code."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any
from urllib.parse import quote_plus, urlencode

from fabella.web.sign_on.asking import ask
from fabella.web.sign_on.chosen import SUBJECT, SignOn
from fabella.web.sign_on.refused import Silent, Stale, Unanswered, Untrusted

_WELL_KNOWN = "/.well-known/openid-configuration"
_SCOPES = {SUBJECT: "openid", "email": "openid email"}
_MORE = "openid profile"


@dataclass(frozen=True, slots=True, kw_only=True)
class Provider:
    """A provider, as it describes itself (OpenID Connect Discovery 1.0, section 3).

    Parameters
    ----------
    authorization, token, keys
        Where a browser asks, where a code is exchanged, where the keys are.
    leaving
        Where one logs out there; empty when it names none.
    reads_posted_secret
        Whether it takes a secret in the form alone, and not as HTTP Basic.
    names_itself
        Whether it puts its name beside each code (RFC 9207).
    reads_claims
        Whether it can be asked for single claims.
    """

    issuer: str
    authorization: str
    token: str
    keys: str
    leaving: str
    reads_posted_secret: bool
    names_itself: bool
    reads_claims: bool


def discover(sign_on: SignOn) -> Provider:
    """Ask a provider what it is; raise `Silent` when it does not say, or calls itself something else."""
    address = sign_on.issuer.rstrip("/") + _WELL_KNOWN
    status, told = ask(address)
    if status != HTTPStatus.OK:
        raise Silent(f"{address}: answered {status}")
    if told.get("issuer") != sign_on.issuer:
        raise Silent(f"{address}: calls itself {told.get('issuer')!r}, and not {sign_on.issuer!r}")
    methods = told.get("token_endpoint_auth_methods_supported") or ["client_secret_basic"]
    return Provider(
        issuer=sign_on.issuer,
        authorization=_place(told, "authorization_endpoint"),
        token=_place(told, "token_endpoint"),
        keys=_place(told, "jwks_uri"),
        leaving=_place(told, "end_session_endpoint") if told.get("end_session_endpoint") else "",
        reads_posted_secret="client_secret_basic" not in methods,
        names_itself=told.get("authorization_response_iss_parameter_supported") is True,
        reads_claims=told.get("claims_parameter_supported") is True,
    )


def _place(told: Mapping[str, Any], name: str) -> str:
    address = told.get(name)
    if not isinstance(address, str) or not address.startswith("https:"):
        raise Silent(f"its description names no {name} over TLS")
    return address


def challenge(verifier: str) -> str:
    """Return what is sent of a verifier beforehand (RFC 7636, section 4.2, S256)."""
    digest = hashlib.sha256(verifier.encode("ascii")).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")


def asking_address(
    provider: Provider, sign_on: SignOn, *, back: str, state: str, nonce: str, verifier: str
) -> str:
    """Return where a browser is sent, so that the provider asks the person there who they are."""
    asked = {
        "response_type": "code",
        "client_id": sign_on.client,
        "redirect_uri": back,
        "scope": _SCOPES.get(sign_on.claim, _MORE),
        "state": state,
        "nonce": nonce,
        "code_challenge": challenge(verifier),
        "code_challenge_method": "S256",
        "max_age": str(sign_on.minutes * 60),
    }
    if not sign_on.minutes:
        asked["prompt"] = "login"
    if provider.reads_claims:
        needed = {name: {"essential": True} for name in ("auth_time", sign_on.claim)}
        asked["claims"] = json.dumps({"id_token": needed})
    return _with(provider.authorization, asked)


def leaving_address(provider: Provider, sign_on: SignOn, *, back: str) -> str:
    """Return where one logs out at the provider; empty when it names no such place."""
    asked = {"client_id": sign_on.client, "post_logout_redirect_uri": back}
    return _with(provider.leaving, asked) if provider.leaving else ""


def exchange(provider: Provider, sign_on: SignOn, *, code: str, back: str, verifier: str) -> str:
    """Return the ID token that the provider gives for a code; raise `Stale` when it does not take that."""
    form = {
        "grant_type": "authorization_code",
        "code": code,
        "redirect_uri": back,
        "code_verifier": verifier,
    }
    headers = {}
    if provider.reads_posted_secret:
        form |= {"client_id": sign_on.client, "client_secret": sign_on.secret}
    else:  # RFC 6749, section 2.3.1: both are encoded as in a form first
        pair = f"{quote_plus(sign_on.client)}:{quote_plus(sign_on.secret)}"
        headers["Authorization"] = f"Basic {base64.b64encode(pair.encode()).decode('ascii')}"
    status, told = ask(provider.token, form=form, headers=headers)
    if told.get("error") == "invalid_grant":
        raise Stale
    if status != HTTPStatus.OK:
        kind = Silent if status == HTTPStatus.BAD_REQUEST else Unanswered  # RFC 6749, section 5.2
        raise kind(f"{provider.token}: answered {status}, {str(told.get('error'))[:80]}")
    token = told.get("id_token")
    if not isinstance(token, str):
        raise Untrusted("there is no ID token in it")
    return token


def keys_of(provider: Provider) -> list[Any]:
    """Return the keys with which the provider signs now: asked each time, so that new ones count at once."""
    status, told = ask(provider.keys)
    keys = told.get("keys")
    if status != HTTPStatus.OK or not isinstance(keys, list):
        raise Silent(f"{provider.keys}: answered {status}, without keys")
    return keys


def _with(address: str, asked: Mapping[str, str]) -> str:
    return f"{address}{'&' if '?' in address else '?'}{urlencode(asked)}"
