"""From the words chosen for each sign to claims: what is said of it at once, and what is said of it anew."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.anew import (
    collides_without_sign,
    denies_elsewhere,
    is_of_unknown,
    is_told_by_name,
    names_other_place,
    was_compared,
)
from fabella.dictation.attach import Attach, fills, joins, own_slots, repeats
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.implied import BESIDE_UNKNOWN
from fabella.dictation.nodes import Gap, Head, Mod, Node, SideNode
from fabella.dictation.vocabulary import Class, SignWord, Tag

NOT_WHAT = "not done, or negative?"
DENIED_WHAT = "the “no” stands before a word that was not understood"
_SAID_IN_FRONT = {"result", "grade", "degree", "barred"}
_PLACES = {Tag.NUMBER, Tag.RANGE, Tag.ANGLE, Tag.COMPARTMENT, Tag.BOW}


def _says_nothing(mod: Mod) -> bool:
    """Say whether a word needs a sign beside it to say anything, and may be left out without one."""
    idle = mod.item.is_mark("preposition", "because", "than", "like")
    return idle or any(meaning.tag is Tag.SILENT for meaning in mod.item.others)


class Builder:
    """Turns the zones of one run into events."""

    def __init__(self, sentence: int, joined: str, heading: str = "") -> None:
        self.events: list[Placed] = []
        self._heading = heading
        self._sentence = sentence
        self.gap = joined
        self._doubt = self._doubt_first = self._speaking = False

    def head(self, head: Head, front: Sequence[Node], attach: Attach) -> None:
        """Begin the claim of a sign with what stands before it."""
        front = self._leave_unfit(head, front, attach)
        first = next((at for at, node in enumerate(front) if isinstance(node, Mod)), len(front))
        claim = Claim(head=head, sentence=self._sentence)
        for node in front[:first]:
            if isinstance(node, SideNode) and node.reference:
                self._inside(self._last() or claim, node)
            elif isinstance(node, SideNode):
                self._side(node)
            elif isinstance(node, Gap):
                self._note(node, None)
        self._open(claim)
        for node in front[first:]:
            if isinstance(node, Mod):
                self._add(claim, node)
                claim.pre_result = claim.pre_result or node.slot in _SAID_IN_FRONT
            elif isinstance(node, SideNode):
                self._inside((self._last() or claim) if node.reference else claim, node)
            elif isinstance(node, Gap):
                self._note(node, claim)
                if node.text and claim.denials:
                    claim.ask = NOT_WHAT if claim.is_of(Class.TEST) else DENIED_WHAT

    def _leave_unfit(self, head: Head, front: Sequence[Node], attach: Attach) -> Sequence[Node]:
        """Return what stands before a sign without the words up to the last that cannot be said of it."""
        fit = [not isinstance(node, Mod) or attach.fit.fits(node, head.word) for node in front]
        if all(fit):
            return front
        start = len(fit) - fit[::-1].index(False)
        self.behind(None, front[:start], attach)
        return front[start:]

    def behind(
        self, head: Head | None, nodes: Sequence[Node], attach: Attach, *, ahead: Sequence[Node] = ()
    ) -> None:
        """Add what stands behind a sign: to its claim, or as new results for the same sign.

        The node ahead is that which the next sign begins with.
        """
        claim = self._last() if head is not None else None
        slots = (
            {mod.slot for mod in claim.mods} | (own_slots(head) if head else frozenset()) if claim else set()
        )
        for place, node in enumerate(nodes):
            if isinstance(node, Gap):
                self._note(node, claim)
            elif isinstance(node, SideNode):
                claim, slots = self._behind_side(claim, slots, node, nodes[place + 1 :])
            elif isinstance(node, Mod):
                if (claim is None or self.gap) and _says_nothing(node) and not self._is_result(nodes, place):
                    continue
                if claim is None or self._starts_anew(claim, node, slots, (*nodes[place:], *ahead), attach):
                    compared = claim.reference if claim is not None and was_compared(nodes[:place]) else None
                    claim = Claim(head=None, sentence=self._sentence, inner=compared)
                    self._open(claim)
                    slots = set()
                if place and is_of_unknown(nodes[place - 1], node):
                    claim.ask = claim.ask or BESIDE_UNKNOWN
                self._add(claim, node)
                slots |= fills(node) | ({"result"} if claim.tells_alignment else set())

    def _is_result(self, nodes: Sequence[Node], place: int) -> bool:
        """Say whether "ok" right beside a side is a result and no word of speech: "hop: unable L, ok R"."""
        word = nodes[place]
        described = isinstance(word, Mod) and word.item.tag is Tag.DESCRIBING
        beside = [nodes[at] for at in (place - 1, place + 1) if 0 <= at < len(nodes)]
        sided = any(isinstance(node, SideNode) and not node.is_heading for node in beside)
        return described and sided and self._last() is not None

    def _starts_anew(
        self, claim: Claim, mod: Mod, slots: set[str], nodes: Sequence[Node], attach: Attach
    ) -> bool:
        """Say whether a word behind a claim begins another: a new result for the same sign, or for none."""
        item = mod.item
        if item.is_mark("rest", "knee"):
            done = bool(self.gap) or claim.has_result
            return done or (item.is_mark("rest") and not claim.only_names)
        if self.gap == "," and denies_elsewhere(claim, nodes[:2]):
            return True
        if self.gap in {",", "but"} and names_other_place(claim, mod):
            return True
        if item.is_mark("than"):
            return any(isinstance(node, Mod) and node.slot == "number" for node in nodes[1:3])
        if mod.slot == "pain" and item.value.pain == "present" and claim.stretch is not None:
            return True  # a range keeps its numbers, and what hurts of it is asked about
        if item.is_mark("no", "denies"):
            place_before = claim.head is None and slots == {"compartment"} and not self.gap
            return not place_before  # "slightly tender, lateral not"
        if item.tag is Tag.SITE and claim.head is not None:
            return True
        if joins(claim.mods[-1] if claim.mods else None, self.gap, mod):
            return False
        if claim.head is None:
            told_where = bool(self.gap) and slots <= {"compartment", "angle"} and self._is_behind_side(claim)
            return told_where or collides_without_sign(claim, mod, slots)
        return self._is_of_no_use(mod, claim.head.word, slots, attach)

    def _is_of_no_use(self, mod: Mod, word: SignWord, slots: set[str], attach: Attach) -> bool:
        """Say whether a word cannot be said of a sign, or not again."""
        if mod.item.tag is Tag.DESCRIBING and not attach.fit.describes(mod.item.value, word):
            return True
        if mod.item.tag in _PLACES and not attach.fit.belongs(mod, word):
            return True
        return (bool(self.gap) and repeats(mod, slots)) or attach.collides(mod, slots, word)

    def _behind_side(
        self, claim: Claim | None, slots: set[str], node: SideNode, rest: Sequence[Node]
    ) -> tuple[Claim | None, set[str]]:
        """Place a side behind a sign: inside the claim while its result is to come, else between claims."""
        target = claim or self._last()
        if node.reference and target is not None:
            target.reference = node
            target.extra.extend(node.pieces)
            return claim, slots
        waits = (
            claim is not None
            and claim.inner is None
            and not claim.has_result
            and claim.head is not None
            and not self._has_other_side(claim, node)
            and (claim.only_names or self.gap in {":", ""})
            and any(
                isinstance(each, Mod) and each.slot in {"result", "grade", "degree", "number", "pain"}
                for each in self._within_reach(claim, rest)
            )
        )
        if waits and claim is not None:
            self._inside(claim, node)
            return claim, slots
        self._side(node)
        return (claim, slots) if not rest else self._after_side(claim, slots)

    def _has_other_side(self, claim: Claim, node: SideNode) -> bool:
        """Say whether another side stands right before a sign: "right effusion, left none"."""
        place = next(at for at, each in enumerate(self.events) if each.event is claim)
        before = self.events[place - 1].event if place else None
        if isinstance(before, SideNode) and not self.events[place].after_break:
            return before.side not in {node.side, ""}
        return place == 0 and is_told_by_name(claim) and self._heading not in {node.side, ""}

    def _is_behind_side(self, claim: Claim) -> bool:
        """Say whether a side stands right before a claim: "positive right medially, negative left"."""
        place = next(at for at, each in enumerate(self.events) if each.event is claim)
        before = self.events[place - 1].event if place else None
        return isinstance(before, SideNode) and not self.events[place].after_break

    def _within_reach(self, claim: Claim, rest: Sequence[Node]) -> Sequence[Node]:
        """Return the words behind a side that may be the result before it: of an illness only the next."""
        return rest[:1] if is_told_by_name(claim) else rest

    def _after_side(self, claim: Claim | None, slots: set[str]) -> tuple[Claim | None, set[str]]:
        """What follows a side behind a result, or behind the place that another side has, is a new result."""
        told = claim is not None and (is_told_by_name(claim) or claim.has_result)
        if claim is not None and claim.head is None and claim.compartments:
            told = told or self._is_behind_side(claim)  # "left medial and right lateral"
        return (None, set()) if told else (claim, slots)

    # ------------------------------------------------------------------ small steps

    def _open(self, claim: Claim) -> None:
        claim.joined = self.gap
        claim.doubt, claim.doubt_before = self._doubt, self._doubt_first
        before = self.events[-1].event if self.events else None
        if self.gap == ":" and isinstance(before, Claim) and not before.mods:
            before.labelled = True
        self.events.append(Placed(event=claim, sentence=self._sentence, after_break=bool(self.gap)))
        self.gap, self._doubt, self._doubt_first, self._speaking = "", False, False, True

    def _add(self, claim: Claim, mod: Mod) -> None:
        if mod.item.is_mark("rest"):
            claim.rest = True
        if mod.item.is_mark("knee"):
            claim.knee = True
        claim.mods.append(mod)
        self.gap = ""

    def _inside(self, claim: Claim, node: SideNode) -> None:
        if node.reference:
            claim.reference = node
        elif claim.inner is None:
            claim.inner = node
        claim.extra.extend(node.pieces)

    def _side(self, node: SideNode) -> None:
        self.events.append(Placed(event=node, sentence=self._sentence, after_break=bool(self.gap)))
        self.gap = ""

    def _note(self, gap: Gap, claim: Claim | None) -> None:
        if gap.kind == "?":
            if not gap.text:
                return
            if claim is not None and not self.gap:
                claim.doubt = claim.doubt_behind = True
            self._doubt_first = self._doubt_first or not self._speaking
            self._doubt = True
            return
        if gap.kind == ":" and claim is not None and not claim.mods:
            claim.labelled = True
        self.gap = self.gap if self.gap in {"or", "and"} and gap.kind == "," else gap.kind
        self._doubt = self._doubt_first = self._speaking = False

    def _last(self) -> Claim | None:
        return next((each.event for each in reversed(self.events) if isinstance(each.event, Claim)), None)
