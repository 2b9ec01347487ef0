"""Where one is logged in: seen by oneself alone, and ended from another browser."""

from __future__ import annotations

import logging
import re
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.models import Session
from django.db import connections
from django.test import Client

from fabella.store import Role
from fabella.store.accounts.keeping import open_account, set_password
from fabella.web.browsers import browser_words
from fabella.web.sessions import IDLE

PHRASE, OTHER = "seven grey herons wade", "nine brown otters dive"
PAGE = "/logged-in/"
TABLET = (
    "Mozilla/5.0 (Linux; Android 14; Invented Tablet) AppleWebKit/537.36 (KHTML, like Gecko) "
    "Chrome/120.0.0.0 Safari/537.36"
)
DESK = "Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:120.0) Gecko/20100101 Firefox/120.0"
PHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 17_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
    "Version/17.0 Mobile/15E148 Safari/604.1"
)
MAC = (
    "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) "
    "Version/17.0 Safari/605.1.15"
)


def entered(name: str = "ann", browser: str = DESK, password: str = PHRASE) -> Client:
    """Log in with a browser of its own."""
    client = Client(SERVER_NAME="localhost", HTTP_USER_AGENT=browser)
    assert client.post("/login/", {"name": name, "password": password}).status_code == 302
    return client


@pytest.fixture
def ann(client: Client) -> Client:
    """Somebody who is logged in at a desk and on a tablet, beside somebody else."""
    del client
    for name in ("ann", "ben"):
        open_account(name, password=PHRASE, roles=[Role.CLINICIAN])
    return entered()


def words(answer: Any) -> str:
    """What a page says, with single spaces."""
    assert answer.status_code == 200
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())).split())


def handles(answer: Any) -> list[str]:
    """By what the page names the others."""
    return re.findall(r'name="session" value="([0-9a-f]+)"', answer.content.decode())


def is_inside(browser: Client) -> bool:
    """Whether a browser is still let in."""
    return browser.get("/password/").status_code == 200


def test_everybody_sees_where_they_are_logged_in_and_nobody_else(ann: Client) -> None:
    """In plain words, this one first; of nobody else, and without a word by which anybody could enter."""
    tablet, ben = entered(browser=TABLET), entered("ben")
    page = ann.get(PAGE)
    assert re.search(
        r"Firefox on a computer with Windows \d.* now this one "
        r"Chrome or one like it on an Android device \d.* Log it out Log out everywhere but here",
        words(page),
    )
    assert len(handles(page)) == 1
    assert "You are logged in nowhere else." in words(ben.get(PAGE))
    for each in Session.objects.all():
        assert each.session_key not in page.content.decode()
    assert "where you are logged in" in words(tablet.get("/help/"))


def test_one_other_browser_is_logged_out(ann: Client, caplog: pytest.LogCaptureFixture) -> None:
    """That one alone; pressed again it is over already, and nobody ends what is somebody else's, or here."""
    tablet = entered(browser=TABLET)
    (of_tablet,) = handles(ann.get(PAGE))
    (of_desk,) = handles(tablet.get(PAGE))
    desk, ben = entered(), entered("ben")
    with caplog.at_level(logging.INFO):
        answer = ann.post(PAGE, {"session": of_tablet})
    assert "One other browser is logged out" in words(ann.get(answer.headers["Location"]))
    assert "ann ended 1 of their other sessions from 127.0.0.1" in caplog.text
    assert [is_inside(each) for each in (ann, tablet, desk, ben)] == [True, False, True, True]
    for who, handle in ((ann, of_tablet), (ann, of_desk), (ben, of_desk), (ann, "x"), (ann, "")):
        answer = who.post(PAGE, {"session": handle})
        assert "it was over already" in words(who.get(answer.headers["Location"]))
    assert [is_inside(each) for each in (ann, tablet, desk, ben)] == [True, False, True, True]


def test_all_others_are_logged_out(ann: Client) -> None:
    """And this one goes on, as does everybody else."""
    others, ben = [entered(browser=TABLET), entered()], entered("ben")
    answer = ann.post(PAGE, {"step": "all"})
    assert "2 other browsers are logged out" in words(ann.get(answer.headers["Location"]))
    assert not any(map(is_inside, others))
    assert is_inside(ann)
    assert is_inside(ben)


def test_a_session_that_was_ended_does_not_come_back_with_what_it_noted(ann: Client) -> None:
    """A request that was under way when it was ended writes nothing anew."""
    tablet = entered(browser=TABLET)
    under_way = tablet.session
    under_way["seen"] = under_way["began"]
    ann.post(PAGE, {"step": "all"})
    with pytest.raises(UpdateError):
        under_way.save()
    assert not is_inside(tablet)


def test_where_the_use_of_a_session_cannot_be_noted_pages_are_shown_all_the_same(ann: Client) -> None:
    """On a full disk every page was answered as a fault of ours, five minutes after the last note."""
    session = ann.session
    session["seen"] = (datetime.fromisoformat(session["began"]) - timedelta(minutes=10)).isoformat()
    session.save()
    with connections["default"].cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")  # nothing can be written, as on a disk that is full
        try:
            answers = [ann.get(address) for address in ("/help/", "/evidence/", PAGE)]
            left = ann.post("/logout/")
        finally:
            cursor.execute("PRAGMA query_only = OFF")
    assert [each.status_code for each in answers] == [200] * 3
    assert left.status_code == 503
    assert "its disk may be full. This was not kept" in left.content.decode()
    assert is_inside(ann)


def test_what_lets_nobody_in_any_more_is_not_listed(ann: Client) -> None:
    """One left alone for an hour, and one that an earlier password began; a changed password ended it."""
    left = entered(browser=TABLET)
    session = left.session
    began = datetime.fromisoformat(session["began"])
    session["seen"] = (began - IDLE - timedelta(minutes=1)).isoformat()
    session.save()
    assert "You are logged in nowhere else." in words(ann.get(PAGE))
    set_password("ann", OTHER)
    assert not is_inside(ann)
    again = entered(password=OTHER)
    assert "You are logged in nowhere else." in words(again.get(PAGE))


def test_where_nobody_needs_an_account_nobody_is_logged_in(client: Client) -> None:
    """The clinician at this machine is told so, and pressing ends nothing."""
    assert "nobody is logged in" in words(client.get(PAGE))
    assert "nobody is logged in" in words(client.post(PAGE, {"step": "all"}))


@pytest.mark.parametrize(
    ("calls_itself", "told"),
    [
        # As browsers call themselves: MDN, "Browser detection using the user agent", and its examples.
        (DESK, "Firefox on a computer with Windows"),
        (TABLET, "Chrome or one like it on an Android device"),
        (PHONE, "Safari on an iPhone"),
        (MAC, "Safari on a Mac or an iPad"),
        (f"{TABLET} Edg/120.0.0.0", "Edge on an Android device"),
        ("fetcher/1.0 (Linux)", "A browser or program on a computer with Linux"),
        ("", "A browser or program of another kind"),
        ("<script>", "A browser or program of another kind"),
    ],
)
def test_a_browser_is_told_in_plain_words(calls_itself: str, told: str) -> None:
    """Never by what it says itself, which anybody may have made up."""
    assert browser_words(calls_itself) == told
