"""Pain told of a place: "medial right knee pain", "pain in the right groin and the front of the thigh"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.nobody import COMPLAINT
from fabella.dictation.vocabulary import Lexicon, SignWord, Tag

_FACES = {"medial", "lateral", "anterior", "posterior"}
_ABOVE = {"groin", "thigh"}
_PART_OF_A_LIMB = {"front", "inside", "inner", "outer", "back", "top", "upper"}


def join_pains(items: Sequence[Item], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items in which the place of a told pain is the question of the history that it answers.

    "Pain in the right groin" is told of the hip of that side; a denied one is left as it is, and asked about.
    """
    kept = list(items)
    for place, item in enumerate(items):
        if item.tag is Tag.COMPARTMENT and item.value in _FACES and _is_of_knee_pain(items, place + 1):
            kept[place] = _told(item, str(item.value), lexicon)
    return tuple(_above(kept, lexicon))


def _is_of_knee_pain(items: Sequence[Item], place: int) -> bool:
    """Say whether "right knee pain" begins at a place."""
    three = items[place : place + 3]
    if [each.tag for each in three] != [Tag.SIDE, Tag.MARK, Tag.REASON]:
        return False
    return three[1].is_mark("knee") and three[2].value == "pain"


def _above(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items with every groin and thigh in which pain is told as that pain."""
    kept: list[Item] = []
    told = False
    for place, item in enumerate(items):
        if _tells_pain(items, place):
            told = True
        elif told and item.is_mark("elsewhere") and item.text in _ABOVE:
            part = kept.pop() if kept[-1].text in _PART_OF_A_LIMB else item
            kept.append(replace(_told(item, "groin", lexicon), first=part.first))
            continue
        elif not (item.tag in {Tag.SIDE, Tag.COMPARTMENT} or _leads_on(item)):
            told = False
        kept.append(item)
    return kept


def _tells_pain(items: Sequence[Item], place: int) -> bool:
    item = items[place]
    pain = (item.tag is Tag.REASON and item.value == "pain") or (
        COMPLAINT in {item.value if item.tag is Tag.PERSON else None, item.other(Tag.PERSON)}
        and item.text.startswith("pain ")
    )
    return pain and not (place and items[place - 1].is_mark("no", "denies"))


def _leads_on(item: Item) -> bool:
    """Say whether a word may stand between a pain and its place."""
    joins = item.is_mark("and", "or", "preposition", "knee")
    return joins or item.text in _PART_OF_A_LIMB or (isinstance(item.value, SignWord) and "pain" in item.text)


def _told(item: Item, place: str, lexicon: Lexicon) -> Item:
    """Return an item as the pain at a place, under the name "groin pain" or "medial pain"."""
    node = lexicon.tree.follows[place].follows["pain"]
    word = next(each.value for each in node.meanings if each.tag is Tag.SIGN)
    return replace(item, tag=Tag.SIGN, value=word, others=())
