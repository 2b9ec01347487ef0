from dataclasses import replace

import pytest

from fabella.errors import InputError, Problem
from fabella.follow import follow
from fabella.record import Origin, Sex
from fabella.workup import run_workup
from tests.follow.notation import EDITION, PROTOCOL, RIGHT, followed, graded, read, visit


def problems(*visits: object) -> tuple[Problem, ...]:
    """Everything for which these visits are refused."""
    with pytest.raises(InputError) as refused:
        follow(visits, edition=EDITION, protocol=PROTOCOL)  # type: ignore[arg-type]
    return refused.value.problems


def test_a_visit_without_a_day_is_refused_by_its_number() -> None:
    """Time cannot be guessed: the visit is named and the remedy given."""
    (problem,) = problems(visit(0), replace(visit(1), examined_on=None))
    assert (problem.place, problem.remedy) == ("visit 2 (week-1)", "write the day, YYYY-MM-DD")
    assert "examined_on" in problem.says


def test_visits_out_of_order_are_refused() -> None:
    """The library never reorders what it is given."""
    (problem,) = problems(visit(3), visit(1), visit(5))
    assert (problem.place, problem.value) == ("visit 2 (week-1)", "2025-01-13")
    assert "earlier" in problem.says


@pytest.mark.parametrize(
    ("first", "second", "key"),
    [
        (visit(0, label="Alpha"), visit(1, label="Beta"), "label"),
        (visit(0, sex=Sex.MALE), visit(1, sex=Sex.FEMALE), "sex"),
        (visit(0), visit(1, origin=Origin.SIMULATED), "origin"),
    ],
)
def test_two_patients_are_refused(first: object, second: object, key: str) -> None:
    """Another label, sex or origin is another patient."""
    (problem,) = problems(first, second)
    assert f"another {key}" in problem.says
    assert "not one patient" in problem.says


def test_a_label_may_be_missing() -> None:
    """A visit without a label is taken to be of the patient whose label the others bear."""
    assert len(followed(visit(0, label="Alpha"), visit(1), visit(2, label="Alpha")).visits) == 3


def test_every_fault_is_told_at_once() -> None:
    """Days and persons are judged together."""
    wrong = problems(visit(3, label="Alpha"), visit(1, label="Beta"), replace(visit(2), examined_on=None))
    assert len(wrong) == 3


def test_no_visit_at_all_is_refused() -> None:
    """There is nothing to follow."""
    (problem,) = problems()
    assert problem.says == "are missing"


def test_one_visit_has_no_change() -> None:
    """A single visit gives points and no steps."""
    course = followed(visit(0, read("passive_flexion", 90), graded("mcmurray", "yes")))
    assert (course.measures[0].steps, course.measures[0].from_first) == ((), ())
    assert course.grades[0].steps == ()
    assert course.lesions == ()


def test_two_visits_of_one_day_stand_in_the_order_given() -> None:
    """Before and after a manipulation on one day is a change like any other."""
    course = followed(visit(0, read("passive_flexion", 60)), visit(0, read("passive_flexion", 110)))
    assert course.measures[0].steps[0].difference == 50


def test_workups_tell_how_likely_each_lesion_was() -> None:
    """Probabilities and their intervals are those of the workups, day by day, the likeliest lesion first."""
    torn = visit(0, graded("lachman", "3+"), graded("pivot_shift", "clunk"))
    firm = visit(26, graded("lachman", "0"), graded("pivot_shift", "none"))
    workups = [run_workup(each) for each in (torn, firm)]
    course = follow(workups, edition=EDITION, protocol=PROTOCOL)
    acl = next(series for series in course.lesions if (series.lesion, series.side) == ("acl_tear", RIGHT))
    for point, workup in zip(acl.points, workups, strict=True):
        assert workup.conclusion is not None
        told = next(each for each in workup.conclusion.knee(RIGHT).any_level() if each.lesion == "acl_tear")
        assert (point.probability, point.low, point.high) == (told.probability, told.low, told.high)
        assert point.day == workup.examination.examined_on
    assert acl.points[0].probability > acl.points[1].probability
    peaks = [max(point.probability for point in series.points) for series in course.lesions]
    assert peaks == sorted(peaks, reverse=True)


def test_examinations_and_workups_give_the_same_measurements() -> None:
    """Whether concluded or not, what was measured and graded is followed alike."""
    visits = [visit(0, read("passive_flexion", 90)), visit(6, read("passive_flexion", 110))]
    plain = followed(*visits)
    concluded = follow([run_workup(each) for each in visits], edition=EDITION, protocol=PROTOCOL)
    assert (plain.measures, plain.grades) == (concluded.measures, concluded.grades)
    assert plain.lesions == ()
    assert concluded.edition == plain.edition == EDITION.id
