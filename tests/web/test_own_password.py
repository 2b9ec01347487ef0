"""One's own password: changed by whoever knows it, and by nobody who has only found the page open."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.test.utils import override_settings

from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.web.attempts import FOR_A_NAME, attempts
from fabella.web.sign_on.chosen import SignOn

PHRASE, OTHER = "seven grey herons wade", "nine brown otters dive"
PAGE = "/password/"


@pytest.fixture(autouse=True)
def nobody_counted() -> Iterator[None]:
    """Nothing is counted against anybody."""
    attempts.forget()
    yield
    attempts.forget()


@pytest.fixture
def ann(client: Client) -> Client:
    """Somebody who is logged in."""
    open_account("ann", password=PHRASE, roles=[Role.STUDENT])
    return entered(client, PHRASE)


def entered(browser: Client, password: str) -> Client:
    """Log in."""
    assert browser.post("/login/", {"name": "ann", "password": password}).status_code == 302
    return browser


def change(browser: Client, current: str, new: str, again: str | None = None) -> Any:
    """Send the form."""
    return browser.post(PAGE, {"current": current, "new": new, "again": new if again is None else again})


def words(answer: Any) -> str:
    """What a page says."""
    return unescape(re.sub(r"\s+", " ", answer.content.decode()))


def test_whoever_knows_it_changes_it_and_is_logged_out_elsewhere(
    ann: Client, caplog: pytest.LogCaptureFixture
) -> None:
    """The new one enters and the old one does not; this browser goes on, in a new session, and no other."""
    elsewhere = entered(Client(SERVER_NAME="localhost"), PHRASE)
    before = ann.cookies["fabella_session"].value
    with caplog.at_level(logging.INFO):
        answer = change(ann, PHRASE, OTHER)
    assert (answer.status_code, "is changed" in words(ann.get(answer.headers["Location"]))) == (302, True)
    assert ann.cookies["fabella_session"].value != before
    assert elsewhere.get(PAGE).status_code == 302
    assert (
        Client(SERVER_NAME="localhost").post("/login/", {"name": "ann", "password": PHRASE}).status_code
        == 403
    )
    entered(Client(SERVER_NAME="localhost"), OTHER)
    assert "ann changed their own password from 127.0.0.1" in caplog.text
    assert OTHER not in caplog.text


@pytest.mark.parametrize(
    ("typed", "status", "says"),
    [
        (("wrong", OTHER, OTHER), 403, "This does not fit your account"),
        ((PHRASE, OTHER, "nine brown otters"), 400, "This is not the same"),
        ((PHRASE, "short", "short"), 400, "too short"),
        ((PHRASE, "", ""), 400, "too short"),
        ((PHRASE, "123456789012", "123456789012"), 400, "entirely numeric"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field(
    ann: Client, typed: tuple[str, str, str], status: int, says: str
) -> None:
    """Nothing is changed, nothing typed comes back, and the old password goes on."""
    answer = change(ann, *typed)
    assert (answer.status_code, says in words(answer)) == (status, True)
    assert 'aria-invalid="true"' in answer.content.decode()
    assert not [each for each in (PHRASE, OTHER) if each in answer.content.decode()]
    entered(Client(SERVER_NAME="localhost"), PHRASE)


def test_on_a_page_that_was_left_open_nobody_guesses(ann: Client, caplog: pytest.LogCaptureFixture) -> None:
    """Guesses count as at the door, and are told in the log; after five even the right one has to wait."""
    for _ in range(FOR_A_NAME):
        assert change(ann, "wrong", OTHER).status_code == 403
    assert change(ann, PHRASE, OTHER).status_code == 429
    told = "refused to change the password of ann from 127.0.0.1: "
    assert caplog.text.count(f"{told}the old one was not known") == FOR_A_NAME
    assert caplog.text.count(f"{told}too many attempts") == 1
    attempts.forget()
    entered(Client(SERVER_NAME="localhost"), PHRASE)


def test_who_has_none_is_told_so(client: Client) -> None:
    """At this machine without accounts, by the sign-on alone, and where passwords are for administrators."""
    assert "nobody needs an account" in words(client.get(PAGE))
    open_account("ann", password=None, roles=[Role.STUDENT], sign_on="staff-4711")
    open_account("ben", password=PHRASE, roles=[Role.STUDENT])
    from fabella.store.accounts.models import Account  # noqa: PLC0415  there only when the framework is

    for name, chosen in (("ann", None), ("ben", SignOn(issuer="i", client="c", secret="s", only=True))):  # noqa: S106
        client.force_login(Account.objects.get(name=name))
        with override_settings(FABELLA=replace(settings.FABELLA, sign_on=chosen)):
            for answer in (client.get(PAGE), change(client, PHRASE, OTHER)):
                assert "has no password" in words(answer), name
                assert 'name="current"' not in answer.content.decode()
    entered_ben = Client(SERVER_NAME="localhost").post("/login/", {"name": "ben", "password": PHRASE})
    assert entered_ben.status_code == 302


def test_nobody_changes_it_from_elsewhere(ann: Client) -> None:
    """Without a session, or without the token against forgery, the form is not read."""
    assert Client(SERVER_NAME="localhost").post(PAGE, {}).headers["Location"].startswith("/login/")
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    strict.cookies = ann.cookies
    assert change(strict, PHRASE, OTHER).status_code == 403
    entered(Client(SERVER_NAME="localhost"), PHRASE)
