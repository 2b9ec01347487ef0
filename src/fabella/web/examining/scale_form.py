"""The scale of the global rating, one for the whole exam: filled in and read back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from fabella.errors import Problems
from fabella.exam import GRADES, Grade, Station

STEPS: Final = 7
"""Steps that the form has room for."""

_LONGEST_NAME, _LONGEST_WORDS = 30, 200
Scale = tuple[tuple[Grade, ...], int]
"""The grades, the lowest first, and the code of the one at which the pass mark is read."""


def scale_of(stations: Sequence[Station]) -> Scale:
    """Return the scale of an exam: that of its stations, before there are any the common one."""
    return (stations[0].grades, stations[0].borderline) if stations else (GRADES, 1)


def scale_fields(scale: Scale) -> dict[str, str]:
    """Return what the form of a scale holds."""
    grades, borderline = scale
    made = {"borderline": str([each.code for each in grades].index(borderline) + 1)}
    for number, grade in enumerate(grades, 1):
        made |= {f"grade-{number}": grade.name, f"means-{number}": grade.words}
    return made


def read_scale(typed: Mapping[str, str]) -> Scale:
    """Return the scale that was typed, counted from 0 upwards; `InputError` has every problem."""
    problems = Problems()
    grades, borderline = list[Grade](), -1
    for number in range(1, STEPS + 1):
        name, words = (" ".join(typed.get(f"{each}-{number}", "").split()) for each in ("grade", "means"))
        if not name and not words:
            continue
        if not name or len(name) > _LONGEST_NAME or len(words) > _LONGEST_WORDS:
            remedy = f"write a name of up to {_LONGEST_NAME} letters and what it means in {_LONGEST_WORDS}"
            problems.add(f"grade-{number}", "", "will not do", remedy)
        if name.casefold() in {each.name.casefold() for each in grades}:
            problems.add(f"grade-{number}", name, "stands there twice", "give each step a name of its own")
        if typed.get("borderline") == str(number):
            borderline = len(grades)
        grades.append(Grade(code=len(grades), name=name, words=words or name))
    if len(grades) < 3:  # noqa: PLR2004
        problems.add("grades", "", "are too few", "write three at least")
    elif not 0 <= borderline < len(grades) - 1:
        problems.add("borderline", "", "is missing or wrong", "choose a step that is not the highest")
    problems.raise_any()
    return tuple(grades), borderline
