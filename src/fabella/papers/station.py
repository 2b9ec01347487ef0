"""The report on one station: how it scored, how it agreed with the grade, and its items."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from fabella.assess import About, Analysis, Line, Marks
from fabella.exam import Station
from fabella.papers.board import Analysed
from fabella.papers.charts import as_figure, grades_chart
from fabella.papers.words import flag_words, known, share_words
from fabella.report.document import Block, Document, Figure, Paragraph, Points, Section, Table
from fabella.report.wording import counted, listed, sentence, written_date


def station_report(exam: Analysed, marks: Marks, station: Station, place: int) -> Document:
    """Return the report on a station, by its place in the exam."""
    found = exam.analysis
    sections: list[tuple[str, Sequence[Block]]] = [
        ("Scores", tuple(_scores(found, place))),
        ("Grades", tuple(_grades(found, marks, place))),
        ("Items", (_items(found, station),)),
        ("Time", tuple(_time(found, place))),
        ("To look at", _flags(found, station)),
    ]
    return Document(
        title=f"Report on the station “{station.title}”",
        date=written_date(exam.held_on),
        addressee="",
        standing="",
        opening=(exam.title,),
        sections=tuple(Section(heading=name, blocks=tuple(blocks)) for name, blocks in sections if blocks),
        close="A station is mended for the next time; its marks stay as they were given.",
        foot=f"{exam.title}, station {station.id}, marks {found.results.marks_digest[:12]}",
        figure=_figure(found, marks, station, place),
    )


def _scores(found: Analysis, place: int) -> Iterator[Block]:
    page, se = found.stations[place], found.results.pass_mark.station_ses[place]
    error = f" (standard error {known(se, digits=1)})" if se > 0 else ""
    yield Paragraph(
        text=(
            f"{counted(page.n, 'candidate')} scored {known(page.mean, digits=1)}% on average (SD "
            f"{known(page.sd, digits=1)}); the pass mark is {known(page.cut, digits=1)}%{error}, and "
            f"{page.failing} lie below it."
        ),
        weighty=True,
    )
    if page.n_missing:
        yield Paragraph(text=f"{counted(page.n_missing, 'candidate')} without a score here did not enter.")
    higher = ", which is higher: look at the station, do not drop it unseen" if page.raises_alpha else ""
    yield Paragraph(
        text=(
            f"Correlation with the other stations {known(page.corrected_r)}; without this station alpha of "
            f"the exam would be {known(page.alpha_without)}{higher}. Alpha over the station's own items is "
            f"{known(page.within.alpha.estimate)}, which answers another question."
        )
    )


def _grades(found: Analysis, marks: Marks, place: int) -> Iterator[Block]:
    line = _line(found, place)
    if line is None:
        return
    names = marks.blueprint.grades.names
    given = listed([f"{n} {name}" for n, name in zip(line.per_grade, names, strict=True) if n])
    yield Paragraph(
        text=(
            f"Grades given: {given}. A grade is worth {known(line.slope, digits=1)}% (inter-grade "
            f"discrimination); grades explain {share_words(line.r2)} of the variance of the scores (R²), "
            f"from {counted(line.n, 'sheet')}."
        )
    )
    if line.contradictions:
        here = np.flatnonzero(marks.station == place)
        who = [marks.candidates[marks.candidate[here[each.sheet]]] for each in line.contradictions]
        yield Paragraph(
            text=sentence(
                "Graded below borderline with a score at or above the pass mark, or the reverse: "
                f"{listed(who)}"
            )
        )


def _items(found: Analysis, station: Station) -> Block:
    rows = tuple(
        (
            station.item(each.item).words,
            share_words(each.facility),
            known(each.corrected_r),
            known(each.grade_rho),
            share_words(each.not_observed),
        )
        for each in found.items.value or ()
        if each.station == station.id
    )
    return Table(caption="Items", header=("Item", "Earned", "r, rest", "rho, grade", "Not seen"), rows=rows)


def _time(found: Analysis, place: int) -> Iterator[Block]:
    timing = found.timing[place]
    if np.isnan(timing.median_s) and not timing.timed_out:
        return
    took = "" if np.isnan(timing.median_s) else f"Half took up to {timing.median_s / 60:.1f} minutes. "
    yield Paragraph(
        text=(
            f"{took}The bell cut off {timing.timed_out} of {counted(timing.n, 'sheet')}; "
            f"{100 * timing.never_reached_share:.1f}% of the items were never reached."
        )
    )


def _flags(found: Analysis, station: Station) -> tuple[Block, ...]:
    mine = [
        each
        for each in found.flags
        if each.about in (About.STATION, About.ITEM) and each.code.partition("/")[0] == station.id
    ]
    names = {f"{station.id}/{item.id}": f"“{item.words}”" for item in station.items}
    told = flag_words(mine, {**names, station.id: "this station"})
    return (Points(texts=tuple(map(sentence, told))),) if told else ()


def _line(found: Analysis, place: int) -> Line | None:
    lines = found.results.pass_mark.lines
    line = lines[place] if lines else None
    return line if line and not np.isnan(line.cut.estimate) else None


def _figure(found: Analysis, marks: Marks, station: Station, place: int) -> Figure | None:
    line = _line(found, place)
    if line is None:
        return None
    here = marks.station == place
    scores = found.results.scores.of_sheet[here]
    return as_figure(grades_chart(station.id, scores, marks.grade[here], line, marks.blueprint.grades))
