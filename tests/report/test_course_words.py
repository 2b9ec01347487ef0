from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import load_lesions
from fabella.follow import ChangeVerdict, follow
from fabella.record import Examination, Finding, ProcedureName, State, Total
from fabella.report.change_words import subject
from fabella.report.course_words import CourseWords, course_words
from fabella.report.recovery_words import PROCEDURES
from fabella.report.verdict_words import Verdict, measure_verdict
from fabella.workup import run_workup
from tests.follow.notation import EDITION, LEFT, PROTOCOL, RIGHT, followed, graded, operation, read, visit

MEASURED = [sign for sign in PROTOCOL.signs if sign.scale.measure and not sign.is_history]


def told(*visits: Examination) -> CourseWords:
    """The course of these visits in words."""
    return course_words(followed(*visits), protocol=PROTOCOL, lesions=load_lesions(), visits=visits)


def two(first: Finding, second: Finding, *, examiner: str | None = None) -> CourseWords:
    """Two visits with one finding each."""
    return told(visit(0, first, examiner=examiner), visit(6, second, examiner=examiner))


def test_a_gain_is_said_with_the_error_it_exceeds() -> None:
    """Values, verdict, size of the error, method, source and level stand in one sentence."""
    # Hancock 2018 J Exp Orthop 5:46: 10 degrees.
    words = two(*(read("passive_flexion", value, method="goniometer") for value in (95, 118)))
    expected = (
        "Passive flexion of the right knee 95 → 118 degrees: a true gain "
        "(beyond 10 degrees, goniometer, Hancock 2018, 95%)."
    )
    assert words.better == (expected,)
    assert (words.worse, words.unchanged, words.unjudged) == ((), (), ())


def test_a_value_from_memory_says_so() -> None:
    """A thigh that differs by less than the recalled error is unchanged within it."""
    # Jakobsen 2010: 1.0 cm by one examiner (from memory in the tables).
    words = two(*(read("thigh_girth", value, unit="cm", method="tape") for value in (45, 45.8)), examiner="A")
    assert words.unchanged == (
        (
            "Thigh girth on the right 45 → 45.8 cm: unchanged within measurement error "
            "(1 cm, tape, Jakobsen 2010 from memory, 95%)."
        ),
    )


def test_a_loss_is_said_as_a_loss_and_less_laxity_as_an_improvement() -> None:
    """More is not always better: the word follows the sign."""
    lost = two(*(read("passive_flexion", value) for value in (118, 95)))
    firm = two(*(read("lachman", value, unit="mm", method="by hand") for value in (12, 3)))
    loose = two(*(read("lachman", value, unit="mm", method="by hand") for value in (3, 12)))
    assert "a true loss" in lost.worse[0]
    assert "a true improvement (beyond 4.16 mm, by hand, our estimate, 95%)" in firm.better[0]
    assert "truly worse" in loose.worse[0]


def test_signed_readings_share_their_words_where_they_can() -> None:
    """'10 → 1 degrees short of straight', and in full where the words differ."""
    same = two(*(read("passive_extension", value) for value in (-10, -1)))
    differ = two(*(read("passive_extension", value) for value in (-10, 5)))
    assert "10 → 1 degrees short of straight" in same.better[0]
    assert "10° short of straight → 5° hyperextension" in differ.better[0]


def test_what_cannot_be_judged_says_why() -> None:
    """Two tools, a sign not testable and a sign without published agreement each have their reason."""
    tools = told(
        visit(0, read("lachman", 12, unit="mm", method="by hand")),
        visit(6, read("lachman", 3, unit="mm", method="arthrometer")),
    )
    assert "no source has compared the two methods" in tools.unjudged[0]
    assert (
        "could not be tested" in two(graded("lachman", State.UNTESTABLE), graded("lachman", "0")).unjudged[0]
    )
    unknown = two(graded("antalgic_gait", "mild"), graded("antalgic_gait", "none"))
    assert unknown.unjudged == (
        ("Antalgic gait on the right mild → none: examiners' agreement on it is not published."),
    )


