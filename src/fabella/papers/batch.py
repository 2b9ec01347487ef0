"""Feedback for all candidates at once: one PDF each, made by several processes, in the order of the marks.

Processes are spawned, never forked: the library that sets the pages starts threads, which a fork loses.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from itertools import chain, count
from multiprocessing import get_context

from fabella.papers.candidate import feedback
from fabella.papers.cohort import Cohort
from fabella.report.pdf import as_pdf

_ALONE = 60  # pages, up to which starting processes takes longer than it saves
_AT_A_TIME = 8
_LONGEST = 200  # bytes of a name, of which a disk takes 255
_UNSAFE = re.compile(r"[^\w.-]")

_held: list[tuple[Cohort, date]] = []


def feedback_files(
    cohort: Cohort, *, written_on: date, processes: int | None = None
) -> Iterator[tuple[str, bytes]]:
    """Yield the name and content of each candidate's file; the same exam gives the same bytes.

    Parameters
    ----------
    cohort
        The exam.
    written_on
        The date stamped into the files.
    processes
        How many; by default one a core, none beside this one for a few pages.
    """
    names = file_names(cohort.marks.candidates)
    workers = processes or (1 if len(names) <= _ALONE else os.cpu_count() or 1)
    if workers == 1:
        for place, name in enumerate(names):
            yield name, as_pdf(feedback(cohort, place), written_on=written_on)
        return
    spawn = get_context("spawn")
    with ProcessPoolExecutor(
        workers, mp_context=spawn, initializer=_hold, initargs=(cohort, written_on)
    ) as pool:
        yield from zip(names, pool.map(_made, range(len(names)), chunksize=_AT_A_TIME), strict=True)


def file_names(candidates: tuple[str, ...]) -> tuple[str, ...]:
    """Return a file name for each candidate: the start of the code, and a number where two are alike."""
    names: list[str] = []
    taken: set[str] = set()
    for candidate in candidates:
        short = _UNSAFE.sub("_", candidate).encode()[:_LONGEST].decode(errors="ignore")
        plain = short.lstrip(".") or "candidate"
        numbered = (f"{plain}-{number}" for number in count(2))
        name = next(each for each in chain([plain], numbered) if each.casefold() not in taken)
        taken.add(name.casefold())
        names.append(f"{name}.pdf")
    return tuple(names)


def _hold(cohort: Cohort, written_on: date) -> None:
    _held[:] = [(cohort, written_on)]


def _made(place: int) -> bytes:
    cohort, written_on = _held[0]
    return as_pdf(feedback(cohort, place), written_on=written_on)
