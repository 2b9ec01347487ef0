"""Visits of one patient in the order of time, or a refusal that says what stands in the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

from fabella.anatomy import Side
from fabella.errors import Problem, Problems, suggestion
from fabella.record import SCORES, Examination, Procedure, Total
from fabella.workup import Conclusion, Workup


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedTotal:
    """A total that came between visits, by post say, and its day; ``turn`` as of `Seen` when at a visit."""

    day: date
    total: Total
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One visit as it is followed: its day, the examination, and what was concluded if anything was.

    ``turn`` is its place among the visits of that day, from 0, in the order in which they were given.
    """

    day: date
    turn: int
    examination: Examination
    conclusion: Conclusion | None


def seen_in_order(visits: Sequence[Workup | Examination]) -> tuple[Seen, ...]:
    """Return the visits with their days.

    Raises
    ------
    InputError
        Listing every visit without a day or earlier than the one before it, and whatever says that they are
        not of one patient: another label, another sex, a real patient beside an invented one.
    """
    both = [
        (each.examination, each.conclusion) if isinstance(each, Workup) else (each, None) for each in visits
    ]
    examinations = [examination for examination, _ in both]
    problems = Problems([*_days(examinations), *_persons(examinations)])
    if not visits:
        problems.add("visits", "", "are missing", "give at least one")
    problems.raise_any()
    turns: Counter[date] = Counter()
    seen = []
    for examination, conclusion in both:
        if (day := examination.examined_on) is not None:
            seen.append(Seen(day=day, turn=turns[day], examination=examination, conclusion=conclusion))
            turns[day] += 1
    return tuple(seen)


def _days(examinations: Sequence[Examination]) -> Iterable[Problem]:
    for number, each in enumerate(examinations, start=1):
        if each.examined_on is None:
            yield Problem(
                place=_place(number, each),
                says="has no examined_on, so that it cannot be put in time",
                remedy="write the day, YYYY-MM-DD",
            )
    for number, (before, each) in enumerate(pairwise(examinations), start=2):
        if before.examined_on is None or each.examined_on is None or before.examined_on <= each.examined_on:
            continue
        yield Problem(
            place=_place(number, each),
            value=str(each.examined_on),
            says=f"is earlier than the visit before it, {before.examined_on}",
            remedy="put the visits in the order of time",
        )


def _persons(examinations: Sequence[Examination]) -> Iterable[Problem]:
    first: dict[str, tuple[object, str]] = {}
    for number, each in enumerate(examinations, start=1):
        place = _place(number, each)
        said = {"label": each.patient.label, "sex": each.patient.sex, "origin": each.origin}
        for key, value in said.items():
            if value is None:
                continue
            known, where = first.setdefault(key, (value, place))
            if known != value:
                yield Problem(
                    place=place,
                    value=str(value),
                    says=f"is another {key} than '{known}' of {where}: not one patient",
                    remedy="give the visits of one patient",
                )


def _place(number: int, examination: Examination) -> str:
    return f"visit {number} ({examination.id})"


def procedures_by(day: date, seen: Sequence[Seen]) -> tuple[Procedure, ...]:
    """Return the latest procedure of each knee up to a day, whichever visit tells of it, one entry a knee."""
    told = [each.examination.context.procedure for each in seen]
    latest: dict[Side, Procedure] = {}
    for procedure in told:
        if procedure is None or procedure.on > day:
            continue
        for side in procedure.sides:
            if side not in latest or latest[side].on < procedure.on:
                latest[side] = replace(procedure, sides=(side,))
    return tuple(latest[side] for side in Side if side in latest)


def check_totals(totals: Iterable[DatedTotal]) -> None:
    """Raise `InputError` listing every total of an unknown score or beyond its range."""
    problems = Problems()
    for number, each in enumerate(totals, start=1):
        score = SCORES.get(each.total.score)
        place, value = f"total {number}", f"{each.total.value:g}"
        if score is None:
            problems.add(place, each.total.score, "is no score", suggestion(each.total.score, SCORES))
        elif not score.low <= each.total.value <= score.high:
            remedy = f"allowed: {score.low:g} to {score.high:g} points"
            problems.add(place, value, "is beyond its range", remedy)
    problems.raise_any()
