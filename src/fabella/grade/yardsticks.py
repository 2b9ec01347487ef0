"""What a value would be held against, before there is one: the norm for a person's age and sex."""

from __future__ import annotations

from fabella.evidence import Edition
from fabella.grade.norms import choose_norm
from fabella.grade.result import NormUsed
from fabella.grade.thresholds import load_thresholds
from fabella.record import Patient


def norms_for(patient: Patient, *, edition: Edition) -> dict[str, NormUsed]:
    """Return the norm of every sign that has one for this person, by sign; empty when the age is unknown.

    It is the norm that `grade` holds a value of one side against.
    """
    found = {}
    for sign, reading in load_thresholds().readings.items():
        rule = reading.norm
        if rule is None:
            continue
        choice = choose_norm(
            rule.measures, edition=edition, patient=patient, first=rule.first, factor=rule.factor
        )
        if choice.norm is not None:
            found[sign] = choice.norm
    return found
