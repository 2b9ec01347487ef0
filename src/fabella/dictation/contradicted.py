"""Something well with a "but" behind it that was not understood: "present but fainter" is asked about.

What follows the "but" takes something back of what stands before it. As long as nobody knows what, the part
before it is not recorded as normal.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from fabella.dictation.conflicts import AS_SAID
from fabella.dictation.items import Item
from fabella.dictation.proposal import Proposal
from fabella.dictation.spans import Mark
from fabella.dictation.understood import Choice
from fabella.dictation.vocabulary import Tag
from fabella.record import State

_PLACES = (Tag.COMPARTMENT, Tag.SITE, Tag.ANGLE)
BUT_WHAT = "what follows the “but” was not understood"


def ask_before_but(found: Sequence[Proposal], items: Sequence[Item], marks: Sequence[Mark]) -> None:
    """Ask about normal findings and denials that a "but" follows whose own words stayed open.

    Parameters
    ----------
    found
        What the text proposes, in order; changed in place.
    items
        What was recognised in it, in order.
    marks
        What its words became so far.
    """
    pieces = [piece for mark in marks if mark.became.is_open for piece in mark.pieces]
    open_words = {word for first, last in pieces for word in range(first, last)}
    for place, item in enumerate(items):
        if not item.is_mark("but"):
            continue
        behind = _clause(items, place)
        at = next((at for at, each in enumerate(behind) if _is_open(each, open_words)), None)
        if at is None or _tells_of_another(behind, at):
            continue
        sides = {str(each.value) for each in behind[:at] if each.tag is Tag.SIDE}
        for proposal in _before(found, items[:place]):
            if _concerns(proposal, sides):
                _ask(proposal)


def _clause(items: Sequence[Item], place: int) -> Sequence[Item]:
    """Return the items behind a "but", up to the next break, "and" or "but"."""
    ends = (
        at for at in range(place + 1, len(items)) if items[at].is_break() or items[at].is_mark("and", "but")
    )
    return items[place + 1 : next(ends, len(items))]


def _tells_of_another(behind: Sequence[Item], at: int) -> bool:
    """Say whether another sign or place is named before what is open, or right behind it."""
    place = any(each.tag in _PLACES for each in behind[: at + 1])
    return place or any(each.tag is Tag.SIGN for each in behind[: at + 2])


def _is_open(item: Item, open_words: Collection[int]) -> bool:
    return any(word in open_words for word in range(item.first, item.last))


def _before(found: Sequence[Proposal], items: Sequence[Item]) -> list[Proposal]:
    """Return the proposals that end right before a "but", in its sentence, and what shares their result."""
    begins = next((each.last for each in reversed(items) if each.is_break(".")), 0)
    word = items[-1].last if items else 0
    ends = {id(one): _end(one, word) for one in found}
    last = max(ends.values(), default=0)
    near = [one for one in found if begins < ends[id(one)] == last]
    at = found.index(near[0]) if near else 0
    while at and (claim := found[at - 1].claim) is not None and claim.shares:
        at -= 1
        near.append(found[at])
    return near


def _end(proposal: Proposal, word: int) -> int:
    """Return where its words up to a word end; "than on the right" may stand behind the "but"."""
    return max((last for _, last in proposal.pieces if last <= word), default=0)


def _concerns(proposal: Proposal, sides: Collection[str]) -> bool:
    """Say whether a "but" with these knees in front of what is open can take something back of it."""
    told = {str(each.side) for each in proposal.findings if each.side is not None}
    return not sides or "both" in sides or not told or bool(told.intersection(sides))


def _ask(proposal: Proposal) -> None:
    denied = any(answer is False for _, answer in proposal.answers)
    if not denied and not any(each.state is State.NORMAL for each in proposal.findings):
        return
    if proposal.findings:
        proposal.choices = (Choice(words=AS_SAID, findings=tuple(proposal.findings)),)
    proposal.question, proposal.findings = BUT_WHAT, []
    proposal.answers, proposal.whole = (), ()
