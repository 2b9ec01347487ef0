"""Changes with published errors and bars; the source stands beside each."""

import math
from dataclasses import replace

import pytest

from fabella.evidence import ErrorStatistic
from fabella.follow import ChangeVerdict, ChangeWhy, Importance, follow
from fabella.record import ProcedureName
from fabella.stats import mdc
from tests.follow.notation import (
    EDITION,
    PROTOCOL,
    measured_change,
    read,
    total_change,
    visit,
)

BETTER, WORSE = ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE
ERROR = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR
KNEE_REPLACEMENT = ProcedureName.TOTAL_KNEE_REPLACEMENT


@pytest.mark.parametrize(
    ("method", "published_deg", "verdict"),
    [
        ("digital inclinometer", 6, BETTER),
        ("long goniometer", 10, ERROR),
        ("smartphone", 12, ERROR),
        ("short goniometer", 14, ERROR),
        ("visual estimate", 14, ERROR),
    ],
)
def test_the_same_eight_degrees_with_five_tools(
    method: str, published_deg: float, verdict: ChangeVerdict
) -> None:
    """Flexion from 110 to 118 degrees is a change by the inclinometer alone."""
    # Hancock 2018 J Exp Orthop 5:46, minimum significant differences.
    change = measured_change("passive_flexion", (110, 118), methods=(method, method))
    assert change.error is not None
    assert (change.error.detectable, change.error.statistic, change.error.level) == (
        published_deg,
        "MSD",
        0.95,
    )
    assert change.verdict is verdict
    assert change.better_by == 8


def test_a_change_of_exactly_the_error_is_not_beyond_it() -> None:
    """Ten degrees by long goniometer are no change; ten and a half are."""
    # Hancock 2018 J Exp Orthop 5:46: 10 degrees.
    ten = measured_change("passive_flexion", (110, 120), methods=("long goniometer", "long goniometer"))
    more = measured_change("passive_flexion", (110, 120.5), methods=("long goniometer", "long goniometer"))
    assert (ten.verdict, more.verdict) == (ERROR, BETTER)


@pytest.mark.parametrize(
    ("sign", "unit", "sem", "decimals", "published"),
    [("cadence", "steps/min", 4.4, 1, 12.2), ("gait_speed", "m/s", 0.06, 2, 0.18)],
)
def test_a_published_detectable_change_of_gait_is_used_as_it_is_printed(
    sign: str, unit: str, sem: float, decimals: int, published: float
) -> None:
    """A change just above the printed MDC95 counts, one at it does not, and it follows from its SEM."""
    # PMC7506931 table 3: MDC95 = 1.96 x sqrt(2) x SEM, within the rounding of the SEM.
    low = 80 if sign == "cadence" else 0.8
    tools = "sensor", "sensor"
    at = measured_change(sign, (low, low + published), methods=tools, unit=unit)
    above = measured_change(sign, (low, low + 1.02 * published), methods=tools, unit=unit)
    assert (at.verdict, above.verdict) == (ERROR, BETTER)
    assert at.error is not None
    assert at.error.detectable == published
    assert published == pytest.approx(mdc(sem=sem, level=0.95), abs=2.78 * 0.5 * 10**-decimals)


def test_a_ninety_per_cent_change_is_not_taken_for_a_ninety_five_per_cent_one() -> None:
    """Seven degrees by smartphone exceed the printed MDC of 6.3, a 90 % one, but not the 95 % one of 7.54."""
    # Mehta 2017 J Knee Surg 30 (10.1055/s-0036-1593877): SEM 2.72; 1.645 and 1.96 x sqrt(2) x 2.72.
    same = "A", "A"
    tools = "smartphone", "smartphone"
    change = measured_change("active_flexion", (90, 97), methods=tools, examiners=same)
    assert change.error is not None
    assert change.error.detectable == pytest.approx(7.54, abs=0.005)
    assert (change.error.level, change.error.statistic, change.verdict) == (0.95, "SEM", ERROR)

    only_90 = replace(
        EDITION,
        measurement_error=tuple(
            row for row in EDITION.measurement_error if row.statistic is not ErrorStatistic.SEM
        ),
    )
    visits = [
        visit(w, read("active_flexion", v, method="smartphone"), examiner="A") for w, v in ((0, 90), (6, 97))
    ]
    by_90 = follow(visits, edition=only_90, protocol=PROTOCOL).measures[0].steps[0]
    assert by_90.error is not None
    assert (by_90.error.detectable, by_90.error.level, by_90.error.statistic) == (6.3, 0.90, "MDC90")
    assert by_90.verdict is BETTER


