"""Short ways to write visits down and follow them; the edition and the protocol are the real ones."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from fabella.anatomy import Side
from fabella.evidence import load_edition
from fabella.follow import Course, GradeChange, MeasureChange, TotalChange, follow
from fabella.protocol import load_protocol
from fabella.record import (
    Context,
    Examination,
    Finding,
    Origin,
    Patient,
    Procedure,
    ProcedureName,
    Reason,
    Sex,
    State,
    Total,
)

RIGHT, LEFT = Side.RIGHT, Side.LEFT
EDITION, PROTOCOL = load_edition(), load_protocol()
START = date(2025, 1, 6)


def day(weeks: float) -> date:
    """The day so many weeks after the first one."""
    return START + timedelta(days=round(7 * weeks))


def read(
    sign: str, value: float, *, unit: str = "deg", method: str | None = None, side: Side | None = RIGHT
) -> Finding:
    """A reading, of the right knee unless said otherwise."""
    return Finding(sign=sign, side=side, value=value, unit=unit, method=method)


def graded(sign: str, level: str | State, *, side: Side | None = RIGHT) -> Finding:
    """A finding from a level or a plain state."""
    if level is State.UNTESTABLE:
        return Finding(sign=sign, side=side, state=level, reason=Reason.PAIN)
    if isinstance(level, State):
        return Finding(sign=sign, side=side, state=level)
    rank = PROTOCOL.sign(sign).level(level).rank
    state = State.ABNORMAL if rank else State.NORMAL
    return Finding(sign=sign, side=side, state=state, level=level)


def visit(
    weeks: float,
    *findings: Finding,
    examiner: str | None = None,
    totals: tuple[Total, ...] = (),
    procedure: Procedure | None = None,
    label: str | None = None,
    sex: Sex | None = None,
    origin: Origin = Origin.INVENTED,
) -> Examination:
    """An examination so many weeks after the first day, of a person of 40."""
    return Examination(
        id=f"week-{weeks:g}",
        origin=origin,
        examined_on=day(weeks),
        examiner=examiner,
        patient=Patient(age_years=40, label=label, sex=sex),
        context=Context(procedure=procedure),
        totals=totals,
        findings=findings,
    )


def followed(*visits: Examination) -> Course:
    """The course of these visits."""
    return follow(visits, edition=EDITION, protocol=PROTOCOL)


def operation(name: ProcedureName, *sides: Side, weeks: float = 0) -> Procedure:
    """An operation so many weeks after the first day, on the right knee unless said otherwise."""
    return Procedure(name=name, sides=sides or (RIGHT,), on=day(weeks))


def measured_change(
    sign: str,
    values: tuple[float, float],
    *,
    methods: tuple[str | None, str | None] = (None, None),
    examiners: tuple[str | None, str | None] = (None, None),
    unit: str = "deg",
) -> MeasureChange:
    """The change of one reading of the right knee, or of the person, within six weeks."""
    side = None if PROTOCOL.sign(sign).is_person else RIGHT
    course = followed(
        *(
            visit(weeks, read(sign, value, unit=unit, method=method, side=side), examiner=examiner)
            for weeks, value, method, examiner in zip((0, 6), values, methods, examiners, strict=True)
        )
    )
    return course.measures[0].steps[0]


def graded_change(
    sign: str, levels: tuple[str | State, str | State], *, examiner: str | None = None
) -> GradeChange:
    """The change of one grade of the right knee within six weeks."""
    course = followed(
        *(visit(w, graded(sign, each), examiner=examiner) for w, each in zip((0, 6), levels, strict=True))
    )
    return course.grades[0].steps[0]


def total_change(
    score: str, values: Sequence[float], *, procedure: ProcedureName | None = None
) -> TotalChange:
    """The change of one total of the right knee within half a year of an operation."""
    done = None if procedure is None else operation(procedure)
    course = followed(
        *(
            visit(weeks, totals=(Total(score=score, value=value, side=RIGHT),), procedure=done)
            for weeks, value in zip((0, 26), values, strict=True)
        )
    )
    return course.totals[0].steps[0]
