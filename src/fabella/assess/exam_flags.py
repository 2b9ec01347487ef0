"""Everything about an exam that should be looked at before its results are used, in one list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from fabella.assess.borderline_regression import Line
from fabella.assess.examiners import ExaminerStudy
from fabella.assess.groups import GroupCut
from fabella.assess.items import ItemFacts
from fabella.assess.marks import Marks, Numbers
from fabella.assess.pass_mark import PassMark
from fabella.assess.station_page import StationPage

DRIFTS = 0.01  # p below which a drift is flagged, common or of an examiner (Holm); our default
_AN_HOUR_S = 3600.0  # how long a sheet without a finish is taken to run; ours


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
    yield from (Flag(about=about, code=name, says="no_sheet") for name in _without_sheet(marks))
    yield from (Flag(about=about, code=name, says="marked_apart") for name in _marked_apart(marks))
    for of, names in ((about, marks.candidates), (About.EXAMINER, marks.examiners)):
        yield from (Flag(about=of, code=alike, says="written_alike") for alike in _written_alike(names))


def _without_sheet(marks: Marks) -> tuple[str, ...]:
    """Return candidates with no sheet at all at a station that everybody else of their circuit has one at.

    One who was absent, or whose station broke down, has a sheet that says so.
    """
    shape = (marks.n_candidates, marks.n_stations)
    has = np.zeros(shape, dtype=np.bool_)
    has[marks.candidate, marks.station] = True
    circuit = np.zeros(marks.n_candidates, dtype=np.int64)
    circuit[marks.candidate] = marks.circuit
    found = []
    for c in np.unique(circuit):
        here = np.flatnonzero(circuit == c)
        usual = has[here].mean(axis=0) > 0.5
        found += here[(usual & ~has[here]).any(axis=1)].tolist()
    return tuple(marks.candidates[p] for p in sorted(found))


def _marked_apart(marks: Marks) -> tuple[str, ...]:
    """Return candidates with two sheets at one station of which one was begun after the other's end.

    Two examiners of one performance write at the same time: these may be two people of one name.
    """
    end: Numbers = np.where(np.isnan(marks.finished_s), marks.started_s + _AN_HOUR_S, marks.finished_s)
    place = marks.candidate.astype(np.int64) * marks.n_stations + marks.station
    known = np.flatnonzero(~np.isnan(marks.started_s))
    order = known[np.lexsort((marks.started_s[known], place[known]))]
    first, second = order[:-1], order[1:]
    apart = (place[first] == place[second]) & (marks.started_s[second] > end[first])
    return tuple(marks.candidates[p] for p in np.unique(marks.candidate[second[apart]]))


def _written_alike(names: Sequence[str]) -> Iterator[str]:
    """Yield names that differ in capitals and blanks alone, together, such as ``'Ann' and 'ann'``."""
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault("".join(name.split()).casefold(), []).append(name)
    for several in alike.values():
        if len(several) > 1:
            yield " and ".join(f"'{name}'" for name in several)


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
    if moves := study.drift.value:
        if moves.drift.p < DRIFTS:
            yield Flag(about=About.EXAM, code="", says="drifts")
        for k in np.flatnonzero(moves.holm < DRIFTS).tolist():
            yield Flag(about=About.EXAMINER, code=study.timed[k], says="drifts")
    for part, names in ((study.spread, study.names), (study.spread_of_grades, study.graded)):
        if part.value:
            for k in part.value.alike.tolist():
                yield Flag(about=About.EXAMINER, code=names[k], says="marks_alike")
