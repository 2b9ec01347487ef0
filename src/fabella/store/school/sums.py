"""What a class misses, as sums over its students: never one student's run, and nothing while they are few.

The sums of a class are taken over its debriefed runs once five students have one. While more may come they
grow by five runs at a time, so that nobody learns one run from what the sums were before it. A span of time
adds up what each of its classes may show by itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from fabella.store.actor import Actor
from fabella.store.school import bench_models as bench
from fabella.store.school import models
from fabella.store.school.classes import KeptClass, class_of
from fabella.store.school.practising import finished_among
from fabella.store.school.sets import in_order, teacher
from fabella.teach import Reading, Topic

FEWEST = 5
"""Students, or runs at a time, below which nothing is summed up."""
SETTLED = timedelta(hours=2)
"""After its end a class is waited for so long before the last runs are counted: longer than any station."""

_WRONG = {
    each.value
    for each in (
        Reading.MISSED,
        Reading.OVERCALLED,
        Reading.GRADE,
        Reading.MEASURED,
        Reading.NOT_TESTABLE,
        Reading.NOT_DONE,
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SignSum:
    """A sign over many runs, in knees: left out though it would have told much, or done and read how.

    Of those read ``wrong`` some were ``missed``, read as normal, and some ``overcalled``, read as abnormal.
    """

    sign: str
    left_out: int
    right: int
    wrong: int
    missed: int
    overcalled: int
    not_recorded: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitSum:
    """A habit: in how many of the runs where it could come up it was kept."""

    habit: str
    kept: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientSum:
    """A patient of a class: runs begun and finished; its mean Brier score once five students have one."""

    name: str
    begun: int
    finished: int
    brier: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """What can be told of a class, or of several.

    ``students`` began, ``finishers`` finished a run; ``counted`` runs are summed up, 0 while there are too
    few students; ``withheld`` classes began and are too small. ``brier`` is the mean over counted runs with
    a differential. ``patients`` are told of one class alone.
    """

    classes: int
    withheld: int
    students: int
    finishers: int
    begun: int
    finished: int
    counted: int
    brier: float | None
    signs: tuple[SignSum, ...]
    habits: tuple[HabitSum, ...]
    topics: tuple[tuple[Topic, int], ...]
    patients: tuple[PatientSum, ...]


@dataclass(frozen=True, slots=True)
class _Run:
    id: int
    klass: int
    patient: int
    student: str


def sums_of(actor: Actor, class_id: int, *, now: datetime) -> Sums:
    """Return what can be told of one class."""
    kept = class_of(actor, class_id)
    return _sums([kept], now, patients_of=kept)


def sums_over(actor: Actor, classes: Sequence[KeptClass], *, now: datetime) -> Sums:
    """Return what can be told of several classes, those of a span of time say."""
    teacher(actor)
    return _sums(classes, now)


def _sums(classes: Sequence[KeptClass], now: datetime, patients_of: KeptClass | None = None) -> Sums:
    rows = bench.ClassRun.objects.filter(of_id__in=[each.id for each in classes])
    runs = [_Run(*row) for row in rows.values_list("run_id", "of_id", "patient_id", "run__student")]
    finished = finished_among(run.id for run in runs)
    begun = {each.id: [run for run in runs if run.klass == each.id] for each in classes}
    shown = {each.id: _shown(begun[each.id], each, now) for each in classes}
    counted = [run for of_class in shown.values() for run in of_class]
    ids = [run.id for run in counted]
    briers = _briers(ids)
    return Sums(
        classes=len(classes),
        withheld=sum(1 for each in begun if begun[each] and not shown[each]),
        students=_students(runs),
        finishers=_students(run for run in runs if run.id in finished),
        begun=len(runs),
        finished=len(finished),
        counted=len(counted),
        brier=_shared_mean(counted, briers),
        signs=_signs(ids),
        habits=_habits(ids),
        topics=_topics(ids),
        patients=_patients(patients_of, runs, counted, finished, briers) if patients_of else (),
    )


def _students(runs: Iterable[_Run]) -> int:
    """Return how many students there are, one who was in two classes being two."""
    return len({(run.klass, run.student) for run in runs})


def _shown(runs: Sequence[_Run], kept: KeptClass, now: datetime) -> tuple[_Run, ...]:
    """Return the runs of a class that may be counted, none while it has too few students."""
    by_id = {each.id: each for each in runs}
    settled = kept.closes + SETTLED
    outcomes = models.PracticeOutcome.objects.filter(run_id__in=by_id, at__lte=settled).order_by("at", "id")
    debriefed = [by_id[run] for run in outcomes.values_list("run_id", flat=True)]
    if now < settled:
        debriefed = debriefed[: len(debriefed) // FEWEST * FEWEST]
    return tuple(debriefed) if len({each.student for each in debriefed}) >= FEWEST else ()


def _shared_mean(runs: Iterable[_Run], briers: Mapping[int, float]) -> float | None:
    """Return the mean Brier score of the runs that have one, or None while they are of too few students."""
    own = [run for run in runs if run.id in briers]
    return _mean(briers[run.id] for run in own) if len({run.student for run in own}) >= FEWEST else None


def _briers(runs: Sequence[int]) -> dict[int, float]:
    rows = models.PracticeLesson.objects.filter(run_id__in=runs, brier__isnull=False)
    return {row.run_id: row.brier for row in rows if row.brier is not None}


def _mean(values: Iterable[float]) -> float | None:
    given = list(values)
    return sum(given) / len(given) if given else None


def _signs(runs: Sequence[int]) -> tuple[SignSum, ...]:
    rows = models.PracticeSign.objects.filter(run_id__in=runs).values_list("sign", "reading")
    counted: dict[str, Counter[str]] = {}
    for sign, how in rows:
        counted.setdefault(sign, Counter())[how] += 1
    found = [
        SignSum(
            sign=sign,
            left_out=each[Reading.LEFT_OUT.value],
            right=each[Reading.RIGHT.value],
            wrong=sum(each[how] for how in _WRONG),
            missed=each[Reading.MISSED.value],
            overcalled=each[Reading.OVERCALLED.value],
            not_recorded=each[Reading.NOT_RECORDED.value],
        )
        for sign, each in counted.items()
    ]
    worth = [each for each in found if each.left_out or each.right or each.wrong or each.not_recorded]
    return tuple(
        sorted(worth, key=lambda each: (-(each.left_out + each.wrong), -each.not_recorded, each.sign))
    )


def _habits(runs: Sequence[int]) -> tuple[HabitSum, ...]:
    rows = models.PracticeHabit.objects.filter(run_id__in=runs).values_list("habit", "kept")
    of, kept = Counter(habit for habit, _ in rows), Counter(habit for habit, was_kept in rows if was_kept)
    found = [HabitSum(habit=habit, kept=kept[habit], of=times) for habit, times in of.items()]
    return tuple(sorted(found, key=lambda each: (each.kept / each.of, each.habit)))


def _topics(runs: Sequence[int]) -> tuple[tuple[Topic, int], ...]:
    rows = models.PracticeLesson.objects.filter(run_id__in=runs).values_list("topic", flat=True)
    times = Counter(map(Topic, rows))
    return tuple(sorted(times.items(), key=lambda each: (-each[1], each[0].value)))


def _patients(
    kept: KeptClass,
    runs: Sequence[_Run],
    counted: Sequence[_Run],
    finished: set[int],
    briers: dict[int, float],
) -> tuple[PatientSum, ...]:
    def brier(patient: int) -> float | None:
        return _shared_mean((run for run in counted if run.patient == patient), briers)

    return tuple(
        PatientSum(
            name=each.name,
            begun=sum(1 for run in runs if run.patient == each.id),
            finished=sum(1 for run in runs if run.patient == each.id and run.id in finished),
            brier=brier(each.id),
        )
        for each in in_order(kept.patients)
    )
