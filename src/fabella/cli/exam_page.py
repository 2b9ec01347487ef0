"""An analysis in the terminal: tables, bars, and what should be looked at; readable without colour."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import isnan

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fabella.assess import Analysis, Outcome, StationPage, StationsRule
from fabella.cli.drawing import bar, cells_for, heading, labelled, paragraph, strokes_for
from fabella.papers.words import (
    CAUTION,
    OUTCOMES,
    RULES,
    basis_words,
    count,
    flag_words,
    known,
    range_words,
)
from fabella.report.wording import listed

_MOST_REVIEWED = 30
_ROOM = {"0 to 100%": 112, "per grade": 90, "error": 80}  # characters that each column is first shown with
_NAME = 6  # characters that a column which may wrap keeps at least
_CURVE = (5, 10, 15, 20, 30, 40)


def analysis_page(found: Analysis, *, console: Console, target: float) -> Iterator[RenderableType]:
    """Yield the parts of a page."""
    yield heading("Marks")
    yield labelled(_marks(found))
    yield heading("Pass mark")
    yield labelled(_pass_mark(found))
    yield _stations(found, console)
    yield heading("Decisions")
    yield labelled(_decisions(found))
    yield from _review(found)
    yield heading("Reliability")
    yield labelled(_reliability(found, target))
    yield heading("Examiners")
    yield from _examiners(found, console)
    yield heading("To look at")
    yield from _flags(found)


def _marks(found: Analysis) -> Iterator[tuple[str, str]]:
    have = found.coverage
    yield (
        "there",
        (
            f"{count(have.candidates, 'candidate')}, {count(have.stations, 'station')}, "
            f"{count(have.examiners, 'examiner')}, {count(have.circuits, 'circuit')}, "
            f"{count(have.sheets, 'sheet')}, {count(have.marks, 'mark')}"
        ),
    )
    gone = [f"{n} {word.replace('_', ' ')}" for word, n in have.missing.items() if n and word != "not_done"]
    yield "missing", f"{listed(gone)}; none of it counts as 0" if gone else "nothing"
    done = [
        (have.prorated, "sheet", "filled in proportion"),
        (have.without_score, "sheet", "without a score"),
        (have.without_grade, "sheet", "without a grade"),
        (have.incomplete, "candidate", "with a gap"),
    ]
    yield "handled", ", ".join(f"{count(n, noun)} {says}" for n, noun, says in done if n)
    yield "digest", found.results.marks_digest


def _pass_mark(found: Analysis) -> Iterator[tuple[str, str]]:
    mark, results = found.results.pass_mark, found.results
    ends = range_words(mark.cut)
    yield (
        "pass mark",
        (
            f"{mark.cut.estimate:.2f}%"
            + (f", 95% interval {ends}" if ends else "")
            + f", standard error {known(mark.se)}"
        ),
    )
    if results.rules.sem_multiple:
        bar = mark.cut.estimate + results.rules.sem_multiple * results.sem
        yield "to pass", f"{bar:.2f}%: {results.rules.sem_multiple:g} standard errors of measurement above it"
    yield "method", basis_words(found.decided)


def _stations(found: Analysis, console: Console) -> RenderableType:
    columns: dict[str, Callable[[StationPage, float], str]] = {
        "station": lambda page, _: page.station,
        "n": lambda page, _: str(page.n),
        "mean": lambda page, _: known(page.mean, digits=1),
        "SD": lambda page, _: known(page.sd, digits=1),
        "pass mark": lambda page, _: known(page.cut, digits=1),
        "error": lambda _, se: known(se, digits=1),
        "below": lambda page, _: str(page.failing),
        "R2": lambda page, _: known(page.r2),
        "per grade": lambda page, _: known(page.slope, digits=1),
        "alpha without": lambda page, _: known(page.alpha_without) + ("*" if page.raises_alpha else " "),
        "0 to 100%": lambda page, se: _cut_bar(page.cut, se, console),
    }
    for name, least in _ROOM.items():
        if console.width < least:
            del columns[name]
    table = _table(*columns)
    for page, se in zip(found.stations, found.results.pass_mark.station_ses, strict=True):
        table.add_row(*(cell(page, se) for cell in columns.values()))
    return _under(table)


def _cut_bar(cut: float, se: float, console: Console) -> str:
    """Draw a pass mark with its 95% interval."""
    if isnan(cut):
        return ""
    reach = 0.0 if isnan(se) else 1.959964 * se
    at, low, high = (min(max(each / 100, 0.0), 1.0) for each in (cut, cut - reach, cut + reach))
    return bar(at, low, high, cells=cells_for(console), strokes=strokes_for(console))


def _decisions(found: Analysis) -> Iterator[tuple[str, str]]:
    results = found.results
    outcomes = [each.outcome for each in results.decisions]
    yield "", ", ".join(f"{outcomes.count(each)} {OUTCOMES[each]}" for each in Outcome if each in outcomes)
    if results.rules.stations is not StationsRule.NONE:
        needed = max((each.stations_needed for each in results.decisions), default=0)
        predicted = known(results.predicted_stations)
        told = "" if predicted == "–" else f"; {predicted} predicted at the pass mark"
        yield "stations", f"{needed} of all must be passed{told}"
    for effect in found.effects:
        if effect.by:
            yield (
                RULES[effect.reason],
                f"{count(len(effect.by), 'candidate')}, {len(effect.alone)} by it alone",
            )
    failing = found.noise.failing
    yield (
        "chance",
        (
            f"with the pass mark of another such cohort {100 * failing.low:.0f} to {100 * failing.high:.0f}% "
            "would score below it"
        ),
    )
    if sure := found.classification.value:
        yield (
            "accuracy",
            (
                f"{sure.accuracy:.3f} rightly decided; {sure.false_pass:.3f} pass and {sure.false_fail:.3f} "
                f"fail wrongly; {sure.consistency:.3f} would be decided alike again (kappa {sure.kappa:.2f})"
            ),
        )
        yield "", basis_words(found.classification.basis)


def _review(found: Analysis) -> Iterator[RenderableType]:
    if not found.review:
        return
    yield paragraph(
        f"For a second look, the nearest to the pass mark first ({count(len(found.review), 'candidate')}); "
        "SEMs off: standard errors from it; resampled: share of resampled pass marks that are reached."
    )
    table = _table("candidate", "score", "to pass", "SEMs off", "resampled", "passed", "now")
    for each in found.review[:_MOST_REVIEWED]:
        one = each.decision
        table.add_row(
            one.candidate,
            known(one.total, digits=1),
            known(one.pass_mark, digits=1),
            "–" if isnan(each.sems) else f"{each.sems:+.2f}",
            "–" if isnan(each.share_passing) else f"{100 * each.share_passing:.0f}%",
            f"{one.stations_passed} of {one.stations_taken}",
            OUTCOMES[one.outcome],
        )
    yield _under(table)


def _reliability(found: Analysis, target: float) -> Iterator[tuple[str, str]]:
    if whole := found.alpha.value:
        ends = range_words(whole.alpha, digits=2)
        yield "alpha", f"{known(whole.alpha.estimate)}" + (f" ({ends})" if ends else "")
        yield "", basis_words(found.alpha.basis)
    if found.omega.value and not isnan(found.omega.value.omega):
        yield "omega", f"{found.omega.value.omega:.2f} ({basis_words(found.omega.basis)})"
    given = "alpha's" if found.results.rules.sem is None else "given in the rules"
    yield "SEM", f"{found.results.sem:.2f}% where rules and second look need one ({given})"
    study = found.dependability.value
    if study is None:
        yield "G and Phi", found.dependability.refusal
        return
    held = study.dependability
    yield "G", f"{held.g:.2f} for ranking, standard error {held.sem_relative:.1f}%"
    yield "Phi", f"{held.phi:.2f} for deciding, standard error {held.sem_absolute:.1f}%"
    yield (
        "at pass mark",
        f"Phi {study.phi_at_cut:.2f}: high when the mean lies far from it, however poor the exam",
    )
    shares = study.components.shares
    yield "components", ", ".join(f"{name} {100 * share:.0f}%" for name, share in shares.items())
    anova = {True: ", ANOVA agrees", False: ", ANOVA DISAGREES", None: ""}[study.agrees]
    yield "", basis_words(found.dependability.basis) + anova
    if study.curve:
        points = [study.curve[n - 1] for n in _CURVE]
        yield "stations", ", ".join(f"{p.count}: Phi {p.dependability.phi:.2f}" for p in points)
    for each in study.needed:
        answer = "no number suffices" if each.phi is None else count(each.phi, "station")
        yield f"for {target:g}", f"{answer} with {count(each.examiners, 'examiner')} at each (Phi)"


def _examiners(found: Analysis, console: Console) -> Iterator[RenderableType]:
    study = found.study
    if severe := study.severity.value:
        low, high = severe.limits(0.9)
        span = max(float(abs(low).max()), float(abs(high).max()), 1e-9)
        cells, strokes = cells_for(console), strokes_for(console)
        yield paragraph(
            "Marks taken off by each examiner in percent, with the 90% interval; in the order of their "
            f"codes, not of severity. {basis_words(study.severity.basis)}."
        )
        table = _table("examiner", "sheets", "takes off", "90% interval", f"-{span:.0f} to {span:.0f}")
        rows = zip(study.names, severe.n, severe.severity, low, high, strict=True)
        for name, n, off, least, most in rows:
            places = [(float(each) / span + 1) / 2 for each in (off, least, most)]
            table.add_row(
                name,
                str(n),
                f"{off:+.1f}",
                f"{least:+.1f} to {most:+.1f}",
                bar(*places, cells=cells, strokes=strokes),
            )
        yield _under(table)
    yield labelled(_of_examiners(found))
    yield paragraph(CAUTION, style="dim")


def _of_examiners(found: Analysis) -> Iterator[tuple[str, str]]:
    study = found.study
    if study.severity.refusal:
        yield "severity", study.severity.refusal
    if moves := study.drift.value:
        slope = moves.drift
        yield "drift", f"{slope.slope:+.2f}% a candidate through the day (p {slope.p:.2g})"
        if moves.contrast:
            yield (
                "contrast",
                f"{moves.contrast.slope:+.2f}% for each % of the one before (p {moves.contrast.p:.2g})",
            )
    else:
        yield "drift", study.drift.refusal
    if between := study.circuits.value:
        worst = max(between, key=lambda each: each.omega2)
        yield (
            "circuits",
            f"at most {100 * max(worst.omega2, 0):.0f}% of the variance at a station lies between them",
        )
    elif found.coverage.circuits > 1:
        yield "circuits", study.circuits.refusal
    facets = found.facets.value
    if facets is None:
        yield "Rasch", found.facets.refusal
        return
    yield "Rasch", f"reliability of abilities {facets.fit.reliability:.2f}; {basis_words(found.facets.basis)}"
    for warning in facets.fit.warnings:
        yield "", warning


def _flags(found: Analysis) -> Iterable[RenderableType]:
    if not found.flags:
        yield paragraph("Nothing.")
    for told in flag_words(found.flags):
        yield paragraph(told, mark="-")


def _table(*titles: str, wrapped: Sequence[str] = ()) -> Table:
    table = Table(box=None, header_style="dim", padding=(0, 2, 0, 0))
    for number, title in enumerate(titles):
        left = number == 0 or title in wrapped
        least = _NAME if left and wrapped else None
        table.add_column(
            title, no_wrap=title not in wrapped, justify="left" if left else "right", min_width=least
        )
    return table


def _under(table: Table) -> RenderableType:
    return Padding(table, (0, 0, 1, 2))


def text_table(rows: Sequence[Sequence[str]], *, wrapped: Sequence[str] = ()) -> RenderableType:
    """Return rows of text under a header row; the columns named are to the left and may wrap."""
    table = _table(*rows[0], wrapped=wrapped)
    for row in rows[1:]:
        table.add_row(*map(Text, row))
    return _under(table)
