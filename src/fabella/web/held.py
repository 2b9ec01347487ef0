"""What a measurement was held against: the norm for age and sex, and the error of measuring."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fabella.evidence import NormAbout, Provenance
from fabella.report.verdict_words import error_size
from fabella.report.wording import quantity, with_unit
from fabella.workup import ErrorUsed, Graded, NormUsed


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One yardstick: what it says, its source, and where it stands among the evidence.

    ``measure`` is the measure of the tables, empty when the error stands with the sign itself; ``part`` is
    "norms" or "errors".
    """

    words: str
    source: str
    measure: str
    part: str


def held_against(graded: Iterable[Graded]) -> dict[str, tuple[Held, ...]]:
    """Return the yardsticks of every sign that was measured, each once, whichever knee it was used on."""
    found: dict[str, dict[Held, None]] = {}
    for each in graded:
        if each.finding.value is not None:
            found.setdefault(each.sign, {}).update(dict.fromkeys(_held(each)))
    return {sign: tuple(held) for sign, held in found.items()}


def _held(graded: Graded) -> Iterator[Held]:
    unit = graded.finding.unit or ""
    if graded.norm is not None and (words := _norm(graded.norm, unit)):
        row = graded.norm.row
        yield Held(words=words, source=row.source.short, measure=row.measure_id, part="norms")
    if graded.error is not None and graded.difference is not None:
        error = graded.error
        yield Held(
            words=_error(error, unit),
            source=error.source if error.row is None else error.row.source.short,
            measure="" if error.row is None else error.row.measure_id,
            part="errors",
        )


def _norm(norm: NormUsed, unit: str) -> str:
    """The limits where they may judge one patient, else the mean; empty when there is neither."""
    about = _ABOUT.get(norm.row.about, "")
    if norm.may_cut and norm.low is not None and norm.high is not None:
        return f"norm{about} {quantity(norm.low, unit)} to {quantity(norm.high, unit)}"
    if norm.may_cut and norm.high is not None:
        return f"norm{about} up to {quantity(norm.high, unit)}"
    if norm.may_cut and norm.low is not None:
        return f"norm{about} from {quantity(norm.low, unit)}"
    return "" if norm.mean is None else f"mean{about} of the healthy {quantity(norm.mean, unit)}"


_ABOUT = {
    NormAbout.SIDE_DIFFERENCE: " of the difference",
    NormAbout.RATIO_TO_OTHER_SIDE: " of the ratio to the other side",
}


def _error(error: ErrorUsed, unit: str) -> str:
    rests = "" if error.provenance is Provenance.PUBLISHED else f", {error.provenance}"
    return f"differences above {with_unit(error_size(error), unit)} are real ({error.level:.0%}{rests})"
