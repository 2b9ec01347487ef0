import logging
import re
import threading
import time
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.db import connections
from django.test import Client
from django.test.utils import override_settings
from django.urls import resolve

from fabella.store import Role
from fabella.store.accounts.keeping import close_account, open_account, set_password
from fabella.store.accounts.models import Account
from fabella.store.clinic.models import Patient
from fabella.web import sessions
from fabella.web.attempts import FOR_A_NAME, FOR_AN_ADDRESS, Attempts, attempts
from fabella.web.sessions import clear_old_sessions
from fabella.web.settings import settings_of
from tests.web.walking import PARTS, WITHOUT_SIGN_ON_NOT_THERE, Route, routes

PHRASE = "seven grey herons wade"
ROUTES = list(routes())
OTHERS = [role for role in Role if role is not Role.CLINICIAN]


def enter(client: Client, *roles: Role, name: str = "one") -> Client:
    """Open an account with these roles and log in by it."""
    open_account(name, password=PHRASE, roles=roles)
    answer = client.post("/login/", {"name": name, "password": PHRASE})
    assert answer.status_code == 302
    return client


def ask(client: Client, route: Route) -> Any:
    """Open an address, by the method that it takes."""
    return client.post(route.address) if route.sends_only else client.get(route.address)


def of_patients() -> list[str]:
    """What stands on a page only if it shows a patient."""
    return [text for each in Patient.objects.all() for text in (each.label, each.number)]


def test_a_name_of_a_megabyte_is_not_remembered(client: Client) -> None:
    """Whoever guesses says what is counted: of each attempt no more than a name is long stays in memory."""
    attempts.forget()
    assert client.post("/login/", {"name": "x" * 1_000_000, "password": "no"}).status_code == 403
    assert max(len(part) for key in attempts._failed for part in key) <= 80
    attempts.forget()


@override_settings(ALLOWED_HOSTS=["localhost"])
def test_an_address_cannot_write_lines_of_its_own_into_the_log(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    """A form from elsewhere, or another name than the server's, is logged with the address that was asked."""
    with caplog.at_level(logging.WARNING):
        Client(enforce_csrf_checks=True, SERVER_NAME="localhost").post("/days/x%0Aroot%1B%5B2K/")
        client.get("/x%0Aroot/", SERVER_NAME="elsewhere.test")
    told = [each.getMessage() for each in caplog.records if each.name == "fabella.web.errors"]
    assert [each.isprintable() for each in told] == [True, True]
    assert all("x%0Aroot" in each for each in told)


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_every_page_declares_who_may_enter(route: Route) -> None:
    """No address is without a declaration; what is of a patient or a visit is for clinicians alone."""
    assert route.entrance is not None
    if route.address.startswith(("/evidence/", "/protocol/", "/api/signs", "/practice/", "/api/practice/")):
        assert route.roles == frozenset(Role)
    elif route.address.startswith("/api/mark/") or route.name in {"mark_sheets", "mark_result", "mark_page"}:
        assert route.roles == frozenset(), "a code opens it, and no account"
    elif route.address.startswith(("/teach/", "/exams/")):
        assert route.roles == frozenset({Role.TEACHER})
    elif route.address.startswith(("/class/", "/mark/")):
        assert route.roles is None
    elif route.parts or route.address.startswith(("/patients/", "/visits/", "/api/")):
        assert route.roles == frozenset({Role.CLINICIAN})


@pytest.mark.parametrize("role", OTHERS)
def test_whoever_is_no_clinician_never_reaches_a_patient(role: Role, demo: Client) -> None:
    """By every address of the table, and every method, no other account gets a word about any patient."""
    enter(demo, role)
    secret = of_patients()
    for route in ROUTES:
        assert route.entrance is not None
        for method in route.entrance.methods:
            demo.force_login(Account.objects.get(name="one"))
            answer = demo.generic(method, route.address)
            allowed = route.roles is None or role in route.roles
            if method != "POST" or not allowed:
                assert (answer.status_code == 403) is not allowed, (route.name, method)
            body = answer.content.decode(errors="replace")
            assert not [text for text in secret if text in body], (route.name, method)


def test_a_clinician_of_another_service_reaches_none_of_its_patients(demo: Client) -> None:
    """A clinician of another service finds no patient and no visit, by any address."""
    open_account("hip", password=PHRASE, roles=[Role.CLINICIAN], service="hip")
    secret = of_patients()
    for route in ROUTES:
        demo.force_login(Account.objects.get(name="hip"))
        answer = ask(demo, route)
        if route.parts & {"patient_id", "visit_id"}:
            assert answer.status_code == 404, route.name
        body = answer.content.decode(errors="replace")
        assert not [text for text in secret if text in body], route.name


def test_nobody_is_let_in_unknown_once_there_is_an_account(demo: Client) -> None:
    """Pages lead whoever is unknown to the door, with the way back; scripts are told in the one shape."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    for route in ROUTES:
        answer = ask(demo, route)
        assert route.entrance is not None
        if route.entrance.exam is not None:
            if route.address.startswith("/api/"):
                assert (answer.status_code, answer.json()["error"]["code"]) == (401, "no_code")
            else:
                assert (answer.status_code, answer.headers["Location"]) == (302, "/mark/"), route.name
        elif route.roles is None:
            not_there = {"authority", *WITHOUT_SIGN_ON_NOT_THERE}
            assert answer.status_code == (404 if route.name in not_there else 200), route.name
        elif route.address.startswith("/api/"):
            assert (answer.status_code, answer.json()["error"]["code"]) == (401, "nobody_there")
        else:
            assert answer.status_code == 302, route.name
            assert answer.headers["Location"].startswith("/login/")
    back = demo.get("/patients/").headers["Location"]
    assert demo.post(back, {"name": "ann", "password": PHRASE, "next": "/patients/"}).headers["Location"] == (
        "/patients/"
    )


def test_what_was_typed_is_not_led_away_by_whoever_was_logged_out(client: Client) -> None:
    """The page says that nothing was sent; the worker in the browser then stays where it was typed."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    answer = client.post(
        "/patients/new/", {"number": "K-1", "label": "Ida Invented", "csrfmiddlewaretoken": "x"}
    )
    assert answer.status_code == 401
    assert "You were logged out meanwhile, and nothing was sent." in answer.content.decode()
    assert "Ida" not in answer.content.decode()
    assert not Patient.objects.exists()
    assert client.post("/logout/", {"csrfmiddlewaretoken": "x"}).status_code == 302


