"""The live conclusion of an examination: in the letter's own words, computed once for each state of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from fabella.record import Examination
from fabella.report import Readings, build_letter, build_plate, readings_of, render_plate
from fabella.report.cannot_wait import Urgent
from fabella.report.conclusion_words import KneeWords
from fabella.report.plan_words import Plan
from fabella.workup import Workup, run_workup

_KEPT = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """What an examination comes to as it stands, finished or not.

    The words are those of the letter; ``workup`` holds the numbers, reasons and sources behind them.
    """

    workup: Workup
    readings: Readings
    urgent: tuple[Urgent, ...]
    unsettled: tuple[Urgent, ...]
    unsettled_more: int
    knees: tuple[KneeWords, ...]
    nothing_said: str
    grounding: str
    plan: Plan
    failures: tuple[str, ...]
    plate: str


@lru_cache(maxsize=_KEPT)
def workup_of(examination: Examination) -> Workup:
    """Return the workup of an examination; the same one is worked up once."""
    return run_workup(examination)


@lru_cache(maxsize=_KEPT)
def live(examination: Examination) -> Live:
    """Return the live conclusion of an examination."""
    workup = workup_of(examination)
    letter = build_letter(workup, written_on=date.min)  # its words do not depend on the day
    readings = readings_of(workup)
    return Live(
        workup=workup,
        readings=readings,
        urgent=letter.urgent,
        unsettled=letter.unsettled,
        unsettled_more=letter.unsettled_more,
        knees=letter.conclusions,
        nothing_said=letter.no_conclusion,
        grounding=letter.grounding,
        plan=letter.plan,
        failures=letter.failures,
        plate=render_plate(build_plate(readings)),
    )
