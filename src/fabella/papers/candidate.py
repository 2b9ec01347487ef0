"""What one candidate's exam showed: the decision, station by station, what was done well and what was missed.

Nobody else is named, and nothing is ranked; the cohort appears as the range of its middle half.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from math import isnan

import numpy as np

from fabella.assess import (
    Decision,
    ItemTable,
    Marks,
    Outcome,
    Reason,
    Results,
    State,
    item_table,
    weigh_domains,
)
from fabella.exam import Station, load_domains
from fabella.report.document import Block, Document, Paragraph, Points, Section, Table
from fabella.report.letter import written_date
from fabella.report.wording import listed, sentence

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
_FEWEST = 5  # candidates, below which the middle half would tell of persons
_CLOSE = "Show this page to whoever teaches you: it says what to practise, not what you are worth."


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a candidate stands at a station, or on the whole [%]; NaN for what is not known.

    ``low`` and ``high`` are the ends of the middle half of all candidates.
    """

    title: str
    own: float
    error: float
    cut: float
    low: float
    high: float

    @property
    def verdict(self) -> str:
        """How the score compares with the pass mark, in a word or two."""
        if isnan(self.own):
            return "no score"
        return "passed" if round(self.own, 6) >= round(self.cut, 6) else "below"


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """An exam with everything that feedback needs of it, worked out once for all candidates.

    ``comments`` are what examiners wrote on the whole for a candidate: code of the station, and text.
    """

    exam: str
    held_on: date
    marks: Marks
    results: Results
    stations: tuple[Station, ...]
    comments: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)

    @cached_property
    def middle(self) -> tuple[float, float]:
        """The range of the middle half of the whole scores [%]."""
        return _middle(self.results.scores.total)

    @cached_property
    def middles(self) -> tuple[tuple[float, float], ...]:
        """The same of the scores at each station [%]."""
        return tuple(map(_middle, self.results.scores.station.T))

    @cached_property
    def items(self) -> ItemTable:
        """The items of all stations, looked up once."""
        return item_table(self.marks.blueprint)

    @cached_property
    def station_error(self) -> float:
        """The measurement error of the score at one station [%]: what is left beside candidate and station.

        The root of the residual mean square of candidates by stations (common practice); NaN without it.
        """
        whole = self.results.scores.station
        x = whole[~np.isnan(whole).any(axis=1)]
        n, k = x.shape
        if n < _FEWEST or k < 2:  # noqa: PLR2004  no interaction in one column
            return float("nan")
        rest = x - x.mean(axis=0) - x.mean(axis=1, keepdims=True) + x.mean()
        return float(np.sqrt((rest**2).sum() / ((n - 1) * (k - 1))))

    @cached_property
    def rows(self) -> tuple[np.ndarray, ...]:
        """The rows of the item marks of each candidate, in the order of the marks."""
        who = self.marks.candidate[self.marks.sheet]
        order = np.argsort(who, kind="stable")
        return tuple(np.split(order, np.searchsorted(who[order], np.arange(1, self.marks.n_candidates))))

    @cached_property
    def domains(self) -> Mapping[str, tuple[int, float, tuple[float, float]]]:
        """Each domain that says more than the whole does: its place, its error [%] and its middle half."""
        scores = self.results.scores
        worth = weigh_domains(self.marks, scores)
        return {
            name: (place, worth[name].sem, _middle(scores.domain[:, place]))
            for place, name in enumerate(scores.domains)
            if name in worth and worth[name].worth_showing
        }

    @cached_property
    def facility(self) -> np.ndarray:
        """The mean share of the marks earned on each item [-]."""
        table, marks = self.items, self.marks
        there = ~np.isnan(marks.mark)
        shares = marks.mark[there] / table.max_mark[marks.item[there]]
        n = np.bincount(marks.item[there], minlength=len(table.codes))
        with np.errstate(invalid="ignore"):
            found: np.ndarray = np.bincount(marks.item[there], shares, len(table.codes)) / n
        return found


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
        ("Decision", (Paragraph(text=" ".join(_decided(cohort, decision)), weighty=True),)),
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


