"""From claims to findings of each knee: sides joined, knees copied, whole knees filled in, conflicts found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from fabella.anatomy import Side, other
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.lexicon import Lexicon, Tag
from fabella.dictation.lists import PRESENT_OR_ABSENT
from fabella.dictation.nodes import Piece, SideNode, Turn
from fabella.dictation.outcome import Outcome
from fabella.dictation.sides import WHICH_KNEE, resolve
from fabella.dictation.understood import Choice
from fabella.protocol import Protocol
from fabella.record import Answer, Finding, State
from fabella.record.contradictions import contradictions

SAID_TWICE = "said twice, and differently"
HOW_MUCH_THE_SAME = "only the last sign, or everything?"
NOT_THE_SAME = "similar is not the same: what is it?"
_ELSEWHERE = {"preparation", "history", "walking", "hip_foot_back", "vessels_nerves", "general"}
_BOTH = (Side.RIGHT, Side.LEFT)


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
    claim: Claim | None = None
    rest: bool = False


@dataclass(frozen=True, slots=True)
class Proposals:
    """Makes the proposals of one text."""

    protocol: Protocol
    lexicon: Lexicon

    def of(self, events: Sequence[Placed], outcomes: dict[int, Outcome]) -> list[Proposal]:
        """Return a proposal for every claim and comparison, in order; conflicting ones carry a question."""
        found: list[Proposal] = []
        for place, placed in enumerate(events):
            event = placed.event
            if isinstance(event, Claim):
                found.append(self._of_claim(event, outcomes.get(id(event))))
            elif isinstance(event, Turn) and event.kind == "same":
                found.append(self._of_same(events, place, found))
            elif isinstance(event, Turn) and event.kind == "similar":
                found.append(Proposal(pieces=event.pieces, question=NOT_THE_SAME))
        self._find_conflicts(found)
        self._answer(found)
        for proposal in found:
            if proposal.whole:
                proposal.findings = [each for side in proposal.whole for each in self._whole(side, found)]
        return found

    # -------------------------------------------------------------- one claim

    def _of_claim(self, claim: Claim, outcome: Outcome | None) -> Proposal:
        proposal = Proposal(pieces=claim.pieces, withdrawn=claim.withdrawn, claim=claim, rest=claim.rest)
        if claim.withdrawn or claim.subject:
            return proposal
        if claim.whole:
            proposal.whole = claim.sides
            proposal.question = "" if claim.sides else WHICH_KNEE
            return proposal
        if outcome is None:
            proposal.aside = "" if _is_empty(claim) else "it is not said of which sign"
            if any(mod.item.tag is Tag.REASON and mod.item.value != "pain" for mod in claim.mods):
                proposal.question = "which signs could not be tested?"
            return proposal
        proposal.answers, proposal.aside = outcome.answers, outcome.aside
        asks = [each for each in (claim.ask, outcome.question) if each]
        sides = self._sides(claim, outcome)
        unsided = [each for each in outcome.findings if not self.protocol.sign(each.sign).is_person]
        if (unsided or outcome.choices) and not sides:
            asks.insert(0, WHICH_KNEE)
        proposal.question = " ".join(dict.fromkeys(asks))
        if proposal.question:
            proposal.choices = self._choices(claim, outcome, sides)
        else:
            proposal.findings = list(self._on(outcome.findings, sides))
        return proposal

    def _sides(self, claim: Claim, outcome: Outcome) -> tuple[Side, ...]:
        word = claim.head.word if claim.head is not None else None
        if word is None or claim.sides:
            plural = word is not None and word.plural and claim.head is not None and claim.head.plural
            return _BOTH if plural and claim.inner is None and len(claim.sides) == 1 and word.reader == "hip" else claim.sides
        normal = all(each.state is State.NORMAL for each in outcome.findings)
        shared = word.shared and normal
        plural = word.plural and claim.head is not None and claim.head.plural
        return _BOTH if shared or plural else ()

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
        knees = (sides,) if sides else ((Side.RIGHT,), (Side.LEFT,), _BOTH)
        return tuple(
            Choice(
                words=", ".join(filter(None, ("" if sides else _knee(knee), words))),
                findings=tuple(self._on(findings, knee)),
            )
            for knee in knees
            for words, findings in options
        )

    # -------------------------------------------------------------- "left knee the same"

    def _of_same(self, events: Sequence[Placed], place: int, found: Sequence[Proposal]) -> Proposal:
        turn = events[place].event
        assert isinstance(turn, Turn)
        before, after = _side_beside(events, place, -1), _side_beside(events, place, 1)
        target = before or after
        proposal = Proposal(pieces=turn.pieces)
        sides = resolve(target, ()) if target is not None else ()
        if len(sides) != 1 or target is None:
            proposal.question = "the same as what, on which knee?"
            return proposal
        if turn.value.startswith("same as") and before is not None and after is not None and _follows(events, place):
            return proposal
        source = [
            each for each in found if each.claim is not None and other(sides[0]) in {f.side for f in each.findings}
        ]
        scope = _scope(events, place)
        if scope is not None:
            source = [each for each in source if each.claim is not None and _names(each.claim) == _names(scope)]
            scope.subject = True
        elif turn.value.startswith(("as d", "so d")):
            sentence = events[place].sentence
            source = [each for each in source if each.claim is not None and each.claim.sentence == sentence]
        elif not target.is_heading and before is None:
            if len(source) > 1 and not _has_own_side(events, place):
                proposal.question = HOW_MUCH_THE_SAME
                return proposal
            source = source[-1:]
        proposal.findings = [
            replace(each, side=sides[0]) for one in source for each in one.findings if each.side is other(sides[0])
        ]
        if not proposal.findings:
            proposal.question = "the same as what?"
        return proposal

    # -------------------------------------------------------------- questions that the rest answers

    def _answer(self, found: Sequence[Proposal]) -> None:
        """Drop a question of which every answer is what was found already."""
        known = {(each.sign, each.side, each.state) for one in found for each in one.findings}
        for proposal in found:
            proposed = [each for choice in proposal.choices for each in choice.findings]
            if proposed and len(proposal.choices) == 1 and not proposal.findings and all(
                (each.sign, each.side, each.state) in known for each in proposed
            ):
                proposal.question, proposal.choices = "", ()

    # -------------------------------------------------------------- a whole knee

    def _whole(self, side: Side, found: Sequence[Proposal]) -> Iterator[Finding]:
        """Yield what a knee that is normal, or otherwise normal, certainly includes."""
        stated = [each for one in found if not one.whole for each in one.findings]
        asked = {f.sign for one in found for choice in one.choices for f in choice.findings if f.side is side}
        here = {each.sign for each in stated if each.side is side} | asked
        silent = here | {sign for group in self.lexicon.same_thing if group & here for sign in group}
        there = dict.fromkeys(each.sign for each in stated if each.side is other(side))
        mirrored = [each for each in there if self.protocol.sign(each).position not in _ELSEWHERE]
        covered = {sign for group in self.lexicon.same_thing if group & set(mirrored) for sign in group}
        added = [each for each in self.lexicon.whole if each not in covered]
        for sign in dict.fromkeys([*mirrored, *added]):
            if sign not in silent:
                yield Finding(sign=sign, side=side, state=State.NORMAL)

    # -------------------------------------------------------------- conflicts

    def _find_conflicts(self, found: Sequence[Proposal]) -> None:
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

    def _denies_only_more(self, proposal: Proposal, known: Finding) -> bool:
        """Say whether a denial only means that it is not worse: "warm, not hot"."""
        claim = proposal.claim
        if claim is None or claim.head is None or not claim.denials or known.level is None:
            return False
        levels = {each.id: each.rank for each in self.protocol.sign(known.sign).scale.levels}
        return 0 < levels[known.level] < levels.get(claim.head.word.level, 0)

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
                    if each.side is finding.side and each.sign in sign.summary_of and _is_bad(each)
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


def _is_empty(claim: Claim) -> bool:
    """Say whether a claim without a sign says nothing either."""
    return not claim.has_result and not claim.compartments and not claim.bends_deg and not claim.quantities


def _knee(sides: tuple[Side, ...]) -> str:
    return "both knees" if len(sides) > 1 else f"{sides[0]} knee"


def _names(claim: Claim) -> str:
    return claim.head.word.name if claim.head is not None else ""


def _side_beside(events: Sequence[Placed], place: int, step: int) -> SideNode | None:
    beside = place + step
    if not 0 <= beside < len(events) or events[beside].sentence != events[place].sentence:
        return None
    event = events[beside].event
    return event if isinstance(event, SideNode) else None


def _follows(events: Sequence[Placed], place: int) -> bool:
    """Say whether claims follow in the sentence, which then tell what is the same."""
    later = [each for each in events[place + 1 :] if each.sentence == events[place].sentence]
    return any(isinstance(each.event, Claim) for each in later)


def _scope(events: Sequence[Placed], place: int) -> Claim | None:
    """Return the claim that only names the sign of which the same is said: "for the Lachman"."""
    for each in events[place + 1 : place + 3]:
        if isinstance(each.event, Claim) and each.sentence == events[place].sentence:
            claim = each.event
            bare = claim.head is not None and not claim.has_result and not each.after_break
            return claim if bare else None
    return None


def _has_own_side(events: Sequence[Placed], place: int) -> bool:
    """Say whether the sign before was given a side of its own."""
    before = events[place - 1].event if place else None
    return isinstance(before, SideNode) or (isinstance(before, Claim) and before.inner is not None)


def _is_bad(finding: Finding) -> bool:
    if finding.state is State.ABNORMAL:
        return True
    short = finding.sign == "passive_extension" and (finding.value or 0) < 0
    return short or (finding.sign == "fixed_flexion" and (finding.value or 0) > 0)


def _merged(one: Finding, two: Finding) -> Finding | None:
    """Return two statements about one sign as one, or None where they differ."""
    joined = {}
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
