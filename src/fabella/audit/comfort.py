"""Whether a movement hurt, where its words or its note say so."""

from __future__ import annotations

import re
from typing import Final

from fabella.audit.phrase import NEGATED, Draft, Drafts, Phrase, one
from fabella.audit.values import ABNORMAL, NORMAL
from fabella.record import State

_HURTS: Final = re.compile(r"\b(?:pain|pains|painful\w*|discomfort|uncomfortable|sore|hurts?|hurting)\b")
_PAINLESS: Final = re.compile(
    r"\bpainless\w*\b|\b(?:no|without|nil)(?: (?!limit|restrict)\w+){0,2} (?:pain|discomfort)\b"
)
_ANY_MOVEMENT: Final = re.compile(
    r"(?<![a-z])(?:any|slight\w*|least|minimal|all|every|throughout|sever\w+|extreme\w*|exquisite\w*|marked\w*"
    r"|intense|excruciating|unable|cannot)(?![a-z])"
)
_BENDS: Final = re.compile(r"\b(?:bend\w*|bent|flex\w*)\b")
_STRAIGHTENS: Final = re.compile(r"\b(?:straight\w*|exten\w+)\b")
_AT_THE_END: Final = re.compile(r"\b(?:end|ends|extremes?|terminal|deep|full|maximal|last) (?:\w+ ){0,2}")


_NOWHERE: Final = tuple(
    Draft(sign, NORMAL) for sign in ("flexion_pain", "forced_extension_pain", "motion_pain_any")
)


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
        return _NOWHERE
    ends = _AT_THE_END.search(phrase.everything) and "exten" not in phrase.everything
    return hurting(phrase, "flexion_pain") if ends else ()


def reads_resisted(phrase: Phrase, sign: str) -> Drafts:
    """Read a movement against resistance: able and strong, it may hurt all the same."""
    return hurting(phrase, sign) or one(sign, phrase.words(sign))


def reads_motion_pain(phrase: Phrase) -> Drafts:
    """Read pain on moving: at the slightest movement, at an end that is named, or at that of flexion.

    Who hurts somewhere in the bend hurts at its end (judgement).
    """
    reading = phrase.words("motion_pain_any")
    if reading is None or reading.state is not State.ABNORMAL:
        return _NOWHERE if reading is not None and reading.state is State.NORMAL else ()
    if phrase.mentions(_ANY_MOVEMENT.pattern):
        return one("motion_pain_any", reading)
    straightens, bends = _STRAIGHTENS.search(phrase.everything), _BENDS.search(phrase.everything)
    ends = one("forced_extension_pain", ABNORMAL) if straightens else ()
    return ends if ends and not bends else (*one("flexion_pain", ABNORMAL), *ends)
