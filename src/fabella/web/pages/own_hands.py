"""Own hands: what scans and operations showed of one's own signed visits; shown to nobody else."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.anatomy import load_lesions
from fabella.protocol import load_protocol
from fabella.report.hands_words import FAIRNESS, HandsWords, hands_words
from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.own_visits import own_visits, silent_of, take_own_visits
from fabella.teach.recognition import ENOUGH
from fabella.web.door import SENDING, enter
from fabella.web.files import archive_of, sent_file
from fabella.web.hands.judging import Judged, judge
from fabella.web.hands.own_file import own_files
from fabella.web.hands.rows import SignRow, SurpriseRow, sign_rows, surprise_rows
from fabella.web.practice.record_charts import Mark, marks_of
from fabella.web.templating import render, said
from fabella.web.visitor import Request

SHOWN = 10
"""The latest visits that nobody has told anything of yet, to be told of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnHandsPage:
    """How good one's own examination is."""

    template: ClassVar[str] = "own_hands.html"

    progress: Judged = field(metadata=said("How many own visits are worked up."))
    words: HandsWords | None = field(metadata=said("Everything in words; None while it is worked out."))
    signs: tuple[SignRow, ...] = field(metadata=said("Signs tested in knees looked into, drawn."))
    marks: tuple[Mark, ...] = field(metadata=said("The calibration as marks on a square."))
    surprises: tuple[SurpriseRow, ...] = field(metadata=said("What surprised, the greatest first."))
    silent: tuple[VisitLine, ...] = field(
        metadata=said("The latest own visits of which nothing was told yet.")
    )
    enough: int = field(metadata=said("Number from which a mark is drawn full."))
    fairness: str = field(metadata=said("What must be known to read the numbers."))


@enter(Role.CLINICIAN, methods=SENDING)
def own_hands(request: Request) -> HttpResponse:
    """Show one's own hands, or that they are being worked out; sending the form asks again."""
    visits = own_visits(request.person, silent=SHOWN, now=request.now)
    judged = judge(visits)
    hands = judged.hands
    words = hands_words(hands, protocol=load_protocol(), lesions=load_lesions()) if hands else None
    told = hands.told if hands else None
    page = OwnHandsPage(
        progress=judged,
        words=words,
        signs=sign_rows(hands, words) if hands and words else (),
        marks=marks_of(told.bins) if told else (),
        surprises=surprise_rows(hands, words, visits) if hands and words else (),
        silent=tuple(each.visit for each in silent_of(visits, SHOWN)),
        enough=ENOUGH,
        fairness=FAIRNESS,
    )
    return render(request, page)


@enter(Role.CLINICIAN)
def own_hands_file(request: Request) -> HttpResponse:
    """Send one's own signed examinations, and what was found later, in one archive."""
    visits = take_own_visits(request.person, now=request.now)
    return sent_file(archive_of(own_files(visits)), "own-hands.zip")
