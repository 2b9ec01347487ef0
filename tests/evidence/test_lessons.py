"""What surveying the literature taught, as tests of the tables and of the choices made from them."""

import pytest

from fabella.evidence import (
    Accuracy,
    Caution,
    Edition,
    ErrorStatistic,
    LoHi,
    Provenance,
    Ranking,
    StudySetting,
    rank,
)


def ranking(edition: Edition, sign: str, target: str, setting: StudySetting | None = None) -> Ranking:
    """The ranking of a sign read as positive."""
    return rank(edition.accuracy_for(sign, target, finding_level="positive"), setting=setting)


def one(rows: tuple[Accuracy, ...], key: str) -> Accuracy:
    """The only row of a source."""
    (row,) = [row for row in rows if row.source.key == key]
    return row


def test_setting_decides_the_meniscal_tests(edition: Edition) -> None:
    """Joint-line tenderness: 83/83 pooled in hospital, 77/26 in 292 knees tested in primary care."""
    hospital = ranking(
        edition, "joint_line_tenderness", "meniscus_tear_any", StudySetting.SPECIALIST_CLINIC
    ).chosen
    primary = ranking(edition, "joint_line_tenderness", "meniscus_tear_any", StudySetting.PRIMARY_CARE).chosen
    assert hospital is not None
    assert primary is not None
    assert (hospital.source.key, hospital.pair) == ("smith_2015", (0.83, 0.83))
    assert (primary.source.key, primary.pair) == ("blyth_2015", (0.77, 0.26))


@pytest.mark.parametrize("setting", [None, *StudySetting])
@pytest.mark.parametrize("target", ["medial_meniscus_tear", "lateral_meniscus_tear", "meniscus_tear_any"])
def test_the_thessaly_figure_from_healthy_volunteers_is_never_chosen(
    target: str, setting: StudySetting | None, edition: Edition
) -> None:
    """89/97 compares patients with healthy volunteers: shown last with its reason, never used."""
    result = ranking(edition, "thessaly_20", target, setting)
    last = result.ordered[-1]
    assert last.barred
    assert last.accuracy.caution is Caution.HEALTHY_CONTROLS
    assert last.reason.startswith("compared with healthy volunteers: ")
    if target == "medial_meniscus_tear":
        assert last.accuracy.pair == (0.89, 0.97)
    assert result.chosen is None or result.chosen.source.key in {"blyth_2015", "krakowski_2019"}


def test_locking_by_history_barely_discriminates(edition: Edition) -> None:
    """Catching or locking 0.89 (0.77 to 1.03), cannot straighten 1.02, among knees already referred."""
    locking = one(edition.accuracy_of("catching_or_locking"), "thorlund_2019").likelihood_ratio
    straight = one(edition.accuracy_of("cannot_straighten_by_history"), "thorlund_2019").likelihood_ratio
    assert locking is not None
    assert locking.positive is not None
    assert (locking.positive.value, locking.positive.low, locking.positive.high) == (0.89, 0.77, 1.03)
    assert straight is not None
    assert straight.positive is not None
    assert straight.positive.value == 1.02
    assert edition.gaps_of("block_to_extension")


def test_a_pop_adds_nothing_once_a_haemarthrosis_is_known(edition: Edition) -> None:
    """36 % of torn against 33 % of intact knees in haemarthroses; elsewhere the larger series is used."""
    noyes = [row for row in edition.accuracy_of("pop_heard") if row.source.key == "noyes_1980"]
    assert [row.pair for row in noyes] == [(0.361, 0.667), (0.36, 0.67)]
    assert [row.independent for row in noyes] == [True, False]
    chosen = ranking(edition, "pop_heard", "acl_tear").chosen
    assert chosen is not None
    assert chosen.source.key == "wagemakers_2010"


def test_haemarthrosis_series_give_no_accuracy(edition: Edition) -> None:
    """Series of haemarthroses alone tell only how many were torn; nothing in them is chosen as accuracy."""
    result = ranking(edition, "immediate_swelling", "acl_tear")
    assert result.chosen is None
    assert {each.reason for each in result.ordered} == {"no accuracy printed"}


def test_the_inventors_lever_sign_is_never_chosen(edition: Edition) -> None:
    """The lever sign's 1.00 is its inventor's; the pooled value is used for tears, none for partial tears."""
    partial = ranking(edition, "lever_sign", "acl_partial_tear")
    assert partial.chosen is None
    assert partial.ordered[0].reason.startswith("series of the test's inventor: ")
    chosen = ranking(edition, "lever_sign", "acl_tear").chosen
    assert chosen is not None
    assert chosen.pair == (0.83, 0.91)


