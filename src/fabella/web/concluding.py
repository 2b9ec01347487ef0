"""The live conclusion of an examination: in the letter's own words, computed once for each state of it."""

from __future__ import annotations

import logging
from concurrent.futures import BrokenExecutor, Future
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from fabella.record import Examination
from fabella.report import Readings, build_letter, build_plate, readings_of, render_plate
from fabella.report.cannot_wait import Urgent
from fabella.report.conclusion_words import KneeWords
from fabella.report.plan_words import Plan
from fabella.store.clinic.concluded import Concluded
from fabella.web.workers import Workers
from fabella.workup import Workup, run_workup

log = logging.getLogger(__name__)

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


def concluded_now(live: Live) -> Concluded:
    """Return a live conclusion as one that was signed is kept, to be held against it."""
    return Concluded(
        urgent=live.urgent,
        unsettled=live.unsettled,
        unsettled_more=live.unsettled_more,
        knees=live.knees,
        nothing_said=live.nothing_said,
        grounding=live.grounding,
        plan=live.plan,
        failures=live.failures,
        plate=live.plate,
    )


_PATIENCE = 3  # processes that end without an answer, before none is tried again

_workers: list[Workers] = []
_ended: list[str] = []


def conclude_elsewhere(workers: Workers) -> None:
    """Let other processes conclude from now on; until then, and without them, it is done here."""
    _workers[:] = [workers]
    _ended.clear()
    _elsewhere.cache_clear()


def workup_of(examination: Examination) -> Workup:
    """Return the workup of an examination."""
    return live(examination).workup


def live(examination: Examination) -> Live:
    """Return the live conclusion of an examination; the same one is computed once, whoever asks."""
    if not _workers or len(_ended) >= _PATIENCE:
        return _here(examination)
    try:
        return _elsewhere(examination).result()
    except BrokenExecutor as error:  # conclude here, and begin anew next time
        _ended.append(str(error))
        log.warning("a process that concludes has ended (%s of %s): %s", len(_ended), _PATIENCE, error)
        _elsewhere.cache_clear()
        _workers[0].end()
        return _here(examination)


@lru_cache(maxsize=_KEPT)
def _here(examination: Examination) -> Live:
    return _live(examination)


@lru_cache(maxsize=_KEPT)
def _elsewhere(examination: Examination) -> Future[Live]:
    return _workers[0].start(_live, examination)


def _live(examination: Examination) -> Live:
    workup = run_workup(examination)
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
