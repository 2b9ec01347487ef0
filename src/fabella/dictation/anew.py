"""When a word behind a sign begins another result, and is not said of what was told before it."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.claims import Claim
from fabella.dictation.nodes import Gap, Mod, Node, SideNode
from fabella.dictation.vocabulary import Describing, Tag


def is_told_by_name(claim: Claim) -> bool:
    """Say whether naming the sign of a claim alone says that it is there, or that all is well."""
    return claim.head is not None and not claim.only_names


def denies_elsewhere(claim: Claim, nodes: Sequence[Node]) -> bool:
    """Say whether nothing is there at another place than the one told: "tender medially, none laterally"."""
    if not is_told_by_name(claim):
        return False
    if _is_nothing(nodes[0]) and len(nodes) > 1 and _leads_to_place(nodes[1]):
        return True  # "pain on flexion, none on extension"
    items = [node.item for node in nodes if isinstance(node, Mod)]
    places = {str(item.value).removesuffix("ly") for item in items if item.tag is Tag.COMPARTMENT}
    absent = any(isinstance(item.value, Describing) and item.value.says == "absent" for item in items)
    names = () if claim.head is None else (*claim.head.sites, *claim.head.word.to)
    told = {*claim.compartments, *(name.rpartition("_")[2] for name in names)} & {"medial", "lateral"}
    return bool(places and told) and absent and not places & told


def names_other_place(claim: Claim, mod: Mod) -> bool:
    """Say whether a sign told at one place is told at another anew: "McMurray medially, lateral negative".

    A place in its name is one as well: "medial joint line not tender but lateral is".
    """
    if mod.slot != "compartment" or claim.head is None or (claim.only_names and claim.has_result):
        return False
    named = {site.rpartition("_")[2] for site in claim.head.sites} & {"medial", "lateral"}
    told = {each.removesuffix("ly") for each in claim.compartments} if claim.only_names else named
    return bool(told) and str(mod.item.value).removesuffix("ly") not in told


def is_of_unknown(before: Node, mod: Mod) -> bool:
    """Say whether it may be an unknown word that is absent, and not the sign before: "quads xyz absent"."""
    unknown = isinstance(before, Gap) and before.kind == "?" and bool(before.text)
    return unknown and isinstance(mod.item.value, Describing) and mod.item.value.key == "absent"


def _is_nothing(node: Node) -> bool:
    item = node.item if isinstance(node, Mod) else None
    return item is not None and isinstance(item.value, Describing) and item.value.key == "nil"


def _leads_to_place(node: Node) -> bool:
    return isinstance(node, Mod) and node.item.is_mark("preposition") and node.item.text != "with"


def was_compared(nodes: Sequence[Node]) -> bool:
    """Say whether the last thing named is a side to compare with: "as opposed to the left, which is …"."""
    last = next((node for node in reversed(nodes) if not isinstance(node, Gap)), None)
    return isinstance(last, SideNode) and bool(last.reference) and not last.reference.endswith(" than")


def collides_without_sign(claim: Claim, mod: Mod, slots: set[str]) -> bool:
    """Say whether a word cannot belong to a result that waits for its sign."""
    said = mod.item.value
    if isinstance(said, Describing) and said.implies and "number" in slots:
        return True
    if mod.slot == "compartment" and not claim.has_result:
        return False
    if mod.item.tag is Tag.RANGE and "result" in slots:
        return True
    if isinstance(said, Describing) and said.says == "absent" and slots & {"degree", "grade"}:
        return True  # "on the right, small, none on the left"
    return mod.slot in slots and mod.slot in {"result", "grade", "degree", "number", "angle", "compartment"}