def test_what_could_not_be_tested_at_the_first_visit_is_told_since_it_was() -> None:
    """A Lachman test that pain prevented at first, and what became of it: no day is told that it was not."""
    levels: tuple[str | State, ...] = (State.UNTESTABLE, "3+", "1+")
    words = told(*(visit(6 * number, graded("lachman", each)) for number, each in enumerate(levels)))
    (gain,) = words.better
    assert gain.startswith("Lachman test of the right knee not testable → 3+ → 1+: a true improvement by two")
    assert words.unjudged == ()
    back = told(*(visit(6 * number, graded("lachman", each)) for number, each in enumerate((*levels, "3+"))))
    (loss,) = back.worse
    assert "; since 17 February 2025 unchanged" in loss
    assert "since the first visit" not in loss


def test_a_calf_says_that_the_number_does_not_tell() -> None:
    """A true change without a direction is called neither better nor worse."""
    words = two(*(read("calf_girth", value, unit="cm", method="tape") for value in (40, 36)))
    assert "truly changed (beyond" in words.unjudged[0]
    assert "the number alone does not tell" in words.unjudged[0]


def test_an_assumed_method_is_said() -> None:
    """A method not stated stands in the sentence, once."""
    words = two(*(read("passive_flexion", value) for value in (95, 118)))
    assert words.better[0].count("method not stated") == 1


def test_grades_are_said_with_what_examiners_differ_by() -> None:
    """Two grades of Lachman are an improvement; one is not, and the sentence says how often it would show."""
    # Eight published figures on four grades: median disagreement 32.6 of 100, times 5/21 for two grades.
    two_grades = two(graded("lachman", "2+"), graded("lachman", "0"))
    one_grade = two(graded("lachman", "2+"), graded("lachman", "1+"))
    assert two_grades.better == (
        (
            "Lachman test of the right knee 2+ → 0: a true improvement by two grades "
            "(8 of 100 unchanged knees would show as much, by 8 published figures)."
        ),
    )
    assert one_grade.unchanged == (
        (
            "Lachman test of the right knee 2+ → 1+: one grade, within what examiners differ by "
            "(33 of 100 unchanged knees would show as much, by 8 published figures)."
        ),
    )


def test_yes_and_no_are_said_as_positive_and_negative() -> None:
    """A test without degrees is positive or negative."""
    assert "positive → negative" in two(graded("mcmurray", "yes"), graded("mcmurray", "no")).unchanged[0]


def test_grades_that_stayed_are_counted_not_listed() -> None:
    """A normal pair of knees does not fill a page."""
    findings = [graded(sign, State.NORMAL) for sign in ("mcmurray", "lachman", "pivot_shift")]
    words = told(visit(0, *findings), visit(6, *findings))
    assert words.alike == "3 graded signs have kept their grade."
    assert words.unchanged == ()


def test_both_verdicts_on_a_total_are_said() -> None:
    """Error and importance stand side by side, each with its own number and source."""
    # Briggs 2009: MDC 8.9; Rev Bras Ortop 2023: MCID 5.5.
    totals = [(Total(score="lysholm", value=value, side=RIGHT),) for value in (70, 77)]
    done = operation(ProcedureName.ACL_RECONSTRUCTION)
    words = told(*(visit(26 * n, totals=each, procedure=done) for n, each in enumerate(totals)))
    assert words.totals == (
        (
            "Lysholm score, right knee, 70 → 77 points: within the error of the score "
            "(8.9 points, Briggs 2009, level not stated); as large as patients notice "
            "(from 5.5 points, Rev Bras Ortop 2023)."
        ),
    )


def test_a_bar_that_may_not_fit_names_its_population() -> None:
    """Without an operation it is said in whom the bar was found."""
    words = told(*(visit(26 * n, totals=(Total(score="oks", value=20 + 9 * n),)) for n in (0, 1)))
    assert "Beard 2015, in TKA" in words.totals[0]


def test_recovery_is_said_for_the_last_day_with_its_source() -> None:
    """Eight weeks after a replacement the median and the least that is wanted stand beside the reading."""
    # Kornuijt 2019 Musculoskelet Surg 103:289-297: median 110, below 90 insufficient.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT)
    words = told(
        visit(2, read("passive_flexion", 85), procedure=done),
        visit(8, read("passive_flexion", 105), procedure=done),
    )
    assert (
        "8 weeks after total knee replacement, passive flexion of the right knee 105°; usual is 110° "
        "(median at 8 weeks, Kornuijt 2019): about as usual, within measurement error." in words.recovery
    )
    assert (
        "8 weeks after total knee replacement, passive flexion of the right knee 105°; at least 90° is "
        "wanted (threshold, Kornuijt 2019): reached." in words.recovery
    )
    assert [each for each in words.recovery if "2 weeks after" in each] == []


