"""Sets of practice patients: named, filled and put into order by teachers; recipes are theirs alone."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from fabella.errors import InputError
from fabella.store.actor import Actor, Role
from fabella.store.kept import Several, reading_each, reading_kept
from fabella.store.refusals import NotAllowed, NotThere
from fabella.store.router import SCHOOL
from fabella.store.school import bench_models as bench
from fabella.store.writing import ONE_PRESS, writing
from fabella.teach import Difficulty, Recipe, read_recipe, write_recipe

LONGEST_NAME = 80
MOST_PATIENTS = 60
"""Patients a set can have: more than a class meets in a year."""

Wished = Iterable[tuple[str, str]]
"""Lesions that were asked for, each with its level."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPatient:
    """A patient of a set; ``wished`` are the (lesion, level) pairs that were asked for, none if drawn."""

    id: int
    set_id: int
    name: str
    recipe: Recipe
    wished: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSet:
    """A set with its patients in order; those left out of it stand apart."""

    id: int
    name: str
    maker: str
    patients: tuple[KeptPatient, ...]
    left_out: tuple[KeptPatient, ...]


def teacher(actor: Actor) -> None:
    """Raise `NotAllowed` unless somebody is a teacher."""
    if Role.TEACHER not in actor.roles:
        raise NotAllowed("This is for teachers.")


def make_set(actor: Actor, name: str, *, now: datetime) -> int:
    """Keep a new set, and return its number: that of the one just made, where a button is pressed twice.

    Raises `InputError` for a name that is empty, long or taken.
    """
    teacher(actor)
    with writing(SCHOOL):
        just = {"maker": actor.shown, "at__gt": now - ONE_PRESS, "at__lte": now}
        same = bench.PracticeSet.objects.filter(name=" ".join(name.split()), **just).first()
        if same is not None:
            return same.id
        return _made(actor, name, "name", now).id


def make_set_with(
    actor: Actor, set_name: str, recipe: Recipe, *, name: str, wished: Wished = (), now: datetime
) -> int:
    """Keep a new set with a first patient, both or neither, and return the number of the set."""
    teacher(actor)
    with writing(SCHOOL):
        row = _made(actor, set_name, "set_name", now)
        _add(row, recipe, name, wished, now)
        return row.id


def sets_of(actor: Actor) -> Several[KeptSet]:
    """Return every set of the school, the latest first: teachers share them.

    Each that has a patient who cannot be read is named with that patient.
    """
    teacher(actor)
    rows = list(bench.PracticeSet.objects.order_by("-id"))
    patients: dict[int, list[bench.SetPatient]] = {row.id: [] for row in rows}
    for each in bench.SetPatient.objects.select_related("of").order_by("id"):
        patients[each.of_id].append(each)
    written = bench.SetOrder.objects.order_by("id").values_list("of_id", "patients")
    order = {row: json.loads(text) for row, text in written}  # the last of each
    return reading_each(rows, lambda row: _set(row, patients[row.id], order.get(row.id, [])))


def set_of(actor: Actor, set_id: int) -> KeptSet:
    """Return one set; raise `NotThere` if there is none, `Unreadable` where one of its patients is."""
    teacher(actor)
    row = _row(set_id)
    patients = bench.SetPatient.objects.filter(of=row).select_related("of").order_by("id")
    return _set(row, patients, _order(row))


def add_patient(
    actor: Actor, set_id: int, recipe: Recipe, *, name: str, wished: Wished = (), now: datetime
) -> int:
    """Keep a patient as the last of a set, and return its number."""
    teacher(actor)
    with writing(SCHOOL):
        return _add(_row(set_id), recipe, name, wished, now)


def _made(actor: Actor, name: str, place: str, now: datetime) -> bench.PracticeSet:
    taken = bench.PracticeSet.objects.filter(name__iexact=" ".join(name.split())).exists()
    kept = tidied(name, place=place, taken=taken)
    return bench.PracticeSet.objects.create(name=kept, maker=actor.shown, at=now)


def _add(row: bench.PracticeSet, recipe: Recipe, name: str, wished: Wished, now: datetime) -> int:
    if bench.SetPatient.objects.filter(of=row).count() >= MOST_PATIENTS:
        says, remedy = "is full", f"a set has at most {MOST_PATIENTS} patients; make another"
        raise InputError.of(place="set", value=row.name, says=says, remedy=remedy)
    order = _order(row)
    made = bench.SetPatient.objects.create(
        of=row,
        name=tidied(name),
        recipe=write_recipe(recipe),
        wished=json.dumps([list(each) for each in wished]),
        at=now,
    )
    bench.SetOrder.objects.create(of=row, patients=json.dumps([*order, made.id]), at=now)
    return made.id


