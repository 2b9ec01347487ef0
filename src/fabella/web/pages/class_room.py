"""A class for its students: a code lets them in without an account, patient after patient."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.store import NotThere
from fabella.store.school.classes import KeptClass, Stand, class_by_code
from fabella.store.school.learner import ClassPass
from fabella.store.school.seats import Seat, begin_next, seats_of
from fabella.teach.wording import CAUTION
from fabella.web.attempts import address_of, code_attempts
from fabella.web.door import SENDING, enter_unknown
from fabella.web.passes import CLASS_PASS
from fabella.web.teaching.class_lines import ClassLine, class_line
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_UNKNOWN = "There is no class with this code. Type its letters and digits as they stand on the board."
_WAIT = "There were too many wrong codes from here. Please wait a quarter of an hour."


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassDoorPage:
    """Where the code is entered."""

    template: ClassVar[str] = "class_door.html"

    code: str = field(metadata=said("The code as typed."))
    message: str = field(metadata=said("Why it does not open; empty before the first attempt."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassRoomPage:
    """A class, and how far this browser has come in it."""

    template: ClassVar[str] = "class_room.html"

    line: ClassLine = field(metadata=said("The class."))
    seats: tuple[Seat, ...] = field(metadata=said("Its patients in this student's order."))
    can_begin: bool = field(metadata=said("Whether another patient can be called in now."))
    has_begun: bool = field(metadata=said("Whether anything was begun here by this browser."))
    stand: Stand = field(metadata=said("Whether the class waits, is open or is over."))
    caution: str = field(metadata=said("What practising on people needs."))


@enter_unknown(methods=SENDING)
def class_door(request: Request) -> HttpResponse:
    """Ask for the code of a class, and lead to the class."""
    typed = request.POST.get("code", "")
    if request.method != "POST":
        return render(request, ClassDoorPage(code="", message=""))
    kept = _found(request, typed)
    if isinstance(kept, KeptClass):
        return HttpResponseRedirect(url("class_room", code=kept.code))
    return kept


@enter_unknown(methods=SENDING)
def class_room(request: Request, code: str) -> HttpResponse:
    """Show a class to whoever knows its code; call in the next patient, or let the browser forget all."""
    kept = _found(request, code)
    if isinstance(kept, HttpResponse):
        return kept
    if request.method == "POST" and request.POST.get("step") == "leave":
        answer = HttpResponseRedirect(url("class_door"))
        CLASS_PASS.take_back(answer)
        return answer
    if request.method == "POST":
        bearer = request.bearer or ClassPass(secrets.token_hex(16))
        run = begin_next(bearer, kept, now=request.now)
        answer = HttpResponseRedirect(url("practice_run", run_id=run))
        if request.bearer is None:
            CLASS_PASS.give(request, answer, bearer.secret)
        return answer
    seats = seats_of(request.bearer or ClassPass(""), kept)
    stand = kept.stand(request.now)
    page = ClassRoomPage(
        line=class_line(kept, request.now),
        seats=seats,
        can_begin=stand is Stand.OPEN
        and any(each.run_id is None for each in seats)
        and all(each.finished or each.run_id is None for each in seats),
        has_begun=any(each.run_id is not None for each in seats),
        stand=stand,
        caution=CAUTION,
    )
    return render(request, page)


def _found(request: Request, code: str) -> KeptClass | HttpResponse:
    """Return the class with a code, or the door with the reason why it stays shut.

    Whoever has begun in a class goes on, however often others guessed wrong from the same address.
    """
    try:
        kept = class_by_code(code)
    except NotThere:
        kept = None
    if (
        kept is not None
        and request.bearer is not None
        and any(each.run_id is not None for each in seats_of(request.bearer, kept))
    ):
        return kept
    address = address_of(request)
    if not code_attempts.may_try("", address, request.now):
        return render(request, ClassDoorPage(code=code, message=_WAIT), status=429)
    if kept is None:
        return render(request, ClassDoorPage(code=code, message=_UNKNOWN), status=404)
    code_attempts.take_back("", address)
    return kept