def _decided(cohort: Cohort, decision: Decision) -> Iterator[str]:
    yield _OUTCOMES[decision.outcome]
    if decision.outcome is not Outcome.PASS and decision.reasons:
        yield sentence(f"The reason: {listed([_REASONS[each] for each in decision.reasons])}")
    if not isnan(decision.total):
        sem = cohort.results.sem
        low, high = cohort.middle
        error = "" if isnan(sem) else f", with a measurement error of ±{sem:.1f} %"
        yield f"Your score is {decision.total:.1f} %{error}; the pass mark is {decision.pass_mark:.1f} %."
        if not isnan(low):
            yield f"Half of all candidates lie between {low:.0f} and {high:.0f} %."
    if decision.stations_needed:
        yield f"You passed {decision.stations_passed} stations, and {decision.stations_needed} were needed."
    away = _away(cohort, decision)
    for says, codes in (
        ("You were not there for", [each for each in decision.missing_stations if each in away]),
        ("No score counts for", [each for each in decision.missing_stations if each not in away]),
    ):
        if codes:
            yield sentence(f"{says} {listed([_title(cohort, each) for each in codes])}")


def _away(cohort: Cohort, decision: Decision) -> frozenset[str]:
    """Return the stations at which a candidate is on record as absent."""
    marks = cohort.marks
    own = cohort.rows[marks.candidates.index(decision.candidate)]
    station = marks.station[marks.sheet[own]]
    absent = marks.state[own] == State.ABSENT
    codes = marks.blueprint.station_codes
    return frozenset(codes[s] for s in set(station.tolist()) if absent[station == s].all())


def standings(cohort: Cohort, place: int) -> tuple[Standing, ...]:
    """Return where a candidate stands, by their place: on the whole, then station by station."""
    results, decision = cohort.results, cohort.results.decisions[place]
    low, high = cohort.middle
    whole = Standing(
        title="The whole exam",
        own=decision.total,
        error=results.sem,
        cut=decision.pass_mark,
        low=low,
        high=high,
    )
    return (whole, *_at_stations(cohort, place))


def _at_stations(cohort: Cohort, place: int) -> Iterator[Standing]:
    scores, cuts = cohort.results.scores.station, cohort.results.pass_mark.station_cuts
    weights = [each.weight for each in cohort.marks.blueprint.stations]
    for number, station in enumerate(cohort.stations):
        low, high = cohort.middles[number]
        counts = (
            f" ({100 * weights[number] / sum(weights):.0f} % of the exam)" if len(set(weights)) > 1 else ""
        )
        yield Standing(
            title=f"{station.title}{counts}",
            own=float(scores[place, number]),
            error=cohort.station_error,
            cut=float(cuts[number]),
            low=low,
            high=high,
        )


def _stations(cohort: Cohort, place: int) -> Table:
    rows = tuple(
        (
            each.title,
            "–" if isnan(each.own) else f"{each.own:.0f}{_error(each.error)} %",
            "–" if isnan(each.cut) else f"{each.cut:.0f} %",
            each.verdict,
            _range(each.low, each.high),
        )
        for each in _at_stations(cohort, place)
    )
    return Table(
        caption="Stations: your score, the pass mark, and the middle half of all candidates",
        header=("Station", "Score ± error", "Pass mark", "", "Middle half of all"),
        rows=rows,
    )


def _by_domain(cohort: Cohort, place: int) -> tuple[Table, ...]:
    names, rows = load_domains(), []
    for domain, (column, sem, (low, high)) in cohort.domains.items():
        own = float(cohort.results.scores.domain[place, column])
        if not isnan(own):
            name = names[domain].name if domain in names else domain
            rows.append((name, f"{own:.0f}{_error(sem)} %", _range(low, high)))
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
    words = f"{station.title}: {item.words[0].lower()}{item.words[1:]}"
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
        yield f"{_title(cohort, code)}: “{text}”"


def _safe(texts: Iterable[str]) -> tuple[Block, ...]:
    points = _points(texts)
    return (Paragraph(text="Needed for safety, and not done:"), *points) if points else ()


def _points(texts: Iterable[str]) -> tuple[Points, ...]:
    found = tuple(map(sentence, texts))
    return (Points(texts=found),) if found else ()


def _title(cohort: Cohort, code: str) -> str:
    return next((each.title for each in cohort.stations if each.id == code), code)


def _error(sem: float) -> str:
    return "" if isnan(sem) else f" ± {sem:.0f}"


def _range(low: float, high: float) -> str:
    return "" if isnan(low) else f"{low:.0f} to {high:.0f} %"


def _middle(values: np.ndarray) -> tuple[float, float]:
    there = values[~np.isnan(values)]
    if len(there) < _FEWEST:
        return float("nan"), float("nan")
    low, high = np.percentile(there, [25, 75])
    return float(low), float(high)
