"""A sentence of which nothing was understood is one question, and not one for each of its words."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from fabella.dictation.account import NOTHING_MADE
from fabella.dictation.proposals import NO_SIGN_SAID
from fabella.dictation.strangers import NO_PART, NONE_KNOWN, NOT_KNOWN
from fabella.dictation.understood import Became, Span
from fabella.dictation.words import Word, ends_sentence

NOTHING_UNDERSTOOD = "of this sentence nothing is understood; say it in another way"
_SAYS_LITTLE = {NOTHING_MADE, NO_SIGN_SAID, NO_PART, NONE_KNOWN, NOT_KNOWN}
_UNDERSTOOD = {Became.FINDING, Became.HISTORY, Became.CONTEXT, Became.IMAGE, Became.WITHDRAWN}


def gather_questions(spans: Sequence[Span], words: Sequence[Word]) -> tuple[Span, ...]:
    """Return the spans in which those of a sentence are one, where all that was recognised in it is open.

    A question that offers answers or asks something of its own stays one by itself, and so does a word that
    is like a known one.
    """
    ends = [word.start for word in words if ends_sentence(word)]
    kept: list[Span] = []
    for _, group in groupby(spans, key=lambda span: bisect_left(ends, span.start)):
        kept += _of_sentence(list(group))
    return tuple(kept)


def _of_sentence(spans: Sequence[Span]) -> Iterator[Span]:
    asked = [place for place, span in enumerate(spans) if span.became.is_open]
    helpful = any(spans[at].choices or spans[at].nearest or spans[at].why not in _SAYS_LITTLE for at in asked)
    if len(asked) <= 1 or helpful or any(span.became in _UNDERSTOOD for span in spans):
        yield from spans
        return
    first, last = asked[0], asked[-1]
    reasons = {spans[place].why for place in asked}
    yield from spans[:first]
    yield replace(
        spans[first],
        end=spans[last].end,
        became=Became.NOT_UNDERSTOOD,
        why=reasons.pop() if len(reasons) == 1 else NOTHING_UNDERSTOOD,
    )
    yield from spans[last + 1 :]
