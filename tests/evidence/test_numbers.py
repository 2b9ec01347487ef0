from typing import Any

import pytest

from fabella.errors import EvidenceError
from fabella.evidence import (
    Counts2x2,
    Edition,
    ErrorStatistic,
    Estimate,
    IntervalKind,
    LikelihoodRatio,
    LoHi,
    Norm,
    NormAbout,
    Provenance,
    Source,
    StudySex,
)

CI = {"interval": IntervalKind.CONFIDENCE, "level": 0.95}


def estimate(source: Source, **given: Any) -> Estimate:
    """A published estimate of a made-up source."""
    return Estimate(source=source, provenance=Provenance.PUBLISHED, **given)


def norm(source: Source, **given: Any) -> Norm:
    """A norm of a made-up source: 140 degrees, 130 to 150 as a reference range, in adults."""
    usual: dict[str, Any] = {
        "measure_id": "passive_flexion",
        "name": "Passive flexion",
        "unit": "deg",
        "age_band": "adult",
        "age_from_years": 18,
        "age_below_years": None,
        "sex": StudySex.BOTH,
        "about": NormAbout.ABSOLUTE,
        "mean": 140.0,
        "sd": 5.0,
        "low": 130.0,
        "high": 150.0,
        "lohi": LoHi.REF_RANGE,
        "n": 100,
    }
    return Norm(source=source, provenance=Provenance.PUBLISHED, **{**usual, **given})


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"value": None}, "needs a value or a range"),
        ({"value": 0.9, "low": 0.2, "high": 0.8, **CI}, "out of order"),
        ({"value": None, "low": 0.8, "high": 0.2, "interval": IntervalKind.RANGE}, "out of order"),
        ({"value": 0.5, "low": 0.2, "high": 0.8}, "disagree"),
        ({"value": 0.5, **CI}, "disagree"),
        ({"value": 0.5, "low": 0.2, "interval": IntervalKind.CONFIDENCE}, "with level None"),
        ({"value": 0.5, "low": 0.2, "interval": IntervalKind.RANGE, "level": 0.95}, "with level 0.95"),
        ({"value": 0.5, "low": 0.2, "interval": IntervalKind.CONFIDENCE, "level": 95}, "not between 0 and 1"),
    ],
)
def test_an_estimate_must_make_sense(given: dict[str, Any], says: str, source: Source) -> None:
    """An estimate whose value, ends, kind of interval and level contradict each other is refused."""
    with pytest.raises(EvidenceError, match=says):
        estimate(source, **given)


def test_a_range_over_studies_is_no_confidence_interval(edition: Edition) -> None:
    """Ranges and quartiles keep their kind and have no level: bulge sign -0.04 to 0.14 over eight studies."""
    kinds = {
        (row.summary, row.estimate.interval, row.estimate.level)
        for row in edition.reliability
        if row.estimate
    }
    assert ("range", IntervalKind.RANGE, None) in kinds
    assert ("median", IntervalKind.QUARTILES, None) in kinds
    assert ("lower_bound", IntervalKind.BOUND, None) in kinds
    assert not any(summary == "range" and level for summary, _, level in kinds)
    bulge = [row.estimate for row in edition.reliability_of("effusion_sweep") if row.summary == "range"]
    assert [(each.value, each.low, each.high) for each in bulge if each] == [(None, -0.04, 0.14)]


@pytest.mark.parametrize("cells", [(None,) * 4, (-1, 0, 0, 0)])
def test_counts_must_be_counts(cells: tuple[int | None, ...], source: Source) -> None:
    """Counts that are all missing or negative are refused."""
    tp, fp, fn, tn = cells
    with pytest.raises(EvidenceError, match="whole numbers from 0"):
        Counts2x2(tp=tp, fp=fp, fn=fn, tn=tn, source=source, provenance=Provenance.PUBLISHED)


def test_counts_return_the_printed_percentages(edition: Edition) -> None:
    """Every two-by-two table gives back the sensitivity and specificity printed with it, and its total."""
    for row in edition.accuracy:
        if row.counts is None:
            continue
        tp, fp, fn, tn = row.counts.cells
        if tp is not None and fn is not None and row.sensitivity and row.sensitivity.value is not None:
            assert tp / (tp + fn) == pytest.approx(row.sensitivity.value, abs=0.0051), row.source.key
        if tn is not None and fp is not None and row.specificity and row.specificity.value is not None:
            assert tn / (tn + fp) == pytest.approx(row.specificity.value, abs=0.0051), row.source.key
        if row.counts.complete and row.knees:
            assert sum(cell or 0 for cell in row.counts.cells) == row.knees, row.source.key


