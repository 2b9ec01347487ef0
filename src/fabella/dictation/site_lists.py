"""Lists of sites that leave something out: "tender med JL + pes", "tender over … but not over the MCL"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item, item_at, reads
from fabella.dictation.vocabulary import Class, Describing, Lexicon, Tag

_TWO = 2
_NOT_TENDER = {"not tender", "non tender", "nontender"}
_DENIALS = ("not", "n't", "nt")


def is_site(item: Item) -> bool:
    """Say whether a word is a site itself, and not a sign that stands at one."""
    return item.tag is Tag.SITE or item.other(Tag.SITE) is not None


def join_by_plus(items: Sequence[Item]) -> list[Item]:
    """Return the items in which the plus of "TTP med JL + pes" joins two sites, and is no result."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        beside = [item_at(items, place + step) for step in (-1, 1)]
        plus = isinstance(item.value, Describing) and item.last == item.first + 1 and not item.text
        if plus and item.value.key == "positive" and all(map(is_site, beside)) and _listed(items, place):
            kept.append(replace(item, tag=Tag.MARK, value="and", text="and"))
        else:
            kept.append(item)
    return kept


def _listed(items: Sequence[Item], plus: int) -> bool:
    """Say whether "tender" stands before the sites that a plus joins, and no result behind the last."""
    at = plus - 1
    while at >= 0 and (is_site(items[at]) or items[at].tag is Tag.SIDE or items[at].is_mark("preposition")):
        at -= 1
    return at >= 0 and reads(items[at], "tenderness") and item_at(items, plus + 2).is_break()


