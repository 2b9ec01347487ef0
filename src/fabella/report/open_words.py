"""What presses and could not be excluded, in words: what is for now at the head, the rest ends the plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.report.cannot_wait import NOW, Urgent
from fabella.report.document import Paragraph, Section
from fabella.report.wording import counted, sentence

NOT_EXCLUDED = "Not excluded"
"""The heading of what is for now and could not be excluded, and the label of the rest."""

_MOST_QUESTIONS = 2


def is_for_now(unsettled: Sequence[Urgent]) -> bool:
    """Say whether anything for now could not be excluded."""
    return any(each.when == NOW for each in unsettled)


def settled_first(unsettled: Sequence[Urgent]) -> Section:
    """Return what is for now: below what rang, above all else, with the first questions that settle it."""
    blocks = tuple(
        Paragraph(
            id=f"unsettled-{each.rule}-{each.where.partition(' ')[0].lower() or 'person'}",
            label=each.place,
            text=f"{sentence(each.name)} {sentence(f'{_questions(each)}{_how_many_more(each)}')}",
        )
        for each in unsettled
        if each.when == NOW
    )
    return Section(id="unsettled", heading=NOT_EXCLUDED, blocks=blocks, urgent=True)


def settled_later(unsettled: Sequence[Urgent], more: int) -> Iterator[Paragraph]:
    """Yield what is not for now, and how many matters stay open besides."""
    told = [f"{each.name} ({_where(each)}: {_questions(each)})" for each in unsettled if each.when != NOW]
    if more and unsettled:
        told.append(f"{'and ' if told else ''}{counted(more, 'further matter')}")
    if told:
        label = f"Also {NOT_EXCLUDED.lower()}" if is_for_now(unsettled) else NOT_EXCLUDED
        yield Paragraph(id="plan-not-excluded", label=label, text=sentence("; ".join(told)))


def _questions(matter: Urgent) -> str:
    return "; ".join(matter.because[:_MOST_QUESTIONS])


def _how_many_more(matter: Urgent) -> str:
    rest = len(matter.because) - _MOST_QUESTIONS
    return f"; and {rest} more" if rest > 0 else ""


def _where(matter: Urgent) -> str:
    return f"{matter.where[:1].lower()}{matter.where[1:]}" if matter.where else "the patient"
