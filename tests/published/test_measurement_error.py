"""Measurement error and detectable change against published tables."""

from math import sqrt

import pytest

from fabella.stats import LimitsOfAgreement, limits_of_agreement, mdc, sem_from_icc, sem_from_mdc

GAIT = [  # PMC7506931, table 3: SEM, decimals it is printed with, MDC95 as printed
    (4.4, 1, 12.2),  # cadence, steps/min
    (3.8, 1, 10.6),  # step length, cm
    (5.1, 1, 14.2),  # step-time asymmetry, %
    (0.04, 2, 0.12),  # step time, s
    (0.06, 2, 0.18),  # speed, m/s
]
GAIT_RELIABILITY = [  # same table: SD (mean of test and retest), ICC, SEM as printed
    (9.55, 0.84, 3.8),
    (0.13, 0.91, 0.04),
    (9.55, 0.72, 5.1),
    (16.0, 0.92, 4.4),
]
LAXITY_MM = [  # doi 10.1155/2023/5583949, table 3: SEM, smallest detectable change as printed, mm
    (0.57, 1.59),
    (0.88, 2.44),
    (0.95, 2.62),
    (0.24, 0.67),
    (0.14, 0.40),
    (0.14, 0.38),
    (0.16, 0.43),
]
LENSSEN_2007 = [  # limits of agreement, bias as printed; SD, SEM, MDC95 worked out by hand, degrees
    (-6.7, 12.1, 2.7, 4.80, 3.39, 9.4),  # passive flexion, sitting
    (-6.2, 10.6, 2.2, 4.29, 3.03, 8.4),  # passive extension
    (-16.2, 19.0, 1.4, 8.98, 6.35, 17.6),  # passive flexion, supine; the abstract drops the minus sign
]
LARGE_METER = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
MINI_METER = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)


@pytest.mark.parametrize(("sem", "decimals", "printed"), GAIT)
def test_mdc95_of_gait(sem: float, decimals: int, printed: float) -> None:
    """MDC95 lies within what the rounding of the printed SEM allows. Source: PMC7506931, table 3."""
    rounding = 0.5 * 10**-decimals
    assert (
        mdc(sem=sem - rounding, level=0.95) - rounding
        <= printed
        <= mdc(sem=sem + rounding, level=0.95) + rounding
    )


@pytest.mark.parametrize(("sd", "icc", "printed"), GAIT_RELIABILITY)
def test_sem_of_gait(sd: float, icc: float, printed: float) -> None:
    """SEM follows from SD and ICC within 3 %, the rounding of the ICC. Source: PMC7506931, table 3."""
    assert sem_from_icc(sd=sd, icc=icc) == pytest.approx(printed, rel=0.03)


@pytest.mark.parametrize(("sem_deg", "printed_deg", "mdc95_deg"), [(2.72, 6.3, 7.54), (1.18, 2.72, 3.27)])
def test_a_published_mdc_that_is_an_mdc90(sem_deg: float, printed_deg: float, mdc95_deg: float) -> None:
    """What is printed as MDC of a goniometer is its MDC90; its MDC95 is a fifth larger.

    Source: doi 10.1055/s-0036-1593877, smartphone goniometer, flexion and extension; MDC95 by hand.
    """
    assert mdc(sem=sem_deg, level=0.90) == pytest.approx(printed_deg, abs=0.05)
    assert mdc(sem=sem_deg, level=0.95) == pytest.approx(mdc95_deg, abs=0.005)
    assert sem_from_mdc(mdc=printed_deg, level=0.90) == pytest.approx(sem_deg, abs=0.02)


@pytest.mark.parametrize(("sem_mm", "printed_mm"), LAXITY_MM)
def test_smallest_detectable_change_of_laxity(sem_mm: float, printed_mm: float) -> None:
    """Smallest detectable change of laxity is the MDC95. Source: doi 10.1155/2023/5583949, table 3."""
    assert mdc(sem=sem_mm, level=0.95) == pytest.approx(printed_mm, abs=0.02)


@pytest.mark.parametrize(
    ("half_width_95", "printed"), [(1.39, 1.97), (1.06, 1.50), (1.29, 1.82), (3.31, 4.68)]
)
def test_mdc95_of_a_long_leg_film(half_width_95: float, printed: float) -> None:
    """From a SEM given as a 95 % half-width (1.96 SEM, an assumption), MDC95 is that times the root of 2.

    Source of the half-widths: doi 10.1186/s13018-023-03552-8 (HKA, mLDFA, MPTA in degrees, MAD in mm).
    """
    assert mdc(sem=half_width_95 / 1.96, level=0.95) == pytest.approx(printed, abs=0.006)


@pytest.mark.parametrize(("low", "high", "bias", "sd", "sem", "change"), LENSSEN_2007)
def test_lenssen_2007(  # noqa: PLR0917 - one row of the table
    low: float, high: float, bias: float, sd: float, sem: float, change: float
) -> None:
    """Limits of agreement of two physiotherapists give the printed bias, then SD, SEM and MDC95.

    Source: Lenssen 2007 BMC Musculoskelet Disord 8:83, doi 10.1186/1471-2474-8-83.
    """
    found = LimitsOfAgreement(low=low, high=high)
    assert found.bias == pytest.approx(bias, abs=0.05)
    assert (found.sd_difference, found.sem) == pytest.approx((sd, sem), abs=0.006)
    assert mdc(sem=found.sem, level=0.95) == pytest.approx(change, abs=0.05)


def test_bland_altman_1986() -> None:
    """Two flow meters differ by -2.1 l/min, SD 38.8; the printed limits, -79.7 and 75.5, use 2 SD.

    Source: Bland and Altman 1986 Lancet 327:307-310, doi 10.1016/S0140-6736(86)90837-8 (data and figures from
    memory); a factor of exactly 2 is a level of 0.9545.
    """
    found = limits_of_agreement(LARGE_METER, MINI_METER, level=0.9544997)
    assert (found.bias, found.sd_difference) == pytest.approx((-2.1, 38.8), abs=0.05)
    assert (found.low, found.high) == pytest.approx((-79.7, 75.5), abs=0.1)
    assert found.sem == pytest.approx(38.8 / sqrt(2), abs=0.05)
