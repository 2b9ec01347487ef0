"""The chain run on published patients, and how often it was right."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.audit.adapting import AdaptedCase, adapt
from fabella.audit.cases import PublishedCase
from fabella.audit.diagnoses import expected
from fabella.errors import FabellaError
from fabella.protocol import Protocol
from fabella.record import Examination
from fabella.stats import Interval, wilson
from fabella.workup import Conclusion, LesionProbability, Urgency, Workup

Run = Callable[[Examination], Workup]
"""What works an examination up."""

TOP = 3
CONFIDENT = 0.9
"""From this probability on a lesion that the patient did not have is an error that could mislead."""
PRESSING = (Urgency.NOW, Urgency.SAME_DAY)
"""The urgencies at which an alarm in a harmless knee is a false one."""
ROUTINE = Urgency.ROUTINE_BUT_DO_NOT_MISS
"""An alarm of this urgency does not count as raising a red flag."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """One lesion with its probability (0..1), levels added up."""

    lesion: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Raised:
    """One alarm that was met, on a side (None = of the person)."""

    rule: str
    urgency: Urgency
    side: Side | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """What the chain made of one published patient.

    Parameters
    ----------
    side
        The knee that is judged; of two that are complained of the one in which the diagnosis ranks lower.
    expected
        The lesions that count as right; empty when the diagnosis is not in the model.
    rank, probability
        Place (1 = first) and probability of the likeliest expected lesion; None without one, or when nothing
        was concluded.
    top
        The three likeliest lesions of that knee.
    wrong
        The likeliest lesion that no diagnosis of the case stands for.
    alarms
        Every alarm met, the most urgent first.
    failures
        What could not be computed.
    """

    adapted: AdaptedCase
    side: Side
    expected: tuple[str, ...]
    unknown_diagnoses: tuple[str, ...]
    rank: int | None
    probability: float | None
    top: tuple[Likely, ...]
    wrong: Likely | None
    alarms: tuple[Raised, ...]
    failures: tuple[str, ...]

    @property
    def case(self) -> PublishedCase:
        """The case as published."""
        return self.adapted.case

    @property
    def pressing(self) -> tuple[Raised, ...]:
        """The alarms met that cannot wait for tomorrow."""
        return tuple(alarm for alarm in self.alarms if alarm.urgency in PRESSING)

    @property
    def is_raised(self) -> bool:
        """Whether any alarm is met that is more than routine."""
        return any(alarm.urgency is not ROUTINE for alarm in self.alarms)

    @property
    def is_false_alarm(self) -> bool:
        """Whether something pressing was raised in a patient with neither a red flag nor an urgent matter."""
        return bool(self.pressing) and not self.case.red_flag and not self.case.urgent

    @property
    def is_confidently_wrong(self) -> bool:
        """Whether a lesion that the patient did not have was held nearly certain."""
        return self.wrong is not None and self.wrong.probability >= CONFIDENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many of so many, with the 95 % interval of Wilson (None when there are none)."""

    count: int
    of: int
    interval: Interval | None


def share(count: int, of: int) -> Share:
    """Return so many of so many with their interval."""
    return Share(count=count, of=of, interval=wilson(successes=count, n=of) if of else None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Validation:
    """The results of all cases, and their totals.

    ``first`` and ``top_three`` are of the cases whose diagnosis is in the model; ``red_flags_raised`` of
    the cases with a red flag, by any alarm met; ``false_alarms`` of those with neither a red flag nor an
    urgent matter; ``confidently_wrong`` of all.
    """

    results: tuple[CaseResult, ...]
    first: Share
    top_three: Share
    red_flags_raised: Share
    false_alarms: Share
    confidently_wrong: Share


def validate_cases(cases: Iterable[PublishedCase], *, run: Run, protocol: Protocol) -> Validation:
    """Return what the chain makes of published patients, failures included.

    Parameters
    ----------
    run
        What works an examination up. It never sees a diagnosis.
    protocol
        What the signs are.

    Raises
    ------
    FabellaError
        When there is no case.
    """
    return totalled(judge(adapt(case, protocol=protocol), run=run) for case in cases)


def totalled(judged: Iterable[CaseResult]) -> Validation:
    """Return results with their totals; raise `FabellaError` when there is none."""
    results = tuple(judged)
    if not results:
        raise FabellaError("there is no case to validate with")
    in_model = [result for result in results if result.expected]
    flagged = [result for result in results if result.case.red_flag]
    harmless = [result for result in results if not (result.case.red_flag or result.case.urgent)]
    return Validation(
        results=results,
        first=_share_of(result.rank == 1 for result in in_model),
        top_three=_share_of(result.rank is not None and result.rank <= TOP for result in in_model),
        red_flags_raised=_share_of(result.is_raised for result in flagged),
        false_alarms=_share_of(result.is_false_alarm for result in harmless),
        confidently_wrong=_share_of(result.is_confidently_wrong for result in results),
    )


def judge(adapted: AdaptedCase, *, run: Run) -> CaseResult:
    """Return what the chain makes of one published patient."""
    right = expected(adapted.case)
    try:
        workup = run(adapted.examination)
    except FabellaError as error:
        return _result(adapted, adapted.examination.context.complained_of[0], None, failures=(str(error),))
    raised = tuple(
        Raised(rule=alarm.rule, urgency=alarm.urgency, side=alarm.side)
        for alarm in workup.alarms
        if alarm.is_met
    )
    side = _judged_side(adapted.examination.context.complained_of, workup.conclusion, right.primary)
    return _result(adapted, side, workup.conclusion, alarms=raised, failures=workup.failures)


def _judged_side(complaint: tuple[Side, ...], conclusion: Conclusion | None, primary: frozenset[str]) -> Side:
    if conclusion is None or len(complaint) == 1:
        return complaint[0]
    ranks = {side: _rank(conclusion.knee(side).any_level(), primary) or 0 for side in complaint}
    return max(complaint, key=lambda side: ranks[side])


def _result(
    adapted: AdaptedCase,
    side: Side,
    conclusion: Conclusion | None,
    *,
    alarms: tuple[Raised, ...] = (),
    failures: tuple[str, ...] = (),
) -> CaseResult:
    right = expected(adapted.case)
    lesions = () if conclusion is None else conclusion.knee(side).any_level()
    rank = _rank(lesions, right.primary)
    likely = tuple(Likely(lesion=each.lesion, probability=each.probability) for each in lesions)
    return CaseResult(
        adapted=adapted,
        side=side,
        expected=tuple(sorted(right.primary)),
        unknown_diagnoses=right.unknown,
        rank=rank,
        probability=None if rank is None else likely[rank - 1].probability,
        top=likely[:TOP],
        wrong=next((each for each in likely if each.lesion not in right.any), None),
        alarms=alarms,
        failures=failures,
    )


def _rank(lesions: tuple[LesionProbability, ...], wanted: frozenset[str]) -> int | None:
    """Return the place of the first of the lesions that are wanted, 1 for the likeliest of all."""
    return next((place for place, each in enumerate(lesions, start=1) if each.lesion in wanted), None)


def _share_of(outcomes: Iterable[bool]) -> Share:
    each = list(outcomes)
    return share(sum(each), len(each))
