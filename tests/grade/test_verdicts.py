from dataclasses import replace
from typing import Any

import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.evidence import Provenance, load_edition
from fabella.grade import Verdict, Why, grade
from fabella.measure.photographs import BENT_KNEE, STRAIGHT_KNEE
from fabella.protocol import Kind, load_protocol
from fabella.record import Examination, Finding, Origin, Patient, Sex, State
from tests.grade.notation import LEFT, RIGHT, found, graded, pair


def test_slight_valgus_within_normal_limits() -> None:
    """Eight degrees of valgus in an adult lie within healthy limits, but nearer to them than to the mean."""
    # Jamali 2017 J Orthop Surg Res 12:77: 4.8, SD 2.6, so -0.4 to 10.0.
    done = graded(
        found("tibiofemoral_angle", RIGHT, 8),
        found("valgus_alignment", RIGHT, "mild"),
        found("tibiofemoral_angle", LEFT, 5),
        found("valgus_alignment", LEFT, "none"),
    )
    angle = done["tibiofemoral_angle", RIGHT]
    assert angle.verdict is Verdict.WITHIN_NORMAL_LIMITS
    assert angle.norm is not None
    assert (angle.norm.low, angle.norm.high, angle.norm.may_cut) == (-0.4, 10.0, True)
    seen = done["valgus_alignment", RIGHT]
    assert seen.verdict is Verdict.WITHIN_NORMAL_LIMITS
    assert Why.MEASURED_WITHIN_LIMITS in seen.reasons
    assert done["tibiofemoral_angle", LEFT].verdict is Verdict.NORMAL
    assert done["valgus_alignment", LEFT].verdict is Verdict.NORMAL


@pytest.mark.parametrize(
    ("angle_deg", "verdict", "stands_for"),
    [
        (11, Verdict.ABNORMAL, "valgus_alignment"),
        (16, Verdict.MARKEDLY_ABNORMAL, "valgus_alignment"),
        (-2, Verdict.ABNORMAL, "varus_alignment"),
        (-7, Verdict.MARKEDLY_ABNORMAL, "varus_alignment"),
    ],
)
def test_alignment_beyond_the_limits(angle_deg: float, verdict: Verdict, stands_for: str) -> None:
    """Valgus is positive, varus negative, and a measured angle speaks for whichever was not judged by eye."""
    # Jamali 2017: limits -0.4 and 10.0; marked is 2 SD further, by judgement.
    one = graded(found("tibiofemoral_angle", RIGHT, angle_deg))["tibiofemoral_angle", RIGHT]
    assert (one.verdict, one.stands_for) == (verdict, stands_for)


def test_a_child_is_judged_by_the_limits_of_children() -> None:
    """Any varus of a child of six is abnormal, eleven degrees of valgus are not."""
    # Arazi 2001 J Pediatr Orthop 21:264-267: 0 to 11 degrees from 3 to 17 years.
    varus, valgus = (
        graded(found("tibiofemoral_angle", RIGHT, angle_deg), age_years=6)["tibiofemoral_angle", RIGHT]
        for angle_deg in (-3, 11)
    )
    assert varus.verdict is Verdict.ABNORMAL
    assert valgus.verdict is Verdict.WITHIN_NORMAL_LIMITS
    assert valgus.norm is not None
    assert valgus.norm.row.source.key == "arazi_2001"


def test_no_larger_than_the_measurement_error() -> None:
    """Eight degrees less flexion than the other knee, by goniometer, are no more than it errs."""
    # Hancock 2018: 10 degrees with a long goniometer; IKDC 2000: grade B from 6 degrees.
    right, left = pair("passive_flexion", 130, 138, method="goniometer")
    assert right.verdict is Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    assert Why.WITHIN_ERROR in right.reasons
    assert left.verdict is Verdict.NORMAL


def test_an_error_taken_for_granted_is_marked() -> None:
    """Without a stated method the usual one is assumed, and said so."""
    right, _ = pair("passive_flexion", 130, 138)
    assert right.error is not None
    assert (right.error.method, right.error.assumed) == ("long goniometer", True)
    assert Why.METHOD_ASSUMED in right.reasons


