"""Words that say something else right behind a test: "Lachman unable", "McMurray: medial pain"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.items import Item
from fabella.dictation.vocabulary import Class, Describing, SignWord, Tag

_WHERE = {"pain_medial": "medial", "pain_lateral": "lateral"}
POP_ON_TEST = "a pop felt on a test has no sign; was it painful?"
_PAINFUL = Describing(key="painful", pain="present")


def settle_behind_tests(items: Sequence[Item]) -> list[Item]:
    """Return the items in which "unable" bars a test, and pain that a test provokes is its result."""
    kept: list[Item] = []
    for item in items:
        where = _provoked(item)
        test = _test_before(kept, over_results=bool(where))
        if test is not None and _is_barred(item, test):
            kept.append(replace(item, tag=Tag.MARK, value="cannot", others=()))
        elif test is not None and _is_pop(item):
            kept.append(replace(item, tag=Tag.UNKNOWN, value=POP_ON_TEST, others=()))
        elif test is not None and where in test.refine:
            kept.append(replace(item, tag=Tag.COMPARTMENT, value=where, others=()))
            kept.append(replace(item, tag=Tag.DESCRIBING, value=_PAINFUL, others=()))
        else:
            kept.append(item)
    return kept


def _test_before(items: Sequence[Item], *, over_results: bool) -> SignWord | None:
    """Return the test that stands last, but for a side, and for pain of the other knee."""
    for item in reversed(items):
        if item.sign is not None:
            return item.sign if item.sign.kind is Class.TEST else None
        between = item.tag is Tag.SIDE or item.is_break(":") or item.is_mark("knee")
        result = item.value == _PAINFUL or item.tag is Tag.COMPARTMENT or item.is_break(",")
        if not between and not (over_results and result):
            return None
    return None


def _is_barred(item: Item, test: SignWord) -> bool:
    """Say whether "unable" cannot be said of a test as its result."""
    return item.tag is Tag.DESCRIBING and item.value.key == "unable" and test.group not in item.value.fits


def _is_pop(item: Item) -> bool:
    """Say whether a word tells of a pop, which behind a test is none that was heard at the injury."""
    return item.sign is not None and item.sign.to == ("pop_heard",)


def _provoked(item: Item) -> str:
    """Return where the pain is that a word of the history tells, or nothing."""
    to = item.sign.to if item.sign is not None else ()
    return next((_WHERE[each] for each in to if each in _WHERE), "")
