from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.follow import ChangeVerdict, DatedTotal, Importance, follow
from fabella.follow.bars import _table, detectable_bar, important_bar
from fabella.record import SCORES, ProcedureName, Total
from tests.follow.notation import EDITION, LEFT, PROTOCOL, RIGHT, START, followed, total_change, visit

BETTER, WORSE = ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE
ERROR, CANNOT = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, ChangeVerdict.CANNOT_JUDGE
OPPOSITE = {BETTER: WORSE, WORSE: BETTER, ERROR: ERROR, CANNOT: CANNOT}

procedures = st.none() | st.sampled_from(ProcedureName)


@st.composite
def pairs(draw: st.DrawFn) -> tuple[str, tuple[float, float]]:
    """A score and two possible totals."""
    score = draw(st.sampled_from(list(SCORES.values())))
    value = st.floats(score.low, score.high)
    return score.id, (draw(value), draw(value))


@given(pairs(), procedures)
def test_the_same_total_twice_is_neither_detectable_nor_important(
    pair: tuple[str, tuple[float, float]], procedure: ProcedureName | None
) -> None:
    """An equal total is no change, by either measure."""
    score, (value, _) = pair
    change = total_change(score, (value, value), procedure=procedure)
    assert change.verdict in {ERROR, CANNOT}
    assert change.importance in {Importance.NOT_IMPORTANT, Importance.CANNOT_JUDGE}


@given(pairs(), procedures)
def test_swapping_the_days_swaps_better_and_worse(
    pair: tuple[str, tuple[float, float]], procedure: ProcedureName | None
) -> None:
    """Points gained forwards are lost backwards, and as important."""
    score, values = pair
    there = total_change(score, values, procedure=procedure)
    back = total_change(score, values[::-1], procedure=procedure)
    assert (back.verdict, back.importance) == (OPPOSITE[there.verdict], there.importance)


def test_every_score_of_the_record_has_a_bar_in_the_evidence() -> None:
    """No score can be recorded that nothing published can judge; every row named exists in the tables."""
    assert _table().keys() == {*SCORES, "groups"}
    items = {row.item_id for row in EDITION.recovery}
    for score in SCORES:
        rules = _table()[score]
        named = [item for kind in ("mdc", "mic") for pair in rules[kind] for item in pair[0].split()]
        assert [item for item in named if item not in items] == []
        assert detectable_bar(score, procedure=None, edition=EDITION) is not None


@pytest.mark.parametrize("score", SCORES)
def test_no_bar_of_groups_judges_a_patient(score: str) -> None:
    """Bars for cohorts and trials are never used for one person."""
    # Beard 2015 J Clin Epidemiol 68:73-79 (9 for a cohort, 5 between groups).
    for procedure in (None, *ProcedureName):
        bar = important_bar(score, procedure=procedure, edition=EDITION)
        assert bar is None or not {"MIC_group", "MID_between_groups"} & set(bar.statistic.split(", "))


def test_the_bar_fits_the_operation() -> None:
    """KOOS pain: a torn ligament is held against injured knees, a replacement against worn ones."""
    # Collins 2011 (from memory): injury up to 6.1, osteoarthritis 13.4; Monticone 2013: MIC 16.7.
    injured = detectable_bar("koos_pain", procedure=ProcedureName.ACL_RECONSTRUCTION, edition=EDITION)
    worn = detectable_bar("koos_pain", procedure=ProcedureName.TOTAL_KNEE_REPLACEMENT, edition=EDITION)
    noticed = important_bar("koos_pain", procedure=ProcedureName.TOTAL_KNEE_REPLACEMENT, edition=EDITION)
    assert [6.1, 13.4, 16.7] == [bar.high for bar in (injured, worn, noticed) if bar and bar.fits]


def test_without_an_operation_the_largest_bar_stands_and_is_marked() -> None:
    """Nobody is called changed by a bar that may not be theirs: the larger one counts."""
    bar = detectable_bar("koos_pain", procedure=None, edition=EDITION)
    assert bar is not None
    assert (bar.high, bar.fits) == (13.4, False)


def test_between_two_published_thresholds_a_change_is_perhaps_important() -> None:
    """IKDC: below 11.5 patients hardly notice, from 20.5 on they do."""
    # Irrgang 2006 Am J Sports Med 34:1567-1573 (from memory in the tables).
    by = {
        change: total_change("ikdc_subjective", (40, 40 + change)).importance for change in (11, 12, 20, 21)
    }
    no, perhaps, yes = Importance.NOT_IMPORTANT, Importance.PERHAPS_IMPORTANT, Importance.IMPORTANT
    assert {11: no, 12: perhaps, 20: perhaps, 21: yes} == by


def test_a_score_without_a_published_threshold_is_judged_by_error_only() -> None:
    """The activity level has a detectable change of one level and no important one."""
    # Briggs 2009 Am J Sports Med 37:890-897.
    change = total_change("tegner", (3, 5), procedure=ProcedureName.ACL_RECONSTRUCTION)
    assert (change.verdict, change.importance) == (BETTER, Importance.CANNOT_JUDGE)


def test_without_evidence_nothing_is_judged() -> None:
    """An edition without recovery tables judges no total."""
    bare = replace(EDITION, recovery=())
    visits = [visit(w, totals=(Total(score="oks", value=v),)) for w, v in ((0, 10), (26, 40))]
    (change,) = follow(visits, edition=bare, protocol=PROTOCOL).totals[0].steps
    assert (change.verdict, change.importance) == (CANNOT, Importance.CANNOT_JUDGE)
    assert (change.detectable, change.important) == (None, None)


def test_totals_of_two_knees_and_of_none_are_kept_apart() -> None:
    """The right knee, the left one and 'not said which' are three series."""
    totals = tuple(Total(score="oks", value=20, side=side) for side in (RIGHT, LEFT, None))
    course = followed(visit(0, totals=totals), visit(26, totals=totals[:2]))
    assert [(RIGHT, 2), (LEFT, 2), (None, 1)] == [(each.side, len(each.points)) for each in course.totals]


def test_totals_sent_between_the_visits_take_their_place_in_time() -> None:
    """A questionnaire that came by post stands between the visits."""
    sent = DatedTotal(day=START + timedelta(days=30), total=Total(score="oks", value=25))
    visits = [visit(w, totals=(Total(score="oks", value=v),)) for w, v in ((0, 20), (26, 30))]
    (series,) = follow(visits, edition=EDITION, protocol=PROTOCOL, totals=[sent]).totals
    assert [20, 25, 30] == [point.value for point in series.points]


def test_a_total_that_cannot_be_is_refused_with_every_fault() -> None:
    """An unknown score is answered with the nearest one, a total beyond its range with the range."""
    wrong = [
        DatedTotal(day=START, total=Total(score="lysholms", value=3)),
        DatedTotal(day=START, total=Total(score="oks", value=49)),
    ]
    with pytest.raises(InputError) as refused:
        follow([visit(0)], edition=EDITION, protocol=PROTOCOL, totals=wrong)
    first, second = refused.value.problems
    assert (first.place, first.remedy) == ("total 1", "did you mean 'lysholm'?")
    assert (second.value, second.remedy) == ("49", "allowed: 0 to 48 points")