@pytest.mark.parametrize("method", [BENT_KNEE.method, f"{BENT_KNEE.method}, mirrored"])
def test_a_photograph_has_its_own_error(method: str) -> None:
    """Both knees read off photographs are held against what photographs err by, not a goniometer."""
    # Murphy 2013: 2.1 degrees for one reading, so 2.1 x 1.96 x sqrt 2 = 5.8 for a difference.
    right, _ = pair("passive_flexion", 130, 138, method=method)
    assert right.error is not None
    assert right.error.detectable == pytest.approx(5.82, abs=0.01)
    assert not right.error.assumed
    assert right.error.provenance is Provenance.DERIVED
    assert "Murphy 2013" in right.error.source
    assert right.verdict is Verdict.ABNORMAL
    assert Why.METHOD_ASSUMED not in right.reasons
    assert [each.method_error for each in BENT_KNEE.quantities] == [right.error.sem]


def test_a_straight_knee_on_a_photograph_is_taken_as_usual_and_said_so() -> None:
    """No error is published for the last degrees on a photograph: the usual one is assumed, and said so."""
    right, _ = pair("passive_extension", 0, 8, method=STRAIGHT_KNEE.method)
    assert right.error is not None
    assert right.error.assumed
    assert Why.METHOD_ASSUMED in right.reasons


def test_extension_is_compared_including_hyperextension() -> None:
    """A straight knee beside one that hyperextends 8 degrees lacks 8: grade C, beyond the error."""
    # IKDC 2000 (C from 6); MDC95 3.5 within one examiner, J Knee Surg 2024 (10.1055/a-2321-0516).
    right, left = pair("passive_extension", 0, 8, method="goniometer")
    assert right.worse_by == 8
    assert right.band is not None
    assert right.band.band.grade.startswith("C")
    assert right.error is not None
    assert right.error.detectable == 3.5
    assert right.verdict is Verdict.ABNORMAL
    assert left.verdict is Verdict.NORMAL


def test_healthy_asymmetry_of_extension() -> None:
    """A straight knee beside one that hyperextends 4 degrees is healthy; one 4 degrees short is not."""
    # J Sport Rehabil 1996 5:287-292: 9.8 % of healthy athletes hyperextend one knee only.
    straight, _ = pair("passive_extension", 0, 4, method="goniometer")
    short, _ = pair("passive_extension", -4, 0, method="goniometer")
    assert straight.verdict is Verdict.WITHIN_NORMAL_LIMITS
    assert Why.HEALTHY_ASYMMETRY in straight.reasons
    assert short.verdict is Verdict.ABNORMAL


def test_a_knee_that_goes_too_far_is_no_yardstick() -> None:
    """Beside a knee that hyperextends 15 degrees, a straight one is normal; the other is abnormal."""
    # More than 10 degrees count as hypermobile in the Beighton score (from memory).
    straight, loose = pair("passive_extension", 0, 15)
    assert straight.verdict is Verdict.NORMAL
    assert straight.level_weights[0] > 0.95
    assert loose.verdict is Verdict.ABNORMAL
    assert Why.GOES_BEYOND in loose.reasons
    for supple in pair("passive_extension", 14, 15):
        assert supple.verdict is Verdict.WITHIN_NORMAL_LIMITS
    alone = graded(found("passive_extension", RIGHT, 15))["passive_extension", RIGHT]
    assert alone.verdict is Verdict.CANNOT_JUDGE


def test_what_the_examiner_said_counts_beside_the_millimetres() -> None:
    """A Lachman called positive stays abnormal at 4 mm, which alone would not exceed the error of a hand."""
    zero = found("lachman", LEFT, 0, unit="mm")
    called = Finding(sign="lachman", side=RIGHT, state=State.ABNORMAL, value=4, unit="mm")
    one = graded(called, zero)["lachman", RIGHT]
    assert one.verdict is Verdict.ABNORMAL
    assert Why.WITHIN_ERROR in one.reasons
    bare = graded(found("lachman", RIGHT, 4, unit="mm"), zero)["lachman", RIGHT]
    assert bare.verdict is Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR


