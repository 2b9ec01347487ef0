"""Paper sheets typed in: which are typed once, which twice, which are lost, and the form for one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.exam import Missing, Sheet, Station
from fabella.store import Role
from fabella.store.exams.duties import SheetKey
from fabella.store.exams.leading import KeptExam, Stage, exam_of
from fabella.store.exams.papers import station_of
from fabella.store.exams.settling import call_void
from fabella.store.exams.sheets import led_sheet, readable_sheets
from fabella.store.exams.stations import readable_stations
from fabella.store.exams.typing_in import PaperSheet, type_in, typists_of
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled, new_id, typed_whole
from fabella.web.marking.sheet_lines import SheetLine, sheet_line
from fabella.web.marking.wording import MISSING_WORDS
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_MOST_FOUND, _TWICE = 40, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class _Paper:
    """A sheet, how often it was typed in, and how it is shown."""

    line: SheetLine
    sheet: Sheet
    times: int

    def bears(self, words: list[str]) -> bool:
        """Say whether each of these is part of a name on it."""
        key = self.line.key
        text = f"{key.candidate} {self.line.title} {key.station} {key.examiner}".casefold()
        return all(each in text for each in words)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamTypedPage:
    """What was typed in, and the way to a sheet."""

    template: ClassVar[str] = "exam_typed.html"

    exam: KeptExam = field(metadata=said("The exam."))
    unread: tuple[str, ...] = field(metadata=said("What is said of each station that cannot be read."))
    asked: str = field(metadata=said("Part of a name that was looked for; empty for none."))
    found: tuple[SheetLine, ...] = field(metadata=said("Sheets that bear it and were not typed in twice."))
    can_type: bool = field(metadata=said("Whether sheets can be typed in now."))
    blank: tuple[SheetLine, ...] = field(
        metadata=said("Those found on which nothing stands, which can be called lost; empty when none can.")
    )
    void: tuple[SheetLine, ...] = field(metadata=said("Sheets that are lost, or whose station was not held."))
    form: Form = field(metadata=said("The reason as typed, and what is wrong with it."))
    once: tuple[SheetLine, ...] = field(metadata=said("Sheets that one person has typed."))
    differing: tuple[SheetLine, ...] = field(metadata=said("Sheets typed in, on which something differs."))
    alike: tuple[SheetLine, ...] = field(metadata=said("Sheets that two typed alike, or that are settled."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamTypePage:
    """The form on which one paper sheet is typed; it shows nothing of what another has typed."""

    template: ClassVar[str] = "exam_type.html"

    exam: KeptExam = field(metadata=said("The exam."))
    key: SheetKey = field(metadata=said("Candidate, station and examiner, as on the paper."))
    station: Station = field(metadata=said("The station, with items and grades as on the paper."))
    missing: tuple[tuple[str, str], ...] = field(metadata=said("Reasons for no mark, code and words."))
    times: int = field(metadata=said("How many have typed it already."))
    form: Form = field(metadata=said("What was typed, and what is wrong with it."))


@enter(Role.TEACHER, methods=SENDING)
def exam_typed(request: Request, exam_id: int) -> HttpResponse:
    """Show which paper sheets are typed in, find the next, and keep which are lost."""
    exam, asked, form = exam_of(request.person, exam_id), request.GET.get("q", "").strip(), blank()
    if request.method == "POST":
        try:
            _call_lost(request, exam_id)
            return HttpResponseRedirect(url("exam_typed", exam_id=exam_id) + "#lost")
        except InputError as error:
            form = filled(request, error.problems)
    kept = readable_stations(exam_id)
    papers = [
        _Paper(
            line=sheet_line(each, kept.read[each.key.station]),
            sheet=each.sheet,
            times=len(typists_of(each.sheet)),
        )
        for each in readable_sheets(request.person, exam_id, kept.unread)
        if each.key.station in kept.read
    ]
    words = asked.casefold().split()
    found = [each for each in papers if words and each.times < _TWICE and each.bears(words)][:_MOST_FOUND]
    can_be_void = exam.stage.can_be_settled
    page = ExamTypedPage(
        exam=exam,
        unread=tuple(kept.unread.values()),
        asked=asked,
        found=_lines(found),
        can_type=exam.stage is Stage.OPEN,
        blank=_lines(each for each in found if can_be_void and each.sheet.is_blank and not each.sheet.void),
        void=_lines(each for each in papers if each.sheet.is_void),
        form=form,
        once=_lines(each for each in papers if each.times == 1 and not each.sheet.disputes),
        differing=_lines(each for each in papers if each.times and each.sheet.disputes),
        alike=_lines(each for each in papers if each.times == _TWICE and not each.sheet.disputes),
    )
    return render(request, page, status=form.status)


@enter(Role.TEACHER, methods=SENDING)
def exam_type(request: Request, exam_id: int, station: str, candidate: str, examiner: str) -> HttpResponse:
    """Ask for one paper sheet, and keep what somebody typed."""
    key = SheetKey(candidate=candidate, station=station, examiner=examiner)
    exam, kept = exam_of(request.person, exam_id), station_of(exam_id, station)
    sheet, _ = led_sheet(request.person, exam_id, key)
    form = blank()
    if request.method == "POST":
        try:
            type_in(
                request.person,
                exam_id,
                key,
                _paper(request.POST, kept),
                typist=request.POST.get("typist", ""),
                now=request.now,
                name=new_id,
            )
        except InputError as error:
            form = filled(request, error.problems)
        else:
            return HttpResponseRedirect(_after(exam_id, key, typists_of(sheet)))
    page = ExamTypePage(
        exam=exam,
        key=key,
        station=kept,
        missing=tuple((each.value, words) for each, words in MISSING_WORDS.items()),
        times=len(typists_of(sheet)),
        form=form,
    )
    return render(request, page, status=form.status)


def _call_lost(request: Request, exam_id: int) -> None:
    """Keep that the sheets ticked are lost, each by candidate, station and examiner."""
    keys = [tuple(each.split("|")) for each in request.POST.getlist("sheet")]
    if not keys or any(len(each) != len(SheetKey.__slots__) for each in keys):
        raise InputError.of(place="sheets", says="are not chosen", remedy="tick which")
    call_void(
        request.person,
        exam_id,
        [SheetKey(candidate=one, station=station, examiner=examiner) for one, station, examiner in keys],
        reason=request.POST.get("reason", ""),
        now=request.now,
        name=new_id,
    )


def _lines(papers: Iterable[_Paper]) -> tuple[SheetLine, ...]:
    return tuple(each.line for each in papers)


def _after(exam_id: int, key: SheetKey, before: tuple[str, ...]) -> str:
    """Return where one goes on: after the second to type to the comparison, after the first to the list."""
    if not before:
        return url("exam_typed", exam_id=exam_id)
    return url(
        "exam_sheet", exam_id=exam_id, station=key.station, candidate=key.candidate, examiner=key.examiner
    )


def _paper(typed: Mapping[str, str], station: Station) -> PaperSheet:
    """Return what was typed; what is no mark of an item is refused where it is kept."""
    left_out = [each.id for each in station.items if f"item-{each.id}" not in typed]
    if left_out or "grade" not in typed:
        remedy = "choose what stands there, or that nothing does"
        names = [*left_out, *(["global rating"] if "grade" not in typed else [])]
        raise InputError([Problem(place=each, says="is left out", remedy=remedy) for each in names])
    marks: dict[str, int | Missing] = {}
    for item in station.items:
        told = typed.get(f"item-{item.id}", "")
        if told in set(Missing):
            marks[item.id] = Missing(told)
        elif (mark := typed_whole(told, otherwise=-1)) >= 0:
            marks[item.id] = mark
    grade = typed_whole(typed.get("grade", ""), otherwise=-1)
    return PaperSheet(
        marks=marks,
        grade=grade if grade >= 0 else None,
        comment=typed.get("comment", ""),
        concern=typed.get("concern", ""),
    )
