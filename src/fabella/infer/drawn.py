"""From the model to whole examinations: what an examiner of drawn knees would have written down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fabella.anatomy import Side, other
from fabella.errors import InputError, Problem, Problems
from fabella.grade import levels_of
from fabella.infer.context import PROSTHESIS, Setting
from fabella.infer.findings import acuity_of
from fabella.infer.model import Model
from fabella.infer.simulate import UNTESTABLE, Simulated, Slots, simulate_knees
from fabella.infer.states import Slot
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Answer, Context, Examination, Finding, Origin, Patient, Reason, State
from fabella.record.contradictions import contradictions

BLOCK = 500
"""Examinations drawn at a time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A drawn examination, and what no examiner knows: the lesions of each knee, and whether it guarded."""

    examination: Examination
    lesions: Mapping[Side, tuple[Slot, ...]]
    guarding: Mapping[Side, bool]


def draw_examinations(
    model: Model,
    signs: Sequence[Sign],
    n: int,
    rng: np.random.Generator,
    *,
    patient: Patient,
    context: Context,
    lesions: Slots = (),
    name: str = "simulated",
) -> Iterator[Drawn]:
    """Draw examinations of both knees, one of which is complained of.

    Parameters
    ----------
    signs
        What is asked and examined, see `drawable`. A sign that is only measured is called normal or abnormal.
    n, rng
        How many, at least 1, and the dice.
    patient, context
        Whom and in which circumstances; what is None is left unknown. The first knee of the complaint, else
        a drawn one, is complained of; the other is drawn from knees without a complaint.
    lesions
        (lesion, level or "" for any) pairs that the knee complained of must have; the rest of it is drawn.
        It is a total prosthesis when only such a knee has one of them.
    name
        The first part of every id.

    Raises
    ------
    InputError
        When no knee in these circumstances can have the lesions.
    """
    ordered = sorted(signs, key=lambda sign: sign.order)
    setting = Setting(
        setting=context.setting and context.setting.value,
        acuity=acuity_of(Examination(id=name, origin=Origin.SIMULATED, context=context)),
        age_years=patient.age_years,
        sex=patient.sex and patient.sex.value,
        mechanism=context.mechanism and context.mechanism.value,
        replaced=not model.knowledge.of_prostheses.isdisjoint(lesion for lesion, _ in lesions),
    )
    quiet = replace(setting, mechanism=None, symptomatic=False, replaced=False)
    hands = [sign for sign in ordered if not (sign.is_person or sign.is_history)]
    for first in range(0, n, BLOCK):
        count = min(BLOCK, n - first)
        affected = _knees(model, setting, ordered, count, rng, lesions=lesions)
        sound = _knees(model, quiet, hands, count, rng)
        for i, right in enumerate(rng.random(count) < 0.5):  # noqa: PLR2004  a fair coin
            drawn_side = Side.RIGHT if right else Side.LEFT
            side = context.complained_of[0] if context.complained_of else drawn_side
            knees = {other(side): sound, side: affected}
            yield Drawn(
                examination=Examination(
                    id=f"{name}-{first + i + 1}",
                    origin=Origin.SIMULATED,
                    patient=patient,
                    context=replace(context, complaint=(side,)),
                    history=_history(ordered, affected, i, replaced=setting.replaced),
                    findings=_consistent(_findings(ordered, knees, side, i)),
                ),
                lesions={each: model.states.names(int(knee.state[i])) for each, knee in knees.items()},
                guarding={each: bool(knee.guarding[i]) for each, knee in knees.items()},
            )


def drawable(
    model: Model, protocol: Protocol, names: Iterable[str] | None, *, routine: bool = False
) -> list[Sign]:
    """Return the signs of these names that can be drawn.

    None takes all but summaries, or with ``routine`` those that belong to the examination of every knee.

    Raises `InputError` naming every sign that does not exist, means nothing to the model, or is answered with
    a number.
    """
    known = model.knowledge.indicators
    if names is None:
        found = [protocol.sign(each) for each in known if each in protocol]
        return [
            sign
            for sign in found
            if not (sign.is_summary or sign.kind is Kind.COURTESY or _is_number(sign))
            and sign.id not in model.knowledge.aspects
            and (sign.routine or not routine)
        ]
    problems = Problems()
    signs: list[Sign] = []
    for name in dict.fromkeys(names):
        try:
            sign = protocol.sign(name)
        except InputError as error:
            problems += error.problems
            continue
        if name not in known:
            problems.append(_not_drawn(name, "means nothing to the model of the knee"))
        elif _is_number(sign):
            problems.append(_not_drawn(name, "is answered with a number, which is not drawn"))
        elif name in model.knowledge.aspects:
            problems.append(_not_drawn(name, "has levels that are no degrees of one thing"))
        else:
            signs.append(sign)
    problems.raise_any()
    return signs


def _not_drawn(name: str, says: str) -> Problem:
    return Problem(place="sign", value=name, says=says, remedy="leave it out")


def _is_number(sign: Sign) -> bool:
    return sign.is_history and not sign.scale.levels


def _knees(
    model: Model,
    setting: Setting,
    signs: Sequence[Sign],
    count: int,
    rng: np.random.Generator,
    *,
    lesions: Slots = (),
) -> Simulated:
    grades = {sign.id: len(levels_of(sign)) - 1 for sign in signs}
    stress = frozenset(sign.id for sign in signs if sign.stress_test)
    return simulate_knees(model, setting, grades, count, rng, lesions=lesions, stress_tests=stress)


def _history(signs: Iterable[Sign], knee: Simulated, i: int, *, replaced: bool) -> dict[str, Answer]:
    """Return what is answered: whether it is a prosthesis is known, all else is drawn."""
    drawn: dict[str, Answer] = {sign.id: bool(knee.reports[sign.id][i]) for sign in signs if sign.is_history}
    if PROSTHESIS in drawn or replaced:
        drawn[PROSTHESIS] = replaced
    return drawn


def _findings(
    signs: Iterable[Sign], knees: Mapping[Side, Simulated], affected: Side, i: int
) -> Iterator[Finding]:
    """Yield what is written down, sign by sign, the sound side first."""
    for sign in signs:
        if sign.is_person and not sign.is_history:
            yield _finding(sign, None, int(knees[affected].reports[sign.id][i]))
        elif not sign.is_history:
            for side, knee in knees.items():
                yield _finding(sign, side, int(knee.reports[sign.id][i]))


def _finding(sign: Sign, side: Side | None, report: int) -> Finding:
    if report == UNTESTABLE:
        return Finding(sign=sign.id, side=side, state=State.UNTESTABLE, reason=Reason.GUARDING)
    state = State.ABNORMAL if report else State.NORMAL
    level = levels_of(sign)[report] if sign.scale.levels else None
    return Finding(sign=sign.id, side=side, state=state, level=level)


def _consistent(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Leave out the later of two findings that no examiner would write down together."""
    placed = dict(enumerate(findings))
    while clash := next(contradictions(placed), None):
        del placed[clash.later]
    return tuple(placed.values())
