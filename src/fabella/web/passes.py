"""The pass of a class: a random secret in a signed cookie, by which a browser's runs are its own alone."""

from __future__ import annotations

import secrets

from django.http import HttpRequest, HttpResponse

from fabella.store import Actor, NotThere
from fabella.store.school.learner import ClassPass, Learner
from fabella.store.school.practising import owns
from fabella.web.pass_cookies import drop_pass, put_pass

COOKIE = "fabella_pass"
_KEPT_S = 200 * 24 * 60 * 60  # a term and its holidays


def bearer_of(request: HttpRequest) -> ClassPass | None:
    """Return the pass that a browser bears, None when it has none that we gave."""
    secret = request.get_signed_cookie(COOKIE, default=None, salt=COOKIE)
    return None if secret is None else ClassPass(secret)


def new_pass() -> ClassPass:
    """Return a pass that nobody has yet."""
    return ClassPass(secrets.token_hex(16))


def give(response: HttpResponse, bearer: ClassPass, *, encrypted: bool) -> None:
    """Let a browser bear a pass."""
    put_pass(response, COOKIE, bearer.secret, kept_s=_KEPT_S, encrypted=encrypted)


def take_back(response: HttpResponse) -> None:
    """Let a browser forget its pass: what was practised by it is then nobody's to see."""
    drop_pass(response, COOKIE)


def owner_of(run_id: int, actor: Actor | None, bearer: ClassPass | None) -> Learner:
    """Return as whom a run may be seen, the account or the pass; raise `NotThere` when it is neither's."""
    for learner in (actor, bearer):
        if learner is not None and owns(learner, run_id):
            return learner
    raise NotThere("There is no such practice run of yours.")
