"""What became of a dictated text: every character in exactly one span, and what was proposed from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from fabella.anatomy import Side
from fabella.record import Answer, Context, Finding, History, Imaging, Patient


class Became(StrEnum):
    """What a span of the text turned into."""

    FINDING = "finding"
    HISTORY = "history"
    CONTEXT = "context"
    IMAGE = "image"
    """An image that was there, with what it shows."""
    FRAME = "frame"
    """Sides, joining words and blanks: needed to understand the rest, nothing to record."""
    WITHDRAWN = "withdrawn"
    """Taken back by the speaker."""
    AMBIGUOUS = "ambiguous"
    """Understood, but not enough: a question must be answered first."""
    NOT_UNDERSTOOD = "not understood"

    @property
    def is_open(self) -> bool:
        """Whether somebody must look at it."""
        return self in {Became.AMBIGUOUS, Became.NOT_UNDERSTOOD}


class Idle(StrEnum):
    """Why words that were recognised have nothing to record; there is no other reason."""

    HEADING = "it only names what is told after it"
    PUT_RIGHT = "it belongs to a correction or a comparison"
    SIDE = "it only names the knee"
    OPENING = "it only opens what is told after it"
    FILLER = "a word of speech"
    ADDRESSED = "it is said to the patient, or to those who watch"
    SPEAKER = "it tells who speaks, or when"
    OTHERS = "somebody else says it, and nothing of a knee"
    PLACE = "where the sign beside it is, which is the same sign everywhere"
    OF_A_TEST = "it only tells how the test beside it was positive"
    TOLD = "it was told already"
    NOT_WORSE = "it only denies more than was found"
    NO_SIGN = "what was not there has no sign"
    NO_PLACE = "a number that has no place in the record of a knee"
    PLANNED = "it tells what is to be done, not what was found"
    MAY_STILL_BE = "it denies a part of what may still be there"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One possible answer to the question that a span raises, and what it would enter."""

    words: str
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of the text and what it became.

    Parameters
    ----------
    start, end
        Offsets into the text as it was given, the end exclusive.
    findings, answers
        What it proposes; a statement in several pieces repeats it with each.
    whole
        The knees of which it says that they, or their rest, are normal; the findings are what that certainly
        includes.
    imaging
        The images of which it tells, with what they show.
    why
        Why it is open or withdrawn, or why recognised words add nothing (one of ``Idle``); empty otherwise.
    nearest
        The nearest reading of words that were not understood, empty when there is none.
    choices
        Possible answers, when the question has a few.
    """

    start: int
    end: int
    became: Became
    findings: tuple[Finding, ...] = ()
    answers: tuple[tuple[str, Answer], ...] = ()
    whole: tuple[Side, ...] = ()
    imaging: tuple[Imaging, ...] = ()
    why: str = ""
    nearest: str = ""
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """A dictated text and everything understood of it; nothing is recorded before somebody confirms it.

    Parameters
    ----------
    text
        As it was given.
    spans
        In order, without gap or overlap.
    findings
        In the order of the examination, right before left, at most one for each sign and side.
    patient, context
        Only what was plainly said: age, sex, mechanism, days since onset, side of the complaint.
    imaging
        Images that were there, of a knee that was named, with all that they are said to show; their day is
        only in their words.
    """

    text: str
    spans: tuple[Span, ...]
    findings: tuple[Finding, ...] = ()
    history: History = field(default_factory=History)
    patient: Patient = field(default_factory=Patient)
    context: Context = field(default_factory=Context)
    imaging: tuple[Imaging, ...] = ()

    @property
    def open_spans(self) -> tuple[Span, ...]:
        """Return the spans that somebody must look at."""
        return tuple(span for span in self.spans if span.became.is_open)

    @property
    def is_complete(self) -> bool:
        """Whether nothing was left open."""
        return not self.open_spans

    @property
    def said_normal(self) -> tuple[Side, ...]:
        """Return the knees of which it was said as a whole that they, or their rest, are normal."""
        said = {side for span in self.spans for side in span.whole}
        return tuple(side for side in Side if side in said)

    @property
    def of_whole(self) -> frozenset[Finding]:
        """Return the findings that only follow from a knee, or its rest, being said to be normal."""
        return frozenset(finding for span in self.spans if span.whole for finding in span.findings)

    def words(self, span: Span) -> str:
        """Return the words of a span."""
        return self.text[span.start : span.end]