def test_the_outlying_lachman_series_is_last(edition: Edition) -> None:
    """The 242-knee Lachman series (specificity 0.21) ranks last, with its reason, and is never chosen."""
    result = ranking(edition, "lachman", "acl_tear")
    last = result.ordered[-2:]
    assert {each.accuracy.source.key for each in last} == {"lever_242_knees"}
    assert (0.938, 0.208) in [each.accuracy.pair for each in last]
    assert all(each.barred and each.reason.startswith("outlier: specificity") for each in last)
    assert result.chosen is not None
    assert (result.chosen.source.key, result.chosen.pair) == ("sokal_2022", (0.81, 0.85))


def test_awake_comes_before_anaesthetised(edition: Edition) -> None:
    """Complete tears, pivot shift: 28/81 awake is used, 73/98 under anaesthesia stands below and says so."""
    result = ranking(edition, "pivot_shift", "acl_complete_tear")
    assert result.chosen is not None
    assert result.chosen.pair == (0.28, 0.81)
    under = [each for each in result.ordered if each.accuracy.pair == (0.73, 0.98)]
    assert [each.reason for each in under] == ["examined under anaesthesia"]


def test_a_dial_positive_at_both_angles_barely_moves_probability(edition: Edition) -> None:
    """LR+ 1.8 for combined injury, and 1.14 for a medial one, which produces the finding too."""
    ratios = {row.target: row.likelihood_ratio for row in edition.accuracy_of("dial_30_and_90")}
    found = {target: ratio.positive.value for target, ratio in ratios.items() if ratio and ratio.positive}
    assert found["plc_pcl_combined_injury"] == 1.8
    assert found["medial_knee_injury"] == 1.14


@pytest.mark.parametrize(
    ("sign", "studies"), [("lachman", 7), ("anterior_drawer", 6), ("lever_sign", 5), ("pivot_shift", 3)]
)
def test_few_studies_can_be_pooled(sign: str, studies: int, edition: Edition) -> None:
    """Only so many independent studies of ACL tears have all four counts; no study enters twice."""
    poolable = [row.source.key for row in edition.accuracy_for(sign, "acl_tear") if row.poolable]
    assert len(poolable) == len(set(poolable)) == studies


@pytest.mark.parametrize(
    "sign", ["varus_stress_0", "varus_stress_30", "straight_leg_raise", "j_sign", "palpable_gap_quadriceps"]
)
def test_what_was_not_found_is_said(sign: str, edition: Edition) -> None:
    """Signs whose accuracy nobody published have no accuracy row and are listed as gaps."""
    assert edition.accuracy_of(sign) == ()
    assert any(gap.looked_for.startswith("accuracy") for gap in edition.gaps_of(sign))


def test_normal_pulses_do_not_exclude_arterial_injury(edition: Edition) -> None:
    """Pulses find 79 % of arterial injuries; the index found all, in 38 knees only."""
    pulses = ranking_for(edition, "distal_pulses", "abnormal")
    index = ranking_for(edition, "ankle_brachial_index", "<0.90")
    assert (pulses.pair, index.pair, index.knees) == ((0.79, 0.91), (1, 1), 38)


def ranking_for(edition: Edition, sign: str, level: str) -> Accuracy:
    """The row used for a sign read in one way, whatever its only target."""
    chosen = rank([row for row in edition.accuracy_of(sign) if row.finding_level == level]).chosen
    assert chosen is not None
    return chosen


def test_the_survey_of_motion_gives_no_cutoff(edition: Edition) -> None:
    """The largest survey of motion prints intervals of the mean, about -/+ 1.5 degrees: never a cut-off."""
    soucie = [row for row in edition.norms if row.source.key == "soucie_2011"]
    assert len(soucie) == 16
    assert {row.lohi for row in soucie} == {LoHi.CI95_MEAN}
    assert all(row.cutoff is None for row in soucie)
    assert all(row.cutoff is None for row in edition.norms if row.lohi is LoHi.CI95_MEAN)


def test_detectable_change_at_90_and_95_percent_stay_apart(edition: Edition) -> None:
    """A "MDC" of 6.3 degrees is a 90 % value by its own SEM; asking for 95 % does not return it."""
    at_90 = edition.measurement_error_of(
        "active_flexion", method="smartphone", statistic=ErrorStatistic.MDC90
    )
    at_95 = edition.measurement_error_of(
        "active_flexion", method="smartphone", statistic=ErrorStatistic.MDC95
    )
    (sem,) = edition.measurement_error_of("active_flexion", method="smartphone", statistic=ErrorStatistic.SEM)
    assert [(row.value, row.change_level) for row in at_90] == [(6.3, 0.90)]
    assert at_95 == ()
    assert sem.value is not None
    assert sem.change_level is None
    assert 1.645 * 2**0.5 * sem.value == pytest.approx(6.3, abs=0.05)  # 1.96 would give 7.5
    levels = {row.statistic: row.change_level for row in edition.measurement_error}
    assert {name for name, level in levels.items() if level == 0.90} == {ErrorStatistic.MDC90}


