"""Why a method gives no pass mark at a station, and what to do: void is what was not held."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fabella.assess.marks import Marks, Numbers
from fabella.assess.rules import CutMethod
from fabella.assess.scores import Scores

_FEWEST_ON_A_LINE, _FEWEST_A_SIDE = 3, 2
_OTHER = "choose another method"
_BY_GROUP = (CutMethod.BORDERLINE_GROUP_MEAN, CutMethod.BORDERLINE_GROUP_MEDIAN)


def why_no_cut(marks: Marks, scores: Scores, method: CutMethod, station: int) -> str:
    """Return why a method that rests on grades gives no cut at a station, by its position, and the remedy."""
    scale = marks.blueprint.grades
    here = (marks.station == station) & ~np.isnan(scores.of_sheet) & ~np.isnan(marks.grade)
    score, grade = scores.of_sheet[here], marks.grade[here]
    n, borderline = len(grade), scale.names[scale.values.index(scale.borderline)]
    if n < _FEWEST_A_SIDE or (method is CutMethod.BORDERLINE_REGRESSION and n < _FEWEST_ON_A_LINE):
        told = f"{n} sheet{' has' if n == 1 else 's have'} both a score and a grade"
        return f"{told}, which is too few: {_OTHER}, or declare the station void if it was not held"
    if np.ptp(grade) == 0:
        name = scale.names[scale.values.index(grade[0])]
        return f"all {n} sheets are graded '{name}', which tells no borderline: {_OTHER}"
    if method in _BY_GROUP:
        return f"none of {n} sheets is graded '{borderline}': {_OTHER}"
    return f"{_why_not_parted(score, grade > scale.borderline, borderline)}: {_OTHER}"


def _why_not_parted(score: Numbers, above: NDArray[np.bool_], borderline: str) -> str:
    sides = (score[above], score[~above])
    if min(map(len, sides)) < _FEWEST_A_SIDE:
        told = f"sheets graded above '{borderline}': {len(sides[0])}, at it or below: {len(sides[1])}"
        return f"{told}, and either side needs two"
    if any(np.ptp(each) == 0 for each in sides):
        return f"all sheets on one side of '{borderline}' have the same score"
    return f"the scores of those graded above '{borderline}' are not parted from the others'"
