"""Words that lost their sign: reasons behind a side, openings without a result, a "no" without a place."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.claims import Claim, Placed
from fabella.dictation.fitting import Fit
from fabella.dictation.implied import A_BEND_DEG
from fabella.dictation.items import Quantity
from fabella.dictation.nodes import Mod, SideNode, Turn
from fabella.dictation.vocabulary import Tag

WHERE_TENDER = "tender there?"
_TELL_EXTENSION = {"extension", "shortfall", "deficit", "hyperextension"}
WHAT_IS_EXCEPTED = "what was found there?"
WHICH_READING = "which of the two readings?"
PRESENT_OR_ABSENT = "does the “no” before it reach so far? Present or absent?"


def join_reasons(events: Sequence[Placed]) -> None:
    """Let a reason behind a side belong to the test before: "could not test it on the left for pain"."""
    before: Claim | None = None
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim) or claim.withdrawn:
            continue
        reasons = [
            mod for mod in claim.mods if mod.item.tag is Tag.REASON or mod.item.is_mark("guarded", "because")
        ]
        tried = (
            before is not None
            and before.sentence == claim.sentence
            and (before.marks("cannot", "not_done") or before.tried)
        )
        if before is not None and tried and claim.head is None and len(reasons) == len(claim.mods):
            before.mods.extend(reasons)
            claim.mods.clear()
        elif claim.head is not None:
            before = claim


def join_places(events: Sequence[Placed], fit: Fit) -> None:
    """Let a bend or a compartment behind a side belong to the test before: "positive on the left at 30"."""
    for place in range(2, len(events)):
        test, side, claim = (events[place - step].event for step in (2, 1, 0))
        if not isinstance(claim, Claim) or not isinstance(side, SideNode) or not isinstance(test, Claim):
            continue
        if not _is_parted(events, place) and _is_place_of(claim, test, fit):
            test.mods.extend(claim.mods)
            claim.mods.clear()


def _is_parted(events: Sequence[Placed], place: int) -> bool:
    """Say whether a break parts an event from the two before it, or a side behind it is its own."""
    after = events[place + 1] if place + 1 < len(events) else None
    sided = after is not None and isinstance(after.event, SideNode) and not after.after_break
    return sided or events[place].after_break or events[place - 1].after_break


def _is_place_of(claim: Claim, test: Claim, fit: Fit) -> bool:
    """Say whether a claim without a sign tells nothing but where a test was done that has its result."""
    word, slots = test.word, {mod.slot for mod in claim.mods}
    if claim.head is not None or word is None or not test.has_result:
        return False
    free = slots <= {"compartment", "angle"} and not slots & {mod.slot for mod in test.mods}
    return free and all(mod.item.tag is Tag.ANGLE or fit.fits(mod, word) for mod in claim.mods)


def join_heights(events: Sequence[Placed]) -> None:
    """Let a height told for itself be that of the readings before it: "…, both taken 10 cm above"."""
    told: list[Claim] = []
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim) or claim.withdrawn:
            continue
        heights = [mod for mod in claim.mods if mod.item.tag is Tag.LANDMARK]
        if claim.head is not None and claim.quantities:
            told = [each for each in told if each.sentence == claim.sentence] + [claim]
        elif claim.head is None and heights and not claim.has_result:
            here = [each for each in told if each.sentence == claim.sentence and each.landmark is None]
            for each in here:
                each.mods.extend(heights)
            claim.mods = claim.mods if not here else []


def ask_about_places(events: Sequence[Placed]) -> None:
    """Ask about a mere place on the other knee: "tenderness: right nil, left lateral joint line"."""
    for before, side, placed in zip(events, events[1:], events[2:], strict=False):
        claim, tender = placed.event, before.event
        if not isinstance(claim, Claim) or not isinstance(side.event, SideNode) or claim.head is not None:
            continue
        if not isinstance(tender, Claim) or tender.head is None or not tender.has_result:
            continue
        if tender.head.word.reader != "tenderness" or before.sentence != placed.sentence:
            continue
        if any(mod.item.tag is Tag.SITE for mod in claim.mods):
            claim.ask = WHERE_TENDER


def says_nothing(placed: Placed) -> bool:
    """Say whether an event only opens what follows, like "walks" before "with a limp"."""
    claim = placed.event
    if not isinstance(claim, Claim) or claim.word is None:
        return False
    return claim.word.silent and not claim.has_result


def ask_beside_denials(events: Sequence[Placed]) -> None:
    """Ask about a sign beside a "no" that found no place: it may have been meant for it."""
    for place, placed in enumerate(events):
        stray = placed.event
        if not isinstance(stray, Claim) or stray.head is not None or stray.withdrawn:
            continue
        unsaid = bool(stray.denials) or stray.marks("hedge")
        if not unsaid and not stray.marks("cannot", "not_done"):
            continue
        for beside in (*reversed(events[max(0, place - 2) : place]), *events[place + 1 : place + 3]):
            claim = beside.event
            if not isinstance(claim, Claim) or claim.sentence != stray.sentence or claim.head is None:
                continue
            if unsaid or not claim.has_result:
                claim.ask = claim.ask or PRESENT_OR_ABSENT


def ask_beside_numbers(events: Sequence[Placed], fit: Fit) -> None:
    """Ask about a reading behind which another was told without a sign: "flexion was 90 and is now 120"."""
    before: Claim | None = None
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim) or claim.withdrawn:
            continue
        numbers = [mod for mod in claim.mods if mod.slot == "number"]
        if claim.head is not None:
            before = claim
            continue
        told = before is not None and before.sentence == claim.sentence and bool(numbers)
        if told and before is not None and all(_is_other_reading(mod, before, fit) for mod in numbers):
            before.ask = before.ask or WHICH_READING


def ask_beside_exceptions(events: Sequence[Placed]) -> None:
    """Ask about what has an exception of which it is not known what it says: "negative except laterally"."""
    for place, placed in enumerate(events[:-1]):
        exception = events[place + 1].event
        if not isinstance(placed.event, Turn) or placed.event.kind != "except":
            continue
        if not isinstance(exception, Claim) or exception.head is not None or not exception.compartments:
            continue
        for earlier in events[:place]:
            if isinstance(earlier.event, Claim) and earlier.sentence == placed.sentence:
                earlier.event.ask = earlier.event.ask or WHAT_IS_EXCEPTED


def _is_other_reading(number: Mod, before: Claim, fit: Fit) -> bool:
    """Say whether a number may be the same reading as the one told: no extension goes on to 125 degrees."""
    word, value = before.word, number.item.value
    if isinstance(value, Quantity) and value.out_of is not None:
        return False  # the power of another muscle
    if word is None or not (before.quantities or before.stretch) or not fit.measures(number, word):
        return False
    bent = isinstance(value, Quantity) and value.value >= A_BEND_DEG
    return word.reader != "stress" and not (bent and word.reader in _TELL_EXTENSION)


def note_exceptions(events: Sequence[Placed]) -> None:
    """Note of every claim whether "except for" follows it in its sentence, or whether it is the exception."""
    for place, placed in enumerate(events):
        if not isinstance(placed.event, Turn) or placed.event.kind not in {"except", "same"}:
            continue
        for earlier in events[:place]:
            if isinstance(earlier.event, Claim) and earlier.sentence == placed.sentence:
                earlier.event.excepted = earlier.event.excepted or placed.event.kind == "except"
        excepts = placed.event.kind == "except"
        for later in events[place + 1 :]:
            if later.sentence == placed.sentence and isinstance(later.event, Claim):
                excepts = excepts or later.event.joined == "but"
                later.event.is_exception = later.event.is_exception or excepts
