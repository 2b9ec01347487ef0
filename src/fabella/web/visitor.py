"""Who is at the door: a person with an account, or on this machine alone the clinician who needs none."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import UTC, date, datetime
from urllib.parse import quote

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token

from fabella.store import Actor, Role
from fabella.store.accounts.keeping import SERVICE, has_accounts
from fabella.store.accounts.models import Account
from fabella.store.exams.codes import ExamPass
from fabella.store.school.learner import ClassPass
from fabella.web.passes import DEVICE, bearer_of, exam_pass_of
from fabella.web.sessions import has_ended

PERSON = "X-Person"
"""The header that tells the worker in the browser for whom an answer was made."""

LOCAL = "local"
"""The name under which the clinician at this machine acts."""

_FORWARDED = ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED", "HTTP_VIA", "HTTP_X_REAL_IP")


class Request(HttpRequest):
    """A request as the pages see it.

    ``actor`` is the person at the door, None when nobody has said who they are; ``person`` is the same for
    pages that the door opens to known people only. ``bearer`` is the browser if it has the pass of a class,
    whoever sits at it, ``exam_pass`` what the code lets them do that was shown there, and ``holder`` the same
    for pages that the door opens to whoever has shown one. ``today`` is the day where this machine stands.
    """

    actor: Actor | None
    person: Actor
    bearer: ClassPass | None
    exam_pass: ExamPass | None
    holder: ExamPass
    device: str
    now: datetime
    today: date


class WhoIsThere:
    """Adds person, device and time to every request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: Request) -> HttpResponse:
        """Answer a request, and give a new device its name.

        Not with what is no page and no word about a patient, such as what the worker in the browser fetches
        by itself: asked for in the same moment as a page, it would bring another name than the page has.
        """
        known = DEVICE.read(request)
        request.now = datetime.now(tz=UTC)
        request.device = known or secrets.token_hex(8)
        request.today = request.now.astimezone().date()
        request.actor, request.bearer = _actor(request), bearer_of(request)
        request.exam_pass = exam_pass_of(request)
        if request.actor is not None:
            request.person = request.actor
        if request.exam_pass is not None:
            request.holder = request.exam_pass
        has_scripts = request.actor is not None or request.exam_pass is not None
        if has_scripts and settings.CSRF_COOKIE_NAME not in request.COOKIES:
            get_token(request)  # they need it on every page, not only on those with a form
        person = _person(request)
        response = self._get_response(request)
        response.headers[PERSON] = person
        may_be_named = not _is_part_of_the_program(response) and not _has_left_its_name_behind(request)
        if known is None and may_be_named:
            DEVICE.give(request, response, request.device)
        return response


def _is_part_of_the_program(response: HttpResponse) -> bool:
    """Say whether an answer is the same for everybody until the program changes."""
    is_script = response.headers.get("Content-Type", "").startswith("text/javascript")
    return is_script or "immutable" in response.headers.get("Cache-Control", "")


def _comes_from_elsewhere(request: Request) -> bool:
    """Say whether a page of another site led here: then a browser sends none of our cookies along."""
    return bool(request.headers.get("Sec-Fetch-Site") == "cross-site")


def _has_left_its_name_behind(request: Request) -> bool:
    """Say whether a browser may have a name that it did not send: another one would part it from what waits.

    Browsers that do not tell where they come from are known by the address to which a provider sends them.
    """
    match = request.resolver_match
    is_back = match is not None and match.url_name == "sign_on_back"
    is_nobody = request.actor is None and request.bearer is None and request.exam_pass is None
    return is_back or (is_nobody and _comes_from_elsewhere(request))


def _actor(request: Request) -> Actor | None:
    account = request.user
    if isinstance(account, Account) and not has_ended(request.session, account, now=request.now):
        return account.at(request.device)
    if _is_this_machine(request) and not has_accounts():
        return local_clinician(request.device)
    return None


def local_clinician(device: str) -> Actor:
    """Return the clinician at this machine, who needs no account while there is none."""
    roles = frozenset({Role.CLINICIAN, Role.ADMINISTRATOR, Role.TEACHER})
    return Actor(name=LOCAL, shown="Clinician at this machine", roles=roles, service=SERVICE, device=device)


def _person(request: Request) -> str:
    """Return for whom an answer is made: account and code together, since a browser may have both."""
    names = [each.name for each in (request.actor, request.exam_pass) if each is not None]
    return "+".join(map(quote, names)) or "(nobody)"


def _is_this_machine(request: Request) -> bool:
    """Say whether a request comes from this machine itself, and not through something that forwards."""
    return settings.FABELLA.is_loopback and not any(name in request.META for name in _FORWARDED)