def test_versions_of_a_rule_differ_at_the_edges(edition: Edition) -> None:
    """3.0 cm of calf counts in the 2003 score and not in the 1997 one; the fracture rule begins at 55."""
    printed = {(row.rule_id, row.criterion_no): row.threshold for row in edition.decision_rules}
    assert ">= 3 cm" in printed["WELLS_DVT", "6"]
    assert printed["WELLS_DVT_1997", "diff1"].startswith("> 3 cm (strict)")
    assert printed["OKR", "1"].startswith("age >= 55 years")


def test_a_likelihood_ratio_is_never_derived_silently(edition: Edition) -> None:
    """The fracture rule keeps its own pooled LR- 0.05, not (1 - 0.985) / 0.486 = 0.031, and has no LR+."""
    (bachmann,) = [
        row for row in edition.accuracy_of("ottawa_knee_rule") if row.source.key == "bachmann_2004"
    ]
    ratio = bachmann.likelihood_ratio
    assert bachmann.pair == (0.985, 0.486)
    assert ratio is not None
    assert ratio.positive is None
    assert ratio.negative is not None
    assert (ratio.negative.value, ratio.negative.low, ratio.negative.high) == (0.05, 0.02, 0.23)
    assert (ratio.source, ratio.provenance) == (bachmann.source, Provenance.PUBLISHED)


def test_rows_without_a_stated_ratio_have_none(edition: Edition) -> None:
    """A row whose source states no ratio holds none, although its accuracy is known."""
    assert one(edition.accuracy_for("lachman", "acl_tear"), "sokal_2022").likelihood_ratio is None


def test_averaged_accuracies_do_not_give_the_pooled_ratio(edition: Edition) -> None:
    """Whole meniscal examination of Solomon 2001: 77/91 would give 8.6, the pooled ratio is 2.7."""
    rows = [row for row in edition.accuracy_of("meniscus_composite_exam") if row.source.key == "solomon_2001"]
    (pair,) = [row.pair for row in rows if row.pair]
    (ratio,) = [row.likelihood_ratio for row in rows if row.likelihood_ratio]
    assert pair[0] / (1 - pair[1]) == pytest.approx(8.6, abs=0.05)
    assert ratio.positive is not None
    assert ratio.positive.value == 2.7
    assert not any(row.pair and row.likelihood_ratio for row in rows)


def test_examiners_agree_poorly_without_an_agreed_technique(edition: Edition) -> None:
    """Sweep test: kappa 0.14 between surgeons as they come, reliability 0.97 after agreeing on technique."""
    found = {
        row.source.key: row.estimate.value for row in edition.reliability_of("effusion_sweep") if row.estimate
    }
    assert found["dervin_2001"] == 0.14
    assert found["cibere_2004"] == 0.97


def test_pivot_shift_is_read_better_in_two_grades(edition: Edition) -> None:
    """Agreement 0.39 with three grades, 0.73 with low against high."""
    rows = [row for row in edition.reliability_of("pivot_shift") if row.source.key == "martinez_cano_2025"]
    assert [row.estimate.value for row in rows if row.estimate] == [0.39, 0.73]


def test_likelihood_ratios_of_septic_arthritis_are_all_recalled(edition: Edition) -> None:
    """Every likelihood ratio of septic arthritis is from memory: safety must not rest on them.

    What was read are three shares of infected children with a fever or who bear no weight.
    """
    rows = [row for row in edition.accuracy if row.target == "septic_arthritis"]
    read = {row.source.key: row for row in rows if not row.recalled}
    assert len(rows) == 20
    assert sum(row.recalled for row in rows) == 17
    assert set(read) == {"moro_lago_2017", "obey_2019"}
    assert all(row.likelihood_ratio is None and row.specificity is None for row in read.values())


def test_company_and_prevalence_are_as_printed(edition: Edition) -> None:
    """A dislocation hurts the artery in 28.9 or 18 %; half of the knees with blood in them lost the ACL."""
    pair = {"knee_dislocation", "popliteal_artery_injury"}
    company = [row for row in edition.cooccurrence if {row.lesion_a, row.lesion_b} == pair]
    assert {row.estimate.value for row in company} == {0.289, 0.18}
    acl = [row for row in edition.prevalence if row.lesion == "acl_tear"]
    assert 0.52 in [row.share.value for row in acl if row.setting is StudySetting.EMERGENCY]


def test_milestones_keep_group_and_individual_change_apart(edition: Edition) -> None:
    """Oxford Knee Score: 9 for a group, 7 for one patient, 4 detectable at 90 % (Beard 2015)."""
    found = {
        row.statistic: row.estimate.value
        for row in edition.recovery
        if row.measure_id == "oks" and row.source.key == "beard_2015"
    }
    assert found == {"MIC_group": 9, "MIC_individual": 7, "MID_between_groups": 5, "MDC90": 4}
