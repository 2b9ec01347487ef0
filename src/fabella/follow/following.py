"""Examinations of one patient over time: what has truly changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.anatomy import Side
from fabella.evidence import Edition
from fabella.follow.course import Course, LesionPoint, LesionSeries, Visit
from fabella.follow.graded import grade_series
from fabella.follow.measured import measure_series
from fabella.follow.precision import Precision
from fabella.follow.standings import standings
from fabella.follow.totals import all_totals, total_series
from fabella.follow.undone import undone
from fabella.follow.visits import DatedTotal, Seen, check_totals, procedures_by, seen_in_order
from fabella.protocol import Protocol
from fabella.record import Examination
from fabella.workup import Workup


def follow(
    visits: Sequence[Workup | Examination],
    *,
    edition: Edition,
    protocol: Protocol,
    totals: Sequence[DatedTotal] = (),
) -> Course:
    """Return what has become of a patient from visit to visit and since the first one.

    Parameters
    ----------
    visits
        Of one patient, in the order of time, each with its day; at least one. Probabilities of lesions are
        followed through those that are workups.
    edition
        Where measurement errors, agreement, milestones and bars of scores come from.
    protocol
        What the signs are.
    totals
        Of questionnaires that came between the visits; those of the visits stand in their examinations.

    Raises
    ------
    InputError
        Listing every visit without a day or out of order, whatever says that they are not of one patient, and
        every total of an unknown score or beyond its range.
    """
    seen = seen_in_order(visits)
    check_totals(totals)
    dated = all_totals(seen, totals)
    precision = Precision(edition)
    return Course(
        edition=edition.id,
        visits=tuple(
            Visit(
                day=each.day,
                turn=each.turn,
                examination=each.examination.id,
                examiner=each.examination.examiner,
                procedures=procedures_by(each.day, seen),
            )
            for each in seen
        ),
        measures=tuple(measure_series(seen, precision=precision, protocol=protocol)),
        grades=tuple(grade_series(seen, edition=edition, protocol=protocol)),
        lesions=tuple(_lesions(seen)),
        totals=tuple(total_series(dated, seen, edition=edition)),
        standings=tuple(standings(seen, dated, edition=edition, precision=precision)),
        undone=undone(seen),
    )


def _lesions(seen: Sequence[Seen]) -> Iterator[LesionSeries]:
    """Yield the probability of each lesion, levels added up: the highest of any visit first."""
    points: dict[tuple[Side, str], list[LesionPoint]] = {}
    for each in seen:
        for knee in () if each.conclusion is None else each.conclusion.knees:
            for lesion in knee.any_level() if knee.findings else ():  # nothing examined tells nothing
                point = LesionPoint(
                    day=each.day,
                    turn=each.turn,
                    probability=lesion.probability,
                    low=lesion.low,
                    high=lesion.high,
                )
                points.setdefault((knee.side, lesion.lesion), []).append(point)
    ranked = sorted(points.items(), key=lambda item: -max(point.probability for point in item[1]))
    return (LesionSeries(lesion=lesion, side=side, points=tuple(own)) for (side, lesion), own in ranked)
