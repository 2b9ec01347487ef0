"""A class for its teacher: its code, and what the whole of it misses; never one student's run."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.store import Role
from fabella.store.school.classes import Stand, class_of, end_class
from fabella.store.school.sums import sums_of
from fabella.web.door import SENDING, enter
from fabella.web.files import sent_file
from fabella.web.teaching.class_lines import ClassLine, class_line
from fabella.web.teaching.sums_words import SumsWords, sums_table, sums_words
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachClassPage:
    """One class."""

    template: ClassVar[str] = "teach_class.html"

    line: ClassLine = field(metadata=said("The class."))
    set_id: int = field(metadata=said("Number of its set."))
    maker: str = field(metadata=said("Who opened it."))
    door: str = field(metadata=said("The address where students enter the code."))
    room: str = field(metadata=said("The address of the class itself, code and all."))
    is_over: bool = field(metadata=said("Whether it has ended."))
    sums: SumsWords = field(metadata=said("What the whole class did and missed."))
    table: str = field(metadata=said("Address of the sums as a table."))


@enter(Role.TEACHER, methods=SENDING)
def teach_class(request: Request, class_id: int) -> HttpResponse:
    """Show a class, or end it."""
    if request.method == "POST":
        end_class(request.person, class_id, now=request.now)
        return HttpResponseRedirect(url("teach_class", class_id=class_id))
    kept = class_of(request.person, class_id)
    page = TeachClassPage(
        line=class_line(kept, request.now),
        set_id=kept.set_id,
        maker=kept.maker,
        door=request.build_absolute_uri(url("class_door")),
        room=request.build_absolute_uri(url("class_room", code=kept.code)),
        is_over=kept.stand(request.now) is Stand.OVER,
        sums=sums_words(sums_of(request.person, class_id, now=request.now)),
        table=url("teach_class_table", class_id=class_id),
    )
    return render(request, page)


@enter(Role.TEACHER)
def teach_class_table(request: Request, class_id: int) -> HttpResponse:
    """Send the sums of a class as a table."""
    sums = sums_of(request.person, class_id, now=request.now)
    return sent_file(sums_table(sums), f"class-{class_id}.csv")
