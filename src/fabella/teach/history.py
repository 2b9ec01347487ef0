"""The answers of the history: what is true of the complaint, as far as the patient can tell."""

from __future__ import annotations

from collections.abc import Mapping

from fabella.infer.states import Slot
from fabella.protocol import Protocol, Sign
from fabella.record import Answer, Sex
from fabella.teach.dice import Dice
from fabella.teach.injuries import NO_INJURY
from fabella.teach.knees import DrawnKnee
from fabella.teach.measuring import Tape
from fabella.teach.person import Person
from fabella.teach.unmodelled import rates, shown_level

_CANNOT_SAY = 0.03
"""Chance that a patient cannot answer a question about the knee (judgement)."""
_CHILDBEARING_YEARS = (14, 50)
AT_THE_INJURY = (
    "dislocation_reported",
    "patella_seen_displaced",
    "pop_heard",
    "could_not_continue",
    "unable_to_weight_bear_at_injury",
    "swelling_onset_hours",
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
    low, high = _CHILDBEARING_YEARS
    if person.patient.sex is Sex.FEMALE and low <= (person.patient.age_years or 0) <= high:
        answers["pregnancy"] = dice.happens(0.03, "pregnancy")
    return answers


def beside_the_point(person: Person) -> tuple[str, ...]:
    """Return the questions that make no sense to this patient: they are left unanswered, and say nothing."""
    return AT_THE_INJURY if person.context.mechanism in NO_INJURY else WITHOUT_INJURY


def _answer(sign: Sign, level: int, tape: Tape, dice: Dice) -> Answer | None:
    if not sign.scale.levels:
        return float(max(0, round(tape.measure(sign, None, level).read)))
    if not sign.is_person and dice.happens(_CANNOT_SAY, "cannot say", sign.id):
        return None
    return level > 0
