"""What a change between two visits amounts to, in words, and what it was held against."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fabella.follow import (
    Agreement,
    ChangeVerdict,
    ChangeWhy,
    GradeChange,
    Importance,
    MeasureChange,
    MeasureSeries,
    ScoreBar,
    TotalChange,
)
from fabella.report.wording import figure
from fabella.workup import ErrorUsed

UNITS = {"deg": "degrees", "C": "°C", "ratio": "", "kg/m2": "kg/m²", "/min": "a minute"}
"""Units as they are said after several numbers; those left out are said as they are written."""

_CANNOT = "cannot be judged"
_BETTER = ChangeVerdict.TRUE_CHANGE_BETTER
_WITHIN, _CANNOT_JUDGE = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, ChangeVerdict.CANNOT_JUDGE
_COUNTED = ("no", "one", "two", "three", "four", "five")

_CAVEATS = {
    ChangeWhy.METHOD_ASSUMED: "method not stated or not in the tables, taken as the usual one",
    ChangeWhy.COARSER_METHOD: "two methods, the coarser one counts",
    ChangeWhy.ERROR_OF_ONE_EXAMINER: "published for one examiner",
}
_WHY_NOT = {
    ChangeWhy.METHODS_DIFFER: "no source has compared the two methods",
    ChangeWhy.ERROR_UNKNOWN: "its measurement error is not known",
    ChangeWhy.AGREEMENT_UNKNOWN: "examiners' agreement on it is not published",
    ChangeWhy.GRADE_NOT_GIVEN: "a grade was not given",
    ChangeWhy.COULD_NOT_BE_TESTED: "it could not be tested at one of the visits",
}
_UNSURE = {
    ChangeWhy.GOES_BEYOND: "so far beyond straight it may be looseness and no gain",
    ChangeWhy.DIRECTION_UNKNOWN: "whether for better or worse the number alone does not tell",
}
_IMPORTANCE = {
    Importance.IMPORTANT: "as large as patients notice",
    Importance.PERHAPS_IMPORTANT: "between what few and what most patients notice",
    Importance.NOT_IMPORTANT: "smaller than patients notice",
    Importance.CANNOT_JUDGE: "what patients notice is not published",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a change amounts to.

    Parameters
    ----------
    clauses
        What is said of it, each with what it was held against, empty where that is nothing; no clause when
        the change cannot be judged.
    why_not
        Why it cannot be judged; empty when it is judged, or nothing is known of why.
    beside
        What else is told with it.
    """

    clauses: tuple[tuple[str, str], ...] = ()
    why_not: str = ""
    beside: str = ""

    @property
    def words(self) -> str:
        """Everything: ``a true gain (beyond 10 degrees, goniometer, Hancock 2018, 95%)``."""
        if not self.clauses:
            return self._with_beside(f"{_CANNOT}, as {self.why_not}" if self.why_not else _CANNOT)
        return self._with_beside("; ".join(map(_clause, self.clauses)))

    @property
    def brief(self) -> str:
        """The same with how much it was held against alone: ``a true gain (beyond 10 degrees)``."""
        return replace(self, clauses=tuple((said, how.partition(",")[0]) for said, how in self.clauses)).words

    @property
    def under_its_heading(self) -> str:
        """The same below a heading that says already that it cannot be judged: the reason alone."""
        return self.words if self.clauses or not self.why_not else self._with_beside(self.why_not)

    def since(self, when: str) -> str:
        """Return the same as a clause of its own: ``since the first visit it cannot be judged``."""
        return f"since {when} {self.words}" if self.clauses else f"since {when} it {self.words}"

    @property
    def short(self) -> str:
        """Without what it was held against, where another sentence tells that."""
        return "; ".join(words for words, _ in self.clauses) or _CANNOT

    def _with_beside(self, words: str) -> str:
        return f"{words}; {self.beside}" if self.beside else words


def _clause(clause: tuple[str, str]) -> str:
    said, against = clause
    return f"{said} ({against})" if against else said


