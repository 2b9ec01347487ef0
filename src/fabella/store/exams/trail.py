"""What the lead of an exam did, in order of time: read from what was kept, which cannot be changed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fabella.exam import Act
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.attending import presence_told
from fabella.store.exams.leading import KeptExam, exam_of
from fabella.store.exams.papers import ANNULLED, USUAL_RULES
from fabella.store.exams.typing_in import TYPED

_DONE: Final = {
    Act.SETTLE.value: "dispute settled",
    Act.LEAVE.value: "dispute left open",
    Act.REOPEN.value: "sheet opened again",
    Act.VOID.value: "sheet lost or not held",
    Act.HELD.value: "sheet not lost after all",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailLine:
    """Who did what, about what, and why where a reason was given."""

    at: datetime
    by: str
    what: str
    about: str
    why: str


def trail_of(actor: Actor, exam_id: int) -> tuple[TrailLine, ...]:
    """Return everything that was done to an exam but marking, the first first."""
    exam = exam_of(actor, exam_id)
    return tuple(sorted(_lines(exam), key=lambda each: each.at))


def _lines(exam: KeptExam) -> Iterator[TrailLine]:
    exam_id = exam.id
    yield TrailLine(at=exam.at, by=exam.by, what="exam made", about=exam.name, why="")
    for paper in models.ExamPaper.objects.filter(exam_id=exam_id).order_by("id"):
        yield TrailLine(at=paper.at, by=paper.by, what=_written(paper), about=paper.name, why=paper.why)
    for stage in models.ExamStage.objects.filter(exam_id=exam_id).order_by("id"):
        yield TrailLine(at=stage.at, by=stage.by, what="exam now", about=stage.stage, why=stage.why)
    for trace in models.ExamTrace.objects.filter(exam_id=exam_id).order_by("id"):
        yield TrailLine(at=trace.at, by=trace.by, what=trace.what, about=trace.about, why=trace.why)
    for said in models.ExamPresence.objects.filter(exam_id=exam_id).order_by("id"):
        what = presence_told(said.presence, said.at_min)
        yield TrailLine(at=said.at, by=said.by, what=what, about=said.candidate, why=said.why)
    for result in models.ExamResult.objects.filter(exam_id=exam_id).defer("text").order_by("id"):
        yield TrailLine(
            at=result.at, by=result.by, what="result kept", about=f"number {result.number}", why=""
        )
    yield from _on_sheets(exam_id)


def _written(paper: models.ExamPaper) -> str:
    if paper.name.startswith(ANNULLED):
        return "station annulled" if paper.text else "station counts after all"
    by_whom = "kept by the program" if paper.name == USUAL_RULES else "written"
    return f"version {paper.version} {by_whom}" if paper.text else "taken away"


def _on_sheets(exam_id: int) -> Iterator[TrailLine]:
    """Settlements, sheets that the lead opened again, and sheets typed in from paper."""
    rows = models.MarkEvent.objects.filter(exam_id=exam_id).exclude(by__startswith="exam:").order_by("id")
    for row in rows:
        tree = json.loads(row.event)
        what = _DONE.get(tree["act"])
        if tree["act"] == Act.FINISH and row.device.startswith(TYPED):
            what = "paper sheet typed in"
        if what is not None:
            about = f"{row.candidate} at {row.station}, {row.examiner}"
            yield TrailLine(at=row.at, by=row.by, what=what, about=about, why=tree.get("reason", ""))
