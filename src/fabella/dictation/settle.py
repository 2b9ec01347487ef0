"""Words with two meanings, settled by their neighbours, before the parser sees them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from difflib import SequenceMatcher
from functools import partial

from fabella.anatomy import Side
from fabella.dictation.behind_tests import settle_behind_tests
from fabella.dictation.bends import find_bends, join_repeated_bends, part_bends
from fabella.dictation.boths import count_boths
from fabella.dictation.contrasts import end_contrasts, leave_apologies, name_drawers
from fabella.dictation.differences import settle_differences
from fabella.dictation.end_points import drop_end_points, find_end_points
from fabella.dictation.girths import name_girths, place_girths
from fabella.dictation.items import Item, Quantity, item_at, reads
from fabella.dictation.lumps import join_lumps
from fabella.dictation.noes import settle_noes
from fabella.dictation.nothings import settle_lacking
from fabella.dictation.pairs import join_pairs
from fabella.dictation.positions import settle_positions
from fabella.dictation.powers import is_of_foot, settle_powers
from fabella.dictation.respective import share_respectively
from fabella.dictation.rest import join_rest
from fabella.dictation.rows import join_rows
from fabella.dictation.shortfalls import find_short_of_straight, join_shortfalls
from fabella.dictation.signed import settle_signed
from fabella.dictation.similes import drop_similes
from fabella.dictation.site_lists import say_sore
from fabella.dictation.sites import find_sites
from fabella.dictation.stability import settle_stability
from fabella.dictation.stress import find_directions, join_stress_tests
from fabella.dictation.ties import tie_words
from fabella.dictation.vocabulary import Lexicon, Tag
from fabella.dictation.which_part import settle_parts

_OF_ANOTHER = "it is not said of the knee"
_OTHER_PARTS = {"calf", "calf soft", "calf tense", "hip rom"}
_MOVES = {"range_of_motion_limited", "passive_flexion", "passive_extension"}
_BOUNDS = ("less", "more", "greater", "at least", "at most")
_SIGNS_OF_BOUNDS = (">", "<", "≥", "≤")
_OF_ONE_KNEE = ("medially", "laterally")  # "on both sides of the right knee"
_MISSPELT = 0.85  # judgement: one letter more or less in "left"


def settle(items: Sequence[Item], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the items with each homonym given one part; signs that need a site have become heads with it.

    The order of the steps matters: each sees what those before it have settled.
    """
    steps: tuple[Callable[[list[Item]], Sequence[Item]], ...] = (
        partial(name_girths, lexicon=lexicon),  # "15 cm above the patella, 48 on the right"
        place_girths,  # "girth at 15 cm, 48 on the right"
        drop_similes,  # "soft as butter"
        name_drawers,  # "the drawer" behind "posterior drawer"
        end_contrasts,  # "on the left not on the right", then another sign
        leave_apologies,  # "excuse me, …": puts nothing right
        settle_parts,  # "the lateral side is fine": a ligament, or a place
        partial(settle_stability, lexicon=lexicon),  # "knee stable to varus": in that only
        settle_lacking,  # "lacks tenderness", "0 laxity": a no
        partial(tie_words, lexicon=lexicon),  # "glide 3 quadrants", "stiff 10 minutes in the morning"
        settle_signed,  # "extension zero", "plus five"
        settle_differences,  # "3 cm thinner": a girth, and no reading
        settle_powers,  # "power 5/5": of the knee, or of what?
        join_rows,  # "range 0 140", "holds it flexed 20"
        share_respectively,  # "right and left 130 and 110 respectively"
        join_pairs,  # "on the left and on the right", "right/left 2+/0"
        join_rest,  # "rest as right"
        _misspelt_sides,
        settle_noes,  # it denies, answers, puts right or takes back
        _which_knee,  # "the painful knee", "the left foot"
        join_lumps,  # a lump takes its size, feel and place
        settle_behind_tests,  # "Lachman unable", "McMurray: medial pain"
        _reasons,  # "because of pain"
        _elsewhere,  # "calf warm": no sign of the knee
        count_boths,  # "both" knees, tests or bends
        settle_positions,  # pain "on full extension"
        _bounds,  # "less than two seconds"
        partial(find_short_of_straight, lexicon=lexicon),  # "springy block 15 degrees short"
        join_shortfalls,  # "lacks ten degrees of extension"
        partial(say_sore, lexicon=lexicon),  # "the joint line is sore": tender
        find_sites,  # tenderness takes its place
        partial(find_directions, lexicon=lexicon),  # varus: a stress test, or the alignment
        find_bends,  # "valgus 30 degrees": where it was done
        part_bends,  # "8 mm at 30, and at 0 stable"
        join_repeated_bends,
        join_stress_tests,  # "MCL grade 2 laxity": one test
        drop_end_points,  # that of a stress test has no sign
        partial(find_end_points, lexicon=lexicon),  # "Lachman 2+ firm"
    )
    kept = list(items)
    for step in steps:
        kept = list(step(kept))
    return tuple(kept)


