"""The way through the hospital's sign-on: there, back, and in."""

from __future__ import annotations

import logging
from shlex import quote
from urllib.parse import urlencode

from django.conf import settings
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.http.request import split_domain_port
from django.urls import path
from django.views.decorators.debug import sensitive_variables

from fabella.store.accounts.keeping import linked_account
from fabella.store.accounts.models import Account
from fabella.web.attempts import address_of, sign_on_attempts
from fabella.web.door import enter_unknown
from fabella.web.noting import note_entered
from fabella.web.options import LOOPBACK_NAMES
from fabella.web.pages.account import login_page, way_to
from fabella.web.pages.onwards import OnwardsPage
from fabella.web.sessions import begin_session
from fabella.web.sign_on.chosen import SignOn
from fabella.web.sign_on.describing import described
from fabella.web.sign_on.provider import Provider, asking_address, exchange, keys_of
from fabella.web.sign_on.refused import Refused, Stale, TooOften, Unanswered, Untrusted
from fabella.web.sign_on.under_way import Begun, under_way
from fabella.web.sign_on.vouching import name_in, vouched
from fabella.web.templating import render, url
from fabella.web.visitor import Request

log = logging.getLogger(__name__)

_TOLD = ("code", "state", "iss", "error")
_LONGEST = 4096  # characters of any of them


@enter_unknown()
def sign_on(request: Request) -> HttpResponse:
    """Send a browser to the provider."""
    chosen, asked = _chosen(), request.GET.get("next", "")
    try:
        _check_encrypted(request)
        provider = described.by(chosen, now=request.now)
    except Refused as refused:
        return _refuse(request, refused, asked)
    state, begun = under_way.begin(device=request.device, asked=asked, now=request.now)
    address = asking_address(
        provider,
        chosen,
        back=_way_back(request),
        state=state,
        nonce=begun.nonce,
        verifier=begun.verifier,
    )
    return HttpResponseRedirect(address)


@enter_unknown()
def back(request: Request) -> HttpResponse:
    """Take a browser that comes back from the provider one step further."""
    _chosen()
    told = {name: request.GET[name][:_LONGEST] for name in _TOLD if name in request.GET}
    return render(request, OnwardsPage(goes_on=f"{url('sign_on_enter')}?{urlencode(told)}"))


@enter_unknown()
@sensitive_variables()
def come_in(request: Request) -> HttpResponse:
    """Let somebody in for whom the provider vouches."""
    chosen, asked = _chosen(), ""
    try:
        begun = under_way.read(request.GET.get("state", ""), request.device, request.now)
        if begun is None:
            raise Stale
        asked = begun.asked
        name = _name_told(request, chosen, begun)
        account = _account_of(name)
        if not under_way.spend(begun, request.now):
            raise Stale
    except Refused as refused:
        return _refuse(request, refused, asked)
    begin_session(request, account, now=request.now, signed_on=name)
    note_entered(request, account, "the sign-on")
    return HttpResponseRedirect(way_to(asked))


def _check_encrypted(request: Request) -> None:
    if not request.is_secure() and split_domain_port(request.get_host())[0] not in LOOPBACK_NAMES:
        raise Refused(
            "The hospital’s sign-on works over TLS only, and this page came without. Please write https "
            "before the name of this server, or tell whoever runs it.",
            found="asked without TLS",
        )


def _name_told(request: Request, chosen: SignOn, begun: Begun) -> str:
    """Return what the provider calls whoever has come back, once everything it says holds."""
    provider = described.by(chosen, now=request.now)
    issuer, error = request.GET.get("iss"), request.GET.get("error")
    if issuer != chosen.issuer and (issuer is not None or provider.names_itself):
        raise Untrusted("it comes from another sign-on")
    if error == "access_denied":
        raise Refused(
            "The hospital’s sign-on was broken off there, or does not let you use this program. Please begin "
            "again, or ask whoever keeps the hospital’s accounts.",
            found="access_denied",
        )
    if error is not None:
        raise Refused(
            "The hospital’s sign-on could not do what it was asked. Please begin again; if it lasts, tell "
            "whoever runs this server.",
            found=error[:80],
        )
    if not (code := request.GET.get("code")):
        raise Untrusted("there is no code in it")
    token = _token_for(request, chosen, begun, provider, code)
    told = vouched(token, keys_of(provider), chosen, nonce=begun.nonce, begun=begun.at)
    return name_in(told, chosen.claim)


def _token_for(request: Request, chosen: SignOn, begun: Begun, provider: Provider, code: str) -> str:
    """Return what the provider gives for a code; of codes that it does not take an address may bring few."""
    address = address_of(request)
    if not sign_on_attempts.may_try("", address, request.now):
        raise TooOften
    try:
        token = exchange(provider, chosen, code=code, back=_way_back(request), verifier=begun.verifier)
    except Unanswered:
        sign_on_attempts.take_back("", address)
        raise
    sign_on_attempts.take_back("", address)
    return token


def _way_back(request: Request) -> str:
    return request.build_absolute_uri(url("sign_on_back"))


def _account_of(name: str) -> Account:
    account = linked_account(name)
    if account is None:
        raise Refused(
            f"The hospital’s sign-on knows you as ‘{name}’, and no account here is linked to that. Please "
            f"tell whoever keeps the accounts: fabella account link NAME --sign-on {quote(name)}.",
            found=f"nobody is linked to {name!r}",
        )
    if not account.is_active:
        raise Refused(
            "Your account here is closed. Please ask whoever keeps the accounts.",
            found=f"the account {account.name} is closed",
        )
    return account


def _chosen() -> SignOn:
    """Return the provider that was chosen; without one there is no such page."""
    chosen = settings.FABELLA.sign_on
    if not isinstance(chosen, SignOn):
        raise Http404
    return chosen


def _refuse(request: Request, refused: Refused, asked: str) -> HttpResponse:
    log.warning("sign-on: nobody was let in from %s: %s", address_of(request), refused.found or refused)
    return login_page(request, message=str(refused), asked=asked, status=refused.status)


addresses = (
    path("login/hospital/", sign_on, name="sign_on"),
    path("login/hospital/back/", back, name="sign_on_back"),
    path("login/hospital/enter/", come_in, name="sign_on_enter"),
)
