"""What is there and what is missing, and what was done about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fabella.assess.marks import Marks, State
from fabella.assess.scores import Scores


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """How complete an exam is.

    Parameters
    ----------
    candidates, stations, examiners, circuits, sheets, marks
        How many there are [-].
    missing
        Item marks without a number, by the word of their state; only ``not_done`` counts, as 0.
    prorated
        Sheets on which something missing was prorated.
    without_score
        Sheets with too much missing for a score.
    without_grade
        Sheets with no global grade: they take no part in methods that rest on it.
    void
        Stations that were void for the whole circuit of some candidate, by code.
    incomplete
        Candidates with a gap at a station that was not void.
    """

    candidates: int
    stations: int
    examiners: int
    circuits: int
    sheets: int
    marks: int
    missing: Mapping[str, int]
    prorated: int
    without_score: int
    without_grade: int
    void: tuple[str, ...]
    incomplete: int


def coverage(marks: Marks, scores: Scores) -> Coverage:
    """Return how complete an exam is."""
    counted = np.bincount(marks.state, minlength=len(State))
    scored = ~np.isnan(scores.of_sheet)
    return Coverage(
        candidates=marks.n_candidates,
        stations=marks.n_stations,
        examiners=len(np.unique(marks.examiner)),
        circuits=len(np.unique(marks.circuit)),
        sheets=marks.n_sheets,
        marks=len(marks.mark),
        missing={state.word: int(counted[state]) for state in State if state is not State.MARKED},
        prorated=int((scored & (scores.prorated > 0)).sum()),
        without_score=int((~scored).sum()),
        without_grade=int(np.isnan(marks.grade).sum()),
        void=tuple(code for s, code in enumerate(marks.blueprint.station_codes) if scores.void[:, s].any()),
        incomplete=int((np.isnan(scores.station) & ~scores.void).any(axis=1).sum()),
    )
