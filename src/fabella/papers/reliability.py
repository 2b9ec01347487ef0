"""Reliability, examiners and circuits of an exam, as blocks of a report; never a league table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isnan
from types import MappingProxyType
from typing import Final

from fabella.assess import Analysis, Handover
from fabella.papers.incomplete import incomplete_words
from fabella.papers.own_errors import held_to_words
from fabella.papers.words import (
    CAUTION,
    basis_words,
    effect_words,
    known,
    range_words,
    refusal_words,
    with_sign,
)
from fabella.report.document import Block, Paragraph, Table
from fabella.report.wording import sentence

APART: Final = ", if items of a station were independent, which they are not: for decisions Phi counts"
FEWEST: Final = 10  # candidates, below which G and Phi come with a caution; ours, as for right decisions
_LEVEL = 0.9
_NAMED = 4  # handovers, beyond which the rest are counted
_MOST_CIRCUITS = 6  # whose names have room at the head of a column


def reliability_blocks(found: Analysis) -> Iterator[Block]:
    """Yield how far scores and decisions would repeat."""
    study = found.dependability.value
    if study is None:
        yield Paragraph(text=refusal_words(found.dependability.refusal))
    else:
        held = study.dependability
        yield Paragraph(
            text=(
                f"Phi {held.phi:.2f} for decisions (standard error {held.sem_absolute:.1f}%), G "
                f"{held.g:.2f} for ranking ({held.sem_relative:.1f}%)."
            ),
            weighty=True,
        )
        yield Paragraph(
            text=(
                f"At the pass mark Phi is {study.phi_at_cut:.2f}; this is high when the mean lies far from "
                f"the pass mark, however poor the exam. {sentence(basis_words(found.dependability.basis))}"
            )
        )
        for says in limits_words(found):
            yield Paragraph(text=sentence(says))
        rows = tuple(
            (
                effect_words(part.name),
                f"{part.variance:.1f}",
                "–" if part.se is None else f"{part.se:.1f}",
                f"{100 * study.components.shares[part.name]:.0f}%",
            )
            for part in study.components.parts
        )
        yield Table(
            caption="Variance components", header=("Component", "Variance", "Error", "Share"), rows=rows
        )
        for says in study.components.warnings:
            yield Paragraph(text=sentence(effect_words(says)))
        if study.agrees is not None:
            verdict = "agrees with" if study.agrees else "DISAGREES with"
            yield Paragraph(text=f"The analysis of variance {verdict} REML.", weighty=not study.agrees)
    if whole := found.alpha.value:
        ends = range_words(whole.alpha, digits=2)
        other = found.omega.value
        given = "from alpha" if found.results.rules.sem is None else "given in the rules"
        used = (
            "Alpha gives no standard error here, so that nobody is told to lie within one of the pass mark. "
            if isnan(found.results.sem)
            else f"Rules and second look use a standard error of {known(found.results.sem)}% ({given}). "
            f"{held_to_words(found.results)} ".lstrip()
        )
        omega = "" if other is None or isnan(other.omega) else f"; omega {other.omega:.2f}"
        yield Paragraph(
            text=(
                f"Alpha over stations {known(whole.alpha.estimate)}{f' ({ends})' if ends else ''}{omega}. "
                f"{used}{sentence(basis_words(found.alpha.basis))}"
            )
        )
        if says := incomplete_words(found):
            yield Paragraph(text=says)


def limits_words(found: Analysis) -> Iterator[str]:
    """Yield what G and Phi are not of: other stations where there was one, a curve where weights differ."""
    study = found.dependability.value
    if study is None:
        return
    seen = sum(not isnan(each) for each in found.results.scores.total)
    if seen < FEWEST:
        yield (
            f"there were {seen} candidates: so few hardly tell how far candidates differ, and G and Phi may "
            f"be far off either way (below {FEWEST}, a limit of ours); the interval of alpha shows how far. "
            "The standard errors rest on all scores and are known better"
        )
    if found.coverage.stations == 1:
        yield (
            "there was one station: that it suits one candidate more than another counts as ability here, so "
            "that G and Phi tell nothing of other stations"
        )
    if not found.counts_alike:
        yield (
            "stations count differently: G and Phi are of the score as they count, the curve is of stations "
            "that count alike"
        )


def examiner_blocks(found: Analysis, names: Mapping[str, str] = MappingProxyType({})) -> Iterator[Block]:
    """Yield severity with its interval in the order of the codes, drift, and circuits.

    ``names`` are the words for codes of stations.
    """
    study = found.study
    if severe := study.severity.value:
        low, high = severe.limits(_LEVEL)
        given = (
            dict(zip(study.graded, study.given_grade.value.severity, strict=True))
            if study.given_grade.value
            else {}
        )
        rows = tuple(
            (
                name,
                str(int(n)),
                with_sign(off),
                f"{with_sign(least)} to {with_sign(most)}",
                with_sign(given[name]) if name in given else "–",
            )
            for name, n, off, least, most in zip(
                study.names, severe.n, severe.severity, low, high, strict=True
            )
        )
        header = ("Examiner", "Sheets", "Takes off, %", "90% interval", "Given the grade")
        yield Table(caption="Severity, in the order of the codes", header=header, rows=rows)
        yield Paragraph(text=sentence(basis_words(study.severity.basis)))
        for says in severe.warnings:
            yield Paragraph(text=sentence(says))
    else:
        yield Paragraph(text=refusal_words(study.severity.refusal))
    if moves := study.drift.value:
        contrast = (
            f", and by {with_sign(moves.contrast.slope, digits=2)}% for each percent that the candidate "
            f"before scored (p = {moves.contrast.p:.2g})"
            if moves.contrast
            else ""
        )
        yield Paragraph(
            text=(
                f"Through the day, marks move by {with_sign(moves.drift.slope, digits=2)}% from one "
                f"candidate to the next (p = {moves.drift.p:.2g})"
                f"{contrast}. The order is counted within each examiner: that a severe one leaves and a "
                "milder one follows is no drift."
            )
        )
        if study.handovers:
            yield Paragraph(text=_handed_over(study.handovers, names))
    yield from _circuits(found, names)
    facets = found.facets.value
    if facets is None:
        yield Paragraph(label="Rasch", text=refusal_words(found.facets.refusal.splitlines()[0]))
    else:
        yield Paragraph(
            label="Rasch",
            text=(
                f"Reliability of abilities {known(facets.fit.reliability)}{APART}. "
                f"{sentence(basis_words(found.facets.basis))} Marks adjusted for severity are not applied: "
                "the pass mark was set for marks as given."
            ),
        )
        for says in facets.fit.warnings:
            yield Paragraph(text=sentence(says))


def _handed_over(found: Sequence[Handover], names: Mapping[str, str]) -> str:
    """Return what a common drift makes of those who took over: it passes for severity."""
    told = [
        f"at {names.get(each.station, f'station {each.station}')} {each.later}, who followed {each.earlier}, "
        f"would give {known(abs(each.shift), digits=1)}% {'less' if each.shift < 0 else 'more'} (standard "
        f"error {known(each.se, digits=1)}%)"
        for each in found[:_NAMED]
    ]
    more = f"; and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    return (
        "But where examiners change in the middle, what the time of day does counts as their severity. By "
        f"the common drift alone {'; '.join(told)}{more}."
    )


def _circuits(found: Analysis, names: Mapping[str, str]) -> Iterator[Block]:
    between = found.study.circuits.value
    if not between:
        return
    rows = tuple(
        (
            names.get(code := found.stations[each.station].station, code),
            ", ".join(known(mean, digits=1) for mean in each.means),
            f"{100 * max(each.omega2, 0):.0f}%",
            f"{100 * each.eta2:.0f}% ({100 * each.no_effect:.0f}%)",
            "below 0.001" if each.p < 0.001 else f"{each.p:.3f}",  # noqa: PLR2004
        )
        for each in between
    )
    circuits = found.study.circuit_names
    means = f"Means of {', '.join(circuits)}" if len(circuits) <= _MOST_CIRCUITS else "Means"
    header = ("Station", means, "Between circuits", "Raw (if none)", "p")
    yield Table(caption="Circuits", header=header, rows=rows)
    yield Paragraph(text=CAUTION)
