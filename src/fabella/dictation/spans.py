"""Tiling the text: every character in exactly one span, words of one statement together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.dictation.nodes import Piece
from fabella.dictation.proposal import Proposal
from fabella.dictation.understood import Became, Choice, Span
from fabella.dictation.words import Word, ends_sentence
from fabella.record import Answer, Finding, Imaging


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mark:
    """What some words became."""

    pieces: tuple[Piece, ...]
    became: Became
    findings: tuple[Finding, ...] = ()
    answers: tuple[tuple[str, Answer], ...] = ()
    whole: tuple[Side, ...] = ()
    imaging: tuple[Imaging, ...] = ()
    why: str = ""
    nearest: str = ""
    choices: tuple[Choice, ...] = ()

    @classmethod
    def of(cls, proposal: Proposal) -> Mark:
        """Return the mark of a proposal."""
        became, why = _became(proposal)
        return cls(
            pieces=proposal.pieces,
            became=became,
            findings=tuple(proposal.findings),
            answers=proposal.answers,
            whole=proposal.whole,
            why=why,
            choices=proposal.choices,
        )


def _became(proposal: Proposal) -> tuple[Became, str]:
    if proposal.withdrawn:
        return Became.WITHDRAWN, "taken back"
    if proposal.question:
        return Became.AMBIGUOUS, proposal.question
    if proposal.aside:
        return Became.NOT_UNDERSTOOD, proposal.aside
    if proposal.findings or proposal.whole:
        return Became.FINDING, ""
    return (Became.HISTORY, "") if proposal.answers else (Became.FRAME, proposal.idle)


def tile(text: str, words: Sequence[Word], marks: Sequence[Mark]) -> tuple[Span, ...]:
    """Return spans that cover the text without gap or overlap; what no mark claims is frame."""
    owners: list[list[Mark]] = [[] for _ in words]
    for mark in marks:
        for first, last in mark.pieces:
            for owned in owners[first:last]:
                if mark not in owned:
                    owned.append(mark)
    _fill(owners, words)
    spans: list[Span] = []
    at = 0
    for place, (word, owned) in enumerate(zip(words, owners, strict=True)):
        if place and owned and owned == owners[place - 1]:
            spans[-1] = _span(spans[-1].start, word.end, owned)
        else:
            if word.start > at:
                _frame(spans, at, word.start)
            if owned:
                spans.append(_span(word.start, word.end, owned))
            else:
                _frame(spans, word.start, word.end)
        at = word.end
    if at < len(text):
        _frame(spans, at, len(text))
    return tuple(spans)


def _fill(owners: list[list[Mark]], words: Sequence[Word]) -> None:
    """Give words without an owner between two words of one statement to it, unless a sentence ends there."""
    last: int | None = None
    for place, owned in enumerate(owners):
        if not owned:
            if ends_sentence(words[place]) or words[place].text in {",", ":"}:
                last = None
            continue
        if last is not None and owners[last] == owned:
            for between in range(last + 1, place):
                owners[between] = list(owned)
        last = place


def _frame(spans: list[Span], start: int, end: int) -> None:
    if spans and spans[-1].became is Became.FRAME and not spans[-1].why:
        start = spans.pop().start
    spans.append(Span(start=start, end=end, became=Became.FRAME))


def _span(start: int, end: int, owned: Sequence[Mark]) -> Span:
    """Return the span of words that one or more statements claim; what is open goes first."""
    leading = next((mark for mark in owned if mark.became.is_open), owned[0])
    if leading.became is Became.FRAME:
        told = [mark for mark in owned if mark.became is not Became.FRAME]
        leading = next((mark for mark in (*told, *owned) if mark in told or mark.why), leading)
    return Span(
        start=start,
        end=end,
        became=leading.became,
        findings=tuple(dict.fromkeys(each for mark in owned for each in mark.findings)),
        answers=tuple(dict.fromkeys(each for mark in owned for each in mark.answers)),
        whole=tuple(dict.fromkeys(side for mark in owned for side in mark.whole)),
        imaging=tuple(dict.fromkeys(each for mark in owned for each in mark.imaging)),
        why=leading.why,
        nearest=leading.nearest,
        choices=leading.choices,
    )
