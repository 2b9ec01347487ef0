"""Statements that do not agree: merged where they can both be true, asked about where they cannot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.dictation.proposal import Proposal, is_bad
from fabella.dictation.understood import Choice
from fabella.dictation.vocabulary import Lexicon
from fabella.protocol import Protocol
from fabella.record import Answer, Finding, State
from fabella.record.contradictions import contradictions

SAID_TWICE = "said twice, and differently"


@dataclass(frozen=True, slots=True)
class Conflicts:
    """Finds and settles what does not agree among the proposals of one text."""

    protocol: Protocol
    lexicon: Lexicon

    def settle(self, found: Sequence[Proposal]) -> None:
        self._yield_to_parts(found)
        by_place: dict[tuple[str, Side | None], tuple[Proposal, Finding]] = {}
        for proposal in found:
            for finding in list(proposal.findings):
                key = (finding.sign, finding.side)
                earlier = by_place.get(key)
                if earlier is None:
                    by_place[key] = (proposal, finding)
                elif self._denies_only_more(proposal, earlier[1]):
                    proposal.findings.remove(finding)
                elif (exact := self._more_exact(earlier[1], finding)) is not None:
                    _exchange(earlier, proposal, finding, exact)
                    by_place[key] = (earlier[0], exact)
                elif (merged := _merged(earlier[1], finding)) is not None:
                    _exchange(earlier, proposal, finding, merged)
                    by_place[key] = (earlier[0], merged)
                else:
                    _ask_both(earlier[0], proposal, SAID_TWICE)
                    by_place.pop(key)
        rest = [(one, each) for one in found for each in one.findings]
        for clash in contradictions({at: each for at, (_, each) in enumerate(rest)}):
            _ask_both(rest[clash.earlier][0], rest[clash.later][0], f"both cannot be true: {clash.why}")
        answers: dict[str, tuple[Proposal, Answer]] = {}
        for proposal in found:
            for item, answer in proposal.answers:
                known = answers.setdefault(item, (proposal, answer))
                if known[1] != answer:
                    _ask_both(known[0], proposal, SAID_TWICE)
        self._answer(found)

    def _denies_only_more(self, proposal: Proposal, known: Finding) -> bool:
        """Say whether a denial only means that it is not worse: "warm, not hot"."""
        claim = proposal.claim
        if claim is None or claim.head is None or not claim.denials or known.level is None:
            return False
        levels = {each.id: each.rank for each in self.protocol.sign(known.sign).scale.levels}
        return 0 < levels[known.level] < levels.get(claim.head.word.level, 0)

    def _more_exact(self, one: Finding, two: Finding) -> Finding | None:
        """Return the more exact of two levels that may follow one another: blood, then fat in it."""
        order = self.lexicon.more_exact.get(one.sign, ())
        if one.level not in order or two.level not in order:
            return None
        return max((one, two), key=lambda each: order.index(each.level or ""))

    def _yield_to_parts(self, found: Sequence[Proposal]) -> None:
        """Ask about "ligaments stable" beside a positive Lachman; "otherwise stable" means the other ligaments."""
        for proposal in found:
            for finding in list(proposal.findings):
                sign = self.protocol.sign(finding.sign)
                if not sign.is_summary or finding.state is not State.NORMAL:
                    continue
                parts = {
                    each.sign
                    for one in found
                    for each in one.findings
                    if each.side is finding.side and each.sign in sign.summary_of and is_bad(each)
                }
                if not parts:
                    continue
                proposal.findings.remove(finding)
                if proposal.rest:
                    proposal.findings.extend(self._other_parts(finding, parts))
                else:
                    proposal.question = "something else was said of one of its parts"
                    proposal.choices = (Choice(words="normal all the same", findings=(finding,)),)

    def _other_parts(self, finding: Finding, bad: set[str]) -> Iterator[Finding]:
        silent = {sign for group in self.lexicon.same_thing if group & bad for sign in group}
        for each in self.protocol.sign(finding.sign).summary_of:
            if each in self.lexicon.whole and each not in silent:
                yield replace(finding, sign=each)

    def _answer(self, found: Sequence[Proposal]) -> None:
        """Drop a question of which every answer is what was found already."""
        known = {(each.sign, each.side, each.state) for one in found for each in one.findings}
        for proposal in found:
            proposed = [each for choice in proposal.choices for each in choice.findings]
            if (
                proposed
                and len(proposal.choices) == 1
                and not proposal.findings
                and all((each.sign, each.side, each.state) in known for each in proposed)
            ):
                proposal.question, proposal.choices = "", ()


def _merged(one: Finding, two: Finding) -> Finding | None:
    """Return two statements about one sign as one, or None where they differ."""
    joined = {}
    if (
        one.sign == "passive_extension"
        and State.NORMAL in {one.state, two.state}
        and (is_bad(one) or is_bad(two))
    ):
        return None
    for key in ("state", "level", "value", "unit", "method", "reason", "note"):
        first, second = getattr(one, key), getattr(two, key)
        if first is not None and second is not None and first != second and key not in {"note", "method"}:
            return None
        joined[key] = second if first is None else first
    return replace(one, **joined)


def _exchange(earlier: tuple[Proposal, Finding], later: Proposal, finding: Finding, merged: Finding) -> None:
    first, known = earlier
    first.findings[first.findings.index(known)] = merged
    later.findings[later.findings.index(finding)] = merged


def _ask_both(one: Proposal, two: Proposal, why: str) -> None:
    for proposal in (one, two):
        choices = (Choice(words="as said here", findings=tuple(proposal.findings)),)
        proposal.question = proposal.question or why
        proposal.choices = proposal.choices or choices
        proposal.findings = []
        proposal.answers = ()
