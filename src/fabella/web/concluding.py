"""The live conclusion of an examination: in the letter's own words, computed once for each state of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from fabella.record import Examination
from fabella.report import Readings, build_plate, readings_of, render_plate, render_side_view
from fabella.store.clinic.concluded import Concluded, concluded_of
from fabella.web.elsewhere import begin_ahead, computed
from fabella.workup import Graded, Workup, run_workup, workup_again

_KEPT_THERE = 16
"""Workups that a process remembers, for whoever asks about the same examination in another way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """What an examination comes to as it stands, finished or not.

    `workup_of` gives the numbers, reasons and sources behind the words. It is kept small, because it comes
    from another process with every touch.
    """

    graded: tuple[Graded, ...]
    readings: Readings
    concluded: Concluded


def anticipate(examination: Examination) -> None:
    """Begin the live conclusion that somebody will ask for in a moment, unless one is being drawn already."""
    begin_ahead(_live, examination)


def live(examination: Examination) -> Live:
    """Return the live conclusion of an examination; the same one is computed once, whoever asks."""
    return computed(_live, examination)


def workup_of(examination: Examination) -> Workup:
    """Return the workup of an examination."""
    return computed(workup_in_place, examination)


def workup_then(examination: Examination, edition: str) -> Workup:
    """Return the workup of an examination with the evidence that it was signed with."""
    return computed(_workup_then, (examination, edition))


def plate_of(examination: Examination) -> str:
    """Return the plate of both knees as SVG."""
    return computed(_plate, examination)


def side_view_of(examination: Examination) -> str:
    """Return both knees from the side as SVG."""
    return computed(_side_view, examination)


def workup_in_place(examination: Examination) -> Workup:
    """Return a workup, made in this process: whoever signs is told in the papers and changes nothing."""
    return replace(_worked_up(replace(examination, examiner=None)), examination=examination)


@lru_cache(maxsize=_KEPT_THERE)
def _worked_up(examination: Examination) -> Workup:
    return run_workup(examination)


def _workup_then(signed: tuple[Examination, str]) -> Workup:
    examination, edition = signed
    return workup_again(examination, edition=edition)


def _plate(examination: Examination) -> str:
    return render_plate(build_plate(readings_of(workup_in_place(examination))))


def _side_view(examination: Examination) -> str:
    return render_side_view(readings_of(workup_in_place(examination)))


def _live(examination: Examination) -> Live:
    workup = workup_in_place(examination)
    return Live(graded=workup.graded, readings=readings_of(workup), concluded=concluded_of(workup))
