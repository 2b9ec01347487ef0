"""What a published study asked, in whom, and how far examiners agreed, in words instead of ids."""

from __future__ import annotations

from fabella.anatomy import load_lesions
from fabella.stats.written import spaced

_TARGETS = {
    "acl_complete_tear": "complete tear of the anterior cruciate ligament",
    "acl_partial_tear": "partial tear of the anterior cruciate ligament",
    "meniscus_tear_any": "tear of either meniscus",
    "degenerative_symptomatic_meniscus_tear": "degenerative, symptomatic meniscus tear",
    "traumatic_symptomatic_meniscus_tear": "traumatic, symptomatic meniscus tear",
    "fresh_ligament_rupture_any": "fresh rupture of any ligament",
    "plc_injury_isolated": "isolated posterolateral corner injury",
    "plc_acl_combined_injury": "combined posterolateral corner and anterior cruciate ligament injury",
    "plc_pcl_combined_injury": "combined posterolateral corner and posterior cruciate ligament injury",
    "plc_pcl_or_medial_injury": "combined posterolateral corner and posterior cruciate ligament injury,"
    " or medial injury",
    "gout_msu": "gout (urate crystals)",
    "knee_osteoarthritis": "osteoarthritis of the knee",
    "radiographic_knee_oa": "radiographic osteoarthritis of the knee",
    "symptomatic_radiographic_knee_oa": "symptomatic radiographic osteoarthritis of the knee",
    "patellar_tendinopathy_us": "patellar tendinopathy on ultrasound",
}
_SETTINGS = {"surgical_cohort": "surgical patients", "unstated": "setting not stated"}
_ACUITIES = {
    "mixed": "acute and chronic",
    "any": "acute or chronic",
    "subacute_chronic": "subacute and chronic",
    "screening": "screened",
}
_ANAESTHESIA = {"unstated": "", "mixed": "some anaesthetised"}
_STATISTICS = {
    "fleiss_kappa": "Fleiss kappa",
    "pearson_r": "Pearson r",
    "proportion_agreement": "proportion of agreement",
}
_COMPARISONS = {
    "inter": "between examiners",
    "intra": "same examiner twice",
    "test_retest": "test and retest",
    "versus_device": "against an instrument",
    "versus_full_leg_radiograph": "against a full-leg radiograph",
    "versus_mri": "against MRI",
    "versus_ultrasound": "against ultrasound",
}


def target_words(target: str) -> str:
    """Return what a study looked for: the name of the lesion, where it is one of the model."""
    lesion = load_lesions().of_diagnosis(target)
    own = lesion.name if lesion and lesion.id == target else spaced(target)
    return _TARGETS.get(target, own)


def whom_words(setting: str, acuity: str, anaesthesia: str) -> str:
    """Return in whom a study was done, as a list; what was not stated of anaesthesia is left out."""
    told = (
        _SETTINGS.get(setting, spaced(setting)),
        _ACUITIES.get(acuity, spaced(acuity)),
        _ANAESTHESIA.get(anaesthesia, anaesthesia),
    )
    return ", ".join(filter(None, told))


def statistic_words(statistic: str) -> str:
    """Return the name of a measure of agreement."""
    return _STATISTICS.get(statistic, spaced(statistic))


def comparison_words(comparison: str) -> str:
    """Return between whom or what agreement was measured."""
    return _COMPARISONS.get(comparison, spaced(comparison))
