"""What a later visit may take over from an earlier one: how the trouble came about, and what lasts."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fabella.anatomy import Side
from fabella.record import Context, Examination, Key, Part, Value, statements

_OF_THE_INJURY = frozenset(
    (
        "pop_heard", "could_not_continue", "unable_to_weight_bear_at_injury", "swelling_onset_hours",
        "dislocation_reported", "patella_seen_displaced", "fall_or_blunt_trauma", "penetrating_injury",
    )
)  # fmt: skip
"""What happened then and does not change, whatever was answered."""

_OF_THE_KNEE = frozenset(
    ("previous_injury", "previous_surgery", "previous_patellar_dislocation", "knee_prosthesis")
)
_OF_THE_PERSON = frozenset(
    (
        "known_inflammatory_arthritis", "psoriasis", "previous_gout", "diabetes", "immunosuppressed",
        "anticoagulant", "bleeding_disorder", "kidney_disease", "previous_dvt", "cancer_history",
    )
)  # fmt: skip
"""What lasts once it was answered with yes; a no may have changed since, and is asked again."""


def lasting(earlier: Examination, *, day: date, complaint: tuple[Side, ...] | None) -> Examination:
    """Return an examination of a day on which only that stands which lasts from an earlier one.

    How and when the trouble came about, and what was answered of the knee, belong to the same complaint only;
    how it came about is told with the days that have passed since, and left out where nobody knows when.
    """
    context = Context(complaint=complaint, procedure=earlier.context.procedure)
    items, told = _OF_THE_PERSON, frozenset[str]()
    if complaint and complaint == earlier.context.complaint:
        items |= _OF_THE_KNEE
        began, then = earlier.context.onset_days, earlier.examined_on
        if began is not None and then is not None and then <= day:
            told = _OF_THE_INJURY
            context = replace(
                context,
                onset_days=began + (day - then).days,
                mechanism=earlier.context.mechanism,
                mechanism_words=earlier.context.mechanism_words,
            )
    history = {
        item: answer
        for item, answer in earlier.history.items()
        if item in told or (item in items and answer is True)
    }
    return Examination(
        id=earlier.id,
        origin=earlier.origin,
        examined_on=day,
        patient=earlier.patient,
        context=context,
        history=history,
    )


def stated_in(examination: Examination) -> dict[Key, Value]:
    """Return what was taken over, each as a sheet states it; the complaint is stated by the visit itself."""
    return {key: value for key, value in statements(examination).items() if key != _COMPLAINT}


_COMPLAINT = Key(Part.CONTEXT, "complaint")
