"""Statements that do not agree: merged where they can both be true, asked about where they cannot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.dictation.proposal import Proposal, is_bad
from fabella.dictation.understood import Choice, Idle
from fabella.dictation.vocabulary import Lexicon
from fabella.protocol import Protocol
from fabella.record import Answer, Finding, State
from fabella.record.contradictions import contradictions

NOT_HOW_MUCH = "not so much, or not there at all?"
_SHORTFALLS = {"passive_extension", "extensor_lag"}
AS_SAID = "as said here"
SAID_TWICE = "said twice, and differently"


@dataclass(frozen=True, slots=True)
class Conflicts:
    """Finds and settles what does not agree among the proposals of one text."""

    protocol: Protocol
    lexicon: Lexicon

    def settle(self, found: Sequence[Proposal]) -> None:
        """Merge what agrees, keep what is more exact, and ask about the rest."""
        self._yield_to_parts(found)
        said: dict[tuple[str, Side | None], list[tuple[Proposal, Finding]]] = {}
        for proposal in found:
            for finding in proposal.findings:
                said.setdefault((finding.sign, finding.side), []).append((proposal, finding))
        for statements in said.values():
            self._settle_one(statements)
        _ask([one for one in found if one.findings and _denies_a_degree(one)], NOT_HOW_MUCH)
        while self._asked_of_a_clash(found):
            pass  # of a sign stated twice the record reads the first: the next may clash as well
        _ask_with_their_words(found)
        answers: dict[str, list[tuple[Proposal, Answer]]] = {}
        for proposal in found:
            for item, answer in proposal.answers:
                answers.setdefault(item, []).append((proposal, answer))
        for given in answers.values():
            if len({answer for _, answer in given}) > 1:
                _ask([proposal for proposal, _ in given], SAID_TWICE)
        self._answer(found)

    def _asked_of_a_clash(self, found: Sequence[Proposal]) -> bool:
        """Ask about findings that cannot both be true, and say whether there were any."""
        rest = [(one, each) for one in found for each in one.findings]
        clashes = list(contradictions({at: each for at, (_, each) in enumerate(rest)}))
        for clash in clashes:
            _ask([rest[clash.earlier][0], rest[clash.later][0]], f"both cannot be true: {clash.why}")
        return bool(clashes)

    def _settle_one(self, statements: Sequence[tuple[Proposal, Finding]]) -> None:
        """Settle everything that was said of one sign of one knee."""
        standing = [statements[0]]
        agreed: Finding | None = statements[0][1]
        for proposal, finding in statements[1:]:
            if agreed is not None and self._denies_only_more(proposal, agreed):
                proposal.findings.remove(finding)
                proposal.idle = Idle.NOT_WORSE
                continue
            standing.append((proposal, finding))
            if agreed is not None:
                agreed = self._more_exact(agreed, finding) or _merged(agreed, finding)
        if agreed is None:
            _ask([proposal for proposal, _ in standing], SAID_TWICE)
            return
        for proposal, finding in standing:
            if finding in proposal.findings:
                proposal.findings[proposal.findings.index(finding)] = agreed

    def _denies_only_more(self, proposal: Proposal, known: Finding) -> bool:
        """Say whether a denial only means that it is not worse: "warm, not hot"."""
        claim = proposal.claim
        if _denies_a_degree(proposal) and known.state is State.ABNORMAL:
            return True
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
        """Ask about "ligaments stable" beside a positive Lachman; "otherwise" means the other ligaments."""
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
                elif proposal.claim is None or not proposal.claim.excepted:
                    proposal.question = "something else was said of one of its parts"
                    kept = (finding, *proposal.findings)
                    proposal.choices = (Choice(words="normal all the same", findings=kept),)
                    proposal.findings = []
                    break

    def _other_parts(self, finding: Finding, bad: set[str]) -> Iterator[Finding]:
        silent = {sign for group in self.lexicon.same_thing if group & bad for sign in group}
        for each in self.protocol.sign(finding.sign).summary_of:
            if each in self.lexicon.otherwise_stable and each not in silent:
                yield replace(finding, sign=each)

    def _answer(self, found: Sequence[Proposal]) -> None:
        """Drop a question of which every answer is what was found already, if only its meaning was open.

        Words that may be said of something else are asked about all the same: "posterior drawer negative, xyz
        negative".
        """
        known = {(each.sign, each.side, each.state) for one in found for each in one.findings}
        for proposal in found:
            proposed = [each for choice in proposal.choices for each in choice.findings]
            own = proposal.claim is not None and not (proposal.claim.ask or proposal.claim.carried)
            if (
                own
                and proposed
                and len(proposal.choices) == 1
                and not proposal.findings
                and all((each.sign, each.side, each.state) in known for each in proposed)
            ):
                proposal.question, proposal.choices, proposal.idle = "", (), Idle.TOLD


def _denies_a_degree(proposal: Proposal) -> bool:
    """Say whether nothing was said but how much it is not: "not tense" may be a little, or a great deal."""
    told = proposal.claim.describing if proposal.claim is not None else ()
    return bool(told) and all(negated and said.degree and not said.says for said, negated in told)


def _merged(one: Finding, two: Finding) -> Finding | None:
    """Return two statements about one sign as one, or None where they differ."""
    joined = {}
    states = {one.state, two.state}
    untried = len(states) > 1 and bool(states & {State.NOT_EXAMINED, State.UNTESTABLE})
    short = one.sign in _SHORTFALLS and State.NORMAL in states and (is_bad(one) or is_bad(two))
    if untried or short:
        return None
    for key in ("state", "level", "value", "unit", "method", "reason", "note"):
        first, second = getattr(one, key), getattr(two, key)
        if first is not None and second is not None and first != second and key not in {"note", "method"}:
            return None
        joined[key] = second if first is None else first
    return replace(one, **joined)


def _ask_with_their_words(found: Sequence[Proposal]) -> None:
    """Ask about what the same words propose of one sign that leave another open: "all these negative"."""
    for asked in [one for one in found if one.question]:
        _ask([one for one in found if one.findings and one.pieces == asked.pieces], asked.question)


def _ask(proposals: Sequence[Proposal], why: str) -> None:
    """Put a question in place of what several statements propose."""
    for proposal in proposals:
        if proposal.findings and not proposal.choices:
            proposal.choices = (Choice(words=AS_SAID, findings=tuple(proposal.findings)),)
        proposal.question = proposal.question or why
        proposal.findings = []
        proposal.answers = ()
