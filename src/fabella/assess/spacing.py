"""Other distances between the global grades, to see how far the pass mark rests on their being equal.

Source: McGown and others 2022 BMC Med Educ 22:708, doi 10.1186/s12909-022-03753-5: examiners placed
borderline, clear pass and good at 0.33, 0.55 and 0.77 of the way from fail to excellent.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fabella.assess.blueprint import GradeScale
from fabella.assess.marks import Marks
from fabella.errors import InputError

AS_PLACED_BY_EXAMINERS = (0.0, 1.32, 2.2, 3.08, 4.0)


def space_grades(marks: Marks, values: tuple[float, ...] = AS_PLACED_BY_EXAMINERS) -> Marks:
    """Return the same marks with their grades at other distances; borderline stays the same grade.

    Parameters
    ----------
    marks
        As marked.
    values
        A rising value for each grade of the scale.

    Raises
    ------
    InputError
        When there are not as many values as grades, or they do not rise.
    """
    old = marks.blueprint.grades
    if len(values) != len(old.values):
        raise InputError.of(
            place="values",
            value=str(len(values)),
            says="are not as many as the grades",
            remedy=f"use {len(old.values)}",
        )
    scale = GradeScale(values=values, names=old.names, borderline=values[old.values.index(old.borderline)])
    place = np.searchsorted(np.array(old.values), np.nan_to_num(marks.grade))
    grade = np.where(np.isnan(marks.grade), np.nan, np.array(scale.values)[place.clip(0, len(values) - 1)])
    return replace(marks, blueprint=replace(marks.blueprint, grades=scale), grade=grade)