def test_reconstructed_counts_are_derived(edition: Edition) -> None:
    """Counts worked back from percentages are derived although the percentages are published."""
    katz = edition.accuracy_for("lachman", "acl_tear")
    katz = tuple(row for row in katz if row.source.key == "katz_1986" and row.poolable)
    assert [row.counts.provenance for row in katz if row.counts] == [Provenance.DERIVED]
    assert [row.provenance for row in katz] == [Provenance.PUBLISHED]


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_a_likelihood_ratio_is_above_zero(value: float, source: Source) -> None:
    """A ratio of 0 is refused: 11 of 11 and 27 of 27 (Mills 2004) do not make a test infallible."""
    with pytest.raises(EvidenceError, match="must be above 0"):
        LikelihoodRatio(
            positive=None,
            negative=estimate(source, value=value),
            source=source,
            provenance=Provenance.PUBLISHED,
        )


def test_a_likelihood_ratio_needs_one(source: Source) -> None:
    """Neither LR+ nor LR- is no likelihood ratio."""
    with pytest.raises(EvidenceError, match=r"needs LR\+ or LR-"):
        LikelihoodRatio(positive=None, negative=None, source=source, provenance=Provenance.PUBLISHED)


def test_shares_stay_within_bounds(edition: Edition) -> None:
    """Every sensitivity, specificity, prevalence and P(b|a) with its ends lies within 0 to 1."""
    shares = [
        *(row.sensitivity for row in edition.accuracy),
        *(row.specificity for row in edition.accuracy),
        *(row.share for row in edition.prevalence),
        *(row.estimate for row in edition.cooccurrence if row.measure == "P(b|a)"),
    ]
    assert all(share.within(0, 1) for share in shares if share)


@pytest.mark.parametrize(
    "lohi", [LoHi.REF_RANGE, LoHi.PM2SD_COMPUTED, LoHi.CLASSIFICATION_BOUNDS, LoHi.LOA95]
)
def test_limits_for_people_may_judge_one(lohi: LoHi, source: Source) -> None:
    """Reference ranges, two standard deviations, limits of agreement and class bounds are cut-offs."""
    assert norm(source, lohi=lohi).cutoff == (130, 150)


@pytest.mark.parametrize(
    "lohi",
    [
        LoHi.CI95_MEAN,
        LoHi.MEANS_RANGE,
        LoHi.OBSERVED_RANGE,
        LoHi.FUNCTIONAL_MINIMUM,
        LoHi.PM196SD_LIMIT_RANGE,
    ],
)
def test_other_ends_may_not(lohi: LoHi, source: Source) -> None:
    """Intervals for a mean, ranges of means, extremes and needs of a task are no cut-offs."""
    assert norm(source, lohi=lohi).cutoff is None


def test_computed_limits_are_two_standard_deviations(edition: Edition) -> None:
    """Every limit marked as computed lies two standard deviations from its mean, to the printed digit."""
    computed = [row for row in edition.norms if row.lohi is LoHi.PM2SD_COMPUTED]
    assert len(computed) > 50
    for row in computed:
        assert row.mean is not None
        assert row.sd is not None
        assert (row.low, row.high) == pytest.approx((row.mean - 2 * row.sd, row.mean + 2 * row.sd), abs=0.1)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"low": 160}, "is above high"),
        ({"lohi": LoHi.NONE}, "disagree"),
        ({"low": None, "high": None}, "disagree"),
        ({"sd": 0}, "standard deviation"),
        ({"age_below_years": 18}, "are nobody's"),
    ],
)
def test_a_norm_must_make_sense(given: dict[str, Any], says: str, source: Source) -> None:
    """Reversed ends, ends without a kind, no spread and empty age bands are refused."""
    with pytest.raises(EvidenceError, match=says):
        norm(source, **given)


