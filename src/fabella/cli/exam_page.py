"""An analysis in the terminal: tables, bars, and what should be looked at; readable without colour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import isnan

from rich.console import Console, RenderableType

from fabella.assess import Analysis, StationsRule
from fabella.cli.drawing import bar, cells_for, heading, labelled, paragraph, strokes_for
from fabella.cli.exam_reliability_page import examiners_part, reliability_lines
from fabella.cli.tables import fitted_table, text_table
from fabella.papers.judges import judge_rows, judge_words
from fabella.papers.own_errors import held_to_words
from fabella.papers.pass_marks import RESTS_ON, few_words
from fabella.papers.words import (
    OUTCOMES,
    RULES,
    basis_words,
    beside,
    flag_words,
    gone_words,
    known,
    outcomes_words,
    range_words,
    sems_words,
    share_words,
    with_sign,
)
from fabella.report.wording import counted, listed

_MOST_REVIEWED = 30
_SPARED = ("0 to 100%", "per grade", "alpha without", "R2", "error", "SD")  # the first goes first


def analysis_page(found: Analysis, *, console: Console, target: float) -> Iterator[RenderableType]:
    """Yield the parts of a page."""
    yield heading("Marks")
    yield labelled(_marks(found))
    yield heading("Pass mark")
    yield labelled(_pass_mark(found))
    yield _stations(found, console)
    yield from _judges(found)
    yield heading("Decisions")
    yield labelled(_decisions(found))
    yield from _review(found, console)
    yield heading("Reliability")
    yield labelled(reliability_lines(found, target))
    yield heading("Examiners")
    yield from examiners_part(found, console)
    yield heading("To look at")
    yield from _flags(found)


def _marks(found: Analysis) -> Iterator[tuple[str, str]]:
    have = found.coverage
    yield (
        "there",
        (
            f"{counted(have.candidates, 'candidate')}, {counted(have.stations, 'station')}, "
            f"{counted(have.examiners, 'examiner')}, {counted(have.circuits, 'circuit')}, "
            f"{counted(have.sheets, 'sheet')}, {counted(have.marks, 'mark')}"
        ),
    )
    gone = gone_words(have)
    yield "missing", f"{listed(gone)}; none of it counts as 0" if gone else "nothing"
    done = [
        (have.prorated, "sheet", "filled in proportion"),
        (have.without_score, "sheet", "without a score"),
        (have.without_grade, "sheet", "without a grade"),
        (have.incomplete, "candidate", "with a gap"),
    ]
    yield "handled", ", ".join(f"{counted(n, noun)} {says}" for n, noun, says in done if n)
    yield "digest", found.results.marks_digest


def _pass_mark(found: Analysis) -> Iterator[tuple[str, str]]:
    mark, results = found.results.pass_mark, found.results
    ends = range_words(mark.cut)
    yield (
        "pass mark",
        (
            f"{mark.cut.estimate:.2f}%"
            + (f", 95% interval {ends}" if ends else "")
            + ("" if mark.se == 0 else f", standard error {known(mark.se)}")
        ),
    )
    if results.rules.sem_multiple:
        bar = mark.cut.estimate + results.allowance
        yield "to pass", f"{bar:.2f}%: {sems_words(results.rules.sem_multiple)} above it"
        if told := held_to_words(results):
            yield "", told
    yield "method", basis_words(found.decided)
    yield "caution", few_words(found, {})


def _stations(found: Analysis, console: Console) -> RenderableType:
    mark, pages = found.results.pass_mark, found.stations
    columns = {
        "station": [page.station for page in pages],
        "n": [str(page.n) for page in pages],
        "mean": [known(page.mean, digits=1) for page in pages],
        "SD": [known(page.sd, digits=1) for page in pages],
        "pass mark": [known(page.cut, digits=1) for page in pages],
    }
    if mark.tells_station_errors:
        columns["error"] = [known(se, digits=1) for se in mark.station_ses]
    columns["below"] = [str(page.failing) for page in pages]
    if graded := RESTS_ON.get(mark.method):
        columns[graded.lower()] = [str(page.rests_on) for page in pages]
    if mark.lines:
        columns["R2"] = [known(page.r2) for page in pages]
        columns["per grade"] = [known(page.slope, digits=1) for page in pages]
    columns["alpha without"] = [
        known(page.alpha_without) + ("*" if page.raises_alpha else " ") for page in pages
    ]
    pairs = zip(pages, mark.station_ses, strict=True)
    columns["0 to 100%"] = [_cut_bar(page.cut, se, console) for page, se in pairs]
    return fitted_table(columns, spared=_SPARED, console=console)


def _cut_bar(cut: float, se: float, console: Console) -> str:
    """Draw a pass mark with its 95% interval."""
    if isnan(cut):
        return ""
    reach = 0.0 if isnan(se) else 1.959964 * se
    at, low, high = (min(max(each / 100, 0.0), 1.0) for each in (cut, cut - reach, cut + reach))
    return bar(at, low, high, cells=cells_for(console), strokes=strokes_for(console))


def _judges(found: Analysis) -> Iterator[RenderableType]:
    if table := judge_rows(found):
        header, *rows = table
        yield heading("Judges")
        yield text_table([tuple(name[:1].lower() + name[1:] for name in header), *rows], wrapped=("judge",))
        yield from map(paragraph, judge_words(found))


def _decisions(found: Analysis) -> Iterator[tuple[str, str]]:
    results = found.results
    yield "", outcomes_words(results)
    if results.rules.stations is not StationsRule.NONE:
        needed = max((each.stations_needed for each in results.decisions), default=0)
        predicted = known(results.predicted_stations)
        told = "" if predicted == "–" else f"; {predicted} predicted at the pass mark"
        yield "stations", f"{needed} of all must be passed{told}"
    for effect in found.effects:
        if effect.by:
            yield (
                RULES[effect.reason],
                f"{counted(len(effect.by), 'candidate')}, {len(effect.alone)} by it alone",
            )
    failing = found.noise.failing
    if not isnan(failing.low):
        ends = f"{100 * failing.low:.0f} to {100 * failing.high:.0f}%"
        moves = len(results.pass_mark.resampled)  # judges and a fixed number know no cohort
        whose = "with the pass mark of" if moves else "of"
        yield "chance", f"{whose} another such cohort {ends} would score below it"
    if sure := found.classification.value:
        yield (
            "accuracy" if results.rules.by_score_alone else "by score",
            (
                f"{sure.accuracy:.3f} rightly decided; {sure.false_pass:.3f} pass and {sure.false_fail:.3f} "
                f"fail wrongly; {sure.consistency:.3f} would be decided alike again (kappa {sure.kappa:.2f})"
            ),
        )
        yield "", basis_words(found.classification.basis)
    elif found.classification.refusal:
        yield "accuracy", found.classification.refusal


def _review(found: Analysis, console: Console) -> Iterator[RenderableType]:
    if not found.review:
        return
    yield paragraph(
        f"For a second look, the nearest to the pass mark first ({counted(len(found.review), 'candidate')}); "
        "SEMs off: own standard errors from it; resampled: share of resampled pass marks that are reached."
    )
    near = found.review[:_MOST_REVIEWED]
    now = [each.decision for each in near]
    scores, bars = zip(*(beside(one.total, one.pass_mark) for one in now), strict=True)
    columns = {
        "candidate": [one.candidate for one in now],
        "score": scores,
        "to pass": bars,
        "SEMs off": ["–" if isnan(each.sems) else with_sign(each.sems, digits=2) for each in near],
        "resampled": [share_words(each.share_passing) for each in near],
        "passed": [f"{one.stations_passed} of {one.stations_taken}" for one in now],
        "now": [OUTCOMES[one.outcome] for one in now],
    }
    yield fitted_table(columns, spared=("resampled", "passed", "SEMs off"), console=console)


def _flags(found: Analysis) -> Iterable[RenderableType]:
    if not found.flags:
        yield paragraph("Nothing.")
    for told in flag_words(found.flags):
        yield paragraph(told, mark="-")
