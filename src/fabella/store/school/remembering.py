"""The facts of debriefed runs: kept once, and read by the student whose they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fabella.anatomy import Side
from fabella.store.kept import Several, reading_each, reading_kept
from fabella.store.router import SCHOOL
from fabella.store.school import models
from fabella.store.school.learner import Learner
from fabella.store.school.practising import lesson_of, own_run, recipe_of
from fabella.store.writing import writing
from fabella.teach import BeliefFact, HabitFact, Lesson, Reading, RunFacts, SignFact


@dataclass(frozen=True, slots=True, kw_only=True)
class PastRun:
    """One debriefed run of a student: when it was begun, what was chosen, its facts and its lesson."""

    id: int
    begun: datetime
    curriculum: str
    setting: str
    facts: RunFacts
    lesson: Lesson | None
    brier: float | None


def keep_facts(learner: Learner, run_id: int, facts: RunFacts, *, now: datetime) -> None:
    """Keep what a run showed, once: whoever reads the debrief again changes nothing."""
    with writing(SCHOOL):
        run = own_run(learner, run_id)
        if models.PracticeOutcome.objects.filter(run=run).exists():
            return
        models.PracticeOutcome.objects.create(run=run, seconds=facts.seconds, at=now)
        models.PracticeSign.objects.bulk_create(
            models.PracticeSign(
                run=run,
                sign=each.sign,
                side="" if each.side is None else each.side.value,
                reading=each.reading.value,
                abnormal=each.abnormal,
                at_s=each.at_s,
                seconds=each.seconds,
            )
            for each in facts.signs
        )
        models.PracticeHabit.objects.bulk_create(
            models.PracticeHabit(run=run, habit=each.habit, kept=each.kept, share=each.share)
            for each in facts.habits
        )
        models.PracticeBelief.objects.bulk_create(
            models.PracticeBelief(run=run, lesion=each.lesion, believed=each.believed, present=each.present)
            for each in facts.beliefs
        )


def past_runs(learner: Learner) -> Several[PastRun]:
    """Return a person's own debriefed runs with their facts, the earliest first.

    Each that cannot be read is named by its number.
    """
    outcomes = models.PracticeOutcome.objects.filter(run__student=learner.name).order_by("run_id")
    rows = list(outcomes.select_related("run"))
    runs = [row.run_id for row in rows]
    signs = _by_run(models.PracticeSign.objects.filter(run_id__in=runs))
    habits = _by_run(models.PracticeHabit.objects.filter(run_id__in=runs))
    beliefs = _by_run(models.PracticeBelief.objects.filter(run_id__in=runs))
    lessons = {each.run_id: each for each in models.PracticeLesson.objects.filter(run_id__in=runs)}
    return reading_each(
        rows,
        lambda row: _past(
            row,
            signs.get(row.run_id, []),
            habits.get(row.run_id, []),
            beliefs.get(row.run_id, []),
            lessons.get(row.run_id),
        ),
    )


def _by_run(rows: Any) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for row in rows.order_by("id"):
        found.setdefault(row.run_id, []).append(row)
    return found


def _past(
    row: models.PracticeOutcome,
    signs: Iterable[models.PracticeSign],
    habits: Iterable[models.PracticeHabit],
    beliefs: Iterable[models.PracticeBelief],
    lesson: models.PracticeLesson | None,
) -> PastRun:
    run: models.PracticeRun = row.run
    recipe = recipe_of(run)
    return PastRun(
        id=run.id,
        begun=run.begun,
        curriculum=recipe.curriculum,
        setting=recipe.setting.value,
        facts=RunFacts(
            minutes=run.minutes,
            told=run.told,
            seconds=row.seconds,
            signs=_signs(run.id, signs),
            habits=tuple(HabitFact(habit=each.habit, kept=each.kept, share=each.share) for each in habits),
            beliefs=tuple(
                BeliefFact(lesion=each.lesion, believed=each.believed, present=each.present)
                for each in beliefs
            ),
        ),
        lesson=lesson_of(lesson),
        brier=None if lesson is None else lesson.brier,
    )


def _signs(run_id: int, rows: Iterable[models.PracticeSign]) -> tuple[SignFact, ...]:
    with reading_kept(f"What practice run {run_id} showed"):
        return tuple(
            SignFact(
                sign=each.sign,
                side=Side(each.side) if each.side else None,
                reading=Reading(each.reading),
                abnormal=each.abnormal,
                at_s=each.at_s,
                seconds=each.seconds,
            )
            for each in rows
        )
