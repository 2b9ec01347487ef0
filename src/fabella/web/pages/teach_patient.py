"""A practice patient of a set, as its teacher sees it, and its cards for three people."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.store import Role
from fabella.store.school.sets import patient_of, set_of
from fabella.teach import Cards
from fabella.teach.wording import CAUTION
from fabella.web.door import enter
from fabella.web.elsewhere import computed
from fabella.web.teaching.difficulty import difficulty_words, minutes_in
from fabella.web.teaching.judging import difficulties_when_ready
from fabella.web.teaching.preview import Preview, preview_of
from fabella.web.teaching.wishing import wish_words
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachPatientPage:
    """A patient that is kept."""

    template: ClassVar[str] = "teach_patient.html"

    id: int = field(metadata=said("Number of the patient."))
    name: str = field(metadata=said("What the teacher calls it."))
    set_id: int = field(metadata=said("Number of its set."))
    set_name: str = field(metadata=said("Name of its set."))
    preview: Preview = field(metadata=said("The patient."))
    wished: str = field(metadata=said("The lesions that were asked for; empty when they were drawn."))
    minutes: str = field(metadata=said("Minutes of the station for the difficulty; empty without a clock."))
    difficulty: str = field(metadata=said("How difficult it is; empty while it is being worked out."))


@dataclass(frozen=True, slots=True, kw_only=True)
class TeachCardsPage:
    """The cards of a patient: one plays it, one examines, one marks."""

    template: ClassVar[str] = "teach_cards.html"

    id: int = field(metadata=said("Number of the patient."))
    name: str = field(metadata=said("What the teacher calls it."))
    cards: Cards = field(metadata=said("What each of the three holds in the hand."))
    caution: str = field(metadata=said("What practising on people needs."))


@enter(Role.TEACHER)
def teach_patient(request: Request, drawn_id: int) -> HttpResponse:
    """Show a patient of a set, hidden truth and all."""
    kept = patient_of(request.person, drawn_id)
    minutes, number = minutes_in(request.GET.get("minutes", "8"))
    known = difficulties_when_ready(request.person, [kept], number, now=request.now)
    page = TeachPatientPage(
        id=kept.id,
        name=kept.name,
        set_id=kept.set_id,
        set_name=set_of(request.person, kept.set_id).name,
        preview=computed(preview_of, kept.recipe),
        wished=wish_words(kept.wished),
        minutes=minutes,
        difficulty=difficulty_words(known[kept.id]) if kept.id in known else "",
    )
    return render(request, page)


@enter(Role.TEACHER)
def teach_cards(request: Request, drawn_id: int) -> HttpResponse:
    """Show the cards of a patient, a page each when printed."""
    kept = patient_of(request.person, drawn_id)
    cards = computed(preview_of, kept.recipe).cards
    return render(request, TeachCardsPage(id=kept.id, name=kept.name, cards=cards, caution=CAUTION))
