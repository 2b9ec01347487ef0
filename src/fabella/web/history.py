"""What brought the patient, and what they answered, as lines of a list."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.protocol import Protocol
from fabella.record import SCORES, Context, Examination
from fabella.report.wording import figure, listed, quantity
from fabella.stats.written import spaced


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One question with its answer."""

    name: str
    words: str


_CONDUCT = {
    "consent_given": "Consent",
    "chaperone_offered": "Chaperone offered",
    "pain_asked": "Pain asked before touching",
    "conclusion_hidden": "Conclusion hidden until the examination was finished",
}
_CONTEXT = {"setting": "Setting", "acuity": "Acuity", "mechanism": "Mechanism"}


def answers(examination: Examination, protocol: Protocol) -> tuple[Answered, ...]:
    """Return everything that was answered, courtesies and context first."""
    return tuple(Answered(name=name, words=words) for name, words in _answers(examination, protocol))


def _answers(examination: Examination, protocol: Protocol) -> Iterator[tuple[str, str]]:
    for field, name in _CONDUCT.items():
        if (given := getattr(examination, field)) is not None:
            yield name, "yes" if given else "no"
    yield from _brought(examination.context)
    for item in protocol.history():
        answer = examination.history_item(item.id)
        if isinstance(answer, bool):
            yield item.name, "yes" if answer else "no"
        elif answer is not None and item.scale.measure is not None:
            yield item.name, quantity(answer, item.scale.measure.unit)
    for total in examination.totals:
        side = f" ({total.side} knee)" if total.side else ""
        yield f"{SCORES[total.score].name}{side}", f"{figure(total.value)} points"


def _brought(context: Context) -> Iterator[tuple[str, str]]:
    if context.complaint is not None:
        knees = listed([side.value for side in context.complaint])
        yield "Complaint", f"{knees} knee" if knees else "none"
    for field, name in _CONTEXT.items():
        if (value := getattr(context, field)) is not None:
            yield name, spaced(value.value)
    if context.onset_days is not None:
        days = f"{figure(context.onset_days)} {'day' if context.onset_days == 1 else 'days'} before"
        yield "Began", days if context.onset_days else "on the day itself"
    if context.mechanism_words:
        yield "In their own words", context.mechanism_words
    if context.procedure is not None:
        sides = listed([side.value for side in context.procedure.sides])
        yield (
            "Done before",
            f"{spaced(context.procedure.name)}, {sides} knee, {context.procedure.on}",
        )