def test_a_number_between_two_time_points_is_said_to_be_one() -> None:
    """Both ends, their time points and the straight line stand in the sentence."""
    # Kornuijt 2019: 80 at 1 week, 110 at 8 weeks; at 4 weeks 80 + 30 x 3/7 = 92.9.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT)
    (sentence,) = (
        each
        for each in told(visit(4, read("passive_flexion", 100), procedure=done)).recovery
        if "Kornuijt" in each
    )
    assert "usual is between 80° and 110° (median at 1 week and at 8 weeks" in sentence
    assert "92.9° on the straight line between them): in between." in sentence


def test_probabilities_after_an_operation_carry_their_caution() -> None:
    """That an operation mends what it was done for is said once; without one the words are silent."""
    torn = visit(0, graded("lachman", "3+"), procedure=operation(ProcedureName.ACL_RECONSTRUCTION))
    plain = visit(0, graded("lachman", "3+"))
    for each, said in ((torn, True), (plain, False)):
        course = follow([run_workup(each)], edition=EDITION, protocol=PROTOCOL)
        words = course_words(course, protocol=PROTOCOL, lesions=load_lesions(), visits=())
        assert words.likelihoods
        assert ("counts as mended" in words.likelihood_note) is said


def test_true_changes_from_visit_to_visit_are_told_by_their_days() -> None:
    """A loss and its recovery are told, though nothing has changed since the first visit."""
    values = (110, 80, 108)
    words = told(*(visit(6 * n, read("passive_flexion", value)) for n, value in enumerate(values)))
    (sentence,) = words.better
    assert "110 → 80 → 108 degrees: from 6 January 2025 to 17 February 2025 a true loss" in sentence
    assert "since the first visit unchanged within measurement error" in sentence
    assert "from 6 January 2025 to 17 February 2025 a true loss" in sentence
    assert "from 17 February 2025 to 31 March 2025 a true gain" in sentence


def test_the_difference_to_the_other_side_is_told_where_both_were_measured() -> None:
    """From 45 short of the left knee to 22 short."""
    both = [(read("passive_flexion", v), read("passive_flexion", 140, side=LEFT)) for v in (95, 118)]
    words = told(*(visit(6 * n, *each) for n, each in enumerate(both)))
    assert "; difference to the left −45 → −22 degrees." in words.better[0]


def test_a_verdict_keeps_what_it_is_held_against_apart() -> None:
    """Brackets within brackets, colons and reasons are told or left out whole, never cut out of words."""
    gain = Verdict(clauses=(("a true gain", "beyond 10 degrees, tape (own: short)"),), beside="left 5")
    assert gain.words == "a true gain (beyond 10 degrees, tape (own: short)); left 5"
    assert gain.short == "a true gain"
    assert gain.since("the first visit") == f"since the first visit {gain.words}"
    unknown = Verdict(why_not="a grade was not given")
    assert unknown.words == "cannot be judged, as a grade was not given"
    assert unknown.under_its_heading == "a grade was not given"
    assert unknown.since("the first visit") == f"since the first visit it {unknown.words}"
    assert Verdict().words == Verdict().under_its_heading == Verdict().short == "cannot be judged"


@given(st.data())
def test_no_change_within_error_is_called_true(data: st.DataObject) -> None:
    """Whatever was measured: the word true belongs to true changes only, and each error has its size."""
    sign = data.draw(st.sampled_from(MEASURED))
    measure = sign.scale.measure
    assert measure is not None
    values: Sequence[float] = data.draw(
        st.lists(st.floats(measure.low, measure.high), min_size=2, max_size=4)
    )
    side = None if sign.is_person else RIGHT
    unit = measure.unit.value
    (series,) = followed(
        *(visit(n, read(sign.id, value, unit=unit, side=side)) for n, value in enumerate(values))
    ).measures
    for change in (*series.steps, *series.from_first):
        words = measure_verdict(series, change).words
        assert change.error is not None
        true = change.verdict in {ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE}
        assert ("a true " in words or "truly worse" in words) is true
        assert "our estimate" in words or change.error.source in words


