"""How reliable an exam was and what its examiners did, in the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

from rich.console import Console, RenderableType

from fabella.assess import Analysis
from fabella.cli.drawing import bar, cells_for, labelled, paragraph, strokes_for
from fabella.cli.tables import fitted_table
from fabella.papers.own_errors import held_to_words
from fabella.papers.reliability import APART, limits_words
from fabella.papers.words import CAUTION, basis_words, effect_words, known, range_words, with_sign
from fabella.report.wording import counted

_CURVE = (5, 10, 15, 20, 30, 40)


def reliability_lines(found: Analysis, target: float) -> Iterator[tuple[str, str]]:
    """Yield how reliable an exam was, and how many stations it would take: labels and words."""
    if whole := found.alpha.value:
        ends = range_words(whole.alpha, digits=2)
        yield "alpha", f"{known(whole.alpha.estimate)}" + (f" ({ends})" if ends else "")
        yield "", basis_words(found.alpha.basis)
    if found.omega.value and not isnan(found.omega.value.omega):
        yield "omega", f"{found.omega.value.omega:.2f} ({basis_words(found.omega.basis)})"
    given = "alpha's" if found.results.rules.sem is None else "given in the rules"
    if isnan(found.results.sem):
        yield "SEM", "none from alpha here: nobody can be told to lie within one of the pass mark"
    else:
        yield "SEM", f"{known(found.results.sem)}% where rules and second look need one ({given})"
        if told := held_to_words(found.results):
            yield "", told
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
    for says in limits_words(found):
        yield "", says
    shares = study.components.shares
    yield (
        "components",
        ", ".join(f"{effect_words(name)} {100 * share:.0f}%" for name, share in shares.items()),
    )
    anova = {True: ", ANOVA agrees", False: ", ANOVA DISAGREES", None: ""}[study.agrees]
    yield "", basis_words(found.dependability.basis) + anova
    if study.curve:
        points = [study.curve[n - 1] for n in _CURVE]
        yield "stations", ", ".join(f"{p.count}: Phi {p.dependability.phi:.2f}" for p in points)
    for each in study.needed:
        answer = "no number suffices" if each.phi is None else counted(each.phi, "station")
        yield f"for {target:g}", f"{answer} with {counted(each.examiners, 'examiner')} at each (Phi)"


def examiners_part(found: Analysis, console: Console) -> Iterator[RenderableType]:
    """Yield what there is to say of the examiners."""
    study = found.study
    if severe := study.severity.value:
        low, high = severe.limits(0.9)
        span = max(float(abs(low).max()), float(abs(high).max()), 1e-9)
        cells, strokes = cells_for(console), strokes_for(console)
        yield paragraph(
            "Marks taken off by each examiner in percent, with the 90% interval; in the order of their "
            f"codes, not of severity. {basis_words(study.severity.basis)}."
        )
        drawn, ends = f"−{span:.0f} to {span:.0f}", list(zip(severe.severity, low, high, strict=True))
        columns = {
            "examiner": study.names,
            "sheets": [str(n) for n in severe.n],
            "takes off": [with_sign(off) for off in severe.severity],
            "90% interval": [f"{with_sign(least)} to {with_sign(most)}" for _, least, most in ends],
            drawn: [
                bar(*((float(each) / span + 1) / 2 for each in three), cells=cells, strokes=strokes)
                for three in ends
            ],
        }
        yield fitted_table(columns, spared=(drawn, "sheets"), console=console)
    yield labelled(_of_examiners(found))
    yield paragraph(CAUTION, style="dim")


def _of_examiners(found: Analysis) -> Iterator[tuple[str, str]]:
    study = found.study
    if study.severity.refusal:
        yield "severity", study.severity.refusal
    if moves := study.drift.value:
        slope = moves.drift
        yield "drift", f"{with_sign(slope.slope, digits=2)}% a candidate through the day (p {slope.p:.2g})"
        for each in study.handovers:
            where = f"station {each.station}, circuit {each.circuit}"
            by = f"{with_sign(each.shift)}% ±{known(each.se, digits=1)}"
            yield "", f"by drift alone {each.later}, who followed {each.earlier} at {where}, would give {by}"
        if moves.contrast:
            by = with_sign(moves.contrast.slope, digits=2)
            yield "contrast", f"{by}% for each % of the one before (p {moves.contrast.p:.2g})"
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
    basis = basis_words(found.facets.basis)
    yield "Rasch", f"reliability of abilities {known(facets.fit.reliability)}{APART}; {basis}"
    for warning in facets.fit.warnings:
        yield "", warning
