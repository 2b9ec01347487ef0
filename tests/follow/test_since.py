from collections.abc import Sequence
from dataclasses import replace
from operator import attrgetter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.follow import comparisons
from fabella.record import Examination, ProcedureName, Sex
from tests.follow.notation import EDITION, LEFT, PROTOCOL, RIGHT, operation, read, visit

DONE = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT, weeks=10)


def seen(weeks: float, *complaint: Side, operated: bool = False) -> Examination:
    """A visit with a complaint, at which flexion was measured."""
    made = visit(weeks, read("passive_flexion", 100 + weeks), procedure=DONE if operated else None)
    return replace(made, context=replace(made.context, complaint=complaint or None))


def weeks_of(now: Examination, *earlier: Examination) -> list[tuple[str, bool]]:
    """Which visits a visit is compared with, and whether they were before the operation."""
    found = tuple(comparisons(now, earlier, edition=EDITION, protocol=PROTOCOL))
    return [(each.earlier.id, each.before_operation) for each in found]


def test_a_first_visit_is_compared_with_nothing() -> None:
    """Without an earlier visit there is no comparison."""
    assert weeks_of(seen(3, RIGHT)) == []


def test_the_visit_before_comes_first_then_the_first_with_the_same_knee() -> None:
    """In whatever order they are given; a complaint of the other knee does not begin this one."""
    earlier = (seen(6, RIGHT), seen(0, LEFT), seen(4, RIGHT, LEFT), seen(2, RIGHT))
    assert weeks_of(seen(8, RIGHT), *earlier) == [("week-6", False), ("week-2", False)]
    assert weeks_of(seen(8), *earlier) == [("week-6", False)]
    assert weeks_of(seen(3, RIGHT), seen(2, RIGHT)) == [("week-2", False)]


def test_a_visit_about_the_other_knee_in_between_does_not_stand_for_the_last_one() -> None:
    """The last one about the same knee comes first, then that of the other knee, then the beginning."""
    earlier = (seen(0, RIGHT), seen(2, LEFT), seen(4, RIGHT), seen(6, LEFT))
    assert weeks_of(seen(8, RIGHT), *earlier) == [("week-4", False), ("week-6", False), ("week-0", False)]
    assert weeks_of(seen(8, LEFT), *earlier) == [("week-6", False), ("week-2", False)]
    assert weeks_of(seen(8, LEFT, RIGHT), *earlier)[0] == ("week-6", False)
    operated = weeks_of(seen(20, RIGHT, operated=True), *earlier, seen(12, RIGHT), seen(14, LEFT))
    assert operated == [("week-12", False), ("week-14", False), ("week-4", True)]


def test_after_an_operation_it_begins_with_the_last_visit_before_it() -> None:
    """Not with the first complaint, and not where the operation was of a knee that is not complained of."""
    earlier = (seen(0, RIGHT), seen(5, RIGHT), seen(12, RIGHT))
    now = seen(20, RIGHT, operated=True)
    assert weeks_of(now, *earlier) == [("week-12", False), ("week-5", True)]
    assert weeks_of(now, *earlier[:2]) == [("week-5", True)]
    left = replace(now, context=replace(now.context, complaint=(LEFT,)))
    assert weeks_of(left, *earlier) == [("week-12", False)]


def test_a_comparison_is_the_course_of_its_two_visits() -> None:
    """What stands between them has no part in it."""
    found = tuple(
        comparisons(seen(8, RIGHT), [seen(0, RIGHT), seen(4, RIGHT)], edition=EDITION, protocol=PROTOCOL)
    )
    values = [[point.value for point in each.course.measures[0].points] for each in found]
    assert values == [[104, 108], [100, 108]]


@pytest.mark.parametrize("weeks", [8, 9])
def test_a_visit_of_the_same_day_or_later_is_refused(weeks: int) -> None:
    """It is named, with what to give instead."""
    with pytest.raises(InputError, match=f"week-{weeks}: .* is not earlier than week-8"):
        weeks_of(seen(8, RIGHT), seen(1, RIGHT), seen(weeks, RIGHT))


def test_another_patient_or_no_day_is_refused() -> None:
    """Even one that would not have been compared with."""
    others = (
        (replace(seen(0, RIGHT), examined_on=None), "has no examined_on"),
        (visit(0, sex=Sex.MALE), "is another sex"),
        (visit(0, label="Somebody Else"), "is another label"),
    )
    named = visit(8, label="Invented Person", sex=Sex.FEMALE)
    for other, why in others:
        with pytest.raises(InputError, match=why):
            weeks_of(named, seen(2, RIGHT), other, seen(4, RIGHT))


def chosen_of(now: Examination, earlier: Sequence[Examination]) -> list[Examination]:
    """The earlier examinations that one is compared with, in the order of time."""
    found = [each.earlier for each in comparisons(now, earlier, edition=EDITION, protocol=PROTOCOL)]
    ordered = sorted(earlier, key=attrgetter("examined_on"))
    return [each for each in ordered if any(each is one for one in found)]


@given(st.lists(st.tuples(st.integers(0, 19), st.booleans(), st.booleans()), max_size=6), st.booleans())
def test_from_what_was_chosen_the_same_is_chosen_again(
    given: list[tuple[int, bool, bool]], operated: bool
) -> None:
    """So that nothing else has to be kept with a letter."""
    earlier = [
        seen(weeks, *(side for side, there in ((RIGHT, right), (LEFT, left)) if there))
        for weeks, right, left in given
    ]
    now = seen(20, RIGHT, operated=operated)
    chosen = chosen_of(now, earlier)
    assert len(chosen) <= 3
    assert chosen_of(now, chosen) == chosen
