"""The ID token: whether it is the provider's, for this server, for this attempt, and of now."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.refused import ClocksDiffer, Refused, Untrusted

LEEWAY = timedelta(minutes=2)
"""By how much two clocks may differ (judgement: more than kept clocks do, less than a token lasts)."""

_KEYS = {
    **dict.fromkeys(("RS256", "RS384", "RS512", "PS256", "PS384", "PS512"), ("RSA", None)),
    "ES256": ("EC", "P-256"),
    "ES384": ("EC", "P-384"),
    "ES512": ("EC", "P-521"),
    "EdDSA": ("OKP", "Ed25519"),
}
"""Signatures that are taken, with the kind of key that makes each: none that is made with our own secret."""

_REQUIRED = ["iss", "sub", "aud", "exp", "iat", "nonce"]
_LONGEST = 255  # characters: OpenID Connect Core 1.0, section 2, of a subject
_MOST_KEYS = 20  # that are tried; a provider has two or three


def vouched(
    token: str, keys: Sequence[Any], sign_on: SignOn, *, nonce: str, begun: datetime
) -> Mapping[str, Any]:
    """Return what a provider says of a person, once all of it holds (OpenID Connect Core 1.0, 3.1.3.7).

    ``begun`` is when the attempt was. Raises `ClocksDiffer` for a token of another time and `Untrusted` for
    any other that is not for this server and this attempt.
    """
    told = _signed(token, keys, sign_on)
    audience = told["aud"]
    several = isinstance(audience, list) and len(audience) > 1
    if (several or "azp" in told) and told.get("azp") != sign_on.client:
        raise Untrusted("it was made for another program")
    if not isinstance(told["nonce"], str) or not secrets.compare_digest(
        told["nonce"].encode(), nonce.encode()
    ):
        raise Untrusted("it belongs to another attempt")
    _check_fresh(told, sign_on, begun)
    return told


def name_in(told: Mapping[str, Any], claim: str) -> str:
    """Return what accounts are linked to; raise `Refused` when the provider does not tell it."""
    named = told.get(claim)
    if not isinstance(named, str) or not named.strip() or not named.isprintable() or len(named) > _LONGEST:
        raise Refused(
            f"The hospital’s sign-on knows you but does not tell ‘{claim}’, by which accounts are found "
            "here. Please tell whoever runs this server: the provider must put it, as plain text, into the "
            "ID token.",
            found=f"no claim {claim}",
        )
    if claim == "email" and told.get("email_verified") is not True:
        raise Refused(
            "The hospital’s sign-on has not verified your e-mail address, by which accounts are found here. "
            "Please tell whoever runs this server.",
            found="email is not verified",
        )
    return named


def _signed(token: str, keys: Sequence[Any], sign_on: SignOn) -> Mapping[str, Any]:
    import jwt  # noqa: PLC0415  an extra

    try:
        header = jwt.get_unverified_header(token)
    except jwt.PyJWTError as error:
        raise Untrusted("it is no signed token") from error
    algorithm, name = header.get("alg"), header.get("kid")
    if algorithm not in _KEYS:
        raise Untrusted(f"its kind of signature, {str(algorithm)[:20]}, is not taken")
    reader = jwt.PyJWT(options={"enforce_minimum_key_length": True})
    for key in _fitting(keys, algorithm, name):
        try:
            return reader.decode(
                token,
                key,
                algorithms=[algorithm],
                audience=sign_on.client,
                issuer=sign_on.issuer,
                leeway=LEEWAY,
                options={"require": _REQUIRED},
            )
        except (jwt.InvalidSignatureError, jwt.InvalidKeyError):
            continue  # another key may have made it, when it names none
        except (jwt.ExpiredSignatureError, jwt.ImmatureSignatureError) as error:
            raise ClocksDiffer(str(error)) from error
        except jwt.InvalidAudienceError as error:
            raise Untrusted("it was made for another program") from error
        except jwt.InvalidIssuerError as error:
            raise Untrusted("it was made by another sign-on") from error
        except jwt.PyJWTError as error:
            raise Untrusted(str(error)[:80].rstrip(".") or "it cannot be read") from error
    raise Untrusted("none of its keys has signed it")


def _fitting(keys: Sequence[Any], algorithm: str, name: object) -> Iterator[Any]:
    """Yield the keys that may have made a signature: of its kind, and of its name where it bears one."""
    import jwt  # noqa: PLC0415  an extra

    kind, curve = _KEYS[algorithm]
    for each in keys[:_MOST_KEYS]:
        if not isinstance(each, dict) or each.get("kty") != kind or each.get("use", "sig") != "sig":
            continue
        if each.get("alg", algorithm) != algorithm or (curve is not None and each.get("crv") != curve):
            continue
        if name is not None and each.get("kid") != name:
            continue
        try:
            yield jwt.PyJWK(each, algorithm)
        except jwt.PyJWTError:
            continue  # a key that cannot be read has signed nothing that can


def _check_fresh(told: Mapping[str, Any], sign_on: SignOn, begun: datetime) -> None:
    """Refuse a person whom the provider knew from earlier: on a shared tablet that may be somebody else."""
    shown = told.get("auth_time")
    if isinstance(shown, bool) or not isinstance(shown, int | float):
        raise Refused(
            "The hospital’s sign-on does not tell when you showed it who you are. Please tell whoever runs "
            "this server: the provider must put ‘auth_time’ into the ID token.",
            found="no claim auth_time",
        )
    if shown < (begun - timedelta(minutes=sign_on.minutes) - LEEWAY).timestamp():
        raise Refused(
            "The hospital’s sign-on knew you from earlier and did not ask again. Please log out there, and "
            "begin again here.",
            found="auth_time is too old",
        )
