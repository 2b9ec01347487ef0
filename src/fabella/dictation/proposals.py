"""From claims to findings of each knee: sides joined, questions put, whole knees filled in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.conflicts import AS_SAID, Conflicts
from fabella.dictation.implied import BESIDE_UNKNOWN
from fabella.dictation.looked import ONLY_LOOKED
from fabella.dictation.nodes import Turn
from fabella.dictation.outcome import Outcome
from fabella.dictation.proposal import Proposal, is_bad
from fabella.dictation.same import leave_out_exceptions, nothing_of_those, same_as
from fabella.dictation.sides import WHICH_KNEE
from fabella.dictation.stray import PRESENT_OR_ABSENT
from fabella.dictation.understood import Choice
from fabella.dictation.vocabulary import Class, Lexicon, SignWord, Tag
from fabella.dictation.whole import as_named, whole_knee
from fabella.protocol import Protocol
from fabella.record import Finding, State

NOTHING_MADE = "what does it say of the knee?"
NO_SIGN_SAID = "it is not said of which sign"
LOOKED_AT = "only looked at, or examined?"
NOT_THE_SAME = "similar is not the same: what is it?"
_BOTH = (Side.RIGHT, Side.LEFT)


@dataclass(frozen=True, slots=True)
class Proposals:
    """Makes the proposals of one text."""

    protocol: Protocol
    lexicon: Lexicon

    def of(self, events: Sequence[Placed], outcomes: dict[int, Outcome]) -> list[Proposal]:
        """Return a proposal for every claim and comparison, in order; conflicting ones carry a question."""
        found: list[Proposal] = []
        alike: list[tuple[Proposal, int]] = []
        for place, placed in enumerate(events):
            event = placed.event
            if isinstance(event, Claim):
                found.append(self._of_claim(event, outcomes.get(id(event))))
            elif isinstance(event, Turn) and event.kind == "same":
                found.append(same_as(event, events, place, found, self.protocol))
                alike.append((found[-1], placed.sentence))
            elif isinstance(event, Turn) and event.kind == "similar":
                found.append(Proposal(pieces=event.pieces, question=NOT_THE_SAME))
        leave_out_exceptions(alike, found, self.protocol)
        nothing_of_those(found)
        Conflicts(self.protocol, self.lexicon).settle(found)
        _doubt_after_normal(found)
        for proposal in found:
            if proposal.whole:
                proposal.findings = [
                    each for side in proposal.whole for each in self._normal(proposal, side, found)
                ]
        return found

    def _normal(self, proposal: Proposal, side: Side, found: Sequence[Proposal]) -> Iterator[Finding]:
        claim = proposal.claim
        if claim is None or not claim.of_named:
            return whole_knee(side, found, self.protocol, self.lexicon)
        told = [each for each in found if each.claim is not None and each.claim.sentence == claim.sentence]
        return as_named(side, told)

    # -------------------------------------------------------------- one claim

    def _of_claim(self, claim: Claim, outcome: Outcome | None) -> Proposal:
        proposal = Proposal(pieces=claim.pieces, withdrawn=claim.withdrawn, claim=claim, rest=claim.rest)
        if claim.withdrawn or claim.subject:
            return proposal
        if claim.whole:
            _propose_whole(proposal, claim)
        elif outcome is None:
            _leave_over(proposal, claim)
        else:
            self._propose(proposal, claim, outcome)
        return proposal

    def _propose(self, proposal: Proposal, claim: Claim, outcome: Outcome) -> None:
        """Propose what a claim about a sign amounts to, or ask where that or its knee is open."""
        proposal.aside, proposal.idle = outcome.aside, outcome.idle
        sides = self._sides(claim, outcome)
        asks = [each for each in (claim.ask, outcome.question) if each]
        if outcome.is_empty and not asks:
            asks = [NOTHING_MADE]
        if not sides and self._needs_knee(claim, outcome):
            asks.insert(0, WHICH_KNEE)
        proposal.question = " ".join(dict.fromkeys(asks))
        if proposal.question:
            proposal.choices = self._choices(claim, outcome, sides)
        else:
            proposal.findings, proposal.answers = list(self._on(outcome.findings, sides)), outcome.answers

    def _needs_knee(self, claim: Claim, outcome: Outcome) -> bool:
        """Say whether something was said of a knee; a question about the history is of none."""
        proposed = [*outcome.findings, *(each for _, findings in outcome.choices for each in findings)]
        if proposed:
            return any(not self.protocol.sign(each.sign).is_person for each in proposed)
        told = claim.word is not None and self._is_told(claim.word)
        return bool(outcome.question) and not told

    def _sides(self, claim: Claim, outcome: Outcome) -> tuple[Side, ...]:
        """Return the knees of a claim; "hips" are both, and so is a normal gait that nobody gave a side."""
        if claim.head is None:
            return claim.sides
        word = claim.head.word
        plural = word.both or (word.plural and claim.head.plural)
        if _is_alike_in_number(claim):
            return _BOTH
        if claim.sides:
            return _BOTH if plural and claim.inner is None else claim.sides
        normal = all(each.state is State.NORMAL for each in outcome.findings)
        if normal and _is_alike(claim):
            return _BOTH
        return _BOTH if plural or (word.shared and normal) else ()

    def _is_told(self, word: SignWord) -> bool:
        return any(self.protocol.sign(each).is_history for each in word.to)

    def _on(self, findings: Iterable[Finding], sides: Iterable[Side]) -> Iterator[Finding]:
        for finding in findings:
            if self.protocol.sign(finding.sign).is_person:
                yield finding
            else:
                yield from (replace(finding, side=side) for side in sides)

    def _choices(self, claim: Claim, outcome: Outcome, sides: tuple[Side, ...]) -> tuple[Choice, ...]:
        options = outcome.choices or ((("", outcome.findings),) if outcome.findings else ())
        if claim.ask == PRESENT_OR_ABSENT and outcome.findings:
            absent = tuple(replace(each, state=State.NORMAL, level=None) for each in outcome.findings)
            options = (("present", outcome.findings), ("absent", absent))
        person = all(self.protocol.sign(each.sign).is_person for _, findings in options for each in findings)
        knees = (sides,) if sides or person else ((Side.RIGHT,), (Side.LEFT,), _BOTH)
        return tuple(
            Choice(
                words=", ".join(filter(None, ("" if sides or person else _knee(knee), words))) or AS_SAID,
                findings=tuple(self._on(findings, knee)),
            )
            for knee in knees
            for words, findings in options
        )


def _propose_whole(proposal: Proposal, claim: Claim) -> None:
    """Propose that a whole knee is normal, unless it was only looked at or what was said is not certain."""
    looked = any(said.key == ONLY_LOOKED for said, _ in claim.describing)
    if claim.doubt:
        proposal.question = BESIDE_UNKNOWN
    elif looked:
        proposal.question = LOOKED_AT
    else:
        proposal.whole, proposal.question = claim.sides, "" if claim.sides else WHICH_KNEE


def _leave_over(proposal: Proposal, claim: Claim) -> None:
    """Leave a result over that is said of no sign."""
    proposal.aside = "" if _is_empty(claim) else NO_SIGN_SAID
    if any(mod.item.tag is Tag.REASON and mod.item.value != "pain" for mod in claim.mods):
        proposal.question = "which signs could not be tested?"


def _doubt_after_normal(found: Sequence[Proposal]) -> None:
    """Ask about something bad that follows "left knee normal" and only inherits its knee."""
    normal: dict[Side, int] = {}
    for proposal in found:
        claim = proposal.claim
        if claim is None:
            continue
        part = claim.rest or claim.excepted or claim.of_named
        normal |= {side: claim.sentence for side in proposal.whole if not part}
        inherits = not claim.same_sentence_side and any(
            is_bad(each) and each.side in normal and normal[each.side] < claim.sentence
            for each in proposal.findings
        )
        if inherits:
            words = ", ".join(f"{side} knee all the same" for side in claim.sides)
            proposal.choices = (Choice(words=words, findings=tuple(proposal.findings)),)
            proposal.question, proposal.findings = WHICH_KNEE, []


def _is_alike(claim: Claim) -> bool:
    """Say whether "full and symmetrical" tells of both knees."""
    said = [each for each, negated in claim.describing if not negated]
    alike = any(each.key == "symmetrical" for each in said)
    good = claim.is_of(Class.SOUND) or any(
        each.says == "good" and each.key not in {"symmetrical", "firm"} for each in said
    )
    return alike and good and not claim.denials


def _is_alike_in_number(claim: Claim) -> bool:
    """Say whether "flexion symmetrical at 140" is the reading of both knees."""
    alike = any(said.key == "symmetrical" and not negated for said, negated in claim.describing)
    return alike and bool(claim.quantities or claim.stretch)


def _is_empty(claim: Claim) -> bool:
    """Say whether a claim without a sign says nothing either."""
    return (
        not claim.ask
        and not claim.has_result
        and not claim.compartments
        and not claim.bends_deg
        and not claim.quantities
    )


def _knee(sides: tuple[Side, ...]) -> str:
    return "both knees" if len(sides) > 1 else f"{sides[0]} knee"
