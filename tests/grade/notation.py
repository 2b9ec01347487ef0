"""Short ways to write an examination down and grade it; the edition and the protocol are the real ones."""

from collections.abc import Mapping

from fabella.anatomy import Side
from fabella.evidence import load_edition
from fabella.grade import Graded, grade
from fabella.protocol import load_protocol
from fabella.record import Answer, Context, Examination, Finding, Origin, Patient, Sex, State

RIGHT, LEFT = Side.RIGHT, Side.LEFT


def found(
    sign: str, side: Side | None, what: float | str | State, *, unit: str = "deg", method: str | None = None
) -> Finding:
    """A finding from a value, a level or a plain state."""
    if isinstance(what, State):
        return Finding(sign=sign, side=side, state=what)
    if isinstance(what, str):
        rank = load_protocol().sign(sign).level(what).rank
        state = State.ABNORMAL if rank else State.NORMAL
        return Finding(sign=sign, side=side, state=state, level=what, method=method)
    return Finding(sign=sign, side=side, value=float(what), unit=unit, method=method)


def graded(
    *findings: Finding,
    age_years: float | None = 30,
    sex: Sex | None = Sex.MALE,
    history: Mapping[str, Answer] | None = None,
    complaint: tuple[Side, ...] | None = None,
) -> dict[tuple[str, Side | None], Graded]:
    """The findings of a person (a man of 30 unless said otherwise), graded, by sign and side."""
    examination = Examination(
        id="test",
        origin=Origin.INVENTED,
        patient=Patient(age_years=age_years, sex=sex),
        context=Context(complaint=complaint),
        history=history or {},
        findings=findings,
    )
    done = grade(examination, edition=load_edition(), protocol=load_protocol())
    return {(each.sign, each.side): each for each in done}


def pair(
    sign: str,
    right: float | str | State,
    left: float | str | State,
    *,
    unit: str = "deg",
    method: str | None = None,
) -> tuple[Graded, Graded]:
    """One sign on both sides of a man of 30, graded: right, left."""
    both = graded(
        *(found(sign, side, what, unit=unit, method=method) for side, what in ((RIGHT, right), (LEFT, left)))
    )
    return both[sign, RIGHT], both[sign, LEFT]
