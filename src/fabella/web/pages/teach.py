"""The teacher's bench: sets of practice patients, and the classes they were given to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError
from fabella.store import Role
from fabella.store.school.classes import classes_of
from fabella.store.school.sets import KeptSet, make_set, sets_of
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled
from fabella.web.teaching.class_lines import ClassLine, class_line
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachPage:
    """What a teacher has made."""

    template: ClassVar[str] = "teach.html"

    sets: tuple[KeptSet, ...] = field(metadata=said("Every set of the school, the latest first."))
    unread: tuple[str, ...] = field(metadata=said("Of each set that cannot be read, why, and the way out."))
    classes: tuple[ClassLine, ...] = field(metadata=said("Every class of the school, the latest first."))
    form: Form = field(metadata=said("The name of a new set as typed, and what is wrong with it."))


@enter(Role.TEACHER, methods=SENDING)
def teach(request: Request) -> HttpResponse:
    """Show the bench, or make a new set."""
    form = blank()
    if request.method == "POST":
        try:
            made = make_set(request.person, request.POST.get("name", ""), now=request.now)
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(url("teach_set", set_id=made))
    sets = sets_of(request.person)
    page = TeachPage(
        sets=sets.read,
        unread=sets.unread,
        classes=tuple(class_line(each, request.now) for each in classes_of(request.person)),
        form=form,
    )
    return render(request, page, status=form.status)
