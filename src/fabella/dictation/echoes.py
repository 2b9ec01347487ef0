"""A mere "not" or "is" that takes up what was said before: "quadriceps weak on the left, right not"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.items import Quantity
from fabella.dictation.nodes import Mod
from fabella.dictation.short import PRESENT
from fabella.dictation.vocabulary import Class, Tag

_DENYING = ("no", "un", "without")


def denied_result(mods: Sequence[Mod], source: Claim) -> list[Mod]:
    """Return the result that a mere "not" behind it denies: "quadriceps weak on the left, right not"."""
    bare = [mod for mod in mods if mod.slot and mod.slot != "compartment"]
    if not bare or source.denials or not all(_is_not(mod) for mod in bare):
        return []
    told = [mod for mod in source.mods if mod.slot == "result" and mod.item.tag is Tag.DESCRIBING]
    return [replace(mod, pieces=()) for mod in told if not mod.negated and mod.item.value.says]


def _is_not(mod: Mod) -> bool:
    return mod.item.is_mark("no") and mod.item.text.endswith(("not", "n't"))


def takes_back(claim: Claim) -> bool:
    """Say whether a mere "not" behind a break takes back what was just told: "able to then, not now"."""
    said = [mod for mod in claim.mods if mod.slot]
    return claim.joined in {",", "but", "and"} and not claim.doubt and bool(said) and all(map(_is_not, said))


def is_doubted(claim: Claim, source: Claim) -> bool:
    """Say whether a word of doubt parts a result from the one before it: "1+ rather than 2+"."""
    doubt = source.mods[-1].item if source.mods else None
    begins = min((first for mod in claim.mods for first, _ in mod.pieces), default=None)
    return doubt is not None and doubt.is_mark("hedge") and doubt.last == begins


def affirms_a_denial(mods: Sequence[Mod], source: Claim) -> bool:
    """Say whether a mere "is" or "not" takes up a name that holds a "not": "calf not tender, right is"."""
    bare = [mod for mod in mods if mod.slot and mod.slot != "compartment"]
    if not source.is_of(Class.SOUND) or len(bare) != 1:
        return False
    return bare[0].item.value == PRESENT or (_is_not(bare[0]) and source.text.startswith(_DENYING))


def with_missing(mods: Sequence[Mod], source: Claim) -> list[Mod]:
    """Return what was said, with where and at which bend from the claim before unless said anew."""
    own = {mod.slot for mod in mods}
    unit = next((each.unit for each in source.quantities if each.unit), "")
    said = [_with_unit(mod, unit) for mod in mods]
    added = [
        replace(mod, pieces=())
        for mod in source.mods
        if mod.slot in {"compartment", "angle"} and mod.slot not in own
    ]
    if not any(mod.item.tag is Tag.LANDMARK for mod in mods):
        added += [replace(mod, pieces=()) for mod in source.mods if mod.item.tag is Tag.LANDMARK]
    return [*said, *added, *denied_result(mods, source)]


def _with_unit(mod: Mod, unit: str) -> Mod:
    """Return a number with the unit of the number before it: "ten millimetres, and five in extension"."""
    value = mod.item.value
    if not isinstance(value, Quantity) or value.unit or value.out_of is not None:
        return mod
    return replace(mod, item=replace(mod.item, value=replace(value, unit=unit)))
