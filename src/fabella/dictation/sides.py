"""Which knee a claim is about: never guessed. Where the speaker leaves it open, the claim is asked about.

A side opens a heading ("left knee: …"), belongs to the sign after it ("left McMurray positive") or before it
("McMurray positive on the left"), or only contrasts ("…, left negative"). A heading lasts until the next one;
a side said behind a sign lasts while no other knee comes up; a sign on the other knee in the middle of a list
leaves what follows it open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fabella.anatomy import Side, other
from fabella.dictation.beside import (
    are_seen,
    counts,
    doubt_other_sides,
    ends_sentence,
    follows_normal_knee,
    has_own_side,
    has_two_sides,
    last_claim,
    of_same_test,
    only_compares,
    only_contrasts,
    says_another_side,
    shares_its_side,
)
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.nodes import SideNode, Turn
from fabella.dictation.roles import Level, Role, names_side, neighbour, roles_of, same_sign

WHICH_KNEE = "which knee?"
BOTH_SIDES = "both knees, or medially and laterally?"
_BOTH = (Side.RIGHT, Side.LEFT)


@dataclass(slots=True)
class _Placing:
    """Goes through the events once, with the side in force and the claims that still wait for one."""

    events: Sequence[Placed]
    roles: Mapping[int, Role]
    sides: tuple[Side, ...] = ()
    level: Level = Level.NONE
    doubtful: bool = False
    waiting: list[Claim] = field(default_factory=list)
    untold: list[Claim] = field(default_factory=list)

    def run(self) -> None:
        """Place every claim."""
        sentence = 0
        for at, placed in enumerate(self.events):
            if placed.sentence != sentence:
                self.waiting, sentence = [], placed.sentence
                if self.level is Level.LABEL:
                    self._lose()
            if isinstance(placed.event, SideNode):
                self._side(at, placed.event)
            elif isinstance(placed.event, Claim):
                self._claim(at, placed.event)

    def _hold(self, sides: tuple[Side, ...], level: Level) -> None:
        self.sides, self.level, self.doubtful = sides, level, False

    def _lose(self) -> None:
        """Hold no side, and know that there was one: what follows must be asked about."""
        self.sides, self.level, self.doubtful = (), Level.NONE, True

    def _side(self, at: int, node: SideNode) -> None:
        sides, role = resolve(node, self.sides), self.roles[at]
        before = neighbour(self.events, at, -1)
        if role is Role.DOUBT or not sides:
            self._lose()
            if role is Role.DOUBT and node.side and isinstance(before, Claim) and before.sides != sides:
                before.sides = ()
        elif role is Role.HEADING:
            self._heading(at, node, sides)
        elif role is Role.TARGET:
            self._compared(at, before, sides)
        elif role is Role.BEHIND and isinstance(before, Claim):
            self._behind(at, node, before, sides)

    def _heading(self, at: int, node: SideNode, sides: tuple[Side, ...]) -> None:
        """Hold the side of a heading; one that points back ("that's the left") is that of what was told."""
        if node.concludes:
            doubt_other_sides(self.events, at, sides)
        if (last := says_another_side(self.events, at, sides)) is not None:
            last.ask = WHICH_KNEE  # "no effusion left, right knee"
        if self.level is Level.NONE and node.concludes and not self.doubtful:
            for claim in self.untold:
                claim.sides = claim.sides or sides
        if self.level is Level.NONE and ends_sentence(self.events, at):
            self._share_backwards(at, sides)
        self._hold(sides, Level.HEADING)

    def _compared(self, at: int, before: object, sides: tuple[Side, ...]) -> None:
        """Decide what holds after "same as the right": an exception is said of the knee before it."""
        after = neighbour(self.events, at, 1)
        if isinstance(after, Claim) and after.is_exception:
            return
        if isinstance(before, Turn) and before.value.startswith("same as") and self.sides:
            if self.level is not Level.HEADING or not only_compares(self.events, at):
                self.sides, self.level = _BOTH, Level.SOFT
        elif sides != self.sides:
            self._lose()

    def _behind(self, at: int, node: SideNode, claim: Claim, sides: tuple[Side, ...]) -> None:
        """Give the side said behind a claim to it."""
        other_side = claim.sides and claim.sides != sides and has_own_side(self.events, at - 1, self.roles)
        if node.after_unknown or other_side:
            claim.ask = WHICH_KNEE
        if sides == _BOTH and len(self.sides) == 1 and has_two_sides(claim):
            claim.ask = BOTH_SIDES
        claim.sides = sides
        if (test := shares_its_side(self.events, at - 1)) is not None:
            test.sides = sides
        self.waiting = [each for each in self.waiting if each is not claim and each is not test]
        if self.sides and not claim.carried:
            self._take_back(at - 1, sides)
        self._share_with_joined(at - 1, sides)
        self._share_backwards(at, sides)
        self._after_own_side(at - 1, claim)

    def _take_back(self, at: int, sides: tuple[Side, ...]) -> None:
        """Let a side behind a list hold for all of it, though another knee is in force; else ask."""
        sentence = self.events[at].sentence
        linked, only = True, sum(each.sentence == sentence and names_side(each) for each in self.events) == 1
        for place in range(at - 1, -1, -1):
            claim, after = self.events[place].event, self.events[place + 1].event
            if self.events[place].sentence != sentence or not isinstance(claim, Claim):
                return
            joined = only and isinstance(after, Claim) and are_seen(claim, after)
            linked = linked and (claim.shares or joined)
            if linked:
                claim.sides = sides
            elif only and claim.sides != sides:
                claim.sides = ()

    def _share_with_joined(self, at: int, sides: tuple[Side, ...]) -> None:
        """Let a side hold for what "and" joins: "an effusion and tenderness on the right"."""
        for place in range(at, 0, -1):
            claim, before = self.events[place].event, self.events[place - 1].event
            joined = isinstance(claim, Claim) and claim.joined == "and" and not claim.carried
            if not joined or not isinstance(before, Claim) or before not in self.waiting:
                return
            before.sides = sides
            self.waiting.remove(before)

    def _share_backwards(self, at: int, sides: tuple[Side, ...]) -> None:
        """Let the only side of a sentence, said at its end, hold for what came before it in the sentence."""
        sentence = self.events[at].sentence
        if sum(each.sentence == sentence and names_side(each) for each in self.events) == 1:
            for claim in self.waiting:
                claim.sides = sides
            self.waiting.clear()

    def _claim(self, at: int, claim: Claim) -> None:
        before = neighbour(self.events, at, -1)
        if only_contrasts(before, claim):
            self._lose()
        elif claim.inner is not None:
            claim.sides = resolve(claim.inner, self.sides)
            if self.sides and claim.sides and not claim.carried:
                self._take_back(at, claim.sides)
            self._after_own_side(at, claim)
        elif isinstance(before, SideNode) and self.roles[at - 1] is Role.BEFORE:
            claim.sides = resolve(before, self.sides)
            self._after_side_before(at, claim)
        elif (test := of_same_test(self.events, at)) is not None:
            claim.sides = test.sides
            if test in self.waiting:
                self.waiting.append(claim)
        elif claim.reference is not None and not self.sides and (sides := resolve(claim.reference, ())):
            claim.sides = (other(sides[0]),) if len(sides) == 1 else ()
            if claim.sides and not self.doubtful:
                self.sides, self.level = claim.sides, Level.SOFT
        elif self.sides and (self.level is not Level.SOFT or self._still_holds(at)):
            claim.sides = self.sides
        else:
            self.waiting.append(claim)
            self.untold.append(claim)

    def _after_side_before(self, at: int, claim: Claim) -> None:
        """Decide what holds after "left McMurray positive"."""
        earlier = last_claim(self.events, at - 1)
        contrast = claim.carried or claim.of_named or same_sign(earlier, claim)
        if follows_normal_knee(earlier, claim):
            self._hold(claim.sides, Level.HEADING)
        elif self.level is Level.HEADING and claim.labelled and claim.sides != self.sides:
            self._hold(claim.sides, Level.LABEL)  # "right hip: …" holds for its sentence
        elif self.level is Level.HEADING:
            anew = earlier is not None and earlier.sentence != claim.sentence
            if claim.sides != self.sides and (anew or not contrast):
                self._lose()
        elif contrast and earlier is not None and (claim.carried or earlier.sentence == claim.sentence):
            self._lose()
        else:
            self._hold(claim.sides, Level.ADJECTIVE)

    def _after_own_side(self, at: int, claim: Claim) -> None:
        """Decide what holds after a claim with a side behind or inside it."""
        earlier = last_claim(self.events, at)
        contrast = claim.carried or same_sign(earlier, claim)
        if follows_normal_knee(earlier, claim):
            self._hold(claim.sides, Level.HEADING)
        elif self.level is Level.HEADING:
            if claim.sides not in {self.sides, _BOTH} and not contrast:
                self._lose()
        elif contrast or claim.labelled or (self.sides and claim.sides != self.sides):
            self._lose()
        elif claim.sides != _BOTH:
            self._hold(claim.sides, Level.SOFT)

    def _still_holds(self, at: int) -> bool:
        """Say whether a side said behind an earlier sign still holds: the next one must not contradict it."""
        for place in range(at + 1, len(self.events)):
            event = self.events[place].event
            if isinstance(event, Claim) and event.inner is not None:
                return resolve(event.inner, self.sides) == self.sides or event.carried
            if isinstance(event, SideNode):
                if self.roles[place] is not Role.BEHIND:
                    return True
                owner = self.events[place - 1].event
                contrast = isinstance(owner, Claim) and owner.carried
                return resolve(event, self.sides) in {self.sides, _BOTH} or contrast
        return True


def place_sides(events: Sequence[Placed]) -> None:
    """Give every claim its knees, or nothing where they are not certain."""
    active = [each for each in events if counts(each)]
    _Placing(active, roles_of(active)).run()
    named = {each.sentence for each in active if names_side(each)}
    for placed in events:
        if isinstance(claim := placed.event, Claim):
            claim.same_sentence_side = counts(placed) and placed.sentence in named
            claim.sides = claim.sides if claim.twin is None else claim.twin.sides


def resolve(node: SideNode, current: tuple[Side, ...]) -> tuple[Side, ...]:
    """Return the knees that a named side means; "the other" needs one in force to be certain."""
    if node.side in {Side.RIGHT, Side.LEFT}:
        return (Side(node.side),)
    if node.side == "other" and len(current) == 1:
        return (other(current[0]),)
    return _BOTH if node.side in {"both", "neither"} else ()
