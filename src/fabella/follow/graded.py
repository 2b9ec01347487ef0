"""Grades over the visits, held against how far examiners disagree about a knee that has not changed.

From a published kappa follows how often two readings of one knee differ: (1 - kappa) x (1 - 1 / levels), by
the definition of kappa (Cohen 1960 Educ Psychol Meas 20:37-46, from memory) with all grades taken as equally
common (judgement). Of 21 readings that differed, 5 differed by two grades (Sturgill 2009, sweep test); that
fewer than one in 21 differ by three is judgement. A change counts when unchanged knees would show one as
large in at most 10 of 100 (judgement). So one grade counts only where agreement is nearly perfect, two where
it is moderate, three even where no agreement is published.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from statistics import median

from fabella.anatomy import Side
from fabella.evidence import Edition, Reliability
from fabella.follow.course import Agreement, GradeChange, GradePoint, GradeSeries
from fabella.follow.verdicts import ChangeVerdict, ChangeWhy, compare_pairs
from fabella.follow.visits import Seen
from fabella.protocol import Protocol, Sign
from fabella.record import Finding, State

MOST_CHANCE = 0.10
"""Share of unchanged knees that may show as large a change (judgement; the 90 % level of measurements)."""

SHARES = {1: 1.0, 2: 5 / 21, 3: 1 / 21}
"""Of readings that differ, those that differ by at least so many grades."""

_KAPPAS = frozenset({"kappa", "weighted_kappa", "fleiss_kappa"})
_SPANS = frozenset({"range", "lower_bound"})


def grade_series(seen: Sequence[Seen], *, edition: Edition, protocol: Protocol) -> Iterator[GradeSeries]:
    """Yield a series for every sign and side that was graded, unless a reading was taken at each visit."""
    for sign in sorted(protocol.signs, key=lambda each: each.order):
        if not sign.scale.levels or sign.is_history:
            continue
        for side in (None,) if sign.is_person else tuple(Side):
            found = [(each, each.examination.finding(sign.id, side)) for each in seen]
            stated = [(each, finding) for each, finding in found if finding is not None]
            points = tuple(
                _point(each, finding, sign)
                for each, finding in stated
                if finding.state not in {None, State.NOT_EXAMINED}
            )
            if not points or all(finding.value is not None for _, finding in stated):
                continue
            compare = partial(_change, sign=sign, edition=edition)
            steps, from_first = compare_pairs(points, compare, tells=_is_graded)
            yield GradeSeries(sign=sign.id, side=side, points=points, steps=steps, from_first=from_first)


def _is_graded(point: GradePoint) -> bool:
    return point.rank is not None


def _point(seen: Seen, finding: Finding, sign: Sign) -> GradePoint:
    levels = sign.scale.levels
    rank: int | None = None
    if finding.level is not None:
        rank = sign.level(finding.level).rank
    elif finding.state is State.NORMAL:
        rank = 0
    elif finding.state is State.ABNORMAL and sign.scale.is_yes_or_no:
        rank = 1
    level = finding.level if rank is None else levels[rank].id
    return GradePoint(
        day=seen.day,
        turn=seen.turn,
        state=finding.state or State.NOT_EXAMINED,
        level=level,
        rank=rank,
        examiner=seen.examination.examiner,
    )


def _change(earlier: GradePoint, later: GradePoint, sign: Sign, edition: Edition) -> GradeChange:
    made = partial(GradeChange, since=earlier.day, until=later.day)
    cannot = partial(made, better_by=None, agreement=None, verdict=ChangeVerdict.CANNOT_JUDGE)
    if State.UNTESTABLE in {earlier.state, later.state}:
        return cannot(reasons=(ChangeWhy.COULD_NOT_BE_TESTED,))
    if earlier.rank is None or later.rank is None:
        return cannot(reasons=(ChangeWhy.GRADE_NOT_GIVEN,))
    better_by = earlier.rank - later.rank
    if better_by == 0:
        within = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR
        return made(better_by=0, agreement=None, verdict=within, reasons=(ChangeWhy.SAME_GRADE,))
    same = earlier.examiner is not None and earlier.examiner == later.examiner
    agreement = agreement_on(
        sign.id, grades=abs(better_by), levels=len(sign.scale.levels), edition=edition, same=same
    )
    verdict, reasons = _judge(better_by, agreement)
    return made(better_by=better_by, agreement=agreement, verdict=verdict, reasons=reasons)


def _judge(better_by: int, agreement: Agreement) -> tuple[ChangeVerdict, tuple[ChangeWhy, ...]]:
    unknown = () if agreement.published else (ChangeWhy.AGREEMENT_UNKNOWN,)
    if agreement.chance <= MOST_CHANCE:
        better = better_by > 0
        verdict = ChangeVerdict.TRUE_CHANGE_BETTER if better else ChangeVerdict.TRUE_CHANGE_WORSE
        return verdict, (ChangeWhy.BEYOND_DISAGREEMENT, *unknown)
    if unknown:
        return ChangeVerdict.CANNOT_JUDGE, unknown
    return ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, (ChangeWhy.WITHIN_DISAGREEMENT,)


def agreement_on(sign: str, *, grades: int, levels: int, edition: Edition, same: bool) -> Agreement:
    """Return how far examiners disagree about a sign: the median of what is published.

    Parameters
    ----------
    sign, levels
        The sign and how many grades it has, 2 or more.
    grades
        How many grades the change is, 1 or more.
    same
        True when one examiner graded both times. Nobody agrees less with himself than with others, so the
        better of what is published within and between examiners stands (judgement).
    """
    share = SHARES[min(grades, max(SHARES))]
    one, two = (_published(sign, comparison, levels, share, edition) for comparison in ("intra", "inter"))
    if one is not None and two is not None:
        return min(two, one, key=lambda each: each.disagreement) if same else two
    worst = 1 - 1 / levels
    unknown = Agreement(disagreement=worst, chance=worst * share, published=0, comparison="inter", sources=())
    return two or one or unknown


def _published(sign: str, comparison: str, levels: int, share: float, edition: Edition) -> Agreement | None:
    """Return the median of what is published for one comparison; ranges only where nothing else is."""
    rows = [row for row in edition.reliability_of(sign) if row.comparison == comparison]
    single = [row for row in rows if row.summary not in _SPANS and _disagreement(row, levels) is not None]
    known = {row.source.short: row for row in single or rows}
    shares = [each for row in single or rows if (each := _disagreement(row, levels)) is not None]
    if not shares:
        return None
    return Agreement(
        disagreement=median(shares),
        chance=median(shares) * share,
        published=len(shares),
        comparison=comparison,
        sources=tuple(known),
    )


def _disagreement(row: Reliability, levels: int) -> float | None:
    """Return the share of knees read differently that a published statistic stands for, None if for none."""
    if row.estimate is None:
        return None
    ends = [each for each in (row.estimate.low, row.estimate.high) if each is not None]
    value = row.estimate.value if row.estimate.value is not None else sum(ends) / len(ends)
    if row.statistic in _KAPPAS:
        return min(1.0, (1 - value) * (1 - 1 / levels))
    if row.statistic == "PABAK":
        return (1 - value) / 2
    return 1 - value if row.statistic == "proportion_agreement" else None