def test_what_the_examiner_said_counts_where_the_value_cannot_be_judged() -> None:
    """A flexion of 135 called abnormal, or normal, is so while the other side is unknown."""
    for state, verdict in ((State.ABNORMAL, Verdict.ABNORMAL), (State.NORMAL, Verdict.NORMAL)):
        finding = Finding(sign="passive_flexion", side=RIGHT, state=state, value=135, unit="deg")
        one = graded(finding)["passive_flexion", RIGHT]
        assert one.verdict is verdict
        assert (one.level_weights[0] == 0) is (state is State.ABNORMAL)


def test_girth_differences_and_what_was_seen() -> None:
    """Mild wasting where the tape finds no more than its error is no more than that; 3 cm are marked."""
    # Jakobsen 2010 (from memory): smallest real difference 1.0 cm within one examiner.
    done = graded(
        found("thigh_girth", RIGHT, 49, unit="cm"),
        found("thigh_girth", LEFT, 50, unit="cm"),
        found("quadriceps_wasting", RIGHT, "mild"),
    )
    assert done["thigh_girth", RIGHT].verdict is Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    assert done["quadriceps_wasting", RIGHT].verdict is Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    wasted, _ = pair("thigh_girth", 46, 50, unit="cm", method="tape")
    assert wasted.verdict is Verdict.MARKEDLY_ABNORMAL
    assert wasted.stands_for == "quadriceps_wasting"


def test_a_measurement_does_not_soften_a_marked_finding() -> None:
    """Marked wasting stays marked even where the tape finds nothing."""
    done = graded(
        found("thigh_girth", RIGHT, 50, unit="cm"),
        found("thigh_girth", LEFT, 50, unit="cm"),
        found("quadriceps_wasting", RIGHT, "marked"),
    )
    assert done["quadriceps_wasting", RIGHT].verdict is Verdict.MARKEDLY_ABNORMAL
    assert done["thigh_girth", RIGHT].stands_for is None


@pytest.mark.parametrize(
    ("sign", "value", "unit"),
    [
        ("passive_flexion", 138, "deg"),
        ("passive_extension", 0, "deg"),
        ("thigh_girth", 50, "cm"),
        ("dial_30", 40, "deg"),
        ("lachman", 1, "mm"),
        ("lachman", 4, "mm"),
    ],
)
def test_without_the_other_side_nothing_is_normal(sign: str, value: float, unit: str) -> None:
    """What is judged by comparison cannot be judged while the other side is not examined."""
    one = graded(found(sign, RIGHT, value, unit=unit))[sign, RIGHT]
    assert one.verdict is Verdict.CANNOT_JUDGE
    assert Why.OTHER_SIDE_NOT_EXAMINED in one.reasons


@pytest.mark.parametrize(
    ("sign", "value", "unit"),
    [("passive_flexion", 80, "deg"), ("passive_extension", -15, "deg"), ("lachman", 12, "mm")],
)
def test_what_is_plainly_abnormal_needs_no_other_side(sign: str, value: float, unit: str) -> None:
    """A knee that bends to 80 degrees, lacks 15 or gives 12 mm is abnormal beside any other."""
    one = graded(found(sign, RIGHT, value, unit=unit))[sign, RIGHT]
    assert one.verdict in {Verdict.ABNORMAL, Verdict.MARKEDLY_ABNORMAL}


def test_two_equally_stiff_knees_are_both_stiff() -> None:
    """No difference between sides does not make 85 degrees of flexion normal."""
    right, left = pair("passive_flexion", 85, 85)
    assert right.difference == 0
    assert right.verdict is left.verdict is Verdict.MARKEDLY_ABNORMAL
    assert right.reasons == (Why.BY_VALUE_ALONE,)
    assert right.level_weights[2] > 0.5


def test_an_untestable_other_side_is_not_a_normal_one() -> None:
    """A first-degree Lachman beside a knee in plaster cannot be judged, beside a normal one it can."""
    unknown, plaster = pair("lachman", "1+", State.UNTESTABLE)
    assert unknown.verdict is Verdict.CANNOT_JUDGE
    assert Why.OTHER_SIDE_NOT_EXAMINED in unknown.reasons
    assert plaster.verdict is Verdict.CANNOT_JUDGE
    assert plaster.reasons == (Why.COULD_NOT_BE_TESTED,)
    beside_normal, normal = pair("lachman", "1+", "0")
    assert beside_normal.verdict is Verdict.ABNORMAL
    assert normal.verdict is Verdict.NORMAL


