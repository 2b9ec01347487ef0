"""One change between two visits in one sentence: what it was, what it amounts to, and against what."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.anatomy import Side, other
from fabella.follow import (
    Agreement,
    ChangeVerdict,
    ChangeWhy,
    GradeChange,
    GradeSeries,
    Importance,
    MeasureChange,
    MeasureSeries,
    ScoreBar,
    TotalChange,
    TotalSeries,
)
from fabella.protocol import Protocol, Sign
from fabella.record import SCORES, State
from fabella.report.wording import figure, quantity, signed
from fabella.workup import ErrorUsed

BETTER = ChangeVerdict.TRUE_CHANGE_BETTER
WITHIN, CANNOT = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, ChangeVerdict.CANNOT_JUDGE

ARROW = " → "

_UNITS = {"deg": "degrees", "C": "°C", "ratio": "", "kg/m2": "kg/m²"}
_ELSEWHERE = frozenset({"standing", "walking", "hip_foot_back", "vessels_nerves", "general"})
_NOT_OF_THE_KNEE = frozenset(
    {"thigh_girth", "calf_girth", "popliteal_angle", "mass_size", "thigh_foot_angle"}
)
_COUNTED = ("no", "one", "two", "three", "four", "five")

_CAVEATS = {
    ChangeWhy.METHOD_ASSUMED: "method not stated or not in the tables, taken as the usual one",
    ChangeWhy.COARSER_METHOD: "two methods, the coarser one counts",
    ChangeWhy.ERROR_OF_ONE_EXAMINER: "published for one examiner",
}
_CANNOT = {
    ChangeWhy.METHODS_DIFFER: "cannot be judged, as no source has compared the two methods",
    ChangeWhy.ERROR_UNKNOWN: "cannot be judged, as its measurement error is not known",
    ChangeWhy.AGREEMENT_UNKNOWN: "cannot be judged, as examiners' agreement on it is not published",
    ChangeWhy.GRADE_NOT_GIVEN: "cannot be judged, as a grade was not given",
    ChangeWhy.COULD_NOT_BE_TESTED: "cannot be judged, as it could not be tested at one of the visits",
}
_UNSURE = {
    ChangeWhy.GOES_BEYOND: "so far beyond straight it may be looseness and no gain",
    ChangeWhy.DIRECTION_UNKNOWN: "whether for better or worse the number alone does not tell",
}


def subject(sign: Sign, side: Side | None) -> str:
    """Return what a series is about: ``Passive flexion of the right knee``, ``Stance share on the left``."""
    name = sign.name.removesuffix(", side not stated").removesuffix(", overall")
    if side is None:
        return name
    if sign.position in _ELSEWHERE or sign.id in _NOT_OF_THE_KNEE:
        return f"{name} on the {side}"
    return f"{name} of the {side} knee"


def measure_words(series: MeasureSeries, change: MeasureChange, *, protocol: Protocol) -> str:
    """Return the sentence about a change of a measurement, with every reading from its first to its last."""
    values = [point.value for point in series.points if change.since <= point.day <= change.until]
    return (
        f"{subject(protocol.sign(series.sign), series.side)} {readings(series.sign, values, series.unit)}: "
        f"{measure_verdict(series, change)}{_beside(series, change)}"
    )


def _beside(series: MeasureSeries, change: MeasureChange) -> str:
    """Return the difference to the other side at both ends of a change, where both sides were measured."""
    ends = [
        point.difference
        for point in series.points
        if point.day in {change.since, change.until} and point.difference is not None
    ]
    if series.side is None or len(ends) != len(("since", "until")) or change.verdict is WITHIN:
        return ""
    told = ARROW.join(figure(each) for each in ends)
    return f"; difference to the {other(series.side)} {told} {_UNITS.get(series.unit, series.unit)}".rstrip()


def readings(sign: str, values: Sequence[float], unit: str) -> str:
    """Return readings in time: ``95 → 118 degrees``, ``10° short of straight → 5° hyperextension``."""
    told = [signed(sign, value, unit) for value in values]
    sizes = [quantity(abs(value), unit) for value in values]
    ways = {each.removeprefix(size) for each, size, value in zip(told, sizes, values, strict=True) if value}
    named = told != [quantity(value, unit) for value in values]
    if named and len(ways) > 1:
        return ARROW.join(told)
    numbers = ARROW.join(figure(abs(value) if named else value) for value in values)
    return f"{numbers} {_UNITS.get(unit, unit)}".rstrip() + (ways.pop() if named else "")


def measure_verdict(series: MeasureSeries, change: MeasureChange) -> str:
    """Return what a change of a measurement amounts to, with the error it was held against."""
    if change.error is None:
        return next((_CANNOT[why] for why in change.reasons if why in _CANNOT), "cannot be judged")
    caveats = (_CAVEATS[why] for why in change.reasons if why in _CAVEATS)
    against = "; ".join((error_words(change.error, series.unit, method=_method(series, change)), *caveats))
    if change.verdict is WITHIN:
        return f"unchanged within measurement error ({against})"
    if change.verdict is CANNOT:
        unsure = next((_UNSURE[why] for why in change.reasons if why in _UNSURE), "")
        return f"truly changed (beyond {against}); {unsure}"
    if change.verdict is BETTER:
        return f"a true {'gain' if change.difference > 0 else 'improvement'} (beyond {against})"
    return f"{'a true loss' if change.difference < 0 else 'truly worse'} (beyond {against})"


def _method(series: MeasureSeries, change: MeasureChange) -> str:
    """Return how the readings were taken, in the examiner's words; empty when that was not stated."""
    ends = {point.day: point.method for point in series.points}
    stated = (ends[change.since], ends[change.until])
    return ", then ".join(dict.fromkeys(each for each in stated if each is not None))


