"""Three-valued logic against its definition: an answer holds for every way of filling in the unknowns."""

from collections.abc import Callable, Iterator
from itertools import product

import pytest
from hypothesis import given as hypothesis_given
from hypothesis import strategies as st

from fabella.flags.logic import Truth, agreed, all_of, any_of, at_least, denial, given, hint, negate

TRUTHS = st.sampled_from([True, False, None])
LISTS = st.lists(TRUTHS, max_size=6)

# Kleene 1952, section 64: strong conjunction and disjunction (from memory), rows and columns T, U, F.
ORDER: tuple[Truth, ...] = (True, None, False)
AND: tuple[tuple[Truth, ...], ...] = ((True, None, False), (None, None, False), (False, False, False))
OR: tuple[tuple[Truth, ...], ...] = ((True, True, True), (True, None, None), (True, None, False))


def fillings(truths: list[Truth]) -> Iterator[tuple[bool, ...]]:
    """Every way of deciding the unknown ones."""
    return product(*([True, False] if truth is None else [truth] for truth in truths))


def by_filling(truths: list[Truth], test: Callable[[tuple[bool, ...]], bool]) -> Truth:
    """What holds under every filling, unknown when fillings differ."""
    results = {test(filling) for filling in fillings(truths)}
    return results.pop() if len(results) == 1 else None


@pytest.mark.parametrize(("row", "column"), list(product(range(3), range(3))))
def test_the_connectives_have_the_published_tables(row: int, column: int) -> None:
    """Conjunction and disjunction agree with the printed truth tables."""
    assert all_of(ORDER[row], ORDER[column]) is AND[row][column]
    assert any_of(ORDER[row], ORDER[column]) is OR[row][column]


@hypothesis_given(LISTS)
def test_all_any_and_not_hold_for_every_filling(truths: list[Truth]) -> None:
    """A connective says true or false exactly when every filling of the unknowns agrees."""
    assert all_of(*truths) is by_filling(truths, all)
    assert any_of(*truths) is by_filling(truths, any)
    assert all(negate(truth) is by_filling([truth], lambda one: not one[0]) for truth in truths)


@hypothesis_given(LISTS, st.integers(0, 6))
def test_counting_holds_for_every_filling(truths: list[Truth], count: int) -> None:
    """`at_least` says true or false exactly when every filling of the unknowns agrees."""
    assert at_least(count, *truths) is by_filling(truths, lambda filling: sum(filling) >= count)


@hypothesis_given(LISTS)
def test_signs_of_one_thing_never_outvote_each_other(truths: list[Truth]) -> None:
    """Unknown signs are passed over; signs that disagree leave the thing unknown."""
    known = set(truths) - {None}
    assert agreed(*truths) is (None if len(known) != 1 else known.pop())


def test_presence_and_absence_speak_alone() -> None:
    """A hint is never false, a denial is never true."""
    assert [hint(truth) for truth in ORDER] == [True, None, None]
    assert [denial(truth) for truth in ORDER] == [None, None, False]


def test_a_missing_value_is_unknown() -> None:
    """A test of a value that was not taken gives unknown, whatever the test."""
    assert given(None, lambda _: True) is None
    assert given(0.0, lambda value: value == 0) is True
