"""Whether a movement hurt, where its words or its note say so."""

from __future__ import annotations

import re
from typing import Final

from fabella.audit.phrase import NEGATED, Drafts, Phrase, one
from fabella.audit.values import ABNORMAL, NORMAL

_HURTS: Final = re.compile(r"\b(?:pain|pains|painful\w*|discomfort|uncomfortable|sore|hurts?|hurting)\b")
_PAINLESS: Final = re.compile(
    r"\bpainless\w*\b|\b(?:no|without|nil)(?: (?!limit|restrict)\w+){0,2} (?:pain|discomfort)\b"
)
_AT_THE_END: Final = re.compile(r"\b(?:end|ends|extremes?|terminal|deep|full|maximal|last) (?:\w+ ){0,2}")


def hurting(phrase: Phrase, sign: str) -> Drafts:
    """Return whether a movement in one direction hurt, as the sign for its pain; nothing when unsaid."""
    if _PAINLESS.search(phrase.everything):
        return one(sign, NORMAL)
    found = _HURTS.search(phrase.everything)
    painful = found is not None and NEGATED.search(phrase.everything[: found.start()]) is None
    return one(sign, ABNORMAL) if painful else ()


def hurting_range(phrase: Phrase) -> Drafts:
    """Return the same of a whole range: painless it hurt nowhere; pain at its end is that of flexion."""
    if _PAINLESS.search(phrase.everything):
        return tuple(
            draft
            for sign in ("flexion_pain", "forced_extension_pain", "motion_pain_any")
            for draft in one(sign, NORMAL)
        )
    ends = _AT_THE_END.search(phrase.everything) and "exten" not in phrase.everything
    return hurting(phrase, "flexion_pain") if ends else ()