def test_limits_of_agreement_become_a_detectable_change_between_two_examiners() -> None:
    """Extension read by two physiotherapists: limits -6.2 to 10.6 give 8.4 degrees."""
    # Lenssen 2007 BMC Musculoskelet Disord 8:83: half the width, 8.4; SEM 3.03.
    change = measured_change("passive_extension", (-15, -7), methods=("long goniometer", "long goniometer"))
    assert change.error is not None
    assert (change.error.statistic, change.error.computed) == ("LoA", True)
    assert (change.error.detectable, change.error.sem) == pytest.approx((8.4, 3.03), abs=0.005)
    assert change.verdict is ERROR
    more = measured_change("passive_extension", (-15, -6), methods=("long goniometer", "long goniometer"))
    assert more.verdict is BETTER


def test_the_same_examiner_sees_smaller_changes() -> None:
    """Eight degrees of extension are within the error between examiners and beyond that of one."""
    # Lenssen 2007 (8.4 between two); J Knee Surg 2024, 10.1055/a-2321-0516 (5.4 at retest).
    tools = "goniometer", "goniometer"
    two = measured_change("passive_extension", (-15, -7), methods=tools, examiners=("A", "B"))
    unnamed = measured_change("passive_extension", (-15, -7), methods=tools)
    one = measured_change("passive_extension", (-15, -7), methods=tools, examiners=("A", "A"))
    assert [ERROR, ERROR, BETTER] == [two.verdict, unnamed.verdict, one.verdict]
    assert one.error is not None
    assert one.error.detectable == 5.4


def test_detectable_and_important_are_two_verdicts() -> None:
    """Oxford Knee Score: 3 is neither, 6 is beyond error but unimportant, 7 is both."""
    # Beard 2015 J Clin Epidemiol 68:73-79: MDC90 4, MIC of one patient 7; the group MIC of 9 judges nobody.
    changes = [total_change("oks", (20, 20 + by), procedure=KNEE_REPLACEMENT) for by in (3, 6, 7, 8)]
    assert [ERROR, BETTER, BETTER, BETTER] == [each.verdict for each in changes]
    no, yes = Importance.NOT_IMPORTANT, Importance.IMPORTANT
    assert [no, no, yes, yes] == [each.importance for each in changes]
    detectable, important = changes[0].detectable, changes[0].important
    assert detectable is not None
    assert important is not None
    assert (detectable.high, detectable.level, detectable.fits) == (4, 0.90, True)
    assert (important.high, important.statistic) == (7, "MIC_individual")


def test_a_change_may_be_important_and_within_error() -> None:
    """Lysholm: 7 points are more than patients need to notice and less than the score can resolve."""
    # Briggs 2009 Am J Sports Med 37:890-897: MDC 8.9; Rev Bras Ortop 2023 58:79-84: MCID 5.5.
    change = total_change("lysholm", (70, 77), procedure=ProcedureName.ACL_RECONSTRUCTION)
    assert (change.verdict, change.importance) == (ERROR, Importance.IMPORTANT)


def test_half_the_width_of_a_series_is_no_error_of_one_reading() -> None:
    """The band about one reading is narrower than a detectable change by the root of two."""
    # Lenssen 2007: MDC95 9.4 = 1.96 x SD of differences, SEM = SD / sqrt(2); passive flexion, sitting.
    sem = 3.39
    assert mdc(sem=sem, level=0.95) == pytest.approx(9.4, abs=0.01)
    assert mdc(sem=sem, level=0.95) / math.sqrt(2) == pytest.approx(1.96 * sem, abs=0.01)


@pytest.mark.parametrize("score", ["koos_pain", "koos_sport", "ikdc_subjective"])
def test_values_from_memory_say_so(score: str) -> None:
    """The detectable changes of these scores were recalled, and the bar carries that."""
    # Collins 2011 Arthritis Care Res 63:S208-S228 (from memory in the tables).
    change = total_change(score, (40, 60))
    assert change.detectable is not None
    assert change.detectable.recalled


def test_worse_is_as_true_as_better() -> None:
    """A loss of 23 degrees is a true change for the worse."""
    # Hancock 2018 J Exp Orthop 5:46.
    change = measured_change("passive_flexion", (118, 95), methods=("goniometer", "goniometer"))
    assert (change.verdict, change.better_by) == (WORSE, -23)
    assert change.reasons == (ChangeWhy.BEYOND_ERROR,)