def _misspelt_sides(items: Sequence[Item]) -> list[Item]:
    return [_misspelt_side(item) for item in items]


def _misspelt_side(item: Item) -> Item:
    """Return a word that may be a misspelt side as a side not known, so that what follows is asked about."""
    if item.tag is not Tag.UNKNOWN:
        return item
    likes = any(
        sorted(item.text) == sorted(side) or SequenceMatcher(a=item.text, b=side).ratio() >= _MISSPELT
        for side in Side
    )
    return replace(item, tag=Tag.SIDE, value="") if likes else item


def _which_knee(items: list[Item]) -> list[Item]:
    """Return the items in which "the unaffected knee" and "the left foot" before its pulses name a knee."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        following = item_at(items, place + 1)
        if kept and item.tag is Tag.SIDE and item.of and kept[-1].tag is Tag.SIDE and "side" in kept[-1].text:
            medially, laterally = (
                replace(kept[-1], tag=Tag.COMPARTMENT, value=each) for each in _OF_ONE_KNEE
            )
            kept[-1:] = [medially, replace(kept[-1], tag=Tag.MARK, value="and"), laterally, item]
        elif kept and item.is_mark("elsewhere") and _joins_foot(kept, following):
            kept[-1] = replace(kept[-1], last=item.last)
        elif (side := _named_by(item, following)) is not None:
            kept.append(replace(item, tag=Tag.SIDE, value=side, others=()))
        elif item.tag is Tag.SIDE and item.text == "other" and _is_next_word(item, following):
            kept.append(replace(item, tag=Tag.MARK, value="rest"))
        else:
            kept.append(item)
    return kept


def _joins_foot(kept: Sequence[Item], following: Item) -> bool:
    """Say whether a foot only tells which leg, or where, the pulses and nerves beside it are."""
    told = next((each for each in reversed(kept) if each.tag is Tag.SIGN or each.is_break(".")), kept[0])
    if kept[-1].is_mark("preposition"):
        return is_of_foot(told)
    return kept[-1].tag is Tag.SIDE and (is_of_foot(following) or is_of_foot(told))


def _named_by(item: Item, following: Item) -> str | None:
    """Return the side that "good" or "painful" names before "knee"."""
    if item.tag is not Tag.DESCRIBING or not following.is_mark("knee"):
        return None
    side = item.other(Tag.SIDE)
    return None if side is None else str(side)


def _is_next_word(item: Item, following: Item) -> bool:
    """Say whether a sign follows at once, so that "other ligaments" are not those of the other knee."""
    return following.tag is Tag.SIGN and following.first == item.last


def _reasons(items: list[Item]) -> list[Item]:
    """Return the items in which what follows "because of" is a reason and no sign."""
    kept = list(items)
    for place, item in enumerate(items[1:], start=1):
        before = items[place - 1]
        as_reason = _gives_reason(items, place - 1)
        if (before.is_mark("because", "cannot") or as_reason) and (reason := item.other(Tag.REASON)):
            kept[place] = replace(item, tag=Tag.REASON, value=reason, others=())
            kept[place - 1] = replace(before, value="because") if as_reason else before
    return kept


def _gives_reason(items: Sequence[Item], place: int) -> bool:
    """Say whether "as" tells why something was not done: "not attempted as apprehensive", "as too sore"."""
    if not (items[place].is_mark("like") and items[place].text.startswith("as")):
        return False
    start = next((at for at in range(place - 1, -1, -1) if items[at].is_break(".", ",")), 0)
    return any(item.is_mark("cannot", "not_done") for item in items[start:place])


def _elsewhere(items: list[Item]) -> list[Item]:
    """Return the items in which warmth or swelling of another part of the body is no sign of the knee."""
    kept = list(items)
    for place, item in enumerate(items):
        if item.sign is None or not item.sign.surface:
            continue
        moves = bool(_MOVES.intersection(item.sign.to))
        before = place - 1 - _opens_piece(items, place)  # "hips: right moves normally, left stiff"
        while before >= 0 and _leads_elsewhere(items[before], over_commas=not moves):
            before -= 1
        after = place + 1 + item_at(items, place + 1).is_mark("preposition")
        if _is_elsewhere(item_at(kept, before)) or _is_elsewhere(item_at(items, after)):
            kept[place] = replace(item, value=replace(item.sign, aside=_OF_ANOTHER))
    return kept


def _leads_elsewhere(item: Item, *, over_commas: bool) -> bool:
    """Say whether a word may part another part of the body from its sign: "calf tender and swollen"."""
    return (
        reads(item, "tenderness")
        or item.is_mark("no", "and", "or")
        or item.tag is Tag.DESCRIBING
        or (over_commas and item.is_break(","))
    )


def _opens_piece(items: Sequence[Item], place: int) -> int:
    """Return how many words lead from a sign back over the colon, or the side and the comma, before it."""
    side = item_at(items, place - 1).tag is Tag.SIDE
    parted = item_at(items, place - 1 - side)
    alone = parted.is_break(".") and item_at(items, place - side - 3).is_break(".")  # "Hips. Left stiff."
    return side + 1 if parted.is_break(":") or alone or (side and parted.is_break(",")) else 0


def _is_elsewhere(item: Item) -> bool:
    other_part = item.sign is not None and (item.sign.name in _OTHER_PARTS or item.sign.aside == _OF_ANOTHER)
    return other_part or item.is_mark("elsewhere")


def _bounds(items: list[Item]) -> list[Item]:
    """Return the items with "less than two seconds" as one, since it is no reading."""
    kept: list[Item] = []
    for place, item in enumerate(items):
        after = item_at(items, place + 1)
        if kept and isinstance(item.value, Quantity) and _is_bound(kept[-1], item.value, after):
            text = f"{kept[-1].text} {item.value.value:g} {item.value.unit}".strip()
            kept[-1] = replace(kept[-1], tag=Tag.MARK, value="bound", last=item.last, text=text)
        else:
            kept.append(item)
    return kept


def _is_bound(before: Item, number: Quantity, after: Item) -> bool:
    """Say whether a number only bounds what was found; before a side it is the reading of the other knee."""
    told = before.is_mark("than") and before.text.startswith(_BOUNDS)
    told = told or (before.is_mark("preposition") and before.text == "under" and number.unit == "s")
    if not told and not (before.tag is Tag.UNKNOWN and before.text in _SIGNS_OF_BOUNDS):
        return False
    return number.unit == "s" or not _names_side(after)


def _names_side(item: Item) -> bool:
    return item.tag is Tag.SIDE or item.is_mark("preposition")
