"""A class as a student meets it: patient by patient, each once, in an order that never changes for them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from fabella.store.refusals import Frozen
from fabella.store.router import SCHOOL
from fabella.store.school import bench_models as bench
from fabella.store.school.classes import KeptClass, Stand
from fabella.store.school.learner import Learner
from fabella.store.school.practising import add_run, finished_among
from fabella.store.school.sets import in_order
from fabella.store.writing import writing

MOST_STUDENTS = 1000
"""Browsers that a class takes: several years of a school, and an end to a prank."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One patient of a class as a student comes to it: ``run_id`` once it was begun; never who it is."""

    number: int
    run_id: int | None
    finished: bool


def seats_of(learner: Learner, kept: KeptClass) -> tuple[Seat, ...]:
    """Return the patients of a class in the order in which somebody meets them, and how far they came."""
    own = bench.ClassRun.objects.filter(of_id=kept.id, run__student=learner.name)
    runs = dict(own.values_list("patient_id", "run_id"))
    ended = finished_among(runs.values())
    return tuple(
        Seat(number=number, run_id=runs.get(patient), finished=runs.get(patient) in ended)
        for number, patient in enumerate(_order(learner, kept), start=1)
    )


def begin_next(learner: Learner, kept: KeptClass, *, now: datetime) -> int:
    """Begin a class's next patient with somebody, and return the run: the one that goes on, if one does.

    Raises `Frozen` when the class is not open, full, or has no patient left for them.
    """
    if kept.stand(now) is not Stand.OPEN:
        raise Frozen("This class is not open now; what you began can still be finished and read.")
    with writing(SCHOOL):
        seats = seats_of(learner, kept)
        if going := [each.run_id for each in seats if each.run_id is not None and not each.finished]:
            return going[0]
        waiting = [each.number for each in seats if each.run_id is None]
        if not waiting:
            raise Frozen("You have met every patient of this class.")
        students = bench.ClassRun.objects.filter(of_id=kept.id).values("run__student").distinct()
        if waiting[0] == 1 and students.count() >= MOST_STUDENTS:
            raise Frozen("This class is full; ask your teacher for another code.")
        patient = in_order([_order(learner, kept)[waiting[0] - 1]])[0]
        run = add_run(learner, patient.recipe, kept.terms, now=now)
        bench.ClassRun.objects.create(of_id=kept.id, patient_id=patient.id, run=run)
        return run.id


def _order(learner: Learner, kept: KeptClass) -> tuple[int, ...]:
    """Return the patients in somebody's own order: thrown by their name, so that it never changes."""
    if not kept.shuffled:
        return kept.patients
    return tuple(
        sorted(
            kept.patients,
            key=lambda each: sha256(f"{kept.id}/{learner.name}/{each}".encode()).digest(),
        )
    )