def measure_verdict(series: MeasureSeries, change: MeasureChange) -> Verdict:
    """Return what a change of a measurement amounts to, with the error it was held against."""
    if change.error is None:
        return Verdict(why_not=_why_not(change.reasons))
    caveats = (_CAVEATS[why] for why in change.reasons if why in _CAVEATS)
    against = "; ".join((error_words(change.error, series.unit, method=_method(change)), *caveats))
    if change.verdict is _WITHIN:
        return Verdict(clauses=(("unchanged within measurement error", against),))
    if change.verdict is _CANNOT_JUDGE:
        unsure = next((_UNSURE[why] for why in change.reasons if why in _UNSURE), "")
        return Verdict(clauses=(("truly changed", f"beyond {against}"), (unsure, "")))
    if change.verdict is _BETTER:
        said = f"a true {'gain' if change.difference > 0 else 'improvement'}"
    else:
        said = "a true loss" if change.difference < 0 else "truly worse"
    return Verdict(clauses=((said, f"beyond {against}"),))


def _why_not(reasons: tuple[ChangeWhy, ...]) -> str:
    return next((_WHY_NOT[why] for why in reasons if why in _WHY_NOT), "")


def _method(change: MeasureChange) -> str:
    """Return how the readings were taken, in the examiner's words; empty when that was not stated."""
    return ", then ".join(dict.fromkeys(each for each in change.methods if each is not None))


def error_words(error: ErrorUsed, unit: str, *, method: str = "") -> str:
    """Return an error as it stands in brackets: ``10 degrees, long goniometer, Hancock 2018, 95%``.

    ``method`` are the examiner's words for it; empty takes those of the tables.
    """
    words = UNITS.get(unit, unit)
    source = "our estimate" if error.row is None else error.row.source.short
    if error.row is not None and error.row.recalled:
        source += " from memory"
    amount = f"{error_size(error)} {words}".rstrip()
    return f"{amount}, {method or error.method}, {source}, {round(100 * error.level)}%"


def error_size(error: ErrorUsed) -> str:
    """Return an error with the digits that tell it from a change: 2.77 where one of 2.8 exceeds it."""
    return figure(error.detectable) if error.detectable >= 1 else f"{error.detectable:.3g}"


def grade_verdict(change: GradeChange) -> Verdict:
    """Return what a change of a grade amounts to, with what examiners disagree by."""
    if change.verdict is _CANNOT_JUDGE or change.better_by is None or change.agreement is None:
        why_not = _why_not(change.reasons)
        return Verdict(why_not=why_not) if why_not else Verdict(clauses=(("unchanged", ""),))
    by = abs(change.better_by)
    grades = f"{_COUNTED[by] if by < len(_COUNTED) else by} grade{'s' if by > 1 else ''}"
    if change.verdict is _WITHIN:
        said = f"{grades}, within what examiners differ by"
    else:
        said = f"{'a true improvement' if change.verdict is _BETTER else 'truly worse'} by {grades}"
    return Verdict(clauses=((said, _agreement(change.agreement)),))


def _agreement(agreement: Agreement) -> str:
    share = max(1, round(100 * agreement.chance))
    if not agreement.published:
        return f"at most {share} of 100 unchanged knees would show as much; no agreement is published"
    figures = f"{agreement.published} published figure{'s' if agreement.published > 1 else ''}"
    return f"{share} of 100 unchanged knees would show as much, by {figures}"


def total_verdict(change: TotalChange) -> Verdict:
    """Return both verdicts on a change of a total."""
    if change.detectable is None:
        first = ("what error hides is not published", "")
    elif change.verdict is _WITHIN:
        first = ("within the error of the score", _bar(change.detectable))
    else:
        word = "gain" if change.verdict is _BETTER else "loss"
        first = (f"a true {word}", f"beyond {_bar(change.detectable)}")
    if change.important is None:
        return Verdict(clauses=(first, ("what patients notice is not published", "")))
    return Verdict(clauses=(first, (_IMPORTANCE[change.importance], _from(change.important))))


def _bar(bar: ScoreBar) -> str:
    level = f", {round(100 * bar.level)}%" if bar.level is not None else ", level not stated"
    points = f"{figure(bar.high)} point{'' if bar.high == 1 else 's'}"
    return f"{points}, {_source(bar)}{level}"


def _from(bar: ScoreBar) -> str:
    ends = figure(bar.low) if bar.low == bar.high else f"{figure(bar.low)} to {figure(bar.high)}"
    return f"from {ends} points, {_source(bar)}"


def _source(bar: ScoreBar) -> str:
    memory = " from memory" if bar.recalled else ""
    fits = "" if bar.fits else f", in {bar.population}"
    return f"{bar.source}{memory}{fits}"
