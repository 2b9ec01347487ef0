"""Everything about an exam that should be looked at before its results are used, in one list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.assess.borderline_regression import Line
from fabella.assess.examiners import ExaminerStudy
from fabella.assess.groups import GroupCut
from fabella.assess.items import ItemFacts
from fabella.assess.marks import Marks
from fabella.assess.pass_mark import PassMark
from fabella.assess.people_flags import marked_apart, without_sheet, written_alike
from fabella.assess.station_page import StationPage

DRIFTS = 0.01  # p below which a common drift through the day is flagged; our default


class About(StrEnum):
    """What a flag is about."""

    EXAM = "exam"
    STATION = "station"
    ITEM = "item"
    EXAMINER = "examiner"
    CANDIDATE = "candidate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One thing to look at: what it is about, its code (of an item ``station/item``), and what is the matter.

    ``says`` is a `LineFlag`, `GroupFlag`, `CohortFlag` or `ItemFlag` by its value, or ``raises_alpha``,
    ``circuits_differ``, ``marks_alike``, ``drifts``, ``no_sheet``, ``marked_apart`` or ``written_alike``.
    """

    about: About
    code: str
    says: str


def exam_flags(
    marks: Marks,
    found: PassMark,
    items: tuple[ItemFacts, ...],
    stations: tuple[StationPage, ...],
    study: ExaminerStudy,
) -> tuple[Flag, ...]:
    """Return all flags of an exam: of people, of the whole, of stations, items and examiners."""
    codes = marks.blueprint.station_codes
    return (
        *_of_people(marks),
        *_of_pass_mark(codes, found),
        *(Flag(about=About.STATION, code=p.station, says="raises_alpha") for p in stations if p.raises_alpha),
        *_of_circuits(codes, study),
        *(
            Flag(about=About.ITEM, code=f"{each.station}/{each.item}", says=flag)
            for each in items
            for flag in each.flags
        ),
        *_of_examiners(study),
    )


def _of_people(marks: Marks) -> Iterator[Flag]:
    """What may have put marks to the wrong person comes first: nothing else is as grave."""
    about = About.CANDIDATE
    yield from (Flag(about=about, code=name, says="no_sheet") for name in without_sheet(marks))
    yield from (Flag(about=about, code=name, says="marked_apart") for name in marked_apart(marks))
    for of, names in ((about, marks.candidates), (About.EXAMINER, marks.examiners)):
        yield from (Flag(about=of, code=alike, says="written_alike") for alike in written_alike(names))


def _of_pass_mark(codes: tuple[str, ...], found: PassMark) -> Iterator[Flag]:
    if found.cohort:
        yield from (Flag(about=About.EXAM, code="", says=flag) for flag in found.cohort.flags)
    kinds: tuple[Sequence[Line | GroupCut], ...] = (found.lines, found.groups)
    for each in kinds:
        for code, one in zip(codes, each, strict=bool(each)):
            yield from (Flag(about=About.STATION, code=code, says=flag) for flag in one.flags)


def _of_circuits(codes: tuple[str, ...], study: ExaminerStudy) -> Iterator[Flag]:
    for effect in study.circuits.value or ():
        if effect.warns:
            yield Flag(about=About.STATION, code=codes[effect.station], says="circuits_differ")


def _of_examiners(study: ExaminerStudy) -> Iterator[Flag]:
    if (drifting := study.drift.value) and drifting.drift.p < DRIFTS:
        yield Flag(about=About.EXAM, code="", says="drifts")
    for part, names in ((study.spread, study.names), (study.spread_of_grades, study.graded)):
        if part.value:
            for k in part.value.alike.tolist():
                flag = Flag(about=About.EXAMINER, code=names[k], says="marks_alike")
                yield flag
