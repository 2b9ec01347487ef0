"""How a result comes about, step by step and to the digit, for whoever appeals: marks, scores, pass mark."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import isnan

import numpy as np

from fabella.assess import CutMethod, State, Unreached
from fabella.papers.cohort import Cohort
from fabella.papers.own_errors import added_words, error_words
from fabella.report.wording import counted, listed

_WHOLE = (CutMethod.HOFSTEE, CutMethod.COHEN, CutMethod.FIXED)
"""Methods that give one pass mark for the exam, and none of a station's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetGround:
    """How the score of one sheet comes about, in words; station and examiner by their codes."""

    station: str
    examiner: str
    words: str


def how_scored(cohort: Cohort, *, whose: str) -> str:
    """Return how scores become a whole score and its pass mark, in a sentence; ``whose`` such as ``your``."""
    rules, blueprint = cohort.results.rules, cohort.marks.blueprint
    alike = len({each.weight for each in blueprint.stations}) == 1
    mean = "their mean" if alike else "their mean by what each counts"
    if rules.method in _WHOLE:
        bar = "the pass mark is one for the whole exam"
    else:
        bar = f"the pass mark is the {'mean' if alike else 'same mean'} of those of the stations taken"
    more = f", and {added} on top" if (added := added_words(rules)) else ""
    marks = cohort.marks
    pairs = marks.candidate.astype(np.int64) * marks.n_stations + marks.station
    twice = ", of two examiners their mean" if len(np.unique(pairs)) < len(pairs) else ""
    of_marks = f"what was earned of its marks, in percent{twice}"
    return f"A station's score is {of_marks}; {whose} score is {mean}, and {bar}{more}."


def error_grounds(cohort: Cohort, place: int) -> str:
    """Return the error of a candidate's whole score in a sentence, by their place; empty without any."""
    told = error_words(cohort.results, cohort.results.decisions[place])
    return f"The error of measurement of the whole is {told}." if told else ""


def sheet_grounds(cohort: Cohort, place: int) -> tuple[SheetGround, ...]:
    """Return how each sheet of a candidate was scored, by their place, in the order of the stations."""
    marks, own = cohort.marks, cohort.rows[place]
    sheets = np.unique(marks.sheet[own])
    return tuple(
        SheetGround(
            station=marks.blueprint.station_codes[marks.station[sheet]],
            examiner=marks.examiners[marks.examiner[sheet]],
            words=", ".join(_words(cohort, own[marks.sheet[own] == sheet], int(sheet))),
        )
        for sheet in sheets[np.argsort(marks.station[sheets], kind="stable")].tolist()
    )


def _words(cohort: Cohort, rows: np.ndarray, sheet: int) -> Iterator[str]:
    """Yield what was earned of what, what is missing and what became of it, and the score."""
    marks, table = cohort.marks, cohort.items
    state, weight = marks.state[rows], table.weight[marks.item[rows]]
    worth = weight * table.max_mark[marks.item[rows]]
    seen = state <= State.NOT_DONE
    zero = cohort.results.rules.unreached is Unreached.NOT_DONE
    has = seen | (zero & (state == State.NOT_REACHED))
    gone = Counter(State(each).name.lower().replace("_", " ") for each in state[~has].tolist())
    score = float(cohort.results.scores.of_sheet[sheet])
    if not has.any():
        yield f"no mark ({listed(list(gone))})"
        return
    earned, could, full = (
        float(each)
        for each in (
            (weight * np.where(seen, marks.mark[rows], 0.0))[has].sum(),
            worth[has].sum(),
            worth.sum(),
        )
    )
    kind = "mark" if (weight == 1).all() else "weighted mark"
    yield f"{earned:g} of {could:g} {kind}{'' if could == 1 else 's'}"
    if zero and (late := int((state == State.NOT_REACHED).sum())):
        yield f"{counted(late, 'item')} not reached and so not done"
    if gone:
        told = listed([f"{n} {word}" for word, n in gone.items()])
        how = "too much to be filled in, so that there is no score"
        if not isnan(score):
            how = f"filled in to {full:g} as the rest of the same kind"
        yield f"{told}: {how}"
    if not isnan(score):
        yield f"which is {score:.1f}%"
