"""Words with two meanings, settled by their neighbours: tenderness finds its sites, varus its test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.dictation.items import Item, Quantity
from fabella.dictation.lexicon import Describing, Lexicon, SignWord, Tag
from fabella.dictation.nodes import Head

_TWINS = {"medial": ("lateral", "medial"), "lateral": ("medial", "lateral")}
_OWN_TWINS = {"tenderness_mcl": "tenderness_lcl", "tenderness_lcl": "tenderness_mcl"}
_A_PAIR = 3
_BENDS_DEG = {0, 20, 25, 30, 90}
_STABILITY = {"stable", "lax", "firm", "increased"}


@dataclass(slots=True)
class _Found:
    """Sites found beside a head: the items they stand in, and the signs they mean."""

    places: list[int]
    sites: list[str]


def settle(items: Sequence[Item], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items with each homonym given one part; signs that need a site have become heads with it."""
    kept = _without_both(_elsewhere(_reasons(list(items))))
    kept = _sites(_shortfalls(kept))
    return tuple(_feels(_one_stress_test(_bends(_directions(kept, lexicon))), lexicon))


def _shortfalls(items: list[Item]) -> list[Item]:
    """Return the items with "lacks ten degrees of extension" as one sign and its number."""
    kept: list[Item] = []
    for item in items:
        lacking = kept[-2] if len(kept) > 1 and kept[-1].tag is Tag.NUMBER else None
        if item.tag is not Tag.SIGN or lacking is None or not _reads(lacking, "shortfall"):
            kept.append(item)
        elif _reads(item, "extension") or "passive_extension" in item.value.to:
            whole = Head(
                word=lacking.value, pieces=((lacking.first, lacking.last), (item.first, item.last)), text=lacking.text
            )
            kept[-2] = replace(lacking, value=whole)
        elif _reads(item, "flexion"):
            word = replace(item.value, to=(), reader="", aside="what is missing from a full bend is no reading; say how far it bends")
            pieces = ((lacking.first, lacking.last), (item.first, item.last))
            kept[-2] = replace(lacking, value=Head(word=word, pieces=pieces, text=item.text))
        else:
            kept.append(item)
    return kept


def _reads(item: Item, reader: str) -> bool:
    return item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.reader == reader


# ------------------------------------------------------------------ other parts of the body, and "both"


def _reasons(items: list[Item]) -> list[Item]:
    """Return the items in which what follows "because of" is a reason and no sign."""
    kept = list(items)
    for place, item in enumerate(items[1:], start=1):
        if items[place - 1].is_mark("because", "cannot") and (reason := item.other(Tag.REASON)):
            kept[place] = replace(item, tag=Tag.REASON, value=reason, others=())
    return kept


def _elsewhere(items: list[Item]) -> list[Item]:
    """Return the items in which warmth or swelling of another part of the body is no sign of the knee."""
    kept = list(items)
    for place, item in enumerate(items):
        if not (item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.surface):
            continue
        before = place - 1
        while before >= 0 and (items[before].is_mark("no") or items[before].tag is Tag.DESCRIBING):
            before -= 1
        after = items[place + 1] if place + 1 < len(items) else None
        if after is not None and after.is_mark("preposition") and place + 2 < len(items):
            after = items[place + 2]
        if (before >= 0 and _is_elsewhere(items[before])) or (after is not None and _is_elsewhere(after)):
            kept[place] = replace(item, value=replace(item.value, aside="it is not said of the knee"))
    return kept


def _is_elsewhere(item: Item) -> bool:
    calf = item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.name in {"calf", "hip"}
    return calf or item.is_mark("elsewhere")


def _without_both(items: list[Item]) -> list[Item]:
    """Return the items without "both" where it counts two tests: "Lachman and posterior drawer both negative"."""
    return [item for place, item in enumerate(items) if not _counts_tests(items, place)]


