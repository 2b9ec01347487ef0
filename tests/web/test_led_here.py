"""Links on other sites: whoever is logged in stays so, is given no second cookie, and is led nowhere else."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client

from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from tests.web.walking import routes

PHRASE = "seven grey herons wade"
LED = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}


def goes_on(answer: Any) -> str | None:
    """Where a page leads by itself; None when it stays."""
    found = re.search(r'http-equiv="refresh" content="0; url=([^"]+)"', answer.content.decode())
    return unescape(found[1]) if found else None


@pytest.fixture
def stranger(client: Client) -> Client:
    """A browser that keeps back its cookies, at a server with accounts."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    return client


@pytest.mark.parametrize("through", ["document", "empty"], ids=["directly", "through the worker"])
@pytest.mark.parametrize(
    "address", ["/", "/patients/?q=ada&x=%22%3E", "/login/?next=/help/", "/mark/", "/class/"]
)
def test_a_link_on_another_site_is_taken_up_from_here(stranger: Client, address: str, through: str) -> None:
    """The same address again, without a cookie of ours that would take the place of another."""
    answer = stranger.get(address, headers=LED | {"Sec-Fetch-Dest": through})
    assert (answer.status_code, goes_on(answer)) == (200, address)
    assert not answer.cookies
    assert "X-Person" not in answer.headers, "the worker in the browser lets go of what it holds for another"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]


def test_every_address_of_a_page_is_reached_so(stranger: Client) -> None:
    """No page shows anything on such a way, and each goes on to itself; what programs ask for too."""
    for route in routes():
        if not route.sends_only and route.name != "sign_on_back":
            answer = stranger.get(route.address, headers=LED)
            assert goes_on(answer) == route.address, route.name


def test_it_leads_round_nobody(stranger: Client) -> None:
    """Taken from here the step is the last, even of a browser that says it comes from elsewhere."""
    here = {"Referer": "http:" + "//localhost/patients/"}
    answer = stranger.get("/patients/", headers=LED | here)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/login/?next=%2Fpatients%2F")
    for other in ("http:" + "//localhost.elsewhere.test/", "http:" + "//elsewhere.test/?http://localhost/"):
        assert goes_on(stranger.get("/patients/", headers=LED | {"Referer": other})) == "/patients/"


@pytest.mark.parametrize(
    "path", ["//elsewhere.test/", "///elsewhere.test/", "/\\elsewhere.test/", "/;url=//elsewhere.test/"]
)
def test_it_leads_nowhere_else(stranger: Client, path: str) -> None:
    """An address that another reading would take for another server stays one of ours."""
    leads = goes_on(stranger.get("/", headers=LED, PATH_INFO=path))
    assert leads is not None
    assert re.match(r"/(?![/\\])", leads), leads


def test_whoever_has_a_cookie_needs_no_such_step(stranger: Client) -> None:
    """A browser that sends its cookies all the same is answered at once."""
    stranger.post("/login/", {"name": "ann", "password": PHRASE})
    answer = stranger.get("/patients/", headers=LED)
    assert (answer.status_code, goes_on(answer)) == (200, None)


@pytest.mark.parametrize(
    "told",
    [
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "none"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Mode": "no-cors"},
        {"Sec-Fetch-Mode": "cors"},
    ],
    ids=str,
)
def test_it_is_for_links_only(stranger: Client, told: dict[str, str]) -> None:
    """What a browser opens by itself, from here or as a part of another page is answered as ever."""
    assert stranger.get("/patients/", headers=LED | told).status_code == 302


def test_a_form_from_another_site_is_refused_and_gives_no_cookie(stranger: Client) -> None:
    """It is no link; the refusal takes the place of no cookie that the browser kept back."""
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    del stranger
    for address in ("/login/", "/logout/", "/class/", "/mark/", "/api/mark/events"):
        answer = strict.post(address, {}, headers=LED | {"Origin": "http:" + "//elsewhere.test"})
        assert (answer.status_code, list(answer.cookies)) == (403, []), address
