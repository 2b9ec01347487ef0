"""Signed cookies: the name of a browser, and the passes that it bears instead of an account."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from fabella.store.exams.codes import ExamPass, pass_of
from fabella.store.school.learner import ClassPass
from fabella.web.forms import typed_whole

_HOUR_S = 60 * 60
_DAY_S = 24 * _HOUR_S


@dataclass(frozen=True, slots=True)
class SignedCookie:
    """A cookie that nobody but this server can have written, and how long a browser keeps it."""

    name: str
    kept_s: int

    def read(self, request: HttpRequest, *, longest_s: int | None = None) -> str | None:
        """Return what a browser bears; None when it has none that we gave, or not within ``longest_s``."""
        return request.get_signed_cookie(self.name, default=None, salt=self.name, max_age=longest_s)

    def give(self, request: HttpRequest, response: HttpResponse, value: str) -> None:
        """Let a browser bear it, in the place of any other of that name."""
        response.set_signed_cookie(
            self.name,
            value,
            salt=self.name,
            max_age=self.kept_s,
            httponly=True,
            samesite="Strict",
            secure=request.is_secure(),
        )

    def take_back(self, response: HttpResponse) -> None:
        """Let a browser forget it."""
        response.delete_cookie(self.name, samesite="Strict")


DEVICE = SignedCookie("fabella_device", 365 * _DAY_S)
"""The name by which a browser is known."""

CLASS_PASS = SignedCookie("fabella_pass", 200 * _DAY_S)  # a term and its holidays
"""A random secret, by which a browser's runs are its own alone: without it they are nobody's to see."""

EXAM_PASS = SignedCookie("fabella_exam", 16 * _HOUR_S)  # an exam day; the code can be shown again
"""The id of the code that was shown in this browser."""


def bearer_of(request: HttpRequest) -> ClassPass | None:
    """Return the pass of a class that a browser bears, None when it has none that we gave."""
    secret = CLASS_PASS.read(request)
    return None if secret is None else ClassPass(secret)


def exam_pass_of(request: HttpRequest) -> ExamPass | None:
    """Return the pass of an exam that a browser bears; None without one, or when its code was taken back."""
    number = typed_whole(EXAM_PASS.read(request, longest_s=EXAM_PASS.kept_s) or "")
    return pass_of(number) if number else None
