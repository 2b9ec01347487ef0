"""The pass mark as the board reads it: how it was set, how sure it is, what each station's rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import isnan
from types import MappingProxyType
from typing import Final

from fabella.assess import FEW_IN_A_GROUP, FEW_ON_A_LINE, Analysis, CutMethod, LineFlag, PassMark
from fabella.papers.own_errors import held_to_words
from fabella.papers.words import SOURCES, basis_words, known, range_words, sems_words
from fabella.report.document import Block, Paragraph, Table
from fabella.report.wording import listed, sentence

RESTS_ON: Final[Mapping[CutMethod, str]] = MappingProxyType(
    {
        CutMethod.BORDERLINE_REGRESSION: "Borderline",
        CutMethod.BORDERLINE_GROUP_MEAN: "Borderline",
        CutMethod.BORDERLINE_GROUP_MEDIAN: "Borderline",
        CutMethod.CONTRASTING_INTERSECTION: "Smaller group",
        CutMethod.CONTRASTING_LOGISTIC: "Smaller group",
        CutMethod.CONTRASTING_LEAST_LOSS: "Smaller group",
    }
)
"""What the sheets are called that a station's pass mark rests on most; methods without grades have none."""


def pass_mark_blocks(found: Analysis, names: Mapping[str, str]) -> Iterator[Block]:
    """Yield what a report says of the pass mark; ``names`` are the words for codes of stations."""
    results, mark = found.results, found.results.pass_mark
    ends = range_words(mark.cut)
    between = f", 95% interval {ends}%" if ends and mark.se else ""
    yield Paragraph(text=f"{mark.cut.estimate:.2f}%{between}{_error(mark)}.", weighty=True)
    if results.rules.sem_multiple:
        each = "" if results.rules.sem_multiple == 1 else " each"
        says = (
            f"To pass, a score had to be {sems_words(results.rules.sem_multiple)} "
            f"({results.sem:.2f}%{each}) above the pass mark of the stations taken. {held_to_words(results)}"
        )
        yield Paragraph(text=says.strip())
    yield Paragraph(text=f"{SOURCES[mark.method]} {sentence(basis_words(found.decided))}")
    if few := few_words(found, names):
        yield Paragraph(text=few)
    columns = _columns(found, names)
    if "Counts" in columns:
        yield Paragraph(text="Stations count differently; the exam's pass mark and scores are weighted so.")
    yield Table(
        caption="Stations, scores in percent",
        header=tuple(columns),
        rows=tuple(zip(*columns.values(), strict=True)),
    )


def few_words(found: Analysis, names: Mapping[str, str]) -> str:
    """Return a caution that names the stations with few sheets graded borderline; empty where none has few.

    Above which number a group is no longer small, no source says: both limits are ours.
    """
    codes = {each.code for each in found.flags if each.says == LineFlag.FEW_BORDERLINE}
    if not codes:
        return ""
    told = [f"{names.get(p.station, p.station)} ({p.rests_on})" for p in found.stations if p.station in codes]
    if found.results.pass_mark.lines:
        least, why = FEW_ON_A_LINE, "the line stands there on the other grades, so look at its error"
    else:
        least, why = FEW_IN_A_GROUP, "so few may bias a pass mark (Wood, Humphrey-Murto and Norman 2006)"
    return f"Fewer than {least} sheets graded borderline (a limit of ours) at {listed(told)}: {why}."


def _columns(found: Analysis, names: Mapping[str, str]) -> dict[str, list[str]]:
    """Return the columns of the table of stations: only those that the method fills."""
    mark, pages = found.results.pass_mark, found.stations
    columns = {
        "Station": [names.get(each.station, each.station) for each in pages],
        "n": [str(each.n) for each in pages],
        "Mean": [known(each.mean, digits=1) for each in pages],
        "SD": [known(each.sd, digits=1) for each in pages],
    }
    cuts = [known(each.cut, digits=1) for each in pages]
    if mark.tells_station_errors:
        pairs = zip(cuts, mark.station_ses, strict=True)
        columns["Pass mark ± its error"] = [f"{cut} ±{known(se, digits=1)}" for cut, se in pairs]
    else:
        columns["Pass mark"] = cuts
    columns["Below it"] = [str(each.failing) for each in pages]
    if not found.counts_alike:  # all alike goes without saying
        columns["Counts"] = [f"{100 * each.share:.1f}%" for each in pages]
    if mark.lines:
        columns["R²"] = [known(each.r2) for each in pages]
        columns["Per grade"] = [known(each.slope, digits=1) for each in pages]
    if title := RESTS_ON.get(mark.method):
        columns[title] = [str(each.rests_on) for each in pages]  # the widest word has the margin beside it
    return columns


def _error(mark: PassMark) -> str:
    """Return how sure a pass mark is and how that is known; empty where it was fixed."""
    if isnan(mark.se):
        return "; its error cannot be told from so few"
    if not mark.se > 0:
        return ""
    if not len(mark.resampled):
        conferred = ", too small if they conferred" if len(mark.rounds) > 1 else ""
        return f"; standard error {known(mark.se)}%, from the judges' spread{conferred}"
    alone = known(mark.se_independent)
    formula = "" if alone == "–" else f", {alone} by formula if stations shared no candidates"
    return f"; standard error {known(mark.se)}% by resampling{formula}"
