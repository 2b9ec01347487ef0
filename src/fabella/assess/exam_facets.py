"""The many-facet Rasch analysis of a whole exam, its facets chosen by what the marks can tell apart."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fabella.assess.blueprint import item_table
from fabella.assess.facets_measures import RaschFit
from fabella.assess.facets_rasch import rasch
from fabella.assess.gstudy_blocks import within
from fabella.assess.gstudy_design import Codes, coded
from fabella.assess.marks import Marks, Numbers, State
from fabella.errors import InputError

_LISTED = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Facets:
    """A Rasch analysis of an exam, and whom its measures belong to.

    Parameters
    ----------
    fit
        The fitted model; its facets are stations, items within their stations, and examiners if stations have
        several.
    candidates, stations, items, examiners
        Names of the levels in the order of the measures; items as ``station/item``.
    keep_to_station
        Whether examiners keep to one station, and are compared with the others of that station only.
    """

    fit: RaschFit
    candidates: tuple[str, ...]
    stations: tuple[str, ...]
    items: tuple[str, ...]
    examiners: tuple[str, ...]
    keep_to_station: bool


def exam_facets(marks: Marks, *, at_random: bool = False) -> Facets:
    """Return the many-facet Rasch analysis of an exam.

    Items with the same maximum share a rating scale. Weights play no part. What everybody had in full, or
    not at all, has no finite measure and tells nothing of anything else: it is left out and named.

    Parameters
    ----------
    marks
        As read; marks that are missing are left out, not done is 0.
    at_random
        True if candidates were allotted to circuits and examiners at random, so that examiners who share no
        candidates may be compared.

    Raises
    ------
    InputError
        When examiners cannot be compared, or the estimates do not exist.
    """
    table, codes = item_table(marks.blueprint), marks.blueprint.station_codes
    there = rows_that_tell(marks)
    if not len(there):
        says, remedy = "are all missing, or tell nobody apart", "read a file that holds marks which differ"
        raise InputError.of(place="marks", says=says, remedy=remedy)
    sheet, item = marks.sheet[there], marks.item[there]
    station, examiner = marks.station[sheet].astype(np.intp), marks.examiner[sheet].astype(np.intp)
    facets: dict[str, Codes] = {}
    centred: dict[str, Codes] = {}
    if np.ptp(station) > 0:
        facets["station"], centred["item"] = station, station
    facets["item"] = item.astype(np.intp)
    keeps = within(coded(examiner), coded(station))
    if not within(coded(station), coded(examiner)):  # else examiner and station are one
        facets["examiner"] = examiner
        if keeps and "station" in facets:
            centred["examiner"] = station
    fit = rasch(
        marks.mark[there],
        candidate=marks.candidate[sheet],
        facets=facets,
        scale=table.max_mark[item] if np.ptp(table.max_mark) > 0 else None,
        centred=centred,
        alike=at_random,
        names={
            "station": _named(codes, station),
            "item": _named(
                [f"{codes[s]}/{c}" for s, c in zip(table.station, table.codes, strict=True)], item
            ),
            "examiner": _named(marks.examiners, examiner),
        },
    )
    return Facets(
        fit=replace(fit, warnings=(*_left_out(marks, there), *fit.warnings)),
        candidates=_named(marks.candidates, marks.candidate[sheet]),
        stations=_named(codes, station),
        items=_named([f"{codes[s]}/{c}" for s, c in zip(table.station, table.codes, strict=True)], item),
        examiners=_named(marks.examiners, examiner) if "examiner" in facets else (),
        keep_to_station=keeps,
    )


def rows_that_tell(marks: Marks) -> NDArray[np.intp]:
    """Return the rows of marks that the analysis rests on, in their order.

    The likelihood rises without end as the difficulty of an item that everybody had, or the severity of an
    examiner who gave nothing, goes to its limit, where their marks are certain and drop out of it.
    """
    table = item_table(marks.blueprint)
    kept = np.flatnonzero(marks.state <= State.NOT_DONE)
    while len(kept):
        sheet, item, mark = marks.sheet[kept], marks.item[kept], marks.mark[kept]
        scale = coded(table.max_mark[item])
        least, most = _of_level(np.minimum, scale, mark), _of_level(np.maximum, scale, mark)
        bottom, top = mark == least[scale], mark == most[scale]
        telling = np.ones(len(kept), dtype=np.bool_)
        for facet in (item, marks.examiner[sheet]):
            level = coded(facet)
            extreme = (np.bincount(level, ~bottom) == 0) | (np.bincount(level, ~top) == 0)
            telling &= ~extreme[level]
        if telling.all():
            break
        kept = kept[telling]
    return kept


def _of_level(least_or_most: np.ufunc, level: Codes, values: Numbers) -> Numbers:
    """Return the least or the greatest value of each level."""
    found = np.full(int(level.max()) + 1, -np.inf if least_or_most is np.maximum else np.inf)
    least_or_most.at(found, level, values)
    return found


def _left_out(marks: Marks, kept: NDArray[np.intp]) -> tuple[str, ...]:
    """Return what was left out because everybody had it in full or not at all; empty if nothing was."""
    table, codes = item_table(marks.blueprint), marks.blueprint.station_codes
    held = np.flatnonzero(marks.state <= State.NOT_DONE)
    items = np.setdiff1d(marks.item[held], marks.item[kept])
    examiners = np.setdiff1d(marks.examiner[marks.sheet[held]], marks.examiner[marks.sheet[kept]])
    names = [
        *(f"{codes[table.station[k]]}/{table.codes[k]}" for k in items),
        *(f"examiner {marks.examiners[k]}" for k in examiners),
    ]
    if not names:
        return ()
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    listed = ", ".join(names[:_LISTED]) + more
    return (f"left out, as everybody had everything there or nothing, which has no finite measure: {listed}",)


def _named(names: tuple[str, ...] | list[str], code: np.ndarray) -> tuple[str, ...]:
    return tuple(names[k] for k in np.unique(code))