@pytest.mark.parametrize(
    ("age_years", "sex", "mean"),
    [
        (5, StudySex.FEMALE, 152.6),
        (8.9, StudySex.MALE, 147.8),
        (9, StudySex.MALE, 142.2),
        (69.9, StudySex.FEMALE, 137.8),
    ],
)
def test_norms_fit_age_and_sex(age_years: float, sex: StudySex, mean: float, edition: Edition) -> None:
    """Passive flexion by age and sex is the stratum of Soucie 2011; a band to 8 years holds until 9."""
    first = edition.norms_of("passive_flexion", age_years=age_years, sex=sex)[0]
    assert (first.source.key, first.mean) == ("soucie_2011", mean)


def test_own_sex_and_narrow_bands_come_first(edition: Edition) -> None:
    """Walking speed of a woman of 62: her decade of Bohannon 2011 before all people from 60."""
    found = edition.norms_of("gait_speed", age_years=62, sex=StudySex.FEMALE)
    assert (found[0].source.key, found[0].age_band, found[0].mean) == ("bohannon_2011", "60-69", 124.1)
    assert found[-1].sex is StudySex.BOTH
    assert all(row.holds_for(age_years=62, sex=StudySex.FEMALE) for row in found)
    assert len(edition.norms_of("gait_speed")) > len(found)


@pytest.mark.parametrize(
    ("scale", "value", "grade"),
    [
        # worked from the IKDC 2000 form: extension short by, flexion short by, hop in percent
        ("ikdc2000_extension_deficit", 2, "A normal"),
        ("ikdc2000_extension_deficit", 3, "B nearly normal"),
        ("ikdc2000_extension_deficit", 10, "C abnormal"),
        ("ikdc2000_extension_deficit", 11, "D severely abnormal"),
        ("ikdc2000_flexion_deficit", 5, "A normal"),
        ("ikdc2000_flexion_deficit", 6, "B nearly normal"),
        ("ikdc2000_flexion_deficit", 16, "C abnormal"),
        ("ikdc2000_flexion_deficit", 26, "D severely abnormal"),
        ("ikdc2000_one_leg_hop", 90.3, "A normal"),
        ("ikdc2000_lachman_134n", 10, "C abnormal"),
        ("ikdc2000_lachman_134n", 10.5, "D severely abnormal"),
        ("ikdc2000_external_rotation_30_prone", 4.9, "A normal"),
        ("dial_positive_cutoff", 10, "positive"),
        ("varus_stress_radiograph_20", 2.7, "isolated_lcl"),
        ("varus_stress_radiograph_20", 4, "complete_plc"),
    ],
)
def test_bands_hold_what_they_print(scale: str, value: float, grade: str, edition: Edition) -> None:
    """A value lies in the grade whose printed limits hold it; strict limits are strict."""
    assert [band.grade for band in edition.bands(scale) if band.contains(value)] == [grade]


@pytest.mark.parametrize(
    ("scale", "value", "grades"),
    [
        ("ikdc2000_lachman_134n", 2.7, []),  # PMC5667602: 9.5 mm against 6.8 mm
        ("ikdc2000_one_leg_hop", 89.7, []),
        ("ikdc2000_external_rotation_30_prone", 5, []),
        ("ama1968_laxity_generic", 5, ["1+", "2+"]),
        ("ikdc2000_pivot_shift", 1, []),
    ],
)
def test_gaps_and_shared_limits_of_scales_are_kept(
    scale: str, value: float, grades: list[str], edition: Edition
) -> None:
    """Published bands leave gaps and touch; nothing here closes them. Grades in words hold no number."""
    assert [band.grade for band in edition.bands(scale) if band.contains(value)] == grades


def test_errors_are_found_by_method_and_statistic(edition: Edition) -> None:
    """The smallest change of the knee angle that each tool can see: Hancock 2018."""
    found = {
        row.method: row.value
        for row in edition.measurement_error_of("knee_angle", statistic=ErrorStatistic.MSD)
    }
    assert found == {
        "visual estimate": 14,
        "short goniometer": 14,
        "long goniometer": 10,
        "smartphone": 12,
        "digital inclinometer": 6,
    }
    one = edition.measurement_error_of("knee_angle", method="smartphone", statistic=ErrorStatistic.MSD)
    assert [row.value for row in one] == [12]
