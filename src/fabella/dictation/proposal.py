"""What one claim or comparison proposes, once its knee is known."""

from __future__ import annotations

from dataclasses import dataclass, field

from fabella.anatomy import Side
from fabella.dictation.claims import Claim
from fabella.dictation.nodes import Piece
from fabella.dictation.understood import Choice
from fabella.record import Answer, Finding, State


@dataclass(slots=True, eq=False)
class Proposal:
    """What a claim or a comparison proposes, and the words that said it."""

    pieces: tuple[Piece, ...]
    findings: list[Finding] = field(default_factory=list)
    answers: tuple[tuple[str, Answer], ...] = ()
    whole: tuple[Side, ...] = ()
    question: str = ""
    choices: tuple[Choice, ...] = ()
    aside: str = ""
    withdrawn: bool = False
    idle: str = ""
    """Why it has nothing to record, where that is as it should be."""
    claim: Claim | None = None
    rest: bool = False


def is_bad(finding: Finding) -> bool:
    """Say whether a finding is abnormal, also one only measured: a knee that does not come straight."""
    if finding.state is State.ABNORMAL:
        return True
    short = finding.sign == "passive_extension" and (finding.value or 0) < 0
    return short or (finding.sign in {"fixed_flexion", "extensor_lag"} and (finding.value or 0) > 0)
