"""The sign that a result without one implies: "stable" the ligaments, "0 to 140" the range."""

from __future__ import annotations

from fabella.dictation.claims import Claim
from fabella.dictation.nodes import Head
from fabella.dictation.vocabulary import Lexicon, SignWord

BESIDE_UNKNOWN = "it stands beside words that were not understood"
A_BEND_DEG = 45.0
"""A range without a name that ends beyond this can only be that of the knee: a judgement."""


def imply(claim: Claim, lexicon: Lexicon, before: Claim | None) -> None:
    """Give a claim without a sign the one that it implies: "stable" the ligaments, "0 to 140" the range."""
    if claim.stretch is not None and claim.stretch.unit in {"", "deg"} and claim.stretch.high >= A_BEND_DEG:
        claim.head, claim.carried = Head(word=lexicon.range, pieces=()), True
        return
    if not any(said.implies for said, _ in claim.describing):
        return
    if claim.doubt_before and not claim.knee:
        claim.ask = claim.ask or BESIDE_UNKNOWN  # "xyz stable"
    tender = before is not None and before.sentence == claim.sentence and _is_at_ligament(before)
    of_one = claim.bends_deg or claim.compartments or tender
    word: SignWord = lexicon.stress if of_one else lexicon.ligaments
    claim.head, claim.carried = Head(word=word, pieces=()), True


def _is_at_ligament(claim: Claim) -> bool:
    """Say whether a claim is that of a tender ligament: "MCL tender but stable" means that ligament."""
    sites = claim.head.sites if claim.head is not None else ()
    return bool(sites) and set(sites) <= {"tenderness_mcl", "tenderness_lcl"}
