"""The structures an examination speaks about, in the words of the trade."""

from enum import StrEnum


class Structure(StrEnum):
    """A part of the limb (or the person) that a sign can speak about."""

    ACL = "acl"
    PCL = "pcl"
    MCL = "mcl"
    LCL = "lcl"
    POSTEROLATERAL_CORNER = "posterolateral_corner"
    MEDIAL_MENISCUS = "medial_meniscus"
    LATERAL_MENISCUS = "lateral_meniscus"
    QUADRICEPS = "quadriceps"
    QUADRICEPS_TENDON = "quadriceps_tendon"
    PATELLA = "patella"
    PATELLAR_TENDON = "patellar_tendon"
    TIBIAL_TUBERCLE = "tibial_tubercle"
    PATELLOFEMORAL_JOINT = "patellofemoral_joint"
    MEDIAL_RETINACULUM = "medial_retinaculum"
    FAT_PAD = "fat_pad"
    PLICA = "plica"
    PREPATELLAR_BURSA = "prepatellar_bursa"
    PES_ANSERINUS = "pes_anserinus"
    ILIOTIBIAL_BAND = "iliotibial_band"
    POPLITEAL_FOSSA = "popliteal_fossa"
    FEMORAL_CONDYLES = "femoral_condyles"
    TIBIAL_PLATEAU = "tibial_plateau"
    FIBULAR_HEAD = "fibular_head"
    TIBIOFEMORAL_JOINT = "tibiofemoral_joint"
    SYNOVIUM = "synovium"
    FEMUR = "femur"
    TIBIA = "tibia"
    HAMSTRINGS = "hamstrings"
    CALF = "calf"
    POPLITEAL_VESSELS = "popliteal_vessels"
    DEEP_VEINS = "deep_veins"
    COMMON_PERONEAL_NERVE = "common_peroneal_nerve"
    TIBIAL_NERVE = "tibial_nerve"
    HIP = "hip"
    ANKLE_AND_FOOT = "ankle_and_foot"
    LUMBAR_SPINE = "lumbar_spine"
    SKIN = "skin"
    WHOLE_LIMB = "whole_limb"
    WHOLE_PERSON = "whole_person"


STRUCTURES: dict[Structure, str] = {
    Structure.ACL: "anterior cruciate ligament",
    Structure.PCL: "posterior cruciate ligament",
    Structure.MCL: "medial collateral ligament",
    Structure.LCL: "lateral collateral ligament",
    Structure.POSTEROLATERAL_CORNER: "posterolateral corner",
    Structure.MEDIAL_MENISCUS: "medial meniscus",
    Structure.LATERAL_MENISCUS: "lateral meniscus",
    Structure.QUADRICEPS: "quadriceps muscle",
    Structure.QUADRICEPS_TENDON: "quadriceps tendon",
    Structure.PATELLA: "patella",
    Structure.PATELLAR_TENDON: "patellar tendon",
    Structure.TIBIAL_TUBERCLE: "tibial tubercle",
    Structure.PATELLOFEMORAL_JOINT: "patellofemoral joint",
    Structure.MEDIAL_RETINACULUM: "medial patellar retinaculum",
    Structure.FAT_PAD: "infrapatellar fat pad",
    Structure.PLICA: "synovial plica",
    Structure.PREPATELLAR_BURSA: "prepatellar bursa",
    Structure.PES_ANSERINUS: "pes anserinus and its bursa",
    Structure.ILIOTIBIAL_BAND: "iliotibial band",
    Structure.POPLITEAL_FOSSA: "popliteal fossa",
    Structure.FEMORAL_CONDYLES: "femoral condyles",
    Structure.TIBIAL_PLATEAU: "tibial plateau",
    Structure.FIBULAR_HEAD: "head of the fibula",
    Structure.TIBIOFEMORAL_JOINT: "tibiofemoral joint",
    Structure.SYNOVIUM: "synovium",
    Structure.FEMUR: "femur",
    Structure.TIBIA: "tibia",
    Structure.HAMSTRINGS: "hamstrings",
    Structure.CALF: "calf",
    Structure.POPLITEAL_VESSELS: "popliteal vessels",
    Structure.DEEP_VEINS: "deep veins of the leg",
    Structure.COMMON_PERONEAL_NERVE: "common peroneal nerve",
    Structure.TIBIAL_NERVE: "tibial nerve",
    Structure.HIP: "hip",
    Structure.ANKLE_AND_FOOT: "ankle and foot",
    Structure.LUMBAR_SPINE: "lumbar spine",
    Structure.SKIN: "skin",
    Structure.WHOLE_LIMB: "whole limb",
    Structure.WHOLE_PERSON: "whole person",
}
"""Each structure's name as written in a letter."""
