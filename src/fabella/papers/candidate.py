"""What one candidate's exam showed: the decision, station by station, what was done well and what was missed.

Nobody else is named, and nothing is ranked; the cohort appears as the range of its middle half.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import isnan

import numpy as np

from fabella.assess import Decision, Outcome, Reason, State
from fabella.exam import load_domains
from fabella.papers.cohort import Cohort
from fabella.papers.grounds import how_scored
from fabella.papers.own_errors import error_words
from fabella.papers.reasons import reasons_for
from fabella.papers.standing import at_stations
from fabella.papers.words import beside
from fabella.report.document import Block, Document, Paragraph, Points, Section, Table
from fabella.report.wording import listed, lowered, sentence, written_date

_OUTCOMES = {
    Outcome.PASS: "You passed.",
    Outcome.FAIL: "You did not pass.",
    Outcome.INSUFFICIENT: "Too little is on record to decide; this is no failure. The exam team will write.",
}
_REASONS = {
    Reason.BELOW_PASS_MARK: "the whole score is below the pass mark",
    Reason.TOO_FEW_PASSED: "too few stations were passed",
    Reason.CRITICAL: "something that safety needs was left out",
    Reason.TOO_FEW_TAKEN: "too few stations were taken",
}
_MOST = 8  # items listed as done well or missed: more are not read
_CLOSE = "Show this page to whoever teaches you: it says what to practise, not what you are worth."


def feedback(cohort: Cohort, place: int) -> Document:
    """Return the page of one candidate, by their place among the candidates of the marks."""
    decision = cohort.results.decisions[place]
    return Document(
        title="What your exam showed",
        date=written_date(cohort.held_on),
        addressee=decision.candidate,
        standing="",
        opening=(cohort.exam,),
        sections=tuple(_sections(cohort, place, decision)),
        close=_CLOSE,
        foot=f"{cohort.exam}, {written_date(cohort.held_on)}, candidate {decision.candidate}",
        figure=None,
    )


def _sections(cohort: Cohort, place: int, decision: Decision) -> Iterator[Section]:
    named: list[tuple[str, Sequence[Block]]] = [
        ("Decision", tuple(_decision(cohort, decision))),
        ("Safety", _safe(_safety(cohort, decision))),
        ("Stations", (_stations(cohort, place),)),
        ("Done well", _points(_items(cohort, place, well=True))),
        ("To practise", _points(_items(cohort, place, well=False))),
        ("Comments", _points(_written(cohort, decision))),
        ("By kind", _by_domain(cohort, place)),
    ]
    for heading, blocks in named:
        if blocks:
            yield Section(heading=heading, blocks=tuple(blocks), urgent=heading == "Safety")


def _decision(cohort: Cohort, decision: Decision) -> Iterator[Paragraph]:
    yield Paragraph(text=" ".join(_decided(cohort, decision)), weighty=True)
    if not isnan(decision.total):
        yield Paragraph(text=how_scored(cohort, whose="your"))


def _decided(cohort: Cohort, decision: Decision) -> Iterator[str]:
    yield _OUTCOMES[decision.outcome]
    if reasons := reasons_for(decision.outcome, decision.reasons):
        yield sentence(f"The reason: {listed([_REASONS[each] for each in reasons])}")
    if not isnan(decision.total):
        low, high = cohort.middle
        near = " (two scores in three lie that near the true one)"
        off = error_words(cohort.results, decision)
        error = f", with a measurement error of {off}{near}" if off else ""
        total, bar = beside(decision.total, decision.pass_mark)
        yield f"Your score is {total}%{error}; the pass mark is {bar}%."
        if not isnan(low):
            yield f"Half of all candidates lie between {low:.0f} and {high:.0f}%."
    if decision.stations_needed:
        yield f"You passed {decision.stations_passed} stations, and {decision.stations_needed} were needed."
    away = _away(cohort, decision)
    for says, codes in (
        ("You were not there for", [each for each in decision.missing_stations if each in away]),
        ("No score counts for", [each for each in decision.missing_stations if each not in away]),
    ):
        if codes:
            yield sentence(f"{says} {listed([cohort.title(each) for each in codes])}")


def _away(cohort: Cohort, decision: Decision) -> frozenset[str]:
    """Return the stations at which a candidate is on record as absent."""
    marks = cohort.marks
    own = cohort.rows[marks.candidates.index(decision.candidate)]
    station = marks.station[marks.sheet[own]]
    absent = marks.state[own] == State.ABSENT
    codes = marks.blueprint.station_codes
    return frozenset(codes[s] for s in set(station.tolist()) if absent[station == s].all())


def _stations(cohort: Cohort, place: int) -> Table:
    rows = []
    for each in at_stations(cohort, place):
        own, cut = beside(each.own, each.cut)
        rows.append(
            (
                each.title,
                own if isnan(each.own) else f"{own}{_error(each.error)}%",
                cut if isnan(each.cut) else f"{cut}%",
                each.verdict,
                _range(each.low, each.high),
            )
        )
    return Table(
        caption="Stations: your score, the pass mark, and the middle half of all candidates",
        header=("Station", "Score ± error", "Pass mark", "", "Middle half of all"),
        rows=tuple(rows),
    )


def _by_domain(cohort: Cohort, place: int) -> tuple[Table, ...]:
    names, rows = load_domains(), []
    for domain, (column, errors, (low, high)) in cohort.domains.items():
        own = float(cohort.results.scores.domain[place, column])
        if not isnan(own):
            name = names[domain].name if domain in names else domain
            rows.append((name, f"{own:.0f}{_error(float(errors[place]), digits=0)}%", _range(low, high)))
    if not rows:
        return ()
    header = ("Kind", "Score ± error", "Middle half of all")
    return (
        Table(
            caption="Where a kind of item tells more than the whole score", header=header, rows=tuple(rows)
        ),
    )


def _items(cohort: Cohort, place: int, *, well: bool) -> list[str]:
    """Items with all the marks, the hardest first; or with too few, the easiest first.

    Where two examiners marked the same item, the lower of their marks speaks.
    """
    marks, table = cohort.marks, cohort.items
    own = cohort.rows[place]
    own = own[~np.isnan(marks.mark[own])]
    lowest = own[np.lexsort((marks.mark[own], marks.item[own]))]
    one_each = lowest[np.unique(marks.item[lowest], return_index=True)[1]]
    share = marks.mark[one_each] / table.max_mark[marks.item[one_each]]
    wanted = one_each[(share == 1) if well else (share < 1)]
    facility = cohort.facility[marks.item[wanted]]
    order = np.argsort(facility if well else -facility, kind="stable")[:_MOST]
    return [_item_words(cohort, int(row), well=well) for row in wanted[order]]


def _item_words(cohort: Cohort, row: int, *, well: bool) -> str:
    marks, table = cohort.marks, cohort.items
    number = int(marks.item[row])
    station = cohort.stations[int(table.station[number])]
    item = station.item(table.codes[number])
    words = f"{station.title}: {lowered(item.words)}"
    if well:
        return words
    mark = marks.mark[row]
    if marks.state[row] == State.NOT_DONE or not float(mark).is_integer():
        return f"{words} – {'left out' if marks.state[row] == State.NOT_DONE else 'in part'}"
    return f"{words} – {item.anchors[int(mark)]}"


def _safety(cohort: Cohort, decision: Decision) -> Iterator[str]:
    for each in decision.critical_failed:
        code, _, name = each.partition("/")
        station = next(one for one in cohort.stations if one.id == code)
        yield f"{station.title}: {station.item(name).words}"


def _written(cohort: Cohort, decision: Decision) -> Iterator[str]:
    for code, text in cohort.comments.get(decision.candidate, ()):
        yield f"{cohort.title(code)}: “{text}”"


def _safe(texts: Iterable[str]) -> tuple[Block, ...]:
    points = _points(texts)
    return (Paragraph(text="Needed for safety, and not done:"), *points) if points else ()


def _points(texts: Iterable[str]) -> tuple[Points, ...]:
    found = tuple(map(sentence, texts))
    return (Points(texts=found),) if found else ()


def _error(sem: float, *, digits: int = 1) -> str:
    return "" if isnan(sem) else f" ± {sem:.{digits}f}"


def _range(low: float, high: float) -> str:
    return "" if isnan(low) else f"{low:.0f} to {high:.0f}%"
