"""A set of practice patients: in order, how difficult they are, and the classes it was given to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect, QueryDict

from fabella.errors import InputError
from fabella.store import Role
from fabella.store.school.classes import classes_of
from fabella.store.school.sets import KeptPatient, KeptSet, arrange, set_of
from fabella.web.door import SENDING, enter
from fabella.web.forms import rearranged, typed_whole
from fabella.web.teaching.class_lines import ClassLine, class_line
from fabella.web.teaching.difficulty import MINUTES, difficulty_words, minutes_in
from fabella.web.teaching.judging import difficulties_when_ready
from fabella.web.teaching.spread import Spread, spread_of
from fabella.web.teaching.wishing import wish_words
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientLine:
    """A patient of a set: its place from 1, what was asked for, how difficult it is (empty until known)."""

    id: int
    place: int
    name: str
    wished: str
    difficulty: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachSetPage:
    """A set."""

    template: ClassVar[str] = "teach_set.html"

    id: int = field(metadata=said("Number of the set."))
    name: str = field(metadata=said("Its name."))
    maker: str = field(metadata=said("Who made it."))
    patients: tuple[PatientLine, ...] = field(metadata=said("Its patients in order."))
    left_out: tuple[KeptPatient, ...] = field(metadata=said("Patients that were left out of it."))
    minutes: str = field(metadata=said("Minutes of the station for the difficulty; empty without a clock."))
    lengths: tuple[tuple[str, str], ...] = field(metadata=said("Lengths of a station: value and words."))
    spread: Spread | None = field(metadata=said("The chart of difficulty; None while nothing is known."))
    waiting: int = field(metadata=said("Patients whose difficulty is still being worked out."))
    classes: tuple[ClassLine, ...] = field(metadata=said("The classes it was given to, the latest first."))


@enter(Role.TEACHER, methods=SENDING)
def teach_set(request: Request, set_id: int) -> HttpResponse:
    """Show a set, or change its order."""
    kept = set_of(request.person, set_id)
    if request.method == "POST":
        arrange(request.person, set_id, _rearranged(kept, request.POST), now=request.now)
        return HttpResponseRedirect(url("teach_set", set_id=set_id))
    minutes, number = minutes_in(request.GET.get("minutes", "8"))
    known = difficulties_when_ready(request.person, kept.patients, number, now=request.now)
    page = TeachSetPage(
        id=kept.id,
        name=kept.name,
        maker=kept.maker,
        patients=tuple(
            PatientLine(
                id=each.id,
                place=place,
                name=each.name,
                wished=wish_words(each.wished),
                difficulty=difficulty_words(known[each.id]) if each.id in known else "",
            )
            for place, each in enumerate(kept.patients, start=1)
        ),
        left_out=kept.left_out,
        minutes=minutes,
        lengths=MINUTES,
        spread=spread_of((each.name, known[each.id]) for each in kept.patients if each.id in known)
        if known
        else None,
        waiting=sum(1 for each in kept.patients if each.id not in known),
        classes=tuple(class_line(each, request.now) for each in classes_of(request.person, of_set=kept.id)),
    )
    return render(request, page)


def _rearranged(kept: KeptSet, form: QueryDict) -> list[int]:
    """Return the order after what a button says: up, down, out or in, and whom."""
    move, _, who = form.get("move", "").partition(":")
    order = [each.id for each in kept.patients]
    others = [each.id for each in kept.left_out]
    patient = typed_whole(who, otherwise=-1)
    if move == "in" and patient in others:
        return [*order, patient]
    if move not in ("up", "down", "out") or patient not in order:
        raise InputError.of(place="move", value=move, says="is no move", remedy="press a button")
    return rearranged(order, patient, move)
