"""Saying who one is, and taking one's leave."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.contrib.auth import authenticate, login, logout
from django.http import HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters

from fabella.web.attempts import address_of, attempts
from fabella.web.door import SENDING, enter_known, enter_unknown
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class LoginPage:
    """The form for name and password."""

    template: ClassVar[str] = "login.html"

    name: str = field(metadata=said("The name as typed."))
    message: str = field(metadata=said("Why the door stays shut; empty before the first attempt."))
    next: str = field(metadata=said("The page that was asked for; empty for the start."))


_WRONG = "Name and password do not fit together."
_WAIT = "There were too many attempts. Please wait a quarter of an hour, or ask whoever keeps the accounts."


@sensitive_post_parameters("password")
@enter_unknown(methods=SENDING)
def log_in(request: Request) -> HttpResponse:
    """Let somebody in who gives a name and its password."""
    asked = request.POST.get("next", request.GET.get("next", ""))
    if request.method != "POST":
        return render(request, LoginPage(name="", message="", next=asked))
    name, address = request.POST.get("name", ""), address_of(request)
    if not attempts.may_try(name, address, request.now):
        return render(request, LoginPage(name=name, message=_WAIT, next=asked), status=429)
    account = authenticate(request, username=name, password=request.POST.get("password", ""))
    if account is None:
        attempts.failed(name, address, request.now)
        return render(request, LoginPage(name=name, message=_WRONG, next=asked), status=403)
    attempts.succeeded(name, address)
    login(request, account)
    return HttpResponseRedirect(asked if _is_ours(asked) else url("start"))


@enter_known(methods=("POST",))
def log_out(request: Request) -> HttpResponse:
    """Let somebody go."""
    logout(request)
    return HttpResponseRedirect(url("login"))


def _is_ours(asked: str) -> bool:
    return url_has_allowed_host_and_scheme(asked, allowed_hosts=None) and asked.startswith("/")
