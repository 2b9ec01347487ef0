"""What one sign of a row takes from another: its result, its bend, the lag behind a leg that was raised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from fabella.dictation.claims import Claim, Placed, is_illness
from fabella.dictation.fitting import Fit
from fabella.dictation.items import Item, Quantity
from fabella.dictation.nodes import Mod
from fabella.dictation.stray import PRESENT_OR_ABSENT
from fabella.dictation.vocabulary import Class, Describing, Tag

_JOINING = {"and", "or", "/"}
_OF_LIGAMENTS = {"ligament", "pivot", "dial"}
_SAID_OF_ANY = {"opens", "laxity"}
_SHARED_SLOTS = {"barred", "result", "grade", "degree", "compartment", "angle", "no", "denies"}


def share_result(row: Sequence[Claim]) -> None:
    """Give tests without a result that of the test after them, or one said in front of the test before."""
    for claim, following in pairwise(row):
        if following.joined in _JOINING:
            _share_front(claim, following)
    for place in range(len(row) - 2, -1, -1):
        _share_back(row[place], row[place + 1])
    for claim, following in pairwise(row):
        _share_front(claim, following)
    for one, two in pairwise(row):
        if one.reads("stress") and two.reads("stress") and two.joined in _JOINING:
            _take_bends(one, two)
            _take_bends(two, one)


def _share_front(claim: Claim, following: Claim) -> None:
    """Share what stands in front of a list: "negative Lachman, posterior drawer and pivot shift"."""
    waits = _waits(following) and not is_illness(following)
    if waits and claim.pre_result and _shareable(claim, following):
        take_result(following, claim)
        following.pre_result = claim.shares = True


def _share_back(claim: Claim, following: Claim) -> None:
    """Share what stands behind a list: "Lachman and pivot shift negative"; of illness only "absent"."""
    joined = following.joined in _JOINING
    if not _waits(claim) or following.head is None or following.pre_result or not following.has_result:
        return
    absent = any(said.says == "absent" and not negated for said, negated in following.describing)
    if is_illness(claim) and not (joined and absent):
        return
    if (joined or are_alike(claim, following)) and _shareable(following, claim):
        take_result(claim, following)
        claim.shares = True


def are_alike(claim: Claim, following: Claim) -> bool:
    """Say whether two tests are of one kind, so that a comma is enough to share a result."""
    one, two = claim.word, following.word
    if one is None or two is None:
        return False
    return one.group == two.group or {one.group, two.group} <= _OF_LIGAMENTS


def _take_bends(claim: Claim, source: Claim) -> None:
    """Let a stress test that was named with another share the bends of both: "varus/valgus at 0 and 30"."""
    if not claim.bends_deg and not claim.quantities:
        claim.mods.extend(replace(mod, pieces=()) for mod in source.mods if mod.slot == "angle")


def take_likewise(row: Sequence[Claim]) -> None:
    """Give signs behind "as are" the result of the one before: "Lachman negative, as are drawer and sag"."""
    for place, claim in enumerate(row[1:], start=1):
        source = row[place - 1]
        if not claim.marks("like") or claim.has_result or not source.has_result:
            continue
        for each in (claim, *_bare_after_likeness(row, place)):
            take_result(each, source)
            if not each.has_result:
                each.ask = each.ask or PRESENT_OR_ABSENT


def _bare_after_likeness(row: Sequence[Claim], place: int) -> list[Claim]:
    found: list[Claim] = []
    for claim in row[place + 1 :]:
        if claim.has_result or claim.head is None or claim.joined not in {"and", "or", ",", "/"}:
            break
        found.append(claim)
    return found


def label_stability(row: Sequence[Claim]) -> None:
    """Let "stability" before a test be a heading and no sign: "stability Lachman negative"."""
    for label, test in pairwise(row):
        if label.word is None or test.word is None or test.joined not in {"", ","}:
            continue
        own = any(mod.pieces and mod.slot in _SHARED_SLOTS for mod in label.mods)
        ligaments = label.reads("stress") and not label.word.bow and not label.compartments
        if not own and ligaments and test.word.group == "ligament":
            label.subject = True


def lend_direction(events: Sequence[Placed]) -> None:
    """Let a bare "collaterals at 30" lend its direction to what is told next: "No opening on either knee"."""
    claims = [each.event for each in events if isinstance(each.event, Claim) and not each.event.withdrawn]
    for label, told in pairwise(claims):
        if label.word is None or told.head is None or told.sentence - label.sentence > 1 or label.has_result:
            continue
        named = label.reads("stress") and bool(label.word.bow or label.compartments) and label.inner is None
        wants = told.reads("stress") and not (told.head.word.bow or told.compartments) and told.has_result
        if named and wants and told.head.word.name in _SAID_OF_ANY:
            told.head = replace(told.head, word=replace(told.head.word, bow=label.word.bow))
            told.mods.extend(
                replace(mod, pieces=())
                for mod in label.mods
                if mod.slot in {"compartment", "angle"} - {each.slot for each in told.mods}
            )
            label.subject = True


def name_otherwise(row: Sequence[Claim]) -> None:
    """Let "ACL" before its test only name the ligament: "ACL Lachman 2+"."""
    for ligament, test in pairwise(row):
        if not ligament.reads("cruciate") or test.word is None:
            continue
        own = [mod for mod in ligament.mods if mod.pieces and mod.slot in _SHARED_SLOTS]
        if not own and test.word.family in {"anterior", "drawer"} and test.joined == "":
            ligament.subject = True


def find_lag(row: Sequence[Claim]) -> None:
    """Let the lag told behind a straight-leg raise be its result."""
    for raised, lag in pairwise(row):
        if raised.word is None or raised.has_result or not lag.reads("lag"):
            continue
        if raised.word.to == ("straight_leg_raise",) and not raised.joined == lag.joined == ".":
            said = Describing(key="able", says="good") if lag.denials else Describing(key="lag")
            item = Item(tag=Tag.DESCRIBING, value=said, first=0, last=0)
            raised.mods.append(Mod(item=item))


def find_by_test(row: Sequence[Claim]) -> None:
    """Let "small effusion on the sweep test" tell the result of the test as well."""
    for found, test in pairwise(row):
        if found.word is None or found.word.group != "effusion" or not _waits(test):
            continue
        if test.marks("preposition") and test.joined == "" and test.is_of(Class.TEST):
            graded = [mod.item for mod in found.mods if _key(mod) == "trace" or mod.slot == "grade"]
            said = "absent" if found.denials else "present"
            result = Describing(key="negative" if found.denials else "positive", says=said)
            plain = Item(tag=Tag.DESCRIBING, value=result, first=0, last=0)
            test.mods.append(Mod(item=graded[0] if graded else plain))


def _key(mod: Mod) -> str:
    return mod.item.value.key if isinstance(mod.item.value, Describing) else ""


def _waits(claim: Claim) -> bool:
    waits = claim.is_of(Class.TEST, Class.HEALTH, Class.ILLNESS)
    return waits and not claim.has_result and claim.inner is None


def _shareable(source: Claim, target: Claim) -> bool:
    """Say whether what was said of one sign can be said of another: a result, never a reading of its own."""
    one, two = source.word, target.word
    if one is None or two is None or source.marks("denies"):
        return False
    if one.kind is not two.kind and any(said.says in {"present", "absent"} for said, _ in source.describing):
        return False
    return one.group == two.group or all(not said.fits for said, _ in source.describing)


def take_result(claim: Claim, source: Claim) -> None:
    """Give a claim the result, the place and the bend told of another, where it has none of its own."""
    own = {mod.slot for mod in claim.mods}
    for mod in source.mods:
        shared = mod.slot in _SHARED_SLOTS or mod.item.tag is Tag.REASON or _is_power(mod, claim)
        if shared and mod.slot not in own and _reaches(mod, claim):
            claim.mods.append(replace(mod, pieces=()))


def _is_power(mod: Mod, claim: Claim) -> bool:
    """Say whether a number is a power out of five, which nerves of a foot may share: "EHL and FHL 5/5"."""
    return (
        claim.reads("nerve_power")
        and isinstance(mod.item.value, Quantity)
        and mod.item.value.out_of is not None
    )


def _reaches(mod: Mod, claim: Claim) -> bool:
    word = claim.word
    if word is None or mod.slot != "compartment":
        return word is not None
    return Fit.locates(str(mod.item.value), word)
