"""From a graded examination to what each knee's findings say."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator

from fabella.anatomy import Side
from fabella.evidence.facts import Knowledge
from fabella.grade import Graded, Verdict, levels_of
from fabella.infer.context import Setting
from fabella.infer.evidence_of import ImageRead, KneeEvidence, Observation, plain
from fabella.infer.operated import (
    healing_weeks,
    latest_procedure,
    mended_by,
    only_reviewed,
    operated_lately,
    procedure_is,
    replaced,
)
from fabella.infer.timing import hurt_today
from fabella.protocol import Protocol, Sign, TellsOf
from fabella.record import Examination, ProcedureName, Reason, State

ACUTE_DAYS = 14.0
SUBACUTE_DAYS = 90.0
"""Where acute ends and chronic begins when only the days since onset are known.

Judgement: common practice.
"""

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
    mended = mended_by(examination, side)
    healing = healing_weeks(examination, side, knowledge)
    setting = Setting(
        setting=context.setting.value if context.setting else None,
        acuity=acuity_of(examination),
        age_years=patient.age_years,
        sex=patient.sex.value if patient.sex else None,
        mechanism=context.mechanism.value if context.mechanism and symptomatic and not mended else None,
        hurt_today=symptomatic and not mended and hurt_today(context),
        symptomatic=symptomatic,
        replaced=replaced(examination, side, symptomatic=symptomatic),
        partly_replaced=procedure_is(examination, side, ProcedureName.PARTIAL_KNEE_REPLACEMENT),
        operated_lately=symptomatic and operated_lately(examination, side),
        healing=healing,
        operation=latest_procedure(examination, side) if healing is not None else "",
        mended=mended,
        reviewed=only_reviewed(examination, side, knowledge) if symptomatic else 0.0,
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
            for sign in known  # in their order: in which they were found makes no difference
            if sign in by_sign
            for spoken in _aspects(by_sign[sign], protocol, knowledge)
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