def test_laxity_alike_on_both_sides_is_how_the_knees_are_made() -> None:
    """First-degree laxity on both sides is within normal limits, second-degree is not."""
    # IKDC 2000: equal to the other side is grade A; 32 % of healthy people are normal in all directions.
    for one in pair("lachman", "1+", "1+"):
        assert one.verdict is Verdict.WITHIN_NORMAL_LIMITS
        assert Why.SIDES_ALIKE in one.reasons
    assert [one.verdict for one in pair("lachman", "2+", "2+")] == [Verdict.ABNORMAL] * 2
    assert pair("lachman", "3+", "0")[0].verdict is Verdict.MARKEDLY_ABNORMAL


def test_an_interval_of_the_mean_never_judges_one_patient() -> None:
    """Passive flexion of 135 in a man of 30, below the printed 136.5 to 138.9, is not abnormal for it."""
    # Soucie 2011 Haemophilia 17:500-507 prints 95 % intervals of the mean.
    right, _ = pair("passive_flexion", 135, 136)
    assert right.verdict is Verdict.NORMAL
    alone = graded(found("passive_flexion", RIGHT, 135))["passive_flexion", RIGHT]
    assert alone.norm is not None
    assert alone.norm.may_cut is False
    assert alone.verdict is Verdict.CANNOT_JUDGE
    assert alone.reasons == (Why.OTHER_SIDE_NOT_EXAMINED, Why.NORM_IS_INTERVAL_OF_MEAN)


def test_mean_and_sd_give_limits_where_none_are_printed() -> None:
    """Active flexion of a woman of 60 is set against 132 with SD 10: 110 is below 112, 125 is not."""
    # Roach 1991 Phys Ther 71:656-665 (from memory): 132, SD 10, ages 25 to 74.
    low, usual = (
        graded(
            found("active_flexion", RIGHT, value),
            found("active_flexion", LEFT, value),
            age_years=60,
            sex=Sex.FEMALE,
        )["active_flexion", RIGHT]
        for value in (111, 125)
    )
    assert low.norm is not None
    assert (low.norm.low, low.norm.high, low.norm.computed) == (112, 152, True)
    assert low.verdict is Verdict.ABNORMAL
    assert usual.verdict is Verdict.NORMAL


def test_without_an_age_there_is_no_norm() -> None:
    """An angle of a person of unknown age cannot be judged, and the reason is the age."""
    one = graded(found("tibiofemoral_angle", RIGHT, 8), age_years=None)["tibiofemoral_angle", RIGHT]
    assert (one.verdict, one.reasons) == (Verdict.CANNOT_JUDGE, (Why.AGE_UNKNOWN,))


def test_not_examined_and_untestable_say_nothing() -> None:
    """Neither is normal: both leave every level equally likely, and each says which it is."""
    for state, why in ((State.NOT_EXAMINED, Why.NOT_EXAMINED), (State.UNTESTABLE, Why.COULD_NOT_BE_TESTED)):
        one = graded(found("effusion", RIGHT, state))["effusion", RIGHT]
        assert (one.verdict, one.reasons) == (Verdict.CANNOT_JUDGE, (why,))
        assert set(one.level_weights) == {0.25}


@pytest.mark.parametrize(
    ("value", "verdict"), [(0.89, Verdict.ABNORMAL), (0.9, Verdict.NORMAL), (1.1, Verdict.NORMAL)]
)
def test_ankle_brachial_index_needs_no_comparison(value: float, verdict: Verdict) -> None:
    """Below 0.90 is low, 0.90 itself is not, whatever the other leg."""
    # Mills 2004 J Trauma 56:1261-1265.
    one = graded(found("ankle_brachial_index", LEFT, value, unit="ratio"))["ankle_brachial_index", LEFT]
    assert one.verdict is verdict


