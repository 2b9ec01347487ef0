"""Patient and history in a line or two."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fabella.anatomy import Side
from fabella.protocol import Protocol, Sign
from fabella.record import NO_INJURY, Answer, Examination, Mechanism, Patient, Sex
from fabella.report.phrases import load_phrases
from fabella.report.recovery_words import PROCEDURES
from fabella.report.time_words import time_since
from fabella.report.wording import (
    NO_BREAK,
    counted,
    figure,
    listed,
    lowered,
    quantity,
    sentence,
    written_date,
)

_MECHANISMS = {
    Mechanism.INSIDIOUS: "gradual onset",
    Mechanism.OVERUSE: "overuse",
    Mechanism.TWIST: "a twisting injury",
    Mechanism.VALGUS_FORCE: "a valgus injury",
    Mechanism.VARUS_FORCE: "a varus injury",
    Mechanism.HYPEREXTENSION: "a hyperextension injury",
    Mechanism.DIRECT_BLOW: "a direct blow",
    Mechanism.FALL_ON_KNEE: "a fall on the knee",
    Mechanism.FORCED_QUADRICEPS: "a forced contraction of the quadriceps",
    Mechanism.SQUAT_OR_KNEEL: "squatting or kneeling",
    Mechanism.HIGH_ENERGY: "a high-energy injury",
    Mechanism.MINOR_FALL: "a minor fall",
    Mechanism.PENETRATING: "a penetrating injury",
}

_IN_MONTHS_BELOW = 2

_SAYS_ITSELF = {
    Mechanism.FALL_ON_KNEE: "fall_or_blunt_trauma",
    Mechanism.DIRECT_BLOW: "fall_or_blunt_trauma",
    Mechanism.MINOR_FALL: "fall_or_blunt_trauma",
    Mechanism.PENETRATING: "penetrating_injury",
}
"""The question that a mechanism has answered with yes, so that nobody is told twice of a fall."""


def patient_words(patient: Patient) -> str:
    """Return label, age and sex as far as known, such as ``Patient A, 24 years, male``."""
    age = "" if patient.age_years is None else _age(patient.age_years)
    sex = "" if patient.sex is None else {Sex.FEMALE: "female", Sex.MALE: "male"}[patient.sex]
    return ", ".join(filter(None, (patient.label or "Patient", age, sex)))


def _age(years: float) -> str:
    """Return an age: in months below two years, as small children are told of."""
    if years >= _IN_MONTHS_BELOW:
        return f"{figure(years)}{NO_BREAK}years"
    months = round(12 * years)
    return counted(months, "month").replace(" ", NO_BREAK) if months else "less than a month"


def history_words(examination: Examination, protocol: Protocol) -> str:
    """Return complaint, onset, mechanism, what was done to the knee, and the answers given.

    What was not asked is not mentioned.
    """
    context = examination.context
    complaint = _complaint(context.complaint)
    onset = "" if context.onset_days is None else time_since(context.onset_days)
    acuity = "" if context.acuity is None else f"{context.acuity}"
    how = "" if context.mechanism is None else f"after {_MECHANISMS[context.mechanism]}"
    if context.mechanism in NO_INJURY:
        how = _MECHANISMS[context.mechanism]
    opening = sentence(", ".join(filter(None, (complaint, onset, acuity, how))))
    words = f"In the patient's words: “{context.mechanism_words}”" if context.mechanism_words else ""
    said = _told_by_itself(examination)
    asked = {item: answer for item, answer in examination.history.items() if item not in said or not answer}
    before = {item: answer for item, answer in asked.items() if item in load_phrases().background}
    present = _answers({item: asked[item] for item in asked if item not in before}, protocol, yes=True)
    background = _answers(before, protocol, yes=True)
    absent = _answers(examination.history, protocol, yes=False)
    told = [
        opening,
        sentence(_procedure(examination)),
        sentence(words),
        sentence(_one_by_one(present)),
        sentence(f"background: {_one_by_one(background)}") if background else "",
        sentence(f"no {listed(absent, last='or')}") if absent else "",
    ]
    return " ".join(filter(None, told))


def _one_by_one(answers: list[str]) -> str:
    """Return answers as a list; semicolons part them where an "or" stands beside its "and"."""
    return "; ".join(answers) if any(" or " in each for each in answers[-2:]) else listed(answers)


def _told_by_itself(examination: Examination) -> frozenset[str]:
    """Return the questions whose yes the mechanism, or the replacement of this knee, has told."""
    context = examination.context
    done, of = context.procedure, context.complaint or ()
    replaced = done is not None and done.name.is_replacement and bool(of) and set(of) <= set(done.sides)
    told = {"knee_prosthesis"} if replaced else set()
    if context.mechanism in _SAYS_ITSELF:
        told.add(_SAYS_ITSELF[context.mechanism])
    return frozenset(told)


def _complaint(sides: tuple[Side, ...] | None) -> str:
    """Return which knees are complained of; without any, that neither is, or no more than that one is."""
    if not sides:
        return "knee complaint, side not stated" if sides is None else "no complaint of either knee"
    return _knees(sides)


def _knees(sides: tuple[Side, ...]) -> str:
    return f"{listed([str(side) for side in sides])} {'knees' if len(sides) > 1 else 'knee'}"


def _procedure(examination: Examination) -> str:
    """Return what was done to which knee and when: ``arthroscopy, right knee, on … (8 weeks ago)``."""
    done = examination.context.procedure
    if done is None:
        return ""
    day = examination.examined_on
    ago = "" if day is None else f" ({time_since((day - done.on).days)} ago)"
    return (
        f"{PROCEDURES[done.name].removeprefix('the ')}, {_knees(done.sides)}, on {written_date(done.on)}{ago}"
    )


def _answers(history: Mapping[str, Answer], protocol: Protocol, *, yes: bool) -> list[str]:
    """Items answered yes (numbers among them) or no, in the order in which they are asked."""
    return list(
        _said(sorted(history, key=lambda item: protocol.sign(item).order), history, protocol, yes=yes)
    )


def _said(
    items: Iterable[str], history: Mapping[str, Answer], protocol: Protocol, *, yes: bool
) -> Iterable[str]:
    phrases = load_phrases()
    for item in items:
        answer, sign = history[item], protocol.sign(item)
        if item == "swelling_noticed" and "swelling_onset_hours" in history:
            continue  # the hours say that there was a swelling
        named = phrases.history.get(item, lowered(sign.name))
        if answer is False or (answer == 0 and item in phrases.denied):
            yield from () if yes else phrases.denied.get(item, (named,))
        elif yes:
            yield named if answer is True else number_told(sign, answer)


def number_told(sign: Sign, number: float) -> str:
    """Return an answer that is a number as it is dictated, such as ``swelling within 2 hours``."""
    phrases = load_phrases()
    if not number and sign.id in phrases.denied:
        return f"no {listed(phrases.denied[sign.id], last='or')}"
    unit = "" if sign.scale.measure is None else sign.scale.measure.unit.value
    words = phrases.history.get(sign.id, f"{lowered(sign.name)} {{}}")
    return words.format(quantity(number, unit))
