"""Evidence speaks of the signs by the names the protocol gives them; what lies outside it is listed here."""

from fabella.evidence import Edition
from fabella.protocol import load_protocol

# Whole examinations and combinations of signs, some with history.
COMBINED = {
    "acl_exam_composite",
    "acl_history_exam_composite",
    "acl_tests_any",
    "catching_or_locking",
    "cluster",
    "dial",
    "dial_30_and_90",
    "dial_30_only",
    "exam_continuous_items",
    "exam_dichotomous_items",
    "haim_pf_tests",
    "meniscal_symptom_index",
    "meniscus_cluster_degenerative",
    "meniscus_cluster_traumatic",
    "meniscus_composite_5item",
    "meniscus_composite_exam",
    "oa_signs",
    "patellar_instability_battery",
    "pcl_exam_composite",
    "pfp_cluster_2of3",
    "pfp_cluster_decary",
    "swelling_plus_ballottement",
    "valgus_stress",  # angle not stated
    "varus_stress",  # angle not stated
    "vascular_hard_signs",
    "vascular_physical_exam",
}
# Published rules and sets of criteria.
RULES = {
    "acr_clinical",
    "acr_clinical_3of6",
    "acr_clinical_lab_5of9",
    "acr_clinical_lab_tree",
    "acr_clinical_radiographic_1of3",
    "acr_clinical_radiographic_tree",
    "acr_clinical_tree",
    "acute_gout_rule",
    "eular_6of6",
    "meniscus_cpr_primary_care",
    "oa_history_rule",
    "ottawa_knee_rule",
    "pittsburgh_knee_rule",
    "wells_dvt",
}
# Instruments, laboratory values, personal data and signs that the protocol does not examine.
OUTSIDE = {
    "active_patellar_apprehension",
    "acute_haemarthrosis",
    "acute_injury_history",
    "age_over_80",
    "alignment_calliper",
    "alignment_goniometer",
    "alignment_photo",
    "anterior_drawer_modified",
    "ap_laxity_initial",
    "balloon_sign",
    "bursal_skin_temp_difference",
    "bursitis_clinical_features",
    "cannot_straighten_by_history",
    "circumduction",
    "clinician_prediction",
    "extension_abnormal",
    "gait_inspection",
    "hip_or_knee_prosthesis",
    "immediate_swelling",
    "instrumented_arthrometer",
    "joint_pain",
    "joint_swelling",
    "lateral_anterior_drawer",
    "pf_tenderness",
    "prosthesis_plus_skin_infection",
    "recent_joint_surgery",
    "rheumatoid_arthritis",
    "rigors",
    "rom_extension",
    "rom_flexion",
    "sweats",
    "synovial_pmn",
    "synovial_wbc",
    "valgus_contact",
    "valgus_stress_radiograph",
}


def test_evidence_names_signs_as_the_protocol_does(edition: Edition) -> None:
    """Every sign of an evidence table is one of the protocol or listed above, and none is listed idly."""
    spoken_of = {row.sign_id for row in edition.accuracy} | {row.sign_id for row in edition.reliability}
    known = {sign.id for sign in load_protocol().signs}
    assert spoken_of - known == COMBINED | RULES | OUTSIDE


def test_gaps_name_signs_of_the_protocol(edition: Edition) -> None:
    """A gap is about a sign of the protocol or about a measurement of gait."""
    known = {sign.id for sign in load_protocol().signs}
    assert {gap.subject for gap in edition.gaps} - known == {"step_time_asymmetry"}