def _counts_tests(items: Sequence[Item], place: int) -> bool:
    if items[place].tag is not Tag.SIDE or items[place].text != "both" or place + 1 >= len(items):
        return False
    if items[place + 1].tag is Tag.DESCRIBING:
        if place > 1 and items[place - 1].is_break(":") and items[place - 2].tag is Tag.SIDE:
            return True
        tags = [item for item in items[max(0, place - 3) : place] if not item.is_mark("preposition")]
        return len(tags) == _A_PAIR and tags[0].tag is tags[2].tag is Tag.SIGN and tags[1].is_mark("and")
    pair = items[place + 1 : place + 1 + _A_PAIR]
    return len(pair) == _A_PAIR and pair[0].tag is pair[2].tag is Tag.SIGN and pair[1].is_mark("and")


# ------------------------------------------------------------------ sites


def _sites(items: list[Item]) -> list[Item]:
    taken: set[int] = set()
    heads: dict[int, Item] = {}
    for place, item in enumerate(items):
        if not _wants_site(item):
            continue
        found = _choose(items, place, taken)
        found.sites = found.sites or _inherited(items, place, heads)
        taken.update(found.places)
        pieces = tuple((items[each].first, items[each].last) for each in sorted([*found.places, place]))
        head = Head(
            word=item.value, pieces=pieces, sites=tuple(dict.fromkeys(found.sites)), plural=item.plural,
            text=item.text,
        )  # fmt: skip
        heads[place] = replace(item, value=head)
    return [heads.get(place, item) for place, item in enumerate(items) if place not in taken]


def _wants_site(item: Item) -> bool:
    return (
        item.tag is Tag.SIGN
        and isinstance(item.value, SignWord)
        and (item.value.reader == "tenderness" or bool(item.value.at))
    )


def _choose(items: Sequence[Item], place: int, taken: set[int]) -> _Found:
    """Return the sites after a head, or those before it where they stand closer."""
    before, after = _before(items, place, taken), _after(items, place, taken)
    if not before.sites or not after.sites:
        return before if before.sites else after
    linked = place + 1 < len(items) and items[place + 1].is_mark("preposition")
    return after if linked else before


def _inherited(items: Sequence[Item], place: int, heads: dict[int, Item]) -> list[str]:
    """Return the sites of the sign right before: "calf soft and not tender"."""
    at = place - 1
    while at >= 0 and (_skips(items[at]) or items[at].is_break(",")):
        at -= 1
    if at in heads and isinstance(heads[at].value, Head):
        return list(heads[at].value.sites) if at < place - 1 else []
    return [_site_of(items[at])] if at >= 0 and isinstance(items[at].value, SignWord) and items[at].value.site else []


def _after(items: Sequence[Item], place: int, taken: set[int]) -> _Found:
    found = _Found([], [])
    links: list[int] = []
    at = place + 1
    while at < len(items):
        item = items[at]
        if _site_of(item) and at not in taken and not _is_other_head(items, at, comma=bool(links) and bool(found.places)):
            found.places.extend([*links, at] if _is_site(item) else [])
            found.sites.extend(_site_of(item).split())
            links = []
        elif (twin := _twin(items, at)) and at not in taken:
            found.places.extend([*links, at, at + 1])
            found.sites.append(twin)
            links = []
        elif item.tag is Tag.DESCRIBING and not found.sites and not _reads(items[place], "tenderness"):
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
    while at >= 0 and _skips(items[at]):
        at -= 1
    links: list[int] = []
    while at >= 0 and at not in taken:
        item = items[at]
        if _site_of(item):
            found.places.extend([*links, at] if _is_site(item) else [])
            found.sites[:0] = _site_of(item).split()
            links = []
            if not _is_site(item):
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


def _skips(item: Item) -> bool:
    degree = item.tag is Tag.DESCRIBING and isinstance(item.value, Describing) and item.value.degree is not None
    return degree or item.tag is Tag.SIDE or item.is_mark("no", "knee", "and") or item.tag is Tag.COMPARTMENT


def _site_of(item: Item) -> str:
    if item.tag is Tag.SITE:
        return str(item.value)
    other = item.other(Tag.SITE) if isinstance(item.value, SignWord) else None
    if other:
        return str(other)
    return str(item.value.site) if isinstance(item.value, SignWord) and item.value.site else ""


def _is_site(item: Item) -> bool:
    """Say whether a word is a site itself, and not a sign that stands at one."""
    return item.tag is Tag.SITE or item.other(Tag.SITE) is not None


