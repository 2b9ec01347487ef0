"""From a graded examination to what each knee's findings say."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator

from fabella.anatomy import Side
from fabella.evidence.knowledge import Knowledge
from fabella.grade import Graded, Verdict, levels_of
from fabella.infer.context import PROSTHESIS, Setting
from fabella.infer.evidence_of import ImageRead, KneeEvidence, Observation, plain
from fabella.infer.healing import heals_within_weeks
from fabella.infer.timing import hurt_today
from fabella.protocol import Protocol, Sign, TellsOf
from fabella.record import Examination, ProcedureName, Reason, State

ACUTE_DAYS = 14.0
SUBACUTE_DAYS = 90.0
"""Where acute ends and chronic begins when only the days since onset are known.

Judgement: common practice.
"""

LATELY_DAYS = 365
"""How long after an operation what follows from it is commoner: stiffness, infection (judgement)."""
_GUARDED = (Reason.PAIN, Reason.GUARDING)
_NOT_BEYOND_NORMAL = (Verdict.NORMAL, Verdict.WITHIN_NORMAL_LIMITS, Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR)


def knees(
    examination: Examination, graded: tuple[Graded, ...], *, protocol: Protocol, knowledge: Knowledge
) -> dict[Side, KneeEvidence]:
    """Return the evidence about each knee.

    The knees complained of carry the history and the findings of the whole person; when it is not stated
    whether there is a complaint, those with an abnormal finding do, or both when there is none. When nobody
    complains, what is found and told of the whole person concerns both, and what is told of a knee neither.
    """
    complaint = symptomatic_sides(examination, graded)
    return {
        side: _knee(
            examination, graded, side, symptomatic=side in complaint, protocol=protocol, knowledge=knowledge
        )
        for side in Side
    }


def symptomatic_sides(examination: Examination, graded: tuple[Graded, ...]) -> tuple[Side, ...]:
    """Return the knees to be explained; none when nobody complains."""
    if examination.context.complaint is not None:
        return examination.context.complaint
    abnormal = tuple(
        side
        for side in Side
        if any(g.side is side and g.verdict in (Verdict.ABNORMAL, Verdict.MARKEDLY_ABNORMAL) for g in graded)
    )
    return abnormal or tuple(Side)


def acuity_of(examination: Examination) -> str | None:
    """Return the stated acuity, or the one that the days since onset suggest; None when neither is known."""
    context = examination.context
    if context.acuity is not None:
        return context.acuity.value
    if context.onset_days is None:
        return None
    if context.onset_days <= ACUTE_DAYS:
        return "acute"
    return "subacute" if context.onset_days <= SUBACUTE_DAYS else "chronic"


def _knee(
    examination: Examination,
    graded: tuple[Graded, ...],
    side: Side,
    *,
    symptomatic: bool,
    protocol: Protocol,
    knowledge: Knowledge,
) -> KneeEvidence:
    context, patient = examination.context, examination.patient
    mended = _mended(examination, side)
    healing = _healing(examination, side, knowledge)
    setting = Setting(
        setting=context.setting.value if context.setting else None,
        acuity=acuity_of(examination),
        age_years=patient.age_years,
        sex=patient.sex.value if patient.sex else None,
        mechanism=context.mechanism.value if context.mechanism and symptomatic and not mended else None,
        hurt_today=symptomatic and not mended and hurt_today(context),
        symptomatic=symptomatic,
        replaced=_replaced(examination, side, symptomatic=symptomatic),
        partly_replaced=_procedure_is(examination, side, ProcedureName.PARTIAL_KNEE_REPLACEMENT),
        operated_lately=symptomatic and _operated_lately(examination, side),
        healing=healing,
        operation=_operation(examination, side) if healing is not None else "",
        mended=mended,
    )
    known = knowledge.indicators
    of_person = symptomatic or context.without_complaint
    own = [g for g in graded if g.side is side or (g.side is None and of_person)]
    answers = tuple(_answers(examination, protocol)) if of_person else ()
    of_knee = () if symptomatic else [each for each in answers if not protocol.sign(each.sign).is_person]
    said = [*_observed(own, protocol), *(each for each in answers if each not in of_knee)]
    telling = {
        each.sign: each
        for each in said
        if each.sign not in setting.silent
        and not (mended and protocol.sign(each.sign).tells_of is TellsOf.INJURY)
    }
    by_sign = _each_thing_once(telling, protocol, known)
    return KneeEvidence(
        setting=setting,
        observations=tuple(
            spoken
            for sign, observation in by_sign.items()
            if sign in known
            for spoken in _aspects(observation, protocol, knowledge)
        ),
        images=tuple(
            ImageRead(image=each.image.value, shows=frozenset(each.shows))
            for each in examination.images_of(side)
            if each.shows is not None
        ),
        guarded=any(_guarding_seen(g, protocol.sign(g.sign)) for g in own),
        unused=(
            *(sign for sign in by_sign if sign not in known),
            *(each.sign for each in said if each.sign in setting.void),
            *(each.sign for each in of_knee if each.abnormal),
        ),
    )


def _replaced(examination: Examination, side: Side, *, symptomatic: bool) -> bool:
    """Say whether the knee is a total prosthesis: by what was done to it, or by the answer of the patient.

    The answer is about the knee complained of and means a total one, as most are (common practice), unless
    it is known that only a part was replaced.
    """
    done = examination.procedure_of(side)
    if done is not None and done.name.is_replacement:
        return done.name is ProcedureName.TOTAL_KNEE_REPLACEMENT
    return symptomatic and examination.history.get(PROSTHESIS) is True


def _procedure_is(examination: Examination, side: Side, name: ProcedureName) -> bool:
    done = examination.procedure_of(side)
    return done is not None and done.name is name


def _operated_lately(examination: Examination, side: Side) -> bool:
    """Say whether the record has an operation on this knee in the year before the examination."""
    days = examination.days_since_operation(side)
    return days is not None and days <= LATELY_DAYS


def _mended(examination: Examination, side: Side) -> str:
    """Return the operation that was done on a knee since its trouble began, empty when there was none.

    Where nobody knows when that was, the operation is taken to have been for it.
    """
    done = examination.procedure_of(side)
    return "" if done is None or examination.operated_since_onset(side) is False else done.name.value


def _operation(examination: Examination, side: Side) -> str:
    done = examination.procedure_of(side)
    return "" if done is None else done.name.value


def _healing(examination: Examination, side: Side, knowledge: Knowledge) -> int | None:
    done, days = examination.procedure_of(side), examination.days_since_operation(side)
    return heals_within_weeks(
        days,
        small=done is not None and done.name.is_small,
        operation=_operation(examination, side),
        knowledge=knowledge,
    )


def _observed(graded: Iterable[Graded], protocol: Protocol) -> Iterator[Observation]:
    for each in graded:
        weights = _weights(each)
        if max(weights) > min(weights):
            name = each.stands_for or protocol.sign(each.sign).id
            yield Observation(sign=name, weights=weights)


def _aspects(observation: Observation, protocol: Protocol, knowledge: Knowledge) -> Iterator[Observation]:
    """Yield the finding, or what it says of each aspect when its levels are not degrees of one thing."""
    sign = observation.sign
    if sign not in knowledge.aspects:
        yield observation
        return
    weight = dict(zip(levels_of(protocol.sign(sign)), observation.weights, strict=True))
    for aspect, says in knowledge.aspects[sign].items():
        yes = max(weight[level] for level in says)
        no = max(own for level, own in weight.items() if level not in says)
        if yes != no:
            yield Observation(sign=aspect, weights=(no, yes), aspect_of=sign)


def _each_thing_once(
    said: dict[str, Observation], protocol: Protocol, known: Container[str]
) -> dict[str, Observation]:
    """Drop a summary beside its parts.

    A normal one that the model has no meaning for is read as its parts.
    """
    once = dict(said)
    for name, observation in said.items():
        parts = protocol.sign(name).summary_of
        if not parts or (name in known and not any(part in said for part in parts)):
            continue
        del once[name]
        if not observation.abnormal:
            for part in parts:
                once.setdefault(part, plain(part, 0))
        elif not any(part in said and said[part].abnormal for part in parts):
            once[name] = observation
    return once


def _weights(graded: Graded) -> tuple[float, ...]:
    """Return how compatible the finding is with each level.

    All are equal when nothing was learned.
    """
    weights = graded.level_weights
    levels = len(weights)
    if graded.finding.state in (State.UNTESTABLE, State.NOT_EXAMINED):
        return (1.0,) * levels
    if weights[0] < 1 and graded.verdict in _NOT_BEYOND_NORMAL:
        return (1.0, *(0.0,) * (levels - 1))
    if (
        graded.finding.level is None
        and graded.finding.value is None
        and graded.finding.state is State.ABNORMAL
    ):
        return (0.0, *(1.0,) * (levels - 1))
    return weights


def _answers(examination: Examination, protocol: Protocol) -> Iterator[Observation]:
    """Yield the yes-and-no answers of the history; numbers come graded."""
    for item, answer in examination.history.items():
        if isinstance(answer, bool):
            grades = max(len(protocol.sign(item).scale.levels) - 1, 1)
            yes = (0.0, *(1.0,) * grades)
            yield Observation(sign=item, weights=yes if answer else (1.0, *(0.0,) * grades))


def _guarding_seen(graded: Graded, sign: Sign) -> bool:
    finding = graded.finding
    return sign.stress_test and finding.state is State.UNTESTABLE and finding.reason in _GUARDED
