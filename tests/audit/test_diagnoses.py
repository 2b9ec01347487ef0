"""The names of published diagnoses lead to the lesions that a surgeon would take them for."""

import pytest

from fabella.audit import lesions_of

# Usual names of case reports and their lesions; none where the model has no such lesion.
NAMES = """
pcl_avulsion_fracture: pcl_tear
acl_avulsion_fracture: tibial_spine_avulsion
acl_graft_rupture: acl_tear
femoral_acl_avulsion: acl_tear
superficial_mcl_tear: mcl_tear
pellegrini_stieda: mcl_tear
lcl_avulsion: lcl_tear
arcuate_avulsion: plc_injury
medial_meniscus_ramp_lesion: medial_meniscus_tear
lateral_root_tear: lateral_meniscus_tear
parameniscal_cyst_lateral: lateral_meniscus_tear
parameniscal_cyst_medial: medial_meniscus_tear
horizontal_cleavage_tear: medial_meniscus_tear lateral_meniscus_tear
discoid_lateral_meniscus_tear: discoid_lateral_meniscus lateral_meniscus_tear
medial_retinaculum_tear: patellar_instability
irreducible_patellar_dislocation: patellar_instability
patellar_tendon_avulsion: patellar_tendon_rupture
calcific_patellar_tendinitis: patellar_tendinopathy
quadriceps tendonitis: quadriceps_tendinopathy
painful_bipartite_patella: patellofemoral_pain
ocd_medial_femoral_condyle: osteochondral_lesion
osteonecrosis_medial_femoral_condyle: osteonecrosis
patellofemoral_osteoarthritis: osteoarthritis
tuberculous_synovitis: septic_arthritis
candida_arthritis: septic_arthritis
gonococcal_septic_arthritis: septic_arthritis
calcium pyrophosphate deposition disease: crystal_arthritis
gouty_arthritis: crystal_arthritis
post_streptococcal_reactive_arthritis: inflammatory_arthritis
ankylosing_spondylitis: inflammatory_arthritis
acquired_haemophilia: spontaneous_haemarthrosis
localised_nodular_synovitis: synovial_proliferation
intra_articular_haemangioma: synovial_proliferation
haemangioma: soft_tissue_tumour
ganglion cyst of the ACL: soft_tissue_tumour
deep_infrapatellar_bursitis: prepatellar_bursitis
dissecting_bakers_cyst: popliteal_cyst
popliteal_cyst_rupture: popliteal_cyst
common_peroneal_nerve_entrapment: peroneal_nerve_injury
infrapatellar_branch_neuralgia: lumbar_radiculopathy
popliteal_artery_transection: popliteal_artery_injury
popliteal_artery_thrombosis: popliteal_artery_injury popliteal_artery_disease
multiple_myeloma: bone_tumour
fibrous_dysplasia: bone_tumour
liposarcoma: soft_tissue_tumour
septic_arthritis_hip: hip_disease
lateral_tibial_plateau_fracture: tibial_plateau_fracture
salter_harris_distal_femoral_fracture: distal_femoral_fracture
medial_tibial_stress_fracture: stress_fracture
tennis_leg: muscle_tendon_strain
scurvy:
proximal_tibiofibular_dislocation:
ochronosis:
superficial_thrombophlebitis:
suprapatellar_bursitis:
"""
ROWS = [line.split(":") for line in NAMES.strip().splitlines()]


@pytest.mark.parametrize(("diagnosis", "lesions"), ROWS)
def test_a_published_diagnosis_means_what_a_surgeon_takes_it_for(diagnosis: str, lesions: str) -> None:
    """A bony avulsion is its ligament's rupture, a cyst its meniscus; what the model lacks is none."""
    assert set(lesions_of(diagnosis)) == set(lesions.split())


def test_the_hip_is_not_the_knee() -> None:
    """The same disease of another joint leads elsewhere."""
    assert lesions_of("septic_arthritis") != lesions_of("hip_septic_arthritis")
    assert lesions_of("osteonecrosis") != lesions_of("femoral_head_osteonecrosis")