def _is_other_head(items: Sequence[Item], at: int, *, comma: bool) -> bool:
    """Say whether a word that is a site and a sign stands here as the sign."""
    if items[at].tag is not Tag.SIGN:
        return False
    following = items[at + 1] if at + 1 < len(items) else None
    described = following is not None and following.tag in {Tag.DESCRIBING, Tag.NUMBER, Tag.ANGLE}
    return described or (comma and not isinstance(items[at].value, SignWord))


def _twin(items: Sequence[Item], at: int) -> str:
    """Return the site meant by the first word of "medial and lateral joint line", or nothing."""
    if at < 0 or at + 2 >= len(items) or items[at].tag is not Tag.COMPARTMENT:
        return ""
    if not items[at + 1].is_mark("and", "or") or not _site_of(items[at + 2]):
        return ""
    site, compartment = _site_of(items[at + 2]), str(items[at].value)
    if site in _OWN_TWINS:
        return _OWN_TWINS[site]
    if compartment not in _TWINS or _TWINS[compartment][0] not in site:
        return ""
    return site.replace(*_TWINS[compartment])


# ------------------------------------------------------------------ varus and valgus


def _directions(items: list[Item], lexicon: Lexicon) -> list[Item]:
    """Make varus and valgus a direction of a stress test, or else the alignment of the leg."""
    settled: list[Item] = []
    for place, item in enumerate(items):
        if item.tag is not Tag.BOW:
            settled.append(item)
        elif _reaches_test(items, place) or _aligned(items, place):
            settled.append(item)
        elif _stressed(items, place):
            word = replace(lexicon.stress, bow=item.value)
            settled.append(replace(item, tag=Tag.SIGN, value=word, others=()))
        else:
            word = SignWord(
                name=f"{item.value} alignment", to=(f"{item.value}_alignment",), bow=item.value,
                reader="alignment", group="alignment",
            )  # fmt: skip
            settled.append(replace(item, tag=Tag.SIGN, value=word, others=()))
    return settled


def _reaches_test(items: Sequence[Item], place: int) -> bool:
    """Say whether a stress test is named right beside the direction, so that it needs none of its own."""
    for step in (1, -1):
        at = place + step
        while 0 <= at < len(items) and _leads_to_test(items, at, backwards=step < 0):
            at += step
        if 0 <= at < len(items) and _is_stress(items[at]):
            return True
    return False


def _leads_to_test(items: Sequence[Item], at: int, *, backwards: bool) -> bool:
    if items[at].tag is Tag.BOW or items[at].is_mark("and", "or", "preposition") or items[at].is_break("/"):
        return True
    between = items[at].tag in {Tag.ANGLE, Tag.NUMBER, Tag.COMPARTMENT}
    return between and (not backwards or items[at + 1].is_mark("preposition"))


def _is_stress(item: Item) -> bool:
    return item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.reader == "stress"


def _stressed(items: Sequence[Item], place: int) -> bool:
    return any(_speaks_of_stability(item) for item in _beside(items, place))


def _beside(items: Sequence[Item], place: int) -> list[Item]:
    """Return what follows a direction up to the next sign or break, and what stands right before it."""
    following: list[Item] = []
    for item in items[place + 1 :]:
        if item.tag in {Tag.SIGN, Tag.SIDE} or item.is_break(".", ",", ":"):
            break
        if item.tag is not Tag.BOW and not item.is_mark("and", "or") and not item.is_break("/"):
            following.append(item)
    before = place - 1
    while before >= 0 and (
        items[before].is_mark("and", "or", "preposition") or items[before].is_break("/") or items[before].tag is Tag.BOW
    ):
        before -= 1
    preceding = [items[before]] if before >= 0 else []
    return [*following[:2], *(item for item in preceding if item.tag is Tag.DESCRIBING)]


def _speaks_of_stability(item: Item) -> bool:
    value = item.value
    if item.tag is Tag.ANGLE:
        return True
    if isinstance(value, Quantity):
        return value.unit == "mm"
    if not isinstance(value, Describing):
        return False
    return value.key in _STABILITY or value.grade is not None or value.key in {"positive", "negative"}


