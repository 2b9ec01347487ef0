"""How each rule of what cannot wait is decided, in the order in which equally urgent alarms stand."""

from collections.abc import Callable

from fabella.flags import (
    arteries,
    bleeding,
    blood,
    extensor,
    fractures,
    growths,
    hips,
    imaged,
    infection,
    joints,
    ligaments,
    limb,
    nerves,
    operated,
    skin,
    synovitis,
    veins,
    young,
)
from fabella.flags.knee import Knee
from fabella.flags.reading import Reading

Decision = Callable[[Knee], Reading]

DECISIONS: dict[str, Decision] = {
    decision.__name__: decision
    for decision in (
        imaged.artery_shown,
        limb.vascular_injury,
        limb.ischaemic_foot,
        limb.knee_dislocation,
        limb.deformity_after_injury,
        ligaments.multiligament_injury,
        ligaments.lateral_side_torn,
        limb.compartment_syndrome,
        limb.open_joint,
        nerves.cauda_equina,
        nerves.nerve_injury,
        operated.nerve_after_operation,
        nerves.foot_drop_without_injury,
        bleeding.bleed_needs_factor,
        bleeding.bleeding_joint,
        imaged.fracture_shown,
        imaged.stress_fracture_shown,
        imaged.artery_disease_shown,
        arteries.popliteal_aneurysm,
        infection.septic_joint_adult,
        infection.septic_joint_child,
        infection.prosthetic_joint_infection,
        operated.operated_joint_infection,
        skin.septic_bursitis,
        imaged.bone_infection_shown,
        infection.osteomyelitis_child,
        skin.skin_infection_with_fever,
        infection.hot_knee_that_lasts,
        veins.embolism,
        imaged.thrombosis_shown,
        veins.dvt_2003,
        imaged.dvt_after_scan,
        veins.dvt_suspected,
        hips.child_hip,
        hips.adult_hip,
        hips.child_alignment,
        fractures.ottawa_knee,
        fractures.pittsburgh_knee,
        fractures.fracture_rule_not_usable,
        fractures.tender_bone_not_weight_bearing,
        young.growth_plate,
        fractures.fracture_without_force,
        fractures.stress_fracture,
        blood.lipohaemarthrosis,
        blood.acute_haemarthrosis,
        fractures.acute_knee_radiograph,
        extensor.extensor_rupture,
        extensor.patella_still_displaced,
        extensor.locked_knee,
        extensor.block_that_stayed,
        extensor.meniscus_after_injury,
        young.young_leg_without_pulses,
        young.bruised_child,
        young.illness_young,
        imaged.tumour_shown,
        growths.tumour_bone_young,
        growths.tumour_wasting_young,
        growths.tumour_bone_pain,
        growths.tumour_mass,
        growths.tumour_lump_young,
        joints.inflammatory_arthritis,
        joints.prolonged_stiffness,
        synovitis.lasting_synovitis,
        operated.stiff_after_operation,
        young.popliteal_entrapment,
    )
}
"""How each rule is decided, by its id; among equally urgent alarms this order stands."""

OF_THE_PERSON = frozenset({"cauda_equina", "bruised_child"})
"""Rules that concern no side."""
