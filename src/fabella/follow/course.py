"""What has become of a patient over several visits: plain frozen values, worded elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Side
from fabella.follow.standing import Standing
from fabella.follow.undone import Undone
from fabella.follow.verdicts import ChangeVerdict, ChangeWhy, Importance
from fabella.grade import ErrorUsed
from fabella.record import Procedure, State


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One examination in time; ``procedures`` are the latest ones, by then, of each knee.

    ``turn`` is its place among the visits of that day, from 0; so it is with the points of every series.
    """

    day: date
    turn: int
    examination: str
    examiner: str | None
    procedures: tuple[Procedure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurePoint:
    """One reading in the unit of its series.

    ``error`` is that of a reading by this method, None when unknown; ``difference`` is this side minus the
    other at the same visit, None unless both were measured.
    """

    day: date
    turn: int
    value: float
    method: str | None
    examiner: str | None
    error: ErrorUsed | None
    difference: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureChange:
    """Later minus earlier, in the unit of the series, and what it was held against.

    ``better_by`` counts the same so that more is better; None when that cannot be told from the number.
    ``methods`` are those of both readings, in the examiner's words.
    """

    since: date
    until: date
    methods: tuple[str | None, str | None]
    difference: float
    better_by: float | None
    error: ErrorUsed | None
    verdict: ChangeVerdict
    reasons: tuple[ChangeWhy, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSeries:
    """All readings of one sign on one side (None: of the person); a change from each visit to the next."""

    sign: str
    side: Side | None
    unit: str
    points: tuple[MeasurePoint, ...]
    steps: tuple[MeasureChange, ...]
    from_first: tuple[MeasureChange, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How far examiners disagree about a knee that has not changed (all shares 0 to 1).

    ``disagreement`` is the share of knees that two readings grade differently, ``chance`` that by as many
    grades as the change; ``published`` is how many published values the first is the median of, none when it
    is the most that disagreement can be. ``comparison`` is ``intra`` (one examiner twice) or ``inter``.
    """

    disagreement: float
    chance: float
    published: int
    comparison: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GradePoint:
    """One grade: ``rank`` 0 is normal; None when it was not given or could not be tested."""

    day: date
    turn: int
    state: State
    level: str | None
    rank: int | None
    examiner: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeChange:
    """A change by ``better_by`` grades (less than 0: worse; None: not told) against examiner agreement."""

    since: date
    until: date
    better_by: int | None
    agreement: Agreement | None
    verdict: ChangeVerdict
    reasons: tuple[ChangeWhy, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeSeries:
    """All grades of one sign on one side (None: of the person).

    ``from_first`` are the changes since the first grade, of later points than that.
    """

    sign: str
    side: Side | None
    points: tuple[GradePoint, ...]
    steps: tuple[GradeChange, ...]
    from_first: tuple[GradeChange, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LesionPoint:
    """Probability of a lesion of any level at one visit, with its 90 % interval (all 0 to 1)."""

    day: date
    turn: int
    probability: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LesionSeries:
    """The probability of one lesion of one knee over the visits."""

    lesion: str
    side: Side
    points: tuple[LesionPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreBar:
    """A published number of points that a change of a total is held against.

    ``high`` exceeds ``low`` when two figures were published or a range; ``level`` is the confidence of a
    detectable change (0.90 or 0.95), None when the source does not say; ``fits`` is false when it is not
    known that the patient belongs to its ``population``: then the largest published bar stands.
    """

    low: float
    high: float
    statistic: str
    level: float | None
    population: str
    source: str
    recalled: bool
    item: str
    fits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalPoint:
    """The total of a score on one day, in points."""

    day: date
    turn: int
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalChange:
    """A change of a total in points, judged twice: by what error hides, and by what patients notice."""

    since: date
    until: date
    difference: float
    detectable: ScoreBar | None
    verdict: ChangeVerdict
    important: ScoreBar | None
    importance: Importance


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalSeries:
    """All totals of one score about one knee (None: not said which)."""

    score: str
    side: Side | None
    points: tuple[TotalPoint, ...]
    steps: tuple[TotalChange, ...]
    from_first: tuple[TotalChange, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Everything that was followed, and the edition of the evidence that it was held against.

    ``undone`` are the lesions that last and that the last visit does not tell any more; only visits that were
    concluded have any.
    """

    edition: str
    visits: tuple[Visit, ...]
    measures: tuple[MeasureSeries, ...]
    grades: tuple[GradeSeries, ...]
    lesions: tuple[LesionSeries, ...]
    totals: tuple[TotalSeries, ...]
    standings: tuple[Standing, ...]
    undone: tuple[Undone, ...]