def _aligned(items: Sequence[Item], place: int) -> bool:
    """Say whether the word alignment stands beside, so that varus only tells how it is."""
    around = [*items[max(0, place - 3) : place], *items[place + 1 : place + 3]]
    return any(
        item.tag is Tag.SIGN and isinstance(item.value, SignWord) and item.value.name == "alignment"
        for item in around
    )


# ------------------------------------------------------------------ one stress test


def _bends(items: list[Item]) -> list[Item]:
    """Return the items in which degrees beside a stress or dial test are the bend at which it was done."""
    kept = list(items)
    for place, item in enumerate(items):
        if not isinstance(item.value, Quantity) or not _is_bent_test(items, place):
            continue
        graded = place + 1 < len(items) and items[place + 1].tag is Tag.DESCRIBING
        if item.value.unit == "deg" or (not item.value.unit and graded and item.value.value in _BENDS_DEG):
            kept[place] = replace(item, tag=Tag.ANGLE, value=(item.value.value,))
    return kept


def _is_bent_test(items: Sequence[Item], place: int) -> bool:
    before = place - 1
    while before >= 0 and items[before].tag in {Tag.COMPARTMENT, Tag.BOW, Tag.ANGLE}:
        before -= 1
    return before >= 0 and (_is_stress(items[before]) or _reads(items[before], "dial"))


def _one_stress_test(items: list[Item]) -> list[Item]:
    """Return the items with "varus stress opens" or "MCL grade 2 laxity" as one test."""
    kept: list[Item] = []
    last: int | None = None
    for item in items:
        if _is_stress(item):
            joined = _joined_test(kept[last], item) if last is not None else None
            if joined is not None and last is not None:
                kept[last] = joined
                last = None
                continue
            last = len(kept)
        elif not _stands_inside_test(item):
            last = None
        kept.append(item)
    return kept


def _joined_test(first: Item, second: Item) -> Item | None:
    """Return two names of one stress test as one, or None where each names its own."""
    generic = {"opens", "stress"}
    names = {first.value.name, second.value.name}
    if not names & generic or (first.value.bow and second.value.bow):
        return None
    if not first.value.bow and second.value.bow and first.value.name != "opens":
        return None
    leading = first.value if first.value.name == "opens" else second.value
    word = replace(leading, bow=first.value.bow or second.value.bow)
    pieces = ((first.first, first.last), (second.first, second.last))
    return replace(first, value=Head(word=word, pieces=pieces, text=first.text))


def _stands_inside_test(item: Item) -> bool:
    if item.tag is Tag.DESCRIBING:
        return item.value.degree is not None or item.value.grade is not None
    between = {Tag.BOW, Tag.COMPARTMENT, Tag.ANGLE, Tag.SIDE, Tag.NUMBER}
    return item.tag in between or item.is_mark("preposition")


def _feels(items: list[Item], lexicon: Lexicon) -> list[Item]:
    """Return the items in which "firm" or "soft" behind the grade of a Lachman test is its end point."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        feel = item.tag is Tag.DESCRIBING and item.value.key in {"firm", "soft"}
        if feel and _is_graded_lachman(items, place) and not _goes_on(items, place):
            kept.append(replace(item, tag=Tag.SIGN, value=lexicon.end_point, others=()))
        kept.append(item)
    return kept


def _is_graded_lachman(items: Sequence[Item], place: int) -> bool:
    before = place - 1
    while before >= 0 and (items[before].is_break(",") or items[before].is_mark("and", "preposition")):
        before -= 1
    if before < 1:
        return False
    grade = items[before]
    graded = (grade.tag is Tag.DESCRIBING and grade.value.grade is not None) or grade.tag is Tag.NUMBER
    test = items[before - 1]
    if test.tag is Tag.SIDE and before > 1:
        test = items[before - 2]
    return graded and test.tag is Tag.SIGN and isinstance(test.value, SignWord) and test.value.name == "lachman"


def _goes_on(items: Sequence[Item], place: int) -> bool:
    """Say whether "firm" belongs to something after it: an end point named, a bend, a direction."""
    following = items[place + 1] if place + 1 < len(items) else None
    return following is not None and following.tag in {Tag.SIGN, Tag.ANGLE, Tag.BOW, Tag.COMPARTMENT}