def test_numbers_of_the_history_are_graded_on_the_side_complained_of() -> None:
    """Swelling within two hours is rapid; morning stiffness of exactly 30 minutes is short, of 31 long."""
    # NICE NG226: 30 minutes or less; six hours are common practice.
    done = graded(
        history={"swelling_onset_hours": 2, "morning_stiffness_min": 30, "giving_way": True},
        complaint=(LEFT,),
    )
    assert set(done) == {("swelling_onset_hours", LEFT), ("morning_stiffness_min", LEFT)}
    assert done["swelling_onset_hours", LEFT].verdict is Verdict.ABNORMAL
    assert done["morning_stiffness_min", LEFT].level_weights == (1.0, 0.0)
    longer = graded(history={"morning_stiffness_min": 31})["morning_stiffness_min", None]
    assert longer.level_weights == (0.0, 1.0)


@pytest.mark.parametrize("side", list(Side))
def test_a_reported_level_beside_a_value_that_disagrees(side: Side) -> None:
    """The examiner's own grade stands; that the millimetres say something else is noted."""
    lax = Finding(sign="lachman", side=side, state=State.ABNORMAL, level="3+", value=4, unit="mm")
    other = found("lachman", RIGHT if side is LEFT else LEFT, 0, unit="mm")
    one = graded(lax, other)["lachman", side]
    assert one.verdict is Verdict.MARKEDLY_ABNORMAL
    assert Why.LEVEL_AND_VALUE_DISAGREE in one.reasons
    assert one.level_weights == (0, 0, 0, 1)


@pytest.mark.parametrize("kind", ["norms", "measurement_error", "grading"])
def test_a_missing_table_is_no_reason_to_fail(kind: str) -> None:
    """Without norms, errors or grade bands the rest is still graded, and the gap is named."""
    examination = Examination(
        id="test",
        origin=Origin.INVENTED,
        patient=Patient(age_years=30),
        findings=(
            found("tibiofemoral_angle", RIGHT, 8),
            found("passive_flexion", RIGHT, 127),
            found("passive_flexion", LEFT, 135),
        ),
    )
    empty: dict[str, Any] = {kind: ()}
    done = grade(examination, edition=replace(load_edition(), **empty), protocol=load_protocol())
    angle, flexion, _ = done
    assert (Why.NO_NORM in angle.reasons) is (kind == "norms")
    assert (Why.ERROR_UNKNOWN in flexion.reasons) is (kind == "measurement_error")
    assert (flexion.band is None) is (kind == "grading")


def test_an_unknown_sign_is_named_with_its_nearest_neighbours() -> None:
    """A finding of a sign that does not exist is refused, with the name that was meant."""
    examination = Examination(
        id="test",
        origin=Origin.INVENTED,
        findings=(Finding(sign="lachmann", side=RIGHT, state=State.NORMAL),),
    )
    with pytest.raises(InputError, match="'lachmann' is not in the examination; did you mean lachman"):
        grade(examination, edition=load_edition(), protocol=load_protocol())


def test_courtesies_are_not_findings() -> None:
    """Whether consent was asked for is no finding of the knee and is not graded."""
    courtesy = next(sign for sign in load_protocol().signs if sign.kind is Kind.COURTESY)
    assert graded(Finding(sign=courtesy.id, state=State.NORMAL)) == {}


@pytest.mark.parametrize(("right_mm", "left_mm"), [(8.2, 5.2), (9.3, 6.3), (4.3, 1.3)])
def test_a_difference_of_decimals_is_the_one_that_is_printed(right_mm: float, left_mm: float) -> None:
    """Three millimetres are the same grade, however the two readings are held in the computer."""
    # 8.2 - 5.2 is 2.999999999999999 there, which lay beneath the grade that begins at 3 mm.
    right, left = pair("lachman", right_mm, left_mm, unit="mm", method="arthrometer")
    assert (right.difference, left.difference) == (3.0, -3.0)
    assert right.verdict is Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    assert right.band is not None
    assert right.band.band.grade.startswith("B")


@pytest.mark.parametrize("sign", ["extensor_lag", "passive_extension", "passive_flexion"])
def test_both_sides_hold_their_difference_against_one_error(sign: str) -> None:
    """A lag seen by eye beside one measured: their difference is as sure as the coarser method."""
    both = graded(
        found(sign, RIGHT, 12, method="by eye"),
        found(sign, LEFT, 7, method="smartphone"),
    )
    errors = {each.error and each.error.detectable for each in both.values()}
    assert len(errors) == 1
    assert None not in errors