def say_sore(items: Sequence[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which a place that is "sore" is tender: "the medial joint line is sore"."""
    meanings = lexicon.tree.follows["tender"].meanings
    word = next(each.value for each in meanings if each.tag is Tag.SIGN)
    kept: list[Item] = []
    for place, item in enumerate(items):
        sore = item.text in {"sore", "bit sore"} and item.tag in {Tag.DESCRIBING, Tag.REASON}
        told = sore and _is_behind_site(items, place - 1) and _ends_there(items, place + 1)
        kept.append(replace(item, tag=Tag.SIGN, value=word, others=()) if told else item)
        if _is_felt(items, place):
            kept.append(Item(tag=Tag.SIGN, value=word, first=item.last, last=item.last, text="tender"))
    return kept


def _is_felt(items: Sequence[Item], place: int) -> bool:
    """Say whether a joint line is the heading of results alone: only soreness is felt for there."""
    item = items[place]
    opens = item_at(items, place - 1).is_break(".") or item_at(items, place - 1).tag is Tag.SIDE
    if item.tag is not Tag.SITE or not opens or not str(item.value).startswith("joint_line_tenderness"):
        return False
    end = next((at for at in range(place, len(items)) if items[at].is_break(".")), len(items))
    told = [each for each in items[place + 1 : end] if not each.is_break(",", ":")]
    results = [each for each in told if each.tag is Tag.DESCRIBING or each.text.startswith("neither")]
    absent = [each for each in results if each.text.startswith("neither") or each.value.says == "absent"]
    plain = all(
        each in results
        or each.tag in {Tag.SIDE, Tag.COMPARTMENT}
        or each.is_mark("knee", "preposition", "and")
        for each in told
    )
    return bool(absent) and len(absent) == len(results) and plain


def _is_behind_site(items: Sequence[Item], at: int) -> bool:
    """Say whether a place stands before, a "not" or a "bit" between."""
    degree = isinstance(item_at(items, at).value, Describing) and item_at(items, at).value.degree == 1
    at -= degree or item_at(items, at).is_mark("no")
    return item_at(items, at).tag is Tag.SITE


def _ends_there(items: Sequence[Item], at: int) -> bool:
    """Say whether nothing tells when it hurts: "sore on the right" is tender, "sore on stairs" is not."""
    at += item_at(items, at).is_mark("preposition")
    after = item_at(items, at)
    joined = after.is_mark("and", "but") or after.tag in {Tag.COMPARTMENT, Tag.SIDE}
    return joined or (after.is_break() and after.text != "?")


def label_by_stop(items: Sequence[Item]) -> list[Item]:
    """Return the items in which a place between stops labels what follows: "Joint line. Tender left."."""
    kept = list(items)
    for place, item in enumerate(items):
        named = item.tag is Tag.SITE and item_at(items, place - 1).is_break(".")
        stop = item_at(items, place + 1)
        if not named or not stop.is_break(".") or stop.text == "?":
            continue
        end = next((at for at in range(place + 2, len(items)) if items[at].is_break(".")), len(items))
        told = items[place + 2 : end]
        signs = [each for each in told if each.sign is not None]
        if signs and all(reads(each, "tenderness") for each in signs) and not any(map(is_site, told)):
            first = next(each for each in told if each.tag is not Tag.SIDE and not each.is_break(","))
            if first in signs or first.is_mark("no"):
                kept[place + 1] = replace(stop, value=":")
    return kept


def label_by_comma(items: Sequence[Item]) -> list[Item]:
    """Return the items in which a comma stands for a colon: "medial joint line, tender on the right".

    Behind words that are not known, "it's not tender" is not said of the knee: where is asked.
    """
    kept = list(items)
    for place, item in enumerate(items):
        if not item.is_break(",") or not _opens_as_tender(items, place + 1):
            continue
        at, commas = place - 1, [place]
        while at >= 0 and (
            _may_label(items[at]) or items[at].is_mark("and", "or") or items[at].is_break(",")
        ):
            commas += [at] if items[at].is_break(",") else []
            at -= 1
        while at >= 0 and (items[at].tag is Tag.SIDE or items[at].is_mark("knee")):
            at -= 1
        if _may_label(item_at(items, place - 1)) and (at < 0 or items[at].is_break(".", ":")):
            for comma in commas[1:]:
                kept[comma] = replace(kept[comma], tag=Tag.MARK, value="and", text="and")
            for named in range(at + 1, place):
                if (sign := items[named].sign) is not None:
                    site = items[named].other(Tag.SITE) or sign.site
                    kept[named] = replace(items[named], tag=Tag.SITE, value=site, others=())
            kept[place] = replace(item, value=":")
    return [_asked_where(kept, place) for place in range(len(kept))]


def _may_label(item: Item) -> bool:
    """Say whether a word names a place, or a ligament that is one: "MCL, LCL, not tender"."""
    return is_site(item) or (item.sign is not None and bool(item.sign.site) and item.sign.reader == "stress")


def _opens_as_tender(items: Sequence[Item], place: int) -> bool:
    """Say whether "tender" follows of which no place is told behind it."""
    place += item_at(items, place).is_mark("no")
    after = item_at(items, place + 1)
    place_told = after.is_mark("preposition") and item_at(items, place + 2).tag is not Tag.SIDE
    ends = after.is_break() or after.tag is Tag.SIDE or after.is_mark("preposition", "but", "and", "no")
    tender = item_at(items, place).sign is not None and reads(item_at(items, place), "tenderness")
    return tender and ends and not place_told


def _asked_where(items: Sequence[Item], place: int) -> Item:
    """Return "not tender" as what must be asked about, where a thing not known stands before it."""
    item = items[place]
    if item.sign is None or item.sign.kind is not Class.SOUND or not reads(item, "tenderness"):
        return item
    start = max((at + 1 for at in range(place) if items[at].is_break(".")), default=0)
    before = [each for each in items[start:place] if not each.is_break() and not each.is_mark("but", "and")]
    after = item_at(items, place + 1)
    alone = after.is_break() and bool(before) and before[-1].tag is Tag.UNKNOWN
    word = replace(item.sign, aside="where exactly?")
    return replace(item, value=word) if alone and items[place - 1].is_mark("but", "and") else item


def say_again(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "… but not over the MCL" says "tender" again, which it left out."""
    kept: list[Item] = []
    tender: Item | None = None
    for place, item in enumerate(items):
        if item.tag is Tag.SIGN and item.other(Tag.SITE) is None:
            tender = item if reads(item, "tenderness") else None
        elif item.is_break("."):
            tender = None
        kept.append(item)
        if tender is not None and tender.value.kind is not Class.SOUND and _leaves_out_tender(items, place):
            kept.append(replace(tender, first=item.last, last=item.last, others=()))
        elif tender is not None and _denies_a_site(items, place):
            at = items[place + 1].first
            sound = tender.value.kind is Class.SOUND  # "not tender over …, and not over …"
            kept[len(kept) - sound :] = [
                replace(tender, first=item.first if sound else at, last=at, others=())
            ]
    return kept


def _denies_a_site(items: Sequence[Item], place: int) -> bool:
    """Say whether "not" stands behind a break and before a site of which nothing else is said."""
    if place == 0 or not items[place].is_mark("no") or not items[place].text.endswith("not"):
        return False
    at = place + 1 + item_at(items, place + 1).is_mark("preposition")
    before, after = items[place - 1], item_at(items, at + 1)
    parted = before.is_mark("but", "and") or before.is_break(",") or is_site(before)
    ends = after.is_break() or after.is_mark("and", "or", "but", "preposition")
    return parted and is_site(item_at(items, at)) and ends


def _leaves_out_tender(items: Sequence[Item], place: int) -> bool:
    """Say whether "not" closes what it denies of a site behind a tender one: "MCL tender, LCL not"."""
    if place < _TWO or not items[place].is_mark("no") or not items[place].text.endswith(_DENIALS):
        return False
    site, parted, after = items[place - 1], items[place - 2], item_at(items, place + 1)
    if parted.tag is Tag.SIDE:
        parted = item_at(items, place - 3)
    ends = after.is_break() or after.is_mark("and", "or", "but")
    return is_site(site) and (parted.is_mark("but", "and") or parted.is_break(",")) and ends


def last_gap(items: Sequence[Item], place: int) -> list[str]:
    """Return the tendon named last before a gap in its sentence: "patellar tendon intact, no gap there"."""
    sign = items[place].sign
    start = max((each for each in range(place) if items[each].is_break(".")), default=-1)
    named = [str(each.value) for each in items[start + 1 : place] if each.tag is Tag.SITE]
    return [each for each in named if sign is not None and each in sign.at][-1:]


def is_neither(items: Sequence[Item], at: int) -> bool:
    """Say whether a word is of "neither lax nor", so that "tender" behind it is of the same ligament."""
    both = (at, at - 1) if items[at].tag is Tag.DESCRIBING else (at,)
    return item_at(items, both[-1]).text == "neither"


def only_denies(items: Sequence[Item], at: int, place: int) -> bool:
    """Say whether a sentence tells only that the other knee is not tender: there at least."""
    between = items[at + 1 : place]
    denied = items[place].text in _NOT_TENDER or any(item.is_mark("no") for item in between)
    told = denied and any(item.tag is Tag.SIDE for item in between)
    told = told and not any(item.is_mark("knee") for item in between)  # "right knee not tender": nowhere
    return told and items[at].is_break(".") and item_at(items, place + 1).is_break(".")
