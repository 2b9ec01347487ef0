"""What a later visit may take over from an earlier one: how the trouble came about, and what lasts."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fabella.anatomy import Side
from fabella.protocol import TellsOf, load_protocol
from fabella.record import Answer, Context, Examination, Key, Part, Value, statements


def lasting(earlier: Examination, *, day: date, complaint: tuple[Side, ...] | None) -> Examination:
    """Return an examination of a day on which only that stands which lasts from an earlier one.

    How and when the trouble came about, and what was answered of the knee, belong to the same complaint only;
    how it came about is told with the days that have passed since, and left out where nobody knows when.
    What lasts of a person or a knee lasts when it was answered with yes; a no is asked again.
    """
    context = Context(complaint=complaint, procedure=earlier.context.procedure)
    same_knee = bool(complaint) and complaint == earlier.context.complaint
    days = _days_since_it_began(earlier, day) if same_knee else None
    if days is not None:
        told = earlier.context
        context = replace(
            context, onset_days=days, mechanism=told.mechanism, mechanism_words=told.mechanism_words
        )
    protocol = load_protocol()

    def lasts(item: str, answer: Answer) -> bool:
        sign = protocol.sign(item)
        if sign.tells_of is TellsOf.INJURY:
            return days is not None
        return sign.tells_of is TellsOf.PAST and answer is True and (sign.is_person or same_knee)

    history = {item: answer for item, answer in earlier.history.items() if lasts(item, answer)}
    return Examination(
        id=earlier.id,
        origin=earlier.origin,
        examined_on=day,
        patient=earlier.patient,
        context=context,
        history=history,
    )


def _days_since_it_began(earlier: Examination, day: date) -> float | None:
    began, then = earlier.context.onset_days, earlier.examined_on
    return None if began is None or then is None or then > day else began + (day - then).days


def stated_in(examination: Examination) -> dict[Key, Value]:
    """Return what was taken over, each as a sheet states it; the complaint is stated by the visit itself."""
    return {key: value for key, value in statements(examination).items() if key != _COMPLAINT}


_COMPLAINT = Key(Part.CONTEXT, "complaint")
