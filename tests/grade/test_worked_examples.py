"""Numbers from papers and forms; the source stands beside each."""

from math import asin, degrees, radians, sin

import pytest

from fabella.evidence import load_edition
from fabella.grade import ROUNDING_RULE, Verdict, Why, band_of
from fabella.grade.norms import use_norm
from fabella.grade.thresholds import load_thresholds
from tests.grade.notation import pair

EDITION = load_edition()
ERROR = Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR


@pytest.mark.parametrize(
    ("method", "published_deg", "verdict"),
    [
        ("digital inclinometer", 6, Verdict.ABNORMAL),
        ("long goniometer", 10, ERROR),
        ("smartphone", 12, ERROR),
        ("short goniometer", 14, ERROR),
        ("by eye", 14, ERROR),
    ],
)
def test_the_same_eight_degrees_with_five_tools(method: str, published_deg: float, verdict: Verdict) -> None:
    """Eight degrees less flexion than the other side exceed the error of the inclinometer alone."""
    # Hancock 2018 J Exp Orthop 5:46, minimum significant differences; 110 itself would be short alone.
    right, _ = pair("passive_flexion", 127, 135, method=method)
    assert right.worse_by == 8
    assert right.error is not None
    assert (right.error.detectable, right.error.statistic, right.error.level) == (published_deg, "MSD", 0.95)
    assert right.verdict is verdict


def test_a_high_correlation_is_no_licence() -> None:
    """The error used for a goniometer is 10 degrees although its published ICC exceeds 0.99."""
    # Hancock 2018 J Exp Orthop 5:46.
    right, _ = pair("passive_flexion", 127, 135, method="long goniometer")
    assert right.error is not None
    assert right.error.row is not None
    assert right.error.row.statistic == "MSD"


def test_a_ninety_per_cent_change_is_not_taken_for_a_ninety_five_per_cent_one() -> None:
    """Seven degrees by smartphone exceed the printed MDC of 6.3, a 90 % one, but not the 95 % one of 7.54."""
    # Mehta 2017 J Knee Surg 30 (10.1055/s-0036-1593877): SEM 2.72; 1.96 x sqrt(2) x 2.72 = 7.54.
    right, _ = pair("active_flexion", 128, 135, method="smartphone")
    assert right.error is not None
    assert right.error.detectable == pytest.approx(7.54, abs=0.005)
    assert (right.error.level, right.error.statistic, right.error.computed) == (0.95, "SEM", True)
    assert right.verdict is ERROR


def test_limb_symmetry_between_printed_bands() -> None:
    """Hops of 140 and 139 against 155 cm are 90.3 %, grade A, and 89.7 %, between the bands and so in B."""
    # IKDC 2000 knee examination form (A from 90, B 76 to 89); index: Gokeler 2017 KSSTA 25:192-199.
    bands = EDITION.bands("ikdc2000_one_leg_hop")
    passes = band_of(100 * 140 / 155, bands)
    fails = band_of(100 * 139 / 155, bands)
    assert passes is not None
    assert fails is not None
    assert (passes.band.grade[0], passes.between) == ("A", False)
    assert (fails.band.grade[0], fails.between, fails.rule) == ("B", True, ROUNDING_RULE)


def test_published_laxity_below_the_three_millimetre_line() -> None:
    """An injured knee at 9.5 mm beside one at 6.8 mm: 2.7 mm, between grades A and B, are graded A."""
    # PMC5667602 (values and their difference); IKDC 2000 knee examination form (A to 2, B from 3).
    right, left = pair("lachman", 9.5, 6.8, unit="mm", method="arthrometer")
    assert right.difference == pytest.approx(2.7)
    assert right.band is not None
    assert (right.band.band.grade, right.band.between) == ("A normal", True)
    assert right.verdict is Verdict.NORMAL
    assert left.difference == pytest.approx(-2.7)
    assert left.verdict is Verdict.NORMAL
    assert left.band is None  # stiffer than any printed band of grade A