def error_words(error: ErrorUsed, unit: str, *, method: str = "") -> str:
    """Return an error as it stands in brackets: ``10 degrees, long goniometer, Hancock 2018, 95%``.

    ``method`` are the examiner's words for it; empty takes those of the tables.
    """
    size = round(error.detectable, 1 if error.detectable >= 1 else 2)
    words = _UNITS.get(unit, unit)
    source = "our estimate" if error.row is None else error.row.source.short
    if error.row is not None and error.row.recalled:
        source += " from memory"
    amount = f"{figure(size)} {words}".rstrip()
    return f"{amount}, {method or error.method}, {source}, {round(100 * error.level)}%"


def grade_words(series: GradeSeries, change: GradeChange, *, protocol: Protocol) -> str:
    """Return the sentence about a change of a grade."""
    sign = protocol.sign(series.sign)
    return f"{subject(sign, series.side)} {grades_of(series, protocol=protocol)}: {grade_verdict(change)}"


def grades_of(series: GradeSeries, *, protocol: Protocol) -> str:
    """Return grades in time: ``2+ → 0``, ``positive → negative``."""
    sign = protocol.sign(series.sign)
    return ARROW.join(_grade(sign, point.state, point.level) for point in series.points)


def _grade(sign: Sign, state: State, level: str | None) -> str:
    if state is State.UNTESTABLE:
        return "not testable"
    if level is None:
        return "abnormal, grade not given"
    if [each.id for each in sign.scale.levels] == ["no", "yes"]:
        return "positive" if level == "yes" else "negative"
    return level


def grade_verdict(change: GradeChange) -> str:
    """Return what a change of a grade amounts to, with what examiners disagree by."""
    if change.verdict is CANNOT or change.better_by is None or change.agreement is None:
        said = next((_CANNOT[why] for why in change.reasons if why in _CANNOT), "")
        return said or "unchanged"
    by = abs(change.better_by)
    grades = f"{_COUNTED[by] if by < len(_COUNTED) else by} grade{'s' if by > 1 else ''}"
    if change.verdict is WITHIN:
        return f"{grades}, within what examiners differ by ({_agreement(change.agreement)})"
    word = "a true improvement" if change.verdict is BETTER else "truly worse"
    return f"{word} by {grades} ({_agreement(change.agreement)})"


def _agreement(agreement: Agreement) -> str:
    share = max(1, round(100 * agreement.chance))
    if not agreement.published:
        return f"at most {share} of 100 unchanged knees would show as much; no agreement is published"
    figures = f"{agreement.published} published figure{'s' if agreement.published > 1 else ''}"
    return f"{share} of 100 unchanged knees would show as much, by {figures}"


def total_words(series: TotalSeries, change: TotalChange) -> str:
    """Return the sentence about a change of a total: what error hides and what patients notice, apart."""
    values = [point.value for point in series.points if change.since <= point.day <= change.until]
    knee = f", {series.side} knee," if series.side else ""
    told = ARROW.join(figure(value) for value in values)
    return f"{SCORES[series.score].name}{knee} {told} points: {total_verdict(change)}"


def total_verdict(change: TotalChange) -> str:
    """Return both verdicts on a change of a total."""
    if change.detectable is None:
        first = "what error hides is not published"
    elif change.verdict is WITHIN:
        first = f"within the error of the score ({_bar(change.detectable)})"
    else:
        word = "gain" if change.verdict is BETTER else "loss"
        first = f"a true {word} (beyond {_bar(change.detectable)})"
    if change.important is None:
        return f"{first}; what patients notice is not published"
    return f"{first}; {_IMPORTANCE[change.importance]} ({_from(change.important)})"


_IMPORTANCE = {
    Importance.IMPORTANT: "as large as patients notice",
    Importance.PERHAPS_IMPORTANT: "between what few and what most patients notice",
    Importance.NOT_IMPORTANT: "smaller than patients notice",
    Importance.CANNOT_JUDGE: "what patients notice is not published",
}


def _bar(bar: ScoreBar) -> str:
    level = f", {round(100 * bar.level)}%" if bar.level is not None else ", level not stated"
    return f"{figure(bar.high)} points, {_source(bar)}{level}"


def _from(bar: ScoreBar) -> str:
    ends = figure(bar.low) if bar.low == bar.high else f"{figure(bar.low)} to {figure(bar.high)}"
    return f"from {ends} points, {_source(bar)}"


def _source(bar: ScoreBar) -> str:
    memory = " from memory" if bar.recalled else ""
    fits = "" if bar.fits else f", in {bar.population}"
    return f"{bar.source}{memory}{fits}"
