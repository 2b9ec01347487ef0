"""One's own record over all debriefed runs: how sure and how right, signs, habits, time, and what is due."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.protocol import load_protocol
from fabella.store import Frozen, Unreadable
from fabella.store.school.called_in import called_in
from fabella.store.school.learner import ClassPass, Learner
from fabella.store.school.practising import begin_run, runs_of
from fabella.store.school.remembering import past_runs
from fabella.teach import learned_from
from fabella.teach.recognition import ENOUGH
from fabella.teach.record_words import belief_words, next_lines
from fabella.web.door import SENDING, enter_known, enter_unknown
from fabella.web.files import sent_file
from fabella.web.practice.due import bringing_up, due_today, new_recipe
from fabella.web.practice.home import Home, class_home, own_home
from fabella.web.practice.record_charts import Mark, Track, marks_of, tracks_of
from fabella.web.practice.record_file import COLUMNS, record_table
from fabella.web.practice.record_words import (
    DueGroup,
    Fifth,
    HabitRow,
    LesionRow,
    RunRow,
    SignRow,
    due_groups,
    fifths_of,
    habit_rows,
    lesion_rows,
    run_rows,
    sign_rows,
)
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRecordPage:
    """What one's own runs show together; nobody else can open it."""

    template: ClassVar[str] = "practice_record.html"

    home: Home = field(metadata=said("Where one practises, to go back there."))
    in_class: bool = field(
        metadata=said("Whether these are a browser's runs in classes, without an account.")
    )
    file: str = field(metadata=said("Address of the same facts as a file."))
    runs: tuple[RunRow, ...] = field(metadata=said("The debriefed runs, the latest first."))
    unread: tuple[str, ...] = field(
        metadata=said("Of each debriefed run that cannot be read and does not count, why, and the way out.")
    )
    undebriefed: tuple[int, ...] = field(
        metadata=said("Numbers of finished runs whose debrief was not opened, so that they do not count yet.")
    )
    next_lines: tuple[str, ...] = field(
        metadata=said(
            "What to take to the next patient, the weightiest first; none where nothing was missed."
        )
    )
    again: tuple[DueGroup, ...] = field(metadata=said("What was missed and comes again, kind by kind."))
    belief: tuple[str, ...] = field(metadata=said("How sure and how right, in sentences."))
    marks: tuple[Mark, ...] = field(metadata=said("The calibration as marks on a square."))
    fifths: tuple[Fifth, ...] = field(metadata=said("The same as a table."))
    signs: tuple[SignRow, ...] = field(metadata=said("How each sign was read, the worst first."))
    lesions: tuple[LesionRow, ...] = field(
        metadata=said("How each lesion that was there or named was judged, those missed oftenest first.")
    )
    habits: tuple[HabitRow, ...] = field(metadata=said("How often each habit was kept."))
    tracks: tuple[Track, ...] = field(
        metadata=said("Time and order over the runs, drawn; empty with fewer than two.")
    )
    columns: tuple[tuple[str, str], ...] = field(
        metadata=said("The columns of the file, and what they hold.")
    )
    enough: int = field(metadata=said("Number from which a rate is told as one."))


@enter_known()
def practice_record(request: Request) -> HttpResponse:
    """Show a person's own record."""
    return render(
        request, record_of(request.person, request, home=own_home(), file=url("practice_record_file"))
    )


@enter_known()
def practice_record_file(request: Request) -> HttpResponse:
    """Give out a person's own facts as CSV."""
    return _facts_file(request.person)


@enter_unknown(methods=SENDING)
def class_record(request: Request) -> HttpResponse:
    """Show what a browser's own runs show together, or call in a patient for what is due."""
    bearer = _bearer(request)
    if request.method == "POST":
        return HttpResponseRedirect(url("practice_run", run_id=_called_in(bearer, request)))
    home, file = class_home(bearer), url("class_record_file")
    return render(request, record_of(bearer, request, home=home, file=file, in_class=True))


@enter_unknown()
def class_record_file(request: Request) -> HttpResponse:
    """Give out the facts of a browser's own runs in classes as CSV."""
    return _facts_file(_bearer(request))


def _called_in(bearer: ClassPass, request: Request) -> int:
    """Return a browser's run that goes on beside its classes, or a new one on the terms of its last."""
    due = due_today(bearer, request)
    if not due:
        raise Frozen("Nothing is due for you today.")
    going = called_in(bearer, now=request.now)
    if going is not None:
        return going
    last = runs_of(bearer).read[0]
    wanted = new_recipe(curriculum=last.curriculum, setting=last.setting)
    return begin_run(bearer, bringing_up(due, wanted), last.terms, now=request.now)


def _bearer(request: Request) -> ClassPass:
    return request.bearer or ClassPass("")


def record_of(
    learner: Learner, request: Request, *, home: Home, file: str, in_class: bool = False
) -> PracticeRecordPage:
    """Return somebody's own record."""
    past, runs = past_runs(learner), runs_of(learner)
    learned = learned_from([(each.begun, each.facts) for each in past.read], now=request.now.astimezone())
    debriefed = {each.id for each in past.read}
    return PracticeRecordPage(
        home=home,
        in_class=in_class,
        file=file,
        runs=run_rows(past.read, learned),
        unread=past.unread,
        undebriefed=tuple(each.id for each in runs.read if each.finished and each.id not in debriefed),
        next_lines=next_lines(learned.scheduled, request.today, protocol=load_protocol()),
        again=due_groups(learned.scheduled, request.today),
        belief=belief_words(learned.belief),
        marks=marks_of(learned.belief.bins),
        fifths=fifths_of(learned.belief.bins),
        signs=sign_rows(learned.signs),
        lesions=lesion_rows(learned.lesions),
        habits=habit_rows(learned.habits),
        tracks=tracks_of(learned.points),
        columns=COLUMNS,
        enough=ENOUGH,
    )


def _facts_file(learner: Learner) -> HttpResponse:
    past = past_runs(learner)
    if past.unread:  # a file says nothing of what it lacks
        raise Unreadable(past.unread[0])
    return sent_file(record_table(past.read), "practice-record.csv")
