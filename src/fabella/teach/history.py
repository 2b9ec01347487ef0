"""The answers of the history: what is true of the complaint, as far as the patient can tell."""

from __future__ import annotations

from collections.abc import Mapping

from fabella.infer.states import Slot
from fabella.protocol import Protocol, Sign
from fabella.record import NO_INJURY, Answer, Mechanism, Sex
from fabella.teach.dice import Dice
from fabella.teach.knees import DrawnKnee
from fabella.teach.measuring import Tape
from fabella.teach.person import Person
from fabella.teach.unmodelled import rates, shown_level

_CANNOT_SAY = 0.03
"""Chance that a patient cannot answer a question about the knee (judgement)."""
_CHILDBEARING_YEARS = (14, 50)
_ADULT_YEARS = (18, 200)
_GROWN_YEARS = {
    "kneeling_work": (16, 75),
    "intoxicated_or_reduced_consciousness": (14, 200),
    **dict.fromkeys(
        (
            "previous_gout",
            "cancer_history",
            "active_cancer",
            "previous_dvt",
            "anticoagulant",
            "steroid_or_quinolone",
            "kidney_disease",
            "diabetes",
        ),
        _ADULT_YEARS,
    ),
}
"""Ages at which it is said of work that it is done kneeling, that one has had a few, and what a child has so
seldom that it would mislead: the model draws these with what they go with in grown-ups (judgement: common
practice)."""
_NATIVE = "knee_prosthesis"
"""No practice patient has one: nothing of what they have or show is that of a prosthesis."""
_SAID_BY = {
    Mechanism.PENETRATING: "penetrating_injury",
    **dict.fromkeys(
        (
            Mechanism.DIRECT_BLOW,
            Mechanism.FALL_ON_KNEE,
            Mechanism.VALGUS_FORCE,
            Mechanism.VARUS_FORCE,
            Mechanism.HIGH_ENERGY,
        ),
        "fall_or_blunt_trauma",
    ),
}
"""The question whose yes has been said with how it came about."""
_OF_AN_INJURY = ("fall_or_blunt_trauma", "penetrating_injury")
"""Questions for an injury to which whoever had none says no."""
AT_THE_INJURY = (
    "dislocation_reported",
    "patella_seen_displaced",
    "pop_heard",
    "could_not_continue",
    "unable_to_weight_bear_at_injury",
    "swelling_onset_hours",
    "pain_before_injury",
)
"""Questions about the moment of an injury: whoever had none has nothing to say to them."""
WITHOUT_INJURY = ("maximal_within_a_day",)
"""Questions that suppose that there was none."""


def draw_answers(
    person: Person, knee: DrawnKnee, lesions: tuple[Slot, ...], dice: Dice, *, protocol: Protocol
) -> Mapping[str, Answer | None]:
    """Return the answer to every question: yes, no, a number, or None when the patient cannot say."""
    tape = Tape(person.patient, dice)
    answers: dict[str, Answer | None] = {}
    for sign in protocol.history():
        level = knee.relaxed.get(sign.id)
        if level is None:
            level = shown_level(
                sign.id,
                rates()["history"].get(sign.id, {"rate": 0.0}),
                side=None,
                lesions=lesions,
                mechanism=person.context.mechanism,
                shown=(),
                dice=dice,
            )
        answers[sign.id] = _answer(sign, level, tape, dice)
    for sign in protocol.history():  # whoever was in bed or in plaster says so to the question for both
        if sign.summary_of:
            answers[sign.id] = any(answers[part] for part in sign.summary_of)
    if not answers["swelling_noticed"]:
        answers["swelling_onset_hours"] = None
    for item in beside_the_point(person):
        answers[item] = None
    answers |= _as_told(person)
    low, high = _CHILDBEARING_YEARS
    if person.patient.sex is Sex.FEMALE and low <= (person.patient.age_years or 0) <= high:
        answers["pregnancy"] = dice.happens(0.03, "pregnancy")
    return answers


def _as_told(person: Person) -> dict[str, Answer]:
    """Return the answers that the story or the person has given already."""
    told: dict[str, Answer] = {_NATIVE: False}
    mechanism, age = person.context.mechanism, person.patient.age_years or 0
    if mechanism in NO_INJURY:
        told |= dict.fromkeys(_OF_AN_INJURY, False)
    if mechanism in _SAID_BY:
        told[_SAID_BY[mechanism]] = True
    return told | {item: False for item, (low, high) in _GROWN_YEARS.items() if not low <= age <= high}


def beside_the_point(person: Person) -> tuple[str, ...]:
    """Return the questions that make no sense to this patient: they are left unanswered, and say nothing."""
    return AT_THE_INJURY if person.context.mechanism in NO_INJURY else WITHOUT_INJURY


def _answer(sign: Sign, level: int, tape: Tape, dice: Dice) -> Answer | None:
    if not sign.scale.levels:
        return float(max(0, round(tape.measure(sign, None, level).read)))
    if not sign.is_person and dice.happens(_CANNOT_SAY, "cannot say", sign.id):
        return None
    return level > 0
