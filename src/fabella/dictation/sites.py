"""Signs that need a place find it: "tender over the medial joint line", "patellar tendon not tender"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.dictation.items import Item, item_at, reads
from fabella.dictation.nodes import Head
from fabella.dictation.site_lists import (
    is_neither,
    is_site,
    join_by_plus,
    label_by_comma,
    label_by_stop,
    last_gap,
    only_denies,
    say_again,
)
from fabella.dictation.vocabulary import Describing, Tag

_TWINS = {"medial": ("lateral", "medial"), "lateral": ("medial", "lateral")}
_WHOLES = {"bony_tenderness", "tenderness_patella"}  # what is tender there is a part of them
_OWN_TWINS = {"tenderness_mcl": "tenderness_lcl", "tenderness_lcl": "tenderness_mcl"}

_AROUND = {"round", "around"}


@dataclass(slots=True)
class _Found:
    """Sites found beside a head: the items they stand in, and the signs they mean."""

    places: list[int]
    sites: list[str]
    plural: bool = False


def find_sites(items: list[Item]) -> list[Item]:
    """Return the items in which every sign that needs a site has it, and no site is left beside it."""
    items = say_again(label_by_comma(label_by_stop(join_by_plus(items))))
    taken: set[int] = set()
    heads: dict[int, Item] = {}
    for place, item in enumerate(items):
        if not _wants_site(item):
            continue
        found = _choose(items, place, taken)
        if not found.sites:
            found = _inherited(items, place, heads)
        if item_at(items, place + 1).text in _AROUND and not reads(item, "tenderness"):
            found = _Found([], [])  # "puffy round the kneecap" is not in front of it
        plural = found.plural or any(_is_pair(items[each]) for each in found.places)
        taken.update(found.places)
        pieces = tuple((items[each].first, items[each].last) for each in sorted([*found.places, place]))
        head = Head(
            word=item.value, pieces=pieces, sites=tuple(dict.fromkeys(found.sites)), plural=plural,
            text=item.text,
        )  # fmt: skip
        heads[place] = replace(item, value=head)
    return [heads.get(place, item) for place, item in enumerate(items) if place not in taken]


def _wants_site(item: Item) -> bool:
    return item.sign is not None and (item.sign.reader == "tenderness" or bool(item.sign.at))


def _choose(items: Sequence[Item], place: int, taken: set[int]) -> _Found:
    """Return the sites after a head, or those before it where they stand closer."""
    before, after = _before(items, place, taken), _after(items, place, taken)
    if not before.sites or not after.sites:
        return before if before.sites else after
    if any(item.is_break(":") for item in items[max(before.places) : place]):
        return after  # "iliotibial band: tender lateral femoral condyle"
    linked = (
        item_at(items, place + 1).is_mark("preposition") and item_at(items, place + 2).tag is not Tag.SIDE
    )
    if linked or before.sites == ["bony_tenderness"]:
        after.places.extend(before.places)  # "bony tenderness at the fibular head"
        after.sites.extend(each for each in before.sites if each not in _WHOLES)
        return after
    return before


def _may_stand_between(items: Sequence[Item], place: int, at: int) -> bool:
    """Say whether a word may part a sign from its site: "tender ++ medial joint line"."""
    if items[at].is_break(":"):
        return at == place + 1
    if items[at].is_mark("all"):
        return True
    if items[at].tag is Tag.SIDE:
        both = at == place + 1 and items[at].text == "both"
        return items[at - 1].is_break(":") or both or _leads_to_site(items, place, at)
    if items[at].tag is not Tag.DESCRIBING:
        return False
    if not reads(items[place], "tenderness"):
        return True
    return at == place + 1 and items[at].value.grade is not None


def _leads_to_site(items: Sequence[Item], place: int, at: int) -> bool:
    """Say whether a side stands between a sign and its site: "tender over the left tibial tubercle"."""
    behind = at == place + 1 or (at == place + 2 and items[place + 1].is_mark("preposition"))
    return behind and bool(_twin(items, at + 1) or is_site(item_at(items, at + 1)))


def _inherited(items: Sequence[Item], place: int, heads: dict[int, Item]) -> _Found:
    """Return the sites of the sign right before, but not their words: "calf soft and not tender"."""
    at = place - 1
    while at >= 0 and (
        _skips(items[at])
        or items[at].is_break(",")
        or items[at].is_mark("preposition", "but")
        or is_neither(items, at)
    ):
        at -= 1
    if reads(items[place], "gap"):
        return _Found([], last_gap(items, place))
    if at > 0 and only_denies(items, at, place):
        return _Found([], _places_before(items, at, heads))
    if at < 0:
        return _Found([], [])
    if at in heads and isinstance(heads[at].value, Head):
        return _Found([], list(heads[at].value.sites) if at < place - 1 else [])
    linked = any(item.is_mark("and") for item in items[at + 1 : place])
    if any(item.text == "neither" for item in items[at + 1 : place]) and is_site(items[at]):
        return _Found([], _site_of(items[at]).split())
    sign = items[at].sign
    if (sign is not None and sign.site) or (linked and items[at].tag is Tag.SITE):
        return _Found([], _site_of(items[at]).split(), plural=_is_pair(items[at]))
    return _Found([], [])


def _places_before(items: Sequence[Item], end: int, heads: dict[int, Item]) -> list[str]:
    """Return the sites of the tenderness that was told last in a sentence."""
    start = max((at for at in range(end) if items[at].is_break(".")), default=-1)
    told = [at for at in heads if start < at < end]
    head = heads[told[-1]].value if told else None
    return list(head.sites) if isinstance(head, Head) else []


def _is_pair(item: Item) -> bool:
    """Say whether a plural names both legs: calves."""
    return item.plural and item.sign is not None and item.sign.plural


def _after(items: Sequence[Item], place: int, taken: set[int]) -> _Found:
    found = _Found([], [])
    links: list[int] = []
    at = place + 1
    while at < len(items):
        item = items[at]
        if (
            _site_of(item)
            and at not in taken
            and not _is_other_head(items, at, comma=bool(links) and bool(found.places))
        ):
            found.places.extend([*links, at] if is_site(item) else [])
            found.sites.extend(_site_of(item).split())
            links = []
        elif (twin := _twin(items, at)) and at not in taken:
            found.places.extend([*links, at, at + 1])
            found.sites.append(twin)
            links = []
        elif not found.sites and _may_stand_between(items, place, at):
            pass
        elif item.is_mark("preposition", "and", "or") or item.is_break(","):
            if item.is_break(",") and not found.places:
                break
            links.append(at)
        else:
            if at < len(items) and _wants_site(item) and found.places and not links:
                found.places, found.sites = found.places[:-1], found.sites[:-1]
            break
        at += 1
    return found


def _before(items: Sequence[Item], place: int, taken: set[int]) -> _Found:
    found = _Found([], [])
    at = place - 1
    relative: list[int] = []
    while at >= 0 and (_skips(items[at]) or _is_relative(items, at) or _labels(items, at)):
        relative += [at, at + 1] if items[at].is_break(",") else []
        at -= 1
    links = relative
    while at >= 0 and at not in taken:
        item = items[at]
        if _site_of(item):
            found.places.extend([*links, at] if is_site(item) else [])
            found.sites[:0] = _site_of(item).split()
            found.plural = found.plural or _is_pair(item)
            links = []
            if not is_site(item):
                break
            if twin := _twin(items, at - 2):
                found.places.extend([at - 1, at - 2])
                found.sites.insert(0, twin)
                at -= 2
        elif item.is_mark("and", "or") and found.places:
            links.append(at)
        else:
            break
        at -= 1
    return found


def _is_relative(items: Sequence[Item], at: int) -> bool:
    """Say whether a comma stands before "which": "the lateral joint line, which is tender"."""
    return items[at].is_break(",") and items[at + 1].is_mark("and") and items[at + 1].text == "which"


def _labels(items: Sequence[Item], at: int) -> bool:
    """Say whether a colon stands behind a site: "joint lines: not tender"."""
    return at > 0 and items[at].is_break(":") and items[at - 1].tag is Tag.SITE


def _skips(item: Item) -> bool:
    degree = isinstance(item.value, Describing) and item.value.degree is not None
    return degree or item.tag is Tag.SIDE or item.is_mark("no", "knee", "and") or item.tag is Tag.COMPARTMENT


def _site_of(item: Item) -> str:
    if item.tag is Tag.SITE:
        return str(item.value)
    return str(item.other(Tag.SITE) or item.sign.site) if item.sign is not None else ""


def _is_other_head(items: Sequence[Item], at: int, *, comma: bool) -> bool:
    """Say whether a word that is a site and a sign stands here as the sign."""
    if items[at].tag is not Tag.SIGN:
        return False
    described = item_at(items, at + 1).tag in {Tag.DESCRIBING, Tag.NUMBER, Tag.ANGLE}
    return described or (comma and items[at].sign is None)


def _twin(items: Sequence[Item], at: int) -> str:
    """Return the site meant by the first word of "medial and lateral joint line", or nothing."""
    if at < 0 or at + 2 >= len(items) or items[at].tag is not Tag.COMPARTMENT:
        return ""
    if not items[at + 1].is_mark("and", "or") or not _site_of(items[at + 2]):
        return ""
    site, compartment = _site_of(items[at + 2]), str(items[at].value).removesuffix("ly")
    if site in _OWN_TWINS:
        return _OWN_TWINS[site]
    if compartment not in _TWINS or _TWINS[compartment][0] not in site:
        return ""
    return site.replace(*_TWINS[compartment])