def test_on_this_machine_alone_no_account_is_needed(client: Client) -> None:
    """While there is no account, whoever sits at the machine is its clinician."""
    answer = client.get("/")
    assert answer.status_code == 200
    assert "Clinician at this machine" in answer.content.decode()


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "Via", "X-Real-IP"])
def test_what_was_forwarded_is_not_this_machine(client: Client, header: str) -> None:
    """A request that something passed on from elsewhere needs an account, though it arrives from here."""
    assert client.get("/", headers={header: "10.0.0.7"}).status_code == 302


def test_reached_from_elsewhere_an_account_is_needed(client: Client) -> None:
    """A server that other machines can reach has no clinician without an account."""
    from django.conf import settings  # noqa: PLC0415  as configured now

    options = settings.FABELLA
    elsewhere = type(options)(data=options.data, host="192.0.2.7")
    with override_settings(FABELLA=elsewhere):
        assert client.get("/").status_code == 302


def test_an_undeclared_page_lets_nobody_in(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page whose author forgot the declaration is closed to everybody, the local clinician included."""
    monkeypatch.delattr(resolve("/help/").func, "entrance")
    answer = client.get("/help/")
    assert (answer.status_code, "nobody may" in answer.content.decode()) == (403, True)


def test_a_wrong_password_stays_outside(client: Client) -> None:
    """Wrong name and wrong password get the same answer, which tells neither."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    wrong = client.post("/login/", {"name": "ann", "password": "no"})
    unknown = client.post("/login/", {"name": "eve", "password": "no"})
    assert wrong.status_code == unknown.status_code == 403
    assert "do not fit together" in wrong.content.decode()
    one, other = (
        re.sub(r'value="(ann|eve|[A-Za-z0-9]{64})"', "", each.content.decode()) for each in (wrong, unknown)
    )
    assert one == other


def test_guessing_is_stopped(client: Client) -> None:
    """After five failures even the right password has to wait; other names may still try."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    open_account("ben", password=PHRASE, roles=[Role.CLINICIAN])
    for _ in range(FOR_A_NAME):
        assert client.post("/login/", {"name": "ann", "password": "no"}).status_code == 403
    assert client.post("/login/", {"name": "ann", "password": PHRASE}).status_code == 429
    assert client.post("/login/", {"name": "ben", "password": PHRASE}).status_code == 302


def test_guesses_are_counted_where_they_come_from(client: Client) -> None:
    """Behind something that forwards, whoever guesses stops themselves and not the ward."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    guess, right = {"name": "ann", "password": "no"}, {"name": "ann", "password": PHRASE}
    for claimed in range(FOR_A_NAME):
        forwarded = {"X-Forwarded-For": f"192.0.2.{claimed}, 198.51.100.9"}
        assert client.post("/login/", guess, headers=forwarded).status_code == 403
    attacker, ward = {"X-Forwarded-For": "198.51.100.9"}, {"X-Forwarded-For": "198.51.100.1"}
    assert client.post("/login/", right, headers=attacker).status_code == 429
    assert client.post("/login/", right, headers=ward).status_code == 302


@pytest.mark.parametrize(
    ("guesses", "is_stopped"),
    [
        ([f"2001:db8:7:1::{number:x}" for number in range(1, 7)], True),
        ([f"2001:db8:7:{number}::1" for number in range(1, 7)], False),
        (["192.0.2.7", "::ffff:192.0.2.7", "::ffff:c000:207"] * 2, True),
        (["::ffff:192.0.2.7", *(f"::ffff:192.0.2.{number}" for number in range(1, 6))], False),
    ],
    ids=["one network", "several networks", "one, written otherwise", "several, written otherwise"],
)
def test_an_address_of_its_own_choice_gets_nobody_another_guess(
    client: Client, guesses: list[str], *, is_stopped: bool
) -> None:
    """Of IPv6 a machine chooses half of its address itself (RFC 4291, 2.5.1): only the other is counted."""
    attempts.forget()
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    *earlier, last = guesses
    for address in earlier:
        client.post("/login/", {"name": "ann", "password": "no"}, headers={"X-Forwarded-For": address})
    answer = client.post("/login/", {"name": "ann", "password": PHRASE}, headers={"X-Forwarded-For": last})
    assert answer.status_code == (429 if is_stopped else 302)
    attempts.forget()


def test_a_server_that_others_reach_believes_no_forwarded_address(client: Client) -> None:
    """Where nothing forwards, an address that a client makes up does not get it another guess."""
    from django.conf import settings  # noqa: PLC0415  as configured now

    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    options = settings.FABELLA
    with override_settings(FABELLA=type(options)(data=options.data, host="192.0.2.7")):
        for number in range(FOR_A_NAME):
            claimed = {"X-Forwarded-For": f"198.51.100.{number}"}
            client.post("/login/", {"name": "ann", "password": "no"}, headers=claimed)
        assert client.post("/login/", {"name": "ann", "password": PHRASE}).status_code == 429


def test_guesses_made_at_once_are_no_more_than_one_after_the_other() -> None:
    """An attempt counts while it goes on; one that succeeds, or was none, is taken back."""
    tried, now = Attempts(), datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    at_once = [tried.may_try("ann", "ward", now) for _ in range(2 * FOR_A_NAME)]
    assert at_once == [True] * FOR_A_NAME + [False] * FOR_A_NAME
    tried.take_back("ann", "ward")
    assert [tried.may_try("ann", "ward", now) for _ in range(2)] == [True, False]
    tried.succeeded("ann", "ward")
    assert tried.may_try("ann", "ward", now)


def test_a_ward_that_logs_in_is_not_counted(client: Client) -> None:
    """Forty people who know their passwords enter from one address within a quarter of an hour."""
    attempts.forget()
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    for _ in range(FOR_AN_ADDRESS + 10):
        assert client.post("/login/", {"name": "ann", "password": PHRASE}).status_code == 302


def test_few_passwords_are_hashed_at_once(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each hash takes 100 MB: twenty that are sent in the same moment wait for each other, four at a time."""
    attempts.forget()
    counting, going_on, most = threading.Lock(), 0, 0

    def slowly(*_: Any, **__: Any) -> None:
        nonlocal going_on, most
        with counting:
            going_on += 1
            most = max(most, going_on)
        time.sleep(0.05)
        with counting:
            going_on -= 1

    monkeypatch.setattr("fabella.web.hashing.authenticate", slowly)
    monkeypatch.setattr("fabella.web.pages.account.note_refused", lambda *_: None)
    answers: list[int] = []

    def guess(number: int) -> None:
        browser = Client(SERVER_NAME="localhost")
        answers.append(browser.post("/login/", {"name": f"n{number}", "password": "no"}).status_code)
        connections.close_all()

    threads = [threading.Thread(target=guess, args=(number,)) for number in range(20)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert (answers, most) == ([403] * 20, 4)
    attempts.forget()
    del client


def test_the_log_tells_who_came_and_who_was_refused(client: Client, caplog: pytest.LogCaptureFixture) -> None:
    """Log-ins, refusals and leaving are a line each, with the address; nothing typed as a name goes there."""
    attempts.forget()
    open_account("sam", password=PHRASE, roles=[Role.STUDENT])
    with caplog.at_level(logging.INFO):
        client.post("/login/", {"name": "sam", "password": "wrong one"})
        client.post("/login/", {"name": PHRASE, "password": ""})
        client.post("/login/", {"name": "sam", "password": PHRASE})
        client.get("/patients/1/")
        client.post("/logout/")
        client.post("/mark/", {"code": "AAAAAAAA"})
    told = [each.getMessage() for each in caplog.records if each.name.startswith("fabella.web")]
    why = "name and password do not fit together, or it is closed"
    assert told == [
        f"refused a log-in as sam from 127.0.0.1: {why}",
        f"refused a log-in as a name that no account has from 127.0.0.1: {why}",
        "sam logged in from 127.0.0.1 by a password",
        "refused GET /patients/1/ to sam",
        "sam logged out from 127.0.0.1",
        "refused a code of an exam from 127.0.0.1",
    ]


def test_the_door_leads_nowhere_else(client: Client) -> None:
    """A way back that is no page of ours is ignored."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    for elsewhere in ("//elsewhere.test/", "https:" + "//elsewhere.test/", "javascript:alert(1)", "patients"):
        answer = client.post("/login/", {"name": "ann", "password": PHRASE, "next": elsewhere})
        assert answer.headers["Location"] == "/", elsewhere


def test_leaving_ends_the_session(client: Client) -> None:
    """After leaving, the same browser is unknown again."""
    enter(client, Role.CLINICIAN)
    assert client.get("/").status_code == 200
    assert re.search(r'action="/logout/">.*?>Log out</button>', client.get("/").content.decode(), re.DOTALL)
    client.post("/logout/")
    assert client.get("/").status_code == 302


def test_closing_an_account_and_a_new_password_end_its_sessions(client: Client) -> None:
    """Whoever is inside by an account is outside as soon as it is closed or its password changed."""
    enter(client, Role.CLINICIAN)
    set_password("one", PHRASE + " now")
    assert client.get("/").status_code == 302
    client.post("/login/", {"name": "one", "password": PHRASE + " now"})
    open_account("two", password=PHRASE, roles=[Role.CLINICIAN])
    close_account("one")
    assert client.get("/").status_code == 302


def test_sessions_that_are_over_are_forgotten_at_the_next_start(client: Client) -> None:
    """Of one that is too old nothing stays in the database; one that goes on stays."""
    enter(client, Role.CLINICIAN)
    Session.objects.create(
        session_key="old",
        session_data="",
        expire_date=datetime.now(tz=UTC) - timedelta(1),  # noqa: TID251
    )
    clear_old_sessions()
    assert [each.session_key for each in Session.objects.all()] == [client.session.session_key]
    assert client.get("/").status_code == 200


def test_a_session_left_alone_ends(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """An hour without a request ends a session; requests in between keep it."""
    enter(client, Role.CLINICIAN)
    assert client.get("/").status_code == 200
    monkeypatch.setattr(sessions, "IDLE", timedelta(seconds=-1))
    assert client.get("/").status_code == 302


def test_a_clock_that_is_set_back_keeps_no_session_alive(client: Client) -> None:
    """A session that was last used in what is now the future ends too, instead of lasting until then."""
    enter(client, Role.CLINICIAN)
    assert client.get("/").status_code == 200
    session = client.session
    session["seen"] = (datetime.fromisoformat(session["seen"]) + timedelta(days=1)).isoformat()
    session.save()
    assert client.get("/").status_code == 302


def test_a_clock_that_is_set_back_shuts_nobody_out() -> None:
    """Failures count for a quarter of an hour, not until the clock has come where it was before."""
    tried, now = Attempts(), datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    for _ in range(FOR_A_NAME):
        assert tried.may_try("ann", "ward", now)
    assert [tried.may_try("ann", "ward", now - timedelta(minutes=each)) for each in (0, 60)] == [False, True]


def test_cookies_are_for_this_site_only(client: Client) -> None:
    """Session, device and form token go to no other site; scripts read the form token alone."""
    enter(client, Role.CLINICIAN)
    client.get("/patients/new/")
    for name, cookie in client.cookies.items():
        assert cookie["samesite"] == "Strict", name
        assert bool(cookie["httponly"]) is (name != "fabella_csrf"), name
    assert set(client.cookies) == {"fabella_session", "fabella_device", "fabella_csrf"}


def test_over_tls_no_cookie_leaves_without_it(client: Client) -> None:
    """Asked over TLS, every cookie is marked to be sent over TLS only, and bound to this very name."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    client.get("/login/", secure=True)
    client.post("/login/", {"name": "ann", "password": PHRASE}, secure=True)
    assert {name: cookie["secure"] for name, cookie in client.cookies.items()} == dict.fromkeys(
        ("__Host-fabella_device", "__Host-fabella_csrf", "__Host-fabella_session"), True
    )
    for name, cookie in client.cookies.items():  # RFC 6265bis, section 4.1.3.2: or no browser takes it
        assert (cookie["path"], cookie["domain"], cookie["samesite"]) == ("/", "", "Strict"), name
        assert bool(cookie["httponly"]) is (name != "__Host-fabella_csrf"), name


def test_what_a_neighbouring_name_sets_takes_no_place_over_tls(client: Client) -> None:
    """Of two cookies the one counts that no other name can set."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    client.post("/login/", {"name": "ann", "password": PHRASE}, secure=True)
    for name in ("fabella_session", "fabella_csrf", "fabella_device"):
        client.cookies[name] = "x" * 32
    answer = client.get("/", secure=True)
    assert answer.status_code == 200
    assert "Log out" in answer.content.decode()
    assert "__Host-fabella_device" not in answer.cookies


def test_a_plain_name_counts_for_nothing_over_tls(client: Client) -> None:
    """A neighbouring name could give a browser that is new here a session or device of its own."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    client.post("/login/", {"name": "ann", "password": PHRASE})
    client.get("/patients/new/")
    plain = {name: cookie.value for name, cookie in client.cookies.items()}
    assert set(plain) == {"fabella_session", "fabella_device", "fabella_csrf"}
    answer = client.get("/patients/new/", secure=True)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/login/?next=%2Fpatients%2Fnew%2F")
    client.get("/login/", secure=True)
    for name in ("fabella_csrf", "fabella_device"):
        assert client.cookies[f"__Host-{name}"].value != plain[name], name


def test_leaving_takes_the_cookie_back_over_tls(client: Client) -> None:
    """A browser lets go of a name with that prefix only if it is told so as it was given it."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    client.post("/login/", {"name": "ann", "password": PHRASE}, secure=True)
    client.post("/logout/", secure=True)
    taken = {name: each for name, each in client.cookies.items() if each["max-age"] == 0}
    assert set(taken) == {"__Host-fabella_session"}
    assert (taken["__Host-fabella_session"]["secure"], taken["__Host-fabella_session"]["path"]) == (True, "/")


def test_a_device_name_cannot_be_made_up(client: Client) -> None:
    """A device whose cookie we did not sign is given a new name."""
    client.cookies["fabella_device"] = "mine:forged:signature"
    assert client.get("/").cookies["fabella_device"].value != "mine:forged:signature"


def test_only_what_is_about_somebody_names_a_device(client: Client) -> None:
    """What a browser fetches by itself beside a page brings it no name other than the one the page has."""
    for address in (f"/api/signs.{PARTS['digest']}.json", "/worker.js"):
        answer = client.get(address)
        assert answer.status_code == 200
        assert "fabella_device" not in answer.cookies, address
    for address in ("/", "/api/visits/1"):  # programs ask for no page
        client.cookies.clear()
        assert "fabella_device" in client.get(address).cookies, address


def test_the_parts_of_addresses_are_all_known() -> None:
    """Every part of every address has a value here, so that the walk reaches real pages."""
    assert {part for route in ROUTES for part in route.parts} == set(PARTS)


def test_settings_hold_the_door() -> None:
    """No password validator, hasher or middleware of the door was lost from the settings."""
    from django.conf import settings  # noqa: PLC0415

    made = settings_of(settings.FABELLA)
    assert made["PASSWORD_HASHERS"] == ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    assert "django.middleware.csrf.CsrfViewMiddleware" in made["MIDDLEWARE"]
    assert made["MIDDLEWARE"][-2:] == [
        "fabella.web.doorkeeper.Doorkeeper",
        "fabella.web.null_characters.NoNullCharacters",
    ]
    assert made["DEBUG"] is False
