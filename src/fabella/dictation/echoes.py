"""A mere "not" or "is" that takes up what was said before: "quadriceps weak on the left, right not"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.claims import Claim
from fabella.dictation.nodes import Mod
from fabella.dictation.short import PRESENT
from fabella.dictation.vocabulary import Class, Tag


def denied_result(mods: Sequence[Mod], source: Claim) -> list[Mod]:
    """Return the result that a mere "not" behind it denies: "quadriceps weak on the left, right not"."""
    bare = [mod for mod in mods if mod.slot and mod.slot != "compartment"]
    if not bare or source.denials or not all(_is_not(mod) for mod in bare):
        return []
    told = [mod for mod in source.mods if mod.slot == "result" and mod.item.tag is Tag.DESCRIBING]
    return [replace(mod, pieces=()) for mod in told if not mod.negated and mod.item.value.says]


def _is_not(mod: Mod) -> bool:
    return mod.item.is_mark("no") and mod.item.text.endswith(("not", "n't"))


def affirms_a_denial(mods: Sequence[Mod], source: Claim) -> bool:
    """Say whether a mere "is" stands behind a name that holds a "not": "left calf not tender, right is"."""
    bare = [mod.item.value for mod in mods if mod.slot]
    return source.is_of(Class.SOUND) and bare == [PRESENT]
