"""Signed visits worked up as they were signed: what another process does, which knows no database."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial

from fabella.errors import FabellaError
from fabella.hands import by_hands
from fabella.hands.telling import HARDLY, MISLED, NEARLY_CERTAIN
from fabella.protocol import load_protocol
from fabella.record import read_examination
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability, Workup, workup_again


@dataclass(frozen=True, slots=True)
class Signed:
    """An examination file as it was signed, the edition it was concluded with, and whether anybody looked."""

    sha256: str
    edition: str
    looked_into: bool
    file: str = field(compare=False, repr=False)


def work_up(signed: tuple[Signed, ...]) -> tuple[Workup, ...]:
    """Work up examinations as they were signed, without what an audit does not ask for."""
    return tuple(map(_work_up, signed))


def _work_up(signed: Signed) -> Workup:
    examination = read_examination(signed.file, protocol=load_protocol(), today=date.max)
    try:
        made = by_hands(examination, work_up=partial(workup_again, edition=signed.edition))
    except FabellaError:  # an edition that is packaged no more: what today's says of the same findings
        made = by_hands(examination)
    conclusion = made.conclusion
    if conclusion is not None:
        knees = (_slim_knee(knee, looked_into=signed.looked_into) for knee in conclusion.knees)
        conclusion = replace(conclusion, knees=tuple(knees))
    return replace(made, alarms=(), advice=None, conclusion=conclusion)


def _slim_knee(knee: KneeConclusion, *, looked_into: bool) -> KneeConclusion:
    lesions = tuple(map(_slim_lesion, knee.lesions)) if looked_into else ()
    return replace(knee, lesions=lesions, combinations=())


def _slim_lesion(entry: LesionProbability) -> LesionProbability:
    """Return an entry with those reasons only that a surprise would name."""
    against = entry.level == ANY_LEVEL and entry.probability < HARDLY
    pro = entry.level == ANY_LEVEL and entry.probability > NEARLY_CERTAIN
    return replace(
        entry,
        reasons_for=tuple(entry.reasons_for[:MISLED]) if pro else (),
        reasons_against=tuple(entry.reasons_against[:MISLED]) if against else (),
    )
