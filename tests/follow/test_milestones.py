"""What is published on recovery, and where a patient stands beside it; sources stand beside the checks."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.follow import Expectation, Place, Standing
from fabella.follow.milestones import curves, milestones_due, span_weeks
from fabella.record import Finding, ProcedureName, Total
from tests.follow.notation import EDITION, LEFT, RIGHT, followed, operation, read, visit

REPLACED = ProcedureName.TOTAL_KNEE_REPLACEMENT
ACL = ProcedureName.ACL_RECONSTRUCTION


def standings(
    weeks: float,
    *findings: Finding,
    name: ProcedureName = REPLACED,
    totals: tuple[Total, ...] = (),
) -> dict[str, Standing]:
    """Where a patient stands so many weeks after an operation on the right knee, by row of the tables."""
    course = followed(visit(weeks, *findings, totals=totals, procedure=operation(name)))
    return {" ".join(each.items): each for each in course.standings}


def test_the_median_eight_weeks_after_a_replacement() -> None:
    """105 degrees at eight weeks: below the median of 110 within error, and above the 90 that must be."""
    # Kornuijt 2019 Musculoskelet Surg 103:289-297; error of one reading 10 / sqrt(2) (Hancock 2018).
    found = standings(8, read("passive_flexion", 105, method="goniometer"))
    usual, needed = found["TKA_FLEX_W8"], found["TKA_POOR_W8"]
    assert (usual.expected, usual.expectation, usual.place) == (110, Expectation.USUAL, Place.WORSE)
    assert (usual.beyond_error, usual.interpolated, usual.timepoints) == (False, False, ("8 weeks",))
    assert usual.error == pytest.approx(10 / 2**0.5)
    assert (needed.expected, needed.place) == (90, Place.REACHED)
    assert (usual.source, usual.weeks) == ("Kornuijt 2019", 8)


def test_a_stiff_knee_does_not_reach_what_its_authors_call_sufficient() -> None:
    """80 degrees at eight weeks are short of 90 and beyond error below the median."""
    # Kornuijt 2019: below 90 degrees at 8 weeks = insufficient.
    found = standings(8, read("passive_flexion", 80, method="goniometer"))
    assert (found["TKA_POOR_W8"].place, found["TKA_POOR_W8"].beyond_error) == (Place.NOT_REACHED, True)
    assert (found["TKA_FLEX_W8"].place, found["TKA_FLEX_W8"].beyond_error) == (Place.WORSE, True)


def test_between_two_time_points_the_line_is_drawn_and_said() -> None:
    """Four weeks after a replacement: 80 + 3/7 of 30 on the line; between 80 and 110 nothing is judged."""
    # Kornuijt 2019: 80 at 1 week, 110 at 8 weeks.
    between = standings(4, read("passive_flexion", 100))["TKA_FLEX_W1 TKA_FLEX_W8"]
    assert between.expected == pytest.approx(80 + 30 * 3 / 7)
    assert (between.interpolated, between.low, between.high) == (True, 80, 110)
    assert (between.place, between.beyond_error) == (Place.LEVEL, False)
    assert between.timepoints == ("1 week", "8 weeks")
    stiff = standings(4, read("passive_flexion", 60))["TKA_FLEX_W1 TKA_FLEX_W8"]
    assert (stiff.place, stiff.beyond_error) == (Place.WORSE, True)


@pytest.mark.parametrize("weeks", [0.3, 10, 40])
def test_before_the_first_and_after_the_last_time_point_a_source_is_silent(weeks: float) -> None:
    """Kornuijt 2019 tells of weeks 1 to 8 and is not stretched beyond them."""
    found = standings(weeks, read("passive_flexion", 100))
    assert [items for items in found if items.startswith("TKA_FLEX_W")] == []


def test_extension_counts_towards_straight() -> None:
    """Three short of straight at eight weeks is level with the mean of 3.2 short; twenty short is worse."""
    # Kornuijt 2019: mean -3.2 at 8 weeks.
    near = standings(8, read("passive_extension", -3, method="goniometer"))["TKA_EXT_W8"]
    far = standings(8, read("passive_extension", -20, method="goniometer"))["TKA_EXT_W8"]
    assert (near.place, near.beyond_error) == (Place.BETTER, False)
    assert (far.place, far.beyond_error) == (Place.WORSE, True)


def test_a_difference_to_the_other_knee_after_a_ligament_operation() -> None:
    """Extension within 2 degrees of the other knee is called normal at any time; 6 short is not within it."""
    # Shelbourne 2012 Am J Sports Med 40:108-113.
    left = read("passive_extension", 3, side=LEFT)
    close = standings(30, read("passive_extension", 2), left, name=ACL)["ACLR_EXT_NORMAL"]
    short = standings(30, read("passive_extension", -3), left, name=ACL)["ACLR_EXT_NORMAL"]
    assert (close.value, close.place, close.expectation) == (1, Place.REACHED, Expectation.AT_MOST)
    assert (short.value, short.place, short.of_difference) == (6, Place.NOT_REACHED, True)


def test_a_difference_needs_both_knees() -> None:
    """With the other knee not measured nothing is said about the difference."""
    assert "ACLR_EXT_NORMAL" not in standings(30, read("passive_extension", 2), name=ACL)


def test_girth_after_a_ligament_operation() -> None:
    """Half a year after a ligament operation the thigh is 2.53 cm thinner on average."""
    # Krahn 2025 Int J Sports Phys Ther, 10.26603/001c.138312: 6.5 months, SD 1.54.
    findings = read("thigh_girth", 44, unit="cm"), read("thigh_girth", 48, unit="cm", side=LEFT)
    found = standings(28, *findings, name=ACL)["LIGREC_GIRTH_6M"]
    assert (found.value, found.expected, found.place) == (4, 2.53, Place.WORSE)


def test_a_total_beside_its_time() -> None:
    """KOOS pain of 84 two years after a replacement, beside a mean of 88."""
    # Acta Orthop 2010 81:727-732 (50 patients).
    found = standings(104, totals=(Total(score="koos_pain", value=84, side=RIGHT),))["TKR50_KOOS_PAIN_2Y"]
    assert (found.is_total, found.unit, found.expected, found.place) == (True, "points", 88, Place.WORSE)
    assert found.beyond_error is False


def test_what_patients_call_satisfactory_after_a_partial_replacement() -> None:
    """33 points a year after a partial replacement reach the 32.7 that patients call acceptable."""
    # Harris 2023 Acta Orthop: PASS 32.7 (31.5 to 33.9) at 12 months.
    name = ProcedureName.PARTIAL_KNEE_REPLACEMENT
    found = standings(52, totals=(Total(score="oks", value=33),), name=name)["OKS_UKA_PASS_12"]
    assert (found.place, found.low, found.high) == (Place.REACHED, 31.5, 33.9)


def test_the_knee_that_was_not_operated_on_has_no_milestones() -> None:
    """Milestones belong to the operated knee only."""
    assert standings(8, read("passive_flexion", 100, side=LEFT)) == {}


def test_without_an_operation_there_are_no_milestones() -> None:
    """Nothing is expected by the calendar of a knee to which nothing was done."""
    assert (
        followed(visit(0, read("passive_flexion", 90)), visit(8, read("passive_flexion", 90))).standings == ()
    )


def test_the_latest_operation_counts_and_the_visit_that_tells_of_it_need_not_be_the_last() -> None:
    """Once told, an operation holds at every later visit until another follows."""
    first = visit(1, read("passive_flexion", 80), procedure=operation(REPLACED))
    later = visit(8, read("passive_flexion", 110))
    course = followed(first, later)
    assert [0, 1] == [
        len(each.procedures) for each in (replace(course.visits[0], procedures=()), course.visits[1])
    ]
    assert {1, 8} == {round(each.weeks) for each in course.standings}
    again = operation(ProcedureName.MANIPULATION, weeks=8)
    after = followed(first, visit(8, read("passive_flexion", 110), procedure=again))
    assert {1} == {round(each.weeks) for each in after.standings}
    assert after.visits[1].procedures == (again,)


@pytest.mark.parametrize(
    ("printed", "weeks"),
    [
        ("1 week", (1, 1)),
        ("1-2 weeks", (1, 2)),
        ("3 months", (13.04, 13.04)),
        ("6.5 months", (28.26, 28.26)),
        ("6.5 months (SD 1.0)", (28.26, 28.26)),
        ("2 years", (104.36, 104.36)),
        ("any", (0, float("inf"))),
    ],
)
def test_printed_time_points_are_read_as_weeks(printed: str, weeks: tuple[float, float]) -> None:
    """A month is a twelfth of 365.25 days."""
    assert span_weeks(printed) == pytest.approx(weeks, abs=0.01)


@pytest.mark.parametrize(
    "printed", ["start", "leaving hospital", "end of programme", "before surgery", "test-retest", ">=5 years"]
)
def test_a_time_point_that_is_no_time_since_the_operation_is_not_placed(printed: str) -> None:
    """What has no place on the calendar gives no milestone."""
    assert span_weeks(printed) is None


def test_every_milestone_of_the_tables_is_used_or_has_no_place_in_time() -> None:
    """Rows called milestone, criterion or PASS are found by some operation, or are of a kind left out."""
    used = {item for name in ProcedureName for curve in curves(name, edition=EDITION) for item in curve.items}
    unused = {
        row.item_id
        for row in EDITION.recovery
        if row.category in {"milestone", "criterion", "PASS"} and row.item_id not in used
    }
    # Whole arcs of motion, changes in per cent or points, strength, and times without a date are none here.
    assert unused == {
        *("TKR50_ROM_PRE", "TKR50_ROM_DC", "TKR50_ROM_Y2", "TKR50_ROM_Y4", "TKA_MODEL", "OKS_MEANCHG"),
        *("TKR50_KOOS_PAIN_beforeS", "TKR50_KOOS_ADL_beforeS"),
        *("TKA_STR_M3", "TKA_STR_LSI_M3", "TKA_FLEXCHG_M3", "TKA_PAIN_M3", "LIGREC_LSI_6M"),
        *(
            "DECOND_EXT_0",
            "DECOND_EXT_12M",
            "DECOND_FLEX_0",
            "DECOND_FLEX_12M",
            "DECOND_IKDC_0",
            "CONTRACT_0",
        ),
    }


@given(st.sampled_from(ProcedureName), st.floats(0, 600))
def test_what_is_due_lies_among_its_rows(name: ProcedureName, weeks: float) -> None:
    """At any time after any operation an expected number lies between those of the rows it comes from."""
    for due in milestones_due(name, weeks=weeks, edition=EDITION):
        values = [row.estimate.value for row in due.rows if row.estimate.value is not None]
        assert min(values) - 1e-9 <= due.expected <= max(values) + 1e-9
        assert len({row.source.key for row in due.rows}) == 1
        assert due.interpolated is (len(due.rows) == 2)


def test_a_shortfall_of_decimals_is_the_one_that_is_printed() -> None:
    """4.4 beside 2.4 degrees is 2 short of the other side, which is no more than 2."""
    # A computer holds 4.4 - 2.4 as a little more than 2. Shelbourne 2012 Am J Sports Med 40:108-113.
    left = read("passive_extension", 4.4, side=LEFT)
    short = standings(30, read("passive_extension", 2.4), left, name=ACL)["ACLR_EXT_NORMAL"]
    assert (short.value, short.place) == (2, Place.REACHED)


def test_a_total_after_both_knees_were_replaced_is_told_once() -> None:
    """A questionnaire that did not ask about one knee stands once beside what was done to both on one day."""
    # Harris 2023: 28.9 points at 3 months after a partial replacement.
    done = operation(ProcedureName.PARTIAL_KNEE_REPLACEMENT, RIGHT, LEFT)
    course = followed(visit(13, totals=(Total(score="oks", value=31),), procedure=done))
    assert [each.expected for each in course.standings] == [28.9]
