"""The Thessaly test: at 5 degrees of bend and at 20, and where it hurt."""

from __future__ import annotations

from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.outcome import Judge, Outcome, stated
from fabella.dictation.plain import read_plain
from fabella.dictation.vocabulary import SignWord

_NEARLY_STRAIGHT_DEG = 5.0
_USUAL_BEND_DEG = 20.0


def read_thessaly(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read the test at 5 degrees, or at 20 with a side of the knee that hurt besides."""
    state = judge.state(claim, word)
    if claim.bends_deg == (_NEARLY_STRAIGHT_DEG,):
        return None if state is None else Outcome(findings=stated(["thessaly_5"], state))
    if not claim.compartments or not _is_at_20(claim):
        return None
    part = read_plain(claim, word, judge)
    return replace(part, findings=(*stated(word.to, state), *part.findings)) if state else part


def _is_at_20(claim: Claim) -> bool:
    """Say whether the bend was told: the test is named, not only where it hurt."""
    return any(each in claim.text for each in ("20", "twenty")) or _USUAL_BEND_DEG in claim.bends_deg