def test_arthrometer_error_is_the_larger_end_of_its_range() -> None:
    """A single arthrometer reading errs by 1.4 to 1.6 mm, so 1.6 counts: 4.4 mm must be exceeded."""
    # Milano 2022 Arch Orthop Trauma Surg 143:3241-3250; 1.96 x sqrt(2) x 1.6 = 4.435.
    right, _ = pair("lachman", 12, 7, unit="mm", method="instrumented arthrometer")
    assert right.error is not None
    assert (right.error.sem, right.error.assumed) == (1.6, False)
    assert right.error.detectable == pytest.approx(4.435, abs=0.005)
    assert right.verdict is Verdict.ABNORMAL
    nearer, _ = pair("lachman", 11, 7, unit="mm", method="instrumented arthrometer")
    assert nearer.verdict is ERROR


@pytest.mark.parametrize(
    ("scale", "printed"),
    [
        (
            "ikdc2000_extension_deficit",
            {2: "A", 3: "B", 5: "B", 6: "C", 10: "C", 11: "D", 5.5: "B", 10.5: "D"},
        ),
        (
            "ikdc2000_flexion_deficit",
            {5: "A", 6: "B", 15: "B", 16: "C", 25: "C", 26: "D", 5.5: "A", 25.5: "D"},
        ),
        ("ikdc2000_lachman_manual_max", {-1: "A", 2: "A", 3: "B", 5: "B", 6: "C", 10: "C", 10.5: "D"}),
    ],
)
def test_grades_of_motion_and_laxity_with_their_edges(scale: str, printed: dict[float, str]) -> None:
    """Whole values get the printed grade; a fraction stays beneath the grade that it does not reach."""
    # IKDC 2000 knee examination form; the fractions by the stated rounding rule.
    for value, grade in printed.items():
        used = band_of(value, EDITION.bands(scale))
        assert used is not None
        assert used.band.grade[0] == grade, value


def test_a_value_beneath_every_band_has_no_grade() -> None:
    """Four millimetres stiffer than the other side is on no band of increased laxity."""
    assert band_of(-4, EDITION.bands("ikdc2000_lachman_manual_max")) is None


@pytest.mark.parametrize("sign", ["ikdc2000_pivot_shift", "ikdc2000_endpoint"])
def test_grades_in_words_hold_no_number(sign: str) -> None:
    """A scale whose grades are worded (glide, clunk, gross) grades no millimetres."""
    # IKDC 2000 knee examination form.
    assert EDITION.bands(sign)
    assert band_of(3, EDITION.bands(sign)) is None


def test_heel_heights_mean_the_same_as_degrees() -> None:
    """The heel heights at which levels begin are the 3 and 10 degrees of the extension grades at 42 cm."""
    # IKDC 2000 (3 and 10 degrees) and asin(h / 42 cm).
    rule = load_thresholds().readings["heel_height_difference"].side
    assert rule is not None
    heights_cm = [start.at for start in rule.starts]
    assert heights_cm == pytest.approx([42 * sin(radians(3)), 42 * sin(radians(10))], abs=0.05)


def test_heel_height_of_healthy_athletes_is_within_normal_limits() -> None:
    """A heel 2.5 cm higher, 3.4 degrees, is the mean of healthy athletes who hyperextend one knee."""
    # J Sport Rehabil 1996 5:287-292: 9.8 % of 467, mean 2.5 cm; the angle by asin(h / 42 cm).
    assert degrees(asin(2.5 / 42)) == pytest.approx(3.41, abs=0.005)
    right, left = pair("heel_height_difference", 2.5, -2.5, unit="cm")
    assert right.verdict is Verdict.WITHIN_NORMAL_LIMITS
    assert Why.HEALTHY_ASYMMETRY in right.reasons
    assert left.verdict is Verdict.NORMAL


def test_two_published_cut_offs_of_one_index() -> None:
    """An index of 1.25 or 0.75 is beyond the limits of its originators and within those of a reference."""
    # Originators 0.8 to 1.2 (Lyon knee meeting chapter); radiology reference 0.6 to 1.3.
    rows = {row.source.key: use_norm(row) for row in EDITION.norms_of("caton_deschamps")}
    originators, reference = rows["caton_deschamps"], rows["radiology_reference"]
    assert (originators.low, originators.high) == (0.8, 1.2)
    assert (reference.low, reference.high) == (0.6, 1.3)
