"""One change between two visits in words: what it was, and apart from that what it amounts to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Side, other
from fabella.follow import (
    ChangeVerdict,
    GradeChange,
    GradeSeries,
    MeasureChange,
    MeasureSeries,
    TotalChange,
    TotalSeries,
)
from fabella.protocol import Protocol, Sign
from fabella.record import SCORES, State
from fabella.report.verdict_words import UNITS, Verdict, grade_verdict, measure_verdict, total_verdict
from fabella.report.wording import figure, quantity, signed

ARROW = " → "
POSITIVE = "positive"
"""The grade of a sign that is only there or not."""

_ELSEWHERE = frozenset({"standing", "walking", "hip_foot_back", "vessels_nerves", "general"})
_NOT_OF_THE_KNEE = frozenset(
    {"thigh_girth", "calf_girth", "popliteal_angle", "mass_size", "thigh_foot_angle"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeWords:
    """A change in words: whose it is with every value from its first to its last, and the verdict on it."""

    head: str
    verdict: Verdict

    @property
    def words(self) -> str:
        """Both as one sentence."""
        return f"{self.head}: {self.verdict.words}"

    @property
    def brief(self) -> str:
        """The same without method and source of what it was held against."""
        return f"{self.head}: {self.verdict.brief}"


def subject(sign: Sign, side: Side | None) -> str:
    """Return what a series is about: ``Passive flexion of the right knee``, ``Stance share on the left``."""
    name = sign.name.removesuffix(", compartment not stated").removesuffix(", overall")
    if side is None:
        return name
    if sign.position in _ELSEWHERE or sign.id in _NOT_OF_THE_KNEE:
        return f"{name} on the {side}"
    return f"{name} of the {side} knee"


def measure_words(series: MeasureSeries, change: MeasureChange, *, protocol: Protocol) -> ChangeWords:
    """Return a change of a measurement in words, with every reading from its first to its last."""
    values = [point.value for point in series.points if change.since <= point.day <= change.until]
    about = subject(protocol.sign(series.sign), series.side)
    verdict = replace(measure_verdict(series, change), beside=_beside(series, change))
    return ChangeWords(head=f"{about} {readings(series.sign, values, series.unit)}", verdict=verdict)


def _beside(series: MeasureSeries, change: MeasureChange) -> str:
    """Return the difference to the other side at both ends of a change, where both sides were measured."""
    within_it = [point.difference for point in series.points if change.since <= point.day <= change.until]
    first, last = within_it[0], within_it[-1]
    within = change.verdict is ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    if series.side is None or first is None or last is None or within:
        return ""
    told = f"{figure(first)}{ARROW}{figure(last)}"
    unit = UNITS.get(series.unit, series.unit)
    return f"difference to the {other(series.side)} {told} {unit}".rstrip()


def readings(sign: str, values: Sequence[float], unit: str) -> str:
    """Return readings in time: ``95 → 118 degrees``, ``10° short of straight → 5° hyperextension``."""
    told = [signed(sign, value, unit) for value in values]
    sizes = [quantity(abs(value), unit) for value in values]
    ways = {each.removeprefix(size) for each, size, value in zip(told, sizes, values, strict=True) if value}
    named = told != [quantity(value, unit) for value in values]
    if named and len(ways) > 1:
        return ARROW.join(told)
    numbers = ARROW.join(figure(abs(value) if named else value) for value in values)
    return f"{numbers} {UNITS.get(unit, unit)}".rstrip() + (ways.pop() if named else "")


def grade_words(series: GradeSeries, change: GradeChange, *, protocol: Protocol) -> ChangeWords:
    """Return a change of a grade in words."""
    about = subject(protocol.sign(series.sign), series.side)
    grades = ARROW.join(grades_of(series, protocol=protocol))
    return ChangeWords(head=f"{about} {grades}", verdict=grade_verdict(change))


def grades_of(series: GradeSeries, *, protocol: Protocol) -> tuple[str, ...]:
    """Return the grade at each visit: ``2+`` and ``0``, ``positive`` and ``negative``."""
    sign = protocol.sign(series.sign)
    return tuple(_grade(sign, point.state, point.level) for point in series.points)


def _grade(sign: Sign, state: State, level: str | None) -> str:
    if state is State.UNTESTABLE:
        return "not testable"
    if level is None:
        return "abnormal, grade not given"
    if [each.id for each in sign.scale.levels] == ["no", "yes"]:
        return POSITIVE if level == "yes" else "negative"
    return sign.level(level).words if "_" in level else level


def total_words(series: TotalSeries, change: TotalChange) -> ChangeWords:
    """Return a change of a total in words: what error hides and what patients notice, apart."""
    values = [point.value for point in series.points if change.since <= point.day <= change.until]
    knee = f", {series.side} knee," if series.side else ""
    told = ARROW.join(figure(value) for value in values)
    return ChangeWords(head=f"{SCORES[series.score].name}{knee} {told} points", verdict=total_verdict(change))
