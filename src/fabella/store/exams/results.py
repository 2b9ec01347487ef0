"""Results of an exam: each decision kept as the text it was, with its digest; the latest holds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any, Final

from django.db.models import Max, Q, QuerySet

from fabella.errors import InputError, Problem, Problems
from fabella.store.actor import Actor
from fabella.store.exams import models
from fabella.store.exams.codes import ExamPass, Kind
from fabella.store.exams.leading import Stage, exam_of, lead, stage_of
from fabella.store.exams.papers import ANNULLED
from fabella.store.exams.settling import in_dispute
from fabella.store.refusals import Frozen, Moved, NotThere
from fabella.store.router import EXAMS
from fabella.store.writing import writing

_DECIDING: Final = ("rules", "weights")
"""Papers that a decision rests on and that can be changed once the exam is closed, besides `ANNULLED`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptResult:
    """One decision; ``digest`` is the SHA-256 of its text."""

    number: int
    text: str
    digest: str
    by: str
    at: datetime


def told_so_far(exam_id: int) -> tuple[int, ...]:
    """Return what tells all that a decision rests on from what it was: the last thing said of each kind."""
    return tuple(map(_last_in, _rested_on(exam_id)))


def edition_of(exam_id: int) -> tuple[int, ...]:
    """Return what tells all that is kept of an exam but codes and results from what it was, and will be."""
    kinds = (models.MarkEvent, models.ExamPresence, models.ExamPaper, models.ExamStage)
    return tuple(_last_in(kind.objects.filter(exam_id=exam_id)) for kind in kinds)


def _last_in(rows: QuerySet[Any]) -> int:
    """Return the number of the last row, 0 where there is none."""
    return int(rows.aggregate(last=Max("id"))["last"] or 0)


def keep_result(
    actor: Actor, exam_id: int, text: str, *, now: datetime, seen: tuple[int, ...] | None = None
) -> KeptResult:
    """Keep a decision beside the earlier ones.

    Its time is not before that of anything it rests on, though the clock was set back meanwhile: what is said
    on a sheet after it is told by its time.

    Parameters
    ----------
    seen
        What it rests on, as `told_so_far` told it before the marks were read; None takes that of now.

    Raises
    ------
    Frozen
        Unless the exam is closed.
    Moved
        When something was said or changed since.
    InputError
        When the text is empty, or a mark, a rating or a concern is in dispute: exams closed before that
        hindered closing may have some.
    """
    exam_of(actor, exam_id)
    if not text.strip():
        raise InputError.of(place="result", says="is empty", remedy="decide first")
    with writing(EXAMS):
        if stage_of(exam_id) is not Stage.CLOSED:
            raise Frozen("Results are kept once the exam is closed, and before they are released.")
        Problems(in_dispute(exam_id)).raise_any()
        if seen not in {None, told_so_far(exam_id)}:
            raise Moved("A sheet, somebody's absence or a rule was changed meanwhile. Decide again.")
        before = filter(None, (rows.aggregate(last=Max("at"))["last"] for rows in _rested_on(exam_id)))
        at = max([now, *before])
        number = decisions_kept(exam_id) + 1
        digest = sha256(text.encode()).hexdigest()
        row = models.ExamResult.objects.create(
            exam_id=exam_id,
            number=number,
            text=text,
            digest=digest,
            by=actor.name,
            at=at,
        )
        return _kept(row)


def results_of(actor: Actor, exam_id: int) -> tuple[KeptResult, ...]:
    """Return every decision, the first first."""
    lead(actor)
    return tuple(map(_kept, models.ExamResult.objects.filter(exam_id=exam_id).order_by("number")))


def decisions_kept(exam_id: int) -> int:
    """Return how often was decided."""
    return models.ExamResult.objects.filter(exam_id=exam_id).count()


def unreleasable(exam_id: int) -> list[Problem]:
    """Return why there is nothing to release: no decision, one that `is_overtaken`, or one by other rules."""
    last = models.ExamResult.objects.filter(exam_id=exam_id).order_by("number").last()
    if last is None:
        return [Problem(place="results", says="are not there yet", remedy="decide first")]
    if is_overtaken(exam_id, last.at):
        says = "were decided before a sheet was changed or somebody was said to be away"
        return [Problem(place="results", says=says, remedy="decide again")]
    if _deciding_papers(exam_id).filter(at__gt=last.at).exists():
        says = "were decided before rules, weights or the stations that count were changed"
        return [Problem(place="results", says=says, remedy="decide again")]
    return []


def is_overtaken(exam_id: int, at: datetime) -> bool:
    """Say whether after that time something was said on a sheet, or of who was there."""
    return any(told.filter(at__gt=at).exists() for told in _said(exam_id))


def own_decision(bearer: ExamPass) -> Mapping[str, Any]:
    """Return what was decided about a candidate who has shown their code, as a `fabella.assess.Decision`.

    Nothing of anybody else is in it. Raises `NotThere` before the release, for whoever is no candidate, and
    where nothing was decided about them.
    """
    tree = json.loads(released_to(bearer).text)
    decisions = tree.get("results", tree).get("decisions", ())
    own = [each for each in decisions if each.get("candidate") == bearer.person]
    if not own:
        raise NotThere("Nothing was decided about you; ask the exam lead.")
    return dict(own[0])


def released_to(bearer: ExamPass) -> KeptResult:
    """Return the decision that was released, from which a candidate is shown what is theirs.

    It is of the whole exam, and never leaves the server. Raises `NotThere` before the release, and for
    whoever is no candidate.
    """
    if bearer.kind is not Kind.CANDIDATE or stage_of(bearer.exam_id) is not Stage.RELEASED:
        raise NotThere("There is no released result of yours.")
    return _kept(models.ExamResult.objects.filter(exam_id=bearer.exam_id).latest("number"))


def _said(exam_id: int) -> tuple[QuerySet[Any], ...]:
    """Return what was said on sheets, and of who was there."""
    return tuple(kind.objects.filter(exam_id=exam_id) for kind in (models.MarkEvent, models.ExamPresence))


def _deciding_papers(exam_id: int) -> QuerySet[Any]:
    is_one = Q(name__in=_DECIDING) | Q(name__startswith=ANNULLED)
    return models.ExamPaper.objects.filter(is_one, exam_id=exam_id)


def _rested_on(exam_id: int) -> tuple[QuerySet[Any], ...]:
    return (*_said(exam_id), _deciding_papers(exam_id))


def _kept(row: models.ExamResult) -> KeptResult:
    return KeptResult(number=row.number, text=row.text, digest=row.digest, by=row.by, at=row.at)
