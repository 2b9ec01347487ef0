"""The many-facet Rasch analysis of a whole exam, its facets chosen by what the marks can tell apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fabella.assess.blueprint import item_table
from fabella.assess.facets_measures import RaschFit
from fabella.assess.facets_rasch import rasch
from fabella.assess.gstudy_blocks import within
from fabella.assess.gstudy_design import Codes, coded
from fabella.assess.marks import Marks, State
from fabella.errors import InputError, Problem


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

    Items with the same maximum share a rating scale. Weights play no part.

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
    there = np.flatnonzero(marks.state <= State.NOT_DONE)
    if not len(there):
        remedy = "read a file that holds marks"
        raise InputError([Problem(place="marks", value="", says="are all missing", remedy=remedy)])
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
        fit=fit,
        candidates=_named(marks.candidates, marks.candidate[sheet]),
        stations=_named(codes, station),
        items=_named([f"{codes[s]}/{c}" for s, c in zip(table.station, table.codes, strict=True)], item),
        examiners=_named(marks.examiners, examiner) if "examiner" in facets else (),
        keep_to_station=keeps,
    )


def _named(names: tuple[str, ...] | list[str], code: np.ndarray) -> tuple[str, ...]:
    return tuple(names[k] for k in np.unique(code))