def test_every_operation_has_words() -> None:
    """No operation of the record is without a name."""
    assert set(PROCEDURES) == set(ProcedureName)


@pytest.mark.parametrize(
    ("sign", "words"),
    [
        ("passive_flexion", "Passive flexion of the right knee"),
        ("thigh_girth", "Thigh girth on the right"),
        ("hip_internal_rotation", "Hip internal rotation on the right"),
        ("mcmurray", "McMurray test of the right knee"),
    ],
)
def test_what_is_not_of_the_knee_is_not_called_so(sign: str, words: str) -> None:
    """A hip does not belong to a knee."""
    assert subject(PROTOCOL.sign(sign), RIGHT) == words


def test_one_visit_is_said_to_be_one() -> None:
    """A single visit has a day and no change."""
    words = told(visit(0, read("passive_flexion", 95)))
    assert (words.span, words.better, words.unchanged) == ("One visit, on 6 January 2025.", (), ())


def test_a_reading_short_of_what_is_wanted_is_not_printed_as_reaching_it() -> None:
    """89.97 degrees do not reach 90 and are not told as 90."""
    # Kornuijt 2019: 90 degrees at 8 weeks.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT, RIGHT)
    words = told(visit(8, read("passive_flexion", 89.97), procedure=done)).recovery
    (wanted,) = (each for each in words if "is wanted" in each)
    assert "right knee 89.97°; at least 90° is wanted" in wanted
    assert "not reached" in wanted


def test_one_point_is_a_point() -> None:
    """A total of 1 beside published recovery is no plural."""
    done = operation(ProcedureName.PARTIAL_KNEE_REPLACEMENT, RIGHT)
    words = told(visit(13, totals=(Total(score="oks", value=1),), procedure=done)).recovery
    assert any("Oxford Knee Score 1\u00a0point;" in each for each in words)


def test_grades_are_told_in_words_and_not_by_their_keys() -> None:
    """No grade of any sign is written as it stands in the file when that is no word."""
    for sign in PROTOCOL.signs:
        for level in sign.scale.levels[1:]:
            if sign.is_history:
                continue
            side = None if sign.is_person else RIGHT
            first, last = (graded(sign.id, each.id, side=side) for each in (sign.scale.levels[0], level))
            words = two(first, last)
            assert "_" not in "".join((*words.better, *words.worse, *words.unchanged, *words.unjudged))
    squat = two(graded("single_leg_squat", "poor_control"), graded("single_leg_squat", "normal"))
    assert "knee falls inwards → normal" in str(squat)


def test_true_changes_within_a_day_are_told_of_the_day() -> None:
    """Before and after a manipulation: the day is named once, not as a span from itself to itself."""
    bends = (read("passive_flexion", value, method="goniometer") for value in (90, 120, 90))
    (worse,) = told(*(visit(0, bend) for bend in bends)).worse
    assert "degrees: on 6 January 2025 a true gain; on 6 January 2025 a true loss; since" in worse


@pytest.mark.parametrize(
    ("sign", "unit", "values"),
    [
        ("stance_share", "%", (60, 62.8)),
        ("ankle_brachial_index", "ratio", (1, 0.86)),
        ("active_flexion", "deg", (100, 109.5)),
        ("lachman", "mm", (3, 7.2)),
    ],
)
def test_a_change_is_not_called_beyond_an_error_printed_as_large(
    sign: str, unit: str, values: tuple[float, float]
) -> None:
    """An error worked out as 2.77 is not printed as 2.8 beside a change of 2.8 that exceeds it."""
    course = followed(
        *(visit(week, read(sign, value, unit=unit), examiner="A") for week, value in enumerate(values))
    )
    (change,) = course.measures[0].steps
    printed = measure_verdict(course.measures[0], change).words.partition("beyond ")[2]
    assert float(printed.split()[0].rstrip(",")) < abs(change.difference)


def test_an_error_of_one_point_is_no_plural() -> None:
    """The activity level is held against one point."""
    # Briggs 2009 Am J Sports Med 37:890-897.
    totals = told(*(visit(week, totals=(Total(score="tegner", value=week),)) for week in (0, 1))).totals
    assert "(1 point, Briggs 2009" in totals[0]
