"""Short ways to write an examination down and hear its alarms."""

from collections.abc import Mapping
from datetime import date, timedelta

from fabella.anatomy import Side
from fabella.flags import Verdict, cannot_wait
from fabella.protocol import load_protocol
from fabella.record import (
    Acuity,
    Answer,
    Context,
    Examination,
    Finding,
    ImageKind,
    Imaging,
    Mechanism,
    Origin,
    Patient,
    Procedure,
    ProcedureName,
    Setting,
    State,
)

PROTOCOL = load_protocol()
RIGHT, LEFT = Side.RIGHT, Side.LEFT
TODAY = date(2025, 6, 30)
MET, OPEN = Verdict.MET, Verdict.CANNOT_BE_EXCLUDED

Found = bool | str | float
Verdicts = dict[tuple[str, Side | None], Verdict]


def finding(sign: str, side: Side | None, what: Found) -> Finding:
    """A finding from True (abnormal, no grade), False (normal), a level or a reading."""
    if isinstance(what, bool):
        return Finding(sign=sign, side=side, state=State.ABNORMAL if what else State.NORMAL)
    if isinstance(what, str):
        rank = PROTOCOL.sign(sign).level(what).rank
        return Finding(sign=sign, side=side, state=State.ABNORMAL if rank else State.NORMAL, level=what)
    measure = PROTOCOL.sign(sign).scale.measure
    assert measure is not None
    assert measure.allows(what)
    return Finding(sign=sign, side=side, value=float(what), unit=measure.unit)


def exam(
    right: Mapping[str, Found] | None = None,
    left: Mapping[str, Found] | None = None,
    *,
    person: Mapping[str, Found] | None = None,
    said: Mapping[str, Answer] | None = None,
    age: float | None = 30,
    days: float | None = None,
    acuity: Acuity | None = None,
    mechanism: Mechanism | None = None,
    setting: Setting | None = None,
    complaint: tuple[Side, ...] | None = (RIGHT,),
    operated: tuple[ProcedureName, int] | None = None,
    imaged: Mapping[ImageKind, tuple[str, ...] | None] | None = None,
    limited: tuple[ImageKind, ...] = (),
) -> Examination:
    """An invented examination; whatever is left out is unknown.

    ``operated`` is what was done to the right knee, and how many days ago; ``imaged`` what was taken of it,
    with the lesions it shows (None: not read yet), and ``limited`` which of that is of limited value.
    """
    for item in said or {}:
        assert PROTOCOL.sign(item).is_history
    sides: tuple[tuple[Side | None, Mapping[str, Found] | None], ...] = (
        (RIGHT, right),
        (LEFT, left),
        (None, person),
    )
    return Examination(
        id="invented",
        origin=Origin.INVENTED,
        examined_on=None if operated is None else TODAY,
        patient=Patient(age_years=age),
        context=Context(
            setting=setting,
            acuity=acuity,
            onset_days=days,
            mechanism=mechanism,
            complaint=complaint,
            procedure=operated
            and Procedure(name=operated[0], sides=(RIGHT,), on=TODAY - timedelta(days=operated[1])),
        ),
        history=said or {},
        imaging=tuple(
            Imaging(image=image, side=RIGHT, shows=shows, limited=image in limited)
            for image, shows in (imaged or {}).items()
        ),
        findings=tuple(
            finding(sign, side, what) for side, found in sides for sign, what in (found or {}).items()
        ),
    )


def verdicts(examination: Examination) -> Verdicts:
    """Every alarm by rule and side."""
    return {(a.rule, a.side): a.verdict for a in cannot_wait(examination, protocol=PROTOCOL)}


def verdict(examination: Examination, rule: str, side: Side | None = RIGHT) -> Verdict | None:
    """What one rule says about one side; None when it is silent."""
    return verdicts(examination).get((rule, side))