def patient_of(actor: Actor, patient_id: int) -> KeptPatient:
    """Return one patient of whatever set; raise `NotThere` if there is none."""
    teacher(actor)
    row = bench.SetPatient.objects.select_related("of").filter(id=patient_id).first()
    if row is None:
        raise NotThere("There is no such practice patient.")
    return _patient(row)


def arrange(actor: Actor, set_id: int, patients: Sequence[int], *, now: datetime) -> None:
    """Put the patients of a set into an order; who is not named is left out, and can be taken in again.

    Classes that are open keep the patients and the order with which they were opened.
    """
    teacher(actor)
    with writing(SCHOOL):
        row = _row(set_id)
        own = set(bench.SetPatient.objects.filter(of=row).values_list("id", flat=True))
        if len(set(patients)) != len(patients) or not set(patients) <= own:
            says, remedy = "is none of this set's patients", "name each of its patients at most once"
            raise InputError.of(place="order", value=str(list(patients)), says=says, remedy=remedy)
        if list(patients) != _order(row):
            bench.SetOrder.objects.create(of=row, patients=json.dumps(list(patients)), at=now)


def difficulties(
    actor: Actor, patients: Iterable[int], minutes: float | None, *, edition: str
) -> Mapping[int, Difficulty]:
    """Return the difficulty of each patient for which it is kept, by these terms and this evidence."""
    teacher(actor)
    rows = bench.PatientDifficulty.objects.filter(
        patient_id__in=list(patients), minutes=minutes, edition=edition
    )
    return {row.patient_id: Difficulty(sureness=row.sureness, seconds=row.seconds) for row in rows}


def keep_difficulty(
    actor: Actor, patient_id: int, minutes: float | None, found: Difficulty, *, edition: str, now: datetime
) -> None:
    """Keep how difficult a patient is, once for its terms and the evidence."""
    teacher(actor)
    with writing(SCHOOL):
        about = {"patient_id": patient_id, "minutes": minutes, "edition": edition}
        if not bench.PatientDifficulty.objects.filter(**about).exists():
            bench.PatientDifficulty.objects.create(
                **about, sureness=found.sureness, seconds=found.seconds, at=now
            )


def in_order(ids: Iterable[int]) -> tuple[KeptPatient, ...]:
    """Return patients in the order of their ids as given."""
    wanted = list(ids)
    rows = bench.SetPatient.objects.select_related("of").in_bulk(wanted)
    return tuple(_patient(rows[each]) for each in wanted)


def tidied(name: str, *, place: str = "name", taken: bool = False) -> str:
    """Return a name as it is kept; raise `InputError` for one that is empty, too long or taken."""
    kept = " ".join(name.split())
    says = remedy = ""
    if not kept:
        says, remedy = "is missing", "give it a name"
    elif len(kept) > LONGEST_NAME:
        says, remedy = "is too long", f"write at most {LONGEST_NAME} characters"
    elif taken:
        says, remedy = "is taken", "choose another name"
    if says:
        raise InputError.of(place=place, value=kept, says=says, remedy=remedy)
    return kept


def _row(set_id: int) -> bench.PracticeSet:
    row = bench.PracticeSet.objects.filter(id=set_id).first()
    if row is None:
        raise NotThere("There is no such set.")
    return row


def _order(row: bench.PracticeSet) -> list[int]:
    latest = bench.SetOrder.objects.filter(of=row).order_by("-id").first()
    return [] if latest is None else list(json.loads(latest.patients))


def _set(row: bench.PracticeSet, patients: Iterable[bench.SetPatient], order: Sequence[int]) -> KeptSet:
    own = {each.id: _patient(each) for each in patients}
    return KeptSet(
        id=row.id,
        name=row.name,
        maker=row.maker,
        patients=tuple(own[each] for each in order),
        left_out=tuple(each for number, each in own.items() if number not in order),
    )


def _patient(row: bench.SetPatient) -> KeptPatient:
    with reading_kept(f"The practice patient {row.name!r} of the set {row.of.name!r}"):
        recipe = read_recipe(row.recipe)
    return KeptPatient(
        id=row.id,
        set_id=row.of_id,
        name=row.name,
        recipe=recipe,
        wished=tuple((lesion, level) for lesion, level in json.loads(row.wished)),
    )
